"""Marks: where geometry puts them, each with its legend."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sheet.made import owners, results, study, text_box, with_contacts, with_cues
from stationpoint.ink.shapes import Area, Disc, Line, Picture, Text
from stationpoint.ink.type import cap_height_px, descent_px
from stationpoint.readings.cues.rules import CUE_RULES
from stationpoint.sheet.marks import (
    CALM,
    CLOSE,
    cue_icon,
    draw_marks,
    every_mark,
    known_marks,
    legend_entries,
)
from stationpoint.sheet.marks.drawing import Drawing, drawing, graded_line
from stationpoint.sheet.marks.edge import edge_arrow
from stationpoint.sheet.marks.gap import along_share, beside
from stationpoint.sheet.scale import scale_for

SCALE = scale_for(544)


def look(label: str = "A1") -> Drawing:
    """The drawing of one made-up result."""
    those = study()
    (result,) = [result for result in results(those) if result.variant.label == label]
    return drawing(result, those, SCALE, owners(those))


def marked() -> Drawing:
    """The same with depth cues, false contacts, an ambiguous target and a reserved area."""
    those = study(reserved=[{"name": "map", "rect": (0, 0.75, 0.3, 1)}])
    result = with_contacts(with_cues(results(those)[0]), 1, 1)
    result.reading.values["twins", "barge three", "slide", "ambiguous"] = True
    result.reading.values["twins", "barge three", "slide", "shift_m"] = -3.4
    who = owners(those)
    return drawing(result, those, SCALE, who, close_up=True, outlined=frozenset(who))


def test_every_mark_that_was_drawn_has_a_legend_entry_and_no_other_has() -> None:
    assert len(every_mark()) >= 8
    assert legend_entries(set(), SCALE) == []
    assert len(known_marks()) >= 10
    for name in set(known_marks()) - {"hidden"}:  # its words say what it is
        one = marked()
        shapes = draw_marks(one, frozenset({name, "targets"} if name == "twins" else {name}))
        assert shapes, name
        assert one.used, name
        told = legend_entries(one.used, SCALE)
        assert told or all(key.startswith(("dot ", "cue ", "outline ")) for key in one.used), name
        assert all(entry and said for entry, said in told)


def test_every_cue_has_a_mark_in_small() -> None:
    assert len(CUE_RULES) == 10
    for cue in CUE_RULES.values():
        assert cue_icon(cue.name, SCALE), cue.name


def test_marks_are_drawn_from_the_lowest_layer_up() -> None:
    layers = [mark.LAYER for mark in every_mark()]
    assert layers == sorted(layers)
    names = [mark.NAME for mark in every_mark()]
    assert names.index("gaps") < names.index("subject") < names.index("targets")


def test_target_outside_gets_an_arrow_five_px_from_its_edge_and_its_name() -> None:
    shapes = draw_marks(look(), frozenset({"targets"}))
    heads = [shape for shape in shapes if isinstance(shape, Area)]
    (head,) = heads
    assert min(x for x, _ in head.rings[0]) == pytest.approx(5.0)
    said = [shape.words for shape in shapes if isinstance(shape, Text)]
    assert said.count("lamp post") == 1


def test_dot_lies_on_its_target_and_clear_of_the_subject() -> None:
    one = look()
    shapes = draw_marks(one, frozenset({"targets"}))
    dots = [shape for shape in shapes if isinstance(shape, Disc) and shape.radius_px == pytest.approx(4.4)]
    (dot,) = dots  # the only primary target
    x, y = (int(part) for part in dot.centre_px)
    assert one.result.ids is not None
    assert one.result.ids[y, x] == 2  # barge three is the second node
    assert "dot primary" in one.used
    assert "dot secondary" in one.used


def test_gap_line_ends_at_the_ring_and_dots_lead_to_the_true_end() -> None:
    one = look()
    shapes = draw_marks(one, frozenset({"gaps"}))
    solid, dotted = [s for s in shapes if isinstance(s, Line) and len(s.points_px) == 2 and s.width_px > 1.6][
        :2
    ]
    assert solid.dash == ()
    assert len(dotted.dash) == 2
    (ring,) = [shape for shape in shapes if isinstance(shape, Disc)]
    assert solid.points_px[1] == pytest.approx(ring.centre_px)
    said = [shape.words for shape in shapes if isinstance(shape, Text)]
    assert said == ["4.1 m", "looks 1.2 m"]


def test_gap_line_is_one_metre_to_a_side_where_the_gap_is_long() -> None:
    one = look()
    sides = one.result.reading.extras["gap", "hop", "sides"]
    solid = next(s for s in draw_marks(one, frozenset({"gaps"})) if isinstance(s, Line) and s.width_px > 2)
    starts = np.array([sides[0], sides[3]])
    assert np.abs(starts - np.array(solid.points_px[0])).max(axis=1).min() < 1e-6


def test_point_between_two_metres_is_where_perspective_puts_it() -> None:
    # s = a t / (1 + c t), s(1) = 50, s(-1) = -100: c = 1/3, a = 66.667; s(0.5) = 33.333 / 1.16667
    found = beside(np.array([-100.0, 0.0]), np.zeros(2), np.array([50.0, 0.0]), 0.5)
    assert found == pytest.approx([28.5714, 0.0], abs=1e-3)


def test_subject_is_pasted_over_a_line_that_passes_behind_it() -> None:
    one = look()
    assert one.space.subject.any()
    assert not any(isinstance(shape, Picture) for shape in draw_marks(look(), frozenset({"safe-areas"})))
    rows, columns = np.nonzero(one.space.subject)  # a vanishing point's cross within the subject
    spot = np.array([[columns.mean() * 4, rows.mean() * 4]])
    one.result.reading.extras["vanishing", "z"] = spot
    shapes = draw_marks(one, frozenset({"vanishing"}))
    pasted = [shape for shape in shapes if isinstance(shape, Picture)]
    assert len(pasted) == 1
    assert pasted[0].mask is not None
    assert pasted[0].mask.max() == 255


def test_horizon_above_the_picture_is_an_arrow_at_the_top() -> None:
    one = look()
    one.result.reading.extras["horizon",] = np.array([[0.0, -80.0], [544.0, -80.0]])
    shapes = draw_marks(one, frozenset({"horizon"}))
    (head,) = [shape for shape in shapes if isinstance(shape, Area)]
    assert min(y for _, y in head.rings[0]) == pytest.approx(5.0)
    assert [shape.words for shape in shapes if isinstance(shape, Text)] == ["horizon"]


def test_parallel_view_has_no_horizon_and_no_vanishing_points() -> None:
    one = look("B1")
    assert draw_marks(one, frozenset({"horizon"})) == []
    assert draw_marks(one, frozenset({"vanishing"})) == []


def test_axis_arm_is_dashed_where_only_size_tells_and_left_out_where_nothing_does() -> None:
    one = look("B1")
    one.result.reading.values["axes", "x", "reads"] = "place"
    one.result.reading.values["axes", "y", "reads"] = "size only"
    one.result.reading.values["axes", "z", "reads"] = "none"
    lines = [s for s in draw_marks(one, frozenset({"axes"})) if isinstance(s, Line)]
    assert [line.dash for line in lines] == [(), (9.0, 5.0)]
    assert {"axes reads", "axes weak"} <= one.used


def test_safe_areas_are_93_and_90_percent() -> None:
    # SMPTE ST 2046-1: 544 x 306 leaves 19.04 and 10.71 px at each side for action, 27.2 and 15.3 for titles
    action, title = [s for s in draw_marks(look(), frozenset({"safe-areas"})) if isinstance(s, Line)]
    assert action.points_px[0] == pytest.approx((19.04, 10.71))
    assert title.points_px[0] == pytest.approx((27.2, 15.3))
    assert action.dash == ()
    assert title.dash


def test_grade_is_line_style() -> None:
    ends = ((0.0, 0.0), (90.0, 0.0))
    assert graded_line(ends, 1.5, "reads", SCALE).dash == ()
    assert graded_line(ends, 1.5, "weak", SCALE).dash == (9.0, 5.0)
    teeth = graded_line(ends, 1.5, "misleads", SCALE).points_px
    assert len(teeth) == 2 + 2 * 10  # period 9 over 90 px: ten teeth of two peaks
    assert max(y for _, y in teeth) == pytest.approx(4.0)


def test_arms_of_a_metre_lie_beside_the_subject_as_long_as_they_are_drawn_at_it() -> None:
    one = look("B1")
    tips = one.result.reading.extras["axes",]
    shapes = draw_marks(one, frozenset({"axes"}))
    heads = [shape for shape in shapes if isinstance(shape, Area)]
    (middle,) = [shape.centre_px for shape in shapes if isinstance(shape, Disc)]
    assert [shape.words for shape in shapes if isinstance(shape, Text)] == ["x", "up", "z"]
    for head, tip in zip(heads, tips[1:], strict=True):
        assert np.array(head.rings[0][0]) - middle == pytest.approx(tip - tips[0], abs=1e-6)
    blocks = np.array(middle, dtype=int) // 4
    assert not one.space.subject[blocks[1], blocks[0]]


def test_calm_marks_leave_out_what_only_a_close_up_has_room_for() -> None:
    assert {
        "targets",
        "gaps",
        "horizon",
        "cues",
        "contacts",
        "twins",
        "hidden",
        "reserved",
        "outlines",
    } == CALM
    assert set(known_marks()) > CLOSE > CALM


def test_ground_end_is_a_thin_tick_where_perspective_puts_it() -> None:
    # half way along a line whose far end is drawn at half scale: 2 x 0.5 / (1 + 0.5)
    assert along_share(0.5, 2.0) == pytest.approx(2 / 3)
    assert along_share(0.4, 1.0) == pytest.approx(0.4)
    one = look("B1")  # a parallel view: shares stay
    one.result.reading.values["gaps", "hop", "ground_span_m"] = 4.1 * 0.6
    one.result.reading.values["gaps", "hop", "scale_ratio"] = 1.0
    shapes = draw_marks(one, frozenset({"gaps"}))
    assert "gap ground" in one.used
    (tick,) = [s for s in shapes if isinstance(s, Line) and s.opacity < 1]
    solid = next(s for s in shapes if isinstance(s, Line) and s.width_px > 2)
    head = next(s for s in shapes if isinstance(s, Area))
    start, end = np.array(solid.points_px[0]), np.array(head.rings[0][0])
    assert np.mean(tick.points_px, axis=0) == pytest.approx(start + 0.6 * (end - start), abs=0.01)
    said = [shape.words for shape in shapes if isinstance(shape, Text)]
    assert said == ["4.1 m", "looks 1.2 m", "if level 2.5 m"]


def test_ground_end_within_a_tenth_of_another_end_is_not_drawn() -> None:
    one = look("B1")
    one.result.reading.values["gaps", "hop", "ground_span_m"] = 4.1 * 0.95
    draw_marks(one, frozenset({"gaps"}))
    assert "gap ground" not in one.used


def test_ambiguous_target_has_a_second_dot_and_the_other_place_in_words() -> None:
    one = marked()
    shapes = draw_marks(one, frozenset({"targets", "twins"}))
    said = [shape.words for shape in shapes if isinstance(shape, Text)]
    assert said[said.index("barge three") + 1] == "or 3.4 m nearer"
    (ring,) = [s for s in shapes if isinstance(s, Line) and s.closed and len(s.points_px) > 20 and s.dash]
    (dot,) = [s for s in shapes if isinstance(s, Disc) and s.radius_px == pytest.approx(4.4)]
    apart = np.mean(ring.points_px, axis=0) - dot.centre_px
    assert np.hypot(*apart) == pytest.approx(17.0, abs=0.1)
    plain = marked()
    draw_marks(plain, frozenset({"targets"}))  # not asked for
    assert "twins" not in plain.used


def test_dot_stands_beside_a_target_that_it_would_cover() -> None:
    those = study()
    result = results(those)[0]
    assert result.ids is not None
    ids = np.zeros_like(result.ids)
    ids[100:112, 300:318] = 2  # barge three, 18 x 12 px: sqrt 14.7, under 26
    one = drawing(replace(result, ids=ids), those, SCALE, owners(those))
    shapes = draw_marks(one, frozenset({"targets"}))
    (dot,) = [s for s in shapes if isinstance(s, Disc) and s.radius_px == pytest.approx(4.4)]
    x, y = dot.centre_px
    outside = max(300 - x, x - 318, 100 - y, y - 112)
    assert outside > 4.4
    ties = [s for s in shapes if isinstance(s, Line) and tuple(s.points_px[1]) == (x, y)]
    assert len(ties) == 1
    a, b = ties[0].points_px[0]
    assert 300 <= a <= 318
    assert 100 <= b <= 112


def test_name_lies_on_no_other_targets_body() -> None:
    those = study()
    (result, *_) = results(those)
    assert result.ids is not None
    ids = np.zeros_like(result.ids)
    ids[120:180, 200:260] = (
        2  # barge three; the load all round its right and upper sides, as a wall behind it
    )
    ids[20:120, 150:420] = 3
    ids[120:220, 260:420] = 3
    one = drawing(replace(result, ids=ids), those, SCALE, owners(those))
    shapes = draw_marks(one, frozenset({"targets"}))
    named = {shape.words: text_box(shape) for shape in shapes if isinstance(shape, Text)}
    assert {"barge three", "load"} <= set(named)
    for name, other in (("barge three", 3), ("load", 2)):
        left, top, right, bottom = (int(side) for side in named[name])
        assert not (ids[top : bottom + 1, left : right + 1] == other).any(), name


def test_name_of_what_is_off_the_picture_is_whole_at_every_edge() -> None:
    # Two lines of 14 px: capitals, one step of 1.18 and what hangs under them, more than the arrow is wide.
    for side, towards in (
        ("left", (-50.0, -90.0)),
        ("right", (9e3, 9e3)),
        ("top", (9e3, -50.0)),
        ("below", (-9e3, 9e3)),
    ):
        one = look()
        shapes = edge_arrow(one, "the lamp post at the far end of the old pier", side, np.array(towards))
        said = [shape for shape in shapes if isinstance(shape, Text)]
        assert len(said) == 2
        width, height = one.size_px
        for line in said:
            assert line.baseline_px[1] - cap_height_px(line.size_px) >= 2, side
            assert line.baseline_px[1] + descent_px(line.size_px) <= height, side
            assert line.baseline_px[0] >= 0
            assert line.baseline_px[0] + line.width_px <= width
