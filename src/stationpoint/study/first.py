"""A first study for a scene or mesh alone: a sensible default, and its text for a person to edit."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from math import cos, floor, hypot, log10, radians
from pathlib import PurePath
from typing import TYPE_CHECKING, NamedTuple

from stationpoint.study.models import CameraFields, Study, Subject, Sweep, Target
from stationpoint.study.toml import study_text

if TYPE_CHECKING:
    from stationpoint.scene import Node, Scene

LENSES_MM = (24, 35, 50, 85)
BASE_MM = 35
ROOM_LENSES_MM, ROOM_BASE_MM = (14, 18, 24, 35), 18  # where walls keep the camera near
PITCHES_DEG = (20, 35, 50)  # the first that no wall is in the way of
ROOM_PITCHES_DEG = (10, 35)
PROJECTIONS = ("perspective", "orthographic")
YAWS_DEG = (0, 45, -45, 90, -90, 135, -135, 180)
CLEAR_SHARE = 0.95  # of the way to the next surface that a camera may stand
HEIGHT_M = 1.7
ANCHOR_SHARE = 0.6  # of the subject's height: aims at the chest
LEAST_HEIGHTS, MOST_HEIGHTS = 1.5, 4.7  # distance, in subject's heights: 2.5 to 8 m
LEAST_ROOM = 0.2  # distance in a room, in subject's heights, however near its walls are
ROOM_SHARE = 0.8  # of the way from the subject to the end of the scene, or to a wall
MOST_TARGETS, MOST_NODES = 4, 40
TARGET_M = (0.2, 4.0)  # largest extent of a node that is likely a thing
FLAT_M, WALL_SHARE = 0.02, 0.7  # thinner than that lies flat; wider than that share of the scene is a wall
NUMBERED = re.compile(r"part-\d+(\.\d+)?")  # the name of a node that had none

COMMENTS = {
    "title": "the question that the sheet answers",
    "scene": "a scene file or a mesh, beside this file",
    "subject": "what the player controls; the camera follows it",
    "subject.at": "its foot: x, y (up), z in metres",
    "subject.height_m": "a stand-in of this height is drawn",
    "target": "something that the player must be able to read",
    "target.node": "the name of a part of the scene",
    "target.role": "primary, secondary or tertiary",
    "camera": "the camera that the sweep starts from",
    "camera.focal_mm": "on a 36 x 24 mm gate; or hfov_deg, vfov_deg",
    "camera.distance_m": "from the anchor, along the sightline",
    "camera.pitch_deg": "above 0: the camera looks down",
    "camera.yaw_deg": "0 looks along -Z; grows to the left",
    "camera.anchor_height_m": "what is looked at, above the foot",
    "camera.aspect": "of the picture, width to height",
    "sweep": "what varies down, across, and over pages",
    "sweep.hold": "what stays equal while the lens changes",
}
HEADER = """\
# A study for stationpoint: one scene, one camera, and what to vary.
# Lengths in metres, angles in degrees; Y is up. Lines that start with # are remarks.
"""
MORE = """
# More that a study can say; take the # away to use it.
#
# [[gap]]                                    # a take-off, a landing, and how far the player gets
# name = "first hop"
# from = [0, 0, 0]
# to = [0, 0, -4]
# reach_m = 3.5
#
# [[viewing]]                                # a screen and a seat; without one: 24 in, 0.6 m
# name = "couch"
# diagonal_in = 55
# pixels = [1920, 1080]
# eye_distance_m = 2.7
#
# [[limit]]                                  # what a camera must hold
# reading = "targets.*.seen"
# min = 0.5
# why = "the player must see half of every target"
"""


class View(NamedTuple):
    """Where the first camera stands. closed: walls are all around, so that it must stay near."""

    yaw_deg: float
    pitch_deg: float
    distance_m: float
    closed: bool = False


Free = Callable[[tuple[float, float, float], float, float], float]


def default_study(
    scene_path_name: str, scene: Scene, foot_m: Sequence[float], free_m: Free | None = None
) -> Study:
    """A study for a scene alone: projection down, lens across, the subject's scale held.

    scene_path_name: the scene's file as the study is to name it. foot_m: (3,), where the stand-in
    subject stands, on the scene's floor. free_m: metres from a point to the next surface at a yaw and
    a pitch (degrees, as a camera's); None for a scene in which nothing is in the way. Where walls are
    all around, the camera stays within them, with shorter lenses, and nothing is held.
    """
    foot = (round(float(foot_m[0]), 3), round(float(foot_m[1]), 3), round(float(foot_m[2]), 3))
    things = [node for node in scene.nodes if node.kind != "ground"] or list(scene.nodes)
    height = subject_height_m(scene)
    anchor_height = _rounded(ANCHOR_SHARE * height)
    anchor = (foot[0], foot[1] + anchor_height, foot[2])
    view = _view(things, anchor, height, free_m)
    suits = "pitch" if view.closed else "projection"
    camera = CameraFields(
        projection="perspective",
        focal_mm=ROOM_BASE_MM if view.closed else BASE_MM,
        distance_m=view.distance_m,
        pitch_deg=view.pitch_deg,
        yaw_deg=view.yaw_deg,
        anchor_height_m=anchor_height,
        aspect="16:9",
    )
    return Study(
        title=f"Which lens and {suits} suit {PurePath(scene_path_name).stem}?",
        scene=scene_path_name,
        subject=Subject(name=_free_name(scene), at=foot, height_m=height),
        target=tuple(
            Target(name=node.name, node=node.name, role="secondary") for node in _likely_targets(things, foot)
        ),
        camera=camera,
        sweep=Sweep(
            rows={"pitch_deg": ROOM_PITCHES_DEG} if view.closed else {"projection": PROJECTIONS},
            columns={"focal_mm": ROOM_LENSES_MM if view.closed else LENSES_MM},
            hold="nothing" if view.closed else "subject-scale",
        ),
    )


def start_text(study: Study) -> str:
    """The study as a file for a person to edit: comments beside its keys, examples at its end."""
    return HEADER + "\n" + study_text(study, COMMENTS) + MORE


def _span(nodes: Sequence[Node], axis: int) -> tuple[float, float]:
    """Lowest and highest coordinate of the nodes along an axis."""
    bounds = [node.bounds for node in nodes]
    return float(min(b[0][axis] for b in bounds)), float(max(b[1][axis] for b in bounds))


def subject_height_m(scene: Scene) -> float:
    """A person's height; half the scene's largest extent where the scene is smaller than that."""
    things = [node for node in scene.nodes if node.kind != "ground"] or list(scene.nodes)
    largest = max((high - low for low, high in (_span(things, axis) for axis in range(3))), default=HEIGHT_M)
    return HEIGHT_M if largest >= HEIGHT_M or largest <= 0 else max(_rounded(largest / 2), 0.001)


def _view(things: Sequence[Node], anchor: Sequence[float], height: float, free_m: Free | None) -> View:
    """The first camera: on the side with most room, steeper or nearer where walls are in the way."""
    yaw, distance = _standing(things, anchor, height)
    if free_m is None:
        return View(yaw, PITCHES_DEG[0], distance)
    longest = max(LENSES_MM) / BASE_MM  # how much farther the longest lens stands
    spot = (anchor[0], anchor[1], anchor[2])
    sides = list(dict.fromkeys((yaw, *YAWS_DEG)))
    near = LEAST_HEIGHTS * height
    for pitch in PITCHES_DEG:
        free = {side: free_m(spot, side, pitch) * CLEAR_SHARE / longest for side in sides}
        best = yaw if free[yaw] >= distance else max(sides, key=lambda side: min(free[side], distance))
        if free[best] >= near:
            return View(best, pitch, _floored(min(distance, free[best])))
    free = {side: min(free_m(spot, side, p) for p in ROOM_PITCHES_DEG) * ROOM_SHARE for side in sides}
    best = max(sides, key=lambda side: free[side])
    return View(
        best,
        ROOM_PITCHES_DEG[0],
        _floored(min(max(free[best], LEAST_ROOM * height), MOST_HEIGHTS * height)),
        closed=True,
    )


def _standing(things: Sequence[Node], foot: Sequence[float], height: float) -> tuple[float, float]:
    """Yaw in degrees and distance in metres: on the side with most room, and within it if that
    still shows the subject."""
    (left, right), (back, front) = _span(things, 0), _span(things, 2)
    rooms = {0.0: front - foot[2], 90.0: right - foot[0], 180.0: foot[2] - back, -90.0: foot[0] - left}
    yaw = max(rooms, key=lambda side: round(rooms[side], 3))
    wanted = ROOM_SHARE * rooms[yaw] / cos(radians(PITCHES_DEG[0]))
    return yaw, _rounded(min(max(wanted, LEAST_HEIGHTS * height), MOST_HEIGHTS * height))


def _likely_targets(things: Sequence[Node], foot: Sequence[float]) -> list[Node]:
    """The few named nodes of a thing's size that are nearest to the subject; none among very many.

    What lies flat, or goes across most of the scene, is a floor, a ceiling or a wall.
    """
    named = [node for node in things if not NUMBERED.fullmatch(node.name)]
    if not 2 <= len(named) <= MOST_NODES:
        return []

    def away(node: Node) -> float:
        low, high = node.bounds
        return hypot(float(low[0] + high[0]) / 2 - foot[0], float(low[2] + high[2]) / 2 - foot[2])

    spans = [_span(things, axis) for axis in (0, 2)]

    def is_thing(node: Node) -> bool:
        low, high = node.bounds
        x, y, z = (float(extent) for extent in high - low)
        across = [x / (spans[0][1] - spans[0][0] or 1.0), z / (spans[1][1] - spans[1][0] or 1.0)]
        return TARGET_M[0] <= max(x, y, z) <= TARGET_M[1] and y >= FLAT_M and max(across) < WALL_SHARE

    return sorted(filter(is_thing, named), key=away)[:MOST_TARGETS]


def _free_name(scene: Scene) -> str:
    names = ["subject", "stand-in", *(f"stand-in {k}" for k in range(2, len(scene.nodes) + 3))]
    return next(name for name in names if name not in scene)


def _floored(value: float) -> float:
    """Two digits, never above the value: 2.389 is 2.3."""
    step = 10.0 ** (floor(log10(value)) - 1)
    return _rounded(floor(value / step + 1e-9) * step)


def _rounded(value: float) -> float:
    """Two digits that mean something: 2.3512 is 2.4, 0.0351 is 0.035."""
    return float(f"{value:.2g}")
