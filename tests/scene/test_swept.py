"""A sphere swept through a scene against hand geometry; what holds a point, what a rectangle cuts."""

from __future__ import annotations

from math import cos, radians, sin, sqrt, tan
from time import perf_counter

import numpy as np
import pytest

from readings.made import block, square
from stationpoint.base.geometry.swept import touched
from stationpoint.scene.swept import first_touch, may_be_within, rectangle_cuts, solids_round
from stationpoint.scene.types import Node, Scene


def floor(count: int, high: float = 0.0, size: float = 20.0, tilt_deg: float = 0.0) -> Node:
    """A level sheet of 2 x count x count triangles; tilted: from z = .15 on it falls."""
    at = np.linspace(-size / 2, size / 2, count + 1)
    x, z = np.meshgrid(at, at, indexing="ij")
    y = high - np.maximum(z - 0.15, 0.0) * tan(radians(tilt_deg))
    k = np.arange((count + 1) ** 2).reshape(count + 1, count + 1)
    a, b, c, d = k[:-1, :-1].ravel(), k[1:, :-1].ravel(), k[1:, 1:].ravel(), k[:-1, 1:].ravel()
    faces = np.concatenate([np.stack([a, c, b], 1), np.stack([a, d, c], 1)])
    corners = np.stack([x.ravel(), y.ravel(), z.ravel()], 1)
    return Node("floor", corners.astype(np.float32), faces, closed=False)


def swept(
    *nodes: Node, to: tuple[float, float, float], radius: float = 0.5, but: tuple[str, ...] = ()
) -> tuple[float, str | None]:
    return first_touch(Scene(nodes), (0, 0, 0), to, radius, but)


def test_sphere_meets_a_wall_one_radius_before_it_from_either_side() -> None:
    ahead, behind = square("wall", (-2, 2), (-2, 2), 3), square("wall", (-2, 2), (-2, 2), -3)
    assert swept(ahead, to=(0, 0, 5)) == (pytest.approx(2.5), "wall")
    assert swept(behind, to=(0, 0, -5)) == (pytest.approx(2.5), "wall")


def test_sphere_meets_an_edge_and_a_corner_where_its_centre_is_one_radius_off() -> None:
    # Edge along x at y = .3, z = 3: the centre, at y = 0, is .5 off it at z = 3 - sqrt(.25 - .09) = 2.6.
    above = block("ledge", (0, 0.3, 5), (8, 2, 4))
    assert swept(above, to=(0, 0, 5)) == (pytest.approx(2.6, abs=1e-6), "ledge")
    # Corner at (.3, .3, 3): 3 - sqrt(.25 - .18).
    aside = block("ledge", (2.3, 0.3, 5), (4, 2, 4))
    assert swept(aside, to=(0, 0, 5)) == (pytest.approx(3 - sqrt(0.07), abs=1e-6), "ledge")
    # One more: .36 and .36 aside make .509, past which a sphere of .5 m goes.
    past = block("ledge", (2.36, 0.36, 5), (4, 2, 4))
    assert swept(past, to=(0, 0, 5)) == (5.0, None)


def test_span_of_touching_is_that_of_distances_measured_along_the_way() -> None:
    # Against the nearest point of each triangle, by another function, every millimetre.
    from stationpoint.base.geometry.nearest import nearest_on_triangles

    rng = np.random.default_rng(4)
    corners = rng.uniform(-2, 2, (60, 3, 3)) + np.array([0.0, 0.0, 3.0])
    way = np.array([0.1, -0.2, 1.0]) / np.linalg.norm([0.1, -0.2, 1.0])
    first, last = touched(np.zeros(3), way, 0.4, corners)
    at = np.arange(-8.0, 12.0, 1e-3)[:, None] * way
    for k, triangle in enumerate(corners):
        near = np.linalg.norm(nearest_on_triangles(at, triangle[None]) - at, axis=1) <= 0.4
        if not near.any():
            assert last[k] - first[k] < 2e-3
            continue
        spots = np.flatnonzero(near) * 1e-3 - 8.0
        assert (first[k], last[k]) == (pytest.approx(spots[0], abs=2e-3), pytest.approx(spots[-1], abs=2e-3))


@pytest.mark.parametrize("pitch", [0, 2, 20, 80])
@pytest.mark.parametrize("high", [0.0, -0.1])
def test_floor_of_many_triangles_blocks_nothing_that_starts_on_it(pitch: float, high: float) -> None:
    to = (0.3, 8 * sin(radians(pitch)), 8 * cos(radians(pitch)))
    assert swept(floor(64, high), to=to, radius=0.13)[1] is None


def test_slope_that_falls_away_blocks_nothing_and_one_that_rises_does() -> None:
    to = (0.0, 8 * sin(radians(20)), 8 * cos(radians(20)))
    assert swept(floor(64, tilt_deg=15), to=to, radius=0.13)[1] is None
    assert swept(floor(64, tilt_deg=-28), to=to, radius=0.13)[1] == "floor"


def test_floor_that_is_met_later_blocks() -> None:
    # From 2 m up, 30 degrees down, a floor: (2 - .5) / sin 30 = 3 m.
    found = first_touch(Scene((floor(64),)), (0, 2, 0), (0, -2, 4 * sqrt(3)), 0.5)
    assert found == (pytest.approx(3.0, abs=1e-5), "floor")


def test_wall_on_the_floor_that_is_near_the_start_still_blocks() -> None:
    # The sphere has not left the floor yet: .3 - .13 m.
    wall = square("wall", (-2, 2), (-1, 2), 0.3)
    assert swept(floor(64), wall, to=(0, 0, 5), radius=0.13) == (pytest.approx(0.17, abs=1e-6), "wall")


def test_what_is_touched_at_the_start_is_left_first() -> None:
    # A wall .2 m behind the start is within .5 m of it; the next one, 3 m off, counts.
    near, next_one = square("near", (-2, 2), (-2, 2), 0.2), square("next", (-2, 2), (-2, 2), 3)
    assert swept(near, next_one, to=(0, 0, 5)) == (pytest.approx(2.5), "next")


def test_named_nodes_are_looked_past_and_the_first_of_several_counts() -> None:
    glass, wall = square("glass", (-2, 2), (-2, 2), 2), square("wall", (-2, 2), (-2, 2), 3)
    assert swept(wall, glass, to=(0, 0, 5)) == (pytest.approx(1.5), "glass")
    assert swept(wall, glass, to=(0, 0, 5), but=("glass",)) == (pytest.approx(2.5), "wall")


def test_open_backs_block_only_where_the_end_sees_their_front() -> None:
    ahead = square("wall", (-2, 2), (-2, 2), 3)  # faces +z, so that an end beyond it sees its front
    open_back = Node("wall", ahead.vertices, ahead.faces, closed=False, backs_open=True)
    turned = Node("wall", ahead.vertices, ahead.faces[:, ::-1], closed=False, backs_open=True)
    assert swept(open_back, to=(0, 0, 5))[1] == "wall"
    assert swept(turned, to=(0, 0, 5))[1] is None


def test_rectangle_cuts_what_it_crosses_and_no_more() -> None:
    # 2 x 1 m at z = 0, round the origin; a wall across x = .9, then x = 1.1; then one before it.
    def cuts(node: Node) -> bool:
        return rectangle_cuts(Scene((node,)), (0, 0, 0), (1, 0, 0), (0, 0.5, 0))

    assert cuts(block("wall", (1.9, -1, 0), (2, 2, 2)))
    assert not cuts(block("wall", (2.1, -1, 0), (2, 2, 2)))
    assert not cuts(block("wall", (0, -1, 2), (4, 2, 3.9)))
    assert cuts(block("pin", (0.3, -0.1, 0), (0.01, 0.2, 0.3)))  # inside it throughout
    assert not cuts(block("room", (0, -5, 0), (10, 10, 10)))  # it lies in the midst of


def test_closed_solids_hold_a_point_and_open_ones_cannot_say() -> None:
    box = block("box", (0, -1, 0), (2, 2, 2))
    shell = Node("shell", box.vertices, box.faces[2:], closed=False)  # a side is missing
    assert solids_round(Scene((box, shell)), (0, 0, 0)) == ("box",)
    assert solids_round(Scene((box,)), (0, 0, 3)) == ()
    assert may_be_within(Scene((shell,)), (0, 0, 0))
    assert not may_be_within(Scene((box,)), (0, 0, 0))
    assert not may_be_within(Scene((shell,)), (0, 0, 3))


def test_open_sheets_that_stand_round_about_but_not_on_any_ray_hold_no_point() -> None:
    # Its bounds hold the origin; two small squares in far corners are on none of the three rays.
    one, other = square("one", (4, 5), (-5, -4), 5), square("other", (-5, -4), (4, 5), -5)
    faces = np.concatenate([one.faces, other.faces + 4])
    both = Node("sheets", np.concatenate([one.vertices, other.vertices]), faces, closed=False)
    assert not may_be_within(Scene((both,)), (0, 0, 0))


def test_many_triangles_are_not_all_looked_at() -> None:
    # A floor of 65 000 triangles costs at most 20 times what one of 128 does, where it has 500 times as many.
    small, large = Scene((floor(8),)), Scene((floor(180),))

    def seconds(scene: Scene) -> float:
        first_touch(scene, (0, 1, 0), (0, 3, 6), 0.13)  # the index is made
        times = []
        for _ in range(5):
            start = perf_counter()
            first_touch(scene, (0, 1, 0), (0, 3, 6), 0.13)
            times.append(perf_counter() - start)
        return min(times)

    assert seconds(large) < 20 * seconds(small)
