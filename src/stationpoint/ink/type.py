"""Type: the bundled font (Open Sans) and its real metrics; every width on a page is measured here."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal
from unicodedata import category, normalize

from stationpoint.base.look import RGB
from stationpoint.ink.letters import extent_px, has_glyph
from stationpoint.ink.shapes import Anchor, Halo, Point, Text, Weight

ELLIPSIS = "\u2026"
REPLACEMENT = "\ufffd"  # in the font: a diamond with a question mark
BLANK = ("Cc", "Zl", "Zp", "Zs")  # categories of what is set as a space

# The font's own tables, in units of 2048 an em (head, hhea, OS/2).
ASCENT, DESCENT, CAP_HEIGHT, X_HEIGHT = 2189 / 2048, 600 / 2048, 1462 / 2048, 1096 / 2048


def _missing(character: str) -> bool:
    """Whether a character that should be seen cannot be set."""
    kind = category(character)
    return kind == "Cs" or (kind not in BLANK and kind != "Cf" and not has_glyph(character))


def missing(words: str) -> str:
    """The characters of `words` that `settable` replaces by a mark, each once, in order."""
    return "".join(dict.fromkeys(c for c in normalize("NFC", words) if _missing(c)))


@lru_cache(maxsize=16384)
def is_settable(words: str) -> str:
    """`words` as one line that the font can set.

    Line breaks, tabs and controls become spaces, invisible formatting characters go, and what the
    font lacks becomes a visible mark: settable("a\\nb → c") gives "a b � c".
    """
    result = []
    for character in normalize("NFC", words):
        kind = category(character)
        if kind in BLANK:
            result.append(" ")
        elif _missing(character):
            result.append(REPLACEMENT)
        elif kind != "Cf":
            result.append(character)
    return "".join(result)


def text_width(words: str, size_px: float, weight: Weight = "regular") -> float:
    """Width of `words` as they will be painted, halo aside."""
    left, right = extent_px(is_settable(words), size_px, weight)
    return right - left


def ascent_px(size_px: float) -> float:
    """From the baseline to the top of the tallest letters with accents."""
    return ASCENT * size_px


def descent_px(size_px: float) -> float:
    """From the baseline down to the lowest stroke."""
    return DESCENT * size_px


def cap_height_px(size_px: float) -> float:
    """Height of capitals and, within 2 %, of figures: cap_height_px(100) is 71.4."""
    return CAP_HEIGHT * size_px


def x_height_px(size_px: float) -> float:
    """Height of a small x in the regular weight: x_height_px(100) is 53.5."""
    return X_HEIGHT * size_px


def fits(words: str, size_px: float, weight: Weight, within_px: float) -> bool:
    """Whether `words` are no wider than `within_px`."""
    return text_width(words, size_px, weight) <= within_px


def cut_text(words: str, size_px: float, weight: Weight, within_px: float) -> str:
    """`words`, shortened with an ellipsis until they fit; "" where not even that fits."""
    words = is_settable(words)
    if fits(words, size_px, weight, within_px):
        return words
    low, high = -1, len(words) - 1  # so many characters fit; so many do not
    while high - low > 1:
        middle = (low + high) // 2
        if fits(words[:middle].rstrip() + ELLIPSIS, size_px, weight, within_px):
            low = middle
        else:
            high = middle
    return words[:low].rstrip() + ELLIPSIS if low >= 0 else ""


def _broken(word: str, size_px: float, weight: Weight, within_px: float) -> list[str]:
    """A word in pieces that fit, of one character at least."""
    pieces = [""]
    for character in word:
        if pieces[-1] and not fits(pieces[-1] + character, size_px, weight, within_px):
            pieces.append("")
        pieces[-1] += character
    return pieces


def wrap_text(
    words: str, size_px: float, weight: Weight, within_px: float, most_lines: int
) -> tuple[str, ...]:
    """`words` in at most `most_lines` lines that fit; what is left over ends in an ellipsis.

    Breaks at spaces, within a word only where the word alone is too wide.
    """
    lines = [""]
    for word in is_settable(words).split():
        for k, piece in enumerate(_broken(word, size_px, weight, within_px)):
            longer = f"{lines[-1]} {piece}" if lines[-1] else piece
            if k == 0 and fits(longer, size_px, weight, within_px):
                lines[-1] = longer
            elif lines[-1]:
                lines.append(piece)
            else:
                lines[-1] = piece
    if len(lines) > most_lines:
        rest = " ".join(lines[most_lines - 1 :])
        lines = [*lines[: most_lines - 1], cut_text(rest, size_px, weight, within_px)]
    return tuple(cut_text(line, size_px, weight, within_px) for line in lines if line)


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
