"""Landings: how much of the surface to land on can be seen, and what the take-off's lip hides."""

from __future__ import annotations

from functools import lru_cache
from math import ceil, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.columns import spots_within
from stationpoint.base.geometry.plane import convex_hull, polygon_area
from stationpoint.base.geometry.triangles import height_over
from stationpoint.camera import (
    DEPTH,
    IDS,
    Camera,
    Frames,
    Shot,
    ShotKey,
    depths,
    project_points,
    windowed_camera,
)
from stationpoint.readings.frames.masks import hidden_at, present_plane
from stationpoint.readings.frames.shots import ENOUGH_PX, MAIN, main_shot, zoomed
from stationpoint.readings.targets.safe_areas import clear_points
from stationpoint.readings.things.ends import Ends, ends
from stationpoint.readings.types import SHARE, Case, Field, Kind, Path, Reading, Value
from stationpoint.scene import Node, Scene, blocked
from stationpoint.study import Gap

Points = NDArray[np.float64]

LEVEL_COSINE = np.cos(np.radians(45.0))
WHOLE_UNDER_M, NEAR_M = 10.0, 2.0
STEP_M, MOST_SAMPLES = 0.1, 400
LIP_SAMPLES = 100
LEAST_LANDING_SEEN = 0.1  # of a landing that is less seen nobody can judge the gap

FIELDS = (
    Field(
        ("gaps", "*", "landing_seen"),
        SHARE,
        5,
        "Share of the landing's top that is in frame, action-safe, unhidden and unreserved.",
        null="nothing level lies under the landing",
    ),
    Field(
        ("gaps", "*", "lip_hides"),
        SHARE,
        5,
        "Share of the line from take-off to landing, laid at the landing's level, that the take-off hides.",
        null="nothing lies under the take-off, or an end is behind the eye",
    ),
)


class Top(NamedTuple):
    """Samples of a landing's top. points_m: (n, 3) world. areas: (n,) world area that each stands for,
    1 where it is level."""

    points_m: Points
    areas: Points


def landing_top(scene: Scene, at: Ends) -> Top | None:
    """Samples of the landing's top, evenly spaced seen from above.

    Its faces within 45 degrees of level; all of them if it is under 10 m across, else what lies
    within 2 m of the landing. Every 0.1 m, or about 400 points; a sample of a slope counts for more.
    """
    if at.landing is None or at.landing not in scene:
        return None
    return _top_points(scene.node(at.landing), tuple(at.to_m.tolist()))


@lru_cache(maxsize=256)
def _top_points(node: Node, to_m: tuple[float, float, float]) -> Top | None:
    low, high = node.bounds
    to = np.array(to_m)
    wide = float(max(high[0] - low[0], high[2] - low[2]))
    small = wide < WHOLE_UNDER_M
    low2, high2 = low[[0, 2]], high[[0, 2]]
    if not small:
        low2, high2 = np.maximum(low2, to[[0, 2]] - NEAR_M), np.minimum(high2, to[[0, 2]] + NEAR_M)
    size = high2 - low2
    if (size <= 0).any():
        return None
    step = max(STEP_M, sqrt(float(size[0] * size[1]) / MOST_SAMPLES))
    across, along = (2 * max(1, ceil(float(length) / step / 2 - 1e-9)) for length in size)
    x = low2[0] + (np.arange(across) + 0.5) * size[0] / across
    z = low2[1] + (np.arange(along) + 0.5) * size[1] / along
    points, areas = _on_top(node, x, z)
    if not small:
        near = np.linalg.norm(points - to, axis=1) <= NEAR_M
        points, areas = points[near], areas[near]
    return Top(points, areas) if len(points) else None


def _on_top(node: Node, x: Points, z: Points) -> tuple[Points, Points]:
    """Where the vertical lines of a grid, columns x (n,) and rows z (m,), meet the node's upward faces
    that are level enough; the face's area there over its area seen from above."""
    bottom, top = node.bounds[:, 1]
    corners = node.faces_within(np.array([x[0], bottom, z[0]]), np.array([x[-1], top, z[-1]]))
    normal, length, level = _levels(corners)
    if not level.any() and not _levels(node.vertices.astype(np.float64)[node.faces])[2].any():
        level = (length > 0) & (-normal[:, 1] >= LEVEL_COSINE * length)  # an open mesh wound the other way
    corners, slopes = corners[level], length[level] / np.abs(normal[level, 1])
    face, i, j = spots_within(corners, x, z)
    a, b, c = corners[face].swapaxes(0, 1)
    s, t, y = height_over(a, b, c, x[i], z[j])
    hit = (s >= 0) & (t >= 0) & (s + t < 1)  # half-open, so that a point between two triangles counts once
    return np.column_stack([x[i], y, z[j]])[hit], slopes[face[hit]]


def _levels(corners: Points) -> tuple[Points, Points, NDArray[np.bool_]]:
    """Of triangles (n, 3, 3): normals (n, 3), how long these are, and which look up and are level enough."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1)
    return normal, length, (length > 0) & (normal[:, 1] >= LEVEL_COSINE * length)


def _in_sight(case: Case, points: Points) -> tuple[Points, NDArray[np.bool_]]:
    """Pixels of the cell (n, 2) of samples, and which are action-safe and not under opaque interface."""
    px = project_points(case.setup.camera, points)
    return px, clear_points(case, px)


@lru_cache(maxsize=4)
def shots(case: Case) -> dict[ShotKey, Shot]:
    """The picture where a landing is large enough in it, else a zoom on each landing's part in it."""
    found: dict[ShotKey, Shot] = {}
    for gap in case.study.gap:
        top = landing_top(case.scene, ends(case, gap))
        if top is None:
            continue
        px, good = _in_sight(case, top.points_m)
        if not good.any():
            continue
        area = polygon_area(convex_hull(px[good])) if good.sum() > 2 else 0.0
        if area >= ENOUGH_PX:
            found[MAIN] = main_shot(case)
            continue
        (left, top), (right, bottom) = px[good].min(axis=0) - 1.0, px[good].max(axis=0) + 1.0
        box, pixels = zoomed((left, top, right, bottom), area)
        zoom = windowed_camera(case.setup.camera, box, pixels)
        found["top", gap.name] = Shot(zoom, frozenset({IDS, DEPTH}), moves=case.moves)
    return found


def landing_seen(case: Case, gap: Gap, frames: Frames) -> float | None:
    """Share of the landing's top that is in frame, action-safe, unhidden and unreserved.

    A sample is hidden where something at its pixel is nearer by more than 1 % or 2 cm. None where nothing
    level lies under the landing. Source: definition. Worked: a wall over half of a landing: .5.
    """
    top = landing_top(case.scene, ends(case, gap))
    if top is None:
        return None
    _, good = _in_sight(case, top.points_m)
    if not good.any():
        return 0.0
    key = ("top", gap.name)
    shot, frame = shots(case).get(key, main_shot(case)), frames.get(key) or frames[MAIN]
    own = present_plane(frame.ids) == case.scene.id_of(str(ends(case, gap).landing))
    depth_m, sample = present_plane(frame.depth_m), top.points_m[good]
    px, z_m = project_points(shot.camera, sample), depths(shot.camera, sample)
    hidden, _, _ = hidden_at(depth_m, px, z_m, _spread(depth_m, own, px))
    return float(top.areas[good][~hidden].sum() / top.areas.sum())


def unseen(case: Case, gap: Gap, frames: Frames) -> bool:
    """Whether nobody can judge the gap, since an end of it is not in the picture.

    Less than a tenth of the landing's top is seen (where there is none, its point is off the picture), or the
    take-off's point is off the picture or not before the eye. Source: definition; the tenth is common
    practice.
    """
    camera, at = case.setup.camera, ends(case, gap)
    from_in, to_in = (
        0.0 <= x <= camera.pixels[0] and 0.0 <= y <= camera.pixels[1]  # nan behind the eye
        for x, y in project_points(camera, [at.from_m, at.to_m])
    )
    share = landing_seen(case, gap, frames)
    return not from_in or (not to_in if share is None else share < LEAST_LANDING_SEEN)


def _spread(depth_m: NDArray[np.float32], own: NDArray[np.bool_], px: Points) -> Points:
    """By how much the landing's own depth changes over the 3 x 3 pixels round each sample, (n,);
    0 where the sample's pixel shows something else."""
    height, width = depth_m.shape
    # (n, 9): the pixels round each sample in one go; place 4 is the sample's own.
    rows = np.clip(px[:, 1].astype(np.intp), 0, height - 1)[:, None] + np.repeat([-1, 0, 1], 3)
    columns = np.clip(px[:, 0].astype(np.intp), 0, width - 1)[:, None] + np.tile([-1, 0, 1], 3)
    rows, columns = np.clip(rows, 0, height - 1), np.clip(columns, 0, width - 1)
    mine, depth = own[rows, columns], depth_m[rows, columns].astype(np.float64)
    farthest = np.where(mine, depth, -np.inf).max(axis=1)
    nearest = np.where(mine, depth, np.inf).min(axis=1)
    return np.where(mine[:, 4], farthest - nearest, 0.0)


def lip_hides(camera: Camera, scene: Scene, at: Ends) -> float | None:
    """Share of the line from take-off to landing, laid at the landing's level, that the take-off hides.

    From geometry: sightlines to 100 points of the line against the take-off node's faces. None where
    nothing lies under the take-off, or an end is behind the eye. Source: definition. Worked: eye 2 m over
    a deck and 4 m behind its lip, a landing 2 m lower and 8 m from the lip: the first 4 m of it, half.
    """
    if at.takeoff is None or at.takeoff not in scene:
        return None
    start = np.array([at.from_m[0], at.to_m[1], at.from_m[2]])
    share = (np.arange(LIP_SAMPLES) + 0.5) / LIP_SAMPLES
    line = start + share[:, None] * (at.to_m - start)
    if not np.isfinite(project_points(camera, [start, at.to_m])).all():
        return None
    if camera.parallel:
        back = -_sightline(camera)
        towards = np.repeat(back[None], LIP_SAMPLES, axis=0)
    else:
        towards = camera.eye_m - line
    return float(np.mean(blocked(scene.node(at.takeoff), line, towards, camera.parallel)))


def _sightline(camera: Camera) -> Points:
    """Direction of a parallel view's sightlines, (3,), one metre of depth long."""
    p, rotation = camera.projection, camera.view[:3, :3]
    local = np.array([p[0, 2] / p[0, 0], p[1, 2] / p[1, 1], -1.0])
    direction: Points = rotation.T @ local
    return direction


def read(case: Case, frames: Frames) -> Reading:
    """All gaps of the study."""
    values: dict[Path, Value] = {}
    for gap in case.study.gap:
        values["gaps", gap.name, "landing_seen"] = landing_seen(case, gap, frames)
        values["gaps", gap.name, "lip_hides"] = lip_hides(case.setup.camera, case.scene, ends(case, gap))
    return Reading(values)


KIND = Kind("landing", FIELDS, read, shots)
