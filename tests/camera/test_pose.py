"""Pose: where the camera stands and looks, by hand, and at the awkward pitches."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camera.cameras import worked
from published import ANCHOR, C3_VIEW, CAMERA_EYES_M
from stationpoint.camera.pose import backward_axis, eye_of, heading, look_at, turned_by, view_from

ANGLES = st.tuples(st.floats(-360, 360), st.floats(-90, 90), st.floats(-180, 180))


def test_yaw_zero_looks_along_minus_z_and_plus_yaw_turns_left() -> None:
    assert backward_axis(0, 0) == pytest.approx([0, 0, 1])
    assert heading(0) == pytest.approx([0, 0, -1])
    assert heading(90) == pytest.approx([-1, 0, 0])  # left of -Z with +Y up
    assert backward_axis(90, 0) == pytest.approx([1, 0, 0])


def test_positive_pitch_stands_above() -> None:
    assert backward_axis(0, 30) == pytest.approx([0, 0.5, np.sqrt(0.75)])
    assert backward_axis(0, -30)[1] == pytest.approx(-0.5)


def test_unturned_camera_has_the_worlds_axes() -> None:
    assert turned_by(0, 0) == pytest.approx(np.eye(3))


@pytest.mark.parametrize("yaw", [0.0, 40.0, 135.0, -90.0])
def test_straight_down_the_yaw_direction_is_up(yaw: float) -> None:
    right, up, back = turned_by(yaw, 90)
    assert up == pytest.approx(heading(yaw))
    assert back == pytest.approx([0, 1, 0])
    assert right == pytest.approx(np.cross(up, back))


@pytest.mark.parametrize("yaw", [0.0, 40.0, 135.0, -90.0])
def test_straight_up_the_reverse_of_the_yaw_direction_is_up(yaw: float) -> None:
    _, up, back = turned_by(yaw, -90)
    assert up == pytest.approx(-heading(yaw))
    assert back == pytest.approx([0, -1, 0])


def test_positive_roll_is_clockwise_from_behind() -> None:
    right, up, back = turned_by(0, 0, 90)  # like a steering wheel turned right by a quarter
    assert right == pytest.approx([0, -1, 0])
    assert up == pytest.approx([1, 0, 0])
    assert back == pytest.approx([0, 0, 1])


@settings(derandomize=True, database=None, deadline=None)
@given(ANGLES)
def test_every_turn_is_a_right_handed_rotation(angles: tuple[float, float, float]) -> None:
    rotation = turned_by(*angles)
    assert rotation @ rotation.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(rotation) == pytest.approx(1)
    assert rotation[2] == pytest.approx(backward_axis(*angles[:2]), abs=1e-12)


@settings(derandomize=True, database=None, deadline=None)
@given(ANGLES)
def test_without_roll_the_right_is_level_and_the_up_never_points_down(
    angles: tuple[float, float, float],
) -> None:
    right, up, _ = turned_by(*angles[:2])
    assert right[1] == pytest.approx(0)
    assert right @ heading(angles[0]) == pytest.approx(0, abs=1e-12)
    assert up[1] >= 0


@settings(derandomize=True, database=None, deadline=None)
@given(ANGLES, st.tuples(*[st.floats(-100, 100)] * 3))
def test_view_keeps_the_eye_and_maps_it_to_the_origin(
    angles: tuple[float, float, float], eye: tuple[float, float, float]
) -> None:
    view = view_from(eye, turned_by(*angles))
    assert eye_of(view) == pytest.approx(eye, abs=1e-10)
    assert view @ [*eye, 1] == pytest.approx([0, 0, 0, 1], abs=1e-10)


@settings(derandomize=True, database=None, deadline=None)
@given(st.floats(-179, 179), st.floats(-89.9, 89.9), st.floats(0.1, 1000))
def test_look_at_undoes_backwards(yaw: float, pitch: float, distance: float) -> None:
    anchor = np.array([3.0, -2.0, 7.0])
    found = look_at(anchor + distance * backward_axis(yaw, pitch), anchor)
    assert found == pytest.approx((yaw, pitch, distance), abs=1e-6)


def test_looking_straight_down_or_up_has_yaw_zero() -> None:
    assert look_at((1, 9, 2), (1, 2, 2)) == pytest.approx((0, 90, 7))
    assert look_at((1, 2, 2), (1, 9, 2)) == pytest.approx((0, -90, 7))


def test_eye_at_the_point_looked_at_is_refused() -> None:
    with pytest.raises(ValueError, match="the same"):
        look_at((1, 2, 3), (1, 2, 3))


def test_worked_eyes_and_view() -> None:
    assert len(CAMERA_EYES_M) == 2
    for name, eye in CAMERA_EYES_M.items():
        assert worked(name).eye_m == pytest.approx(eye, abs=6e-7)
    assert worked("C3").view == pytest.approx(np.array(C3_VIEW), abs=6e-8)
    assert look_at(CAMERA_EYES_M["C3"], ANCHOR) == pytest.approx((40, 30, 10), abs=1e-5)
