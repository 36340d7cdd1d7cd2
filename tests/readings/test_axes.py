"""Axes, pairs and planes: axonometries, the dig of a dimetric quarry, thresholds."""

from __future__ import annotations

from math import atan, degrees, radians, sin, sqrt, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from published import AXONOMETRIES, OBLIQUES
from readings.made import COUCH, camera, case, numbers, values
from stationpoint.camera.camera import Camera, project_points
from stationpoint.camera.pose import turned_by, view_from
from stationpoint.camera.projection import oblique
from stationpoint.readings import axes, wanted
from stationpoint.readings.axes import reads

QUARRY = {"kind": "orthographic", "pitch": 30, "yaw": 45, "height": 18}  # 1080 px over 18 m: 60 px/m


@pytest.mark.parametrize("name", AXONOMETRIES)
def test_axonometric_scales_and_slopes_are_those_of_the_drawing_books(name: str) -> None:
    known = AXONOMETRIES[name]
    made = case(camera("orthographic", pitch=known.pitch_deg, yaw=known.yaw_deg, height=10.8))
    found = {axis: numbers(made, "axes", axis) for axis in "xyz"}
    scales = [found[axis]["px_per_m"] / 100 for axis in "xyz"]
    np.testing.assert_allclose(scales, known.scales, atol=1e-5)
    assert found["y"]["direction_deg"] == pytest.approx(90.0)
    for axis, slope in zip("xz", known.slopes_deg, strict=True):
        drawn = abs(found[axis]["direction_deg"])
        assert min(drawn, 180 - drawn) == pytest.approx(slope, abs=1e-4)


@settings(max_examples=60, deadline=None)
@given(st.floats(-360, 360), st.floats(-90, 90), st.floats(-180, 180))
def test_squares_of_orthographic_axis_scales_sum_to_two(yaw: float, pitch: float, roll: float) -> None:
    made = case(camera("orthographic", pitch=pitch, yaw=yaw, roll=roll, height=10.8))
    k = [numbers(made, "axes", axis)["px_per_m"] / 100 for axis in "xyz"]
    assert sum(scale**2 for scale in k) == pytest.approx(2.0, abs=1e-9)


@pytest.mark.parametrize(("ratio", "angle"), OBLIQUES)
def test_oblique_views_draw_depth_at_their_ratio_and_angle(ratio: float, angle: float) -> None:
    projection = oblique(10.8, 16 / 9, -100, 100, ratio, angle, 8.0)
    view = Camera(view_from((0, 0, 8), turned_by(0, 0)), projection, (1920, 1080), "oblique", -100, 100)
    made = case(view, target=[{"name": "t", "at": (3, 1, -2)}])
    (right, up), stretch = OBLIQUES[ratio, angle]
    away = numbers(made, "axes", "z")
    assert away["px_per_m"] == pytest.approx(100 * np.hypot(right, up), abs=1e-2)
    assert away["direction_deg"] == pytest.approx(degrees(np.arctan2(-up, -right)), abs=1e-3)
    assert numbers(made, "targets", "t")["edge_stretch"] == pytest.approx(stretch, abs=1e-5)


def test_dimetric_dig_reads_as_calculated_by_hand() -> None:
    # 60 px/m, pitch 30, yaw 45: ground axes 60 sqrt((1 + sin^2 30) / 2), up 60 cos 30.
    made = case(camera(**QUARRY), at=[COUCH])
    arms = {axis: numbers(made, "axes", axis) for axis in "xyz"}
    assert arms["x"]["px_per_m"] == pytest.approx(60 * sqrt(0.625)) == pytest.approx(47.43, abs=0.01)
    assert arms["z"]["px_per_m"] == pytest.approx(arms["x"]["px_per_m"])
    assert arms["y"]["px_per_m"] == pytest.approx(51.96, abs=0.01)
    assert arms["x"]["direction_deg"] == pytest.approx(-degrees(atan(0.5)))  # 26.565, towards the camera
    assert arms["z"]["direction_deg"] == pytest.approx(degrees(atan(0.5)) - 180)  # mirrored
    assert numbers(made, "pairs", "up-away") == {
        "apart_deg": pytest.approx(0.0, abs=1e-6),
        "swap_m": pytest.approx(1 / tan(radians(30))),
    }
    assert numbers(made, "pairs", "x-z")["apart_deg"] == pytest.approx(2 * degrees(atan(0.5)))  # 53
    assert numbers(made, "pairs", "x-y")["apart_deg"] == pytest.approx(90 - degrees(atan(0.5)))  # 63
    assert numbers(made, "pairs", "x-y")["swap_m"] is None
    ground = numbers(made, "planes", "ground")
    assert ground["worst_arcmin_per_m"] == pytest.approx(24.2, rel=0.005)
    away = np.array([sin(radians(45)), 0, sin(radians(45))])
    assert abs(np.dot(ground["worst_dir"], away)) == pytest.approx(1.0, abs=1e-3)
    stick = {path[-1]: value for path, value in values(made, ["framing"]).items() if "stick" in path[1]}
    assert stick == {"camera": pytest.approx(18.435, abs=1e-3), "world": pytest.approx(63.435, abs=1e-3)}


def test_axes_and_framing_of_a_study_without_targets_draw_nothing() -> None:
    made = case(camera(**QUARRY))
    assert wanted(made, ["directions", "framing-geometry"]) == {}
    found = values(made, ["directions", "framing-geometry"])
    assert {path[0] for path in found} == {"axes", "pairs", "planes", "framing"}


def test_axis_seen_end_on_has_no_direction_and_swaps_with_nothing() -> None:
    made = case(camera("orthographic", pitch=90))
    assert numbers(made, "axes", "y")["direction_deg"] is None
    assert numbers(made, "axes", "y")["reads"] == "none"
    assert numbers(made, "pairs", "up-away") == {"apart_deg": None, "swap_m": None}
    assert numbers(made, "pairs", "across-away")["apart_deg"] == pytest.approx(90)


@pytest.mark.parametrize(
    ("arcmin", "percent", "said"),
    [(15.0, 0.0, "place"), (14.9, -9.0, "size only"), (14.9, 8.9, "none"), (None, 1.0, None)],
)
def test_axis_reads_by_place_then_by_size(arcmin: float | None, percent: float, said: str | None) -> None:
    assert reads(arcmin, percent) == said


def test_arms_and_vanishing_points_for_marks_lie_where_the_axes_run() -> None:
    view = camera(pitch=20, yaw=30, pixels=(640, 360))
    extras = axes.KIND.read(case(view), {}).extras
    arms = [(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)]
    np.testing.assert_allclose(extras["axes",], project_points(view, arms), atol=1e-9)
    # Looking down along -X and -Z: what lies far along these.
    for axis, far in (("x", (-1e9, 0, 0)), ("y", (0, -1e9, 0)), ("z", (0, 0, -1e9))):
        np.testing.assert_allclose(extras["vanishing", axis], project_points(view, far), atol=1e-3)
    level = axes.KIND.read(case(camera(pitch=0)), {}).extras
    assert ("vanishing", "z") in level
    assert ("vanishing", "x") not in level  # it runs parallel to the picture
    assert ("vanishing", "y") not in level


def test_anchor_behind_the_eye_leaves_all_axes_null() -> None:
    made = case(camera(distance=8, pitch=0), anchor=(0, 0, 9))
    groups = ("axes", "pairs", "planes")
    found = [one for group in groups for one in values(made, [group]).items() if one[0][0] == group]
    assert len(found) == 15 + 12 + 6
    assert all(value is None for _, value in found)
