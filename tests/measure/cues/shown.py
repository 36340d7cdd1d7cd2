"""Cues of a made case, and an independent view of it (OpenCV) to calculate them by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.made import block, camera, case, reading
from stationpoint.measure.types import Case, Reading
from stationpoint.optics.camera import Camera
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
    return _cues(reading(made, ["cues"]), pair)


def _cues(read: Reading, pair: str) -> dict[str, Shown]:
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
