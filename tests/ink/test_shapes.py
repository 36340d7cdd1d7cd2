"""Shapes and figures against hand geometry."""

from __future__ import annotations

import pickle
from math import hypot, nan

import numpy as np
import pytest

from stationpoint.base.look import INK, PAPER, WHITE
from stationpoint.ink.figures import arrow_head, cut_box, saw_box, zigzag
from stationpoint.ink.shapes import Area, Disc, Group, Halo, Line, Page, Picture, points
from stationpoint.ink.type import text_shape


def test_points_come_as_pairs_from_arrays_and_sequences():
    assert points(np.array([[1, 2], [3, 4]])) == ((1.0, 2.0), (3.0, 4.0))
    assert points([(1, 2)]) == ((1.0, 2.0),)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Line(((0, 0), (nan, 1)), 1.0, INK),
        lambda: Area([((0, 0), (nan, 1), (2, 2))], INK),
        lambda: Disc((nan, 0), 3.0, INK),
    ],
)
def test_shape_with_a_point_that_is_not_finite_is_refused(make):
    with pytest.raises(ValueError, match="not finite"):
        make()


def test_zigzag_of_36_px_has_four_teeth_at_known_places():
    # Period 9: 4 teeth, a peak every 4.5 px, the first one half of that from the start.
    line = zigzag((0, 0), (36, 0), 8, 9)
    assert line[0] == (0, 0)
    assert line[-1] == (36, 0)
    assert len(line) == 10
    assert line[1:3] == ((2.25, 4.0), (6.75, -4.0))


def test_short_zigzag_keeps_its_least_teeth_and_stays_within_its_height():
    line = np.array(zigzag((10, 10), (10, 16), 8, 9))
    assert len(line) == 2 * 4 + 2
    assert np.ptp(line[:, 0]) == pytest.approx(8.0)


def test_zigzag_of_no_length_is_a_point():
    assert zigzag((3, 4), (3, 4), 8, 9) == ((3, 4),)


def test_arrow_head_points_where_it_is_told():
    ((tip, left, right),) = arrow_head((10, 20), (0, -5), 12, 11, INK).rings
    assert tip == (10, 20)
    assert {left[1], right[1]} == {32.0}
    assert hypot(left[0] - right[0], left[1] - right[1]) == pytest.approx(11.0)


def test_boxes_stay_within_their_bounds():
    for ring in (cut_box(1, 2, 30, 20, 5), saw_box(1, 2, 29, 20, 4)):
        corners = np.array(ring)
        assert len(corners) >= 5
        assert corners.min(axis=0) == pytest.approx((1, 2))
        assert corners.max(axis=0)[1] == pytest.approx(20)
        assert corners.max(axis=0)[0] <= 30


def test_picture_in_a_box_of_another_size_is_refused():
    pixels = np.zeros((4, 6, 3), dtype=np.uint8)
    assert Picture((1.4, 2.4, 7.4, 6.4), pixels).pixels is pixels
    with pytest.raises(ValueError, match="another size"):
        Picture((0, 0, 12, 8), pixels)


def test_pages_travel_between_processes():
    shapes = (Line(((0, 0), (1, 1)), 1, INK, Halo(WHITE, 1, 0.8)), text_shape((0, 0), "a", 12.0))
    page = Page((4, 4), PAPER, (Group("cell", (1, 2), shapes, (0, 0, 4, 4)),))
    again = pickle.loads(pickle.dumps(page))
    assert again.shapes[0].shapes == shapes
