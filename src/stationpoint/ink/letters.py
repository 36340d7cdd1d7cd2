"""Words shaped by HarfBuzz, as the font and the script of the words ask for, and their masks.

Only what HarfBuzz says is laid out or drawn: glyphs, where each lies, its outline. Outlines are not
hinted, so that words are as wide at every size as the font says. Each glyph lies on a half pixel: evenly
spaced to the eye, while the same letters stay the same pixels, which a PNG packs well.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from math import ceil, floor, hypot
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.ink.runs import runs
from stationpoint.ink.shapes import Weight
from stationpoint.ink.typecase import face, forgotten

STEPS_PER_PX = 2
Mask = NDArray[np.uint8]


class Glyph(NamedTuple):
    """A glyph of the font by its number, and where its origin lies from that of the words: ems, y up.

    ink: from where to where its ink reaches from its own origin, in ems; (0, 0) for none. font: the
    number of its font among those at hand. says: the characters that it begins to draw, "" for one that
    goes on with those of the glyph before it.
    """

    number: int
    x: float
    y: float
    ink: tuple[float, float]
    font: int = 0
    says: str = ""

    def x_px(self, size_px: float) -> float:
        """Where its origin is drawn."""
        return floor(self.x * size_px * STEPS_PER_PX + 0.5) / STEPS_PER_PX


class Shaped(NamedTuple):
    """The glyphs of one line of words, where the advance ends, and how far their ink reaches up and down from
    the baseline, in ems."""

    glyphs: tuple[Glyph, ...]
    advance: float
    above: float
    below: float


class Set(NamedTuple):
    """A mask (h, w) of what is set, and where its upper left pixel lies from the baseline's origin."""

    mask: Mask
    left: int
    top: int


@lru_cache(maxsize=16384)
def _ink(font: int, weight: Weight, number: int) -> tuple[tuple[float, float], float, float]:
    """From where to where the ink of a glyph reaches, as in Glyph; how far up, and how far down."""
    own, em = face(font, weight)
    extents = own.get_glyph_extents(number)
    if extents is None:
        return (0.0, 0.0), 0.0, 0.0
    left, top = extents.x_bearing, extents.y_bearing
    return (left / em, (left + extents.width) / em), top / em, -(top + extents.height) / em


@lru_cache(maxsize=2048)
def shape(words: str, weight: Weight) -> Shaped:
    """One line of words, each stretch in a font that has it, kerned and joined as that font says.

    Worked: Open Sans Regular, "To": its o begins 0.4834 ems on: 990 of 2048 units, the T's advance of 1133
    less 143 of the pair.
    """
    import uharfbuzz  # late: see typecase.py

    glyphs, origin, above, below = list[Glyph](), 0.0, 0.0, 0.0
    for run in runs(words):
        font, em = face(run.font, weight)
        buffer = uharfbuzz.Buffer()
        buffer.add_str(run.words)
        buffer.guess_segment_properties()
        buffer.language = "und"  # else that of the machine
        if run.direction:
            buffer.direction = run.direction
            buffer.flags = uharfbuzz.BufferFlags.REMOVE_DEFAULT_IGNORABLES
        uharfbuzz.shape(font, buffer)
        at, before = 0, -1
        infos = buffer.glyph_infos or ()
        numbers = [info.codepoint for info in infos]
        belongs = [info.cluster for info in infos]
        begins = sorted(set(belongs))
        ends = dict(pairwise([*begins, len(run.words)]))
        places = buffer.glyph_positions or ()
        for number, cluster, place in zip(numbers, belongs, places, strict=True):
            x = origin + (at + place.x_offset) / em
            said = run.words[cluster : ends[cluster]] if cluster != before else ""
            before = cluster
            ink, top, bottom = _ink(run.font, weight, number)
            y = place.y_offset / em
            if y + top > above:  # no max: there are many letters
                above = y + top
            if bottom - y > below:
                below = bottom - y
            glyphs.append(Glyph(number, x, y, ink, run.font, said))
            at += place.x_advance
        origin += at / em
    return Shaped(tuple(glyphs), origin, above, below)


@lru_cache(maxsize=4096)
def extent_px(words: str, size_px: float, weight: Weight = "regular") -> tuple[int, int]:
    """From which to which whole pixel `words` reach along the baseline, ink and advance both, from
    their origin."""
    shaped = shape(words, weight)
    first, last = 0.0, shaped.advance * size_px
    for glyph in shaped.glyphs:  # no min and max: there are many letters
        at, (left, right) = glyph.x_px(size_px), glyph.ink
        if at + left * size_px < first:
            first = at + left * size_px
        if at + right * size_px > last:
            last = at + right * size_px
    return floor(first), ceil(last)


def rows_px(words: str, size_px: float, weight: Weight, bolder_px: int) -> tuple[int, int]:
    """Rows, counted from the baseline's, out of which no ink of `words_set` lies."""
    shaped, more = shape(words, weight), bolder_px + 2  # a pixel for its rounding, one to be safe
    return floor(-shaped.above * size_px) - more, ceil(shaped.below * size_px) + more


@lru_cache(maxsize=2048)
def words_set(words: str, size_px: float, weight: Weight, bolder_px: int) -> Set:
    """One line of words, made bolder by `bolder_px` all round; an empty mask where they have no ink."""
    import uharfbuzz  # late: see typecase.py

    draw = uharfbuzz.RasterDraw()
    for glyph in shape(words, weight).glyphs:
        font, em = face(glyph.font, weight)
        scale = size_px / em
        draw.transform = (scale, 0.0, 0.0, scale, glyph.x_px(size_px), glyph.y * size_px)
        draw.draw_glyph(font, glyph.number)
    image = draw.render()
    if image is None or not image.buffer:
        return Set(np.zeros((0, 0), dtype=np.uint8), 0, 0)
    place = image.extents
    rows = np.frombuffer(image.buffer, dtype=np.uint8).reshape(place.height, place.stride)
    mask = rows[::-1, : place.width]  # HarfBuzz counts rows upwards
    left, top = place.x_origin, -place.y_origin - place.height
    return Set(bolder(mask, bolder_px), left - bolder_px, top - bolder_px)


forgotten(_ink, shape, extent_px, words_set)


def bolder(mask: Mask, by_px: int) -> Mask:
    """A mask grown by whole pixels all round: by a disc, antialiased; (h, w) becomes larger by twice that.

    Each pixel takes the most that any pixel around it lends, and one at a distance d lends
    by_px + 1 - d of what it has, at most all. So a level or upright edge moves by `by_px` exactly.
    """
    if by_px == 0:
        return mask
    height, width = mask.shape
    whole = np.zeros((height + 2 * by_px, width + 2 * by_px), dtype=np.uint8)
    for down in range(2 * by_px + 1):
        for along in range(2 * by_px + 1):
            lent = min(1.0, by_px + 1 - hypot(down - by_px, along - by_px))
            if lent > 0.0:
                part = whole[down : down + height, along : along + width]
                np.maximum(part, (mask * np.float32(lent) + np.float32(0.5)).astype(np.uint8), out=part)
    return whole
