"""A first study of two bodies that face each other, both in the picture."""

from __future__ import annotations

from math import atan2, cos, degrees, hypot, radians, sin
from typing import NamedTuple

from stationpoint.study.first.ground import Ground, Taken
from stationpoint.study.first.study import free_name
from stationpoint.study.first.view import CLEAR_SHARE, Point, rounded
from stationpoint.study.models import CameraFields, Subject, Sweep

GATE_MM = 36.0
APART, STEP = 1.4, 0.1  # how far two bodies stand, and how unevenly at most, in body heights
TWO_LENSES_MM = (12.0, 16.0, 20.0, 24.0, 35.0, 50.0, 85.0)
TURNED_DEG = 30.0  # second row of two bodies
MARGIN, SAFE = 0.3, 0.93  # round two bodies, in body heights; SMPTE ST 2046-1, action safe
OTHER_ONE = "second subject"


def two_subjects(ground: Ground) -> Taken:
    """Across the line between two bodies, near enough for both whole: four lenses, and turned."""
    height = ground.height_m
    pair = _two_bodies(ground)
    foot, other, wide = pair.foot, pair.other, pair.wide_m
    free, yaw = pair.free_m * CLEAR_SHARE, pair.yaw_deg
    shut = free < TWO_LENSES_MM[-3] / GATE_MM * wide
    fit = [mm for mm in TWO_LENSES_MM if (shut and ground.opens) or mm / GATE_MM * wide <= free]
    start = min(max(len(fit) - 3, 0), len(TWO_LENSES_MM) - 4)
    lenses = TWO_LENSES_MM[start : start + 4]
    camera = CameraFields(
        focal_mm=lenses[0],
        pitch_deg=5.0,
        yaw_deg=yaw,
        margin_m=rounded(MARGIN * height),
        aspect="16:9",
        blocked="pull-in",
    )
    sweep = Sweep(
        rows={"yaw_deg": (yaw, round(yaw + TURNED_DEG, 1))},
        columns={"focal_mm": lenses},
        hold="all-in-frame",
    )
    heading = round(degrees(atan2(foot[0] - other[0], foot[2] - other[2])), 1) + 0.0  # each faces the other
    facing = round((heading + 360.0) % 360.0 - 180.0, 1) + 0.0
    name = free_name(ground.scene, (OTHER_ONE,))
    body = Subject(name=name, at=other, height_m=height, heading_deg=facing)
    opened = shut and ground.opens
    return Taken(foot, heading, camera, sweep, targets=(), others=(body,), open_up=opened)


class Pair(NamedTuple):
    """Two bodies, and the camera's side of them. wide_m: what the picture must be wide there. free_m: to
    the next surface."""

    foot: Point
    other: Point
    wide_m: float
    yaw_deg: float
    free_m: float


def _two_bodies(ground: Ground) -> Pair:
    """Two spots on one level with nothing between, as far apart as two who face each other: those with
    most room for the camera before them."""
    pairs = []
    far = rounded(APART * ground.height_m)
    for foot in ground.spots[:: max(1, len(ground.spots) // 12)][:12]:
        for turn in range(0, 360, 45):
            way = (far * cos(radians(turn)), 0.0, far * sin(radians(turn)))
            other = (round(foot[0] + way[0], 3), foot[1], round(foot[2] + way[2], 3))
            drop = ground.free(other, 0.0, -90.0) - ground.anchor_m
            if abs(drop) < STEP * ground.height_m and ground.asks.way_m(ground.middle(foot), way, "") > far:
                pairs.append(_pair(ground, foot, other))
    foot = ground.spots[0]
    there = (round(foot[0] + far, 3), foot[1], foot[2])
    return max(pairs, key=lambda pair: pair.free_m, default=_pair(ground, foot, there))


def _pair(ground: Ground, foot: Point, other: Point) -> Pair:
    """Of the two sides that with more room; how much counts is what the longest lens asks for."""
    height = ground.height_m
    apart = hypot(other[0] - foot[0], other[2] - foot[2])
    wide = max((apart + 2 * MARGIN * height) / SAFE, height * (1 + 2 * MARGIN) / SAFE * 16 / 9)
    most = TWO_LENSES_MM[-1] / GATE_MM * wide / CLEAR_SHARE
    across = degrees(atan2(foot[2] - other[2], other[0] - foot[0]))  # the other one to the right
    middle = ((foot[0] + other[0]) / 2, foot[1], (foot[2] + other[2]) / 2)
    free = {}
    for turn in (0.0, 180.0):
        yaws = (across + turn, across + turn + TURNED_DEG)
        ways = [ground.free(at, yaw, 5.0) for at in (foot, middle, other) for yaw in yaws]
        free[turn] = round(min(*ways, most), 3)
    side = max(free, key=lambda turn: free[turn])
    yaw = round((across + side + 180.0) % 360.0 - 180.0, 1) + 0.0
    return Pair(foot, other, wide, yaw, free[side])
