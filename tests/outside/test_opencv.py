"""The perspective camera against OpenCV's projectPoints: pixels and derivatives.

K: fx = P00 W / 2, fy = P11 H / 2, cx = W (.5 + ox), cy = H (.5 - oy); OpenCV's camera looks along its
+z with y down, so the rotation's rows y and z are negated.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from camera.cameras import Spec, random_specs, seen_points, whole, worked
from published import CAMERAS, POINTS
from stationpoint.camera.camera import Camera, jacobian_px_per_m, project_points

Array = NDArray[np.float64]
FLIP = np.diag([1.0, -1.0, -1.0])


def opencv(camera: Camera, offset: tuple[float, float], points_m: Array) -> tuple[Array, Array]:
    """Pixels (n, 2) and their derivative by the world's x, y, z (n, 2, 3), by OpenCV."""
    width, height = camera.pixels
    fx, fy = camera.projection[0, 0] * width / 2, camera.projection[1, 1] * height / 2
    k = np.array([[fx, 0, width * (0.5 + offset[0])], [0, fy, height * (0.5 - offset[1])], [0, 0, 1]])
    rotation = FLIP @ camera.view[:3, :3]
    turn, _ = cv2.Rodrigues(rotation)
    pixels, jacobian = cv2.projectPoints(points_m, turn, FLIP @ camera.view[:3, 3], k, None)
    by_shift = np.asarray(jacobian, dtype=np.float64)[:, 3:6].reshape(-1, 2, 3)
    return np.asarray(pixels, dtype=np.float64).reshape(-1, 2), by_shift @ rotation


SPECS = random_specs(seed=20, count=200, kinds=("perspective",))


def case(index: int, spec: Spec) -> tuple[Camera, Array, Array, Array]:
    camera = whole(spec)
    _, _, points = seen_points(camera, seed=index)
    return camera, points, *opencv(camera, spec.offset, points)


def test_random_cameras_draw_points_where_opencv_does() -> None:
    worst = 0.0
    assert len(SPECS) == 200
    for index, spec in enumerate(SPECS):
        camera, points, pixels, _ = case(index, spec)
        worst = max(worst, float(np.max(np.abs(project_points(camera, points) - pixels))))
    assert worst < 1e-9


def test_jacobian_is_opencvs() -> None:
    worst = 0.0
    for index, spec in enumerate(SPECS):
        camera, points, _, jacobians = case(index, spec)
        for point, expected in zip(points, jacobians, strict=True):
            difference = np.abs(jacobian_px_per_m(camera, point) - expected)
            worst = max(worst, float(np.max(difference) / np.max(np.abs(expected))))
    assert 0 < worst < 1e-10


@pytest.mark.parametrize("name", [name for name, given in CAMERAS.items() if given.kind == "perspective"])
def test_worked_cameras_draw_points_where_opencv_does(name: str) -> None:
    camera = worked(name)
    pixels, _ = opencv(camera, CAMERAS[name].offset, np.array(POINTS))
    assert project_points(camera, POINTS) == pytest.approx(pixels, abs=1e-9)


def test_comparison_would_notice_an_offset_of_the_wrong_sign() -> None:
    spec = SPECS[0]
    camera = whole(spec)
    _, _, points = seen_points(camera, seed=0)
    wrong, _ = opencv(camera, (spec.offset[0], -spec.offset[1]), points)
    assert np.max(np.abs(project_points(camera, points) - wrong)) > 1
