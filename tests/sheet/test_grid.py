"""The grid is arithmetic: hand-checked sums."""

from __future__ import annotations

import pytest

from sheet.made import study
from stationpoint.sheet.grid import CellParts, arrange, columns_of_flow, lay_out_grid
from stationpoint.study.sweep import expand

PARTS = CellParts(
    width=544, flag=36, flag_gap=14, picture=306, picture_gap=16, strip=26, strip_gap=8, caption=69
)


def variants(rows: int, columns: int) -> list:
    """Variants of a sweep of so many rows (pitch) and columns (lens)."""
    sweep = {
        "rows": {"pitch_deg": [float(k) for k in range(rows)]},
        "columns": {"focal_mm": [float(20 + k) for k in range(columns)]},
    }
    return list(expand(study(sweep=sweep)))


def test_cell_parts_sum_to_the_whole_cell() -> None:
    # 36 + 14 + 306 + 16 + 26 + 8 + 69, the cell of the look from the top
    assert PARTS.height == 475
    assert (PARTS.picture_top, PARTS.strip_top, PARTS.caption_top) == (50, 372, 406)


@pytest.mark.parametrize(
    ("columns", "width"),
    [
        (4, 2400),  # 34 + 84 + 4 x 544 + 3 x 24 + 34
        (2, 1264),  # 34 + 84 + 2 x 544 + 24 + 34
        (6, 3536),  # 34 + 84 + 6 x 544 + 5 x 24 + 34
    ],
)
def test_margins_row_heads_cells_and_gutters_sum_to_the_page(columns: int, width: int) -> None:
    those = lay_out_grid(arrange(variants(2, columns)), PARTS, top=500, heading_px=66)
    assert those.width == width
    assert those.lefts == tuple(118 + k * 568 for k in range(columns))
    assert those.heading_tops == (500,)
    assert those.tops == (566, 566 + 475 + 30)
    assert those.bottom == 566 + 2 * 475 + 30


def test_one_axis_flows_without_row_heads_and_repeats_column_heads() -> None:
    those = lay_out_grid(arrange(variants(1, 7)), PARTS, top=0, heading_px=66)
    assert those.width == 34 + 4 * 544 + 3 * 24 + 34
    assert those.heading_tops == (0, 66 + 475 + 30)
    assert those.tops == (66, 66 + 475 + 30 + 66)


@pytest.mark.parametrize(
    ("count", "columns"), [(1, 1), (4, 4), (5, 5), (6, 3), (7, 4), (8, 4), (9, 3), (12, 4), (24, 6)]
)
def test_flow_keeps_short_lines_whole_and_wraps_longer_ones_evenly(count: int, columns: int) -> None:
    if count == 24:
        assert count % columns_of_flow(count) == 0
    else:
        assert columns_of_flow(count) == columns


def test_matrix_needs_every_cell_of_the_product() -> None:
    whole = variants(2, 3)
    assert arrange(whole).matrix
    assert arrange(whole).at["B3"] == (1, 2)
    some = [v for v in whole if v.label != "B2"]
    assert not arrange(some).matrix
    assert arrange(some).at["B3"] == (0, 4)


def test_each_line_is_as_high_as_its_own_pictures() -> None:
    # lines of 306, 544 and 233 px in place of 544 each: 475 - 306 = 169 px are not the picture's
    those = lay_out_grid(arrange(variants(3, 2)), PARTS, top=0, heading_px=66, pictures_px=(306, 544, 233))
    assert those.tops == (66, 66 + 475 + 30, 66 + 475 + 30 + 169 + 544 + 30)
    assert those.bottom == those.tops[2] + 169 + 233
