"""The worked cameras C1 to C5: positions, stretch, horizon, ground, axes, gaps (published.py)."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from camera.cameras import random_specs, whole, worked
from published import (
    CAMERA_AXES,
    CAMERA_DEPTHS_M,
    CAMERA_GROUND_M,
    CAMERA_HORIZON,
    CAMERA_PX,
    CAMERA_STRETCH,
    CAMERAS,
    GAPS,
    POINTS,
    Gap,
)
from readings.made import camera, case, numbers, square
from stationpoint.camera.camera import jacobian_px_per_m, project_points
from stationpoint.camera.seat import Seat, arcmin_between
from stationpoint.readings.axes import WORLD, px_per_m
from stationpoint.readings.things.steps import arcmin_jacobian, heading
from stationpoint.readings.things.steps import arcmin_per_m as turned_per_m

P = [{"name": f"p{k + 1}", "at": point} for k, point in enumerate(POINTS)]


@pytest.mark.parametrize("name", CAMERAS)
def test_targets_are_where_three_libraries_put_them(name: str) -> None:
    made = case(name, target=P, cell=(480, 270))  # positions do not depend on the cell
    found = [numbers(made, "targets", f"p{k}") for k in (1, 2, 3, 4)]
    px = np.array([one["screen_xy"] for one in found]) * CAMERAS[name].pixels
    np.testing.assert_allclose(px, CAMERA_PX[name], atol=0.01)
    np.testing.assert_allclose([one["depth_m"] for one in found], CAMERA_DEPTHS_M[name], atol=1e-5)


@pytest.mark.parametrize("name", CAMERA_STRETCH)
def test_edge_stretch_is_the_published_one(name: str) -> None:
    made = case(name, target=P)
    found = [numbers(made, "targets", f"p{k}")["edge_stretch"] for k in (1, 2, 3, 4)]
    np.testing.assert_allclose(found, CAMERA_STRETCH[name], atol=1e-6)


def test_edge_stretch_takes_the_worst_corner() -> None:
    # C1: eye (0, 1.6, 8); the corner (2, 0, 0) is 8 m deep: |(2, -1.6, -8)| / 8.
    made = case("C1", square("plate", (-1, 2), (0, 1.6), 0), target=[{"name": "t", "node": "plate"}])
    assert numbers(made, "targets", "t")["edge_stretch"] == pytest.approx(np.sqrt(4 + 2.56 + 64) / 8)


@pytest.mark.parametrize("name", CAMERA_HORIZON)
def test_horizon_is_the_published_row(name: str) -> None:
    assert numbers(case(name), "framing")["horizon_y"] == pytest.approx(CAMERA_HORIZON[name], abs=1e-6)


def test_parallel_view_has_no_horizon() -> None:
    assert numbers(case("C4"), "framing")["horizon_y"] is None


@pytest.mark.parametrize("name", CAMERA_GROUND_M)
def test_nearest_and_farthest_ground_are_the_published_ones(name: str) -> None:
    # The table counts from under the eye; the reading from the subject's foot, here (0, 0, 0).
    view = worked(name)
    found = numbers(case(name), "framing")
    from_eye = -float(view.eye_m * (1, 0, 1) @ heading(view))
    near, far = CAMERA_GROUND_M[name]
    assert found["ground_near_m"] + from_eye == pytest.approx(near, abs=1e-4)
    if far is None:
        assert found["ground_far_m"] == "horizon"
    else:
        assert found["ground_far_m"] + from_eye == pytest.approx(far, abs=1e-4)


@pytest.mark.parametrize("name", CAMERA_AXES)
def test_axes_are_the_published_ones(name: str) -> None:
    made = case(name, anchor=POINTS[0])
    found = [numbers(made, "axes", axis) for axis in "xyz"]
    px, growth = CAMERA_AXES[name]
    np.testing.assert_allclose([one["px_per_m"] for one in found], px, atol=1e-4)
    # The table holds the derivative, the reading a difference over 0.1 m: 1.2e-5 apart at 8 m.
    np.testing.assert_allclose([one["size_pct_per_m"] for one in found], growth, rtol=2e-5, atol=1e-4)


@pytest.mark.parametrize("gap", GAPS, ids=lambda gap: f"{gap.camera} {gap.to}")
def test_gaps_are_the_published_ones(gap: Gap) -> None:
    made = case(gap.camera, gap=[{"name": "g", "from": (0, 0, 0), "to": gap.to, "reach_m": gap.reach_m}])
    found = numbers(made, "gaps", "g")
    ends = np.array([found["from_xy"], found["to_xy"]]) * CAMERAS[gap.camera].pixels
    assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(gap.screen_px, abs=0.01)
    assert found["true_span_m"] == pytest.approx(gap.true_span_m, abs=1e-5)
    assert found["flat_span_m"] == pytest.approx(gap.flat_span_m, abs=1e-5)
    assert found["read_ratio"] == pytest.approx(gap.read_ratio, abs=1e-5)
    assert found["scale_ratio"] == pytest.approx(gap.scale_ratio, abs=1e-5)
    assert found["misleading"] is gap.misleading


@pytest.mark.parametrize("gap", GAPS, ids=lambda gap: f"{gap.camera} {gap.to}")
def test_landing_moves_by_the_published_pixels_along_the_gap(gap: Gap) -> None:
    way = np.array(gap.to, dtype=float)
    found = px_per_m(jacobian_px_per_m(worked(gap.camera), way), way / np.linalg.norm(way))
    assert found == pytest.approx(gap.landing_px_per_m, abs=1e-3)


def test_isometric_gap_by_the_drawn_body_is_its_true_length() -> None:
    # reference: 2.449 / .8165 = 3.0, because the body shrinks by the same .8165.
    made = case("C4", gap=[{"name": "g", "from": (0, 0, 0), "to": (3, 0, 0)}])
    assert numbers(made, "gaps", "g")["flat_span_by_body_m"] == pytest.approx(3.0, abs=1e-4)


@pytest.mark.parametrize(
    "spec", random_specs(7, 20, ("perspective",)), ids=lambda spec: f"{spec.yaw_deg:.0f}"
)
def test_axes_agree_with_opencv_on_random_cameras(spec: object) -> None:
    view = whole(spec)  # type: ignore[arg-type]
    width, height = view.pixels
    p = view.projection
    k = np.array([
        [p[0, 0] * width / 2, 0, (1 - p[0, 2]) * width / 2],
        [0, p[1, 1] * height / 2, (1 + p[1, 2]) * height / 2],
        [0, 0, 1],
    ])  # fmt: skip
    flip = np.diag([1.0, -1.0, -1.0])
    rotation, shift = flip @ view.view[:3, :3], flip @ view.view[:3, 3]
    point = view.eye_m + 7.0 * view.forward + 1.3 * view.right - 0.7 * view.up
    turned, _ = cv2.Rodrigues(rotation)
    _, jacobian = cv2.projectPoints(point[None], turned, shift, k, np.zeros(4))
    # OpenCV derives by the translation: one metre along a world axis moves the point by R's column.
    expected = jacobian[:, 3:6] @ rotation
    found = np.array([px_per_m(jacobian_px_per_m(view, point), axis) for axis in WORLD.values()])
    np.testing.assert_allclose(found, np.linalg.norm(expected, axis=0), rtol=1e-6)


@pytest.mark.parametrize("spec", random_specs(8, 12), ids=lambda spec: spec.kind)
def test_arc_minutes_a_metre_are_the_limit_of_small_steps(spec: object) -> None:
    view = whole(spec)  # type: ignore[arg-type]
    at = Seat("s", view.pixels, 0.0004, 0.9, (view.pixels[0] * 0.4, view.pixels[1] * 0.6))
    point = view.eye_m + 7.0 * view.forward + 0.3 * view.right
    jacobian = arcmin_jacobian(at, view, point, project_points(view, point)[0])
    way, step = np.array([0.48, -0.6, 0.64]), 1e-4
    ends = project_points(view, [point - way * step / 2, point + way * step / 2])
    expected = arcmin_between(at, ends[0], ends[1])[0] / step
    assert turned_per_m(jacobian, way) == pytest.approx(expected, rel=1e-4)


def test_target_behind_the_eye_keeps_its_signed_depth_and_has_no_place() -> None:
    made = case(camera(pitch=0, distance=8), target=[{"name": "t", "at": (0, 0, 10)}])
    found = numbers(made, "targets", "t")
    assert found["screen_xy"] is None
    assert found["depth_m"] == pytest.approx(-2.0)
    assert found["edge_stretch"] is None
