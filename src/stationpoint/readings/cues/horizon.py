"""Z: how much of the horizon is open; and how many eye heights tall a thing stands under it."""

from __future__ import annotations

from functools import lru_cache
from math import hypot

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, Frames, horizon_fraction, pixel_rays, project_points
from stationpoint.readings.cues.rules import Cue, graded, none_of
from stationpoint.readings.frames.sight import Sight
from stationpoint.readings.things.pairs import HANGS_M, as_point
from stationpoint.readings.things.steps import UP
from stationpoint.readings.things.things import SceneObject, and_subject, measured_objects
from stationpoint.readings.types import Case, Field, Kind, Reading
from stationpoint.scene import Scene, under

Points = NDArray[np.float64]

FAR_M = 100.0  # what lies deeper is far, common practice

FIELDS = (
    Field(
        ("targets", "*", "eye_heights"),
        "",
        5,
        "Its height over the eye's, by depression angles of its foot and of the spot straight above it.",
        "Sedgwick 1973",
        "a parallel view, a bare point, it hangs, or the eye is not above its foot",
    ),
)


def horizon(sight: Sight) -> Cue:
    """Share of the horizon's row within the picture that is open to sky or far ground, per cent.

    Far ground is the scene's ground, or what lies deeper than 100 m. Absent in parallel views and where
    the row is out of the picture. Never None: a parallel view has none and counts 0. Source: threshold
    common practice. Worked: a wall over the left half of an open row: 50 %.
    """
    rows = None if sight.camera.parallel else _row(sight.camera)
    if rows is None:
        return none_of("horizon")
    columns, row = rows
    return graded("horizon", 100.0 * float(_open(sight, columns, row).mean()), sight.factor)


def _row(camera: Camera) -> tuple[NDArray[np.intp], NDArray[np.intp]] | None:
    """Columns and rows of the pixels on the horizon; None where it is out of the picture."""
    ends = [horizon_fraction(camera, x) for x in (0.0, 1.0)]
    if ends[0] is None or ends[1] is None:
        return None
    width, height = camera.pixels
    x = (np.arange(width) + 0.5) / width
    y = (ends[0] + (ends[1] - ends[0]) * x) * height
    columns = np.flatnonzero((y >= 0.0) & (y < height))
    return (columns, y[columns].astype(np.intp)) if len(columns) else None


def _open(sight: Sight, columns: NDArray[np.intp], row: NDArray[np.intp]) -> NDArray[np.bool_]:
    ground = np.zeros(len(sight.case.scene.nodes) + 1, dtype=bool)
    ground[0] = True
    ground[[k + 1 for k, node in enumerate(sight.case.scene.nodes) if node.kind == "ground"]] = True
    is_open: NDArray[np.bool_] = ground[sight.ids[row, columns]] | (sight.depth_m[row, columns] > FAR_M)
    return is_open


def horizon_mark(sight: Sight) -> Points | None:
    """Start and end of each open stretch of the horizon, (2 n, 2)."""
    rows = _row(sight.camera)
    if rows is None:
        return None
    columns, row = rows
    step = np.diff(np.concatenate([[0], _open(sight, columns, row).astype(np.int8), [0]]))
    starts, ends = np.flatnonzero(step == 1), np.flatnonzero(step == -1)
    if not len(starts):
        return None
    exact = [horizon_fraction(sight.camera, x) or 0.0 for x in (0.0, 1.0)]
    width, height = sight.camera.pixels
    x = np.column_stack([columns[starts], columns[ends - 1] + 1]).ravel() / width
    return np.column_stack([x * width, (exact[0] + (exact[1] - exact[0]) * x) * height])


def eye_heights(camera: Camera, scene: Scene, things: tuple[SceneObject, ...]) -> list[float | None]:
    """Height of each standing thing over that of the eye above its foot: 1 - tan(top) / tan(base).

    top, base: depression angles of the sightlines to its foot and to the spot straight above it at
    its full height. None in parallel views, for a bare point or a hanging thing, and where the eye
    is not above its foot. Source: Sedgwick 1973. Worked: eye 3 m up, 1.8 m tall: .6.
    """
    found: list[float | None] = [None] * len(things)
    if camera.parallel:
        return found
    standing, feet_and_tops = _standing(scene, things)
    if not standing:
        return found
    ways = pixel_rays(camera, project_points(camera, feet_and_tops))[1].tolist()
    for k, foot, top in zip(standing, ways[::2], ways[1::2], strict=True):
        below, over = _tan_depression(foot), _tan_depression(top)
        if below is not None and over is not None and below > 1e-9:
            found[k] = 1.0 - over / below
    return found


@lru_cache(maxsize=64)
def _standing(scene: Scene, things: tuple[SceneObject, ...]) -> tuple[list[int], Points]:
    """Which of some things stand, by number, and of each the foot and the spot over it at its full height,
    (2 n, 3)."""
    which = [k for k, thing in enumerate(things) if not thing.is_point and _stands(scene, thing)]
    spots = []
    for thing in (things[k] for k in which):
        tall_m = float(thing.bounds_m[1, 1] - thing.bounds_m[0, 1])
        spots += [thing.foot_m, thing.foot_m + tall_m * UP]
    return which, np.array(spots)


def _stands(scene: Scene, thing: SceneObject) -> bool:
    below = under(scene, as_point(thing.foot_m), ignoring=thing.nodes)
    return below is not None and below[1] <= HANGS_M


def _tan_depression(direction: list[float]) -> float | None:
    """Tangent of the angle under the horizon of a direction, x, y, z; None straight up or down, and for none,
    nan, since it is that of a spot behind the eye."""
    x, y, z = direction
    level = hypot(x, z)
    return -y / level if level > 1e-9 else None


def read_eye_heights(case: Case, frames: Frames) -> Reading:
    """All targets and the subject."""
    things = measured_objects(case)
    found = eye_heights(case.setup.camera, case.scene, things)
    return Reading({(*thing.path, "eye_heights"): value for thing, value in zip(things, found, strict=True)})


EYE_HEIGHTS = Kind("eye-heights", and_subject(FIELDS), read_eye_heights)
