"""Targets found in the scene: names, hulls, boxes, what lies under a point."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from readings.made import block, body, camera, case, numbers
from stationpoint.base.errors import StudyWrong
from stationpoint.readings.things.things import body_m, hull_points, subject_foot_m, target_objects
from stationpoint.scene.edit import moved_scene
from stationpoint.scene.types import Node, Scene
from stationpoint.scene.under import under


def _cloud(seed: int, kind: str) -> Node:
    rng = np.random.default_rng(seed)
    points = rng.normal(size=(6000, 3)) if kind == "ball" else rng.uniform(-1, 1, (6000, 3)) * (5, 1, 3)
    return Node("cloud", points.astype(np.float32), np.int32([(0, 1, 2)]))


@pytest.mark.parametrize("kind", ["ball", "box"])
@pytest.mark.parametrize("seed", range(3))
def test_points_left_for_the_silhouette_have_the_same_hull(seed: int, kind: str) -> None:
    node = _cloud(seed, kind)
    kept = {tuple(point) for point in hull_points(node)}
    corners = node.vertices[ConvexHull(node.vertices.astype(np.float64)).vertices].astype(np.float64)
    assert len(corners) > 10
    assert all(tuple(corner) in kept for corner in corners)
    assert len(kept) < 0.6 * 6000


def test_flat_mesh_keeps_all_its_points() -> None:
    flat = Node("flat", np.float32([(x, 0, z) for x in range(30) for z in range(30)]), np.int32([(0, 1, 2)]))
    assert len(hull_points(flat)) == 900


def test_target_names_a_node_several_or_none() -> None:
    nodes = (block("crate-1", (0, 0, 0), (1, 1, 1)), block("crate-2", (4, 0, 0), (1, 2, 1)))
    made = case(
        camera(),
        *nodes,
        target=[{"name": "all", "nodes": "crate-*"}, {"name": "box", "at": (0, 1, 0), "size": (2, 3, 4)}],
    )
    both, box = target_objects(made)
    assert both.nodes == ("crate-1", "crate-2")
    np.testing.assert_allclose(both.bounds_m, [(-0.5, 0, -0.5), (4.5, 2, 0.5)])
    np.testing.assert_allclose(both.foot_m, (2.0, 0.0, 0.0))
    assert (box.nodes, box.is_point) == ((), False)
    np.testing.assert_allclose(box.bounds_m, [(-1, 1, -2), (1, 4, 2)])
    with pytest.raises(StudyWrong, match='target "t": the scene has no node "barrel"'):
        target_objects(case(camera(), *nodes, target=[{"name": "t", "node": "barrel"}]))


def test_target_moves_with_its_node() -> None:
    crate = block("crate", (0, 0, 0), (1, 1, 1))
    made = case(camera(), crate, target=[{"name": "t", "node": "crate"}], moves={"crate": (0, 0, -3)})
    assert numbers(made, "targets", "t")["depth_m"] == pytest.approx(
        8 - np.array([0, 0.5, -3]) @ [0, np.sin(np.radians(20)), np.cos(np.radians(20))]
    )


def test_subject_has_the_height_that_is_given_or_its_nodes() -> None:
    hero = block("hero", (1, 0, 2), (1, 2.2, 1))
    assert body_m(case(camera(), hero, subject={"node": "hero"})) == pytest.approx(2.2)
    assert body_m(case(camera(), hero, subject={"node": "hero", "height_m": 2.0})) == 2.0
    assert body_m(case(camera(), hero)) == 1.7
    np.testing.assert_allclose(subject_foot_m(case(camera(), hero, subject={"node": "hero"})), (1, 0, 2))
    np.testing.assert_allclose(subject_foot_m(case(camera(), hero, anchor=(5, 1, 5))), (5, 1, 5))


FLOOR, STEP = block("floor", (0, -1, 0), (8, 1, 8)), block("step", (0, 0, 0), (2, 0.4, 2))
STAIRS = Scene((FLOOR, STEP, body((0, 0.4, 0))))


@pytest.mark.parametrize(
    ("point", "found"),
    [
        ((0, 0.4, 0), ("step", 0.0)),
        ((0, 3.4, 0), ("step", 3.0)),
        ((1, 0.4, 1), ("step", 0.0)),  # on its very corner
        ((3, 0.4, 0), ("floor", 0.4)),
        ((0, 0, 0), ("floor", 0.0)),  # what stands on the point is not under it
        ((9, 1, 0), None),
    ],
)
def test_node_under_a_point(point: tuple[float, ...], found: tuple[str, float] | None) -> None:
    under_it = under(STAIRS, point, ignoring=("subject",))  # type: ignore[arg-type]
    assert (under_it and under_it[0]) == (found and found[0])
    if found is not None and under_it is not None:
        assert under_it[1] == pytest.approx(found[1], abs=1e-6)


def test_node_under_a_point_is_found_as_before_the_place_moved_it() -> None:
    shift = np.eye(4)
    shift[:3, 3] = (10, 2, 0)
    arranged = moved_scene(STAIRS, {"step": shift})
    moves = (("step", tuple(shift.ravel().tolist())),)
    found = under(arranged, (0.0, 0.4, 0.0), moves, ("subject",))
    assert found is not None
    assert found[0] == "step"
    assert found[1] == pytest.approx(0.0, abs=1e-6)
