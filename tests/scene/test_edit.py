"""Edited copies, nodes made by hand, floors and insides."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import trimesh

from scene.built import volume
from stationpoint.base.errors import StudyWrong
from stationpoint.base.look import ROLE_TINT
from stationpoint.scene.assemble import scene_of
from stationpoint.scene.edit import (
    box_node,
    moved_scene,
    stand_in,
    tinted_scene,
    with_node,
)
from stationpoint.scene.solids import SHAPES, solid
from stationpoint.scene.types import Node, Scene
from stationpoint.scene.under import floor_under, is_inside


def made(shape: str, size: tuple[float, float, float], at: tuple[float, float, float] = (0, 0, 0)) -> Node:
    vertices, faces = solid(shape, size, at)
    return Node(shape, vertices.astype(np.float32), faces, kind=shape)


@pytest.fixture
def yard() -> Scene:
    return scene_of([box_node("slab", (0, 0, 0), (10, 0.5, 10)), box_node("crate", (2, 0.5, 0), (1, 1, 1))])


def test_tints_change_colours_and_nothing_else(yard: Scene) -> None:
    found = tinted_scene(yard, {"crate": (1, 2, 3), "nobody": (9, 9, 9)})
    assert found.node("crate").tint == (1, 2, 3)
    assert found.node("slab").tint == yard.node("slab").tint
    assert (found.digest, found.id_of("crate")) == (yard.digest, 2)
    assert np.shares_memory(found.node("crate").vertices, yard.node("crate").vertices)


def test_moves_keep_ids_and_mirrors_keep_faces_outward(yard: Scene) -> None:
    mirror = np.diag([-1.0, 1, 1, 1])
    mirror[1, 3] = 3
    found = moved_scene(yard, {"crate": mirror})
    assert found.node("crate").bounds.tolist() == [[-2.5, 3.5, -0.5], [-1.5, 4.5, 0.5]]
    assert volume(found.node("crate").vertices, found.node("crate").faces) == pytest.approx(1)
    assert [node.name for node in found.nodes] == ["slab", "crate"]
    assert found.digest == ""  # that of the scene that was read is told, and how things were moved
    with pytest.raises(KeyError):
        moved_scene(yard, {"nobody": np.eye(4)})


def test_a_node_more_comes_last_and_needs_a_name_of_its_own(yard: Scene) -> None:
    found = with_node(yard, stand_in("hopper", (0, 0.5, 0), 1.7, 0))
    assert found.id_of("hopper") == 3
    assert found.id_of("crate") == 2
    with pytest.raises(StudyWrong, match='"crate"'):
        with_node(yard, stand_in("crate", (0, 0.5, 0), 1.7, 0))


@pytest.mark.parametrize(("height_m", "radius_m"), [(1.7, 0.25), (0.5, 0.25), (0.3, 0.15)])
def test_a_capsule_stands_in_on_its_foot(height_m: float, radius_m: float) -> None:
    node = stand_in("hopper", (4.2, 0.8, -3), height_m, 33, "capsule")
    low, high = node.bounds
    assert high - low == pytest.approx([2 * radius_m, height_m, 2 * radius_m], rel=5e-3)
    assert node.foot == pytest.approx([4.2, 0.8, -3], abs=1e-6)
    assert (node.kind, node.closed, node.tint) == ("subject", True, ROLE_TINT["subject"])
    assert trimesh.Trimesh(node.vertices, node.faces, process=False).is_watertight
    true_volume = pi * radius_m**2 * (height_m - 2 * radius_m) + 4 / 3 * pi * radius_m**3
    assert volume(node.vertices, node.faces) == pytest.approx(true_volume, rel=0.02)


def test_the_floor_is_the_highest_surface_under_a_point(yard: Scene) -> None:
    assert floor_under(yard, (0, 5, 0)) == pytest.approx(0.5)
    assert floor_under(yard, (2, 5, 0)) == pytest.approx(1.5)
    assert floor_under(yard, (2, 1.2, 0)) == pytest.approx(0.5)  # inside the crate: its own base
    assert floor_under(yard, (2, 5, 0), names=["slab"]) == pytest.approx(0.5)
    assert floor_under(yard, (2, 1.5, 0)) == pytest.approx(1.5)  # standing on it
    assert floor_under(yard, (6, 5, 0)) is None
    assert floor_under(yard, (0, -1, 0)) is None


def test_floors_count_on_seams_corners_and_slopes_but_not_on_walls() -> None:
    scene = scene_of([made("ramp", (2, 2, 4))])
    assert floor_under(scene, (0, 9, 0)) == pytest.approx(1)  # halfway up
    assert floor_under(scene, (1, 9, -2)) == pytest.approx(2)  # its corner
    steep = scene_of([made("ramp", (2, 8, 4))])
    assert floor_under(steep, (0, 9, 0)) == pytest.approx(0)  # 63 degrees is no floor; its base is
    two = scene_of([box_node("a", (0, 0, 0), (2, 1, 2)), box_node("b", (2, 0, 0), (2, 1, 2))])
    assert floor_under(two, (1, 5, 0.3)) == pytest.approx(1)


def test_floors_agree_with_an_independent_ray_caster() -> None:
    node = made("sphere", (4, 3, 5), (1, 0, 2))
    mesh = trimesh.Trimesh(node.vertices, node.faces, process=False)
    scene = scene_of([node])
    rng = np.random.default_rng(5)
    spots = rng.uniform((-1, 10, -0.5), (3, 10, 4.5), (40, 3))
    hits = 0
    for spot in spots:
        points, _, faces = mesh.ray.intersects_location([spot], [[0, -1, 0]])
        level = np.abs(mesh.face_normals[faces][:, 1]) > np.cos(np.radians(50)) if len(faces) else []
        wanted = points[level][:, 1].max() if np.any(level) else None
        found = floor_under(scene, spot)
        assert (found is None) == (wanted is None)
        if wanted is not None:
            hits += 1
            assert found == pytest.approx(wanted, abs=1e-4)
    assert hits > 15


@pytest.mark.parametrize("shape", SHAPES)
def test_inside_agrees_with_an_independent_library(shape: str) -> None:
    node = made(shape, (2, 3, 4), (1, 2, 3))
    mesh = trimesh.Trimesh(node.vertices, node.faces, process=False)
    low, high = node.bounds
    points = np.random.default_rng(3).uniform(low - 0.5, high + 0.5, (60, 3))
    wanted = mesh.contains(points)
    assert 5 < wanted.sum() < 55
    assert [is_inside(node, point) for point in points] == wanted.tolist()


def test_inside_is_robust_on_the_diagonals_of_a_box() -> None:
    node = box_node("crate", (0, 0, 0), (2, 2, 2))
    assert is_inside(node, (0, 1, 0))
    assert is_inside(node, (0.999, 1.999, 0.999))
    assert not is_inside(node, (0, 2.001, 0))
    assert not is_inside(Node("wall", node.vertices, node.faces, closed=False), (0, 1, 0))
