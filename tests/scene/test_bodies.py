"""The stand-in's shapes: by the proportions that they are made to, and by trimesh."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from stationpoint.scene.bodies import body, body_size_m
from stationpoint.scene.edit import moved_node, stand_in

SIZES = {"quadruped": (0.6, 1.5, 2.2), "vehicle": (1.8, 1.5, 4.2)}
SHAPES = ("figure", "capsule", "quadruped", "vehicle")


def _made(shape: str, height_m: float = 2.0) -> trimesh.Trimesh:
    vertices, faces = body(shape, body_size_m(shape, height_m, SIZES.get(shape)))
    return trimesh.Trimesh(vertices, faces, process=False)


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_is_closed_and_stands_in_the_middle_of_the_size_it_says(shape: str) -> None:
    made = _made(shape)
    assert made.is_watertight
    assert made.is_winding_consistent
    assert all(part.volume > 0 for part in made.split())
    width, height, depth = body_size_m(shape, 2.0, SIZES.get(shape))
    half = [(-width / 2, 0, -depth / 2), (width / 2, height, depth / 2)]
    np.testing.assert_allclose(made.bounds, half, atol=1e-9)


def test_a_figure_grows_with_its_height_and_a_capsule_keeps_its_radius() -> None:
    # By hand: .32 of the stature over the hands; a foot of .152 and two half steps of .02 each.
    assert body_size_m("figure", 1.7) == pytest.approx((0.544, 1.7, 0.3264))
    np.testing.assert_allclose(_made("figure", 1.0).vertices * 1.7, _made("figure", 1.7).vertices, atol=1e-12)
    assert body_size_m("capsule", 1.7) == (0.5, 1.7, 0.5)
    assert body_size_m("capsule", 0.3) == pytest.approx((0.3, 0.3, 0.3))


def _level(height: float) -> np.ndarray:
    """Where a figure 1 m high is cut at a height: x, z of the corners."""
    cut = _made("figure", 1.0).section(plane_origin=(0, height, 0), plane_normal=(0, 1, 0))
    assert cut is not None
    return np.asarray(cut.vertices)[:, [0, 2]]


def test_a_figure_has_the_proportions_of_the_table() -> None:
    # Of the stature: head breadth .09 at its widest (halfway between chin .87 and vertex 1); hips .2;
    # legs apart under the crotch at .47; at the shoulders' height (.82) nothing is wider than .26.
    assert np.ptp(_level(0.935)[:, 0]) == pytest.approx(0.09, rel=0.05)
    hips = _level(0.53)
    assert np.ptp(hips[np.abs(hips[:, 0]) < 0.115, 0]) == pytest.approx(0.2, rel=0.03)
    assert np.abs(_level(0.40)[:, 0]).min() > 0.003
    assert np.ptp(_level(0.80)[:, 0]) == pytest.approx(0.26, rel=0.08)
    assert np.ptp(_level(0.90)[:, 0]) < 0.09  # a neck or a head, no shoulder


@pytest.mark.parametrize("shape", ["figure", "quadruped", "vehicle"])
def test_the_front_differs_from_the_back(shape: str) -> None:
    # The middle of what is drawn from above, without its height, is not the middle of what is in front
    # turned by half: the silhouette from the side is no mirror image of itself.
    made = _made(shape)
    high = made.vertices[:, 1] > 0.8 * made.bounds[1, 1]
    along = made.vertices[high, 2]
    assert abs(along.min() + along.max()) > 0.01 * made.bounds[1, 1]


def test_a_figure_faces_its_heading_and_turns_left_with_it() -> None:
    # Its peak is the foremost point above the eyes: to -Z at 0, to -X a quarter turn to the left.
    for heading, way in ((0, (0, 0, -1)), (90, (-1, 0, 0)), (180, (0, 0, 1))):
        node = stand_in("hopper", (3, 1, 2), 1.7, heading)
        head = node.vertices[node.vertices[:, 1] > 1 + 0.94 * 1.7] - np.array((3, 0, 2), dtype=np.float32)
        ahead = head @ np.array(way, dtype=np.float32)
        assert ahead.max() > -ahead.min() + 0.03


@pytest.mark.parametrize("heading", [0, 33, 90])
def test_a_stand_in_stands_on_the_foot_it_was_given_whatever_its_heading(heading: float) -> None:
    node = stand_in("hopper", (4.2, 0.8, -3), 1.7, heading)
    assert node.foot.tolist() == [4.2, 0.8, -3]
    assert float(node.bounds[0, 1]) == pytest.approx(0.8, abs=1e-6)
    up = np.eye(4)
    up[:3, 3] = (1, 0.5, 0)
    assert moved_node(node, up).foot == pytest.approx([5.2, 1.3, -3])
