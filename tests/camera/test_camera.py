"""Camera: to pixels and back, depth, scale, derivatives, windows, the value itself."""

from __future__ import annotations

import pickle
from math import atan, degrees

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camera.cameras import Spec, box_in_px, level_camera, seen_points, specs, whole, windowed, worked
from published import (
    CAMERA_AXES,
    CAMERA_DEPTHS_M,
    CAMERA_PX,
    CAMERAS,
    GAPS,
    GLTF_DEPTHS,
    HELD,
    ORTHOGRAPHIC_12_M,
    POINTS,
    RAW_DEPTHS,
)
from stationpoint.camera.camera import (
    Camera,
    depths,
    focal_px,
    from_raw_depth,
    frontal_px_per_m,
    jacobian_px_per_m,
    pixel_rays,
    principal_point_px,
    project_points,
    resized_camera,
    to_clip,
    unproject_pixels,
    windowed_camera,
)
from stationpoint.camera.pose import turned_by, view_from
from stationpoint.camera.projection import oblique, orthographic, perspective

PERSPECTIVES = ("C1", "C2", "C3", "C5")
fixed = settings(derandomize=True, database=None, deadline=None)


# ---- The worked cameras


@pytest.mark.parametrize("name", CAMERAS)
def test_worked_points_have_their_pixels_and_depths(name: str) -> None:
    camera = worked(name)
    assert project_points(camera, POINTS) == pytest.approx(np.array(CAMERA_PX[name]), abs=6e-5)
    assert depths(camera, POINTS) == pytest.approx(CAMERA_DEPTHS_M[name], abs=6e-7)


@pytest.mark.parametrize("name", CAMERA_AXES)
def test_axes_at_the_anchor_have_their_scale_and_growth(name: str) -> None:
    camera, (px_per_m, growth) = worked(name), CAMERA_AXES[name]
    jacobian = jacobian_px_per_m(camera, POINTS[0])
    assert np.hypot(*jacobian) == pytest.approx(px_per_m, abs=6e-5)
    for axis in range(3):
        step = np.zeros(3)
        step[axis] = 0.05
        ends = frontal_px_per_m(camera, [POINTS[0] + step, POINTS[0] - step])
        middle = frontal_px_per_m(camera, POINTS[0])[0]
        assert (ends[0] - ends[1]) / 0.1 / middle * 100 == pytest.approx(growth[axis], abs=1e-3)


def test_gaps_have_their_pixels_and_scales() -> None:
    assert len(GAPS) == 7
    for gap in GAPS:
        camera = worked(gap.camera)
        ends = [(0, 0, 0), gap.to]
        start, landing = project_points(camera, ends)
        scale = frontal_px_per_m(camera, ends)
        length_px = np.linalg.norm(landing - start)
        assert length_px == pytest.approx(gap.screen_px, abs=6e-5)
        assert length_px / scale[0] == pytest.approx(gap.flat_span_m, abs=6e-6)
        assert np.max(scale) / np.min(scale) == pytest.approx(gap.scale_ratio, abs=6e-6)
        away = jacobian_px_per_m(camera, gap.to) @ (np.array(gap.to) / np.linalg.norm(gap.to))
        assert np.linalg.norm(away) == pytest.approx(gap.landing_px_per_m, abs=6e-5)


@pytest.mark.parametrize("focal_mm", HELD)
def test_lens_held_to_the_subject_keeps_it_and_grows_what_is_behind(focal_mm: float) -> None:
    distance, behind, front_over_back, step = HELD[focal_mm]
    pose = view_from((0, 0, distance), turned_by(0, 0))
    camera = Camera(pose, perspective(focal_mm / 36, 16 / 9, 0.1, 100), (1920, 1080), "perspective", 0.1, 100)
    points = [(0, 0, 0), (0, 0, -20), (0, 0, 0.25), (0, 0, -0.25), (0, 0, -1)]
    here, far, front, back, farther = frontal_px_per_m(camera, points)
    assert here == pytest.approx(35 / 36 * 1920 / 8, rel=1e-5)
    assert far / here == pytest.approx(behind, abs=6e-6)
    assert front / back == pytest.approx(front_over_back, abs=6e-5)
    assert (1 - farther / here) * 100 == pytest.approx(step, abs=6e-4)


# ---- To pixels and back


@fixed
@given(specs(), st.integers(0, 10**6))
def test_projecting_undoes_unprojecting_in_every_projection(spec: Spec, seed: int) -> None:
    camera = windowed(spec)
    pixels, depth_m, points = seen_points(camera, seed)
    assert project_points(camera, points) == pytest.approx(pixels, abs=1e-4)
    assert depths(camera, points) == pytest.approx(depth_m, abs=1e-9)


@pytest.mark.parametrize("name", CAMERAS)
def test_all_of_a_picture_in_its_own_pixels_is_the_camera_itself(name: str) -> None:
    camera = worked(name)
    width, height = camera.pixels
    assert windowed_camera(camera, (0.0, 0.0, float(width), float(height)), camera.pixels) is camera
    assert windowed_camera(camera, (0.0, 0.0, width, height), (2 * width, 2 * height)) is not camera
    assert windowed_camera(camera, (0.0, 0.0, width / 2, height), camera.pixels) is not camera


@fixed
@given(specs(), st.integers(0, 10**6))
def test_sightline_reaches_every_depth_under_its_pixel(spec: Spec, seed: int) -> None:
    camera = windowed(spec)
    pixels, depth_m, points = seen_points(camera, seed)
    origins, directions = pixel_rays(camera, pixels)
    assert origins + depth_m[:, None] * directions == pytest.approx(points, rel=1e-9, abs=1e-8)
    assert depths(camera, origins) == pytest.approx(0, abs=1e-9)
    if not camera.parallel:
        assert origins == pytest.approx(np.broadcast_to(camera.eye_m, origins.shape), abs=1e-9)
    else:
        assert directions == pytest.approx(np.broadcast_to(directions[0], directions.shape), abs=1e-8)


@fixed
@given(specs(), st.integers(0, 10**6))
def test_raw_depth_inverts_the_projection_that_was_used(spec: Spec, seed: int) -> None:
    camera = windowed(spec)
    _, depth_m, points = seen_points(camera, seed)
    clip = to_clip(camera, points)
    raw = (clip[:, 2] / clip[:, 3] + 1) / 2
    kept = raw < 1
    assert np.any(kept)
    # a perspective buffer's last bit is worth z^2 / near metres
    allowed = 1e-9 + 1e-13 * camera.far_m**2 / camera.near_m
    assert from_raw_depth(camera, raw)[kept] == pytest.approx(depth_m[kept], abs=allowed)


@fixed
@given(specs(), st.integers(0, 10**6))
def test_window_draws_the_same_things_shifted_and_scaled(spec: Spec, seed: int) -> None:
    camera, part = whole(spec), windowed(spec)
    _, _, points = seen_points(camera, seed)
    left, top, right, bottom = box_in_px(spec)
    scale = np.array(spec.box_px) / (right - left, bottom - top)
    expected = (project_points(camera, points) - (left, top)) * scale
    assert project_points(part, points) == pytest.approx(expected, abs=1e-4)
    assert depths(part, points) == pytest.approx(depths(camera, points))
    assert (part.near_m, part.far_m, part.kind) == (camera.near_m, camera.far_m, camera.kind)


@fixed
@given(specs(), st.integers(0, 10**6))
def test_jacobian_is_the_limit_of_finite_differences(spec: Spec, seed: int) -> None:
    camera = windowed(spec)
    _, depth_m, points = seen_points(camera, seed, count=3)
    for point, depth in zip(points, depth_m, strict=True):
        step = 1e-4 * depth
        ends = np.concatenate([point + step * np.eye(3), point - step * np.eye(3)])
        pixels = project_points(camera, ends)
        differences = ((pixels[:3] - pixels[3:]) / (2 * step)).T
        size = np.max(np.abs(differences))
        assert jacobian_px_per_m(camera, point) == pytest.approx(differences, abs=1e-5 * size)


@fixed
@given(specs(), st.integers(0, 10**6))
def test_frontal_scale_is_the_length_of_a_level_metre_on_screen(spec: Spec, seed: int) -> None:
    camera = whole(spec)
    _, depth_m, points = seen_points(camera, seed)
    step = 0.01 * depth_m[:, None] * camera.right
    drawn = np.linalg.norm(
        project_points(camera, points + step) - project_points(camera, points - step), axis=1
    )
    assert drawn / (0.02 * depth_m) == pytest.approx(frontal_px_per_m(camera, points), rel=1e-6)


def test_unproject_takes_one_depth_for_many_pixels() -> None:
    camera = worked("C2")
    found = unproject_pixels(camera, [(0, 0), (960, 540), (1920, 1080)], 8.0)
    assert depths(camera, found) == pytest.approx([8, 8, 8])
    assert found[1] == pytest.approx(POINTS[0], abs=1e-12)


# ---- What lies behind


@pytest.mark.parametrize("name", PERSPECTIVES)
def test_point_behind_a_perspective_eye_has_no_place_but_a_signed_depth(name: str) -> None:
    camera = worked(name)
    behind = camera.eye_m - 2 * camera.forward + 0.3 * camera.right
    points = np.array([behind, camera.eye_m, POINTS[0]])
    pixels = project_points(camera, points)
    assert np.isnan(pixels[:2]).all()
    assert np.isfinite(pixels[2]).all()
    assert depths(camera, behind)[0] == pytest.approx(-2)
    scales = frontal_px_per_m(camera, points)
    assert np.isnan(scales[:2]).all()
    assert np.isfinite(scales[2])
    assert np.isnan(jacobian_px_per_m(camera, behind)).all()
    assert jacobian_px_per_m(camera, behind).shape == (2, 3)


def test_parallel_view_sees_behind_its_own_plane() -> None:
    camera = worked("C4")
    behind = camera.eye_m - 3 * camera.forward
    assert project_points(camera, behind)[0] == pytest.approx([800, 450])
    assert depths(camera, behind)[0] == pytest.approx(-3)
    assert frontal_px_per_m(camera, behind)[0] == pytest.approx(100)


# ---- Depth buffers


@pytest.mark.parametrize("raw", RAW_DEPTHS)
def test_raw_depth_back_to_metres_matches_the_table(raw: float) -> None:
    pose = np.eye(4)
    eye = Camera(pose, perspective(1, 1.5, 0.1, 100), (3, 2), "perspective", 0.1, 100)
    flat = Camera(pose, orthographic(9, 1.5, 0.1, 100), (3, 2), "orthographic", 0.1, 100)
    found = (float(from_raw_depth(eye, raw)), float(from_raw_depth(flat, raw)))
    assert found == pytest.approx(RAW_DEPTHS[raw], abs=6e-6)


def test_raw_depth_of_the_gltf_table_and_of_infinite_views() -> None:
    finite = Camera(np.eye(4), perspective(1, 1.5, 0.1, 100), (3, 2), "perspective", 0.1, 100)
    endless = Camera(np.eye(4), perspective(1, 1.5, 0.1, None), (3, 2), "perspective", 0.1, np.inf)
    assert len(GLTF_DEPTHS) == 5
    for depth_m, row in GLTF_DEPTHS.items():
        if depth_m < 100:
            assert float(from_raw_depth(finite, row[3])) == pytest.approx(depth_m, rel=3e-5)
        assert float(from_raw_depth(endless, (row[1] + 1) / 2)) == pytest.approx(depth_m, rel=1e-9)


def test_orthographic_depth_is_never_read_as_perspective() -> None:
    raw, wrong_m = ORTHOGRAPHIC_12_M
    flat = Camera(np.eye(4), orthographic(9, 1.5, 0.1, 100), (3, 2), "orthographic", 0.1, 100)
    eye = Camera(np.eye(4), perspective(1, 1.5, 0.1, 100), (3, 2), "perspective", 0.1, 100)
    assert float(from_raw_depth(flat, raw)) == pytest.approx(12, abs=1e-6)
    assert float(from_raw_depth(eye, raw)) == pytest.approx(wrong_m, abs=6e-6)  # the mistake


def test_empty_pixels_are_infinitely_far_in_any_shape() -> None:
    raw = np.array([[1.0, 0.5], [0.0, 1.0]])
    for name in ("C1", "C4"):
        found = from_raw_depth(worked(name), raw)
        assert found.shape == (2, 2)
        assert np.isinf(found).tolist() == [[True, False], [False, True]]
        assert found[1, 0] == pytest.approx(0.1)


# ---- Scale and principal point


def test_frontal_scale_of_the_docstring() -> None:
    camera = worked("C1")
    assert focal_px(camera) == pytest.approx(1866.67, abs=5e-3)
    assert frontal_px_per_m(camera, POINTS[0])[0] == pytest.approx(233.33, abs=5e-3)


def test_oblique_frontal_scale_is_one_number_everywhere() -> None:
    projection = oblique(9.0, 16 / 9, 0, 50, 0.5, 45, 10)
    camera = Camera(np.eye(4), projection, (1600, 900), "oblique", 0, 50)
    assert frontal_px_per_m(camera, POINTS) == pytest.approx([100] * 4)


def test_axis_meets_the_picture_where_the_offset_says() -> None:
    assert principal_point_px(worked("C3")) == pytest.approx((768, 446.4))
    pose = view_from((5, 6, 7), turned_by(30, 40, 50))
    camera = Camera(pose, orthographic(9, 2, 0, 9, (0.25, 0.1)), (200, 100), "orthographic", 0, 9)
    assert principal_point_px(camera) == pytest.approx((150, 40))
    on_axis = camera.eye_m + 4 * camera.forward
    assert project_points(camera, on_axis)[0] == pytest.approx((150, 40))


# ---- The value itself


def test_vertical_angle_of_the_matrix_is_the_lens_tables() -> None:
    assert degrees(2 * atan(1 / worked("C1").projection[1, 1])) == pytest.approx(32.269, abs=6e-4)


def test_matrices_cannot_be_written_to_and_are_copies() -> None:
    view = np.eye(4)
    camera = Camera(view, perspective(1, 1, 1, 2), (2, 2), "perspective", 1, 2)
    view[0, 3] = 9
    assert camera.view[0, 3] == 0
    for matrix in (camera.view, camera.projection):
        with pytest.raises(ValueError, match="read-only"):
            matrix[0, 0] = 3


def test_camera_survives_pickling() -> None:
    camera = worked("C3")
    again = pickle.loads(pickle.dumps(camera))
    assert np.array_equal(again.view, camera.view)
    assert np.array_equal(again.projection, camera.projection)
    assert again.pixels == camera.pixels


def test_resized_keeps_fractions_of_the_picture() -> None:
    small = resized_camera(worked("C3"), (640, 360))
    assert small.pixels == (640, 360)
    assert project_points(small, POINTS) * 2 == pytest.approx(project_points(worked("C3"), POINTS))


def test_named_axes_are_the_worlds_for_an_unturned_camera() -> None:
    camera = level_camera(eye_m=(1, 2, 3))
    assert camera.right == pytest.approx([1, 0, 0])
    assert camera.up == pytest.approx([0, 1, 0])
    assert camera.forward == pytest.approx([0, 0, -1])
    assert camera.eye_m == pytest.approx([1, 2, 3])


def test_window_may_reach_outside_the_picture() -> None:
    camera = worked("C1")
    wider = windowed_camera(camera, (-960, -540, 2880, 1620), (3840, 2160))
    assert project_points(wider, POINTS) == pytest.approx(
        project_points(camera, POINTS) + np.array([960, 540])
    )
