"""Where a chart's words stand: names at the lines' ends, words at limits and points. In pixels, y down."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import ceil, hypot
from typing import NamedTuple

from stationpoint.ink import Weight, text_width, wrap_text

LEADING = 1.28  # line spacing over size
NEAR_LINES = 2.2  # ends nearer than this many lines of type share the word that they have in common
STEP_PX = 5.0
MARK_PX = (-9.0, -4.0, 4.0, 9.0)  # a marker covers more than a line
Point = tuple[float, float]
Box = tuple[float, float, float, float]  # left, top, right, bottom


class End(NamedTuple):
    """Where a line ends, and its names, each in two parts; style: the number of its line."""

    x: float
    y: float
    names: list[tuple[str, str]]
    style: int


class Row(NamedTuple):
    """A line of type: y of its middle. end: the line's end that it names, for the first row of a name."""

    words: str
    weight: Weight
    y: float
    end: End | None


def name_rows(
    ends: Sequence[End], size_px: float, width_px: float, top: float, bottom: float
) -> tuple[list[Row], float]:
    """The rows of all names from top to bottom, none over another, as near to their ends as that allows; and
    the size of type, smaller where there is no room."""
    while True:
        blocks = _blocks(ends, size_px, width_px)
        line = size_px * LEADING
        if sum(len(rows) for _, rows in blocks) * line <= bottom - top or size_px <= 14:
            break
        size_px -= 1
    heights = [len(rows) * line + 0.3 * line for _, rows in blocks]
    middles = spread([y for y, _ in blocks], heights, top, bottom)
    found = []
    for (_, rows), middle in zip(blocks, middles, strict=True):
        first = middle - (len(rows) - 1) * line / 2
        found += [Row(words, weight, first + k * line, end) for k, (words, weight, end) in enumerate(rows)]
    return found, size_px


Rows = list[tuple[str, Weight, End | None]]


def _blocks(ends: Sequence[End], size_px: float, width_px: float) -> list[tuple[float, Rows]]:
    """Names that stand together, each with the height where its middle would best be."""

    def lines(words: str, weight: Weight, end: End | None) -> Rows:
        wrapped = wrap_text(words, size_px, weight, width_px, 3) if words else []
        return [(one, weight, None if k else end) for k, one in enumerate(wrapped)]

    together: list[list[End]] = []
    for end in sorted(ends, key=lambda end: end.y):
        last = together[-1][-1] if together else None
        near = last is not None and end.y - last.y < NEAR_LINES * size_px * LEADING
        heads = {name[0] for one in (end, last) if one for name in one.names}
        if near and last and len(heads) == 1 and all(rest for one in (end, last) for _, rest in one.names):
            together[-1].append(end)
        else:
            together.append([end])
    blocks = []
    for group in together:
        rows: Rows = []
        for k, end in enumerate(group):
            for n, (head, rest) in enumerate(end.names):
                own = end if n == 0 else None
                if len(group) > 1:
                    rows += [] if k or n else lines(head, "semibold", None)
                    rows += lines(rest, "regular", own)
                else:
                    rows += lines(head, "semibold", own) + lines(rest, "regular", None if head else own)
        blocks.append((sum(end.y for end in group) / len(group), rows))
    return blocks


def spread(wanted: Sequence[float], heights: Sequence[float], top: float, bottom: float) -> list[float]:
    """Middles of boxes in the order given, none over another, with the least sum of squared moves.

    wanted: ascending. Within top and bottom where all of them fit, from the top down where not. Worked:
    spread([10, 10], [4, 4], 0, 100) gives [8, 12].
    """
    before = [sum(heights[:k]) + heights[k] / 2 for k in range(len(heights))]
    pools: list[tuple[float, int]] = []  # where the first of the pool's boxes would begin, and how many
    for place, offset in zip(wanted, before, strict=True):
        mean, count = place - offset, 1
        while pools and pools[-1][0] > mean:
            other, more = pools.pop()
            mean, count = (mean * count + other * more) / (count + more), count + more
        pools.append((mean, count))
    most = bottom - sum(heights)
    starts = [max(min(mean, most), top) for mean, count in pools for _ in range(count)]
    return [start + offset for start, offset in zip(starts, before, strict=True)]


def width_of(rows: Iterable[tuple[str, Weight]], size_px: float) -> float:
    """The width of the widest of some words."""
    return max((text_width(words, size_px, weight) for words, weight in rows), default=0.0)


class Room:
    """What stands in a panel: the box that words may stand in, lines they should not cover, boxes taken."""

    def __init__(self, within: Box, lines: Iterable[Sequence[Point]]) -> None:
        self.within = within
        self.taken: list[Box] = []
        lines = list(lines)
        marks = [(x + dx, y + dy) for line in lines for x, y in line for dx in MARK_PX for dy in MARK_PX]
        self._dots = [*marks, *(dot for line in lines for dot in _dots(line))]

    def best(self, boxes: Sequence[Box]) -> Box | None:
        """The first of these that covers least of the lines and no words; it is taken. None: all do."""
        free = [box for box in boxes if self._inside(box) and not any(meet(box, one) for one in self.taken)]
        if not free:
            return None
        chosen = min(free, key=self._covered)
        self.taken.append(chosen)
        return chosen

    def _inside(self, box: Box) -> bool:
        left, top, right, bottom = self.within
        return box[0] >= left and box[1] >= top and box[2] <= right and box[3] <= bottom

    def _covered(self, box: Box) -> int:
        return sum(box[0] <= x <= box[2] and box[1] <= y <= box[3] for x, y in self._dots)


def meet(one: Box, other: Box) -> bool:
    """Whether two boxes overlap."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _dots(line: Sequence[Point]) -> Iterable[Point]:
    """Points a few pixels apart along a line; a lone point is one."""
    yield from line[:1]
    for (x, y), (u, v) in pairwise(line):
        steps = max(1, ceil(hypot(u - x, v - y) / STEP_PX))
        yield from ((x + (u - x) * k / steps, y + (v - y) * k / steps) for k in range(1, steps + 1))
