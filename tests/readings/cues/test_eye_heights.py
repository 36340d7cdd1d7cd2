"""Heights in eye heights, as the horizon tells them (Sedgwick 1973)."""

from __future__ import annotations

import numpy as np
import pytest

from readings.made import block, camera, case, values
from stationpoint.camera.camera import Camera
from stationpoint.camera.pose import turned_by, view_from
from stationpoint.camera.projection import perspective
from stationpoint.readings.kinds import wanted

FLOOR = block("floor", (0, -1, 0), (60, 1, 60))


def _looking(eye_up: float, pitch: float) -> Camera:
    """F 1000 px at 1920 x 1080, the eye over the origin."""
    view = view_from(np.array([0.0, eye_up, 0.0]), turned_by(0, pitch, 0))
    return Camera(view, perspective(1000 / 1920, 16 / 9, 0.1, 200), (1920, 1080), "perspective", 0.1, 200)


def _height(view: Camera, tall: float, away: float, up: float = 0.0) -> object:
    made = case(
        view, FLOOR, block("post", (0, up, -away), (0.01, tall, 0.01)), target=[{"name": "t", "node": "post"}]
    )
    assert wanted(made, ["eye-heights"]) == {}
    return values(made, ["eye-heights"])["targets", "t", "eye_heights"]


def test_level_view_gives_the_ratio_of_heights() -> None:
    # Base 160 px below the horizon, top 80 above: 240 / 160.
    assert _height(_looking(1.6, 0.0), 2.4, 10.0) == pytest.approx(1.5)


def test_pitched_view_gives_it_too_where_lengths_in_the_picture_do_not() -> None:
    # Published: base -27.322, top -219.962, horizon -363.970: lengths say .57223, the cross-ratio .6.
    horizon, base, top, vanishing = -363.970, -27.322, -219.962, 2747.477
    lengths = (base - top) / (base - horizon)
    cross = 1 - (top - horizon) * (vanishing - base) / ((base - horizon) * (vanishing - top))
    assert lengths == pytest.approx(0.57223, abs=1e-5)
    assert _height(_looking(3.0, 20.0), 1.8, 9.0) == pytest.approx(cross, abs=1e-5) == pytest.approx(0.6)


def test_nothing_is_said_of_what_hangs_of_parallel_views_and_from_below() -> None:
    assert _height(_looking(3.0, 20.0), 1.8, 9.0, up=0.5) is None
    assert _height(camera("orthographic", pitch=20), 1.8, 3.0) is None
    assert _height(_looking(-0.5, -20.0), 1.8, 9.0) is None
