"""What the readings want to see: the picture's ids and depth, and a zoom on each small target."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil, inf, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.plane import outermost, polygon_area
from stationpoint.camera import DEPTH, IDS, MOST_WHOLE, WHOLE, Shot, ShotKey, project_points, windowed_camera
from stationpoint.readings.frames.drawn import (
    CONVEX,
    FRONT,
    REACHING,
    Box,
    OnPicture,
    measured_on_picture,
    outline_on_picture,
)
from stationpoint.readings.things.ends import ends
from stationpoint.readings.things.things import SUBJECT, SceneObject, asks_for, node_object, subject_name
from stationpoint.readings.types import Case, Field, Path, Shots
from stationpoint.scene import Scene

MAIN: ShotKey = ("main",)
TARGET, LANDING = "target", "landing"  # what a zoom is of
ENOUGH_PX = 8000  # a silhouette of that many pixels of the picture is counted in the picture itself
ZOOM_PX = 6000  # pixels of a zoomed box
MOST_ZOOM_PX = 32768  # of one whose silhouette fills little of it
COUNTED_PX = 8200  # of a silhouette on a zoom of its own: rounding leaves ENOUGH_PX of them
MOST_COUNTED_PX = 131072  # of a zoomed box where they are
FEW_FACES = 5000  # up to here a mesh's faces are drawn up to see what its silhouette may fill
LEAST_SIDE, MOST_SIDE, STEP_PX = 16, 512, 8
MARGIN = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class ObjectView:
    """Where a thing's silhouette is counted.

    shot: the key of the shot with its whole silhouette (its bit is `bit`) and the ids, or None
    where nothing is to be seen or it has no whole silhouette. alone: the shot with a virtual box on
    its own. window_px: left, top, right, bottom of what those shots show, pixels of the cell.
    """

    at: OnPicture
    shot: ShotKey | None = None
    bit: int = 0
    alone: ShotKey | None = None
    window_px: Box = (0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class ShotPlan:
    """The views of all targets and of the subject, by how their readings' paths begin, of the gaps' landings
    by name, and the shots that they need."""

    measured: dict[Path, ObjectView]
    landings: dict[str, ObjectView]
    shots: dict[ShotKey, Shot]
    main: Shot


def main_shot(case: Case) -> Shot:
    """The picture itself as the readings need it: ids, depth, and the silhouettes counted in it."""
    return shot_plan(case).main


@lru_cache(maxsize=4)
def shot_plan(case: Case) -> ShotPlan:
    """How each target and each landing's node is counted."""
    camera = case.setup.camera
    groups: list[tuple[str, ...]] = []
    shots: dict[ShotKey, Shot] = {}
    several = measured_on_picture(case)
    measured = {
        at.thing.path: _view(case, at, px, (TARGET, *at.thing.path[not at.thing.further :]), groups, shots)
        for at, px in zip(several, _faces_px(case, several), strict=True)
    }
    by_nodes = {view.at.thing.nodes: view for view in measured.values()}
    landings: dict[str, ObjectView] = {}
    for gap in () if subject_name(case) is None else case.study.gap:  # only the subject covers landings
        node = ends(case, gap).landing
        if node is None or node not in case.scene:
            continue
        if (node,) not in by_nodes:
            at = outline_on_picture(camera, node_object(case.scene, node))
            by_nodes[node,] = _view(case, at, _faces_px(case, (at,))[0], (LANDING, node), groups, shots)
        landings[gap.name] = by_nodes[node,]
    main = Shot(
        camera,
        frozenset({IDS, DEPTH, WHOLE} if groups else {IDS, DEPTH}),
        moves=case.moves,
        whole=tuple(groups[:MOST_WHOLE]),
        towards_light=case.setup.towards_light,
    )
    for k in range(1, ceil(len(groups) / MOST_WHOLE)):
        part = tuple(groups[k * MOST_WHOLE : (k + 1) * MOST_WHOLE])
        shots[_main(k)] = Shot(camera, frozenset({WHOLE}), moves=case.moves, whole=part)
    return ShotPlan(measured, landings, shots, main)


def _main(k: int) -> ShotKey:
    """The key of the picture's k-th shot: each has room for so many silhouettes."""
    return (*MAIN, str(k + 1)) if k else MAIN


def is_main(key: ShotKey) -> bool:
    """Whether a shot shows the picture itself."""
    return key[: len(MAIN)] == MAIN


def _view(
    case: Case,
    at: OnPicture,
    faces_px: float,
    of: ShotKey,
    groups: list[tuple[str, ...]],
    shots: dict[ShotKey, Shot],
) -> ObjectView:
    """The view of one thing; its group or its zoom are added to `groups` or `shots`.

    faces_px: as of `_faces_px`. of: TARGET and its name (of the subject none), or LANDING and its node's.
    """
    camera = case.setup.camera
    if at.box_px is None or at.state != FRONT or at.thing.is_point or is_outside(case, at.box_px):
        return ObjectView(at)
    width, height = camera.pixels
    left, top, right, bottom = at.box_px
    whole_in = left >= 0 and top >= 0 and right <= width and bottom <= height
    area_px = _silhouette_px(case, at, faces_px)
    if whole_in and at.thing.box is None and area_px >= ENOUGH_PX:
        groups.append(at.thing.nodes)
        k = len(groups) - 1
        window_px = (0.0, 0.0, float(width), float(height))
        return ObjectView(at, _main(k // MOST_WHOLE), k % MOST_WHOLE, None, window_px)
    box, pixels = _counted(at.box_px, area_px)
    zoom = windowed_camera(camera, box, pixels)
    shot = ("zoom", *of)
    if at.thing.box is None:
        shots[shot] = Shot(zoom, frozenset({IDS, WHOLE}), moves=case.moves, whole=(at.thing.nodes,))
        return ObjectView(at, shot, 0, None, box)
    alone = ("alone", *of)
    shots[shot] = Shot(zoom, frozenset({IDS, DEPTH}), moves=case.moves)
    shots[alone] = Shot(zoom, frozenset({IDS, DEPTH}), show=(), extra=(at.thing.box,))
    return ObjectView(at, shot, 0, alone, box)


def _silhouette_px(case: Case, at: OnPicture, faces_px: float) -> float:
    """What a silhouette fills of the cell at most, pixels: its hull, or its faces if that is less."""
    assert at.px is not None
    if _is_convex(case.scene, at.thing) or faces_px <= polygon_area(at.px[outermost(at.px)]):
        return faces_px
    return min(faces_px, at.area_px)


def _faces_px(case: Case, several: tuple[OnPicture, ...]) -> list[float]:
    """What the faces of each thing fill of the cell together, pixels: no less than its silhouette, and just
    as much if it is convex. Infinite where they are not asked.

    Faces that enclose a solid count half: each pixel of it has one in front and one behind.
    """
    faces = _faces_of(case.scene, tuple(at.thing for at in several))
    x, y = project_points(case.setup.camera, faces.vertices_m).T[:, faces.corners]
    turns = (x[1] - x[0]) * (y[2] - y[0]) - (y[1] - y[0]) * (x[2] - x[0])
    filled = np.bincount(faces.thing, np.abs(turns) * faces.share, len(several)).tolist()
    return [px if is_asked else inf for px, is_asked in zip(filled, faces.asked, strict=True)]


class _Faces(NamedTuple):
    """The faces of several things, n of them. corners: (3, n) their vertices' numbers. thing: (n,) the number
    of whose each is. share: (n,) what counts of its corners' cross product. asked: of each thing whether its
    faces are here, as those of meshes of many are not."""

    vertices_m: NDArray[np.float64]
    corners: NDArray[np.intp]
    thing: NDArray[np.intp]
    share: NDArray[np.float64]
    asked: list[bool]


@lru_cache(maxsize=16)
def _faces_of(scene: Scene, things: tuple[SceneObject, ...]) -> _Faces:
    asked, vertices, corners, thing, share = [], [np.zeros((0, 3))], [np.zeros((0, 3), dtype=np.intp)], [], []
    count = 0
    for k, one in enumerate(things):
        nodes = [scene.node(name) for name in one.nodes]
        asked.append(0 < sum(len(node.faces) for node in nodes) <= FEW_FACES or _is_convex(scene, one))
        for node in nodes if asked[-1] else ():
            corners.append(node.faces + np.intp(count))
            vertices.append(node.vertices.astype(np.float64))
            count += len(node.vertices)
            thing.append(np.full(len(node.faces), k))
            share.append(np.full(len(node.faces), 0.25 if node.closed else 0.5))
    none = np.zeros(0)
    return _Faces(
        np.concatenate(vertices),
        np.ascontiguousarray(np.concatenate(corners).T),
        np.concatenate([none.astype(np.intp), *thing]),
        np.concatenate([none, *share]),
        asked,
    )


@lru_cache(maxsize=512)
def _is_convex(scene: Scene, thing: SceneObject) -> bool:
    """Whether a thing is one convex solid of the scene."""
    nodes = [scene.node(name) for name in thing.nodes]
    return len(nodes) == 1 and nodes[0].kind in CONVEX and nodes[0].closed


def is_outside(case: Case, box_px: Box) -> bool:
    """Whether a box in pixels of the cell has nothing in common with the picture."""
    width, height = case.setup.camera.pixels
    left, top, right, bottom = box_px
    return right <= 0 or bottom <= 0 or left >= width or top >= height


def zoomed(box_px: Box, area_px: float) -> tuple[Box, tuple[int, int]]:
    """A window round a box, and its pixels: about 6000 over the box, more where a silhouette of
    `area_px` fills little of it. The box's sides lie on the sides of pixels."""
    filled = _filled(box_px, area_px)
    return _window(box_px, min(MOST_ZOOM_PX, ZOOM_PX * max(1.0, 0.7 / filled)))


def _counted(box_px: Box, area_px: float) -> tuple[Box, tuple[int, int]]:
    """The same where shares are counted: pixels enough for COUNTED_PX of them to be the silhouette's."""
    return _window(box_px, min(MOST_COUNTED_PX, COUNTED_PX / _filled(box_px, area_px)), STEP_PX / 2)


def _filled(box_px: Box, area_px: float) -> float:
    """Share of a box that a silhouette of `area_px` fills, 0.001 at least."""
    left, top, right, bottom = box_px
    return min(1.0, max(1e-3, area_px / max(1e-6, (right - left) * (bottom - top))))


def _window(box_px: Box, budget: float, more_rows: float = 0.0) -> tuple[Box, tuple[int, int]]:
    """A window of about `budget` pixels round a box, and its pixels, which end on the box's sides.

    more_rows: added before they are rounded; half a step of rounding leaves no fewer than `budget`.
    """
    left, top, right, bottom = box_px
    wide, high = max(right - left, 1e-6), max(bottom - top, 1e-6)
    columns = _side(sqrt(budget * wide / high))
    rows = _side(budget / columns + more_rows)
    across, down = max(1, ceil(MARGIN * columns)), max(1, ceil(MARGIN * rows))
    dx, dy = wide / columns, high / rows
    box = (left - across * dx, top - down * dy, right + across * dx, bottom + down * dy)
    return box, (columns + 2 * across, rows + 2 * down)


def _side(length: float) -> int:
    """A side in whole pixels, a multiple of STEP_PX."""
    return min(MOST_SIDE, max(LEAST_SIDE, STEP_PX * round(length / STEP_PX)))


def target_shots(case: Case) -> dict[ShotKey, Shot]:
    """The shots that the silhouettes of targets and subject are counted in."""
    return _shots(shot_plan(case), tuple(shot_plan(case).measured.values()))


def shots_for(fields: tuple[Field, ...]) -> Shots:
    """The shots of those things alone of which one of these fields of targets and subject must be read."""
    ends = frozenset(field.path[2:] for field in fields if field.path[0] == "targets")

    def shots(case: Case) -> dict[ShotKey, Shot]:
        views = shot_plan(case).measured.values()
        return _shots(
            shot_plan(case),
            tuple(view for view in views if any(asks_for(case, view.at.thing, *end) for end in ends)),
        )

    return shots


def cover_shots(case: Case) -> dict[ShotKey, Shot]:
    """The shots that the silhouettes of targets and landings are counted in."""
    made = shot_plan(case)
    targets = (view for view in made.measured.values() if view.at.thing.role != SUBJECT)
    return _shots(made, (*targets, *made.landings.values()))


def _shots(made: ShotPlan, views: tuple[ObjectView, ...]) -> dict[ShotKey, Shot]:
    keys = {key for view in views for key in (view.shot, view.alone) if key is not None}
    needs_main = any(map(is_main, keys)) or any(
        view.at.state == REACHING or (view.at.thing.is_point and view.at.state == FRONT) for view in views
    )
    every = {MAIN: made.main, **made.shots} if needs_main else made.shots
    return {key: shot for key, shot in every.items() if key == MAIN or key in keys}
