"""Where the visible regions of walkable surfaces meet in the picture, in short pieces, and as lines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.nearest import first_of_each
from stationpoint.camera import Seat
from stationpoint.readings.frames.borders import Borders

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]

BLOCK_PX = 4  # side of the blocks that a border is judged in
STRAIGHT = 4  # so many of these blocks along, and down, it is taken to be straight
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
    """The borders between two walkable surfaces in pieces, ordered by pair, row and column.

    near: those of the picture, their ids places among `count` surfaces. scale: (2,) pixels of the seat's
    picture a pixel of the cell.
    """
    swapped = np.flatnonzero(near.ids[:, 0] > near.ids[:, 1])
    between, pixels = near.ids.astype(np.intp), np.column_stack([near.pixel, near.other])
    between[swapped], pixels[swapped] = between[swapped, ::-1], pixels[swapped, ::-1]
    cell = (near.px / BLOCK_PX).astype(np.intp)
    high, wide = cell.max(axis=0, initial=0)[::-1] + 1
    # Pair, row and column of a block as one whole number: one sort of numbers finds blocks and pairs.
    codes = ((between[:, 0] * count + between[:, 1]) * high + cell[:, 1]) * wide + cell[:, 0]
    first, piece = _grouped(codes)
    between = between[first]
    new_pair = np.diff(codes[first] // (high * wide), prepend=-1) != 0
    pair = np.cumsum(new_pair) - 1
    at = near.px[first] * scale - seat.centre_px
    slant = 1.0 + (at * at).sum(axis=1) * (seat.pixel_m / seat.eye_distance_m) ** 2
    _, straight = _grouped((pair * high + cell[first, 1] // STRAIGHT) * wide + cell[first, 0] // STRAIGHT)
    length_px = np.bincount(piece, _along(straight[piece], near.upright, scale), len(first))
    arcmin: Points = length_px * seat.arcmin_per_px / slant
    return Pieces(between, pair, between[new_pair], pixels[first], arcmin, near, piece)


def _grouped(codes: Whole) -> tuple[Whole, Whole]:
    """Where each different code stands first, in order of the codes, and which of them each one is."""
    order = np.argsort(codes)
    starts = first_of_each(codes[order])
    first = np.minimum.reduceat(order, starts) if len(starts) else starts
    which = np.empty(len(codes), dtype=np.intp)
    which[order] = np.repeat(np.arange(len(starts)), np.diff(starts, append=len(codes)))
    return first, which


def _along(straight: Whole, upright: Bits, scale: Points) -> Points:
    """What each side of a pixel adds to the length of its border, (n,), pixels of the seat's picture: its
    part along the border, whose slant is taken from the stairs of 16 pixels around. straight: (n,) the number
    of these."""
    across, down = np.bincount(straight, ~upright) * scale[0], np.bincount(straight, upright) * scale[1]
    whole = np.hypot(across, down)
    length: Points = np.where(
        upright, (down * scale[1] / whole)[straight], (across * scale[0] / whole)[straight]
    )
    return length


def lines(those: Pieces, pairs: Whole, wrong: Bits) -> list[Points]:
    """The longest stretch of each pair's border whose pieces are wrong, in order, (n, 2) pixels.

    pairs: numbers of pairs with wrong pieces. wrong: (pieces,). A stretch runs through the middles of the
    sides of pixels, so that slanted edges come out smooth; short gaps are bridged.
    """
    number = np.full(len(those.pairs), -1)
    number[pairs] = np.arange(len(pairs))
    line = number[those.pair][those.side]
    chosen = np.flatnonzero(line >= 0)
    line, px, upright = line[chosen], those.sides.px[chosen], those.sides.upright[chosen]
    chains = _chains(line, px, upright)
    order = np.concatenate([np.zeros(0, dtype=np.intp), *chains])
    chain = np.repeat(np.arange(len(chains)), [len(one) for one in chains])
    # Runs of wrong sides along a chain, short gaps bridged; of each line the longest, the first of equals.
    place = np.flatnonzero(wrong[those.side[chosen[order]]])
    cut = (np.diff(place) > BRIDGED_PX) | (np.diff(chain[place]) != 0)
    start, end = place[np.append(True, cut)[: len(place)]], place[np.append(cut, True)[: len(place)]]
    of = line[order[start]]
    longest = np.lexsort((start - end, of))
    longest = longest[first_of_each(of[longest])]
    return [
        _without_straights(px[order[a : b + 1]])
        for a, b in zip(start[longest].tolist(), end[longest].tolist(), strict=True)
    ]


def _chains(line: Whole, px: Points, upright: Bits) -> list[Whole]:
    """Sides joined end to end into chains, each an array of side numbers in order.

    line: (n,) of which line a side is: no chain holds two of them. px: (n, 2) its middle.
    """
    # Either end of a side as one whole number.
    x, y = (px - np.where(upright[:, None], (0.0, 0.5), (0.5, 0.0))).astype(np.intp).T
    high, wide = y.max(initial=0) + 2, x.max(initial=0) + 2
    corner = (line * high + y) * wide + x
    ends = np.column_stack([corner, corner + np.where(upright, wide, 1)]).ravel()
    order = np.argsort(ends, kind="stable")
    starts = first_of_each(ends[order])
    count = np.diff(starts, append=len(ends))
    # Of each end of a side the end at which the one that follows there is left again, where one side does:
    # -1 where none does, -2 where one of three.
    onward = np.full(len(ends), -2, dtype=np.intp)
    onward[order[starts[count == 1]]] = -1
    one, other = order[starts[count == 2]], order[starts[count == 2] + 1]
    onward[one], onward[other] = other ^ 1, one ^ 1
    many = np.flatnonzero(count > 2)
    crossing = {
        int(ends[order[k]]): order[k : k + n].tolist() for k, n in zip(starts[many], count[many], strict=True)
    }
    at, after = ends.tolist(), onward.tolist()
    left = bytearray(b"\1") * len(px)
    loose = np.flatnonzero((onward.reshape(-1, 2) == -1).any(axis=1)).tolist()
    chains: list[Whole] = []
    for k in [*loose, *range(len(px))]:
        if not left[k]:
            continue
        chain = []
        end = 2 * k if after[2 * k] != -1 and after[2 * k + 1] == -1 else 2 * k + 1
        while True:
            chain.append(end >> 1)
            left[end >> 1] = 0
            following = after[end]
            if following == -2:
                following = next((one ^ 1 for one in crossing[at[end]] if left[one >> 1]), -1)
            if following < 0 or not left[following >> 1]:
                break
            end = following
        chains.append(np.array(chain, dtype=np.intp))
    return chains


def _without_straights(way: Points) -> Points:
    """A line without the points inside its straight runs."""
    if len(way) < 3:
        return way
    x, y = np.diff(way, axis=0).T
    turns = np.abs(x[1:] * y[:-1] - y[1:] * x[:-1]) > 1e-9
    kept: Points = way[np.concatenate([[True], turns, [True]])]
    return kept
