"""Awareness: on how many sides something that nears the subject would be in sight."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Frames, Shot, ShotKey, depths, project_points
from stationpoint.readings.frames.masks import hidden_at, present_plane
from stationpoint.readings.frames.shots import MAIN, main_shot
from stationpoint.readings.targets.safe_areas import clear_points
from stationpoint.readings.things.things import subject_foot_m
from stationpoint.readings.types import SHARE, Case, Field, Kind, Reading

Points = NDArray[np.float64]

OVER_FOOT_M = 0.9  # the middle of a body of some 1.8 m
DIRECTIONS = 360

FIELDS = (
    Field(
        ("framing", "awareness_ring"),
        SHARE,
        5,
        "Share of 360 directions round the subject whose point at `awareness_m`, 0.9 m above its foot, is "
        "action-safe, unhidden and unreserved.",
        plain="on how much of a ring round the subject something that nears it would be seen",
        null="the study has no awareness_m",
    ),
)


def ring_m(foot_m: Points, radius_m: float) -> Points:
    """The points of a level ring round a foot (3,), (360, 3) world, a degree apart, 0.9 m above it."""
    turn = np.radians(np.arange(DIRECTIONS) * (360.0 / DIRECTIONS))
    around = np.column_stack([np.cos(turn), np.zeros(DIRECTIONS), np.sin(turn)])
    points: Points = foot_m + (0.0, OVER_FOOT_M, 0.0) + radius_m * around
    return points


def awareness_ring(case: Case, frames: Frames) -> float | None:
    """Share of 360 directions round the subject whose point at `awareness_m` is seen.

    In the action-safe area, with nothing nearer at its pixel by more than 1 % or 2 cm, and under no opaque
    reserved area. None where the study has no awareness_m. Source: definition; the height is common
    practice. Worked: straight down, parallel, 12 m high, 16:9, 6 m: 4 asin(.93) / 360 degrees = .760.
    """
    if case.study.awareness_m is None:
        return None
    points, camera = ring_m(subject_foot_m(case), case.study.awareness_m), case.setup.camera
    px = project_points(camera, points)
    good = clear_points(case, px)
    if not good.any():
        return 0.0
    z_m = depths(camera, points[good])
    depth_m = present_plane(frames[MAIN].depth_m)
    hidden, _, _ = hidden_at(depth_m, px[good], z_m, np.zeros(len(z_m)))
    return float(np.count_nonzero(~hidden)) / DIRECTIONS


def shots(case: Case) -> dict[ShotKey, Shot]:
    """The picture, where the study asks for a ring."""
    return {} if case.study.awareness_m is None else {MAIN: main_shot(case)}


def read(case: Case, frames: Frames) -> Reading:
    """The ring alone."""
    return Reading({("framing", "awareness_ring"): awareness_ring(case, frames)})


KIND = Kind("awareness", FIELDS, read, shots)
