"""Masks of pixels: their runs, the largest connected piece, outlines."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.plane import lower_chain

Points = NDArray[np.float64]
Mask = NDArray[np.bool_]


def id_counts(ids: NDArray[np.uint32], least: int) -> NDArray[np.intp]:
    """How many pixels have each id, (n,), n the highest id + 1, but `least` at least. ids: (h, w).

    Counted by runs of one id in reading order: of these a picture has far fewer than pixels.
    """
    flat = ids.ravel()
    starts = np.concatenate([[0], np.flatnonzero(flat[1:] != flat[:-1]) + 1])
    return np.bincount(flat[starts], np.diff(starts, append=len(flat)), least).astype(np.intp)


def runs(mask: Mask) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """Rows, starts and ends (one past the last) of the runs of true pixels, in reading order."""
    height, width = mask.shape
    padded = np.zeros((height, width + 2), dtype=bool)
    padded[:, 1:-1] = mask
    # Ones before and behind each run, in turns: no row begins or ends in the midst of one.
    starts, ends = np.flatnonzero(padded[:, 1:] != padded[:, :-1]).reshape(-1, 2).T
    row = starts // (width + 1)
    return row, starts - row * (width + 1), ends - row * (width + 1)


def largest_piece(mask: Mask) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """Runs (rows, starts, ends) of the largest 8-connected piece of a mask; the first of equals."""
    row, start, end = runs(mask)
    if (row[1:] - row[:-1] == 1).all() and ((start[1:] <= end[:-1]) & (end[1:] >= start[:-1])).all():
        return row, start, end  # one run a row, each touching the next: most that is seen is one piece
    label = _labels(row, start, end, mask.shape[1])
    sizes = np.bincount(label, weights=end - start)
    chosen = label == int(np.argmax(sizes))
    return row[chosen], start[chosen], end[chosen]


Runs = tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]


def pieces(mask: Mask, most: int | None = None) -> list[Runs]:
    """Runs (rows, starts, ends) of the 8-connected pieces of a mask, the largest first, at most so many."""
    row, start, end = runs(mask)
    if not len(row):
        return []
    label = _labels(row, start, end, mask.shape[1])
    sizes = np.bincount(label, weights=end - start)
    order = np.argsort(-sizes, kind="stable")[: np.count_nonzero(sizes)][:most]
    return [(row[mine], start[mine], end[mine]) for mine in (label == k for k in order.tolist())]


def piece_at(mask: Mask, place: tuple[int, int]) -> Mask:
    """The 8-connected piece of a mask that holds a place (row, column), which is in the mask."""
    row, start, end = runs(mask)
    label = _labels(row, start, end, mask.shape[1])
    here = label[(row == place[0]) & (start <= place[1]) & (place[1] < end)]
    mine = label == here
    return filled((row[mine], start[mine], end[mine]), mask.shape)


def filled(piece: Runs, shape: tuple[int, ...]) -> Mask:
    """The mask of that shape which holds these runs."""
    found = np.zeros(shape, dtype=bool)
    for row, start, end in zip(*(part.tolist() for part in piece), strict=True):
        found[row, start:end] = True
    return found


def _labels(
    row: NDArray[np.intp], start: NDArray[np.intp], end: NDArray[np.intp], width: int
) -> NDArray[np.intp]:
    """For each run the lowest index of a run in the same 8-connected piece."""
    stride = width + 2
    # Runs j of the next row touch run i if start_j <= end_i and end_j >= start_i (corners count).
    first = np.searchsorted(row * stride + end, (row + 1) * stride + start, side="left")
    last = np.searchsorted(row * stride + start, (row + 1) * stride + end, side="right")
    count = np.maximum(last - first, 0)
    above = np.repeat(np.arange(len(row)), count)
    offsets = np.arange(len(above)) - np.repeat(np.cumsum(count) - count, count)
    below = np.repeat(first, count) + offsets
    label = np.arange(len(row))
    while len(above):
        low = np.minimum(label[above], label[below])
        before = label.copy()
        np.minimum.at(label, before[above], low)
        np.minimum.at(label, before[below], low)
        label = label[label]
        if np.array_equal(before, label):
            break
    return label


def hull_of_runs(row: NDArray[np.intp], start: NDArray[np.intp], end: NDArray[np.intp]) -> Points:
    """Corners (n, 2) of the convex hull of the squares of the pixels of runs, in order round it; the runs in
    reading order, at least one in every row from the first to the last.

    Exact, in whole numbers. Worked: one pixel: its four corners.
    """
    first = np.flatnonzero(np.diff(row, prepend=-1))
    sides = np.array([np.minimum.reduceat(start, first), -np.maximum.reduceat(end, first)])
    # How far left, and right, something reaches on each line between rows: what reaches less than halfway
    # between its neighbours is no corner.
    lines = np.concatenate([sides[:, :1], np.minimum(sides[:, 1:], sides[:, :-1]), sides[:, -1:]], axis=1)
    corner = np.ones(lines.shape, dtype=bool)
    corner[:, 1:-1] = 2 * lines[:, 1:-1] < lines[:, 2:] + lines[:, :-2]
    left, right = (
        lower_chain(zip(kept.tolist(), x[kept].tolist(), kept.tolist(), strict=True))
        for x, kept in zip(lines, map(np.flatnonzero, corner), strict=True)
    )
    y = [*left[::-1], *right]
    x = np.concatenate([lines[0, left[::-1]], -lines[1, right]])
    return np.column_stack([x, y + row[0]]).astype(np.float64)


def ends(mask: Mask) -> tuple[tuple[int, int], tuple[int, int]]:
    """The first row of a mask that is not empty and the one after its last, and its columns likewise."""
    rows, columns = (np.flatnonzero(mask.any(axis=axis)) for axis in (1, 0))
    return (int(rows[0]), int(rows[-1]) + 1), (int(columns[0]), int(columns[-1]) + 1)


def outline(mask: Mask) -> Points:
    """Closed outlines of all pieces and holes, (n, 2) pixels, parted by nan rows.

    They run through the middles of the pixels' outer edges, so that slanted edges come out smooth.
    """
    if not mask.any():
        return np.zeros((0, 2))
    (top, bottom), (left, right) = ends(mask)
    mask = mask[top:bottom, left:right]
    padded = np.zeros((mask.shape[0] + 2, mask.shape[1] + 2), dtype=bool)
    padded[1:-1, 1:-1] = mask
    inner, stride = padded[1:-1, 1:-1], mask.shape[1] + 1
    # Each outer edge of a pixel, directed so that the mask lies to its right (y is down): its pixel,
    # and from which to which corner of the pixel it runs.
    begin, finish = [], []
    for neighbour, start, end in (
        (padded[:-2, 1:-1], 0, 1),
        (padded[1:-1, 2:], 1, stride + 1),
        (padded[2:, 1:-1], stride + 1, stride),
        (padded[1:-1, :-2], stride, 0),
    ):
        pixel = np.flatnonzero(inner & ~neighbour)
        corner = pixel + pixel // mask.shape[1]
        begin.append(corner + start)
        finish.append(corner + end)
    first, last = np.concatenate(begin), np.concatenate(finish)
    middles = np.column_stack([first % stride + last % stride, first // stride + last // stride]) / 2.0
    # As many edges end at a vertex as begin there: the k-th end goes on with the k-th beginning.
    following = np.empty(len(first), dtype=np.intp)
    following[np.argsort(last, kind="stable")] = np.argsort(first, kind="stable")
    after, seen = following.tolist(), bytearray(len(first))
    parts: list[Points] = []
    for k in range(len(after)):
        if seen[k]:
            continue
        loop = []
        while not seen[k]:
            seen[k] = 1
            loop.append(k)
            k = after[k]
        parts += [_without_straights(middles[loop]), np.full((1, 2), np.nan)]
    found: Points = np.concatenate(parts[:-1]) + np.array([left, top])
    return found


def _without_straights(loop: Points) -> Points:
    """A closed loop without the points inside its straight runs, its first point repeated at the end."""
    x, y = np.diff(loop, axis=0, prepend=loop[-1:], append=loop[:1]).T
    kept = loop[x[1:] * y[:-1] != y[1:] * x[:-1]]
    return np.concatenate([kept, kept[:1]])
