"""A port's way from world to picture, and one thing done wrong on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.record import HandedBack

Matrix = NDArray[np.float64]
Points = NDArray[np.float64]
Picture = Callable[[Points, Points, tuple[int, int]], Points]  # drawn so far, seen, size of the picture

WORLD, POSE, LENS, PICTURE, MATRIX = "world", "pose", "lens", "picture", "matrix"


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """What a port does: world points into ours (4, 4), a view, a projection, and what becomes of pixels."""

    world: Matrix
    view: Matrix
    projection: Matrix
    picture: Picture | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Mistake:
    """One thing done wrong. name: short and fixed; says: in a sentence; stage: where on the way; alters: the
    right Trial to the wrong one. common: whether it is tried in pairs. tells: by how much, of what is fitted
    to the pixels seen (drawn so far, seen, size of the picture); None of what comes in one size."""

    name: str
    says: str
    stage: str
    alters: Callable[[Trial], Trial]
    common: bool = True
    tells: Callable[[Points, Points, tuple[int, int]], str] | None = None


def right_trial(handed: HandedBack) -> Trial:
    """The port that makes no mistake."""
    return Trial(np.eye(4), handed.camera.view, handed.camera.projection)


def drawn_px(handed: HandedBack, trial: Trial, points_m: Points, seen_px: Points) -> Points:
    """Where a trial draws points (n, 3), pixels (n, 2); what is behind the eye is divided all the same.

    seen_px: where the port drew them, for what is fitted to it.
    """
    clip = _clip(trial, points_m)
    width, height = handed.camera.pixels
    with np.errstate(all="ignore"):
        ndc = clip[:, :2] / clip[:, 3:4]
    px = np.column_stack([(ndc[:, 0] + 1.0) * 0.5 * width, (1.0 - ndc[:, 1]) * 0.5 * height])
    return px if trial.picture is None else trial.picture(px, seen_px, handed.camera.pixels)


def drawn_depth(trial: Trial, points_m: Points) -> tuple[Points, Points]:
    """Depth along the axis in metres, and after the divide in OpenGL's range, (n,) each."""
    placed = np.column_stack([points_m, np.ones(len(points_m))]) @ (trial.view @ trial.world).T
    clip = placed @ trial.projection.T
    with np.errstate(all="ignore"):
        return -placed[:, 2], clip[:, 2] / clip[:, 3]


def _clip(trial: Trial, points_m: Points) -> Points:
    whole = trial.projection @ trial.view @ trial.world
    found: Points = np.column_stack([points_m, np.ones(len(points_m))]) @ whole.T
    return found
