"""Framing and seats: subject, headroom, ground, stick, inside a solid; the viewing table."""

from __future__ import annotations

import numpy as np
import pytest

from camera.cameras import worked
from published import COUCH_STRETCH, VIEWINGS
from readings.made import COUCH, block, body, camera, case, numbers, values
from stationpoint.camera.seat import seat_at
from stationpoint.readings.framing import ground_far_m, ground_near_m, stick_error_deg


def test_subject_is_where_the_offset_puts_its_anchor() -> None:
    # C3 has offset (.10, -.12): right and up of the centre.
    made = case("C3", anchor=(0, 0.9, 0))
    assert numbers(made, "framing")["subject_xy"] == pytest.approx((0.6, 0.62), abs=1e-6)


def test_headroom_is_what_is_left_over_the_subjects_top() -> None:
    # C2, box .6 x 1.8 x .6: its top is drawn at 318.004 px of 1080 (published silhouette box).
    made = case("C2", block("hero", (0, 0, 0), (0.6, 1.8, 0.6)), subject={"node": "hero"})
    assert numbers(made, "framing")["headroom"] == pytest.approx(318.004 / 1080, abs=1e-6)


def test_headroom_of_a_cut_subject_is_negative_and_of_none_null() -> None:
    near = camera(distance=2, pitch=0, anchor=(0, 0.5, 0))
    assert numbers(case(near, body((0, 0, 0)), subject={"at": (0, 0, 0)}), "framing")["headroom"] < 0
    assert numbers(case(near), "framing")["headroom"] is None


def test_headroom_at_the_apex_of_a_jump_is_less_by_the_height_of_the_jump() -> None:
    # Level view 9 m high aimed at the foot: half of it lies above, less the body's 1.8 m, less the apex.
    jump = {"speed_mps": 4, "apex_m": 1.25, "gravity_mps2": 20}
    gaps = [
        {"name": "hop", "from": (0, 0, 0), "to": (0, 0, -3), "jump": jump},
        {"name": "step", "from": (0, 0, 0), "to": (0, 0, -1), "reach_m": 2},
    ]
    hero = block("hero", (0, 0, 0), (0.6, 1.8, 0.6))
    level = camera("orthographic", pitch=0, height=9)
    found = values(case(level, hero, subject={"node": "hero"}, gap=gaps), ["framing"])
    assert found["framing", "headroom"] == pytest.approx(2.7 / 9)
    assert found["framing", "headroom_at_apex", "hop"] == pytest.approx(1.45 / 9)
    assert found["framing", "headroom_at_apex", "step"] is None
    assert values(case(level, gap=gaps), ["framing"])["framing", "headroom_at_apex", "hop"] is None


def test_ground_in_a_parallel_view_lies_by_the_slant_of_its_sightlines() -> None:
    # Pitch 30, 8 m high, aimed at the foot: the bottom edge lies 4 m lower on the picture, 4 / sin 30 nearer.
    view = camera("orthographic", pitch=30, height=8)
    assert ground_near_m(view, np.zeros(3)) == pytest.approx(-8.0)
    assert ground_far_m(view, np.zeros(3)) == pytest.approx(8.0)


def test_ground_seen_straight_down_runs_along_the_pictures_up() -> None:
    # 10 m up, 36 mm: half the height spans 10 x 9 / 32 = 2.8125 m; yaw 90 heads along -X.
    view = camera(pitch=90, yaw=90, distance=10, focal=36)
    assert ground_near_m(view, np.zeros(3)) == pytest.approx(-2.8125)
    assert ground_far_m(view, np.zeros(3)) == pytest.approx(2.8125)


@pytest.mark.parametrize(
    ("pitch", "height"), [(-30, 5.0), (10, -5.0)], ids=["looking up", "under the ground"]
)
def test_no_ground_in_the_picture_is_null(pitch: float, height: float) -> None:
    view = camera(pitch=pitch, distance=0.001, anchor=(0, height, 0))
    assert ground_near_m(view, np.zeros(3)) is None
    assert ground_far_m(view, np.zeros(3)) is None


@pytest.mark.parametrize(
    ("yaw", "frame", "error"), [(45, "camera", 18.435), (45, "world", 63.435), (0, "world", 18.435)]
)
def test_stick_error_is_that_of_hand_geometry(yaw: float, frame: str, error: float) -> None:
    # Parallel, pitch 30: a diagonal push is drawn at atan(sin 30) = 26.565; at yaw 45 the world's up
    # push is drawn there too, 63.435 off.
    view = camera("orthographic", pitch=30, yaw=yaw)
    assert stick_error_deg(view, np.zeros(3), frame) == pytest.approx(error, abs=1e-3)


def test_stick_at_the_horizon_moves_nothing_and_is_null() -> None:
    assert stick_error_deg(camera("orthographic", pitch=0), np.zeros(3), "camera") is None


def test_camera_inside_names_the_closed_solid_and_only_that() -> None:
    wall = block("wall-back", (0, 0, 8), (4, 4, 1))  # C1's eye is at (0, 1.6, 8)
    other = block("wall-front", (0, 0, 0), (4, 4, 1))
    assert numbers(case("C1", other, wall), "framing")["camera_inside"] == "wall-back"
    assert numbers(case("C1", other), "framing")["camera_inside"] is None
    beside = block("ell", (0.6, 0, 8), (1, 4, 1))  # the eye is outside, 0.1 m from its face
    assert numbers(case("C1", beside), "framing")["camera_inside"] is None


def test_parallel_view_is_inside_nothing() -> None:
    around = block("hall", (0, -20, 0), (60, 60, 60))
    assert numbers(case("C4", around), "framing")["camera_inside"] is None
    assert numbers(case("C1", around), "framing")["camera_inside"] == "hall"


@pytest.mark.parametrize("name", VIEWINGS)
def test_viewings_are_those_of_the_table(name: str) -> None:
    known = VIEWINGS[name]
    at = seat_at(name, known.diagonal_in, known.pixels, known.eye_m)
    found = numbers(case(camera(focal=known.natural_focal_mm), at=[at]), "viewing", name)
    assert found["picture_pixels"] == known.pixels
    assert found["picture_hfov_deg"] == pytest.approx(known.hfov_deg, abs=1e-3)
    assert found["arcmin_per_px"] == pytest.approx(known.arcmin_per_px, abs=1e-4)
    assert found["centre_of_projection_m"] == pytest.approx(known.eye_m, rel=1e-3)
    assert found["depth_stretch"] == pytest.approx(1.0, rel=1e-3)


@pytest.mark.parametrize("focal", COUCH_STRETCH)
def test_depth_stretch_on_the_couch_is_that_of_the_table(focal: float) -> None:
    found = numbers(case(camera(focal=focal), at=[COUCH]), "viewing", "couch")
    centre, stretch = COUCH_STRETCH[focal]
    assert found["centre_of_projection_m"] == pytest.approx(centre, abs=1e-4)
    assert found["depth_stretch"] == pytest.approx(stretch, abs=1e-3)


def test_parallel_views_have_no_angle_and_no_centre_of_projection() -> None:
    found = numbers(case("C4"), "viewing", "couch")
    for name in ("hfov_deg", "vfov_deg", "dfov_deg", "centre_of_projection_m", "depth_stretch"):
        assert found[name] is None
    assert found["picture_hfov_deg"] > 0


def test_angles_of_the_picture_are_those_of_its_own_aspect() -> None:
    # 35 mm on 36 mm, 16:9: 54.432 x 32.269, 61.087 diagonal (not a lens table's 3:2 column).
    found = numbers(case("C1"), "viewing", "couch")
    angles = (found["hfov_deg"], found["vfov_deg"], found["dfov_deg"])
    assert angles == pytest.approx((54.432, 32.269, 61.087), abs=1e-3)
    # A lens shift does not change the lens: C3 is a 50 mm with offset.
    assert numbers(case("C3"), "viewing", "couch")["hfov_deg"] == pytest.approx(39.598, abs=1e-3)
    assert worked("C3").projection[0, 2] != 0
