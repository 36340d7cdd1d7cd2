"""False contacts and breaks: threads with crosses and bars, and the one black label."""

from __future__ import annotations

import numpy as np
import pytest

from sheet.made import overlap, owners, results, study, with_contacts
from stationpoint.base.look import CLAY, INK, WHITE
from stationpoint.ink.paint_png import paint_rows
from stationpoint.ink.shapes import Area, Box, Line, Page, Shape, Text
from stationpoint.sheet.caption import caption_lines
from stationpoint.sheet.marks import draw_marks
from stationpoint.sheet.marks.contact import bars, evenly, stitches, unlabelled
from stationpoint.sheet.marks.drawing import Drawing, drawing
from stationpoint.sheet.scale import scale_for
from stationpoint.sheet.settings import surfaces_words

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
    shapes = stitches([WAY], SCALE)
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
    found, counts = evenly([np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 40.0]])], 20.0)
    assert counts.tolist() == [4]
    assert found == pytest.approx(np.array([[8.75, 0.0], [26.25, 0.0], [30.0, 13.75], [30.0, 31.25]]))


def test_points_of_several_ways_are_those_of_each_alone() -> None:
    # 40 px in steps of about 20: two, at 10 and 30; of 5 px one, at its middle; without length one
    ways = [np.array(way, float) for way in ([(0, 0), (40, 0)], [(90, 10), (90, 15)], [(7, 7), (7, 7)])]
    found, counts = evenly(ways, 20.0)
    assert counts.tolist() == [2, 1, 1]
    assert found.tolist() == [[10.0, 0.0], [30.0, 0.0], [90.0, 12.5], [7.0, 7.0]]
    assert stitches([WAY, ways[0]], SCALE) == [*stitches([WAY], SCALE), *stitches([ways[0]], SCALE)]


def test_label_names_both_surfaces_and_says_the_straight_distance_in_space() -> None:
    # the hand case: edges 5.196 m apart level and 3 m in height: 6.0 m
    shapes = draw_marks(look(), frozenset({"contacts"}))
    assert said(shapes) == ["u and v", "look joined, are 6.0 m apart"]
    assert len(black(shapes)) == 1


def test_surfaces_of_one_node_are_two_parts_of_it_and_long_names_are_cut() -> None:
    one = look()
    entry = dict(one.result.reading.values["false_contacts",][0])  # type: ignore[index,arg-type,call-overload]
    one.result.reading.values["false_contacts",] = (entry | {"a": "level", "b": "level"},)
    assert said(draw_marks(one, frozenset({"contacts"})))[0] == "two parts of level"
    other = look()
    other.result.reading.values["false_contacts",] = (entry | {"a": "a" * 200, "b": "b" * 200},)
    shapes = draw_marks(other, frozenset({"contacts"}))
    ((left, _, right, _),) = black(shapes)
    assert left >= 0
    assert right <= 544
    assert said(shapes)[0].count("\u2026") == 2


def test_one_black_label_a_cell_and_three_in_a_close_up_the_others_without_a_word() -> None:
    words = ["u and v", "look joined, are 6.0 m apart"]
    one = look(5)
    shapes = draw_marks(one, frozenset({"contacts"}))
    assert said(shapes) == words
    assert len({line.points_px for line in shapes if isinstance(line, Line) and line.width_px == 2.0}) == 5
    assert unlabelled(one.result, False) == 4
    close = draw_marks(look(5, close_up=True), frozenset({"contacts"}))
    assert said(close) == words * 3
    boxes = black(close)
    assert len(boxes) == 3
    assert not any(overlap(a, b) for k, a in enumerate(boxes) for b in boxes[:k])
    assert unlabelled(one.result, True) == 2
    assert unlabelled(look(1).result, False) == 0


def test_caption_says_how_many_more_there_are() -> None:
    those = study()
    result = results(those)[0]
    for count, words in ((0, None), (1, "and 1 more false contact"), (3, "and 3 more false contacts")):
        lines = caption_lines(result, those, (), SCALE, 544.0, unlabelled=count)
        found = [part.words for line in lines for part in line if "false contact" in part.words]
        assert found == ([] if words is None else [words])


@pytest.mark.parametrize(
    ("counts", "words"),
    [
        ((3, 3), "looked for between 3 walkable surfaces"),
        ((2, 5), "looked for between up to 5 walkable surfaces"),
        ((1, 0), "fewer than two walkable surfaces, so none was looked for"),
        ((), ""),
    ],
)
def test_header_says_between_how_many_surfaces_it_looked(counts: tuple[int, ...], words: str) -> None:
    those = results(study())[: max(1, len(counts))]
    for result, count in zip(those, counts, strict=False):
        result.reading.extras["surfaces",] = np.zeros((count, 2))
    assert surfaces_words(those) == words


def test_black_label_lies_clear_of_every_stitch_landing_and_target() -> None:
    one = look(2, close_up=True)
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


def test_false_break_has_no_black_label_and_a_cell_shows_the_widest() -> None:
    shapes = draw_marks(look(0, 4), frozenset({"contacts"}))
    assert said(shapes) == ["looks apart, is 1.3 m away"]  # sqrt(1.2^2 + 0.5^2) = 1.3
    assert black(shapes) == []
    assert len(said(draw_marks(look(0, 4, close_up=True), frozenset({"contacts"})))) == 3


def test_without_false_borders_nothing_is_drawn() -> None:
    assert draw_marks(look(0, 0), frozenset({"contacts"})) == []


def test_stitches_are_the_strongest_pattern_once_a_sheet_is_400_px_wide() -> None:
    # 2400 px to 400: means over 6 x 6 px; the spread of values along a mark's row against plain clay
    def spread(shapes: list[Shape]) -> float:
        page = paint_rows(Page((192, 60), CLAY, tuple(shapes)))[..., 1].astype(float)
        small = page.reshape(10, 6, 32, 6).mean(axis=(1, 3))
        return float(small.std())

    way = WAY + np.array([18.0, -20.0])
    stitched = spread(stitches([way], SCALE))
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
