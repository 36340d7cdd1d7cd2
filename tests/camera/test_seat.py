"""The player's eye: arc minutes at the seat, centre of projection, depth stretch, edge stretch."""

from __future__ import annotations

from math import atan, cos, degrees, pi, radians, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camera.cameras import Spec, seen_points, specs, whole, windowed, worked
from published import (
    CAMERA_STRETCH,
    COUCH_STRETCH,
    DESIGN_DISTANCES,
    DESK_STRETCH,
    EDGE_STRETCH,
    EDGE_STRETCH_POINT,
    OBLIQUES,
    POINTS,
    VIEWINGS,
)
from stationpoint.camera.camera import Camera, jacobian_px_per_m
from stationpoint.camera.projection import oblique, perspective
from stationpoint.camera.seat import (
    Seat,
    arcmin_between,
    centre_of_projection_m,
    depth_stretch,
    edge_stretch,
    picture_hfov_deg,
    seat_at,
)

fixed = settings(derandomize=True, database=None, deadline=None)


def sit(name: str) -> Seat:
    viewing = VIEWINGS[name]
    return seat_at(name, viewing.diagonal_in, viewing.pixels, viewing.eye_m)


COUCH, DESK = sit("couch 55 in 1080"), sit("desk 24 in 1080")


@pytest.mark.parametrize("name", VIEWINGS)
def test_seats_match_the_worked_viewings(name: str) -> None:
    at, expected = sit(name), VIEWINGS[name]
    assert (at.picture_px[0] * at.pixel_m, at.picture_px[1] * at.pixel_m) == pytest.approx(
        expected.size_m, abs=6e-5
    )
    assert at.aspect == pytest.approx(16 / 9)
    assert at.arcmin_per_px == pytest.approx(expected.arcmin_per_px, abs=6e-5)
    assert picture_hfov_deg(at) == pytest.approx(expected.hfov_deg, abs=6e-4)
    for minutes, pixels in zip((16, 20, 22), expected.px_for_16_20_22, strict=True):
        assert minutes / at.arcmin_per_px == pytest.approx(pixels, abs=0.06)
    natural = centre_of_projection_m(at, expected.natural_focal_mm / 36)
    assert natural == pytest.approx(expected.eye_m, rel=1e-4)
    assert depth_stretch(at, expected.natural_focal_mm / 36) == pytest.approx(1, rel=1e-4)


@pytest.mark.parametrize("lines", DESIGN_DISTANCES)
def test_at_the_design_distance_a_pixel_is_one_arc_minute(lines: int) -> None:
    aspect, heights, width_deg = DESIGN_DISTANCES[lines]
    at = seat_at("any", 40, (round(lines * aspect), lines), 1.0)
    there = Seat("any", at.picture_px, at.pixel_m, heights * lines * at.pixel_m, at.centre_px)
    assert there.arcmin_per_px == pytest.approx(1, rel=1e-3)
    assert picture_hfov_deg(there) == pytest.approx(width_deg, abs=0.06)


def test_docstrings_worked_seat() -> None:
    assert COUCH.arcmin_per_px == pytest.approx(0.8074, abs=6e-5)
    off = COUCH.centre_px[1] + 220.84
    assert arcmin_between(COUCH, COUCH.centre_px, (960, off))[0] == pytest.approx(178.2, abs=0.06)
    assert centre_of_projection_m(COUCH, 35 / 36) == pytest.approx(1.1838, abs=6e-5)
    assert depth_stretch(COUCH, 35 / 36) == pytest.approx(2.281, abs=6e-4)


def test_centre_of_projection_and_depth_stretch_match_the_tables() -> None:
    assert len(COUCH_STRETCH) == 6
    for focal_mm, (centre_m, stretch) in COUCH_STRETCH.items():
        assert centre_of_projection_m(COUCH, focal_mm / 36) == pytest.approx(centre_m, abs=6e-5)
        assert depth_stretch(COUCH, focal_mm / 36) == pytest.approx(stretch, abs=6e-4)
    assert len(DESK_STRETCH) == 5
    for focal_mm, stretch in DESK_STRETCH.items():
        assert depth_stretch(DESK, focal_mm / 36) == pytest.approx(stretch, abs=6e-4)


def test_centre_of_projection_is_half_the_width_over_the_tangent() -> None:
    """(W / 2) / tan(h / 2) with h 54.432 degrees, 35 mm on 36 mm."""
    width_m = VIEWINGS["couch 55 in 1080"].size_m[0]
    assert centre_of_projection_m(COUCH, 35 / 36) == pytest.approx(
        width_m / 2 / tan(radians(54.432) / 2), rel=1e-4
    )


def test_parallel_views_have_no_centre_of_projection() -> None:
    assert centre_of_projection_m(COUCH, None) is None
    assert depth_stretch(COUCH, None) is None


# ---- Arc minutes


def test_arc_minutes_shrink_away_from_the_screens_centre() -> None:
    """atan of the edge less atan of 100 px before it, by hand."""
    scale = COUCH.pixel_m / COUCH.eye_distance_m
    by_hand = degrees(atan(960 * scale) - atan(860 * scale)) * 60
    found = arcmin_between(COUCH, (1820, 540), (1920, 540))[0]
    assert found == pytest.approx(by_hand)
    assert found < arcmin_between(COUCH, (910, 540), (1010, 540))[0]


def test_arc_minutes_count_from_the_eye_not_along_rows() -> None:
    """Two points at right angles seen from the eye: 5400 arc minutes."""
    at = Seat("square", (2.0, 2.0), 1.0, 1.0, (1.0, 1.0))
    # rays (1, 1, 1) and (1, -2, 1) are at right angles
    assert arcmin_between(at, (2, 2), (2, -1))[0] == pytest.approx(5400)


def test_arc_minutes_broadcast_one_point_against_many() -> None:
    many = np.array([[0.0, 0.0], [960.0, 540.0], [1920.0, 1080.0]])
    one_to_many = arcmin_between(COUCH, (960, 540), many)
    many_to_one = arcmin_between(COUCH, many, (960, 540))
    assert one_to_many.shape == (3,)
    assert one_to_many == pytest.approx(many_to_one)
    single = [float(arcmin_between(COUCH, (960, 540), point)[0]) for point in many]
    assert one_to_many == pytest.approx(single)
    assert one_to_many[1] == 0


@fixed
@given(*[st.tuples(st.floats(-2000, 4000), st.floats(-2000, 4000))] * 3)
def test_arc_minutes_are_a_distance(
    p: tuple[float, float], q: tuple[float, float], r: tuple[float, float]
) -> None:
    pq, qr, pr = (arcmin_between(COUCH, a, b)[0] for a, b in ((p, q), (q, r), (p, r)))
    assert 0 <= pq < 180 * 60
    assert arcmin_between(COUCH, q, p)[0] == pytest.approx(pq)
    assert pr <= pq + qr + 1e-6


def test_arc_minutes_of_a_position_off_the_picture_behind_the_eye_are_nan() -> None:
    assert np.isnan(arcmin_between(COUCH, (np.nan, np.nan), (0, 0))).all()


# ---- A part of the screen


def test_right_half_of_a_split_screen_sits_beside_the_eye() -> None:
    half = seat_at("right", 55, (1920, 1080), 2.7, part=(0.5, 0.0, 1.0, 1.0))
    assert half.picture_px == pytest.approx((960, 1080))
    assert half.aspect == pytest.approx(8 / 9)
    assert half.centre_px == pytest.approx((0, 540))  # the screen's centre is this picture's left edge
    assert half.pixel_m == pytest.approx(COUCH.pixel_m)
    assert picture_hfov_deg(half) == pytest.approx(25.413 / 2, abs=6e-4)


def test_letterbox_keeps_pixels_and_width() -> None:
    """2.40:1 on 16:9: 800 of 1080 lines, 140 above and below."""
    part = (0.0, 140 / 1080, 1.0, 940 / 1080)
    wide = seat_at("letterbox", 55, (1920, 1080), 2.7, part)
    assert wide.picture_px == pytest.approx((1920, 800))
    assert wide.centre_px == pytest.approx((960, 400))
    assert picture_hfov_deg(wide) == pytest.approx(25.413, abs=6e-4)


# ---- Edge stretch


@pytest.mark.parametrize("angle_deg", EDGE_STRETCH)
def test_edge_stretch_is_one_over_the_cosine(angle_deg: float) -> None:
    camera = Camera(np.eye(4), perspective(0.3, 1, 0.1, 99), (100, 100), "perspective", 0.1, 99)
    for about in (0.0, 1.0, 4.0):  # whichever way it lies from the axis
        sideways = 7 * tan(radians(angle_deg))
        point = (sideways * cos(about), sideways * cos(about - pi / 2), -7)
        assert edge_stretch(camera, [[point]])[0] == pytest.approx(EDGE_STRETCH[angle_deg], abs=6e-6)


@pytest.mark.parametrize("name", CAMERA_STRETCH)
def test_edge_stretch_of_the_worked_cameras_with_and_without_lens_shift(name: str) -> None:
    found = [edge_stretch(worked(name), [[point]])[0] for point in POINTS]
    assert found == pytest.approx(CAMERA_STRETCH[name], abs=6e-7)
    assert edge_stretch(worked(name), [POINTS])[0] == pytest.approx(max(CAMERA_STRETCH[name]), abs=6e-7)


def test_edge_stretch_of_a_sphere_off_the_axis() -> None:
    point, angle_deg, ratio = EDGE_STRETCH_POINT
    camera = Camera(np.eye(4), perspective(0.5, 1, 0.1, 99), (100, 100), "perspective", 0.1, 99)
    assert edge_stretch(camera, [[point]])[0] == pytest.approx(ratio, abs=6e-7)
    assert 1 / cos(radians(angle_deg)) == pytest.approx(ratio, abs=1e-6)


@pytest.mark.parametrize(("ratio", "angle"), OBLIQUES)
def test_edge_stretch_of_oblique_drawings(ratio: float, angle: float) -> None:
    projection = oblique(9, 16 / 9, 0, 50, ratio, angle, 10, (0.1, 0.2))
    camera = Camera(np.eye(4), projection, (1600, 900), "oblique", 0, 50)
    assert edge_stretch(camera, [POINTS])[0] == pytest.approx(OBLIQUES[ratio, angle][1], abs=6e-6)


def test_edge_stretch_is_one_in_orthographic_views() -> None:
    assert edge_stretch(worked("C4"), [POINTS])[0] == 1.0


def test_edge_stretch_behind_the_eye_is_none() -> None:
    camera = worked("C1")
    assert edge_stretch(camera, [POINTS, [*POINTS[:3], camera.eye_m - camera.forward]])[1] is None


@fixed
@given(specs())
def test_edge_stretch_does_not_change_with_the_window(spec: Spec) -> None:
    camera = whole(spec)
    points = camera.eye_m + 5 * camera.forward + np.array([[0, 0, 0], [0.5, -1, 0.5]])
    assert edge_stretch(windowed(spec), [points])[0] == pytest.approx(edge_stretch(camera, [points])[0])


@fixed
@given(specs(), st.integers(0, 10**6))
def test_small_sphere_is_drawn_with_the_stretch_as_the_ratio_of_its_axes(spec: Spec, seed: int) -> None:
    """A small ball's outline is the ellipse of the Jacobian's singular values (square pixels)."""
    camera = whole(spec)
    _, _, points = seen_points(camera, seed, count=3)
    for point in points:
        large, small = np.linalg.svd(jacobian_px_per_m(camera, point), compute_uv=False)
        assert edge_stretch(camera, [[point]])[0] == pytest.approx(large / small, rel=1e-5)
