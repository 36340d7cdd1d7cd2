"""Runs, pieces and outlines of masks against scipy and shapely; counts of ids against numpy."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scipy import ndimage

from stationpoint.base.geometry.pixels import hull_of_runs, id_counts, largest_piece, outline

SEEDS = range(12)


def _speckle(seed: int) -> NDArray[np.bool_]:
    """A mask from single pixels to winding masses."""
    rng = np.random.default_rng(seed)
    return rng.random((rng.integers(1, 60), rng.integers(1, 60))) < rng.uniform(0.05, 0.9)


def _polygons(edges: NDArray[np.float64]) -> list[shapely.Polygon]:
    parts = np.split(edges, np.flatnonzero(np.isnan(edges[:, 0])))
    return [shapely.Polygon(part[~np.isnan(part[:, 0])]) for part in parts]


@pytest.mark.parametrize("seed", SEEDS)
def test_largest_piece_is_the_largest_label_of_scipy(seed: int) -> None:
    mask = _speckle(seed)
    labels, count = ndimage.label(mask, structure=np.ones((3, 3)))
    assert count > 0
    sizes = np.bincount(labels.ravel())[1:]
    rows, starts, ends = largest_piece(mask)
    assert (ends - starts).sum() == sizes.max()
    piece = np.zeros_like(mask)
    for row, start, end in zip(rows, starts, ends, strict=True):
        piece[row, start:end] = True
    number = labels[rows[0], starts[0]]
    np.testing.assert_array_equal(piece, labels == number)


def test_spiral_is_one_piece() -> None:
    mask = np.zeros((41, 41), dtype=bool)
    at, way, length = np.array([20, 20]), np.array([0, 1]), 2
    while True:
        for _ in range(2):
            for _ in range(length):
                if not (0 <= at[0] < 41 and 0 <= at[1] < 41):
                    _, starts, ends = largest_piece(mask)
                    assert (ends - starts).sum() == mask.sum() > 400
                    assert ndimage.label(mask, structure=np.ones((3, 3)))[1] == 1
                    return
                mask[tuple(at)] = True
                at = at + way
            way = np.array([way[1], -way[0]])
        length += 2


def test_pieces_touch_at_corners() -> None:
    rows, starts, ends = largest_piece(np.eye(5, dtype=bool))
    assert (rows.tolist(), starts.tolist(), ends.tolist()) == (
        [0, 1, 2, 3, 4],
        [0, 1, 2, 3, 4],
        [1, 2, 3, 4, 5],
    )


def test_empty_mask_has_no_piece_and_no_outline() -> None:
    assert [len(part) for part in largest_piece(np.zeros((4, 5), dtype=bool))] == [0, 0, 0]
    assert outline(np.zeros((4, 5), dtype=bool)).shape == (0, 2)


@pytest.mark.parametrize("seed", SEEDS)
def test_hull_of_runs_is_the_hull_of_the_pixels_squares(seed: int) -> None:
    mask = _speckle(seed)
    rows, starts, ends = largest_piece(mask)
    squares = [
        shapely.box(x, y, x + 1, y + 1)
        for y, a, b in zip(rows, starts, ends, strict=True)
        for x in range(a, b)
    ]
    expected = shapely.convex_hull(shapely.union_all(squares))
    hull = hull_of_runs(rows, starts, ends)
    assert shapely.Polygon(hull).equals(expected)
    assert len(hull) == len(expected.exterior.coords) - 1  # none on a side, none twice


def test_hull_of_one_pixel_is_its_square() -> None:
    one = np.array([3]), np.array([5]), np.array([6])
    assert {tuple(corner) for corner in hull_of_runs(*one)} == {(5, 3), (6, 3), (6, 4), (5, 4)}


@pytest.mark.parametrize("seed", SEEDS)
def test_pixels_of_each_number_are_counted_as_one_by_one(seed: int) -> None:
    plane = np.random.default_rng(seed).integers(0, 9, (seed + 1, 7)).astype(np.uint32)
    assert id_counts(plane, 12).tolist() == [sum(int(one) == k for one in plane.ravel()) for k in range(12)]


def test_outline_of_a_block_runs_round_it_with_cut_corners() -> None:
    mask = np.zeros((10, 12), dtype=bool)
    mask[2:7, 3:9] = True
    (block,) = _polygons(outline(mask))
    assert block.bounds == (3, 2, 9, 7)
    assert block.area == pytest.approx(5 * 6 - 4 * 0.125)


@pytest.mark.parametrize("seed", SEEDS)
def test_outlines_part_what_is_in_from_what_is_out(seed: int) -> None:
    mask = ndimage.binary_opening(np.pad(ndimage.zoom(_speckle(seed).astype(float), 4, order=1) > 0.5, 2))
    if not mask.any():
        mask[3:6, 3:6] = True
    area = shapely.Polygon()
    for ring in _polygons(outline(mask)):
        area = shapely.symmetric_difference(area, shapely.make_valid(ring))
    y, x = np.mgrid[0 : mask.shape[0], 0 : mask.shape[1]] + 0.5
    np.testing.assert_array_equal(shapely.contains_xy(area, x, y), mask)


@pytest.mark.parametrize("seed", SEEDS)
def test_pixels_of_each_id_are_as_many_as_numpy_counts(seed: int) -> None:
    rng = np.random.default_rng(seed)
    ids = rng.integers(0, 1 + seed, (1 + seed, 7)).repeat(1 + seed % 4, axis=1).astype(np.uint32)
    for least in (0, 5, 40):
        assert id_counts(ids, least).tolist() == np.bincount(ids.ravel(), minlength=least).tolist()
