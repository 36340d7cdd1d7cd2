"""Sizes against the table of the look."""

from __future__ import annotations

import pytest

from stationpoint.sheet.scale import scale_for


@pytest.mark.parametrize(
    ("cell", "u"), [(544, 1.0), (420, 0.7721), (300, 0.77), (1152, 1.45), (900, 1.45), (2000, 2.1)]
)
def test_scale_follows_the_cell_width_within_its_limits(cell: int, u: float) -> None:
    assert scale_for(cell).u == pytest.approx(u, abs=1e-4)


def test_close_up_sets_names_in_19_px_and_normal_cells_in_14() -> None:
    assert scale_for(544).type(14) == 14
    assert scale_for(1152).type(14) == 19


@pytest.mark.parametrize("cell", [100, 420, 544, 789, 1152, 3000])
def test_type_is_never_under_14_px_nor_lines_under_1_25(cell: int) -> None:
    scale = scale_for(cell)
    assert min(scale.type(14), scale.type(16), scale.page_type(14), scale.page_type(16)) >= 14
    assert scale.line(0.5) >= 1.25


def test_a_wide_page_sets_its_title_larger_so_that_it_reads_when_reduced() -> None:
    # 3536 px: 62 x (3536 / 2400)^0.7 = 81.3
    assert scale_for(544, 2400).page_type(62) == 62
    assert scale_for(544, 3536).page_type(62) == 82
