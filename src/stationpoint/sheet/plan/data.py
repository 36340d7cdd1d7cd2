"""Plan and side view as data: what stands where, seen from above and from the side, in metres.

Along: the way the first (or chosen) camera heads, level. Across: to its right. Up: up.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.plane import convex_hull
from stationpoint.camera import Setup
from stationpoint.sheet.roles import Owner, Solid, owners_by_id
from stationpoint.study import Study

Points = NDArray[np.float64]
MOST_VERTICES = 4000  # of a big mesh, so many are looked at, evenly picked
MOST_OBJECTS = 80
GROUND = "ground"


@dataclass(frozen=True, slots=True, eq=False)
class PlanObject:
    """A solid's outlines. plan: (n, 2) along, across. side: (n, 2) along, up. role: "" for scenery,
    "ground", "subject", "primary", ...; title: its target's name, "" if it is none."""

    name: str
    role: str
    title: str
    plan: Points
    side: Points


@dataclass(frozen=True, slots=True)
class Jump:
    """A gap, each end along, across, up."""

    name: str
    start: tuple[float, float, float]
    end: tuple[float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class PlanCamera:
    """A camera. label: its variant's. at: (3,) along, across, up. ways: (4, 3) directions of the
    sightlines through the middles of the left, right, upper and lower edge. starts: (4, 3) where
    they start (the eye; for a parallel view points of the picture's plane). holds: whether its brief does."""

    label: str
    at: Points
    starts: Points
    ways: Points
    parallel: bool
    chosen: bool = False
    holds: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class PlanData:
    """All that plan and side view show. foot: the subject's, along, across, up. height_m: of the
    subject, None without one. bar_m: width that every cell shows at the subject, None if it differs.
    x_way: the world's x, along and across, None where it is not to be drawn."""

    objects: tuple[PlanObject, ...]
    jumps: tuple[Jump, ...]
    cameras: tuple[PlanCamera, ...]
    foot: tuple[float, float, float]
    height_m: float | None
    bar_m: float | None
    x_way: tuple[float, float] | None = None


def plan_data(
    nodes: Iterable[Solid],
    setups: Sequence[tuple[str, Setup]],
    study: Study,
    chosen: str | None = None,
) -> PlanData:
    """Plan and side view of a study. nodes: the scene's, in its order. setups: (label, set-up) of
    the variants. chosen: label of the one that is filled white and whose heading runs to the right."""
    first = next((setup for label, setup in setups if label == chosen), setups[0][1])
    axes = axes_of(first)
    objects = plan_objects(nodes, axes, study)
    jumps = tuple(
        Jump(gap.name, _triple(axes @ np.array(gap.from_)), _triple(axes @ np.array(gap.to)))
        for gap in study.gap
    )
    foot = axes @ np.array(first.foot_m)
    x_way = (float(axes[0, 0]), float(axes[1, 0]))
    height = study.subject.high_m if study.subject is not None else None
    cameras = tuple(plan_camera(label, setup, axes, label == chosen) for label, setup in setups)
    return PlanData(tuple(objects), jumps, cameras, _triple(foot), height, _common_width(setups), x_way)


def plan_objects(nodes: Iterable[Solid], axes: Points, study: Study) -> list[PlanObject]:
    """The outlines of nodes, the scene's in its order. axes: (3, 3) along, across, up in the world."""
    solids = tuple(nodes)
    owner_by_id = owners_by_id(solids, study)
    objects = []
    kept = _large(solids, owner_by_id)
    for k, solid in enumerate(solids, start=1):
        if k not in kept or not len(solid.vertices):
            continue
        step = -(-len(solid.vertices) // MOST_VERTICES)
        local = np.round(solid.vertices[::step].astype(np.float64) @ axes.T, 6)  # a thin wall stays a line
        one = owner_by_id.get(k)
        role = one.role if one else GROUND if solid.kind == GROUND else ""
        title = one.target or "" if one else ""
        objects.append(
            PlanObject(solid.name, role, title, convex_hull(local[:, :2]), convex_hull(local[:, [0, 2]]))
        )
    return objects


def _large(solids: Sequence[Solid], owner_by_id: Mapping[int, Owner]) -> set[int]:
    """Numbers of the solids worth an outline: those with a role, and the largest of the others."""
    if len(solids) <= MOST_OBJECTS:
        return set(range(1, len(solids) + 1))
    owned = set(owner_by_id)
    spans = {
        k: float(np.prod(np.sort(np.ptp(solid.vertices, axis=0))[1:]))
        for k, solid in enumerate(solids, start=1)
        if k not in owned and len(solid.vertices)
    }
    order = sorted(spans, key=lambda k: -spans[k])
    return owned | set(order[: max(0, MOST_OBJECTS - len(owned))])


def axes_of(setup: Setup) -> Points:
    """Rows: along, across, up in the world, (3, 3), for a camera's heading; straight down, its up."""
    view = setup.camera.view
    along = -view[2, :3] * (1.0, 0.0, 1.0)
    if np.linalg.norm(along) < 1e-3:
        along = view[1, :3] * (1.0, 0.0, 1.0)
    along = along / np.linalg.norm(along)
    up = np.array([0.0, 1.0, 0.0])
    return np.array([along, np.cross(along, up), up])


def plan_camera(label: str, setup: Setup, axes: Points, chosen: bool) -> PlanCamera:
    """A camera with the sightlines through the middles of its four edges."""
    p, view = setup.camera.projection, setup.camera.view
    turn, eye = view[:3, :3], -view[:3, :3].T @ view[:3, 3]
    edges = np.array([(-1.0, 0.0), (1.0, 0.0), (0.0, 1.0), (0.0, -1.0)])
    parallel = setup.camera.parallel
    if parallel:
        at = np.column_stack(
            [(edges[:, 0] - p[0, 3]) / p[0, 0], (edges[:, 1] - p[1, 3]) / p[1, 1], np.zeros(4)]
        )
        way = np.array([p[0, 2] / p[0, 0], p[1, 2] / p[1, 1], -1.0])
        starts, ways = eye + at @ turn, np.tile(way, (4, 1)) @ turn
    else:
        x, y = (edges[:, 0] + p[0, 2]) / p[0, 0], (edges[:, 1] + p[1, 2]) / p[1, 1]
        starts, ways = np.tile(eye, (4, 1)), np.column_stack([x, y, -np.ones(4)]) @ turn
    return PlanCamera(label, axes @ eye, starts @ axes.T, ways @ axes.T, parallel, chosen)


def width_at_anchor_m(setup: Setup) -> float:
    """Metres that the picture is wide in the anchor's plane. Worked: 35 mm, 8 m: 8.23 m."""
    scale = float(setup.camera.projection[0, 0])
    if setup.camera.parallel:
        return 2.0 / scale
    depth = -float(setup.camera.view[2, :3] @ np.array(setup.anchor_m) + setup.camera.view[2, 3])
    return 2.0 * depth / scale


def _common_width(setups: Sequence[tuple[str, Setup]]) -> float | None:
    widths = [width_at_anchor_m(setup) for _, setup in setups]
    return widths[0] if len(widths) > 1 and max(widths) - min(widths) < 1e-3 * widths[0] else None


def _triple(point: Points) -> tuple[float, float, float]:
    return float(point[0]), float(point[1]), float(point[2])
