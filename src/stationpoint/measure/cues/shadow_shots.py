"""What must be drawn to see a thing's own shadow: the picture with and without it as a caster."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.measure.cues.pairs import End, Pair, drop_to_floor_m, pairs
from stationpoint.measure.drawn import REACHING, Box, drawn
from stationpoint.measure.plain import PLAIN, plain_shot
from stationpoint.measure.shapes2d import convex_hull, polygon_area
from stationpoint.measure.shots import MAIN, is_outside, main_shot, zoomed
from stationpoint.measure.types import Case
from stationpoint.optics.camera import depths, project, window
from stationpoint.shot import COLOUR, DEPTH, IDS, Shot

Points = NDArray[np.float64]

UNCAST = "uncast"  # the picture without the shadows of what cues are about
SMALL_PX = 150.0  # a shadow of less than that in the cell is looked at closely
LEAST_SLOPE = 0.05  # a light lower than this throws shadows without end


@dataclass(frozen=True, slots=True)
class Look:
    """Where a pair's shadow is seen: the shots with and without it, and the part of the cell that they
    show (left, top, right, bottom, pixels)."""

    cast: str
    uncast: str
    window_px: Box


@dataclass(frozen=True, slots=True, eq=False)
class ShadowPlan:
    """looks: by pair, those whose second one is in the picture and can cast a shadow. casters: names of
    the nodes whose shadows are told from the others'."""

    looks: dict[str, Look]
    casters: frozenset[str]
    shots: dict[str, Shot]


def casting(case: Case, end: End) -> tuple[str, ...]:
    """The end's own nodes that cast shadows: all but the ground."""
    return tuple(name for name in end.own if name in case.scene and case.scene.node(name).kind != "ground")


@lru_cache(maxsize=4)
def shadow_plan(case: Case) -> ShadowPlan:
    """The looks at all pairs' shadows; none where the game ships no shadows.

    One picture without the shadows of all second ones serves all pairs, and all cameras; which of them
    a shadow is of follows from where it lies. Small ones get a window of their own.
    """
    casters = {pair.name: casting(case, pair.b) for pair in pairs(case)}
    without = frozenset(name for names in casters.values() for name in names)
    if "cast-shadow" not in case.study.aids or not without:
        return ShadowPlan({}, frozenset(), {})
    kept = tuple(node.name for node in case.scene.nodes if node.name not in without)
    plain = plain_shot(case)
    whole = (0.0, 0.0, float(plain.camera.pixels[0]), float(plain.camera.pixels[1]))
    looks: dict[str, Look] = {}
    shots: dict[str, Shot] = {}
    for pair in pairs(case):
        if not casters[pair.name] or not _may_be_in_view(case, pair.b):
            continue
        found = _small(case, pair)
        if found is None:
            looks[pair.name] = Look(PLAIN, UNCAST, whole)
            if UNCAST not in shots:
                shots[UNCAST] = replace(plain, casters=kept)
            continue
        box, pixels = found
        zoom = replace(
            plain, camera=window(plain.camera, box, pixels), planes=frozenset({COLOUR, IDS, DEPTH})
        )
        name = "+".join(casters[pair.name])  # a gap's landing may be a target too: one look will do for both
        look = Look(f"shadow:{name}", f"{UNCAST}:{name}", box)
        looks[pair.name] = look
        shots.setdefault(look.cast, zoom)
        shots.setdefault(look.uncast, replace(zoom, planes=frozenset({COLOUR}), casters=kept))
    return ShadowPlan(looks, without, shots)


def _may_be_in_view(case: Case, end: End) -> bool:
    """Whether something of the end may be in the picture, by its bounds."""
    if end.thing is None:
        return False
    at = drawn(case.setup.camera, end.thing)
    return at.state == REACHING or (at.box_px is not None and not is_outside(case, at.box_px))


def _small(case: Case, pair: Pair) -> tuple[Box, tuple[int, int]] | None:
    """The window on a shadow that is expected to be small in the cell, and its pixels; else None."""
    fallen = _fallen(case, pair)
    if fallen is None or (depths(case.setup.camera, fallen) <= case.setup.camera.near_m).any():
        return None
    px = project(case.setup.camera, fallen)
    hull = convex_hull(px)
    area = polygon_area(hull) if len(hull) > 2 else 0.0
    (left, top), (right, bottom) = px.min(axis=0) - 1.0, px.max(axis=0) + 1.0
    box = (float(left), float(top), float(right), float(bottom))
    if area >= SMALL_PX or area < 1.0 or is_outside(case, box):
        return None
    width, height = case.setup.camera.pixels
    cut = (max(left, 0.0), max(top, 0.0), min(right, width), min(bottom, height))
    return zoomed(cut, area)


def _fallen(case: Case, pair: Pair) -> Points | None:
    """The corners of the second one's bounds thrown on the level of the floor below it, (8, 3)."""
    light, thing = np.array(case.setup.towards_light), pair.b.thing
    drop = drop_to_floor_m(case.scene, pair.b)
    if thing is None or drop is None or light[1] < LEAST_SLOPE * float(np.linalg.norm(light)):
        return None
    floor = float(pair.b.foot_m[1]) - drop
    corners = thing.corners_m
    fallen: Points = corners - ((corners[:, 1] - floor) / light[1])[:, None] * light
    return fallen


def shadow_shots(case: Case, name: str | None = None) -> dict[str, Shot]:
    """The shots that the shadow of one pair needs, of all if none is named; the picture's included."""
    plan = shadow_plan(case)
    looks = [look for pair, look in plan.looks.items() if name in (None, pair)]
    shots = {one: plan.shots[one] for look in looks for one in (look.cast, look.uncast) if one in plan.shots}
    return {MAIN: main_shot(case), PLAIN: plain_shot(case), **shots} if looks else {}
