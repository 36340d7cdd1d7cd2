"""What hangs together: numbers joined in pairs, gathered into groups; rows that are alike, numbered."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.intp]


def linked(count: int, first: Whole, second: Whole) -> Whole:
    """The group of each of `count` things, (count,), groups numbered from 0 in the order of their first.

    first, second: (n,) things that are joined. Worked: 4 things, 0 with 2: groups 0, 1, 0, 2.
    """
    label = np.arange(count, dtype=np.intp)
    while len(first):
        # The first of a group takes the lowest number that it is joined to (unbuffered, since things recur),
        # and all that led there follows: a few rounds join a mesh of any length. Pairs within one are done.
        np.minimum.at(label, np.maximum(first, second), np.minimum(first, second))
        while True:
            further = label[label]
            if np.array_equal(further, label):
                break
            label = further
        first, second = label[first], label[second]
        apart = first != second
        first, second = first[apart], second[apart]
    found: Whole = (np.cumsum(label == np.arange(count)) - 1)[label]
    return found


def numbered(rows: NDArray[np.int64]) -> Whole:
    """A number for each row (n, k), (n,): equal where rows are, in the order of the rows from 0.

    Worked: (5, 1), (2, 9), (5, 1), (2, 8): 2, 1, 2, 0.
    """
    if not len(rows):
        return np.zeros(0, dtype=np.intp)
    # As one whole number each they sort six times as fast.
    found, most = np.zeros(len(rows), dtype=np.int64), 1
    for column, low, high in zip(rows.T, rows.min(axis=0).tolist(), rows.max(axis=0).tolist(), strict=True):
        steps, span = column - low, high - low + 1
        if most * span >= 2**63:
            found, steps = (np.unique(one, return_inverse=True)[1] for one in (found, steps))
            most, span = int(found.max()) + 1, int(steps.max()) + 1
        found, most = found * span + steps, most * span
    return np.unique(found, return_inverse=True)[1].astype(np.intp, copy=False)
