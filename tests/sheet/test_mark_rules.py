"""Marks among each other: letters off their own tips, lines that do not cross, words that stay free."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sheet.made import crosses, owners, results, study, with_cues
from stationpoint.base.look import WHITE
from stationpoint.ink.shapes import Area, Disc, Line, Shape
from stationpoint.sheet.marks import draw_marks, size
from stationpoint.sheet.marks.contact import stitches
from stationpoint.sheet.marks.drawing import Drawing, drawing
from stationpoint.sheet.marks.free_space import FreeSpace
from stationpoint.sheet.marks.gap import Rail, chosen_rail, rail_shapes
from stationpoint.sheet.scale import scale_for

SCALE = scale_for(544)
PAIR = "target:barge three"
CUES = frozenset({"cues"})
Way = list[tuple[float, float]]


def look(cue: str, way: Way, grade: str = "reads") -> Drawing:
    """The drawing of a result with one cue of a target, its mark at these pixels."""
    those = study()
    result = with_cues(results(those)[0], {cue: (grade, 500.0)}, PAIR)
    extras = {**result.reading.extras, ("cue", PAIR, cue): np.array(way)}
    result = replace(result, reading=replace(result.reading, extras=extras))
    return drawing(result, those, SCALE, owners(those), close_up=True, about=PAIR)


def lines(shapes: list[Shape]) -> list[Line]:
    return [shape for shape in shapes if isinstance(shape, Line)]


def test_letter_lies_on_no_tip_of_its_own_arrow() -> None:
    for x, end in (
        (400, (538.0, 40.0)),
        (200, (300.0, 6.0)),
        (200, (6.0, 40.0)),
    ):  # at edges, with little room
        one = look("cast_shadow", [(x, 60.0), end])
        assert draw_marks(one, CUES)
        (tag,) = [np.array(s.rings[0]) for s in one.on_top if isinstance(s, Area)][:1]
        inside = (tag.min(axis=0) < end).all() and (tag.max(axis=0) > end).all()
        assert not inside


def test_cue_crosses_no_line_of_a_gap_unless_it_misleads() -> None:
    rails: Way = [(40.0, 60.0), (40.0, 20.0), (90.0, 60.0), (90.0, 20.0)]
    for grade, count in (("reads", 0), ("misleads", 2)):
        one = look("convergence", rails, grade)
        one.space.measure((60.0, 40.0), (120.0, 40.0))
        assert len(lines(draw_marks(one, CUES))) == count
    beside = look("convergence", rails)
    beside.space.measure((50.0, 40.0), (80.0, 40.0))
    assert len(lines(draw_marks(beside, CUES))) == 2


def test_shadow_that_starts_on_a_gaps_line_starts_past_it() -> None:
    one = look("cast_shadow", [(200.0, 40.0), (300.0, 40.0)])
    one.space.measure((200.0, 20.0), (200.0, 60.0))
    shaft = lines(draw_marks(one, CUES))[0]
    assert 203 < shaft.points_px[0][0] < 220


def test_rails_that_are_mostly_off_the_picture_are_left_out() -> None:
    assert draw_marks(look("convergence", [(40, 60), (40, 20), (90, 60), (90, 20)]), CUES)
    assert draw_marks(look("convergence", [(-90, 60), (30, 60), (-90, 20), (30, 20)]), CUES) == []


def test_ticks_of_a_border_stay_off_words() -> None:
    border: Way = [(100.0 + 10 * k, 40.0) for k in range(20)]
    way = [*border, *((x, y - 1) for x, y in border)]
    free, under = look("occlusion", way), look("occlusion", way)
    under.space.occupy((150, 20, 200, 60))
    everywhere, ticks = lines(draw_marks(free, CUES)), lines(draw_marks(under, CUES))
    assert len(everywhere) == 20
    assert 10 <= len(ticks) < 20
    assert not any(152 < x < 198 for tick in ticks for x, _ in tick.points_px)


def test_crosses_leave_a_gaps_line_free_unless_it_runs_along_them() -> None:
    way = np.array([[0.0, 50.0], [155.0, 50.0]])  # ten crosses, at 7.75, 23.25, ...

    def crosses(*gaps: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> set[float]:
        arms = [line for line in lines(stitches([way], SCALE, gaps)) if line.ink == WHITE]
        return {float(np.mean([x for x, _ in arm.points_px]).round(2)) for arm in arms}

    assert len(crosses()) == 10
    across = crosses(np.array([[77.5, 20.0], [77.5, 80.0]]))
    assert len(across) == 8
    assert min(abs(x - 77.5) for x in across) > 10
    assert len(crosses(np.array([[0.0, 52.0], [155.0, 52.0]]))) == 10


def test_leader_goes_through_no_label_that_touches_its_dot() -> None:
    room = FreeSpace((200, 120))
    room.keep_disc((50, 60), 7)
    room.occupy((20, 30, 80, 52))  # right above the dot
    assert crosses(room, (50, 50), (50, 12))
    assert not crosses(room, (50, 70), (50, 110))


def test_many_leaders_are_judged_as_each_alone_whatever_their_lengths() -> None:
    # by hand: a wall of words at x 100 to 112, so that only what passes it between y 40 and 80 crosses
    room = FreeSpace((200, 120))
    room.occupy((100, 40, 112, 80))
    starts = np.array([[20.0, 60.0], [20.0, 60.0], [20.0, 20.0], [150.0, 60.0], [90.0, 60.0], [150.0, 20.0]])
    ends = np.array([[180.0, 60.0], [60.0, 60.0], [180.0, 20.0], [290.0, 60.0], [120.0, 60.0], [60.0, 100.0]])
    found = room.crossing(starts, ends).tolist()
    assert found == [True, False, False, False, True, True]
    assert found == [bool(room.crossing(starts[k : k + 1], ends[k : k + 1])[0]) for k in range(6)]


def test_many_lines_take_the_ground_that_each_would() -> None:
    one, other = FreeSpace((200, 120)), FreeSpace((200, 120))
    starts = np.array([[10.0, 10.0], [50.0, 100.0], [190.0, 60.0], [60.0, 60.0]])
    ends = np.array([[150.0, 15.0], [50.0, 20.0], [260.0, -40.0], [60.0, 60.0]])  # one leaves, one is a point
    one.take_lines(starts, ends)
    for start, end in zip(starts, ends, strict=True):
        other.take_line(start, end)
    assert (one.taken == other.taken).all()
    # by hand: the upright line at x 50, column 12, from y 20 (row 5) to y 100 (row 25)
    assert one.taken[5:26, 12].all()
    assert not one.taken[26:, 12].any()


def test_false_borders_take_boxes_of_any_size_those_at_the_edge_in_part() -> None:
    room = FreeSpace((200, 120))
    room.stitch(np.array([[10.0, 10.0, 17.0, 13.0], [-30.0, -9.0, 5.0, 2.0], [100.0, 60.0, 130.0, 140.0]]))
    # blocks of 4 px: columns 2 to 4, rows 2 and 3; columns 0 and 1, row 0; columns 25 to 32 from row 15
    by_hand = np.zeros((30, 50), dtype=bool)
    by_hand[2:4, 2:5] = by_hand[:1, :2] = by_hand[15:, 25:33] = True
    for blocks in (room.taken, room.boxed, room.stitched):
        assert (blocks == by_hand).all()


def test_leader_may_cross_a_line_where_nothing_else_is_left_but_never_a_gaps() -> None:
    room = FreeSpace((200, 120))
    room.take_line((10, 60), (190, 60))
    assert crosses(room, (100, 20), (100, 100))
    assert not crosses(room, (100, 20), (100, 100), lines=False)
    room.measure((10, 80), (190, 80))
    assert crosses(room, (100, 20), (100, 100), lines=False)


def test_thin_tick_past_the_end_of_a_gaps_line_hangs_on_dots() -> None:
    def rail(ground_x: float) -> Rail:
        tick = np.array([[0.0, -7.0], [0.0, 7.0]])
        ends = [np.array([x, 100.0]) for x in (100.0, 200.0, 150.0, ground_x)]
        return Rail(*ends[:3], ends[0] + tick, ends[1] + tick, ends[3])

    def tied(shapes: list[Shape]) -> list[Line]:
        return [line for line in lines(shapes) if line.opacity < 1 and line.dash]

    assert tied(rail_shapes(rail(170.0), SCALE)) == []
    (tie,) = tied(rail_shapes(rail(240.0), SCALE))
    assert [x for x, _ in tie.points_px] == pytest.approx([200.0, 240.0])


def test_dots_keep_so_much_ground_that_their_leaders_get_out() -> None:
    those = study()
    one = drawing(results(those)[0], those, SCALE, owners(those))
    shapes = draw_marks(one, frozenset({"targets", "gaps"}))
    dots = [shape for shape in shapes if isinstance(shape, Disc) and shape.fill is not None]
    assert dots
    assert chosen_rail(one, "hop") is not None
    assert one.unplaced == []


def test_size_bracket_runs_under_no_letter_while_there_is_another_place() -> None:
    def placed(*taken: tuple[float, float, float, float]) -> float:
        one = look("occlusion", [(10.0, 10.0), (20.0, 10.0)])
        one.result.reading.extras["size", "barge three"] = np.array([(200.0, 60.0), (280.0, 200.0)])
        for box in taken:
            one.space.occupy(box)
        (upright,) = lines(size.draw(one))[:1]
        return upright.points_px[1][0]

    right = placed()
    assert right > 280
    left = placed((right - 8, 100, right + 8, 120))
    assert left < 200
    farther = placed((right - 8, 100, right + 8, 120), (left - 8, 100, left + 8, 120))
    assert farther > right + 8
    assert placed((0, 100, 544, 120)) == right  # words everywhere: as good as any
