"""S and T: things and ground patterns drawn smaller the farther they are."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, depths, frontal_px_per_m, project_points
from stationpoint.readings.cues.rules import ALIKE_PCT, READS, WEAK, Cue, graded, none_of
from stationpoint.readings.frames.drawn import outline_on_picture
from stationpoint.readings.frames.sight import Sight, open_points
from stationpoint.readings.things.pairs import End, Pair
from stationpoint.readings.things.steps import UP, heading, level_right
from stationpoint.readings.things.things import SceneObject, case_mark_m

Points = NDArray[np.float64]

LEAST_SPACING_ARCMIN, LEAST_SPACING_PX = 2.0, 3.0  # of a ground pattern of 1 m
MOST_TICKS, MOST_STEPS = 4, 8  # of a row of ticks, and how many steps to either side it may lie
ON_SURFACE_SHARE, ON_SURFACE_M = 0.02, 0.05


def relative_size(sight: Sight, pair: Pair) -> Cue:
    """How much smaller the farther one is drawn: 100 abs ln of the frontal scales at the feet, per cent.

    Full weight where the two are alike, else weak at most. Misleads where alike things are drawn the
    wrong way round by 3 %. Absent in parallel views. None where either of the two is behind the eye or
    out of the picture. Source: Cutting and Vishton 1995. Worked: depths 8 and 11.853 m: 39.3 %.
    """
    if sight.camera.parallel:
        return none_of("relative_size")
    value = _scale_pct(sight.camera, pair)
    wrong = False
    if pair.rival is not None and pair.b.thing is not None:
        wrong = _wrong_way_round(sight.camera, pair.rival, pair.b.thing)
    at_most = READS if pair.alike else WEAK
    return graded("relative_size", value, sight.factor, misleads=wrong, at_most=at_most)


def _scale_pct(camera: Camera, pair: Pair) -> float:
    scales = frontal_px_per_m(camera, [pair.a.foot_m, pair.b.foot_m])
    return 100.0 * abs(float(np.log(scales[0] / scales[1])))


def _wrong_way_round(camera: Camera, one: SceneObject, other: SceneObject) -> bool:
    """Whether of two alike things the farther one is drawn larger, by 3 % or more."""
    first, second = outline_on_picture(camera, one).box_px, outline_on_picture(camera, other).box_px
    if first is None or second is None:
        return False
    depth = depths(camera, [one.foot_m, other.foot_m])
    tall = [max(box[3] - box[1], 1e-9) for box in (first, second)]
    smaller_pct = 100.0 * float(np.log(tall[0] / tall[1]))
    return bool(smaller_pct <= -ALIKE_PCT if depth[0] < depth[1] else smaller_pct >= ALIKE_PCT)


def relative_size_mark(sight: Sight, pair: Pair) -> Points:
    """Feet and tops of posts of a mark's length at both ends, (4, 2)."""
    feet, up_m = (pair.a.foot_m, pair.b.foot_m), case_mark_m(sight.case) * UP
    return project_points(sight.camera, [point for foot in feet for point in (foot, foot + up_m)])


def texture_gradient(sight: Sight, pair: Pair) -> Cue:
    """How much denser the ground's pattern is drawn at the farther one, 100 abs ln, per cent.

    The spacing is 1 m along the picture. Absent in parallel views, without the aid ground-texture, where
    the spacing is under 2' or 3 px, and where either hangs in the air. None where either of the two is
    behind the eye or out of the picture. Source: density, Cutting and Vishton 1995. Worked: depths 8 and
    11.853 m: 39.3 %.
    """
    shipped = "ground-texture" in sight.case.study.aids
    if sight.camera.parallel or not shipped or pair.a.hangs or pair.b.hangs:
        return none_of("texture_gradient")
    if not (_pattern_told(sight, pair.a) and _pattern_told(sight, pair.b)):
        return none_of("texture_gradient")
    return graded("texture_gradient", _scale_pct(sight.camera, pair), sight.factor)


def _pattern_told(sight: Sight, end: End) -> bool:
    """Whether a spacing of 1 m along the picture can be told where the end stands."""
    half = level_right(sight.record) * 0.5
    left, right = project_points(sight.record, [end.foot_m - half, end.foot_m + half])
    spacing_px = float(frontal_px_per_m(sight.record, end.foot_m)[0])
    spacing_arcmin = float(sight.arcmin(left[None] / sight.scale, right[None] / sight.scale)[0])
    return spacing_px >= LEAST_SPACING_PX and spacing_arcmin >= LEAST_SPACING_ARCMIN


def texture_gradient_mark(sight: Sight, pair: Pair) -> Points | None:
    """Two rows of ticks a mark's length apart on free ground, at the depth of either end, parted by a
    nan row."""
    rows = [_ticks(sight, end) for end in (pair.a, pair.b)]
    if rows[0] is None or rows[1] is None:
        return None
    return np.vstack([rows[0], np.full((1, 2), np.nan), rows[1]])


def _ticks(sight: Sight, end: End) -> Points | None:
    """The longest row of up to five ticks along the picture at the end's depth, on its own level or on
    the ground, where nothing stands in the way; None where there is none."""
    best: Points | None = None
    for drop_m in (0.0, *_grounds_below(sight, end)):
        row_m = _row(sight.camera, end.foot_m, drop_m, case_mark_m(sight.case))
        if row_m is None:
            continue
        px = project_points(sight.camera, row_m)
        good = open_points(sight, row_m)
        if good.any():
            z, column = depths(sight.camera, row_m[good]), px[good].astype(np.intp)
            found = sight.depth_m[column[:, 1], column[:, 0]]
            good[good] = found <= z + ON_SURFACE_SHARE * np.abs(z) + ON_SURFACE_M
        start, stop = _longest_run(good)
        stop = min(stop, start + MOST_TICKS + 1)
        if stop - start >= 2 and (best is None or stop - start > len(best)):
            best = px[start:stop]
    return best


def _grounds_below(sight: Sight, end: End) -> list[float]:
    tops = [float(node.bounds[1, 1]) for node in sight.case.scene.nodes if node.kind == "ground"]
    return [float(end.foot_m[1]) - top for top in tops if top < end.foot_m[1] - 1e-6]


def _row(camera: Camera, foot_m: Points, drop_m: float, step_m: float) -> Points | None:
    """Points every `step_m` to either side of a foot, lowered to a level, at the foot's own depth, (n, 3)."""
    ahead = heading(camera)
    along = float(camera.forward @ ahead)
    if drop_m and abs(along) < 1e-6:
        return None
    back = drop_m * float(camera.forward[1]) / along * ahead if drop_m else np.zeros(3)
    aside_m = np.arange(-MOST_STEPS, MOST_STEPS + 1, dtype=float) * step_m
    row: Points = foot_m - drop_m * UP + back + aside_m[:, None] * level_right(camera)
    return row


def _longest_run(good: NDArray[np.bool_]) -> tuple[int, int]:
    """Start and end (one past the last) of the longest run of true values, the first of equals."""
    step = np.diff(np.concatenate([[0], good.astype(np.int8), [0]]))
    starts, ends = np.flatnonzero(step == 1), np.flatnonzero(step == -1)
    if not len(starts):
        return 0, 0
    k = int(np.argmax(ends - starts))
    return int(starts[k]), int(ends[k])
