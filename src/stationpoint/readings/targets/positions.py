"""Positions: where a target's centre is drawn, how deep it lies, how far the edge stretches it."""

from __future__ import annotations

from functools import lru_cache
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, Frames, depths, edge_stretch, project_points
from stationpoint.readings.things.things import SUBJECT, SceneObject, and_subject, asks_for, measured_objects
from stationpoint.readings.types import Case, Field, Kind, Path, Reading, Value

Points = NDArray[np.float64]

FIELDS = (
    Field(
        ("targets", "*", "role"),
        "",
        0,
        "Primary, secondary or tertiary, as the study says.",
        "the study",
        holds="word",
        words=("primary", "secondary", "tertiary"),
    ),
    Field(
        ("targets", "*", "screen_xy"),
        "",
        7,
        "Projected centre of its world bounds, fractions of width and height from top-left.",
        null="the centre is behind the eye",
        holds="numbers",
    ),
    Field(("targets", "*", "depth_m"), "m", 5, "Signed depth of that centre along the camera's axis."),
    Field(
        ("targets", "*", "edge_stretch"),
        "",
        5,
        "Radial over tangential size of a small sphere at the worst corner of its bounds.",
        null="a corner is behind the eye",
        plain="how much longer than wide a ball there is drawn; 1 is round",
    ),
)


def role(thing: SceneObject) -> str:
    """The target's role as the study says: primary, secondary or tertiary.

    Source: the study. Worked: a target for which it says nothing: "primary".
    """
    return thing.role


def screen_xy(camera: Camera, centres_m: Points) -> list[tuple[float, float] | None]:
    """Projected centres (n, 3) of the world bounds, fractions from top-left; None behind the eye.

    Source: definition. Worked: C2, (1, 0, -2): 1143.2364 / 1920, 569.6262 / 1080.
    """
    found = (project_points(camera, centres_m) / camera.pixels).tolist()
    return [(x, y) if isfinite(x) else None for x, y in found]


def depth_m(camera: Camera, centres_m: Points) -> list[float]:
    """Signed depths of the centres (n, 3) of the world bounds along the camera's axis, metres.

    Source: definition. Worked: C2, (1, 0, -2): 10.187203.
    """
    found: list[float] = depths(camera, centres_m).tolist()
    return found


def read(case: Case, frames: Frames) -> Reading:
    """All targets and the subject, from geometry alone."""
    camera = case.setup.camera
    shown = measured_objects(case)
    values: dict[Path, Value] = {}
    if not any(thing.path == (SUBJECT,) for thing in shown):
        values[SUBJECT,] = None
    if not shown:
        return Reading(values)
    centres_m = _centres_m(shown)
    places = zip(shown, screen_xy(camera, centres_m), depth_m(camera, centres_m), strict=True)
    for thing, at, deep_m in places:
        path = thing.path
        if thing.role != SUBJECT:
            values[*path, "role"] = role(thing)
        values[*path, "screen_xy"] = at
        values[*path, "depth_m"] = deep_m
    asked = tuple(thing for thing in shown if asks_for(case, thing, "edge_stretch"))
    for thing, stretch in zip(asked, edge_stretch(camera, _corners_m(asked)), strict=True):
        values[*thing.path, "edge_stretch"] = stretch
    return Reading(values)


@lru_cache(maxsize=64)
def _centres_m(things: tuple[SceneObject, ...]) -> Points:
    """The centres of the bounds of things, (n, 3)."""
    return np.array([thing.centre_m for thing in things])


@lru_cache(maxsize=64)
def _corners_m(things: tuple[SceneObject, ...]) -> Points:
    """The corners of the bounds of things, (n, 8, 3)."""
    return np.array([thing.corners_m for thing in things]).reshape(-1, 8, 3)


KIND = Kind("positions", and_subject(FIELDS), read)
