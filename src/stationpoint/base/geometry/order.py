"""The order of many whole numbers, and which there are."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Number = TypeVar("Number", bound=np.integer)

HALF = 16  # bits: so wide numbers numpy sorts by counting


def stable_order(numbers: NDArray[np.integer]) -> NDArray[np.intp]:
    """The order that sorts whole numbers (n,) from 0 to below 2^32, equal ones as they come, (n,).

    The same as numpy's stable argsort; of millions in half the time: by the lower half of the bits, then by
    the upper.
    """
    lower = np.argsort((numbers & 0xFFFF).astype(np.uint16), kind="stable")
    upper = np.argsort((numbers >> HALF).astype(np.uint16)[lower], kind="stable")
    order: NDArray[np.intp] = lower[upper]
    return order


def distinct(numbers: NDArray[Number]) -> NDArray[Number]:
    """Each number of an array once, rising, (n,): numpy's unique, which for this loads numpy.ma."""
    rising = np.sort(numbers, axis=None)
    return rising[np.append(True, rising[1:] != rising[:-1])] if len(rising) else rising
