"""Names in any script: fonts that have them, letters joined and ordered, cut between letters, never boxes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from unicodedata import normalize

import numpy as np
import pytest

from stationpoint.ink import typecase
from stationpoint.ink.clusters import clusters
from stationpoint.ink.letters import shape, words_set
from stationpoint.ink.type import (
    cut_text,
    fits,
    is_settable,
    missing,
    shorter_names,
    text_width,
    use_type,
    wrap_text,
)
from stationpoint.ink.typecase import BUNDLED, FONT_FOLDER, font_fault
from tiny_font import tiny_font

NAMES = {
    "Japanese": "港の縁",
    "Chinese, simplified": "码头边缘",
    "Chinese, traditional": "碼頭邊緣",
    "Korean": "부두 가장자리",
    "Arabic": "حافة الرصيف",
    "Persian": "لبه‌ی اسکله پچگ",
    "Hebrew": "שפת הרציף",
    "Hindi": "छत की मुंडेर",
    "Thai": "ขอบท่าเรือ",
    "mixed": "زاوية 35 mm、港 é",
}
WEIGHTS = ("light", "regular", "semibold", "bold")
FSI, PDI = "\u2068", "\u2069"


@pytest.fixture(autouse=True)
def _type_as_it_comes() -> Iterator[None]:
    use_type()
    yield
    use_type()


def glyph_names(words: str) -> list[tuple[int, int]]:
    return [(glyph.font, glyph.number) for glyph in shape(words, "regular").glyphs]


@pytest.mark.parametrize("weight", WEIGHTS)
@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_names_are_set_without_a_glyph_that_stands_for_a_missing_one(name: str, weight: str) -> None:
    assert missing(name) == ""
    assert is_settable(name) == normalize("NFC", name)
    shaped = shape(name, weight)
    assert all(glyph.number != 0 for glyph in shaped.glyphs)
    assert shaped.advance > 0.0
    assert words_set(name, 17.0, weight, 0).mask.any()


def test_lam_and_alef_are_one_glyph() -> None:
    # Unicode 16, section 9.2: lam and alef must be joined, whatever else a font does.
    assert len(shape("لا", "regular").glyphs) == 1


def test_arabic_letters_are_joined_and_zwnj_parts_them() -> None:
    # The same letter is another glyph alone, first, in the middle and last (Unicode 16, section 9.2).
    alone, joined = shape("ع", "regular").glyphs, shape("ععع", "regular").glyphs
    assert len({glyph.number for glyph in (*alone, *joined)}) == 4
    parted = shape("ع\u200cع", "regular").glyphs
    assert [glyph.number for glyph in parted] == [alone[0].number] * 2


def test_short_i_of_devanagari_stands_before_its_consonants() -> None:
    # Unicode 16, section 12.1: the sign is written after, and seen before, what it belongs to.
    ksha = shape("क्ष", "regular").glyphs
    kshi = shape("क्षि", "regular").glyphs
    assert len(ksha) == 1
    assert len(kshi) == 2
    assert kshi[1].number == ksha[0].number
    assert kshi[0].x < kshi[1].x


def test_hebrew_is_seen_from_right_to_left() -> None:
    one, two = (shape(letter, "regular").glyphs[0].number for letter in "של")
    assert [glyph.number for glyph in shape("של", "regular").glyphs] == [two, one]


def test_figures_and_units_beside_another_script_are_open_sans_ones_in_order() -> None:
    latin = [number for font, number in glyph_names("زاوية 35 mm") if font == 0]
    three, five, em = (shape(letter, "regular").glyphs[0].number for letter in "35m")
    inked = [number for number in latin if number in (three, five, em)]
    assert inked == [em, em, three, five]  # read from the right: the name, 35, mm; as UAX #9 orders it


def test_words_of_open_sans_read_no_other_font(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(number: int, weight: str) -> object:
        assert number == 0, "another font was read"
        return face(number, weight)

    face = typecase.face
    for room in ("runs", "letters", "typecase"):
        monkeypatch.setattr(f"stationpoint.ink.{room}.face", none, raising=False)
    for cached in (shape, is_settable, typecase.font_of):
        cached.cache_clear()
    for words in ("Holds 54.4°", "Åland − Ω ж × ≥", "plain"):
        assert text_width(words, 17.0) > 0.0


@pytest.mark.parametrize(
    "words",
    ["น้ำ ปี่ ที่ กี่ ฐุ", "कैं र्कीं ह्रू द्ध्रू", "חֹלֶם לָּ", "港鬱「」가각", "الحافة زاوية شكر آ"],
)
def test_tall_and_deep_marks_keep_to_a_line(words: str) -> None:
    # Lines of captions are 23 px apart at 17 px: 1.35 ems. What reaches up past Open Sans's own ascent of
    # 1.07 (hhea), or 0.36 down, would meet the line above or below.
    mask, _, top = words_set(is_settable(words), 200.0, "bold", 0)
    assert -top <= 1.07 * 200
    assert top + mask.shape[0] <= 0.36 * 200


def test_han_made_bolder_takes_no_more_room_and_has_more_ink() -> None:
    thin, fat = (words_set("港の縁", 60.0, weight, 0).mask for weight in ("regular", "bold"))
    assert shape("港の縁", "bold").advance == pytest.approx(shape("港の縁", "regular").advance)
    assert fat.astype(float).sum() > 1.15 * thin.astype(float).sum()


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("e\u0301a", ["e\u0301", "a"]),  # GB9
        ("क्षिति", ["क्षि", "ति"]),  # GB9a and GB9c
        ("กำนี้", ["กำ", "นี้"]),  # SpacingMark: sara am
        ("港の", ["港", "の"]),
        ("👩\u200d🚀x", ["👩\u200d🚀", "x"]),  # GB11
        ("🇯🇵🇰🇷", ["🇯🇵", "🇰🇷"]),  # GB12
        (f"a{FSI}שם{PDI}b", ["a", f"{FSI}ש", f"ם{PDI}", "b"]),  # ours: isolates stay whole
        ("", []),
    ],
)
def test_clusters_are_those_of_the_standard(words: str, expected: list[str]) -> None:
    # The rules of UAX #29 named beside each.
    assert clusters(words) == expected


@pytest.mark.parametrize("name", [name * 4 for name in NAMES.values()], ids=NAMES)
def test_long_names_are_cut_between_letters_at_the_end_that_is_read_last(name: str) -> None:
    every = clusters(is_settable(name))
    for within in (30.0, 60.0, 110.0):
        short = cut_text(name, 17.0, "regular", within)
        assert fits(short, 17.0, "regular", within)
        kept = short.strip(FSI + PDI)
        assert kept.endswith("…")
        assert kept[:-1] in {"".join(every[:k]).rstrip() for k in range(len(every))}
        assert all(glyph.number != 0 for glyph in shape(short, "regular").glyphs)


def test_ellipsis_of_a_name_set_from_right_to_left_stands_at_its_left() -> None:
    short = cut_text("שפת הרציף הארוך", 17.0, "regular", 70.0)
    dots = shape("…", "regular").glyphs[0].number
    first = shape(short, "regular").glyphs[0]
    assert (first.font, first.number) == (0, dots)
    # Put before a length, name and ellipsis stay together and the length stays last.
    whole = glyph_names(f"{short} 3.2 m")
    assert whole[-1] == (0, shape("m", "regular").glyphs[0].number)
    assert whole[0] == (0, dots)


def test_known_name_takes_no_number_along() -> None:
    name = "الحافة"
    use_type(names=[name, "plain"])
    assert is_settable(f"to {name} 3.2 m") == f"to {FSI}{name}{PDI} 3.2 m"
    assert is_settable(is_settable(name)) == f"{FSI}{name}{PDI}"
    assert is_settable(f"{name}ات") == f"{name}ات"  # a part of another word is none
    use_type()
    assert is_settable(f"to {name} 3.2 m") == f"to {name} 3.2 m"


def test_han_wraps_between_letters_but_no_line_begins_with_a_full_stop() -> None:
    words = "港の縁から跳ぶ。距離を見極める。"
    for within in (60.0, 80.0, 100.0, 120.0):
        lines = wrap_text(words, 17.0, "regular", within, 20)
        assert "".join(lines) == words
        assert all(fits(line, 17.0, "regular", within) for line in lines)
        assert not any(line.startswith("。") for line in lines)


def test_lines_of_one_text_keep_its_direction() -> None:
    # The second line begins with Latin letters, and is still set from right to left: its number stands left.
    lines = wrap_text("עדשה של mm 35 ועוד", 17.0, "regular", 70.0, 9)
    assert len(lines) > 1
    assert all(line.startswith("\u200f") for line in lines)


def test_what_no_font_has_is_one_mark_and_is_named() -> None:
    assert is_settable("\U00012000x") == "\ufffdx"
    assert missing("\U00012000x\U00012000港") == "\U00012000"


def test_further_font_sets_what_the_bundled_lack_as_wide_as_it_says() -> None:
    assert missing("\U00012000") == "\U00012000"
    use_type([tiny_font("\U00012000")])
    assert missing("\U00012000") == ""
    assert shape("\U00012000", "regular").advance == pytest.approx(0.6)
    mask, _, top = words_set("\U00012000", 100.0, "regular", 0)
    assert (-top, mask.shape) == (70, (70, 60))
    assert np.all(mask == 255)
    use_type()
    assert missing("\U00012000") == "\U00012000"


def test_further_font_comes_after_open_sans_and_before_the_bundled() -> None:
    use_type([tiny_font("港"), tiny_font("x")])
    assert [glyph.font for glyph in shape("x港の", "regular").glyphs] == [0, 1, 2 + len(BUNDLED)]


def test_font_that_is_very_high_is_set_smaller_so_that_lines_stay_apart() -> None:
    # Open Sans is 2789 of 2048 units high (hhea), 1.362 ems; a font of 1.6 is set at 0.851 of its size.
    use_type([tiny_font("\U00012000", ascent=1200, descent=-400)])
    assert shape("\U00012000", "regular").advance == pytest.approx(0.6 * (2789 / 2048) / 1.6)
    use_type([tiny_font("\U00012000", ascent=4000, descent=-400)])
    assert shape("\U00012000", "regular").advance == pytest.approx(0.6 * 0.8)


def test_what_is_no_font_is_told() -> None:
    assert font_fault(b"") == font_fault(b"scene = 1") == "is no font file (TrueType or OpenType)"
    assert font_fault(tiny_font("a")) == ""
    assert font_fault(tiny_font("a")[:60]) != ""
    with pytest.raises(ValueError, match="no font file"):
        use_type([b"x"])


def test_licence_and_origin_of_every_font_lie_beside_it() -> None:
    told = (FONT_FOLDER / "README.md").read_text()
    for file in FONT_FOLDER.glob("*.?tf"):
        assert file.name.split("-")[0] in told
    licence = (FONT_FOLDER / "OFL.txt").read_text()
    assert "SIL OPEN FONT LICENSE" in licence
    for one in BUNDLED:
        assert one.regular.split("-")[0].removeprefix("NotoSans").removesuffix("jp") in licence
        assert Path(FONT_FOLDER / one.regular).is_file()
    assert sum(file.stat().st_size for file in FONT_FOLDER.iterdir()) < 8e6


def test_shorter_names_lose_a_letter_at_a_time_and_no_mark_of_one() -> None:
    assert list(shorter_names("तीसरी")) == ["तीसरी", "तीस…", "ती…"]
    assert list(shorter_names("abc")) == ["abc", "ab…", "a…"]
    assert list(shorter_names("שם"))[1] == f"{FSI}ש…{PDI}"
