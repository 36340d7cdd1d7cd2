"""Cues of a made case, and an independent view of it (OpenCV) to calculate them by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from readings.made import block, camera, case, reading
from stationpoint.camera.camera import Camera
from stationpoint.readings.types import Case, Reading
from stationpoint.scene.types import Node

Points = NDArray[np.float64]

FOCAL_PX = 1920 * 35 / 36
ARCMIN_PX = 0.8074  # couch, at the screen's centre (reference values)
CELL = (320, 180)
FROM, TO = (4.2, 0.8, -3.0), (4.2, 0.8, -7.1)
HOP = {"name": "hop", "from": FROM, "to": TO, "reach_m": 3.4}
DECKS = (block("barge-2", (4.2, 0.0, -3.0), (2, 0.8, 1.2)), block("barge-3", (4.2, 0.0, -7.1), (2, 0.8, 1.2)))
QUAY = camera(anchor=FROM)
QUAY_FLAT = camera("orthographic", anchor=FROM, height=1080 / (FOCAL_PX / 8))  # 233.33 px/m
EVERY_AID = ("ground-texture", "cast-shadow", "drop-marker")


class Shown(NamedTuple):
    """A cue as the record has it."""

    value: float | None
    grade: str
    share: float | None
    unit: str


def cues(made: Case, pair: str = "gap:hop") -> dict[str, Shown]:
    """The cues of a pair by name."""
    return cues_in(reading(made, ["cues"]), pair)


def cues_in(read: Reading, pair: str) -> dict[str, Shown]:
    found = {path[2] for path in read.values if path[:2] == ("cues", pair) and path[-1] == "grade"}
    assert len(found) == 10
    parts = ("value", "grade", "share", "unit")
    return {name: Shown(*(read.values["cues", pair, name, part] for part in parts)) for name in found}  # type: ignore[arg-type]


def reads(found: dict[str, Shown]) -> set[str]:
    """Names of the cues that read."""
    return {name for name, cue in found.items() if cue.grade == "reads"}


def hop(to: Sequence[float], *nodes: Node, view: Camera = QUAY, **study: object) -> Case:
    """A gap from the quay's take-off to somewhere."""
    gap = {**HOP, "to": tuple(to)}
    return case(view, *nodes, cell=CELL, gap=[gap], **study)


def ahead(depth_m: float, up_m: float = 0.0) -> tuple[float, float, float]:
    """The spot straight ahead of the quay's take-off, on its level or above, that has this depth."""
    along = (depth_m - 8 + up_m * np.sin(np.radians(20))) / np.cos(np.radians(20))
    return (4.2, 0.8 + up_m, -3.0 - along)


def lit(made: Case, *towards: float) -> Case:
    """The case under another light."""
    return replace(made, setup=replace(made.setup, towards_light=towards))


def pinhole(
    points: Sequence[Sequence[float]], anchor: Sequence[float], distance: float, pitch: float
) -> Points:
    """Pixels (n, 2) of a 1920 x 1080 picture, 35 mm, yaw 0, by OpenCV."""
    t = np.radians(pitch)
    eye = np.array(anchor) + distance * np.array([0.0, np.sin(t), np.cos(t)])
    # Rows: right, down, forward.
    turn = np.array([[1, 0, 0], [0, -np.cos(t), np.sin(t)], [0, -np.sin(t), -np.cos(t)]], dtype=float)
    turn[1] = np.cross(turn[2], turn[0])
    inner = np.array([[FOCAL_PX, 0, 960], [0, FOCAL_PX, 540], [0, 0, 1]])
    px, _ = cv2.projectPoints(np.array(points, dtype=float), cv2.Rodrigues(turn)[0], -turn @ eye, inner, None)
    result: Points = px.reshape(-1, 2)
    return result


EYE = camera(pitch=0)  # at (0, 0, 8), looking along -Z


def sheet(name: str, corners: list[tuple[float, float, float]]) -> Node:
    """A flat sheet of four corners."""
    points = np.array(corners, dtype=np.float32)
    return Node(name, points, np.array([(0, 1, 2), (0, 2, 3)]), closed=False)


def lean(name: str, x: float, y: tuple[float, float], z: float) -> Node:
    """A sheet 2 x wide that leans back by 45 degrees: lighter than an upright one under a high light."""
    low, high = y
    return sheet(name, [(-x, low, z), (x, low, z), (x, high, z - (high - low)), (-x, high, z - (high - low))])


def hanging(
    side: float, *, up: float = 2.0, aids: tuple[str, ...] = ("cast-shadow",), roof: bool = False
) -> Case:
    """A crate that hangs over a floor, straight before a camera 10 m off, pitch 30."""
    floor = block("floor", (0, -1, 0), (40, 1, 40))
    crate = block("crate", (0, up, 0), (side, side, side))
    more = (block("roof", (0, 6, 0), (12, 0.2, 12)),) if roof else ()
    return case(
        camera(pitch=30, distance=10), floor, crate, *more, cell=CELL, aids=aids,
        subject={"at": (2, 0, 0)}, target=[{"name": "t", "node": "crate"}],
    )  # fmt: skip


def patch_arcmin2(corners: list[tuple[float, float, float]]) -> float:
    """Area of a polygon of the floor as OpenCV draws it."""
    return float(shapely.Polygon(pinhole(corners, (0, 0, 0), 10, 30)).area) * ARCMIN_PX**2


def floor_square(side: float, x: float = 0.0) -> list[tuple[float, float, float]]:
    """Corners of a square on the floor."""
    h = side / 2
    return [(x - h, 0, -h), (x + h, 0, -h), (x + h, 0, h), (x - h, 0, h)]
