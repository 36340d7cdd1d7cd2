"""Plan and side of big sweeps, scenery, rulers, heads: what is told, what is quiet, and that words fit."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from stationpoint.ink.shapes import Area, Group, Line, Shape, Text
from stationpoint.ink.type import text_width
from stationpoint.sheet.headings import column_heading, row_heading, value_lines
from stationpoint.sheet.plan.data import PlanCamera, PlanData, PlanObject
from stationpoint.sheet.plan.frame import PlanFrame, Words, word_box
from stationpoint.sheet.plan.telling import CHOSEN, HOLDS, OTHER, ROW_END, SWEEP_END, ranks, told, with_wedges
from stationpoint.sheet.plan.view import outline_shapes, plan_shapes, ruler_bar
from stationpoint.sheet.scale import scale_for

SCALE = scale_for(544)
FRAME = PlanFrame(0.0, 0.0, 0.0, 10.0, 800.0, 400.0, 200.0)


def grid_of_eyes(rows: int, columns: int) -> list[PlanCamera]:
    """Cameras that climb from row to row and go back from column to column."""
    ways = np.array([[1.0, -0.3, 0.0], [1.0, 0.3, 0.0], [1.0, 0.0, 0.2], [1.0, 0.0, -0.2]])
    eyes = []
    for row in range(rows):
        for column in range(columns):
            at = np.array([-5.0 - 3.0 * column, 0.0, 1.0 + 0.5 * row])
            label = f"{chr(ord('A') + row)}{column + 1}"
            eyes.append(PlanCamera(label, at, np.tile(at, (4, 1)), ways, parallel=False))
    return eyes


def flat(shapes: list[Shape], dx: float = 0.0, dy: float = 0.0) -> list[tuple[Shape, float, float]]:
    found: list[tuple[Shape, float, float]] = []
    for one in shapes:
        if isinstance(one, Group):
            found += flat(list(one.shapes), dx + one.offset_px[0], dy + one.offset_px[1])
        else:
            found.append((one, dx, dy))
    return found


def test_cameras_rank_as_chosen_ends_of_the_sweep_holding_and_ends_of_rows() -> None:
    eyes = grid_of_eyes(3, 4)
    eyes[5] = replace(eyes[5], holds=True)  # B2
    eyes[6] = replace(eyes[6], chosen=True, holds=True)  # B3
    found = ranks(eyes)
    assert (found["B3"], found["A1"], found["C4"], found["B2"]) == (CHOSEN, SWEEP_END, SWEEP_END, HOLDS)
    assert {found[label] for label in ("A4", "B1", "B4", "C1")} == {ROW_END}
    assert {found[label] for label in ("A2", "A3", "C2", "C3")} == {OTHER}


def test_few_cameras_are_all_told_and_of_many_those_that_stand_apart() -> None:
    spots = [(10.0 * k, 0.0) for k in range(9)]
    assert told(spots[:8], [OTHER] * 8) == [True] * 8
    # of nine 10 px apart: the first, then those at least 26 px from it and from each other: 0, 30, 60
    assert [k for k, one in enumerate(told(spots, [ROW_END] * 9)) if one] == [0, 3, 6]
    how = [ROW_END] * 9
    how[1] = CHOSEN
    assert [k for k, one in enumerate(told(spots, how)) if one] == [1, 4, 7]
    assert told(spots, [OTHER] * 9) == [False] * 9


@pytest.mark.parametrize(("rows", "columns"), [(4, 6), (10, 6), (10, 20)])
def test_big_sweep_draws_few_wedges_and_its_words_overlap_nothing(rows: int, columns: int) -> None:
    eyes = grid_of_eyes(rows, columns)
    eyes[columns + 1] = replace(eyes[columns + 1], chosen=True)
    data = PlanData((), (), tuple(eyes), (0.0, 0.0, 0.0), 1.7, None)
    shapes = flat(plan_shapes(data, 856.0, 448.0, SCALE, {}, ""))
    wedges = with_wedges(eyes, FRAME, ranks(eyes))
    assert 3 <= len(wedges) <= 4  # each at least 26 px from the others
    assert eyes[columns + 1] in wedges
    heads = [one for one, _, _ in shapes if isinstance(one, Area) and len(one.rings[0]) == 3]
    ticks = [
        one for one, _, _ in shapes if isinstance(one, Line) and one.opacity == 0.6 and one.width_px == 1.0
    ]
    assert 2 <= len(heads) <= 2 * 24
    assert len(ticks) > 10
    boxes = [
        tuple(
            np.add(word_box(one.words, *one.baseline_px, one.size_px, one.anchor, one.weight), (x, y, x, y))
        )
        for one, x, y in shapes
        if isinstance(one, Text)
    ]
    assert len(boxes) > 5
    for one, other in combinations(boxes, 2):
        assert not (one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3])
    for left, top, right, bottom in boxes:
        assert left >= 0
        assert top >= 0
        assert right <= 856
        assert bottom <= 448


def test_scenery_is_pale_and_thin_and_fades_with_distance() -> None:
    ring = np.array([(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)])
    near, far = (
        PlanObject(n, "", "", ring + np.array([x, 10.0]), ring) for n, x in (("near", 5.0), ("far", 76.0))
    )
    crate = PlanObject("crate", "primary", "crate", ring + np.array([30.0, 10.0]), ring)
    shapes = outline_shapes([near, far, crate], FRAME, True, (5.0, 10.0, 0.0))[1]
    areas = [one for one in shapes if isinstance(one, Area)]
    assert [one.edge_width_px for one in areas] == [0.8, 0.8, 1.0]
    # far: (76 - 5) x 10 px of 800 is .89, beyond .35 + .35 of the width: as faint as it gets
    assert [one.opacity for one in areas] == pytest.approx([1.0, 0.35, 1.0])


def test_ruler_keeps_its_number_wherever_other_things_are() -> None:
    for taken in ((), ((0, 150, 300, 200),), ((0, 0, 800, 200),)):
        words = Words(800.0, 200.0, SCALE)
        for box in taken:
            words.occupy(tuple(map(float, box)))  # type: ignore[arg-type]
        said = [one for one in ruler_bar(FRAME, SCALE, words, 200.0) if isinstance(one, Text)]
        assert [one.words for one in said] == [
            "10 m"
        ]  # 10 px a metre: the first round length of 60 px or more
        assert said[0].baseline_px[0] + said[0].width_px <= 800
    assert said[0].baseline_px[0] == 14 + 100 + 8  # nowhere is room: lower left all the same


def test_head_loses_of_its_name_before_of_its_numbers() -> None:
    words = "over the old harbour master's shoulder, 35 mm"
    whole = value_lines(words, 22, 900.0, 1)
    assert list(whole) == [words]
    lines = value_lines(words, 22, 200.0, 2)
    assert len(lines) <= 2
    assert all(text_width(line, 22, "bold") <= 200 for line in lines)
    assert " ".join(lines).endswith(", 35 mm")
    assert "…" in " ".join(lines)
    drawn = column_heading("3", words, 0.0, 0.0, 320.0, 0, SCALE)
    said = [one for one in drawn if isinstance(one, Text)]
    assert " ".join(one.words for one in reversed(said[1:])).endswith("35 mm")
    assert all(one.baseline_px[0] + one.width_px <= 320 for one in said)


def test_row_head_stands_in_the_middle_of_a_tall_picture() -> None:
    shapes = row_heading("B", "9:16", 34.0, 100.0, 1100.0, 1200.0, 64.0, SCALE)
    letter, value = (one for one in shapes if isinstance(one, Text))
    middle = value.baseline_px[1] - value.width_px / 2  # it runs upwards
    ceiling = letter.baseline_px[1] + 18
    assert middle == pytest.approx((ceiling + 1100.0) / 2)


def test_long_row_value_wraps_and_shrinks_and_stays_whole() -> None:
    words = "perspective with the long lens from the harbour wall"
    shapes = row_heading("B", words, 34.0, 100.0, 400.0, 480.0, 64.0, SCALE)
    _, *lines = (one for one in shapes if isinstance(one, Text))
    assert " ".join(one.words for one in lines) == words
    for one in lines:
        assert one.width_px <= 480 - 100
        assert one.size_px >= 14
        assert one.baseline_px[0] - one.size_px * 0.72 >= 34
        assert one.baseline_px[0] <= 34 + 64 + 2
