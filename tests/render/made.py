"""Small scenes and cameras for the renderers' tests, made from plain numbers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import GROUND
from stationpoint.camera.camera import Camera
from stationpoint.camera.pose import backward_axis, turned_by, view_from
from stationpoint.camera.projection import oblique, orthographic, perspective
from stationpoint.scene.types import Node

BOX_FACES = [
    *((0, 1, 2), (1, 3, 2), (4, 6, 5), (5, 6, 7)),  # -x, +x
    *((0, 4, 1), (1, 4, 5), (2, 3, 6), (3, 7, 6)),  # -y, +y
    *((0, 2, 4), (2, 6, 4), (1, 5, 3), (3, 5, 7)),  # -z, +z
]


def box(name: str, low: Sequence[float], high: Sequence[float], **more: object) -> Node:
    """A box between two corners; faces counterclockwise from outside."""
    corners = [(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)]
    span = np.asarray(high, dtype=float) - np.asarray(low, dtype=float)
    vertices = np.asarray(low, dtype=float) + np.array(corners) * span
    faces = np.array(BOX_FACES)
    return Node(name, vertices, faces, **{"kind": "box", **more})  # type: ignore[arg-type]


def square(name: str, x: Sequence[float], y: Sequence[float], z: float, **more: object) -> Node:
    """A rectangle that faces +Z."""
    vertices = [(x[0], y[0], z), (x[1], y[0], z), (x[1], y[1], z), (x[0], y[1], z)]
    return Node(name, np.array(vertices), np.array([(0, 1, 2), (0, 2, 3)]), **{"closed": False, **more})  # type: ignore[arg-type]


def ground(size: float = 40.0, height: float = 0.0) -> Node:
    """Level ground with a metre grid."""
    h = size / 2
    vertices = [(-h, height, -h), (-h, height, h), (h, height, h), (h, height, -h)]
    faces = np.array([(0, 1, 2), (0, 2, 3)])
    return Node("ground", np.array(vertices), faces, GROUND, closed=False, gridded=True, kind="ground")


def camera(
    kind: str = "perspective",
    *,
    anchor: Sequence[float] = (0.0, 1.0, 0.0),
    distance: float = 10.0,
    pitch: float = 20.0,
    yaw: float = 0.0,
    pixels: tuple[int, int] = (160, 90),
    offset: tuple[float, float] = (0.0, 0.0),
    focal: float = 35.0,
    height: float = 8.0,
    near: float = 0.1,
    far: float = 500.0,
) -> Camera:
    """A camera at `distance` from an anchor; lens shift by `offset`."""
    eye = np.asarray(anchor, dtype=float) + distance * backward_axis(yaw, pitch)
    aspect = pixels[0] / pixels[1]
    if kind == "perspective":
        projection = perspective(focal / 36.0, aspect, near, far, offset)
    elif kind == "orthographic":
        projection = orthographic(height, aspect, near, far, offset)
    else:
        projection = oblique(height, aspect, near, far, 0.5, 45.0, distance, offset)
    return Camera(view_from(eye, turned_by(yaw, pitch)), projection, pixels, kind, near, far)


KINDS = ("perspective", "orthographic", "oblique")


def moved_by(x: float, y: float, z: float) -> NDArray[np.float64]:
    """World matrix of a plain move, (4, 4)."""
    matrix = np.eye(4)
    matrix[:3, 3] = (x, y, z)
    return matrix


def drum(name: str, radius: float, height: float, sides: int, **more: object) -> Node:
    """An upright cylinder on the origin, closed by two fans."""
    turn = 2.0 * np.pi * np.arange(sides) / sides
    ring = np.column_stack([radius * np.cos(turn), np.zeros(sides), -radius * np.sin(turn)])
    top = ring + np.array([0.0, height, 0.0])
    vertices = np.vstack([ring, top, [[0.0, 0.0, 0.0], [0.0, height, 0.0]]])
    k = np.arange(sides)
    after = (k + 1) % sides
    floor, lid = np.full(sides, 2 * sides), np.full(sides, 2 * sides + 1)
    faces = np.vstack(
        [
            np.column_stack([k, after, sides + k]),
            np.column_stack([after, sides + after, sides + k]),
            np.column_stack([floor, after, k]),
            np.column_stack([lid, sides + k, sides + after]),
        ]
    )
    return Node(name, vertices, faces, **{"kind": "cylinder", **more})  # type: ignore[arg-type]


def oklab(light: NDArray[np.float64]) -> NDArray[np.float64]:
    """OKLab of linear sRGB light, (..., 3). Source: B. Ottosson, "A perceptual color space
    for image processing", 2020."""
    to_lms = [[0.4122214708, 0.5363325363, 0.0514459929], [0.2119034982, 0.6806995451, 0.1073969566]]
    to_lms.append([0.0883024619, 0.2817188376, 0.6299787005])
    to_lab = [[0.2104542553, 0.7936177850, -0.0040720468], [1.9779984951, -2.4285922050, 0.4505937099]]
    to_lab.append([0.0259040371, 0.7827717662, -0.8086757660])
    found: NDArray[np.float64] = np.cbrt(light @ np.array(to_lms).T) @ np.array(to_lab).T
    return found
