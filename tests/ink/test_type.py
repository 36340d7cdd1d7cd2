"""Type: widths against what is drawn, the font's own tables, and words that no font has."""

from __future__ import annotations

import struct

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont, features

from stationpoint.ink import type as ink_type
from stationpoint.ink.kerning import kerning
from stationpoint.ink.type import (
    cut_text,
    extent_px,
    fits,
    font,
    is_settable,
    missing,
    text_shape,
    text_width,
    wrap_text,
)

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


@pytest.mark.parametrize("weight", WEIGHTS)
@pytest.mark.parametrize("size_px", [14.0, 17.4, 30.0, 62.0])
def test_words_are_never_drawn_wider_than_measured(weight, size_px):
    for words in WORDS:
        canvas = Image.new("L", (2000, 200))
        draw = ImageDraw.Draw(canvas)
        draw.text((100, 120), words, 255, font(size_px, weight), anchor="ls")
        left, _, right, _ = draw.textbbox((100, 120), words, font(size_px, weight), anchor="ls")
        columns = np.flatnonzero(np.asarray(canvas).any(axis=0))
        assert len(columns)
        assert right - left <= text_width(words, size_px, weight) + 0.02  # Pillow adds 1/64 px a pair
        from_px, to_px = extent_px(words, size_px, weight)
        assert columns[0] >= 100 + from_px
        assert columns[-1] < 100 + to_px


@pytest.mark.skipif(not features.check("raqm"), reason="no HarfBuzz in this Pillow to compare with")
@pytest.mark.parametrize("weight", WEIGHTS)
def test_kerning_is_what_harfbuzz_finds_in_the_font(weight):
    file = ink_type.FONT_FOLDER / ink_type.FILES[weight]
    pairs = kerning(file)
    shaped = ImageFont.truetype(str(file), 2048, layout_engine=ImageFont.Layout.RAQM)
    letters = "AFLPTVWYaefilorty.,-'05"
    alone = {letter: shaped.getlength(letter) for letter in letters}
    kerned = 0
    for one in letters:
        for other in letters:
            found = shaped.getlength(one + other, features=["-liga"]) - alone[one] - alone[other]
            assert 2048 * pairs.get(one + other, 0.0) == pytest.approx(found, abs=1.0), one + other
            kerned += one + other in pairs
    assert kerned > 50
    assert pairs == kerning(ink_type.FONT_FOLDER / ink_type.FILES[ink_type.KERNED_BY])


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
    data = (ink_type.FONT_FOLDER / ink_type.FILES[weight]).read_bytes()
    (em,) = struct.unpack(">H", data[_table(data, b"head") + 18 :][:2])
    ascent, descent = struct.unpack(">hh", data[_table(data, b"hhea") + 4 :][:4])
    (cap,) = struct.unpack(">h", data[_table(data, b"OS/2") + 88 :][:2])
    assert ink_type.ascent_px(100.0) == pytest.approx(100.0 * ascent / em)
    assert ink_type.descent_px(100.0) == pytest.approx(100.0 * -descent / em)
    assert ink_type.cap_height_px(100.0) == pytest.approx(100.0 * cap / em, abs=0.1)


def test_font_has_what_sheets_say_and_lacks_arrows_and_ticks():
    assert missing("A-Z × − ° ′ ″ ≥ ≤ … é ü Å ß ñ Ω ж") == ""
    assert missing("a → b ✓ →") == "→✓"
    assert missing("a\n\t\x07\u200b\ud800b") == "\ud800"  # blanks and what is invisible are no letters


def test_licence_travels_with_the_font():
    assert "Apache License" in (ink_type.FONT_FOLDER / "LICENSE.txt").read_text()
    assert "Open Sans" in (ink_type.FONT_FOLDER / "NOTICE.txt").read_text()


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("two\nlines\tand\r\0more", "two lines and  more"),
        ("e\u0301", "é"),
        ("a\u200b\u202eb", "ab"),
        ("中→\U0001f600", "\ufffd\ufffd\ufffd"),
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
