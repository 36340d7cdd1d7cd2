"""Hulls, rectangles, insides and clipping against OpenCV, shapely and hand geometry."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
import shapely

from stationpoint.base.geometry.plane import (
    clipped,
    convex_hull,
    inside_convex,
    outermost,
    polygon_area,
    smallest_rectangle,
)

SEEDS = range(12)


@pytest.mark.parametrize("count", [3, 8, 60, 100, 700])
@pytest.mark.parametrize("seed", range(4))
def test_hull_is_shapelys(seed: int, count: int) -> None:
    points = np.random.default_rng(seed).normal(size=(count, 2))
    expected = shapely.convex_hull(shapely.MultiPoint(points))
    found = convex_hull(points)
    assert len(found) == len(expected.exterior.coords) - 1
    assert shapely.Polygon(found).equals(expected)
    assert polygon_area(found) == pytest.approx(expected.area)


def test_hull_of_pixel_corners_keeps_only_corners() -> None:
    grid = np.array([(x, y) for x in range(12) for y in range(7)], dtype=float)
    assert sorted(map(tuple, convex_hull(grid))) == [(0, 0), (0, 6), (11, 0), (11, 6)]


@pytest.mark.parametrize("seed", SEEDS)
def test_polygon_of_the_outermost_lies_in_the_hull(seed: int) -> None:
    points = np.random.default_rng(seed).normal(size=(300, 2))
    hull = shapely.convex_hull(shapely.MultiPoint(points))
    found = points[outermost(points)]
    assert hull.buffer(1e-9).contains(shapely.MultiPoint(found))
    assert 0.8 * hull.area < polygon_area(found) <= hull.area + 1e-12


def test_polygon_of_the_outermost_of_a_circle_has_sixteen_even_sides() -> None:
    turns = np.radians(np.arange(0.0, 360.0, 22.5 / 4))
    circle = np.column_stack([np.cos(turns), np.sin(turns)])
    # Sixteen triangles of two sides 1 at an angle of 22.5 degrees: 16 sin(22.5) / 2 = 3.0614675.
    assert polygon_area(circle[outermost(circle)]) == pytest.approx(3.0614675)


@pytest.mark.parametrize("points", [[(1, 2)], [(1, 2), (1, 2)], [(0, 0), (2, 2), (1, 1)]])
def test_hull_of_points_without_area_has_their_ends(points: list[tuple[float, float]]) -> None:
    found = convex_hull(np.array(points, dtype=float))
    assert sorted(map(tuple, found)) == sorted({points[0], max(points)})
    assert len(smallest_rectangle(found)) == 4


@pytest.mark.parametrize("seed", SEEDS)
def test_smallest_rectangle_is_opencvs(seed: int) -> None:
    points = np.random.default_rng(seed).normal(size=(40, 2)) * (30, 7)
    corners = smallest_rectangle(convex_hull(points))
    (_, sides, _) = cv2.minAreaRect(points.astype(np.float32))
    found = sorted([np.linalg.norm(corners[1] - corners[0]), np.linalg.norm(corners[2] - corners[1])])
    assert found == pytest.approx(sorted(sides), rel=1e-4)
    assert shapely.Polygon(corners).buffer(1e-9).covers(shapely.MultiPoint(points))


@pytest.mark.parametrize("seed", SEEDS)
def test_points_inside_a_hull_are_shapelys_whichever_way_it_turns(seed: int) -> None:
    rng = np.random.default_rng(seed)
    ring = convex_hull(rng.normal(size=(20, 2)))
    points = rng.normal(size=(6, 50, 2))
    expected = shapely.contains_xy(shapely.Polygon(ring), points[..., 0], points[..., 1])
    assert (inside_convex(ring, points) == expected).all()
    assert (inside_convex(ring[::-1], points) == expected).all()


def test_a_polygons_edge_belongs_to_it() -> None:
    square = np.array([(0, 0), (2, 0), (2, 2), (0, 2)], dtype=float)
    assert inside_convex(square, np.array([(2, 1), (0, 0), (3, 1)], dtype=float)).tolist() == [
        True,
        True,
        False,
    ]


def test_stroke_and_line_are_clipped_where_they_leave_the_box() -> None:
    # from (-10, 0) to (110, 120): enters at (0, 10), leaves at (90, 100)
    start, end, box = np.array([-10.0, 0.0]), np.array([110.0, 120.0]), (100.0, 100.0)
    for found in (clipped(start, end, box), clipped(start, end, box, endless=True)):
        assert found is not None
        assert found[0] == pytest.approx([0.0, 10.0])
        assert found[1] == pytest.approx([90.0, 100.0])
    assert clipped(np.array([0.0, -5.0]), np.array([100.0, -5.0]), box) is None
    inner, edge = np.array([20.0, 50.0]), np.array([40.0, 50.0])
    assert [part.tolist() for part in clipped(inner, edge, box) or ()] == [[20, 50], [40, 50]]
    assert [part.tolist() for part in clipped(inner, edge, box, endless=True) or ()] == [[0, 50], [100, 50]]
