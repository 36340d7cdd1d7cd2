"""What lies under a point of a rough mesh of many triangles, and of the mesh once moved: against trimesh."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from stationpoint.base.geometry.nearest import faces_meeting, nearest_face, triangle_blocks
from stationpoint.scene.edit import box_node, moved_node
from stationpoint.scene.types import Node, Scene
from stationpoint.scene.under import all_under, drop_m, floor_under


def rough(seed: int = 8) -> Node:
    """A field of 4 900 triangles, 7 x 7 m round the origin, up to 0.1 m from level."""
    rng = np.random.default_rng(seed)
    x, z = (one.ravel() for one in np.meshgrid(np.linspace(-3.5, 3.5, 50), np.linspace(-3.5, 3.5, 51)))
    k = np.arange(50 * 51).reshape(51, 50)
    a, b, c, d = k[:-1, :-1].ravel(), k[:-1, 1:].ravel(), k[1:, :-1].ravel(), k[1:, 1:].ravel()
    faces = np.concatenate([np.column_stack([a, c, b]), np.column_stack([b, c, d])])
    points = np.column_stack([x, rng.uniform(-0.05, 0.05, len(x)), z])
    return Node("field", points.astype(np.float32), faces.astype(np.int32), closed=False, walkable=True)


def by_trimesh(node: Node, spots: np.ndarray, top_m: float) -> np.ndarray:
    """Heights under spots (n, 2), nan beside the mesh. Source: trimesh, rays straight down."""
    mesh = trimesh.Trimesh(node.vertices.astype(float), node.faces, process=False)
    starts = np.column_stack([spots[:, 0], np.full(len(spots), top_m), spots[:, 1]])
    at, ray, _ = mesh.ray.intersects_location(starts, np.tile((0.0, -1.0, 0.0), (len(spots), 1)))
    found = np.full(len(spots), np.nan)
    np.fmax.at(found, ray, at[:, 1])
    return found


@pytest.mark.parametrize("shift", [(0.0, 0.0, 0.0), (1.3, 2.0, -0.4)])
def test_heights_under_a_rough_mesh_are_those_of_rays_also_after_it_has_moved(
    shift: tuple[float, float, float],
) -> None:
    node, matrix = rough(), np.eye(4)
    assert drop_m(node, np.array([0.01, 1.0, 0.01])) is not None  # its index is made before it moves
    matrix[:3, 3] = shift
    node = moved_node(node, matrix)
    scene = Scene((node,))
    spots = np.random.default_rng(3).uniform(-4.5, 4.5, (60, 2))
    heights = by_trimesh(node, spots, 5.0)
    assert 10 < np.isfinite(heights).sum() < 60
    for (x, z), y in zip(spots, heights, strict=True):
        drop, floor = drop_m(node, np.array([x, 5.0, z])), floor_under(scene, (x, 5.0, z))
        if np.isnan(y):
            assert (drop, floor) == (None, None)
        else:
            assert drop == pytest.approx(5.0 - y, abs=1e-4)
            assert floor == pytest.approx(y, abs=1e-4)


def test_faces_that_meet_a_box_are_those_of_a_plain_search_each_once_and_in_order() -> None:
    node = rough()
    corners = node.vertices.astype(float)[node.faces]
    low, high = np.array([0.4, -1.0, -0.3]), np.array([1.1, 0.02, 0.5])
    plain = (corners.min(axis=1) <= high).all(axis=1) & (corners.max(axis=1) >= low).all(axis=1)
    assert faces_meeting(node.blocks, low, high).tolist() == np.flatnonzero(plain).tolist()
    assert np.array_equal(node.faces_within(low, high), corners[plain])
    every = faces_meeting(node.blocks, np.full(3, -np.inf), np.full(3, np.inf))
    assert every.tolist() == list(range(len(node.faces)))


def test_nearest_points_of_a_rough_mesh_are_trimeshs_from_near_and_far() -> None:
    node = rough()
    mesh = trimesh.Trimesh(node.vertices.astype(float), node.faces, process=False)
    rng = np.random.default_rng(9)
    points = np.concatenate([rng.uniform(-4, 4, (40, 3)), rng.uniform(-40, 40, (40, 3))])
    _, away, _ = trimesh.proximity.closest_point_naive(mesh, points)
    at, _ = nearest_face(triangle_blocks(node.vertices.astype(float)[node.faces]), points)
    assert np.linalg.norm(at - points, axis=1) == pytest.approx(away, abs=1e-9)


def test_what_lies_under_many_points_is_asked_at_once_and_each_looks_past_its_own_nodes() -> None:
    # Hand geometry: a floor whose top is at 0, a crate of 1 m on it, and a point over neither.
    scene = Scene((box_node("floor", (0, -1, 0), (6, 1, 6)), box_node("crate", (0, 0, 0), (1, 1, 1))))
    points = np.array([(0.0, 1.5, 0.0), (0.0, 1.5, 0.0), (2.0, 1.5, 0.0), (9.0, 1.5, 0.0)])
    found = all_under(scene, points, [(), ("crate",), (), ()])
    assert found == [("crate", 0.5), ("floor", 1.5), ("floor", 1.5), None]
