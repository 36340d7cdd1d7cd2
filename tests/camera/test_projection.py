"""Projection matrices: glTF 2.0 section 3.10.3, Kooima's off-axis frusta, parallel drawings."""

from __future__ import annotations

from math import cos, hypot, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given, settings
from numpy.typing import NDArray

from camera.cameras import Spec, specs, whole, worked
from published import (
    AXONOMETRIES,
    C1_P00_P11,
    C3_PROJECTION,
    C4_PROJECTION,
    GLTF_ASPECT,
    GLTF_DEPTHS,
    GLTF_FAR_M,
    GLTF_NEAR_M,
    GLTF_P00,
    GLTF_P11,
    GLTF_XMAG_M,
    GLTF_YFOV_DEG,
    GLTF_YMAG_M,
    KOOIMA,
    OBLIQUES,
    OffAxis,
)
from stationpoint.camera.camera import Camera, depths, jacobian_px_per_m, project_points, to_clip
from stationpoint.camera.pose import look_at, turned_by, view_from
from stationpoint.camera.projection import (
    oblique,
    orthographic,
    perspective,
    windowed_projection,
)

Matrix = NDArray[np.float64]
FOCAL_OVER_WIDTH = 1 / (2 * GLTF_ASPECT * tan(radians(GLTF_YFOV_DEG) / 2))


def gltf_perspective(yfov: float, a: float, n: float, f: float | None) -> Matrix:
    """The matrix as the specification prints it, with its own letters."""
    t = tan(0.5 * yfov)
    third = [0, 0, -1, -2 * n] if f is None else [0, 0, (f + n) / (n - f), 2 * f * n / (n - f)]
    return np.array([[1 / (a * t), 0, 0, 0], [0, 1 / t, 0, 0], third, [0, 0, -1, 0]])


def gltf_orthographic(r: float, t: float, n: float, f: float) -> Matrix:
    """The matrix as the specification prints it; r and t are half the width and height."""
    return np.array(
        [[1 / r, 0, 0, 0], [0, 1 / t, 0, 0], [0, 0, 2 / (n - f), (f + n) / (n - f)], [0, 0, 0, 1]]
    )


def depth_after_divide(projection: Matrix, depth_m: float) -> float:
    clip = projection @ [0, 0, -depth_m, 1]
    return float(clip[2] / clip[3])


@pytest.mark.parametrize("far_m", [GLTF_FAR_M, None])
def test_perspective_is_gltfs(far_m: float | None) -> None:
    found = perspective(FOCAL_OVER_WIDTH, GLTF_ASPECT, GLTF_NEAR_M, far_m)
    assert found == pytest.approx(
        gltf_perspective(radians(GLTF_YFOV_DEG), GLTF_ASPECT, GLTF_NEAR_M, far_m), abs=1e-12
    )
    assert (found[0, 0], found[1, 1]) == pytest.approx((GLTF_P00, GLTF_P11), abs=6e-9)


def test_orthographic_is_gltfs_with_half_heights() -> None:
    found = orthographic(2 * GLTF_YMAG_M, GLTF_XMAG_M / GLTF_YMAG_M, GLTF_NEAR_M, GLTF_FAR_M)
    expected = gltf_orthographic(GLTF_XMAG_M, GLTF_YMAG_M, GLTF_NEAR_M, GLTF_FAR_M)
    assert found == pytest.approx(expected, abs=1e-15)


@pytest.mark.parametrize("depth_m", GLTF_DEPTHS)
def test_depth_after_the_divide_is_the_worked_tables(depth_m: float) -> None:
    finite, infinite, parallel, *_ = GLTF_DEPTHS[depth_m]
    n, f = GLTF_NEAR_M, GLTF_FAR_M
    assert depth_after_divide(perspective(1.0, 1.5, n, f), depth_m) == pytest.approx(finite, abs=6e-9)
    assert depth_after_divide(perspective(1.0, 1.5, n, None), depth_m) == pytest.approx(infinite, abs=6e-9)
    assert depth_after_divide(orthographic(9.0, 1.5, n, f), depth_m) == pytest.approx(parallel, abs=6e-9)


def test_worked_cameras_have_the_worked_matrices() -> None:
    c1 = worked("C1").projection
    assert (c1[0, 0], c1[1, 1]) == pytest.approx(C1_P00_P11, abs=6e-8)
    assert worked("C3").projection == pytest.approx(np.array(C3_PROJECTION), abs=6e-8)
    assert worked("C4").projection == pytest.approx(np.array(C4_PROJECTION), abs=6e-8)


# ---- Off-axis screens


def kooima(screen: OffAxis) -> tuple[Matrix, Matrix]:
    """Kooima's frustum and view of a screen, with the paper's own letters."""
    pa, pb, pc = (
        np.array(p, dtype=float) for p in (screen.lower_left, screen.lower_right, screen.upper_left)
    )
    pe, n, f = np.array(screen.eye, dtype=float), screen.near_m, screen.far_m
    vr, vu = (v / np.linalg.norm(v) for v in (pb - pa, pc - pa))
    vn = np.cross(vr, vu)
    vn /= np.linalg.norm(vn)
    va, vb, vc = pa - pe, pb - pe, pc - pe
    d = -(vn @ va)
    left, right = (vr @ va) * n / d, (vr @ vb) * n / d
    bottom, top = (vu @ va) * n / d, (vu @ vc) * n / d
    assert d == pytest.approx(screen.screen_distance_m, abs=6e-8)
    assert (left, right, bottom, top) == pytest.approx(screen.frustum, abs=6e-8)
    frustum = np.array(
        [
            [2 * n / (right - left), 0, (right + left) / (right - left), 0],
            [0, 2 * n / (top - bottom), (top + bottom) / (top - bottom), 0],
            [0, 0, -(f + n) / (f - n), -2 * f * n / (f - n)],
            [0, 0, -1, 0],
        ]
    )
    rotation, shift = np.eye(4), np.eye(4)
    rotation[:3, :3] = [vr, vu, vn]
    shift[:3, 3] = -pe
    return frustum, rotation @ shift


def as_shifted_lens(screen: OffAxis) -> Camera:
    """The same screen by this package: a lens, shifted, in a camera that faces the screen."""
    pa, pb, pc = (
        np.array(p, dtype=float) for p in (screen.lower_left, screen.lower_right, screen.upper_left)
    )
    width, height = float(np.linalg.norm(pb - pa)), float(np.linalg.norm(pc - pa))
    normal = np.cross(pb - pa, pc - pa) / (width * height)
    yaw, pitch, _ = look_at(normal, (0, 0, 0))
    to_corner = pa - np.array(screen.eye)
    focal = -(normal @ to_corner)  # the picture is the screen itself, in metres
    foot = (-((pb - pa) @ to_corner) / width**2, -((pc - pa) @ to_corner) / height**2)
    offset = (foot[0] - 0.5, foot[1] - 0.5)
    projection = perspective(focal / width, width / height, screen.near_m, screen.far_m, offset)
    view = view_from(screen.eye, turned_by(yaw, pitch))
    return Camera(view, projection, (1000, 500), "perspective", screen.near_m, screen.far_m)


@pytest.mark.parametrize("name", KOOIMA)
def test_shifted_lens_is_kooimas_off_axis_frustum(name: str) -> None:
    screen = KOOIMA[name]
    frustum, view = kooima(screen)
    camera = as_shifted_lens(screen)
    p = camera.projection
    assert p == pytest.approx(frustum, abs=1e-12)
    assert camera.view == pytest.approx(view, abs=1e-12)
    expected = (screen.p00, screen.p02, screen.p11, screen.p12)
    assert (p[0, 0], p[0, 2], p[1, 1], p[1, 2]) == pytest.approx(expected, abs=6e-8)


@pytest.mark.parametrize("name", KOOIMA)
def test_screen_corners_land_on_the_pictures_corners(name: str) -> None:
    screen = KOOIMA[name]
    corners = [screen.lower_left, screen.lower_right, screen.upper_left]
    pixels = project_points(as_shifted_lens(screen), corners)
    assert pixels == pytest.approx(np.array([[0, 500], [1000, 500], [0, 0]]), abs=1e-9)


@pytest.mark.parametrize("name", KOOIMA)
def test_point_behind_the_screen_has_kooimas_place_and_depth(name: str) -> None:
    screen = KOOIMA[name]
    camera = as_shifted_lens(screen)
    clip = to_clip(camera, screen.point)[0]
    assert clip[:2] / clip[3] == pytest.approx(screen.ndc, abs=6e-8)
    assert depths(camera, screen.point)[0] == pytest.approx(screen.depth_m, abs=6e-8)


# ---- Parallel drawings


def parallel(projection: Matrix, yaw: float, pitch: float) -> Camera:
    """A square picture of 2 m and 2 px, so that one pixel is one metre."""
    return Camera(view_from((0, 0, 0), turned_by(yaw, pitch)), projection, (2, 2), "orthographic", -10, 10)


@pytest.mark.parametrize("name", AXONOMETRIES)
def test_axonometric_scales_and_slopes_match_the_table(name: str) -> None:
    expected = AXONOMETRIES[name]
    camera = parallel(orthographic(2.0, 1.0, -10, 10), expected.yaw_deg, expected.pitch_deg)
    across, down = jacobian_px_per_m(camera, (0, 0, 0))
    scales = np.hypot(across, down)
    assert scales == pytest.approx(expected.scales, abs=6e-6)
    slopes = np.degrees(np.arctan2(np.abs(down), np.abs(across)))[[0, 2]]
    assert sorted(slopes) == pytest.approx(sorted(expected.slopes_deg), abs=6e-5)
    assert np.sum(scales**2) == pytest.approx(2)


@settings(derandomize=True, database=None, deadline=None)
@given(specs(("orthographic",)))
def test_squares_of_an_orthographic_views_axis_scales_sum_to_two(spec: Spec) -> None:
    camera = whole(spec)
    jacobian = jacobian_px_per_m(camera, (1, 2, 3)) * spec.view_height_m / spec.whole_px[1]
    assert np.sum(jacobian**2) == pytest.approx(2)


@pytest.mark.parametrize(("ratio", "angle"), OBLIQUES)
def test_one_metre_of_depth_is_drawn_with_the_ratio_and_angle(ratio: float, angle: float) -> None:
    drawn, _ = OBLIQUES[ratio, angle]
    camera = parallel(oblique(2.0, 1.0, 0, 20, ratio, angle, 5.0), 0, 0)
    near, far = project_points(camera, [(0, 0, -5), (0, 0, -6)])
    assert near == pytest.approx([1, 1])  # still_depth_m stays where orthographic puts it
    assert (far[0] - near[0], near[1] - far[1]) == pytest.approx(drawn, abs=6e-6)


@pytest.mark.parametrize(("ratio", "angle"), OBLIQUES)
def test_oblique_projector_meets_the_picture_at_its_angle(ratio: float, angle: float) -> None:
    """45 degrees for cavalier, 63.435 for cabinet: atan(1 / ratio), geometry."""
    camera = parallel(oblique(2.0, 1.0, 0, 20, ratio, angle, 5.0), 0, 0)
    jacobian = jacobian_px_per_m(camera, (0, 0, 0))
    sightline = np.linalg.svd(jacobian)[2][2]  # the direction that is not seen at all
    to_picture = np.degrees(np.arcsin(abs(sightline[2])))
    assert to_picture == pytest.approx({1.0: 45.0, 0.5: 63.435}[ratio], abs=6e-4)


@settings(derandomize=True, database=None, deadline=None)
@given(specs(("oblique",)))
def test_oblique_differs_from_orthographic_by_depth_alone(spec: Spec) -> None:
    still = (spec.near_m + spec.far_m) / 2
    slanted = whole(spec)
    flat = orthographic(spec.view_height_m, spec.aspect, spec.near_m, spec.far_m, spec.offset)
    moved = (slanted.projection - flat) @ [0.3, -0.7, -(still + 2), 1]
    a = radians(spec.angle_deg)
    expected = [
        2 * spec.ratio * cos(a) * flat[0, 0],
        2 * spec.ratio * sin(a) * flat[1, 1],
        0,
        0,
    ]
    assert moved == pytest.approx(expected, abs=1e-7)
    assert hypot(moved[0] / flat[0, 0], moved[1] / flat[1, 1]) == pytest.approx(2 * spec.ratio)


# ---- Windows and depth ranges


@settings(derandomize=True, database=None, deadline=None)
@given(specs())
def test_window_moves_and_stretches_the_picture_and_leaves_depth(spec: Spec) -> None:
    projection = whole(spec).projection
    left, top, right, bottom = spec.box
    points = np.array([[0.2, -0.1, -3, 1], [-1, 2, -5, 1], [4, 4, -20, 1]]).T
    before, after = projection @ points, windowed_projection(projection, spec.box) @ points
    assert after[2:] == pytest.approx(before[2:])
    x, y = (before[0] / before[3] + 1) / 2, (1 - before[1] / before[3]) / 2  # fractions, y down
    assert (after[0] / after[3] + 1) / 2 == pytest.approx((x - left) / (right - left), abs=1e-8)
    assert (1 - after[1] / after[3]) / 2 == pytest.approx((y - top) / (bottom - top), abs=1e-8)


def test_whole_window_changes_nothing() -> None:
    for name in ("C3", "C4"):
        projection = worked(name).projection
        assert windowed_projection(projection, (0, 0, 1, 1)) == pytest.approx(projection, abs=1e-15)
