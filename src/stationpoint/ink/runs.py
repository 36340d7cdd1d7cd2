"""A line of words as runs of one font, one script and one direction, in the order in which they are seen."""

from __future__ import annotations

from typing import NamedTuple

from stationpoint.ink.bidi import MARKS, OPENERS, PDI, has_rtl, in_sight, levels
from stationpoint.ink.clusters import ZWJ, ZWNJ, clusters, script_of
from stationpoint.ink.typecase import font_of, holds

UNSEEN = frozenset((*OPENERS, PDI, *MARKS))  # they have done their work once the order is known
NO_GLYPH = frozenset((*UNSEEN, ZWJ, ZWNJ, *map(chr, range(0xFE00, 0xFE10))))  # no font need have them


class Run(NamedTuple):
    """Words in one font. direction: "ltr" or "rtl"; "" where the words say it all by themselves."""

    words: str
    font: int
    direction: str


def runs(words: str) -> list[Run]:
    """A line of words in runs, from left to right. What no font has stays in Open Sans."""
    if words.isascii() or (not has_rtl(words) and not NO_GLYPH & {*words} and _all_in_open_sans(words)):
        return [Run(words, 0, "")]
    found: list[tuple[str, int, str, int]] = []
    every, at = levels(words), 0
    for cluster in clusters(words):
        begun = len(cluster) - len(cluster.lstrip("".join(OPENERS)))
        level = every[at + min(begun, len(cluster) - 1)]
        at += len(cluster)
        seen = "".join(character for character in cluster if character not in UNSEEN)
        if not seen:
            continue
        script, font = script_of(seen[0]), _font(seen)
        if found and found[-1][1] == font and found[-1][3] == level and _agree(found[-1][2], script):
            before = found.pop()
            found.append((before[0] + seen, font, before[2] or script, level))
        else:
            found.append((seen, font, script, level))
    return [
        Run(seen, font, "rtl" if level % 2 else "ltr")
        for seen, font, _, level in in_sight(found, [one[3] for one in found])
    ]


def _all_in_open_sans(words: str) -> bool:
    return all(font_of(character) in (0, None) for character in words)


def _font(cluster: str) -> int:
    """The first font that has a whole cluster; that of its letter where none has."""
    needed = "".join(character for character in cluster if character not in NO_GLYPH)
    first = [font_of(character) for character in needed]
    tries = sorted({font for font in first if font is not None})
    return next((font for font in tries if holds(font, needed)), (first[0] if first else 0) or 0)


def _agree(one: str, other: str) -> bool:
    """Whether two scripts go into one run: HarfBuzz joins and orders letters by the first it meets."""
    return one == other or not one or not other
