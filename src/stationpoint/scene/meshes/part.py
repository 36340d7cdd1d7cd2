"""What a mesh file gives: parts and cameras in the file's own axes, before they become nodes."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import isfinite

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.scene.materials import OwnColours
from stationpoint.scene.types import SceneCamera

Matrix = NDArray[np.float64]
MOST_FACES_CHECKED = 200_000  # above, a mesh is not looked at for being closed
MOST_PARTS, MOST_VERTICES, MOST_TRIANGLES = 100_000, 10_000_000, 20_000_000  # of a whole scene
UP = {  # the file's axes in the world's, rows x, y, z
    "y": np.eye(3),
    "z": np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]]),
}


class Unreadable(Exception):
    """A mesh file that cannot be drawn right; the message is one sentence without the file's name."""


class Lacking(Unreadable):
    """A mesh file that a package not installed would read; `extra` names what installs it."""

    def __init__(self, message: str, extra: str) -> None:
        super().__init__(message)
        self.extra = extra


@dataclass(frozen=True, slots=True, eq=False)
class MeshPart:
    """A named piece of a mesh file. vertices: (n, 3) float64; faces: (m, 3) int32; name: "" if none; own:
    its colours, if the file gives it any."""

    name: str
    vertices: NDArray[np.float64]
    faces: NDArray[np.int32]
    closed: bool
    own: OwnColours | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Imported:
    """The parts and cameras of one mesh file, in file order, and what is odd about it."""

    parts: tuple[MeshPart, ...]
    cameras: tuple[SceneCamera, ...] = ()
    notes: tuple[str, ...] = field(default=())


def placed(found: Imported, up: str, scale: float, at: ArrayLike) -> Imported:
    """The same in world axes and metres: the up axis first, then the scale, then moved to `at`."""
    place = np.eye(4)
    place[:3, :3] = UP[up] * scale
    place[:3, 3] = np.asarray(at, dtype=np.float64)
    if np.array_equal(place, np.eye(4)):
        return found
    parts = tuple(replace(part, vertices=transformed(part.vertices, place)) for part in found.parts)
    return replace(found, parts=parts, cameras=tuple(_placed_camera(c, place, scale) for c in found.cameras))


def _placed_camera(camera: SceneCamera, place: Matrix, scale: float) -> SceneCamera:
    turn = place[:3, :3] / scale
    rotation = camera.view[:3, :3]
    eye = place[:3, :3] @ (-rotation.T @ camera.view[:3, 3]) + place[:3, 3]
    view = np.eye(4)
    view[:3, :3] = rotation @ turn.T
    view[:3, 3] = -view[:3, :3] @ eye
    return replace(
        camera,
        view=view,
        view_height_m=None if camera.view_height_m is None else camera.view_height_m * scale,
        near_m=camera.near_m * scale,
        far_m=None if camera.far_m is None else camera.far_m * scale,
    )


def transformed(points: NDArray[np.floating], matrix: Matrix) -> NDArray[np.float64]:
    """Points (n, 3) through a (4, 4) matrix; written out, so that every machine rounds alike."""
    out = np.empty((len(points), 3))
    x, y, z = (np.asarray(points[:, k], dtype=np.float64) for k in range(3))
    with np.errstate(over="ignore", invalid="ignore"):
        for row in range(3):
            out[:, row] = x * matrix[row, 0] + y * matrix[row, 1] + z * matrix[row, 2] + matrix[row, 3]
    return out


def product(a: Matrix, b: Matrix) -> Matrix:
    """The (4, 4) product a b, summed in one order on every machine."""
    with np.errstate(over="ignore", invalid="ignore"):
        every: Matrix = a[:, 0:1] * b[0] + a[:, 1:2] * b[1] + a[:, 2:3] * b[2] + a[:, 3:4] * b[3]
    return every


def rigid_view(world: Matrix) -> Matrix | None:
    """The rigid view matrix of a node: looks along its -Z, +Y up; its scale does not count.

    A sheared node keeps its direction, and its up is made square to that. None: it has no direction.
    """
    back, up = world[:3, 2], world[:3, 1]
    right = np.cross(up, back)
    lengths = float(np.sqrt((back * back).sum())), float(np.sqrt((right * right).sum()))
    if not all(isfinite(n) and n > 0 for n in lengths) or not np.isfinite(world).all():
        return None
    back, right = back / lengths[0], right / lengths[1]
    view = np.eye(4)
    view[:3, :3] = right, np.cross(back, right), back
    view[:3, 3] = -view[:3, :3] @ world[:3, 3]
    return view


def mirrors(matrix: Matrix) -> bool:
    """Whether a (4, 4) matrix turns a left hand into a right one."""
    with np.errstate(over="ignore", invalid="ignore"):
        a, b, c = matrix[:3, 0], matrix[:3, 1], matrix[:3, 2]
        return bool(np.dot(a, np.cross(b, c)) < 0)


def flipped(faces: NDArray[np.int32]) -> NDArray[np.int32]:
    """The same faces seen from the other side."""
    return np.ascontiguousarray(faces[:, ::-1])


def check_size(parts: int, vertices: int, triangles: int) -> None:
    """Unreadable, with the number, where there is more than a scene may hold.

    Asked with what a file promises, repeats and instances counted, before memory is taken for it.
    """
    for count, most, what in (
        (parts, MOST_PARTS, "parts"),
        (vertices, MOST_VERTICES, "vertices"),
        (triangles, MOST_TRIANGLES, "triangles"),
    ):
        if count > most:
            raise Unreadable(f"holds {count} {what} once repeats are counted; at most {most} are drawn.")


def size_of(found: Imported) -> tuple[int, int, int]:
    """How many parts, vertices and triangles a mesh file has given."""
    vertices = sum(len(part.vertices) for part in found.parts)
    return len(found.parts), vertices, sum(len(part.faces) for part in found.parts)


def used_vertices(faces: NDArray[np.integer]) -> tuple[NDArray[np.int64], NDArray[np.int32]]:
    """The vertices that faces (m, 3) ask for, ascending and once each, and the faces in their numbers.

    The work follows the faces, not the vertices that a file shares among many meshes.
    """
    if not faces.size:
        return np.zeros(0, dtype=np.int64), np.zeros((0, 3), dtype=np.int32)
    first = int(faces.min())
    span = int(faces.max()) - first + 1
    if span > 8 * faces.size:  # far apart: sorting beats a mark for each vertex between
        found, numbers = np.unique(faces, return_inverse=True)
        return found.astype(np.int64), numbers.reshape(-1, 3).astype(np.int32)
    used = np.zeros(span, dtype=bool)
    used[faces - first] = True
    numbers = np.cumsum(used, dtype=np.int32) - np.int32(1)
    return np.flatnonzero(used) + first, numbers[faces - first]


def is_closed(vertices: NDArray[np.floating], faces: NDArray[np.int32]) -> bool:
    """Whether a mesh encloses a volume: every edge is gone along once each way.

    Vertices at one position count as one. Meshes of more than MOST_FACES_CHECKED faces: False.
    """
    if not 4 <= len(faces) <= MOST_FACES_CHECKED:
        return False
    spots = np.ascontiguousarray(np.asarray(vertices, dtype=np.float64) + 0.0)
    keys = spots.view(np.dtype((np.void, spots.dtype.itemsize * 3))).ravel()
    _, same = np.unique(keys, return_inverse=True)
    corners = same.reshape(-1)[faces].astype(np.int64)
    real = (corners != np.roll(corners, 1, axis=1)).all(axis=1)
    corners = corners[real]
    starts, ends = corners.ravel(), np.roll(corners, -1, axis=1).ravel()
    there = np.sort(starts * len(spots) + ends)
    back = np.sort(ends * len(spots) + starts)
    return len(there) > 0 and bool((there[1:] != there[:-1]).all()) and np.array_equal(there, back)
