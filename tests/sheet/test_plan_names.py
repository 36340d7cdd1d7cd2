"""Names in plan and side view: each where it can only belong to what it names."""

from __future__ import annotations

import numpy as np
import pytest

from stationpoint.ink.shapes import Line, Shape, Text
from stationpoint.ink.type import text_width
from stationpoint.sheet.header import CROWDED_SHARE, header_shapes
from stationpoint.sheet.plan.data import PlanCamera, PlanData, PlanObject
from stationpoint.sheet.plan.frame import PlanFrame, Words, filling_height, frame_plan, word_box
from stationpoint.sheet.plan.names import (
    Label,
    away_px,
    camera_labels,
    camera_of_result,
    join_labels,
    off_ring_px,
    stand_names,
    target_names,
)
from stationpoint.sheet.scale import scale_for

SCALE = scale_for(544)
FRAME = PlanFrame(0.0, 0.0, 0.0, 1.0, 800.0, 400.0, 200.0)
EVERY = [f"{row}{column}" for row in "ABC" for column in "123"]


def eye(label: str, along: float, across: float = 100.0) -> PlanCamera:
    """A camera that looks along, 1 px a metre."""
    at = np.array([along, across, 50.0])
    ways = np.array([[1.0, -0.3, 0.0], [1.0, 0.3, 0.0], [1.0, 0.0, 0.2], [1.0, 0.0, -0.2]])
    return PlanCamera(label, at, np.tile(at, (4, 1)), ways, parallel=False)


def square(name: str, left: float, top: float, wide: float, high: float | None = None) -> PlanObject:
    ring = np.array([(0.0, 0.0), (wide, 0.0), (wide, high or wide), (0.0, high or wide)])
    return PlanObject(name, "primary", name, ring + np.array([left, top]), ring)


def boxes(shapes: list[Shape]) -> dict[str, tuple[float, float, float, float]]:
    return {
        one.words: word_box(one.words, *one.baseline_px, one.size_px, "left", one.weight)
        for one in shapes
        if isinstance(one, Text)
    }


@pytest.mark.parametrize(
    ("some", "said"),
    [
        (["A1", "A2", "A3"], "A"),
        (["A1", "B1", "C1"], "1"),
        (["A1", "A2", "A3", "B1", "B2", "B3"], "A, B"),
        (["A1", "B2"], "A1, B2"),
        (["A1", "B2", "C1"], "A1 +2"),
        (["B2"], "B2"),
        (EVERY, "all 9"),
    ],
)
def test_cameras_that_meet_are_named_by_row_column_or_count(some: list[str], said: str) -> None:
    assert join_labels(some, EVERY) == said


def test_cameras_at_one_spot_are_one_triangle() -> None:
    eyes = [eye("A1", 100), eye("A2", 101), eye("B1", 200), eye("B2", 201)]
    assert [one.words for one in camera_labels(eyes, FRAME, True, 14.0, {})] == ["A", "B"]


def test_label_stands_nearer_to_its_camera_than_to_any_other() -> None:
    those = camera_labels([eye(f"A{k}", 100 + 9.0 * k) for k in range(12)], FRAME, True, 11.0, {})
    words = Words(800, 400, SCALE)
    camera_of_result(those, words)
    found = boxes(stand_names(those, words, 15))
    assert 2 <= len(found) < 12  # the ends have one, those in the crowd have none
    assert {"A0", "A11"} <= set(found)
    for one in those:
        if one.words in found:
            own = away_px(found[one.words], one.middle)
            assert all(away_px(found[one.words], other.middle) > own for other in those if other is not one)


def test_cameras_that_all_but_meet_have_one_name() -> None:
    # two rows by two columns, triangles 8 px apart: alone, each name would be as near to the other
    eyes = [eye("A1", 100), eye("B1", 108), eye("A2", 300), eye("B2", 308)]
    those = camera_labels(eyes, FRAME, True, 14.0, {})
    words = Words(800, 400, SCALE)
    camera_of_result(those, words)
    found = boxes(stand_names(those, words, 15))
    assert set(found) == {"1", "2"}


def test_label_of_a_lone_camera_is_always_there() -> None:
    one = Label(np.array([400.0, 200.0]), np.array([414.0, 200.0]), "B2", chosen=True)
    assert list(boxes(stand_names([one], Words(800, 400, SCALE), 15))) == ["B2"]


def test_distance_from_a_name_to_an_outline() -> None:
    ring = np.array([(13.0, 14.0), (20.0, 14.0), (20.0, 20.0), (13.0, 20.0)])
    assert off_ring_px((0, 0, 10, 10), ring) == pytest.approx(5.0)  # 3, 4, 5
    assert off_ring_px((0, 0, 15, 15), ring) == 0.0
    assert off_ring_px((0, 0, 10, 18), ring) == pytest.approx(3.0)


def test_name_of_a_target_is_nearer_to_it_than_to_any_other() -> None:
    things = [square("long barge", 300, 200, 40), square("crate", 345, 195, 14), square("post", 300, 245, 6)]
    found = boxes(target_names(things, FRAME, Words(800, 400, SCALE), 15))
    assert len(found) == 3
    for thing in things:
        own = off_ring_px(found[thing.name], thing.plan)
        assert all(off_ring_px(found[thing.name], one.plan) > own for one in things if one is not thing)


def test_name_that_has_to_go_far_is_tied_to_its_target() -> None:
    words = Words(800, 400, SCALE)
    wide = text_width("well", 15, "semibold")
    words.occupy((400 - wide, 180, 420 + wide, 240))  # all that is close by is taken
    shapes = target_names([square("well", 405, 205, 8)], FRAME, words, 15)
    assert list(boxes(shapes)) == ["well"]
    (tie,) = [one for one in shapes if isinstance(one, Line)]
    end = np.array(tie.points_px[-1])
    assert np.hypot(*(end - (409.0, 209.0))) < 8


def test_many_cameras_get_a_higher_plan() -> None:
    def height(count: int) -> int:
        eyes = tuple(eye(f"A{k}", 0.6 * k, 0.7 * k) for k in range(count))
        data = PlanData((square("table", 8, 2, 4),), (), eyes, (8.0, 0.0, 0.0), 1.7, None)
        return header_shapes(2400, "Where?", [], None, [], data, {}, "", SCALE)[1]

    assert height(24) > height(8)
    assert height(24) <= 34 + CROWDED_SHARE * 0.367 * 2332 + 2


def test_plan_of_that_height_fills_its_width() -> None:
    eyes = tuple(eye(f"A{k}", 2.0 * k) for k in range(9))
    data = PlanData((), (), eyes, (20.0, 100.0, 0.0), 1.7, None)
    high = filling_height(data, 800)
    assert frame_plan(data, 800, high).scale == pytest.approx(frame_plan(data, 800, high + 200).scale)
    assert frame_plan(data, 800, high - 40).scale < frame_plan(data, 800, high).scale


def framed(scenery: float) -> PlanFrame:
    """The frame of two cameras 10 m apart beside a subject, and scenery so many metres across."""
    ring = np.array([(0.0, 0.0), (scenery, 0.0), (scenery, scenery), (0.0, scenery)])
    thing = PlanObject("model", "", "", ring, ring)
    data = PlanData((thing,), (), (eye("A1", 0.0, 0.0), eye("A2", 10.0, 0.0)), (5.0, 0.0, 0.0), 1.7, None)
    return frame_plan(data, 800.0, 500.0)


def test_model_that_is_little_more_than_its_cameras_is_shown_whole() -> None:
    # cameras at 50 m up span 10 x 0 x 50; a model of 12 m adds 12 across: not half as much again
    for thing, whole in ((12.0, True), (400.0, False)):
        frame = framed(thing)
        top, low = frame.plan(np.array([(0.0, 0.0), (thing, thing)]))
        assert (top.min() >= 0 and low[0] <= frame.width and low[1] <= frame.plan_height) == whole
