"""Cases for the readings' tests, made from numbers; a renderer made from a function.

The stand-in renderer casts one ray through each pixel's centre at every triangle, in plain numpy: it
shares no line with the renderers of the program.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from math import hypot
from typing import Any

import numpy as np
from numpy.typing import NDArray

from camera.cameras import worked
from stationpoint.camera.camera import Camera, pixel_rays, resized_camera
from stationpoint.camera.pose import backward_axis, turned_by, view_from
from stationpoint.camera.projection import orthographic, perspective
from stationpoint.camera.seat import Seat, seat_at
from stationpoint.camera.shot import COLOUR, DEPTH, IDS, WHOLE, Frame, Setup, Shot
from stationpoint.readings import axes, framing, read, wanted
from stationpoint.readings import viewing as seats
from stationpoint.readings.gaps import lengths as gaps
from stationpoint.readings.targets import positions, size
from stationpoint.readings.types import Case, Path, Reading, Value
from stationpoint.scene.edit import box_node, moved_scene, stand_in
from stationpoint.scene.types import Node, Scene
from stationpoint.study.camera_keys import CameraFields
from stationpoint.study.models import Place, Study
from stationpoint.study.sweep import Variant

COUCH = seat_at("couch", 55, (1920, 1080), 2.7)
DESK = seat_at("desk", 24, (1920, 1080), 0.6)
HANDHELD = seat_at("handheld", 7, (1280, 720), 0.35)
WIDE = (1920, 1080)


def camera(
    kind: str = "perspective",
    *,
    anchor: Sequence[float] = (0.0, 0.0, 0.0),
    distance: float = 8.0,
    pitch: float = 20.0,
    yaw: float = 0.0,
    roll: float = 0.0,
    focal: float = 35.0,
    height: float = 8.0,
    pixels: tuple[int, int] = WIDE,
    offset: tuple[float, float] = (0.0, 0.0),
) -> Camera:
    """A camera aimed at an anchor; focal in mm on 36 mm width."""
    aspect = pixels[0] / pixels[1]
    near, far = 0.1, 200.0
    if kind == "perspective":
        projection = perspective(focal / 36.0, aspect, near, far, offset)
    else:
        near = -100.0
        projection = orthographic(height, aspect, near, far, offset)
    eye = np.array(anchor, dtype=float) + distance * backward_axis(yaw, pitch)
    return Camera(view_from(eye, turned_by(yaw, pitch, roll)), projection, pixels, kind, near, far)


def case(
    view: Camera | str,
    *nodes: Node,
    at: Sequence[Seat] | None = None,
    anchor: Sequence[float] = (0.0, 0.0, 0.0),
    moves: Mapping[str, Sequence[float]] | None = None,
    cell: tuple[int, int] | None = None,
    **study: Any,
) -> Case:
    """A case from a camera (or the name of a worked one), nodes, and what the study says."""
    made = worked(view) if isinstance(view, str) else view
    whole = made.pixels
    pitch_m = 55 * 0.0254 / hypot(1920, 1080)
    own = Seat("couch", whole, pitch_m, 2.7, (whole[0] / 2, whole[1] / 2))
    cell_camera = resized_camera(made, cell) if cell else made
    matrices = tuple((name, _shift(by)) for name, by in (moves or {}).items())
    scene = Scene(nodes or (block("far off", (500, -1, 500), (1, 1, 1)),))
    setup = Setup(
        cell_camera, made.kind, None, None, None, None, None, 8.0, 20.0, 0.0, 0.0, (0.0, 0.0), None,
        whole[0] / whole[1], "16:9", whole, (float(anchor[0]), float(anchor[1]), float(anchor[2])),
    )  # fmt: skip
    fields = CameraFields()
    return Case(
        Study.model_validate({"scene": "made.toml", **study}),
        moved_scene(scene, dict(matrices)),
        Variant("A1", "000000", 0, 0, 0, (), fields, fields),
        Place(name="here"),
        setup,
        tuple(at or (own,)),
        "16:9",
        matrices,
    )


def _shift(by: Sequence[float]) -> NDArray[np.float64]:
    matrix = np.eye(4)
    matrix[:3, 3] = by
    return matrix


def block(name: str, at: Sequence[float], size: Sequence[float]) -> Node:
    """A box on its base centre."""
    node = box_node(name, at, size)
    return Node(name, node.vertices, node.faces, kind="box", walkable=True)


def body(at: Sequence[float], name: str = "subject", height: float = 1.7) -> Node:
    """The stand-in subject."""
    return stand_in(name, at, height, shape="capsule")


def square(name: str, x: tuple[float, float], y: tuple[float, float], z: float) -> Node:
    """A rectangle that faces +Z."""
    corners = [(x[0], y[0], z), (x[1], y[0], z), (x[1], y[1], z), (x[0], y[1], z)]
    return Node(name, np.array(corners, dtype=np.float32), np.array([(0, 1, 2), (0, 2, 3)]), closed=False)


def values(made: Case, only: Collection[str] | None = None) -> dict[Path, Value]:
    """The readings of a case, its shots drawn by the stand-in."""
    return reading(made, only).values


def reading(made: Case, only: Collection[str] | None = None) -> Reading:
    """The whole reading of a case, its shots drawn by the stand-in."""
    frames = {name: drawn(made.scene, shot) for name, shot in wanted(made, only).items()}
    return read(made, frames, only)


def numbers(made: Case, *path: str) -> dict[str, Any]:
    """What lies under a path, by the last name, of the readings that rest on geometry."""
    width, height = made.setup.camera.pixels
    small = resized_camera(made.setup.camera, (width // 8, height // 8))  # soon drawn; records know no cell
    made = replace(made, setup=replace(made.setup, camera=small))
    found = values(made, [kind.name for kind in GEOMETRY]).items()
    return {key[-1]: value for key, value in found if key[: len(path)] == path}


GEOMETRY = (positions.KIND, size.KIND, gaps.KIND, axes.KIND, framing.KIND, seats.KIND)


def drawn(scene: Scene, shot: Shot) -> Frame:
    """A frame by casting rays at every triangle. The shot's moves are taken to be in the scene."""
    width, height = shot.camera.pixels
    y, x = np.mgrid[0:height, 0:width] + 0.5
    origins, ways = pixel_rays(shot.camera, np.column_stack([x.ravel(), y.ravel()]))
    shown = [(k + 1, n) for k, n in enumerate(scene.nodes) if shot.show is None or n.name in shot.show]
    shown += [(len(scene.nodes) + k + 1, node) for k, node in enumerate(shot.extra)]
    depth = np.full(width * height, np.inf)
    ids = np.zeros(width * height, dtype=np.uint32)
    whole = np.zeros(width * height, dtype=np.uint32)
    faces = np.zeros(width * height, dtype=np.intp)
    for number, node in shown:
        near, face = hits(node, origins, ways, shot.camera.near_m)
        closer = near < depth
        depth[closer], ids[closer], faces[closer] = near[closer], number, face[closer]
        for bit, group in enumerate(shot.whole):
            if node.name in group:
                whole[np.isfinite(near)] |= np.uint32(1 << bit)
    size = (height, width)
    colour = painted(dict(shown), shot, origins, ways, depth, ids, faces) if COLOUR in shot.planes else None
    return Frame(
        colour=None if colour is None else colour.reshape(*size, 3),
        depth_m=depth.reshape(size).astype(np.float32) if DEPTH in shot.planes else None,
        ids=ids.reshape(size) if IDS in shot.planes else None,
        whole=whole.reshape(size) if WHOLE in shot.planes else None,
    )


AMBIENT, DIRECT, GREY, SKY = 0.15, 0.6, 0.9, (183, 191, 196)


def painted(
    nodes: Mapping[int, Node],
    shot: Shot,
    origins: NDArray[np.float64],
    ways: NDArray[np.float64],
    depth: NDArray[np.float64],
    ids: NDArray[np.uint32],
    faces: NDArray[np.intp],
) -> NDArray[np.uint8]:
    """Grey surfaces under a hard light, (n, 3): GREY x (AMBIENT + DIRECT x cosine), no direct light in
    a shadow. The grid is not drawn."""
    light = np.array(shot.towards_light, dtype=float) / np.linalg.norm(shot.towards_light)
    linear = np.zeros(len(ids))
    for number in np.unique(ids[ids > 0]).tolist():
        which = np.flatnonzero(ids == number)
        corners = nodes[number].vertices.astype(np.float64)[nodes[number].faces[faces[which]]]
        normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        normal /= np.linalg.norm(normal, axis=1)[:, None]
        normal *= -np.sign((normal * ways[which]).sum(axis=1))[:, None]
        direct = np.maximum(normal @ light, 0.0)
        if shot.shadow:
            at = origins[which] + depth[which, None] * ways[which] + 1e-4 * normal
            for node in nodes.values():
                if node.kind != "ground" and (shot.casters is None or node.name in shot.casters):
                    blocked, _ = hits(node, at, np.broadcast_to(light, at.shape), 1e-6)
                    direct[np.isfinite(blocked)] = 0.0
        linear[which] = GREY * (AMBIENT + DIRECT * direct)
    srgb = np.where(
        linear <= 0.0031308, linear * 12.92, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    )
    colour = np.repeat(np.rint(srgb * 255.0).astype(np.uint8)[:, None], 3, axis=1)
    colour[ids == 0] = SKY
    return colour


def hits(
    node: Node, origins: NDArray[np.float64], ways: NDArray[np.float64], near_m: float
) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Depth of the node at each ray, infinity where it is missed, and the face that is hit (Moller and
    Trumbore 1997)."""
    best, face = np.full(len(ways), np.inf), np.zeros(len(ways), dtype=np.intp)
    low, high = node.bounds[0] - 1e-6, node.bounds[1] + 1e-6
    with np.errstate(divide="ignore", invalid="ignore"):  # only rays that meet its box are tried
        slabs = np.sort([(low - origins) / ways, (high - origins) / ways], axis=0)
    meets = np.flatnonzero(~(np.nanmax(slabs[0], axis=1) > np.nanmin(slabs[1], axis=1)))
    origins, ways = origins[meets], ways[meets]
    for k, (a, b, c) in enumerate(node.vertices.astype(np.float64)[node.faces]):
        u, v = b - a, c - a
        p = np.cross(ways, v)
        det = p @ u
        with np.errstate(divide="ignore", invalid="ignore"):
            to = origins - a
            s = np.einsum("ij,ij->i", to, p) / det
            q = np.cross(to, u)
            t = np.einsum("ij,ij->i", ways, q) / det
            far = q @ v / det
            hit = (s >= 0) & (t >= 0) & (s + t <= 1) & (far > near_m) & (far < best[meets])
        best[meets[hit]], face[meets[hit]] = far[hit], k
    return best, face
