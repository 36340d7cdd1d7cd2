"""Type: the fonts at hand and the metrics of the first, Open Sans; every width on a page is measured here."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import Literal
from unicodedata import category, east_asian_width, normalize

from stationpoint.base.look import RGB
from stationpoint.ink.bidi import FSI, MARKS, OPENERS, PDI, base_level, has_rtl
from stationpoint.ink.clusters import ZWJ, ZWNJ, clusters
from stationpoint.ink.letters import extent_px
from stationpoint.ink.shapes import Anchor, Halo, Point, Text, Weight
from stationpoint.ink.typecase import font_of, forgotten, use_further_fonts

ELLIPSIS = "\u2026"
REPLACEMENT = "\ufffd"  # in the font: a diamond with a question mark
BLANK = ("Cc", "Zl", "Zp", "Zs")  # categories of what is set as a space

DIRECTION = MARKS[:2]  # of a line set from left to right, and of one from right to left
WIDE = ("W", "F")
NEVER_FIRST = (
    "、。，．：；！？）」』】〕〉》・ーゝゞ々ぁぃぅぇぉっゃゅょァィゥェォッャュョ％"  # in a line (JIS X 4051)
)
KEPT = frozenset(
    (*OPENERS, PDI, *MARKS, ZWJ, ZWNJ)
)  # without ink, but letters are ordered and joined by them

SELECTORS = frozenset(map(chr, (*range(0xFE00, 0xFE10), *range(0xE0100, 0xE01F0))))  # of a sign's variant

# Open Sans's own tables, in units of 2048 an em (head, hhea, OS/2).
ASCENT, DESCENT, CAP_HEIGHT = 2189 / 2048, 600 / 2048, 1462 / 2048


def _missing(character: str) -> bool:
    """Whether a character that should be seen cannot be set."""
    kind = category(character)
    if kind in BLANK or kind == "Cf" or character in SELECTORS:
        return False
    return kind == "Cs" or font_of(character) is None


def missing(words: str) -> str:
    """The characters of `words` that `settable` replaces by a mark, each once, in order."""
    if words.isascii():
        return ""
    return "".join(dict.fromkeys(c for c in normalize("NFC", words) if _missing(c)))


_apart: re.Pattern[str] | None = None


def use_type(fonts: Sequence[bytes] = (), names: Iterable[str] = ()) -> None:
    """What words are set with from now on, until it is said again; a process that is forked has it too.

    fonts: files of further fonts. names: those of things; one that is set from right to left is ordered by
    itself wherever it stands, so that it never takes a number beside it along. ValueError where a file is
    no font.
    """
    global _apart
    use_further_fonts(fonts)
    turned = sorted({_plain(name) for name in names if has_rtl(name)}, key=len, reverse=True)
    each = "|".join(map(re.escape, turned))
    _apart = re.compile(rf"(?<![\w{FSI}])(?:{each})(?!\w)") if turned else None
    for measured in (is_settable, text_width, wrap_text):
        measured.cache_clear()


@lru_cache(maxsize=16384)
def is_settable(words: str) -> str:
    """`words` as one line that the fonts at hand can set.

    Line breaks, tabs and controls become spaces, formatting characters go but for those that letters are
    ordered and joined by, and what every font lacks becomes a visible mark: settable("a\\nb \U00012000 c")
    gives "a b � c". Names that are known to be set from right to left are isolated (`use_type`).
    """
    words = _plain(words)
    return words if _apart is None or not has_rtl(words) else _apart.sub(rf"{FSI}\g<0>{PDI}", words)


def _plain(words: str) -> str:
    if words.isascii() and words.isprintable():
        return words
    return "".join(map(_set_as, normalize("NFC", words)))


@lru_cache(maxsize=16384)
def _set_as(character: str) -> str:
    """What stands for a character in a line, "" for nothing."""
    kind = category(character)
    if kind in BLANK:
        return " "
    if _missing(character):
        return REPLACEMENT
    return character if (kind != "Cf" and character not in SELECTORS) or character in KEPT else ""


forgotten(is_settable, _set_as)


@lru_cache(maxsize=16384)
def text_width(words: str, size_px: float, weight: Weight = "regular") -> float:
    """Width of `words` as they will be painted, halo aside."""
    left, right = extent_px(is_settable(words), size_px, weight)
    return right - left


forgotten(text_width)


def ascent_px(size_px: float) -> float:
    """From the baseline to the top of the tallest letters with accents."""
    return ASCENT * size_px


def descent_px(size_px: float) -> float:
    """From the baseline down to the lowest stroke."""
    return DESCENT * size_px


def cap_height_px(size_px: float) -> float:
    """Height of capitals and, within 2 %, of figures: cap_height_px(100) is 71.4."""
    return CAP_HEIGHT * size_px


def fits(words: str, size_px: float, weight: Weight, within_px: float) -> bool:
    """Whether `words` are no wider than `within_px`."""
    return text_width(words, size_px, weight) <= within_px


def cut_text(words: str, size_px: float, weight: Weight, within_px: float) -> str:
    """`words`, shortened with an ellipsis until they fit; "" where not even that fits.

    Cut between letters as a reader takes them (`clusters`), at the end that is read last. What is set from
    right to left is then isolated, and so is still one thing where it is put into a sentence.
    """
    words = is_settable(words)
    if fits(words, size_px, weight, within_px):
        return words
    those = clusters(words)
    low, high = -1, len(those) - 1  # so many fit; so many do not
    while high - low > 1:
        middle = (low + high) // 2
        if fits(_cut(those[:middle]), size_px, weight, within_px):
            low = middle
        else:
            high = middle
    return _cut(those[:low]) if low >= 0 else ""


def shorter_names(name: str) -> Iterator[str]:
    """A name, then ever less of it with an ellipsis at its end, so that in a sentence the name is cut."""
    yield name
    those = clusters(is_settable(name))
    yield from (_cut(those[:count]) for count in reversed(range(1, len(those))))


def _cut(those: Sequence[str]) -> str:
    """The first clusters of a line, an ellipsis, and an end for every isolate that was cut open."""
    words = "".join(those).rstrip()
    cut = words + ELLIPSIS + PDI * _left_open(words)
    return f"{FSI}{cut}{PDI}" if has_rtl(words) else cut


def _left_open(words: str) -> int:
    """How many isolates begin in `words` and do not end there."""
    count = 0
    for character in words:
        count = count + 1 if character in OPENERS else max(0, count - (character == PDI))
    return count


def _broken(word: str, size_px: float, weight: Weight, within_px: float) -> list[str]:
    """A word in pieces that fit, of one letter at least."""
    if fits(word, size_px, weight, within_px):
        return [word]
    pieces = [""]
    for letter in clusters(word):
        if pieces[-1] and not fits(pieces[-1] + letter, size_px, weight, within_px):
            pieces.append("")
        pieces[-1] += letter
    return pieces


def _breakable(words: str) -> list[tuple[str, str]]:
    """What a line may be broken between, each with what stands before it: a blank, or nothing within Han
    and kana, which are written without blanks."""
    found: list[tuple[str, str]] = []
    for word in words.split():
        glue = " "
        for letter in [word] if word.isascii() else clusters(word):
            follows = not word.isascii() and glue == "" and not _may_part(found[-1][1][-1], letter[0])
            if follows:
                found[-1] = (found[-1][0], found[-1][1] + letter)
            else:
                found.append((glue, letter))
            glue = ""
    return found


def _may_part(one: str, other: str) -> bool:
    """Whether a line may end between two characters that no blank parts."""
    wide = all(east_asian_width(c) in WIDE and not "\uac00" <= c <= "\ud7a3" for c in (one, other))
    return wide and category(one) not in ("Ps", "Pi") and other not in NEVER_FIRST


@lru_cache(maxsize=4096)
def wrap_text(
    words: str, size_px: float, weight: Weight, within_px: float, most_lines: int
) -> tuple[str, ...]:
    """`words` in at most `most_lines` lines that fit; what is left over ends in an ellipsis.

    Breaks at spaces and between Han and kana, within a word only where the word alone is too wide. Every
    line keeps the direction of the whole.
    """
    lines = [""]
    words = is_settable(words)
    if words.isascii() and fits(whole := " ".join(words.split()), size_px, weight, within_px):
        return (whole,) if whole else ()
    for glue, word in _breakable(words):
        for k, piece in enumerate(_broken(word, size_px, weight, within_px)):
            longer = f"{lines[-1]}{glue}{piece}" if lines[-1] else piece
            if k == 0 and fits(longer, size_px, weight, within_px):
                lines[-1] = longer
            elif lines[-1]:
                lines.append(piece)
            else:
                lines[-1] = piece
    if len(lines) > most_lines:
        rest = " ".join(lines[most_lines - 1 :])
        lines = [*lines[: most_lines - 1], cut_text(rest, size_px, weight, within_px)]
    if has_rtl(words):
        lines = _ordered_alike(lines, base_level(words))
    return tuple(cut_text(line, size_px, weight, within_px) for line in lines if line)


forgotten(wrap_text)


def _ordered_alike(lines: Sequence[str], base: int) -> list[str]:
    """Lines of one text: each begins with the mark of the text's direction and in the isolates left open."""
    result, begun = [], ""
    for line in lines:
        whole = begun + line
        begun = FSI * _left_open(whole)
        result.append(DIRECTION[base] + whole + PDI * len(begun))
    return result


def text_shape(
    baseline_px: Point,
    words: str,
    size_px: float,
    weight: Weight = "regular",
    ink: RGB = (18, 20, 22),
    *,
    halo: Halo | None = None,
    anchor: Anchor = "left",
    turn_deg: Literal[0, 90] = 0,
) -> Text:
    """A Text of words that the font can set, measured."""
    words = is_settable(words)
    width = text_width(words, size_px, weight)
    return Text(baseline_px, words, size_px, weight, ink, width, halo, anchor, turn_deg)
