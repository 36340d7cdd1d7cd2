"""Convex hulls of points doubled, nearly doubled, on a line, huge and tiny, against shapely and scipy."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from stationpoint.base.geometry.plane import convex_hull, polygon_area, smallest_rectangle

Points = NDArray[np.float64]
ROUNDING = 1e-12  # of the largest coordinate: some thousand roundings of a float64


def ring(count: int) -> Points:
    """Corners of a regular polygon of radius 1."""
    turn = 2 * np.pi * np.arange(count) / count
    return np.column_stack([np.cos(turn), np.sin(turn)])


def nearly(points: Points, how: str, rng: np.random.Generator) -> Points:
    """The points, each with one more beside it or at it."""
    if how == "once":
        return points
    if how == "doubled":
        return np.vstack([points, points])
    if how == "1 ulp off":
        ways = rng.choice([-np.inf, np.inf], points.shape)
        return np.vstack([points, np.nextafter(points, ways), points])
    return np.vstack([points, points * (1.0 + rng.uniform(-1e-9, 1e-9, points.shape))])


HOWS = ("once", "doubled", "1 ulp off", "1e-9 off")


def shaped(kind: str, count: int, rng: np.random.Generator) -> Points:
    if kind == "cloud":
        return rng.normal(size=(count, 2))
    if kind == "ring":
        return ring(count)
    if kind == "grid":
        return rng.integers(0, 9, (count, 2)).astype(float)
    if kind == "line":
        return np.outer(rng.normal(size=count), rng.normal(size=2))
    if kind == "upright":
        return np.column_stack([np.full(count, 0.3), rng.normal(size=count)])
    if kind == "needle":
        return rng.normal(size=(count, 2)) * (1.0, 1e-15)
    return np.repeat(rng.normal(size=(1, 2)), count, axis=0)


KINDS = ("cloud", "ring", "grid", "line", "upright", "needle", "one spot")


@st.composite
def crowds(draw: st.DrawFn) -> Points:
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    points = shaped(draw(st.sampled_from(KINDS)), draw(st.integers(1, 200)), rng)
    points = nearly(points, draw(st.sampled_from(HOWS)), rng)
    points = points + draw(st.sampled_from([0.0, 1.0, 1e3, 1e9])) * rng.normal(size=2)
    return rng.permutation(points * draw(st.sampled_from([1.0, 1e-6, 1e-290, 1e290])))


@pytest.mark.parametrize("how", HOWS)
@pytest.mark.parametrize("count", [3, 40, 700])
def test_ring_of_points_keeps_its_area_however_its_points_are_doubled(count: int, how: str) -> None:
    hull = convex_hull(nearly(ring(count), how, np.random.default_rng(count)))
    # A regular polygon of n corners and radius 1: n / 2 sin(2 pi / n).
    assert polygon_area(hull) == pytest.approx(count / 2 * np.sin(2 * np.pi / count), rel=1e-8)
    if how == "doubled":
        assert len(hull) == count


@given(crowds())
@settings(max_examples=400, deadline=None, derandomize=True)
def test_hull_holds_all_points_and_is_shapelys_within_rounding(points: Points) -> None:
    found = convex_hull(points)
    assert set(map(tuple, found.tolist())) <= set(map(tuple, points.tolist()))
    assert len(np.unique(found, axis=0)) == len(found)
    size = 2.0 ** np.frexp(np.abs(points).max())[1]  # a power of two: dividing by it rounds nothing
    unit, corners = points / size, found / size
    expected = shapely.convex_hull(shapely.MultiPoint(unit))
    ours = shapely.convex_hull(shapely.MultiPoint(corners))
    assert shapely.hausdorff_distance(ours, expected) <= ROUNDING
    assert (polygon_area(corners) if len(corners) > 2 else 0.0) == pytest.approx(expected.area, abs=ROUNDING)
    rectangle = smallest_rectangle(corners)
    assert np.isfinite(rectangle).all()
    assert (rectangle.min(axis=0) <= unit.min(axis=0) + ROUNDING).all()
    assert (rectangle.max(axis=0) >= unit.max(axis=0) - ROUNDING).all()


@given(st.integers(0, 2**32), st.sampled_from(HOWS), st.integers(4, 200))
@settings(max_examples=200, deadline=None, derandomize=True)
def test_hull_of_a_cloud_has_scipys_area_and_girth(seed: int, how: str, count: int) -> None:
    rng = np.random.default_rng(seed)
    points = rng.permutation(nearly(rng.normal(size=(count, 2)), how, rng))
    found, expected = convex_hull(points), ConvexHull(points)
    assert polygon_area(found) == pytest.approx(expected.volume, rel=1e-9)  # of a flat hull, its area
    assert shapely.Polygon(found).length == pytest.approx(expected.area, rel=1e-9)
    assert shapely.Polygon(found).exterior.is_ccw


def test_hull_of_no_points_is_empty() -> None:
    assert convex_hull(np.zeros((0, 2))).shape == (0, 2)
