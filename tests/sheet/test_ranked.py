"""Sheets in an order of their own: widths and places as hand-checked sums, headings by label."""

from __future__ import annotations

import pytest

from sheet.made import owners, plan, results, study, words
from stationpoint.sheet.compose import compose_pages
from stationpoint.sheet.grid import CellParts
from stationpoint.sheet.ranked import (
    Ranked,
    columns_of_ranked,
    lay_out_hero,
    ranked_widths,
    small_width,
)


def parts(width: int, picture: int) -> CellParts:
    return CellParts(width, 36, 14, picture, 16, 26, 8, 69)


@pytest.mark.parametrize(
    ("count", "columns"),
    [(1, 3), (2, 3), (3, 3), (4, 3), (5, 3), (6, 5), (7, 5), (8, 3), (11, 3), (12, 5)],  # of count - 2
)
def test_small_ones_leave_the_fewest_places_empty(count: int, columns: int) -> None:
    assert columns_of_ranked(count, True) == columns


def test_first_spans_two_columns_of_three_or_three_of_five() -> None:
    assert ranked_widths(8, True, 544) == [2 * 544 + 24, 544, *[544] * 6]
    assert ranked_widths(7, True, 430) == [3 * 430 + 2 * 24, 2 * 430 + 24, *[430] * 5]
    assert ranked_widths(1, True, 544) == [1112]
    assert ranked_widths(3, False, 544) == [544] * 3
    assert (small_width(8, True), small_width(7, True), small_width(7, False)) == (544, 430, 544)


def test_hero_stands_left_the_runner_up_beside_it_and_the_rest_in_lines_below() -> None:
    cells = [parts(1112, 626), parts(544, 306), *[parts(544, 306)] * 6]
    # heights: 36 + 14 + 626 + 16 + 26 + 8 + 69 = 795, and 475 of the others
    grid, spots = lay_out_hero(cells, 100, 66)
    assert spots[:2] == [(34, 166), (34 + 1112 + 24, 166)]
    second = 166 + 795 + 30 + 66
    third = second + 475 + 30 + 66
    assert spots[2:] == [(x, y) for y in (second, third) for x in (34, 602, 1170)]
    assert grid.width == 34 + 3 * 544 + 2 * 24 + 34
    assert grid.bottom == third + 475


def test_cells_are_headed_by_label_values_and_what_they_are() -> None:
    those = study()
    made = results(those)
    labels = ("B1", "A2", "A1")
    ranked = Ranked(labels, False, {"B1": "best by margin"}, "the 3 best of 4 by worst margin")
    (page,) = compose_pages(
        made,
        those,
        record_hash="1b5a5ed396",
        plan=plan(those, made),
        owner_by_id=owners(those),
        ranked=ranked,
    )
    said = words(page)
    assert [word for word in dict.fromkeys(said) if word in labels] == list(labels)
    assert "24 mm, orthographic: best by margin" in said
    assert "50 mm, perspective" in said
    assert "the 3 best of 4 by worst margin" in said
    assert "B2" not in said
    assert page.size_px[0] == 34 + 3 * 544 + 2 * 24 + 34
