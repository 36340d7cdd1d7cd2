"""False contacts and breaks: threads with crosses and bars, and the one black label."""

from __future__ import annotations

import numpy as np
import pytest

from sheet.made import overlap, owners, results, study, with_contacts
from stationpoint.base.look import CLAY, INK, WHITE
from stationpoint.ink.paint_png import paint_rows
from stationpoint.ink.shapes import Area, Box, Line, Page, Shape, Text
from stationpoint.sheet.marks import draw_marks
from stationpoint.sheet.marks.contact import bars, evenly, stitches
from stationpoint.sheet.marks.drawing import Drawing, drawing
from stationpoint.sheet.scale import scale_for

SCALE = scale_for(544)
WAY = np.array([[0.0, 50.0], [155.0, 50.0]])


def look(count: int = 1, breaks: int = 0, close_up: bool = False) -> Drawing:
    """The drawing of a result with so many of each."""
    those = study()
    return drawing(with_contacts(results(those)[0], count, breaks), those, SCALE, owners(those), close_up)


def white(shapes: list[Shape]) -> list[Line]:
    return [shape for shape in shapes if isinstance(shape, Line) and shape.ink == WHITE]


def black(shapes: list[Shape]) -> list[Box]:
    """The boxes of filled black labels."""
    rings = [shape.rings[0] for shape in shapes if isinstance(shape, Area) and shape.fill == INK]
    return [(r[0][0], r[0][1], r[2][0], r[2][1]) for r in rings if len(r) == 4 and r[2][0] - r[0][0] > 60]


def said(shapes: list[Shape]) -> list[str]:
    return [shape.words for shape in shapes if isinstance(shape, Text)]


def test_crosses_of_9_by_12_px_stand_every_15_5_px_over_the_whole_length() -> None:
    shapes = stitches(WAY, SCALE)
    thread = shapes[0]
    assert isinstance(thread, Line)
    assert (thread.ink, thread.width_px) == (INK, 2.0)
    assert thread.points_px == ((0.0, 50.0), (155.0, 50.0))
    arms = white(shapes)
    assert len(arms) == 2 * 10  # 155 / 15.5 crosses of two arms
    assert {arm.width_px for arm in arms} == {2.5}
    middles = sorted({round(float(np.mean([x for x, _ in arm.points_px])), 3) for arm in arms})
    assert middles == pytest.approx([7.75 + 15.5 * k for k in range(10)])
    spans = [np.ptp(np.array(arm.points_px), axis=0) for arm in arms]
    assert all(span == pytest.approx([9.0, 12.0]) for span in spans)
    under = [s for s in shapes if isinstance(s, Line) and s.ink == INK and s is not thread]
    assert len(under) == 20
    assert all(line.width_px >= 5 for line in under)


def test_bars_stand_across_the_thread() -> None:
    found = white(bars(WAY, SCALE))
    assert len(found) == 10
    assert all(np.ptp(np.array(bar.points_px), axis=0) == pytest.approx([0.0, 12.0]) for bar in found)


def test_points_are_evenly_spaced_round_a_corner() -> None:
    # 30 + 40 px in steps of about 20: four, 17.5 px apart, the first half a step in
    found = evenly(np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 40.0]]), 20.0)
    assert found == pytest.approx(np.array([[8.75, 0.0], [26.25, 0.0], [30.0, 13.75], [30.0, 31.25]]))


def test_label_says_the_straight_distance_in_space() -> None:
    # the hand case: edges 5.196 m apart level and 3 m in height: 6.0 m
    shapes = draw_marks(look(), frozenset({"contacts"}))
    assert said(shapes) == ["looks joined, is 6.0 m apart"]
    assert len(black(shapes)) == 1


def test_at_most_two_black_labels_and_how_many_more_there_are() -> None:
    shapes = draw_marks(look(5), frozenset({"contacts"}))
    assert said(shapes) == ["looks joined, is 6.0 m apart", "looks joined, is 6.0 m apart, and 3 more"]
    one, other = black(shapes)
    assert not overlap(one, other)
    assert len({line.points_px for line in shapes if isinstance(line, Line) and line.width_px == 2.0}) == 5


def test_black_label_lies_clear_of_every_stitch_landing_and_target() -> None:
    one = look(2)
    shapes = draw_marks(one, frozenset({"contacts", "gaps", "targets"}))
    boxes = black(shapes)
    assert len(boxes) == 2
    ends = one.result.reading.extras["gap", "hop"][:2]
    for left, top, right, bottom in boxes:
        for arm in white(shapes):
            assert not any(left <= x <= right and top <= y <= bottom for x, y in arm.points_px)
        assert not any(left <= x <= right and top <= y <= bottom for x, y in ends)
        part = np.s_[int(top) // 4 : -(-int(bottom) // 4), int(left) // 4 : -(-int(right) // 4)]
        assert not one.space.shown[part].any()


def test_false_break_has_no_black_label_and_a_cell_shows_the_widest_two() -> None:
    shapes = draw_marks(look(0, 4), frozenset({"contacts"}))
    assert said(shapes) == ["looks apart, is 1.3 m away"] * 2  # sqrt(1.2^2 + 0.5^2) = 1.3
    assert black(shapes) == []
    assert len(said(draw_marks(look(0, 4, close_up=True), frozenset({"contacts"})))) == 4


def test_without_false_borders_nothing_is_drawn() -> None:
    assert draw_marks(look(0, 0), frozenset({"contacts"})) == []


def test_stitches_are_the_strongest_pattern_once_a_sheet_is_400_px_wide() -> None:
    # 2400 px to 400: means over 6 x 6 px; the spread of values along a mark's row against plain clay
    def spread(shapes: list[Shape]) -> float:
        page = paint_rows(Page((192, 60), CLAY, tuple(shapes)))[..., 1].astype(float)
        small = page.reshape(10, 6, 32, 6).mean(axis=(1, 3))
        return float(small.std())

    way = WAY + np.array([18.0, -20.0])
    stitched = spread(stitches(way, SCALE))
    plain = spread([Line(way, 2.6, INK, SCALE.halo)])
    dashed = spread([Line(way, 1.5, INK, SCALE.halo, (9.0, 5.0))])
    assert stitched > 2 * plain
    assert stitched > 2 * dashed


def test_no_leader_lies_over_a_black_label() -> None:
    one = look(5)
    draw_marks(one, frozenset({"contacts"}))
    kinds = [type(shape) for shape in one.on_top]
    assert Area in kinds
    assert Line not in kinds[kinds.index(Area) :]
