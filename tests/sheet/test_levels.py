"""The sheet of many levels: its rows, and that words stay where they have room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from stationpoint.ink import Group, Picture, Shape, Text
from stationpoint.sheet.flag import Flag
from stationpoint.sheet.levels import MARGIN_ROOM, PICTURE_PX, WIDTH_PX, LevelRow, levels_pages
from stationpoint.sheet.scale import MARGIN

LONG = "a-level-of-a-name-that-nobody-would-give-but-somebody-does-" * 3
ROWS = (
    LevelRow("mill", "", Flag("none", "the study's scene was not found")),
    LevelRow(
        LONG,
        "A1 at ledge",
        Flag("fails", "seen 0 %, needs 50 % " * 12, wrong="crate is out of view", why="cover " * 40),
        "-1",
        np.full((180, 101, 3), 200, np.uint8),
    ),
    LevelRow(
        "quay", "B2", Flag("holds", "nearest limit: seen 95 %"), "0.9", np.zeros((180, 320, 3), np.uint8)
    ),
)


def all_of(shapes: Sequence[Shape], dx: float = 0.0) -> Iterator[tuple[float, Shape]]:
    for shape in shapes:
        if isinstance(shape, Group):
            yield from all_of(shape.shapes, dx + shape.offset_px[0])
        else:
            yield dx, shape


def test_words_end_before_the_margin_and_the_page() -> None:
    (page,) = levels_pages(ROWS, "Is it seen?", "1 of 3 studies hold.", "0" * 10)
    for dx, shape in all_of(page.shapes):
        if isinstance(shape, Text):
            left = (
                dx
                + shape.baseline_px[0]
                - {"left": 0, "middle": 0.5, "right": 1}[shape.anchor] * shape.width_px
            )
            assert left >= MARGIN - 1
            assert left + shape.width_px <= WIDTH_PX - MARGIN + 1, shape.words
            is_beside = shape.anchor == "left" and left > MARGIN + PICTURE_PX
            assert not is_beside or left + shape.width_px <= WIDTH_PX - MARGIN - MARGIN_ROOM + 1, shape.words


def test_a_row_without_a_picture_says_so_and_a_failing_one_is_cut() -> None:
    (page,) = levels_pages(ROWS, "Is it seen?", "1 of 3 studies hold.", "0" * 10)
    shapes = [shape for _, shape in all_of(page.shapes)]
    assert sum(isinstance(shape, Text) and shape.words == "no picture" for shape in shapes) == 1
    cuts = [shape.cut_px > 0 for shape in shapes if isinstance(shape, Picture)]
    assert cuts == [True, False]


def test_forty_rows_make_a_page_and_each_says_which_it_is() -> None:
    pages = levels_pages([ROWS[0]] * 41, "Is it seen?", "None holds.", "0" * 10)
    words = [[one.words for _, one in all_of(page.shapes) if isinstance(one, Text)] for page in pages]
    assert [sum(one == "mill" for one in some) for some in words] == [40, 1]
    assert "page 2 of 2" in words[1]
    assert max(page.size_px[1] for page in pages) < 16384


def test_a_long_name_stands_whole_over_where_it_fails_and_what_got_worse() -> None:
    name = "the-long-gallery-under-the-north-stairs"
    where = "B2 (pitch 25° down, 5 m away), by the chest; 0 of 6 cameras hold"
    row = LevelRow(name, where, ROWS[1].flag, "-0.06", None, "2 readings got worse")
    (page,) = levels_pages([row], "Is it seen?", "1 of 3 studies hold.", "0" * 10)
    by_words = {one.words: one for _, one in all_of(page.shapes) if isinstance(one, Text)}
    tops = [by_words[words].baseline_px[1] for words in (name, where, "2 readings got worse")]
    assert tops[0] < tops[1] == tops[2]
    since = by_words["2 readings got worse"]
    assert since.baseline_px[0] + since.width_px < by_words[where].baseline_px[0]
    others = [one.baseline_px[1] for words, one in by_words.items() if words.startswith("crate is out of")]
    assert others
    assert max(others) < tops[1] - 20  # the size of their letters
