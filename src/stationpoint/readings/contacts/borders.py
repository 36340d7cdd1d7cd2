"""Where the visible regions of walkable surfaces meet in the picture, in short pieces, and as lines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Seat
from stationpoint.readings.frames.borders import Borders

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]

BLOCK_PX, SLANT_PX = 4, 16  # sides of the blocks that a border is judged in, and is taken to be straight in
BRIDGED_PX = 12  # a gap of this many sides in a false border is taken along


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """Borders of pairs of walkable surfaces in blocks of 4 x 4 pixels, n of them.

    between: (n, 2) places among the surfaces, the lower one first. pair: (n,) the number of the pair, places
    in `pairs` (p, 2). pixel: (n, 2) flat indices of a pixel of either, side by side. arcmin: (n,) length
    at the seat. side: (m,) the piece of each of the m sides of `sides`.
    """

    between: Whole
    pair: Whole
    pairs: Whole
    pixel: Whole
    arcmin: Points
    sides: Borders
    side: Whole


def pieces(near: Borders, count: int, seat: Seat, scale: Points) -> Pieces:
    """The borders between two walkable surfaces in pieces.

    near: those of the picture, their ids places among `count` surfaces. scale: (2,) pixels of the seat's
    picture a pixel of the cell.
    """
    between = near.ids.astype(np.intp)
    swapped = between[:, 0] > between[:, 1]
    between = np.where(swapped[:, None], between[:, ::-1], between)
    pixels = np.column_stack([near.pixel, near.other])
    pixels = np.where(swapped[:, None], pixels[:, ::-1], pixels)
    # A pair as one whole number: one sort of numbers finds the pairs, where rows would take many.
    codes, pair = np.unique(between[:, 0] * count + between[:, 1], return_inverse=True)
    pair = pair.reshape(-1)
    first, piece = _blocks(pair, near.px, BLOCK_PX)
    at = near.px[first] * scale - seat.centre_px
    slant = 1.0 + (at * at).sum(axis=1) * (seat.pixel_m / seat.eye_distance_m) ** 2
    length_px = np.bincount(piece, _along(pair, near, scale), len(first))
    arcmin: Points = length_px * seat.arcmin_per_px / slant
    pairs = np.column_stack([codes // count, codes % count])
    return Pieces(between[first], pair[first], pairs, pixels[first], arcmin, near, piece)


def _blocks(pair: Whole, px: Points, size_px: int) -> tuple[Whole, Whole]:
    """The first side of each block of a pair's border, and the block of each side."""
    cell = (px / size_px).astype(np.int64)
    # Pair, row and column of a block as one whole number, for the same reason.
    codes = (pair * 65536 + cell[:, 1]) * 65536 + cell[:, 0]
    _, first, block = np.unique(codes, return_index=True, return_inverse=True)
    return first, block.reshape(-1)


def _along(pair: Whole, sides: Borders, scale: Points) -> Points:
    """What each side of a pixel adds to the length of its border, (n,), pixels of the seat's picture: its
    part along the border, whose slant is taken from the stairs of 16 pixels around."""
    _, block = _blocks(pair, sides.px, SLANT_PX)
    across, down = np.bincount(block, ~sides.upright) * scale[0], np.bincount(block, sides.upright) * scale[1]
    whole = np.hypot(across, down)[block]
    length: Points = np.where(sides.upright, down[block] * scale[1], across[block] * scale[0]) / whole
    return length


def line_of(those: Pieces, pair: int, wrong: Bits) -> Points:
    """The longest stretch of a pair's border whose pieces are wrong, in order, (n, 2) pixels.

    wrong: (pieces,). It runs through the middles of the sides of pixels, so that slanted edges come out
    smooth; short gaps are bridged.
    """
    chosen = np.flatnonzero(those.pair[those.side] == pair)
    px, upright = those.sides.px[chosen], those.sides.upright[chosen]
    is_wrong = wrong[those.side[chosen]]
    half = np.where(upright[:, None], (0.0, 0.5), (0.5, 0.0))
    best: Points = np.zeros((0, 2))
    for chain in _chains(px - half, px + half):
        for run in _runs(is_wrong[chain]):
            if len(run) > len(best):
                best = px[chain[run]]
    return _without_straights(best)


def _chains(start: Points, end: Points) -> list[Whole]:
    """Sides joined end to end into chains, each an array of side numbers in order."""
    at: dict[tuple[float, float], list[int]] = {}
    ends = [tuple(map(tuple, two)) for two in np.stack([start, end], axis=1).tolist()]
    for k, two in enumerate(ends):
        for vertex in two:
            at.setdefault(vertex, []).append(k)
    left = [True] * len(ends)
    chains: list[Whole] = []
    loose = [k for k, two in enumerate(ends) if any(len(at[vertex]) == 1 for vertex in two)]
    for first in [*loose, *range(len(ends))]:
        if not left[first]:
            continue
        left[first] = False
        chain = [first]
        a, b = ends[first]
        vertex = b if len(at[a]) == 1 else a if len(at[b]) == 1 else b
        while True:
            following = [k for k in at[vertex] if left[k]]
            if not following:
                break
            k = following[0]
            left[k] = False
            chain.append(k)
            vertex = ends[k][1] if ends[k][0] == vertex else ends[k][0]
        chains.append(np.array(chain, dtype=np.intp))
    return chains


def _runs(wrong: Bits) -> list[Whole]:
    """Index arrays of the runs of wrong sides, short gaps bridged."""
    places = np.flatnonzero(wrong)
    if not len(places):
        return []
    parts = np.split(places, np.flatnonzero(np.diff(places) > BRIDGED_PX) + 1)
    return [np.arange(part[0], part[-1] + 1) for part in parts]


def _without_straights(way: Points) -> Points:
    """A line without the points inside its straight runs."""
    if len(way) < 3:
        return way
    x, y = np.diff(way, axis=0).T
    turns = np.abs(x[1:] * y[:-1] - y[1:] * x[:-1]) > 1e-9
    kept: Points = way[np.concatenate([[True], turns, [True]])]
    return kept
