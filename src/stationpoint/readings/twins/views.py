"""What must be drawn to see a target's twins: one small window on the target and on them, few shots."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import COLOUR, DEPTH, IDS, Camera, Shot, ShotKey, depths, windowed_camera
from stationpoint.readings.frames.drawn import Box
from stationpoint.readings.frames.shots import MAIN, main_shot, zoomed
from stationpoint.readings.things.things import target_object
from stationpoint.readings.twins.cues import Anchor, anchors, ratios_by_geometry
from stationpoint.readings.twins.order import box_of, keeps_order, meets_any
from stationpoint.readings.twins.place import (
    MIRROR,
    SLIDE,
    Twin,
    carried_nodes,
    default_shift_m,
    group_points,
    moves_with,
    moving_of,
    twin_group,
    twin_of,
)
from stationpoint.readings.types import Case
from stationpoint.scene import Node
from stationpoint.study import Target

Points = NDArray[np.float64]

ASIDE = (0.37, 0.23)  # of a pixel: the window's sides lie on no side of a thing
MOST_SHADOW_M = 30.0  # how far a shadow is looked for


@dataclass(frozen=True, slots=True, eq=False)
class TwinViews:
    """How one target's twins are seen.

    drawn: the plausible twins that must be drawn, with the keys of their shots. certain: the
    slide that draws the same picture without doubt, if one does. failed: those that are no plausible
    twins. camera, box_px: of the window, and what it shows (left, top, right, bottom, pixels of the
    cell); None where nothing is drawn. seen: whether any of it may lie in the picture.
    """

    target: Target
    seen: bool
    drawn: tuple[tuple[ShotKey, Twin], ...] = ()
    certain: tuple[Twin, ...] = ()
    failed: tuple[Twin, ...] = ()
    camera: Camera | None = None
    box_px: Box = (0.0, 0.0, 0.0, 0.0)
    anchors: tuple[Anchor, ...] = ()

    @property
    def base(self) -> ShotKey:
        """Key of the shot of the target as it is."""
        return "twin", "none", self.target.name


@lru_cache(maxsize=4)
def twin_views(case: Case) -> dict[str, TwinViews]:
    """How the twins of every target are seen, by target."""
    return {target.name: _views_of(case, target) for target in case.study.target}


@lru_cache(maxsize=4)
def twin_shots(case: Case) -> dict[ShotKey, Shot]:
    """The shots that the twins need: per target the window as it is, and one for each twin that must be
    drawn; the picture itself where some anchor must be seen."""
    shots: dict[ShotKey, Shot] = {}
    for views in twin_views(case).values():
        if views.camera is None:
            continue
        if views.anchors:
            shots[MAIN] = main_shot(case)
        names = twin_group(case, views.target)
        shots[views.base] = base = Shot(
            views.camera,
            frozenset({COLOUR, IDS, DEPTH} if views.anchors else {COLOUR, IDS}),
            moves=case.moves,
            towards_light=case.setup.towards_light,
            tinted=False,
            grid="ground-texture" in case.study.aids,
            shadow="cast-shadow" in case.study.aids,
        )
        for key, one in views.drawn:
            assert one.matrix is not None
            moves = moves_with(case, names, one.matrix)
            shots[key] = Shot(
                views.camera,
                base.planes,
                moves=moves,
                towards_light=base.towards_light,
                tinted=False,
                grid=base.grid,
                shadow=base.shadow,
            )
    return shots


def _views_of(case: Case, target: Target) -> TwinViews:
    """Which twins of a target are plausible, which of them draw the same picture for certain, and which
    must be drawn.

    Certain: a slide in a parallel view, without a shadow in the game, of which surely nothing gets
    between: its picture is the same by construction. Of two slides only the one farther away is drawn if
    surely nothing gets between and no shadow and no occlusion can tell: every cue that is left changes
    less for it, since a depth that grows by a length changes scale less than one that shrinks by it.
    """
    thing = target_object(case.scene, target)
    camera = case.setup.camera
    moving = moving_of(case)[target.name]
    if not thing.nodes or (not camera.parallel and moving.nearest_m <= camera.near_m):
        return TwinViews(target, False)
    if _in_picture(camera, [moving.box_px]) is None:
        return TwinViews(target, False)
    shift = default_shift_m(case)
    slides = [twin_of(case, target, SLIDE, way * shift) for way in (1.0, -1.0)]
    mirror = twin_of(case, target, MIRROR)
    failed = tuple(one for one in (*slides, mirror) if one.why is not None)
    likely = [one for one in slides if one.why is None]
    shadows = "cast-shadow" in case.study.aids
    around = anchors(case, target)
    certain = [one for one in likely if camera.parallel and not shadows and keeps_order(case, target, one)]
    if certain and "drop-marker" not in case.study.aids:
        likely, certain = [], certain[:1]
    likely = [one for one in likely if one not in certain]
    if len(likely) == 2 and _farther_is_told_less(case, target, likely, around, shadows):
        likely = likely[:1]
    if mirror.why is None:
        likely = [*likely, mirror]
    drawn = [(("twin", _kind(one), target.name), one) for one in likely]
    box = _window(case, target, [one for _, one in drawn], shadows) if drawn else None
    if box is None:
        return TwinViews(target, True, certain=tuple(certain), failed=failed)
    left, top, right, bottom = box
    (left, top, right, bottom), pixels = zoomed(box, (right - left) * (bottom - top))
    dx, dy = ASIDE[0] * (right - left) / pixels[0], ASIDE[1] * (bottom - top) / pixels[1]
    box = (left + dx, top + dy, right + dx, bottom + dy)
    camera = windowed_camera(camera, box, pixels)
    return TwinViews(target, True, tuple(drawn), tuple(certain), failed, camera, box, around)


def _kind(one: Twin) -> str:
    """Mirror, or slide to which side, as a shot's key has it."""
    return one.kind if one.shift_m is None else f"{one.kind} {'farther' if one.shift_m > 0 else 'nearer'}"


def _farther_is_told_less(
    case: Case, target: Target, slides: list[Twin], around: tuple[Anchor, ...], shadows: bool
) -> bool:
    farther, nearer = slides
    if shadows or "drop-marker" in case.study.aids or not keeps_order(case, target, farther):
        return False
    nodes = {name for anchor in around for name in anchor.nodes}
    if any(meets_any(case, target, one, nodes) for one in slides):
        return False
    farther_nearer = [ratios_by_geometry(case, target, one, around) for one in (farther, nearer)]
    return farther_nearer[0].most()[0] <= farther_nearer[1].most()[0]


def _window(case: Case, target: Target, several: list[Twin], shadows: bool) -> Box | None:
    """The part of the picture in which a target or one of its twins is drawn, with the shadows that it
    may cast; None where that is outside."""
    camera = case.setup.camera
    here = group_points(case, target)
    places = [here] + [
        carried_nodes(here, one.matrix) for one in several if one.matrix is not None and one.why is None
    ]
    if shadows:
        places += [_shadow(case, points) for points in list(places)]
    if not camera.parallel:
        places = [points[depths(camera, points) > camera.near_m] for points in places]
    return _in_picture(camera, [box_of(camera, points) for points in places if len(points)])


def _in_picture(camera: Camera, boxes: list[Box]) -> Box | None:
    """The part of the picture round some boxes, pixels; None where they are outside."""
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    left, top, right, bottom = min(lefts), min(tops), max(rights), max(bottoms)
    width, height = camera.pixels
    box = (max(left, 0.0), max(top, 0.0), min(right, float(width)), min(bottom, float(height)))
    return box if box[0] < box[2] and box[1] < box[3] else None


def _shadow(case: Case, points: Points) -> Points:
    """Where the shadow of points (n, 3) would fall on the scene's lowest level, 30 m off at most."""
    light = np.asarray(case.setup.towards_light, dtype=np.float64)
    drop = points[:, 1] - float(_lowest(case.scene.nodes))
    along = np.minimum(drop / max(float(light[1]), 1e-3), MOST_SHADOW_M)
    fallen: Points = points - np.maximum(along, 0.0)[:, None] * light
    return fallen


@lru_cache(maxsize=16)
def _lowest(nodes: tuple[Node, ...]) -> float:
    return min(float(node.vertices[:, 1].min()) for node in nodes)
