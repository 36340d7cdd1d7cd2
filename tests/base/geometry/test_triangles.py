"""Heights, ray crossings and nearest points of triangles against hand geometry and trimesh."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from stationpoint.base.geometry.nearest import least_of_each, nearest_on_triangles, triangle_blocks
from stationpoint.base.geometry.triangles import first_on_ways, height_over, ray_meets

SLOPE = np.array([(0, 0, 0), (2, 2, 0), (0, 0, 2)], dtype=float)  # y = x


def test_height_over_a_point_is_that_of_the_plane() -> None:
    s, t, y = height_over(*SLOPE, np.array([0.5, 3.0]), np.array([0.5, 0.0]))
    assert (s[0], t[0], y[0]) == pytest.approx((0.25, 0.25, 0.5))
    assert (s[1], y[1]) == pytest.approx((1.5, 3.0))  # outside: the plane goes on
    upright = np.array([(0, 0, 0), (1, 0, 0), (0, 1, 0)], dtype=float)
    assert not np.isfinite(height_over(*upright, 0.5, 0.0)[2])


def test_ray_meets_a_triangle_from_both_sides_and_behind_its_start() -> None:
    down, up = np.array([0.0, -1.0, 0.0]), np.array([0.0, 2.0, 0.0])
    above = np.array([0.5, 3.0, 0.5])  # over the slope at y .5
    assert ray_meets(above, down, SLOPE) == pytest.approx(2.5)
    below = above - np.array([0.0, 4.0, 0.0])
    assert ray_meets(below, up, SLOPE) == pytest.approx(0.75)  # 1.5 m, in lengths of 2 m
    assert ray_meets(above, -down, SLOPE) == pytest.approx(-2.5)
    assert ray_meets(above + np.array([2.0, 0.0, 0.0]), down, SLOPE) == np.inf
    assert ray_meets(above, np.array([1.0, 1.0, 0.0]), SLOPE) == np.inf  # along its plane


@pytest.mark.parametrize("subdivisions", [0, 4])
def test_first_crossing_by_blocks_is_that_of_every_triangle_and_trimeshs(subdivisions: int) -> None:
    mesh = trimesh.creation.icosphere(subdivisions, radius=3.0)
    corners = np.asarray(mesh.triangles, dtype=float)
    rng = np.random.default_rng(subdivisions)
    starts, ways = rng.uniform(-3, 3, (60, 3)), rng.normal(size=(60, 3))
    ways[:3] = np.eye(3)  # along the axes, where a box has no slope
    found = first_on_ways(triangle_blocks(corners), starts, ways, 1e-6)
    every = ray_meets(starts[:, None], ways[:, None], corners)
    assert (found == np.where(every > 1e-6, every, np.inf).min(axis=1)).all()
    points, rays, _ = mesh.ray.intersects_location(starts, ways)
    length = np.linalg.norm(ways, axis=1)
    theirs = np.full(60, np.inf)
    np.minimum.at(theirs, rays, np.linalg.norm(points - starts[rays], axis=1) / length[rays])
    assert found == pytest.approx(theirs, rel=1e-4)
    assert 10 < np.isfinite(found).sum() < 60


def test_nearest_point_is_trimeshs_over_face_edges_and_corners() -> None:
    rng = np.random.default_rng(4)
    corners, points = rng.uniform(-1, 1, (2000, 3, 3)), rng.uniform(-3, 3, (2000, 3))
    theirs = trimesh.triangles.closest_point(corners, points)
    assert nearest_on_triangles(points, corners) == pytest.approx(theirs, abs=1e-9)


def test_least_of_each_is_the_first_of_equals() -> None:
    # By hand: 0 has 3, 1 and 1; 2 has 5; 7 has 2 and 0.
    who, value = np.array([0, 0, 0, 2, 7, 7]), np.array([3.0, 1.0, 1.0, 5.0, 2.0, 0.0])
    assert least_of_each(who, value).tolist() == [1, 3, 5]
    assert least_of_each(who[:0], value[:0]).tolist() == []
