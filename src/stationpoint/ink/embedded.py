"""The fonts that a file of words needs, cut down to the letters in it, so that it stands alone."""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import sha256
from typing import NamedTuple
from unicodedata import normalize

import uharfbuzz

from stationpoint.ink.clusters import THAI_AM
from stationpoint.ink.runs import runs
from stationpoint.ink.shapes import Weight
from stationpoint.ink.typecase import AXIS, face

NO_EMBEDDING = 0x0002  # OS/2 fsType: restricted licence embedding
FS_TYPE_AT = 8


class Embedded(NamedTuple):
    """A font for some words. name: one for all weights of it. weight: as CSS counts. fit: its size as a
    share of the line's. suffix: "ttf" or "otf"."""

    name: str
    weight: int
    fit: float
    data: bytes
    suffix: str


def embedded_fonts(texts: Iterable[tuple[str, Weight]]) -> list[Embedded]:
    """The fonts that set these words, in the order in which a letter is looked up in them.

    A font of one weight is there once, as regular: what is set bolder is widened by who shows it. One whose
    licence forbids to be embedded is left out.
    """
    needed: dict[tuple[int, int], tuple[Weight, set[int]]] = {}
    for words, weight in dict.fromkeys(texts):
        for run in runs(words):
            wide = face(run.font, weight).font.synthetic_bold[0] > 0.0
            key = (run.font, int(AXIS["regular" if wide else weight]))
            needed.setdefault(key, ("regular" if wide else weight, set()))[1].update(_with_parts(run.words))
    found = []
    for (number, css), (weight, characters) in sorted(needed.items(), key=lambda one: one[0]):
        font, em = face(number, weight)
        whole = font.face
        if _may_not(whole):
            continue
        data = _subset(whole, characters, css)
        suffix = "otf" if data[:4] == b"OTTO" else "ttf"
        found.append((number, css, whole.upem / em, data, suffix))
    digest = sha256(b"".join(one[3] for one in found)).hexdigest()[:8]
    return [Embedded(f"Sheet {number} {digest}", *rest) for number, *rest in found]


def _with_parts(words: str) -> set[int]:
    """The characters of words, and those that HarfBuzz may take them apart into where it shapes them."""
    apart = normalize("NFD", words) + normalize("NFKD", "".join(c for c in words if c in THAI_AM))
    return {*map(ord, words), *map(ord, apart)}


def _may_not(whole: uharfbuzz.Face) -> bool:
    """Whether the font says that it may not be embedded."""
    table = whole.reference_table("OS/2").data
    return (
        len(table) >= FS_TYPE_AT + 2
        and int.from_bytes(table[FS_TYPE_AT : FS_TYPE_AT + 2]) & 0xF == NO_EMBEDDING
    )


def _subset(whole: uharfbuzz.Face, characters: Iterable[int], css: int) -> bytes:
    """A font with these characters alone, what joins and kerns them included."""
    chosen = uharfbuzz.SubsetInput()
    chosen.flags = uharfbuzz.SubsetFlags.NO_HINTING
    chosen.unicode_set.set(characters)
    for axis in whole.axis_infos:
        if axis.tag == "wght":
            chosen.pin_axis_location(whole, "wght", float(css))
        else:
            chosen.pin_axis_to_default(whole, axis.tag)
    data: bytes = uharfbuzz.subset(whole, chosen).blob.data
    return data
