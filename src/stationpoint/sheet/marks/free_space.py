"""Room on a picture: what no label may cover, where one fits, and where the ground is calm."""

from __future__ import annotations

from functools import cached_property
from math import ceil, floor, hypot
from typing import NamedTuple, TypeVar

import numpy as np
from numpy import count_nonzero
from numpy.typing import ArrayLike, NDArray

from stationpoint.base.geometry.plane import inside_convex
from stationpoint.ink import Box

MOST_CALM = 30
BLOCK = 4  # pixels a side of one block of the map
Blocks = NDArray[np.bool_]
Boxes = NDArray[np.float64]  # (n, 4), each as a Box
Spots = NDArray[np.float64]  # (n, 2)
Number = TypeVar("Number", np.int32, np.float32)


class Rooms(NamedTuple):
    """All the places on a picture where a box of one size is free. size_px: of the box. rows, columns: (n,)
    the blocks of their upper left corners. middles: (n, 2) px. unrest: (n,) how busy the ground is."""

    size_px: tuple[float, float]
    rows: NDArray[np.intp]
    columns: NDArray[np.intp]
    middles: Spots
    unrest: NDArray[np.float32]


class FreeSpace:
    """A map of the picture in blocks of 4 px.

    taken: no label here. kept: no leader either. feet: take-offs, landings and what lies between them,
    which no mark may cover. shown: targets and reserved areas, which other labels leave free where they can.
    stitched: false borders, which no post may hide. boxed: words, letters and stitches, which lie over
    lines. measured: gaps' own lines, which no cue's line and no leader may cross. subject: its own blocks;
    passed: whether a line ran over them. busy: how much the picture changes within a block, 0..255.
    """

    def __init__(self, size_px: tuple[int, int], picture: NDArray[np.uint8] | None = None) -> None:
        self.size_px = size_px
        across, down = -(-size_px[0] // BLOCK), -(-size_px[1] // BLOCK)
        self.taken: Blocks = np.zeros((down, across), dtype=bool)
        self.kept: Blocks = np.zeros((down, across), dtype=bool)
        self.feet: Blocks = np.zeros((down, across), dtype=bool)
        self.shown: Blocks = np.zeros((down, across), dtype=bool)
        self.stitched: Blocks = np.zeros((down, across), dtype=bool)
        self.boxed: Blocks = np.zeros((down, across), dtype=bool)
        self.measured: Blocks = np.zeros((down, across), dtype=bool)
        self.subject: Blocks = np.zeros((down, across), dtype=bool)
        self.passed = False
        self.busy = np.zeros((down, across), dtype=np.float32)
        if picture is not None and picture.shape[:2] == (size_px[1], size_px[0]):
            green = picture[::BLOCK, ::BLOCK, 1].astype(np.int16)
            self.busy[:, 1:] += np.abs(np.diff(green, axis=1))
            self.busy[1:] += np.abs(np.diff(green, axis=0))

    def _slices(self, box: Box) -> tuple[slice, slice]:
        left, top, right, bottom = box
        rows = slice(max(0, floor(top / BLOCK)), max(0, ceil(bottom / BLOCK)))
        return rows, slice(max(0, floor(left / BLOCK)), max(0, ceil(right / BLOCK)))

    def inside(self, box: Box, margin_px: float) -> bool:
        """Whether a box lies within the picture, `margin_px` from its edges."""
        left, top, right, bottom = box
        width, height = self.size_px
        return (
            left >= margin_px
            and top >= margin_px
            and right <= width - margin_px
            and bottom <= height - margin_px
        )

    def free(self, box: Box, beside: bool = False) -> bool:
        """Whether nothing that must stay clear lies in a box; `beside`: nor any target."""
        part = self._slices(box)
        return count_nonzero(self.taken[part]) == 0 and not (beside and count_nonzero(self.shown[part]))

    def over(self, box: Box, blocks: Blocks | None) -> bool:
        """Whether a box lies over any of these blocks."""
        return blocks is not None and bool(count_nonzero(blocks[self._slices(box)]))

    def _ends(self, boxes: Boxes) -> NDArray[np.intp]:
        """The boxes' first columns and rows of blocks, and those after their last: (4, n), as `_slices`."""
        down, across = self.taken.shape
        ends = boxes.T / BLOCK
        ends = np.vstack([np.floor(ends[:2]), np.ceil(ends[2:])])
        most = np.array([[across], [down], [across], [down]])
        found: NDArray[np.intp] = np.minimum(np.maximum(ends, 0.0), most).astype(np.intp)
        return found

    def covering(self, box: Box) -> float:
        """Which share of a box lies over targets."""
        part = self.shown[self._slices(box)]
        return float(part.mean()) if part.size else 0.0

    def occupy(self, box: Box) -> None:
        """From now on no label may lie in this box."""
        part = self._slices(box)
        self.taken[part] = self.boxed[part] = True

    def show(self, box: Box) -> None:
        """From now on other labels leave this box free where they can."""
        self.shown[self._slices(box)] = True

    def stitch(self, boxes: Boxes) -> None:
        """Take boxes (n, 4) on false borders."""
        left, top, right, bottom = self._ends(boxes)[:, :, None]
        rows = top + np.arange((bottom - top).max(initial=0))
        columns = left + np.arange((right - left).max(initial=0))
        within = (rows < bottom)[:, :, None] & (columns < right)[:, None, :]
        at = (rows[:, :, None] * self.taken.shape[1] + columns[:, None, :])[within]
        for blocks in (self.taken, self.boxed, self.stitched):
            blocks.ravel()[at] = True

    def keep(self, blocks: Blocks, feet: bool = False) -> None:
        """Neither label nor leader may lie on these blocks; `feet`: nor any mark but the gap's own."""
        self.taken |= blocks
        self.kept |= blocks
        if feet:
            self.feet |= blocks

    def along(self, start: ArrayLike, end: ArrayLike) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Rows and columns of the blocks that a straight line passes, those within the picture."""
        (a, b), (c, d) = np.asarray(start, dtype=float).tolist(), np.asarray(end, dtype=float).tolist()
        a, b, c, d = (min(max(part, -2000.0), 8000.0) / BLOCK for part in (a, b, c, d))
        count = max(2, int(hypot(c - a, d - b) * BLOCK / 3.0) + 1)
        shares = np.arange(count) / (count - 1.0)
        x, y = np.floor(a + (c - a) * shares).astype(np.intp), np.floor(b + (d - b) * shares).astype(np.intp)
        down, across = self.taken.shape
        if min(a, c) >= 0 and max(a, c) < across and min(b, d) >= 0 and max(b, d) < down:
            return y, x
        good = (x >= 0) & (x < across) & (y >= 0) & (y < down)
        return y[good], x[good]

    def crossing(self, starts: Spots, ends: Spots, lines: bool = True) -> Blocks:
        """Which leaders would cross a label, another line, or what must be kept clear, once they have left
        what they begin in; a label from their second block on: (n,). `lines`: whether any line counts, or
        gaps' own alone."""
        if not len(starts):
            return np.zeros(0, dtype=bool)
        at, passed = self._along_each(starts, ends)
        rank = passed.cumsum(axis=1)  # from 1 on
        boxed, kept, measured = (
            blocks.ravel()[at] & passed for blocks in (self.boxed, self.kept, self.measured)
        )
        taken = self.taken.ravel()[at] & passed if lines else boxed | kept | measured
        has_left = np.logical_or.accumulate(passed & ~taken, axis=1)
        never_left = taken.any(axis=1) & ~has_left[:, -1]
        hit = (measured & (rank > 3)) | (taken & has_left) | (boxed & ~kept & ~has_left & (rank > 2))
        found: Blocks = hit.any(axis=1) | never_left
        return found

    def _along_each(self, starts: Spots, ends: Spots) -> tuple[NDArray[np.intp], Blocks]:
        """`along` of each of many lines: the blocks by their numbers in the map (n, m), and which of them
        count: shorter lines than the longest end before m, and some leave the picture."""
        first, last = (np.minimum(np.maximum(those.T, -2000.0), 8000.0) / BLOCK for those in (starts, ends))
        way = last - first
        steps = np.maximum(1, (np.hypot(way[0], way[1]) * BLOCK / 3.0).astype(np.intp))[:, None]
        shares = np.arange(int(steps.max()) + 1) / steps
        x, y = np.floor(first[:, :, None] + way[:, :, None] * shares)
        down, across = self.taken.shape
        passed = (x >= 0) & (x < across) & (y >= 0) & (y < down) & (shares <= 1.0)
        return np.where(passed, y * across + x, 0.0).astype(np.intp), passed

    def take_line(self, start: ArrayLike, end: ArrayLike) -> None:
        """From now on no label may lie on this line."""
        blocks = self.along(start, end)
        self.passed = self.passed or bool(self.subject[blocks].any())
        self.taken[blocks] = True

    def take_lines(self, starts: Spots, ends: Spots) -> None:
        """`take_line` of each of many."""
        at, passed = self._along_each(starts, ends)
        self.passed = self.passed or bool((self.subject.ravel()[at] & passed).any())
        self.taken.ravel()[at[passed]] = True

    def measure(self, start: ArrayLike, end: ArrayLike) -> None:
        """Take a gap's own line."""
        self.measured[self.along(start, end)] = True
        self.take_line(start, end)

    def over_measured(self, start: ArrayLike, end: ArrayLike) -> bool:
        """Whether a line would cross a gap's own, its ends aside, which may stand on that."""
        return bool(self.measured[self.along(start, end)][3:-3].any())

    def over_feet(self, start: ArrayLike, end: ArrayLike) -> bool:
        """Whether a line would cover a take-off, a landing or what lies between."""
        return bool(self.feet[self.along(start, end)].any())

    def over_words(self, start: ArrayLike, end: ArrayLike) -> bool:
        """Whether a line would run under words or letters."""
        return bool(self.boxed[self.along(start, end)].any())

    def over_stitches(self, start: ArrayLike, end: ArrayLike) -> bool:
        """Whether a line would hide a part of a false border."""
        return bool(self.stitched[self.along(start, end)].any())

    def keep_disc(self, centre: ArrayLike, radius_px: float, feet: bool = False) -> None:
        """Keep a disc clear."""
        x, y = np.asarray(centre, dtype=float)
        reach = radius_px + BLOCK / 2
        part = self._slices((x - reach - BLOCK, y - reach - BLOCK, x + reach + BLOCK, y + reach + BLOCK))
        down, across = self.taken.shape
        rows = (np.arange(down)[part[0]][:, None] + 0.5) * BLOCK - y
        columns = (np.arange(across)[part[1]][None, :] + 0.5) * BLOCK - x
        disc = rows**2 + columns**2 <= reach**2
        for blocks in (self.taken, self.kept, *([self.feet] if feet else [])):
            blocks[part] |= disc

    def keep_hull(self, corners: ArrayLike, feet: bool = False) -> None:
        """Keep a convex outline of corners (n, 2), in order, clear."""
        ring = np.asarray(corners, dtype=float)
        down, across = self.taken.shape
        y = (np.arange(down)[:, None] + 0.5) * BLOCK
        x = (np.arange(across)[None, :] + 0.5) * BLOCK
        self.keep(inside_convex(ring, np.stack(np.broadcast_arrays(x, y), axis=-1)), feet)

    def calm(
        self,
        size_px: tuple[float, float],
        near: ArrayLike,
        within_px: float,
        margin_px: float,
        off: Blocks | None = None,
    ) -> list[Box]:
        """The free boxes of that size, best first: calm ground close to a point; at most thirty. off: blocks
        that they must not lie on either."""
        return self.calmest(self.rooms(size_px, margin_px, off), near, within_px)

    def rooms(self, size_px: tuple[float, float], margin_px: float, off: Blocks | None = None) -> Rooms:
        """Where a box of that size is free, `margin_px` from the picture's edges, row by row. off: as of
        `calm`."""
        down, across = self.taken.shape
        w, h = int(-(-size_px[0] // BLOCK)) + 1, int(-(-size_px[1] // BLOCK)) + 1
        edge = int(-(-margin_px // BLOCK))
        blocks = (self.taken if off is None else self.taken | off)[edge : down - edge, edge : across - edge]
        if w + 2 * edge > across or h + 2 * edge > down:
            blocks = blocks[:0, :0]
        found = _windows(_summed(blocks, np.int32), h, w) == 0
        rows, columns = (k + edge for k in np.divmod(np.flatnonzero(found), max(1, found.shape[1])))
        middles = np.column_stack([(columns + w / 2) * BLOCK, (rows + h / 2) * BLOCK])
        total, at, stride = self._unrest.ravel(), rows * (across + 1) + columns, across + 1
        unrest = total[at + h * stride + w] - total[at + w] - total[at + h * stride] + total[at]
        return Rooms(size_px, rows, columns, middles, unrest / (w * h))

    def calmest(self, rooms: Rooms, near: ArrayLike, within_px: float) -> list[Box]:
        """The boxes in these rooms, best first: calm ground close to a point; at most thirty."""
        away_x, away_y = (rooms.middles - np.asarray(near, dtype=float)).T
        away = np.hypot(away_x, away_y)
        at = np.flatnonzero(away <= within_px)
        cost = away[at] + 6.0 * rooms.unrest[at]
        step = max(1, len(at) // 60)
        last = min(len(at), (MOST_CALM - 1) * step + 1) - 1
        if last > 0:  # a stable sort is dear: only of what may be among the best
            kept = np.flatnonzero(cost <= np.partition(cost, last)[last])
            at, cost = at[kept], cost[kept]
        best = at[np.argsort(cost, kind="stable")[: last + 1 : step]]
        w, h = rooms.size_px
        corners = (np.column_stack([rooms.columns[best], rooms.rows[best]]) * BLOCK + 2.0).tolist()
        return [(left, top, left + w, top + h) for left, top in corners]

    @cached_property
    def _unrest(self) -> NDArray[np.float32]:
        """`busy`, summed."""
        return _summed(self.busy, np.float32)


def _summed(values: NDArray[np.generic], kind: type[Number]) -> NDArray[Number]:
    """Sums over everything above and to the left, (h + 1, w + 1): any window's sum is four look-ups, however
    large the window."""
    total = np.zeros((values.shape[0] + 1, values.shape[1] + 1), dtype=kind)
    total[1:, 1:] = values.cumsum(axis=0, dtype=kind).cumsum(axis=1)
    return total


def _windows(total: NDArray[Number], h: int, w: int) -> NDArray[Number]:
    """The sums of all windows of h x w, from what is `_summed`."""
    sums: NDArray[Number] = total[h:, w:] - total[:-h, w:] - total[h:, :-w] + total[:-h, :-w]
    return sums
