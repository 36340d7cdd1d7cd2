"""Where the groups of a legend stand: stacks side by side, as low as they come out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class Block:
    """A group's size, px. goes_on: it stands right of the group before it, being a part of that."""

    width: float
    height: float
    goes_on: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a block stands: its stack, from the left, and its top under the legend's."""

    stack: int
    top: float


def stacked(blocks: Sequence[Block], room: float, apart: float) -> list[Spot]:
    """A spot for each block, in their order: each goes to the stack that is the lowest so far, the left
    one of equals, so that all stacks, `apart` from each other, fit into `room`. Of all numbers of stacks
    the one that comes out lowest is taken, of equals the one with the most.

    Worked: heights 1, 3 and 1, room for two: the third stands under the first.
    """
    best: list[Spot] = []
    for count in range(len(blocks), 0, -1):
        spots = _in_stacks(blocks, count, room - apart * (count - 1))
        if spots and (not best or depth(blocks, spots) < depth(blocks, best)):
            best = spots
    return best


def depth(blocks: Sequence[Block], spots: Sequence[Spot]) -> float:
    """How deep the deepest stack is."""
    return max(spot.top + block.height for block, spot in zip(blocks, spots, strict=True))


def stack_widths(blocks: Sequence[Block], spots: Sequence[Spot]) -> list[float]:
    """The width of each stack: its widest block's."""
    widths = [0.0] * (1 + max((spot.stack for spot in spots), default=-1))
    for block, spot in zip(blocks, spots, strict=True):
        widths[spot.stack] = max(widths[spot.stack], block.width)
    return widths


def stack_lefts(
    widths: Sequence[float], left: float, room: float, stops: Sequence[float], apart: float
) -> list[float]:
    """Where stacks begin: below the left edges of the grid's columns (`stops`) where there are enough of
    these, else spread over the room, at most four times `apart` from each other."""
    lefts = [left]
    if len(stops) < len(widths) - 1:
        between = min((room - sum(widths)) / (len(widths) - 1), 4.0 * apart)
        for width in widths[:-1]:
            lefts.append(lefts[-1] + width + between)
        return lefts
    for k in range(1, len(widths)):
        least = lefts[-1] + widths[k - 1] + apart
        rest = sum(widths[k:]) + apart * (len(widths) - k - 1)
        lefts.append(next((s for s in stops if s >= least and s + rest <= left + room), least))
    return lefts


def _in_stacks(blocks: Sequence[Block], count: int, room: float) -> list[Spot]:
    """Spots in so many stacks, none where these would be wider than `room` in sum, unless it is one. A
    block that goes on stands beside the one before it, where there are stacks enough."""
    deep, wide = [0.0] * count, [0.0] * count
    spots: list[Spot] = []
    begins = [k for k, block in enumerate(blocks) if not block.goes_on or k == 0]
    for first, after in pairwise([*begins, len(blocks)]):
        parts = blocks[first:after]
        for part in [parts] if len(parts) <= count else [[block] for block in parts]:
            tries = []
            for j in range(count - len(part) + 1):
                wider = [max(0.0, block.width - wide[j + k]) for k, block in enumerate(part)]
                if count == 1 or sum(wide) + sum(wider) <= room:
                    tries.append((max(deep[j : j + len(part)]), j))
            if not tries:
                return []
            top, stack = min(tries)
            for k, block in enumerate(part, start=stack):
                spots.append(Spot(k, top))
                deep[k], wide[k] = top + block.height, max(wide[k], block.width)
    return spots
