"""Walkable surfaces by hand: which nodes count, what is one flight, what is too small to stand on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from readings.made import block, body, camera, case
from stationpoint.base.geometry.columns import heights_over, step_by_step
from stationpoint.base.geometry.linked import linked
from stationpoint.base.geometry.nearest import (
    joined_blocks,
    nearest_face,
    nearest_on_triangles,
    triangle_blocks,
)
from stationpoint.readings.contacts.surfaces import surfaces
from stationpoint.readings.types import Case
from stationpoint.scene.solids import solid
from stationpoint.scene.types import Node

VIEW = camera("orthographic", pitch=30, height=12)


def _mesh(node: Node, name: str | None = None) -> Node:
    """The same as a node of a mesh that says nothing of it."""
    return replace(node, kind="mesh", walkable=False, name=name or node.name)


def _one_mesh(name: str, *nodes: Node) -> Node:
    starts = np.cumsum([0] + [len(node.vertices) for node in nodes])
    vertices = np.concatenate([node.vertices for node in nodes])
    faces = np.concatenate([node.faces + start for node, start in zip(nodes, starts, strict=False)])
    return Node(name, vertices, faces.astype(np.int32), kind="mesh", closed=True)


def _names(made: Case) -> list[str]:
    return sorted(surfaces(made).names)


def _areas(made: Case) -> list[float]:
    found = []
    for faces in surfaces(made).faces:
        sides = np.cross(faces[:, 1] - faces[:, 0], faces[:, 2] - faces[:, 0])
        found.append(float(np.linalg.norm(sides, axis=1).sum() / 2))
    return sorted(found)


# ---- which count ------------------------------------------------------------------------------------


def test_solids_count_by_their_key() -> None:
    no = replace(block("no", (5, 0, 0), (2, 1, 2)), walkable=False)
    assert _names(case(VIEW, block("yes", (0, 0, 0), (2, 1, 2)), no)) == ["yes"]


def test_once_a_mesh_says_what_is_walkable_that_alone_counts_of_meshes() -> None:
    said = replace(block("FLOOR.01", (0, -1, 0), (9, 1, 9)), kind="mesh")
    lamp = _mesh(block("LAMP", (0, 2, 0), (1, 0.2, 1)))
    made = case(VIEW, said, lamp, body((0, 0, 0)), target=[{"name": "lamp", "node": "LAMP"}])
    assert _names(made) == ["FLOOR.01"]


def test_of_meshes_that_say_nothing_only_what_the_study_names_counts() -> None:
    deck = _one_mesh("deck", block("a", (0, -1, 0), (4, 1, 4)), block("b", (9, -1, 0), (4, 1, 4)))
    others = [_mesh(block(name, (0, 5, z), (4, 1, 3))) for name, z in (("shelf", -8), ("goal", -14))]
    isle = _mesh(block("isle", (0, -1, 9), (4, 1, 4)))
    ledge, far = _mesh(block("ledge", (20, 0, 0), (4, 1, 4))), _mesh(block("far", (30, 0, 0), (4, 1, 4)))
    made = case(
        VIEW, deck, *others, isle, ledge, far, body((0, 0, 0)),
        subject={"at": (0, 0, 0)},
        place=[{"name": "isle", "at": (0, 0, 9)}],
        gap=[{"name": "hop", "from": (21.9, 1, 0), "to": (28.1, 1, 0)}],
        target=[{"name": "goal", "node": "goal"}],
    )  # fmt: skip
    assert _names(made) == ["deck", "far", "goal", "isle", "ledge"]
    # Of the deck the half that the subject stands on, 4 x 4 m; the goal's top is 4 x 3 m.
    assert _areas(made) == pytest.approx([12, 16, 16, 16, 16])
    those = surfaces(made)
    # What the subject or a take-off stands on: where ways begin.
    assert sorted(name for name, starts in zip(those.names, those.starts, strict=True) if starts) == [
        "deck",
        "ledge",
    ]


def test_a_foot_over_a_void_or_on_a_solid_adds_no_surface_of_a_mesh() -> None:
    floor = _mesh(block("floor", (0, -1, 0), (9, 1, 9)))
    crate = block("crate", (0, 0, 0), (2, 1, 2))
    on_crate = case(VIEW, floor, crate, body((0, 1, 0)), subject={"at": (0, 1, 0)})
    assert _names(on_crate) == ["crate"]
    assert _names(case(VIEW, floor, body((50, 1, 0)), subject={"at": (50, 1, 0)})) == []


def test_the_subject_is_no_surface_even_as_a_node_of_its_own() -> None:
    hero = replace(block("hero", (0, 0, 0), (1, 1, 1)), kind="mesh")
    floor = replace(block("floor", (0, -1, 0), (9, 1, 9)), kind="mesh")
    assert _names(case(VIEW, floor, hero, subject={"node": "hero"})) == ["floor"]


@pytest.mark.parametrize(("side_m", "count"), [(0.49, 0), (0.51, 1)])
def test_surface_is_a_bodys_footprint_at_least(side_m: float, count: int) -> None:
    # 0.49^2 = 0.24 m2, 0.51^2 = 0.26 m2.
    assert len(_names(case(VIEW, block("post", (0, 0, 0), (side_m, 1, side_m))))) == count


# ---- one flight -------------------------------------------------------------------------------------


def _treads(rise: float, deep: float, count: int = 6, wide: float = 1.2, turn: float = 0.0) -> list[Node]:
    """Boxes from the ground up, one behind the other."""
    found = []
    for k in range(count):
        vertices, faces = solid("box", (wide, rise * (k + 1), deep), (0, 0, 0), 0.0)
        vertices = vertices - (0, 0, deep * k)
        c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        x, y, z = vertices.T
        turned = np.column_stack([c * x + s * z, y, c * z - s * x]).astype(np.float32)
        found.append(Node(f"tread {chr(97 + k)}", turned, faces, kind="box", walkable=True))
    return found


@pytest.mark.parametrize("turn", [0.0, 33.0])
@pytest.mark.parametrize(("rise", "count"), [(0.18, 1), (0.5, 1), (0.53, 6)])
def test_treads_a_step_apart_are_one_flight(rise: float, count: int, turn: float) -> None:
    # A step is 0.3 of a body of 1.7 m: 0.51 m.
    made = case(VIEW, *_treads(rise, 0.3, turn=turn))
    assert len(_names(made)) == count


def test_stairs_are_one_surface_and_what_they_lead_to_is_another() -> None:
    vertices, faces = solid("stairs", (1.6, 1.5, 2.4), (0, 0, 0), 0.0, 8)
    stairs = Node("stairs", vertices.astype(np.float32), faces, kind="stairs", walkable=True)
    floor, roof = block("floor", (0, -1, 0), (20, 1, 20)), block("roof", (0, 0.5, -5), (4, 1, 4))
    made = case(VIEW, stairs, floor, roof)
    assert _names(made) == ["floor", "roof", "stairs"]
    # 8 treads of 1.6 x 0.3 m.
    assert _areas(made)[0] == pytest.approx(1.6 * 2.4)


def test_two_floors_of_one_mesh_are_two_surfaces_and_a_dais_is_part_of_its_floor() -> None:
    lower = block("lower", (0, -1, 0), (8, 1, 8))
    dais, upper = block("dais", (0, 0, 0), (3, 0.4, 3)), block("upper", (0, 3, 0), (8, 0.3, 8))
    level = replace(_one_mesh("level", lower, dais, upper), walkable=True)
    made = case(VIEW, level)
    assert _names(made) == ["level", "level"]
    assert _areas(made) == pytest.approx([64, 64 + 9])


def _tile(name: str, x: Sequence[float], heights: Sequence[float]) -> Node:
    """A strip along x, 4 m wide, its corners at those heights."""
    vertices = np.array([(a, h, z) for a, h in zip(x, heights, strict=True) for z in (2.0, -2.0)])
    k = 2 * np.arange(len(x) - 1)
    faces = np.concatenate([np.column_stack([k, k + 2, k + 1]), np.column_stack([k + 2, k + 3, k + 1])])
    return Node(name, vertices.astype(np.float32), faces.astype(np.int32), walkable=True, closed=False)


def test_tiles_of_a_terrain_that_go_on_as_one_ground_are_one_surface() -> None:
    # A hill of three tiles, 10 degrees up, level, 10 degrees down: 4 tan 10 = 0.705 m.
    hill = [
        _tile("west", (-6, -2), (0, 0.705)),
        _tile("crest", (-2, 2), (0.705, 0.705)),
        _tile("east", (2, 6), (0.705, 0)),
    ]
    assert len(_names(case(VIEW, *hill))) == 1


def test_ramp_is_a_surface_of_its_own_beside_what_it_joins() -> None:
    # 20 degrees steep: 4 tan 20 = 1.456 m.
    way = [
        _tile("low", (-6, -2), (0, 0)),
        _tile("ramp", (-2, 2), (0, 1.456)),
        _tile("high", (2, 6), [1.456] * 2),
    ]
    assert len(_names(case(VIEW, *way))) == 3


def test_surfaces_are_worked_out_once_a_scene() -> None:
    made = case(VIEW, block("a", (0, 0, 0), (2, 1, 2)), subject={"at": (0, 1, 0)})
    assert surfaces(made) is surfaces(replace(made, variant=replace(made.variant, label="B1")))


# ---- what that rests on ---------------------------------------------------------------------------


def test_what_is_joined_in_pairs_hangs_together() -> None:
    # A path through all odd numbers, from its far end; even ones alone.
    odd = np.arange(1, 2001, 2)[::-1]
    groups = linked(2001, odd[:-1], odd[1:])
    assert len(set(groups[1::2].tolist())) == 1
    assert len(set(groups.tolist())) == 1 + 1001
    assert linked(4, np.array([0]), np.array([2])).tolist() == [0, 1, 0, 2]


def test_heights_over_a_slope_and_a_flat_triangle_above_it() -> None:
    # y = x / 2 over the square of 4 m, and y = 3 over half of it, x + z < 4.
    slope = [[(0, 0, 0), (0, 0, 4), (4, 2, 0)], [(4, 2, 4), (4, 2, 0), (0, 0, 4)]]
    flat, wall = [(0, 3, 0), (0, 3, 4), (4, 3, 0)], [(1, 0, 0), (1, 5, 4), (1, 0, 4)]
    corners = np.array([*slope, flat, wall], dtype=float)
    spot, height, face = heights_over(corners, np.array([0.5, 2.6]), np.array([1.0, 3.0]))
    found = sorted((int(a), round(float(b), 6), int(c)) for a, b, c in zip(spot, height, face, strict=True))
    assert found == [
        (0, 0.25, 0), (0, 3.0, 2), (1, 0.25, 0), (1, 3.0, 2), (2, 1.3, 0), (2, 3.0, 2), (3, 1.3, 1),
    ]  # fmt: skip


def test_pairs_a_step_apart_at_a_spot_or_beside_it() -> None:
    # Spots in rows of three; owner 2 lies over 0 by 0.4, 1 beside 0 by 0.3, 3 is two spots from 0.
    spot, height = np.array([0, 0, 1, 2, 0]), np.array([0.0, 0.4, 0.3, 0.0, 2.0])
    first, second = step_by_step(spot, height, np.array([0, 2, 1, 3, 4]), 3, 0.5)
    pairs = {frozenset(pair) for pair in zip(first.tolist(), second.tolist(), strict=True)}
    assert pairs == {frozenset(pair) for pair in ((0, 2), (0, 1), (1, 2), (1, 3))}


def test_nearest_of_many_faces_is_that_of_a_plain_search_as_far_as_is_looked() -> None:
    rng = np.random.default_rng(11)
    corners = rng.uniform(-5, 5, (3000, 1, 3)) + rng.uniform(-0.3, 0.3, (3000, 3, 3))
    points = rng.uniform(-6, 6, (200, 3))
    plain = np.linalg.norm(nearest_on_triangles(points[:, None], corners[None]) - points[:, None], axis=2)
    at, face = nearest_face(triangle_blocks(corners), points)
    assert np.linalg.norm(at - points, axis=1) == pytest.approx(plain.min(axis=1))
    assert plain[np.arange(200), face] == pytest.approx(plain.min(axis=1))
    near, _ = nearest_face(triangle_blocks(corners), points, 0.4)
    away, is_near = np.linalg.norm(near - points, axis=1), plain.min(axis=1) < 0.4
    assert 20 < is_near.sum() < 180
    assert away[is_near] == pytest.approx(plain.min(axis=1)[is_near])
    assert (away[~is_near] >= 0.4).all()
    # Of three sets of faces at once, each point is asked of one.
    starts = np.array([0, 900, 1000, 3000])
    joined, part = joined_blocks([corners[a:b] for a, b in pairwise(starts)]), rng.integers(0, 3, 200)
    at, face = nearest_face(joined, points, part=part)
    others = (np.arange(3000) < starts[part][:, None]) | (np.arange(3000) >= starts[part + 1][:, None])
    least = np.where(others, np.inf, plain).min(axis=1)
    assert np.linalg.norm(at - points, axis=1) == pytest.approx(least)
    assert plain[np.arange(200), face] == pytest.approx(least)
