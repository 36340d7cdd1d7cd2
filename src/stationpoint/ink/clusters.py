"""What a reader takes for one letter: a line's characters in clusters, and the script of each."""

from __future__ import annotations

from functools import lru_cache
from unicodedata import category, combining

from stationpoint.ink.bidi import OPENERS, PDI

ZWNJ, ZWJ = "\u200c", "\u200d"
THAI_AM = "\u0e33\u0eb3"  # vowels that stand after their letter and over it
VIRAMA = 9  # the combining class of what joins two consonants
FLAGS, TONES = ("\U0001f1e6", "\U0001f1ff"), ("\U0001f3fb", "\U0001f3ff")


def clusters(words: str) -> list[str]:
    """The characters that belong together: a letter and its marks, consonants that a virama joins.

    The extended grapheme clusters of UAX #29, but for jamo, which composed text has none of. What begins
    an isolate goes with what follows, its end with what stands before. Worked: "क्षि" is one, "é" one.
    """
    if words.isascii():
        return list(words)
    found: list[str] = []
    for character in words:
        if found and _goes_on(found[-1], character):
            found[-1] += character
        else:
            found.append(character)
    return found


def _goes_on(before: str, character: str) -> bool:
    """Whether a character belongs to the cluster before it."""
    last = before[-1]
    if last in OPENERS or character == PDI or character in (ZWJ, ZWNJ) or character in THAI_AM:
        return True
    if (
        category(character)[0] == "M"
        or TONES[0] <= character <= TONES[1]
        or "\uff9e" <= character <= "\uff9f"
    ):
        return True
    if FLAGS[0] <= character <= FLAGS[1] and FLAGS[0] <= last <= FLAGS[1]:
        return sum(FLAGS[0] <= one <= FLAGS[1] for one in before) % 2 == 1
    joined = before.rstrip(ZWJ)
    if combining(joined[-1:] or "x") == VIRAMA:
        return category(character) == "Lo"
    return last == ZWJ and category(character) == "So"


@lru_cache(maxsize=16384)
def script_of(character: str) -> str:
    """The script of a character by its four letters, as HarfBuzz knows it; "" of what many share."""
    import uharfbuzz  # late: see typecase.py

    buffer = uharfbuzz.Buffer()
    buffer.add_str(character)
    buffer.guess_segment_properties()
    return buffer.script or ""
