"""Type: widths against what is drawn, the font's own tables, and words that no font has."""

from __future__ import annotations

import struct

import numpy as np
import pytest
from fontTools.ttLib import TTFont

from stationpoint.ink import type as ink_type
from stationpoint.ink.letters import bolder, shape, words_set
from stationpoint.ink.type import (
    cut_text,
    fits,
    is_settable,
    missing,
    text_shape,
    text_width,
    wrap_text,
)
from stationpoint.ink.typecase import FILES, FONT_FOLDER

WORDS = [
    "Holds",
    "54.4 × 32.3 × 61.1°",
    "quad-3.1",
    "jf",
    "Åland − 3 m ≥ 2",
    "f",
    "j",
    "Which lens lets",
]  # no kerned pairs
WEIGHTS = ["light", "regular", "semibold", "bold"]


def set_by_the_tables(words, weight):
    """Where letters begin and where the last one ends, in ems, by fontTools: tables cmap, hmtx and kern."""
    tables = TTFont(FONT_FOLDER / FILES[weight])
    glyphs = [tables.getBestCmap()[ord(letter)] for letter in words]
    pairs = tables["kern"].kernTables[0].kernTable
    at = [0]
    for one, other in zip(glyphs, [*glyphs[1:], ""], strict=True):
        at.append(at[-1] + tables["hmtx"][one][0] + pairs.get((one, other), 0))
    return [units / tables["head"].unitsPerEm for units in at]


@pytest.mark.parametrize("weight", WEIGHTS)
def test_letters_lie_where_the_tables_of_the_font_say_kerned_pairs_included(weight):
    for words in (*WORDS, "To", "AVAT, LTP.", "Which lens, 5.1° or 7 m"):
        expected = set_by_the_tables(words, weight)
        shaped = shape(words, weight)
        assert [glyph.x for glyph in shaped.glyphs] == pytest.approx(expected[:-1]), words
        assert shaped.advance == pytest.approx(expected[-1])
        assert text_width(words, 1000.0, weight) >= 1000.0 * expected[-1]  # ink may stand out
    # 143 of 2048 units of kerning, as the kern table has it
    kerned = shape("T", weight).advance + shape("o", weight).advance - shape("To", weight).advance
    assert kerned == pytest.approx(143 / 2048)


def test_letters_that_join_are_one_glyph_and_accents_lie_over_their_letter():
    # Open Sans, table GSUB, feature liga: f f i -> one glyph.
    assert len(shape("ffi", "regular").glyphs) == 1
    accented = shape("q\u0301", "regular")  # no such letter in the font: two glyphs
    assert len(accented.glyphs) == 2
    accent = accented.glyphs[1]
    assert 0.0 < accent.x + accent.ink[0] < accent.x + accent.ink[1] < accented.advance
    assert accented.advance == shape("q", "regular").advance


def test_ink_of_a_letter_lies_where_its_outline_does():
    # Open Sans Regular, table glyf: "E" reaches from x 201 to 1016 and from 0 to 1462 of 2048 units.
    box = TTFont(FONT_FOLDER / FILES["regular"])["glyf"]["E"]
    assert (box.xMin, box.yMin, box.xMax, box.yMax) == (201, 0, 1016, 1462)
    mask, left, top = words_set("E", 204.8, "regular", 0)
    rows, columns = np.nonzero(mask)
    assert (left + columns.min(), left + columns.max() + 1) == (20, 102)
    assert (top + rows.min(), top + rows.max() + 1) == (-147, 0)


def test_letters_lie_on_the_nearest_half_pixel():
    # An o 990 of 2048 units on: 8.22 px at 17 px.
    assert [glyph.x_px(17.0) for glyph in shape("To", "regular").glyphs] == [0.0, 8.0]
    assert [glyph.x_px(17.6) for glyph in shape("To", "regular").glyphs] == [0.0, 8.5]


def test_bolder_mask_grows_by_whole_pixels_to_every_side_and_round_at_corners():
    dot = bolder(np.full((1, 1), 255, dtype=np.uint8), 2)
    assert dot.shape == (5, 5)
    assert np.all(dot[2] == 255)
    assert np.all(dot[:, 2] == 255)
    assert dot[0, 0] == round(255 * (3 - 8**0.5))
    edge = np.array([[255, 255, 64]], dtype=np.uint8)  # the last pixel is a quarter covered
    assert bolder(edge, 1)[1].tolist() == [255, 255, 255, 255, 64]
    assert np.array_equal(bolder(edge, 0), edge)


def test_wider_words_and_larger_sizes_measure_wider():
    assert (
        text_width("mm", 17.0) > text_width("m", 17.0) > text_width("m", 14.0) > text_width("", 14.0) == 0.0
    )


def test_figures_of_one_weight_have_one_width():
    # Open Sans sets tabular figures: readings below each other line up.
    for weight in WEIGHTS:
        assert len({text_width(f"1{figure}1", 17.0, weight) for figure in "0123456789"}) == 1


def _table(data: bytes, tag: bytes) -> int:
    """Offset of a table in a TrueType file (OpenType specification, table directory)."""
    count = struct.unpack(">H", data[4:6])[0]
    for k in range(count):
        name, _, offset, _ = struct.unpack(">4sIII", data[12 + 16 * k : 28 + 16 * k])
        if name == tag:
            return offset
    raise AssertionError(tag)


@pytest.mark.parametrize("weight", WEIGHTS)
def test_metrics_are_those_of_the_font_files(weight):
    data = (FONT_FOLDER / FILES[weight]).read_bytes()
    (em,) = struct.unpack(">H", data[_table(data, b"head") + 18 :][:2])
    ascent, descent = struct.unpack(">hh", data[_table(data, b"hhea") + 4 :][:4])
    (cap,) = struct.unpack(">h", data[_table(data, b"OS/2") + 88 :][:2])
    assert ink_type.ascent_px(100.0) == pytest.approx(100.0 * ascent / em)
    assert ink_type.descent_px(100.0) == pytest.approx(100.0 * -descent / em)
    assert ink_type.cap_height_px(100.0) == pytest.approx(100.0 * cap / em, abs=0.1)


def test_fonts_have_what_sheets_say_and_lack_cuneiform_and_ticks():
    assert missing("A-Z × − ° ′ ″ ≥ ≤ … é ü Å ß ñ Ω ж") == ""
    assert missing("a \U00012000 b ✓ \U00012000") == "\U00012000✓"
    assert missing("a\n\t\x07\u200b\ud800b") == "\ud800"  # blanks and what is invisible are no letters


def test_licence_travels_with_the_font():
    assert "Apache License" in (FONT_FOLDER / "LICENSE.txt").read_text()
    assert "Open Sans" in (FONT_FOLDER / "NOTICE.txt").read_text()


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("two\nlines\tand\r\0more", "two lines and  more"),
        ("e\u0301", "é"),
        ("a\u200b\u202eb", "ab"),
        ("✓\U00012000\U0001f600", "\ufffd\ufffd\ufffd"),
        ("half \ud800", "half \ufffd"),
        ('a/"b"\\', 'a/"b"\\'),
    ],
)
def test_any_name_becomes_one_line_that_can_be_set(name, shown):
    assert is_settable(name) == shown
    assert missing(is_settable(name)) == ""
    assert text_shape((0, 0), name, 17.0).width_px == text_width(name, 17.0) > 0.0


def test_cut_words_fit_and_end_in_an_ellipsis():
    words = "the third barge from the quay"
    assert cut_text(words, 17.0, "regular", 1000.0) == words
    for within in (20.0, 60.0, 120.0, 200.0):
        short = cut_text(words, 17.0, "regular", within)
        assert short.endswith("…")
        assert words.startswith(short[:-1])
        assert fits(short, 17.0, "regular", within)
        longer = words[: len(short)].rstrip() + "…"
        assert longer == short or not fits(longer, 17.0, "regular", within)
    assert cut_text(words, 17.0, "regular", 3.0) == ""


def test_wrapped_words_fit_and_none_is_lost_while_there_is_room():
    words = "looks joined, is 3.9 m apart and needs a cue"
    lines = wrap_text(words, 16.0, "semibold", 120.0, 9)
    assert len(lines) > 2
    assert " ".join(lines) == words
    assert all(fits(line, 16.0, "semibold", 120.0) for line in lines)


def test_wrapped_words_that_do_not_fit_end_in_an_ellipsis_on_the_last_line():
    lines = wrap_text("looks joined, is 3.9 m apart and needs a cue", 16.0, "semibold", 120.0, 2)
    assert len(lines) == 2
    assert lines[-1].endswith("…")
    assert all(fits(line, 16.0, "semibold", 120.0) for line in lines)


def test_word_wider_than_the_line_is_broken_within():
    lines = wrap_text("a" * 60, 16.0, "regular", 100.0, 99)
    assert len(lines) > 3
    assert "".join(lines) == "a" * 60


def test_nothing_wraps_to_nothing():
    assert wrap_text(" \n ", 16.0, "regular", 100.0, 3) == ()
