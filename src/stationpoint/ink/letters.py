"""Masks of words, put together from kept letters: setting whole words costs ten times as much."""

from __future__ import annotations

from functools import lru_cache
from math import floor
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from stationpoint.ink.shapes import Weight
from stationpoint.ink.type import font, origins_px


class Set(NamedTuple):
    """A mask (h, w) of what is set, and where its upper left pixel lies from the baseline's origin."""

    mask: NDArray[np.uint8]
    left: int
    top: int


@lru_cache(maxsize=8192)
def letter_set(letter: str, size_px: float, weight: Weight, stroke_px: int) -> Set:
    """One letter, made bolder by `stroke_px` all round."""
    face = font(size_px, weight)
    left, top, right, bottom = face.getbbox(letter, anchor="ls", stroke_width=stroke_px)
    x, y = floor(left) - 1, floor(top) - 1
    mask = Image.new("L", (floor(right) - x + 2, floor(bottom) - y + 2))
    ImageDraw.Draw(mask).text((-x, -y), letter, 255, face, anchor="ls", stroke_width=stroke_px)
    return Set(np.asarray(mask), x, y)


@lru_cache(maxsize=2048)
def words_set(words: str, size_px: float, weight: Weight, stroke_px: int) -> Set:
    """One line of words, at least one letter, every letter on whole pixels."""
    at = [floor(origin + 0.5) for origin in origins_px(words, size_px, weight)]
    letters = [
        (x + one.left, one.top, one.mask)
        for x, one in zip(at, (letter_set(one, size_px, weight, stroke_px) for one in words), strict=False)
    ]
    left, top = min(x for x, _, _ in letters), min(y for _, y, _ in letters)
    right = max(x + mask.shape[1] for x, _, mask in letters)
    bottom = max(y + mask.shape[0] for _, y, mask in letters)
    whole = np.zeros((bottom - top, right - left), dtype=np.uint8)
    for x, y, mask in letters:
        part = whole[y - top : y - top + mask.shape[0], x - left : x - left + mask.shape[1]]
        np.maximum(part, mask, out=part)
    return Set(whole, left, top)
