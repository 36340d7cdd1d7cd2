"""Triangles as the renderers get them: which edges stay sharp, and what is kept of each node."""

from __future__ import annotations

import numpy as np
import pytest

from stationpoint.render.surface import (
    centre_of,
    join_surfaces,
    part_of,
    surface_of,
    surface_of_guests,
    surface_of_scene,
)
from stationpoint.scene.types import Node

from .made import box, drum, ground


def test_box_keeps_its_sharp_edges() -> None:
    surface = surface_of([box("a", (0, 0, 0), (1, 2, 3))], [1], np.zeros(3))
    assert len(surface.normals) == 12
    # Each corner's normal lies along one axis: that of its face.
    assert np.allclose(np.sort(np.abs(surface.normals), axis=2), [0, 0, 1], atol=1e-6)
    assert not surface.round.any()
    inside = surface.corners.mean(axis=1) - np.array([0.5, 1, 1.5])
    assert (np.einsum("ij,ij->i", surface.normals[:, 0], inside) > 0).all()


def test_cylinder_is_round_on_its_side_and_sharp_at_its_rim() -> None:
    # 24 sides of 15 degrees. A side's normals point away from the axis; a cap's straight up or down.
    surface = surface_of([drum("d", radius=2.0, height=1.0, sides=24)], [1], np.zeros(3))
    upright = np.abs(surface.normals[..., 1]) > 0.5
    caps = upright.all(axis=1)
    assert caps.sum() == 48
    assert not upright[~caps].any()
    assert np.allclose(np.abs(surface.normals[caps][..., 1]), 1.0, atol=1e-6)
    at = surface.corners[~caps][..., [0, 2]]
    away = at / np.linalg.norm(at, axis=2, keepdims=True)
    assert np.allclose(surface.normals[~caps][..., [0, 2]], away, atol=1e-5)
    assert surface.round[~caps].all()
    assert not surface.round[caps].any()


def test_prism_of_six_sides_stays_faceted() -> None:
    surface = surface_of([drum("d", radius=2.0, height=1.0, sides=6)], [1], np.zeros(3))  # 60 degrees
    assert not surface.round.any()


def test_nodes_that_touch_are_not_smoothed_together() -> None:
    tilted = Node("b", [(1, 0, 0), (1, 0, 1), (2, 0.2, 0), (2, 0.2, 1)], [(0, 1, 2), (2, 1, 3)])
    flat = Node("a", [(0, 0, 0), (0, 0, 1), (1, 0, 0), (1, 0, 1)], [(0, 1, 2), (2, 1, 3)])
    assert not surface_of([flat, tilted], [1, 2], np.zeros(3)).round.any()
    both = Node("both", [*flat.vertices, *tilted.vertices], [*flat.faces, *(tilted.faces + 4)])
    assert surface_of([both], [1], np.zeros(3)).round.any()  # one node, 11 degrees: one surface


def test_degenerate_triangles_have_finite_normals() -> None:
    node = Node("flat", [(0, 0, 0), (1, 0, 0), (2, 0, 0), (0, 0, 0)], [(0, 1, 2), (0, 3, 1)])
    surface = surface_of([node], [1], np.zeros(3))
    assert np.isfinite(surface.normals).all()


def test_part_and_join_keep_nodes_together() -> None:
    nodes = [ground(), box("a", (0, 0, 0), (1, 1, 1)), drum("d", 1.0, 1.0, 8)]
    surface = surface_of(nodes, [1, 2, 3], np.zeros(3))
    part = part_of(surface, np.array([True, False, True]))
    assert part.ids.tolist() == [1, 3]
    assert np.array_equal(part.corners[part.node == 1], surface.corners[surface.node == 2])
    assert part.starts.tolist() == [0, 2, 34]
    both = join_surfaces(part, surface_of([nodes[1]], [2], np.zeros(3)))
    assert both.ids.tolist() == [1, 3, 2]
    assert both.starts.tolist() == [0, 2, 34, 46]
    assert np.array_equal(both.corners[both.node == 2], surface.corners[surface.node == 1])


@pytest.mark.parametrize(("at", "centre"), [(300.0, 0.0), (4e5, 4e5)])
def test_coordinates_are_counted_from_the_middle_only_far_away(at: float, centre: float) -> None:
    node = box("a", (at - 1, 0, 0), (at + 1, 2, 0))
    assert centre_of([node])[0] == centre


def test_neighbours_of_a_large_node_stand_together_and_doubled_faces_keep_their_order() -> None:
    # By hand: a sheet of 64 x 64 squares of 1 m, all lower halves in the file before all upper ones, then all
    # of it once more wound the other way. 64 triangles that stand together cover some 4 x 4 m, not 64 m.
    k = np.arange(65 * 65).reshape(65, 65)
    a, b, c, d = k[:-1, :-1].ravel(), k[1:, :-1].ravel(), k[1:, 1:].ravel(), k[:-1, 1:].ravel()
    faces = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    x, z = (line.ravel().astype(np.float32) for line in np.meshgrid(np.arange(65), np.arange(65)))
    node = Node("sheet", np.column_stack([x, 0 * x, z]), np.concatenate([faces, faces[:, ::-1]]))
    surface = surface_of_scene((box("before", (0, 0, 0), (1, 1, 1)), node))
    corners = surface.corners[surface.starts[1] :]
    assert len(corners) == len(node.faces)
    blocks = corners.reshape(-1, 64, 3, 3)
    wide_m = blocks.max(axis=(1, 2)) - blocks.min(axis=(1, 2))
    assert np.median(wide_m.max(axis=1)) <= 8.0
    up = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[:, 1] > 0.0
    middles = np.round(corners.sum(axis=1)[:, [0, 2]]).astype(np.int64)
    _, earliest = np.unique(middles, axis=0, return_index=True)
    assert len(earliest) == len(faces)
    way = np.cross(*(node.vertices[faces[0, [1, 2]]] - node.vertices[faces[0, 0]]))[1] > 0.0
    assert (up[earliest] == way).all()


def test_every_corner_of_a_large_round_thing_looks_away_from_its_axis() -> None:
    # A drum of 12 000 sides, 48 000 triangles: on its side each normal points away from the axis.
    surface = surface_of([drum("d", radius=2.0, height=1.0, sides=12_000)], [1], np.zeros(3))
    sides = (np.abs(surface.normals[..., 1]) < 0.5).all(axis=1)
    assert sides.sum() == 24_000
    away = surface.corners[sides][..., [0, 2]] / 2.0
    assert np.allclose(surface.normals[sides][..., [0, 2]], away, atol=2e-3)


def test_guests_have_the_triangles_that_they_have_alone() -> None:
    nodes = box("a", (0, 0, 0), (1, 2, 3)), drum("d", radius=2.0, height=1.0, sides=24)
    together = surface_of_guests(nodes, (7, 9), np.zeros(3))
    at = 0
    for node, number in zip(nodes, (7, 9), strict=True):
        alone = surface_of([node], [number], np.zeros(3))
        here = slice(at, at + len(alone.corners))
        at = here.stop
        assert np.array_equal(together.corners[here], alone.corners)
        assert np.array_equal(together.normals[here], alone.normals)
        assert (together.ids[together.node[here]] == number).all()
    assert at == len(together.corners)
