"""A page of changes: where two pictures differ, what is pale there, and how rows and words stand."""

from __future__ import annotations

import numpy as np

from stationpoint.base.look import INK
from stationpoint.ink import Group, Picture, Text
from stationpoint.sheet.before_after import (
    ChangedCell,
    before_after_page,
    difference_mask,
    difference_picture,
)


def plain(level: int) -> np.ndarray:
    return np.full((60, 100, 3), level, dtype=np.uint8)


def test_pictures_differ_where_a_thing_has_come_and_nowhere_else() -> None:
    before, after = plain(120), plain(123)  # three levels of 255 are no difference
    after[20:40, 30:50] = (240, 160, 40)
    mask = difference_mask(before, after)
    assert mask.sum() == 20 * 20
    assert mask[20:40, 30:50].all()


def test_what_differs_keeps_its_colours_within_a_line_and_the_rest_is_grey() -> None:
    after = plain(120)
    after[20:40, 30:50] = (240, 160, 40)
    after[:5] = (200, 40, 40)  # red, and the same as before
    mask = np.zeros((60, 100), dtype=bool)
    mask[20:40, 30:50] = True
    shown = difference_picture(after, mask, 2)
    assert (shown[25:35, 35:45] == (240, 160, 40)).all()
    assert (shown[30, 28:30] == INK).all()
    channels = shown[:5].astype(int)
    # 0.6 of PALE (#A9A7A2, of which red is 7 above blue) and no red of its own: 4.2, and rounding
    assert (channels.max(axis=2) - channels.min(axis=2)).max() <= 5


def test_each_changed_cell_is_a_row_of_three_and_what_is_left_out_is_counted() -> None:
    before, after = plain(100), plain(100)
    after[10:20, 10:20] = 200
    cells = [
        ChangedCell("35 mm in perspective", tuple(f"crate seen {k} %" for k in range(5)), before, after),
        ChangedCell("50 mm in perspective", ("gone",), before, None),
    ]
    page = before_after_page("What changed?", "1 reading changed.", cells, 3, 100)
    pictures = [shape for shape in page.shapes if isinstance(shape, Picture)]
    assert len(pictures) == 4
    lefts = [shape.box_px[0] for shape in pictures[:3]]
    assert lefts == [34, 34 + 124, 34 + 248]
    words = [shape.words for shape in page.shapes if isinstance(shape, Text)]
    assert not [shape for shape in page.shapes if isinstance(shape, Group)]
    assert "and 3 more cells" in words
    assert "and 2 more changes" in words
    assert "gone" in words
    assert all(text.baseline_px[1] < page.size_px[1] for text in page.shapes if isinstance(text, Text))


def test_picture_that_is_another_nearly_everywhere_has_no_lines_in_it() -> None:
    before, after = plain(100), plain(100)
    after[:, :50] = 200  # half of it
    page = before_after_page("What changed?", "", [ChangedCell("35 mm", (), before, after)], 0, 100)
    assert len([shape for shape in page.shapes if isinstance(shape, Picture)]) == 2
    assert any(shape.words.startswith("the wh") for shape in page.shapes if isinstance(shape, Text))
