"""What must be drawn to see a thing's own shadow: the picture with and without it as a caster."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.plane import convex_hull, polygon_area
from stationpoint.camera import (
    COLOUR,
    DEPTH,
    IDS,
    PartPx,
    Shot,
    ShotKey,
    depths,
    project_points,
    windowed_camera,
)
from stationpoint.readings.frames.drawn import REACHING, Box, outline_on_picture
from stationpoint.readings.frames.plain import PLAIN, plain_shot
from stationpoint.readings.frames.shots import is_outside, zoomed
from stationpoint.readings.things.pairs import End, Pair, drop_to_floor_m, pairs
from stationpoint.readings.types import Case

Points = NDArray[np.float64]

UNCAST: ShotKey = ("uncast",)  # the picture without the shadows of what cues are about
SMALL_PX = 150.0  # a shadow of less than that in the cell is looked at closely
BLUR_M = 0.3  # a soft shadow may reach that much farther
BLOCK_PX = 8
LEAST_SLOPE = 0.05  # a light lower than this throws shadows without end


@dataclass(frozen=True, slots=True)
class ShadowFrames:
    """Where a pair's shadow is seen: the keys of the shots with and without it, and the part of the cell
    that they show (left, top, right, bottom, pixels)."""

    cast: ShotKey
    uncast: ShotKey
    window_px: Box


@dataclass(frozen=True, slots=True, eq=False)
class ShadowPlan:
    """looks: by pair, those whose second one is in the picture and can cast a shadow. casters: names of
    the nodes whose shadows are told from the others'."""

    looks: dict[str, ShadowFrames]
    casters: frozenset[str]
    shots: dict[ShotKey, Shot]


def casting(case: Case, pair: Pair) -> tuple[str, ...]:
    """The nodes whose shadows are the second one's own: all that it is made of but the ground; none of a
    landing that shares its node with the take-off."""
    own = () if pair.on_one_node else pair.b.own
    return tuple(name for name in own if name in case.scene and case.scene.node(name).kind != "ground")


@lru_cache(maxsize=4)
def shadow_plan(case: Case) -> ShadowPlan:
    """The looks at all pairs' shadows; none where the game ships no shadows.

    One picture without the shadows of all second ones serves all pairs; which of them a shadow is of
    follows from where it lies. It is drawn as far as such shadows reach. Small ones get a window of
    their own.
    """
    casters = {pair.name: casting(case, pair) for pair in pairs(case)}
    without = frozenset(name for names in casters.values() for name in names)
    if "cast-shadow" not in case.study.aids or not without:
        return ShadowPlan({}, frozenset(), {})
    uncast = replace(
        plain_shot(case), casters=tuple(n.name for n in case.scene.nodes if n.name not in without)
    )
    looks: dict[str, ShadowFrames] = {}
    shots: dict[ShotKey, Shot] = {}
    large: dict[str, Box] = {}
    for pair in pairs(case):
        if not casters[pair.name] or not _may_be_in_view(case, pair.b):
            continue
        box = _reach_px(case, pair)
        pixels = _close_pixels(case, pair, box)
        if pixels is None:
            large[pair.name] = box
            continue
        own = casters[pair.name]  # a gap's landing may be a target too: one look will do for both
        look = ShadowFrames(("shadow", *own), (*UNCAST, *own), box)
        looks[pair.name] = look
        close = replace(uncast, camera=windowed_camera(uncast.camera, box, pixels))
        shots.setdefault(look.cast, replace(close, casters=None, planes=frozenset({COLOUR, IDS, DEPTH})))
        shots.setdefault(look.uncast, close)
    if large:
        part = _union(list(large.values()))
        shots[UNCAST] = replace(uncast, parts_px=(part,))
        left, top, right, bottom = map(float, part)
        looks |= {name: ShadowFrames(PLAIN, UNCAST, (left, top, right, bottom)) for name in large}
    return ShadowPlan(looks, without, shots)


def _union(boxes: list[Box]) -> PartPx:
    """The box round all of them, to whole blocks of pixels: soft shadows are drawn in such blocks."""
    low, high = np.array(boxes)[:, :2].min(axis=0), np.array(boxes)[:, 2:].max(axis=0)
    left, top = (int(side // BLOCK_PX) * BLOCK_PX for side in low)
    return left, top, ceil(high[0]), ceil(high[1])


def _may_be_in_view(case: Case, end: End) -> bool:
    """Whether something of the end may be in the picture, by its bounds."""
    if end.thing is None:
        return False
    at = outline_on_picture(case.setup.camera, end.thing)
    return at.state == REACHING or (at.box_px is not None and not is_outside(case, at.box_px))


def _reach_px(case: Case, pair: Pair) -> Box:
    """The part of the picture that the second one and any shadow of it can lie in, pixels of the cell.

    Between its bounds and these thrown on the lowest level of the scene; all of the picture where that
    cannot be said.
    """
    width, height = case.setup.camera.pixels
    whole = (0.0, 0.0, float(width), float(height))
    lowest = float(case.scene.node_bounds[:, 0, 1].min())
    fallen = _fallen(case, pair, lowest)
    if fallen is None or pair.b.thing is None:
        return whole
    points = np.vstack([fallen, pair.b.thing.corners_m])
    points = np.vstack([points - BLUR_M, points + BLUR_M])
    if (
        not case.setup.camera.parallel
        and (depths(case.setup.camera, points) <= case.setup.camera.near_m).any()
    ):
        return whole
    px = project_points(case.setup.camera, points)
    left, top = np.clip(px.min(axis=0) - 1.0, 0.0, (width, height)).tolist()
    right, bottom = np.clip(px.max(axis=0) + 1.0, 0.0, (width, height)).tolist()
    return (left, top, right, bottom) if left < right and top < bottom else whole


def _close_pixels(case: Case, pair: Pair, box: Box) -> tuple[int, int] | None:
    """Pixels of a window of its own, where the shadow is expected to be small in the cell; else None."""
    drop = drop_to_floor_m(case.scene, pair.b)
    fallen = None if drop is None else _fallen(case, pair, float(pair.b.foot_m[1]) - drop)
    if fallen is None or not np.isfinite(project_points(case.setup.camera, fallen)).all():
        return None
    hull = convex_hull(project_points(case.setup.camera, fallen))
    area = polygon_area(hull) if len(hull) > 2 else 0.0
    return zoomed(box, area)[1] if 1.0 <= area < SMALL_PX else None


def _fallen(case: Case, pair: Pair, level_m: float) -> Points | None:
    """The corners of the second one's bounds thrown on a level by the light, (8, 3); None by a low light."""
    light, thing = np.array(case.setup.towards_light), pair.b.thing
    if thing is None or light[1] < LEAST_SLOPE * float(np.linalg.norm(light)):
        return None
    corners = thing.corners_m
    fallen: Points = corners - ((corners[:, 1] - level_m) / light[1])[:, None] * light
    return fallen
