"""Room on a picture: what no label may cover, where one fits, and where the ground is calm."""

from __future__ import annotations

from math import hypot

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base.geometry.plane import inside_convex
from stationpoint.ink import Box

MOST_CALM = 30
BLOCK = 4  # pixels a side of one block of the map
Blocks = NDArray[np.bool_]


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
        rows = slice(max(0, int(top // BLOCK)), max(0, int(-(-bottom // BLOCK))))
        return rows, slice(max(0, int(left // BLOCK)), max(0, int(-(-right // BLOCK))))

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
        return not self.taken[part].any() and not (beside and self.shown[part].any())

    def over(self, box: Box, blocks: Blocks | None) -> bool:
        """Whether a box lies over any of these blocks."""
        return blocks is not None and bool(blocks[self._slices(box)].any())

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

    def stitch(self, box: Box) -> None:
        """Take a box on a false border."""
        self.occupy(box)
        self.stitched[self._slices(box)] = True

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

    def crosses(self, start: ArrayLike, end: ArrayLike, lines: bool = True) -> bool:
        """Whether a leader would cross a label, another line, or what must be kept clear, once it has
        left what it begins in; a label from its second block on. `lines`: whether any line counts, or
        gaps' own alone."""
        blocks = self.along(start, end)
        taken = self.taken[blocks] if lines else (self.boxed | self.kept | self.measured)[blocks]
        left = int(np.argmin(taken))
        over_gap = self.measured[blocks][3:].any()
        return bool(over_gap or taken[left:].any() or (self.boxed & ~self.kept)[blocks][2:left].any())

    def take_line(self, start: ArrayLike, end: ArrayLike) -> None:
        """From now on no label may lie on this line."""
        blocks = self.along(start, end)
        self.passed = self.passed or bool(self.subject[blocks].any())
        self.taken[blocks] = True

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
        blocks = np.zeros_like(self.taken)
        blocks[part] = rows**2 + columns**2 <= reach**2
        self.keep(blocks, feet)

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
        down, across = self.taken.shape
        w, h = int(-(-size_px[0] // BLOCK)) + 1, int(-(-size_px[1] // BLOCK)) + 1
        edge = int(-(-margin_px // BLOCK))
        if w + 2 * edge > across or h + 2 * edge > down:
            return []
        blocked = _window_sums((self.taken if off is None else self.taken | off).astype(np.float32), h, w)
        unrest = _window_sums(self.busy, h, w) / (w * h)
        rows, columns = np.mgrid[0 : blocked.shape[0], 0 : blocked.shape[1]]
        x, y = np.asarray(near, dtype=float)
        away = np.hypot((columns + w / 2) * BLOCK - x, (rows + h / 2) * BLOCK - y)
        allowed = (blocked < 0.5) & (away <= within_px)
        allowed[:edge] = allowed[blocked.shape[0] - edge :] = False
        allowed[:, :edge] = allowed[:, blocked.shape[1] - edge :] = False
        at = np.flatnonzero(allowed)
        cost = (away + 6.0 * unrest).ravel()[at]
        boxes: list[Box] = []
        for k in at[np.argsort(cost, kind="stable")[:: max(1, len(at) // 60)][:MOST_CALM]]:
            row, column = divmod(int(k), blocked.shape[1])
            left, top = column * BLOCK + 2.0, row * BLOCK + 2.0
            boxes.append((left, top, left + size_px[0], top + size_px[1]))
        return boxes


def _window_sums(values: NDArray[np.float32], h: int, w: int) -> NDArray[np.float32]:
    # Sums over everything above and to the left: any window's sum is four look-ups, however large the window.
    total = np.zeros((values.shape[0] + 1, values.shape[1] + 1), dtype=np.float32)
    total[1:, 1:] = values.cumsum(axis=0).cumsum(axis=1)
    sums: NDArray[np.float32] = total[h:, w:] - total[:-h, w:] - total[h:, :-w] + total[:-h, :-w]
    return sums
