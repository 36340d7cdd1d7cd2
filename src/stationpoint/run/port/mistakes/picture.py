"""Mistakes of the picture: what becomes of pixels that are right."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np

from stationpoint.run.port.mistakes.trial import PICTURE, Mistake, Picture, Points

LEAST_SCALE = 0.01  # of a picture, of which anything more is to be told


def picture_mistakes() -> Iterator[Mistake]:
    """A mirrored, flipped or moved picture, or one of another size."""

    def of(name: str, says: str, picture: Picture, common: bool = True) -> Mistake:
        return Mistake(name, says, PICTURE, lambda trial: replace(trial, picture=picture), common)

    def fitted(name: str, says: str, picture: Picture, common: bool = False) -> Mistake:
        return replace(of(name, says, picture, common), tells=lambda *given: _corners(picture, *given))

    yield of(
        "mirrored x",
        "the picture is mirrored left to right, as by a camera space of the wrong hand",
        lambda px, seen, size: _mirror(px, size, (1, 0)),
    )
    yield of(
        "flipped y",
        "the picture is upside down: y counts from the bottom, or clip space has y the other way",
        lambda px, seen, size: _mirror(px, size, (0, 1)),
    )
    says = "the picture is turned by half a turn: both x and y are mirrored"
    yield of("turned half round", says, lambda px, seen, size: _mirror(px, size, (1, 1)), False)
    says = "x and y of the pixels are exchanged"
    yield of("x and y exchanged", says, lambda px, seen, size: px[:, ::-1], False)
    for x, y in product((-0.5, 0.0, 0.5), repeat=2):
        if (x, y) != (0.0, 0.0):
            way = " and ".join(f"{axis} by {by:+g} px" for axis, by in (("x", x), ("y", y)) if by)
            says = f"pixels are half a pixel off ({way}): their centres are at .5, not at whole numbers"
            yield of("half a pixel off", says, _moved_by(x, y), False)
    says = "x and y are fractions of the picture, not pixels"
    yield of("fractions for pixels", says, lambda px, seen, size: px / size, False)
    says = "x and y are from -1 to 1, not pixels"
    yield of("clip coordinates for pixels", says, _before_pixels, False)
    yield fitted("another resolution", "the picture has another resolution", _resized, True)
    says = "the picture has another shape, and another angle is kept, or its middle is elsewhere"
    yield fitted("another aspect", says, _reframed)
    yield fitted("stretched", "the picture is stretched to another aspect", _stretched)
    yield fitted("moved", "all is moved by the same number of pixels", _moved)


def _moved_by(x: float, y: float) -> Picture:
    return lambda px, seen, size: px + np.array([x, y])


def _before_pixels(px: Points, seen: Points, size: tuple[int, int]) -> Points:
    return np.column_stack([px[:, 0] / size[0] * 2.0 - 1.0, 1.0 - px[:, 1] / size[1] * 2.0])


def _corners(picture: Picture, px: Points, seen: Points, size: tuple[int, int]) -> str:
    """What a fitted picture makes of the whole one, in words: its size, and how far it is moved."""
    made = picture(px, seen, size)
    lines = [_line(px[:, k], made[:, k]) for k in range(2)]
    whole = f"{lines[0][0] * size[0]:.5g} x {lines[1][0] * size[1]:.5g} px"
    moves = [move for _, move in lines]
    return f"{whole}, moved by ({moves[0]:.4g}, {moves[1]:.4g})" if max(map(abs, moves)) > 0.05 else whole


def _line(px: Points, made: Points) -> tuple[float, float]:
    """The scale and the move that make (n,) of (n,), by least squares; of points in one place the move."""
    middle, made_middle = float(px.mean()), float(made.mean())
    spread = px - middle
    wide = float(np.sum(spread * spread))
    scale = float(np.sum(spread * (made - made_middle))) / wide if wide else 1.0
    return scale, made_middle - scale * middle


def _moved(px: Points, seen: Points, size: tuple[int, int]) -> Points:
    found: Points = px + np.mean(seen - px, axis=0)
    return found


def _mirror(px: Points, size: tuple[int, int], which: tuple[int, int]) -> Points:
    on = np.array(which)
    found: Points = px * (1 - 2 * on) + on * np.array(size)
    return found


def _scale_of(px: Points, seen: Points) -> float:
    """By how much pixels must be scaled to come nearest to those seen; nan if that is no picture's."""
    with np.errstate(all="ignore"):
        scale = float(np.sum(px * seen) / np.sum(px * px))
    return scale if LEAST_SCALE < scale < 1.0 / LEAST_SCALE else float("nan")


def _resized(px: Points, seen: Points, size: tuple[int, int]) -> Points:
    return px * _scale_of(px, seen)


def _reframed(px: Points, seen: Points, size: tuple[int, int]) -> Points:
    """One scale, and a move: a picture of another shape round the same middle."""
    middle, seen_middle = px.mean(axis=0), seen.mean(axis=0)
    found: Points = (px - middle) * _scale_of(px - middle, seen - seen_middle) + seen_middle
    return found


def _stretched(px: Points, seen: Points, size: tuple[int, int]) -> Points:
    return px * [_scale_of(px[:, k : k + 1], seen[:, k : k + 1]) for k in range(2)]
