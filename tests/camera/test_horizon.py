"""Horizon, ground and vanishing points: by hand, from the worked cameras, and by laws."""

from __future__ import annotations

from math import cos, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camera.cameras import Spec, level_camera, specs, windowed, worked
from published import CAMERA_GROUND_M, CAMERA_HORIZON, HORIZON_LEVEL, HORIZON_PITCHED
from stationpoint.camera.camera import (
    horizon_fraction,
    pixel_rays,
    principal_point_px,
    project_points,
    vanishing_px,
)
from stationpoint.camera.pose import heading

fixed = settings(derandomize=True, database=None, deadline=None)


@pytest.mark.parametrize("name", CAMERA_HORIZON)
def test_horizon_row_of_the_worked_cameras(name: str) -> None:
    assert horizon_fraction(worked(name)) == pytest.approx(CAMERA_HORIZON[name], abs=6e-7)


@pytest.mark.parametrize("name", CAMERA_GROUND_M)
def test_ground_in_the_axis_column_is_as_far_as_computed(name: str) -> None:
    camera = worked(name)
    x, _ = principal_point_px(camera)
    origins, directions = pixel_rays(camera, [(x, camera.pixels[1]), (x, 0)])
    found: list[float | None] = []
    for origin, direction in zip(origins, directions, strict=True):
        if direction[1] >= 0:
            found.append(None)
            continue
        hit = origin - direction * origin[1] / direction[1]
        found.append(float(np.hypot(hit[0] - camera.eye_m[0], hit[2] - camera.eye_m[2])))
    near, far = CAMERA_GROUND_M[name]
    assert found[0] == pytest.approx(near, abs=6e-5)
    assert found[1] == (None if far is None else pytest.approx(far, abs=6e-5))


def test_rolled_horizon_by_hand() -> None:
    """A level camera's horizon passes the middle; rolled clockwise it rises to the right."""
    camera = level_camera(roll_deg=20)
    assert horizon_fraction(camera) == pytest.approx(0.5)
    assert horizon_fraction(camera, 1.0) == pytest.approx(0.5 - 0.5 * tan(radians(20)))
    assert horizon_fraction(camera, 0.0) == pytest.approx(0.5 + 0.5 * tan(radians(20)))


def test_pitched_and_rolled_horizon_by_hand() -> None:
    """The horizon stands F tan(pitch) from the axis, at right angles to the rolled upright."""
    pitch, roll = radians(10), radians(30)
    away = 1.0 * tan(pitch)  # focal lengths are picture widths here
    foot = np.array([-sin(roll), cos(roll)]) * away  # from the middle, right and up
    for at_x in (0.0, 0.3, 1.0):
        x = at_x - 0.5
        up = foot[1] + (x - foot[0]) * tan(roll)
        assert horizon_fraction(level_camera(pitch_deg=10, roll_deg=30), at_x) == pytest.approx(0.5 - up)


def test_horizon_moves_with_the_lens_shift() -> None:
    assert horizon_fraction(level_camera(offset=(0.0, 0.2))) == pytest.approx(0.3)
    assert horizon_fraction(level_camera(offset=(0.2, -0.1))) == pytest.approx(0.6)
    pitched = horizon_fraction(level_camera(pitch_deg=15))
    assert pitched is not None
    assert horizon_fraction(level_camera(pitch_deg=15, offset=(0, 0.2))) == pytest.approx(pitched - 0.2)


def test_no_horizon_straight_down_in_parallel_views_or_along_a_column() -> None:
    assert horizon_fraction(level_camera(pitch_deg=90)) is None
    assert horizon_fraction(level_camera(pitch_deg=-90)) is None
    assert horizon_fraction(level_camera(roll_deg=90)) is None
    assert horizon_fraction(worked("C4")) is None


@fixed
@given(specs(("perspective",)), st.floats(0, 1))
def test_sightline_on_the_horizon_is_level(spec: Spec, at_x: float) -> None:
    camera = windowed(spec)
    row = horizon_fraction(camera, at_x)
    if row is None or abs(row) > 1e4:
        return
    _, direction = pixel_rays(camera, (at_x * camera.pixels[0], row * camera.pixels[1]))
    assert direction[0, 1] / np.linalg.norm(direction) == pytest.approx(0, abs=1e-7)


def test_horizon_ratio_holds_in_a_level_picture() -> None:
    """Sedgwick (1973): over the eye's height as base to top over base to horizon."""
    camera = level_camera(eye_m=(0, 1.6, 10))
    (_, base), (_, top) = project_points(camera, [(0, 0, 0), (0, 2.4, 0)])
    row = horizon_fraction(camera)
    assert row is not None
    assert (base - row * 1000, top - row * 1000) == pytest.approx(
        (HORIZON_LEVEL["base"], HORIZON_LEVEL["top"])
    )
    assert (base - top) / (base - row * 1000) == pytest.approx(HORIZON_LEVEL["eye_heights"])


def test_horizon_ratio_needs_the_cross_ratio_in_a_pitched_picture() -> None:
    camera = level_camera(eye_m=(0, 3, 9), pitch_deg=20)
    row, vertical = horizon_fraction(camera), vanishing_px(camera, (0, 1, 0))
    assert row is not None
    assert vertical is not None
    horizon, vanishing = row * 1000, vertical[1]
    (_, base), (_, top) = project_points(camera, [(0, 0, 0), (0, 1.8, 0)])
    found = np.array([horizon, base, top, vanishing]) - 500
    names = ("horizon", "base", "top", "vanishing")
    assert found == pytest.approx([HORIZON_PITCHED[name] for name in names], abs=6e-4)
    naive = (base - top) / (base - horizon)
    assert naive == pytest.approx(HORIZON_PITCHED["naive"], abs=6e-6)
    cross = (top - horizon) * (vanishing - base) / ((base - horizon) * (vanishing - top))
    assert 1 - cross == pytest.approx(HORIZON_PITCHED["eye_heights"])


@fixed
@given(specs(("perspective",)), st.tuples(*[st.floats(-1, 1)] * 3))
def test_far_points_of_a_line_come_to_its_vanishing_point(
    spec: Spec, way: tuple[float, float, float]
) -> None:
    camera = windowed(spec)
    direction = np.array(way)
    ahead = float(direction @ camera.forward)
    found = vanishing_px(camera, direction)
    if abs(ahead) < 0.05 * np.linalg.norm(direction) or np.linalg.norm(direction) < 1e-3:
        return
    far = camera.eye_m + camera.right + 1e9 * np.sign(ahead) * direction / np.linalg.norm(direction)
    assert found == pytest.approx(tuple(project_points(camera, far)[0]), abs=1e-2)
    assert vanishing_px(camera, -3 * direction) == pytest.approx(found)


def test_level_directions_vanish_on_the_horizon() -> None:
    camera = worked("C3")
    found = vanishing_px(camera, heading(25))
    assert found is not None
    row = horizon_fraction(camera, found[0] / camera.pixels[0])
    assert row is not None
    assert row * camera.pixels[1] == pytest.approx(found[1])


def test_nothing_vanishes_in_parallel_views_or_parallel_to_the_picture() -> None:
    assert vanishing_px(worked("C4"), (0, 0, -1)) is None
    camera = worked("C3")
    assert vanishing_px(camera, camera.right) is None
    assert vanishing_px(camera, 5 * camera.up - camera.right) is None
    assert vanishing_px(camera, (0, 0, 0)) is None
    assert vanishing_px(camera, camera.forward) == pytest.approx(principal_point_px(camera))
