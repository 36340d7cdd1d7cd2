"""What hangs together: numbers joined in pairs, gathered into groups."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.intp]


def linked(count: int, first: Whole, second: Whole) -> Whole:
    """The group of each of `count` things, (count,), groups numbered from 0 in the order of their first.

    first, second: (n,) things that are joined. Worked: 4 things, 0 with 2: groups 0, 1, 0, 2.
    """
    label = np.arange(count, dtype=np.intp)
    while True:
        low = np.minimum(label[first], label[second])
        before = label.copy()
        # Either takes the lower number (unbuffered, since things recur) as does whatever led there, and then
        # that number's own, which halves the ways: a few rounds join a mesh of any length.
        for those in (first, second, before[first], before[second]):
            np.minimum.at(label, those, low)
        label = label[label]
        if np.array_equal(label, before):
            break
    number = np.cumsum(label == np.arange(count)) - 1
    found: Whole = number[label]
    return found
