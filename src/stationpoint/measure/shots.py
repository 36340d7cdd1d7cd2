"""What the readings want to see: the picture's ids and depth, and a zoom on each small target."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil, sqrt

from stationpoint.measure.drawn import FRONT, REACHING, Box, Drawn, drawn, drawn_targets
from stationpoint.measure.ends import ends
from stationpoint.measure.things import node_thing, subject_name
from stationpoint.measure.types import Case
from stationpoint.optics.camera import window
from stationpoint.shot import DEPTH, IDS, MOST_WHOLE, WHOLE, Shot

MAIN = "main"
ENOUGH_PX = 4000  # a silhouette of that many pixels of the picture is counted in the picture itself
ZOOM_PX = 6000  # pixels of a zoomed box
MOST_ZOOM_PX = 32768  # of one whose silhouette fills little of it
LEAST_SIDE, MOST_SIDE = 16, 512
MARGIN = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """Where a thing's silhouette is counted.

    shot: the name of the shot with its whole silhouette (its bit is `bit`) and the ids, or None
    where nothing is to be seen or it has no whole silhouette. alone: the shot with a virtual box on
    its own. window_px: left, top, right, bottom of what those shots show, pixels of the cell.
    """

    at: Drawn
    shot: str | None = None
    bit: int = 0
    alone: str | None = None
    window_px: Box = (0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """The views of all targets and of the landings' nodes, and the shots that they need."""

    targets: dict[str, View]
    landings: dict[str, View]
    shots: dict[str, Shot]
    main: Shot


def main_shot(case: Case) -> Shot:
    """The picture itself as the readings need it: ids, depth, and the silhouettes counted in it."""
    return plan(case).main


@lru_cache(maxsize=4)
def plan(case: Case) -> Plan:
    """How each target and each landing's node is counted."""
    camera = case.setup.camera
    targets = {at.thing.name: at for at in drawn_targets(case)}
    made_of = {at.thing.nodes for at in targets.values()}
    gaps = () if subject_name(case) is None else case.study.gap  # only the subject covers landings
    nodes = dict.fromkeys(ends(case, gap).landing for gap in gaps)
    landings = {
        name: drawn(camera, node_thing(case.scene, name))
        for name in nodes
        if name is not None and name in case.scene and (name,) not in made_of
    }
    groups: list[tuple[str, ...]] = []
    shots: dict[str, Shot] = {}
    views = {name: _view(case, at, name, groups, shots) for name, at in targets.items()}
    others = {name: _view(case, at, f"landing {name}", groups, shots) for name, at in landings.items()}
    main = Shot(
        camera,
        frozenset({IDS, DEPTH, WHOLE} if groups else {IDS, DEPTH}),
        moves=case.moves,
        whole=tuple(groups[:MOST_WHOLE]),
        towards_light=case.setup.towards_light,
    )
    for k in range(1, ceil(len(groups) / MOST_WHOLE)):
        part = tuple(groups[k * MOST_WHOLE : (k + 1) * MOST_WHOLE])
        shots[f"{MAIN}.{k + 1}"] = Shot(camera, frozenset({WHOLE}), moves=case.moves, whole=part)
    return Plan(views, others, shots, main)


def _view(case: Case, at: Drawn, name: str, groups: list[tuple[str, ...]], shots: dict[str, Shot]) -> View:
    """The view of one thing; its group or its zoom are added to `groups` or `shots`."""
    camera = case.setup.camera
    if at.box_px is None or at.state != FRONT or at.thing.is_point or is_outside(case, at.box_px):
        return View(at)
    width, height = camera.pixels
    left, top, right, bottom = at.box_px
    whole_in = left >= 0 and top >= 0 and right <= width and bottom <= height
    area_px = at.area_px
    if whole_in and at.thing.box is None and area_px >= ENOUGH_PX:
        groups.append(at.thing.nodes)
        k = len(groups) - 1
        number = k // MOST_WHOLE + 1
        shot = MAIN if number == 1 else f"{MAIN}.{number}"
        return View(at, shot, k % MOST_WHOLE, None, (0.0, 0.0, float(width), float(height)))
    box, pixels = zoomed(at.box_px, area_px)
    zoom = window(camera, box, pixels)
    shot = f"zoom:{name}"
    if at.thing.box is None:
        shots[shot] = Shot(zoom, frozenset({IDS, WHOLE}), moves=case.moves, whole=(at.thing.nodes,))
        return View(at, shot, 0, None, box)
    alone = f"alone:{name}"
    shots[shot] = Shot(zoom, frozenset({IDS, DEPTH}), moves=case.moves)
    shots[alone] = Shot(zoom, frozenset({IDS, DEPTH}), show=(), extra=(at.thing.box,))
    return View(at, shot, 0, alone, box)


def is_outside(case: Case, box_px: Box) -> bool:
    """Whether a box in pixels of the cell has nothing in common with the picture."""
    width, height = case.setup.camera.pixels
    left, top, right, bottom = box_px
    return right <= 0 or bottom <= 0 or left >= width or top >= height


def zoomed(box_px: Box, area_px: float) -> tuple[Box, tuple[int, int]]:
    """A window round a box, and its pixels: about 6000 over the box, more where a silhouette of
    `area_px` fills little of it. The box's sides lie on the sides of pixels."""
    left, top, right, bottom = box_px
    wide, high = max(right - left, 1e-6), max(bottom - top, 1e-6)
    filled = min(1.0, area_px / (wide * high))
    budget = min(MOST_ZOOM_PX, ZOOM_PX * max(1.0, 0.7 / max(filled, 1e-3)))
    columns = _side(sqrt(budget * wide / high))
    rows = _side(budget / columns)
    across, down = max(1, ceil(MARGIN * columns)), max(1, ceil(MARGIN * rows))
    dx, dy = wide / columns, high / rows
    box = (left - across * dx, top - down * dy, right + across * dx, bottom + down * dy)
    return box, (columns + 2 * across, rows + 2 * down)


def _side(length: float) -> int:
    """A side in whole pixels, a multiple of 8."""
    return min(MOST_SIDE, max(LEAST_SIDE, 8 * round(length / 8)))


def target_shots(case: Case) -> dict[str, Shot]:
    """The shots that the targets' silhouettes are counted in."""
    return _shots(plan(case), tuple(plan(case).targets.values()))


def cover_shots(case: Case) -> dict[str, Shot]:
    """The shots that the silhouettes of targets and landings are counted in."""
    made = plan(case)
    return _shots(made, (*made.targets.values(), *made.landings.values()))


def _shots(made: Plan, views: tuple[View, ...]) -> dict[str, Shot]:
    names = {name for view in views for name in (view.shot, view.alone) if name is not None}
    needs_main = any(name.startswith(MAIN) for name in names) or any(
        view.at.state == REACHING or (view.at.thing.is_point and view.at.state == FRONT) for view in views
    )
    every = {MAIN: made.main, **made.shots} if needs_main else made.shots
    return {name: shot for name, shot in every.items() if name == MAIN or name in names}
