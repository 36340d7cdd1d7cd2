"""C: the shadow that a thing throws, and how far from the thing it falls."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import luminance
from stationpoint.base.geometry.vectors import length
from stationpoint.camera import project_points, windowed_camera
from stationpoint.readings.cues.rules import (
    AMOUNT,
    CUE_RULES,
    OVERHEAD_DEG,
    READS,
    SHADOW_OFF_M,
    Cue,
    graded,
    none_of,
)
from stationpoint.readings.cues.shadow_shots import ShadowFrames, casting, shadow_plan
from stationpoint.readings.frames.masks import present_plane
from stationpoint.readings.frames.plain import PLAIN
from stationpoint.readings.frames.shots import MAIN
from stationpoint.readings.frames.sight import Sight, there_colour
from stationpoint.readings.frames.surfaces import world_points
from stationpoint.readings.things.pairs import HANGS_M, End, Pair, as_point, drop_to_floor_m
from stationpoint.readings.types import Case, Field
from stationpoint.scene import Scene, free_distance_m

Points = NDArray[np.float64]

FIELDS = (
    Field(
        ("cues", "*", "cast_shadow", "off_m"),
        "m",
        5,
        "Level distance from its foot to the foot's shadow; 0 if it stands.",
        null="the game ships none, it casts none or is out of the picture, or the shadow falls on nothing",
    ),
)

DARKER = 0.95  # of the luminance without the shadow, or less
BLUR_SHARE, BLUR_M = 0.053, 0.1  # by how much a soft shadow may be wider than its caster, per metre


@dataclass(frozen=True, slots=True, eq=False)
class Dark:
    """The pixels that a look shows darkened: px (n, 2) their middles, cell; points_m (n, 3); areas (n,)
    square arc minutes; ids (n,) of what they show; casters (n,) of what shades them, 0 for none."""

    px: Points
    points_m: Points
    areas: Points
    ids: NDArray[np.intp]
    casters: NDArray[np.intp]

    def of(self, case: Case, pair: Pair) -> NDArray[np.bool_]:
        """Which pixels are the second one's own shadow, on something else than itself, (n,)."""
        own = [case.scene.id_of(name) for name in casting(case, pair)]
        return np.isin(self.casters, own) & ~np.isin(self.ids, own)


def cast_shadow(sight: Sight, pair: Pair) -> Cue:
    """Visible area of the second one's own shadow, square arc minutes at the seat.

    The pixels, not its own, that darken by 5 % when it casts. Absent without the aid cast-shadow; a landing
    on the node of its take-off has none. Misleads where it hangs and its shadow lies more than 0.5 m off.
    None where either of the two is behind the eye or out of the picture. Source: threshold common practice.
    Worked: 1 m2 of shaded ground seen from straight above at 60 px/m, couch: 3600 px, 2347 sq '.
    """
    look = shadow_plan(sight.case).looks.get(pair.name)
    if look is None:
        return none_of("cast_shadow")
    dark = _darkened(sight, look)
    value = float(dark.areas[dark.of(sight.case, pair)].sum())
    off = off_m(sight.case, pair)
    is_seen = value >= CUE_RULES["cast_shadow"].least
    wrong = is_seen and off is not None and off > SHADOW_OFF_M
    cue = graded("cast_shadow", value, sight.factor, misleads=wrong)
    return replace(cue, gives=AMOUNT) if cue.grade == READS and light_is_overhead(sight.case) else cue


def light_is_overhead(case: Case) -> bool:
    """Whether the light is within 15 degrees of straight above."""
    light = np.array(case.setup.towards_light)
    return bool(light[1] >= np.cos(np.radians(OVERHEAD_DEG)) * np.linalg.norm(light))


def off_m(case: Case, pair: Pair) -> float | None:
    """Level metres from the second one's foot to where the foot's shadow falls; 0 if it stands.

    Of a landing the foot is the bottom of its slab. None without the aid cast-shadow, out of the
    picture, and where nothing lies there. Source: definition. Worked: 2 m over the floor, light 45
    degrees up: 2 m.
    """
    if pair.name not in shadow_plan(case).looks:
        return None
    foot, hangs = _foot(case, pair.b)
    if not hangs:
        return 0.0
    fallen = _fallen_m(case.scene, as_point(foot), case.setup.towards_light, pair.b.own)
    return None if fallen is None else float(np.hypot(fallen[0] - foot[0], fallen[2] - foot[2]))


def _foot(case: Case, end: End) -> tuple[Points, bool]:
    """Where the thing is lowest under its foot, (3,), and whether it hangs there."""
    if not end.spot or end.thing is None:
        return end.foot_m, end.hangs
    bottom = np.array([end.foot_m[0], float(end.thing.bounds_m[0, 1]), end.foot_m[2]])
    drop = drop_to_floor_m(case.scene, end)
    return bottom, drop is None or drop - float(end.foot_m[1] - bottom[1]) > HANGS_M


@lru_cache(maxsize=256)
def _fallen_m(
    scene: Scene, foot_m: tuple[float, float, float], towards_light: tuple[float, ...], own: tuple[str, ...]
) -> tuple[float, float, float] | None:
    """Where the line from the light through a point meets the next surface; None where it meets none."""
    start, way = np.array(foot_m), -np.array(towards_light) / np.linalg.norm(towards_light)
    bounds = scene.node_bounds
    crossed = np.isfinite(entry(bounds[:, 0], bounds[:, 1], start[None], way))
    near = tuple(scene.nodes[k] for k in np.flatnonzero(crossed) if scene.nodes[k].name not in own)
    far = free_distance_m(Scene(near), start, way) if near else np.inf
    return as_point(start + far * way) if np.isfinite(far) else None


def entry(low: Points, high: Points, starts: Points, way: Points) -> Points:
    """Metres along a way (3,) from starts (n, 3) into boxes low, high (n, 3); infinity where missed."""
    safe = np.where(np.abs(way) < 1e-12, 1e-12, way)
    # Slabs: a line is in a box from the last of the three near sides to the first of the three far ones.
    near, far = np.array(-np.inf), np.array(np.inf)
    for axis in range(3):
        first, last = ((side[:, axis] - starts[:, axis]) / safe[axis] for side in (low, high))
        near, far = np.maximum(near, np.minimum(first, last)), np.minimum(far, np.maximum(first, last))
    return np.where(far >= np.maximum(near, 0.0), np.maximum(near, 0.0), np.inf)


@lru_cache(maxsize=8)
def _darkened(sight: Sight, look: ShadowFrames) -> Dark:
    """The pixels of a look that are darker with the shadows than without them."""
    cast, uncast = sight.frames[look.cast], there_colour(sight.frames[look.uncast])
    facts, part = (cast, (slice(None), slice(None)))
    if look.cast == PLAIN:  # of the whole picture only as far as such shadows reach
        left, top, right, bottom = (int(side) for side in look.window_px)
        facts, part = sight.frames[MAIN], (slice(top, bottom), slice(left, right))
    return _dark(
        sight,
        look,
        there_colour(cast)[part],
        uncast[part],
        present_plane(facts.ids)[part],
        present_plane(facts.depth_m)[part],
    )


def _dark(
    sight: Sight,
    look: ShadowFrames,
    cast: NDArray[np.uint8],
    uncast: NDArray[np.uint8],
    ids: NDArray[np.uint32],
    depth_m: NDArray[np.float32],
) -> Dark:
    """The darkened pixels of the part of the cell that a look shows."""
    other = cast != uncast
    rows, columns = np.nonzero(other[..., 0] | other[..., 1] | other[..., 2])
    darker = luminance(cast[rows, columns]) <= DARKER * luminance(uncast[rows, columns])
    kept = darker & (ids[rows, columns] > 0)
    rows, columns = rows[kept], columns[kept]
    shown = ids[rows, columns].astype(np.intp)
    height, width = cast.shape[:2]
    left, top, right, bottom = look.window_px
    step = np.array([(right - left) / width, (bottom - top) / height])
    camera = windowed_camera(sight.camera, look.window_px, (width, height))
    points = world_points(camera, depth_m, rows, columns)
    px = (left, top) + np.column_stack([columns + 0.5, rows + 0.5]) * step
    areas = sight.px_arcmin2(px[:, 0], px[:, 1]) * float(np.prod(step))
    return Dark(px, points, areas, shown, _casters(sight.case, points, shown))


def _casters(case: Case, points: Points, ids: NDArray[np.intp]) -> NDArray[np.intp]:
    """Which node shades each point (n, 3): the nearest one whose bounds lie towards the light.

    Only nodes that cues are about; none shades itself. Bounds are widened by what a soft light blurs.
    """
    way = np.array(case.setup.towards_light) / np.linalg.norm(case.setup.towards_light)
    nearest, found = np.full(len(points), np.inf), np.zeros(len(points), dtype=np.intp)
    for number in sorted(map(case.scene.id_of, shadow_plan(case).casters)):
        low, high = case.scene.nodes[number - 1].bounds
        others = np.flatnonzero(ids != number)
        at = points[others]
        blur = BLUR_M + BLUR_SHARE * length(at - (low + high) / 2.0)[:, None]
        far = entry(low - blur, high + blur, at, way)
        closer = far < nearest[others]
        nearest[others[closer]], found[others[closer]] = far[closer], number
    return found


def cast_shadow_mark(sight: Sight, pair: Pair) -> Points | None:
    """Foot, and where its shadow falls if it hangs, else the shadow's far end, (2, 2)."""
    look = shadow_plan(sight.case).looks.get(pair.name)
    if look is None:
        return None
    foot, hangs = _foot(sight.case, pair.b)
    if hangs:
        fallen = _fallen_m(sight.case.scene, as_point(foot), sight.case.setup.towards_light, pair.b.own)
        return None if fallen is None else project_points(sight.camera, np.array([foot, fallen]))
    dark = _darkened(sight, look)
    own = dark.of(sight.case, pair)
    if not own.any():
        return None
    away = -np.array(sight.case.setup.towards_light) * (1.0, 0.0, 1.0)
    far = int(np.argmax(dark.points_m[own] @ away))
    return np.vstack([project_points(sight.camera, foot), dark.px[own][far]])
