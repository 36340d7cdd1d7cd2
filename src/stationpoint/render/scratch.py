"""Memory that is used again: what is worked out and thrown away at once costs more in new memory, which the
system hands out page by page as it is first written to, than its arithmetic does."""

from __future__ import annotations

import threading
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Number = TypeVar("Number", bound=np.generic)


class Scratch(threading.local):
    """Arrays by name, for each thread its own. One holds what was written to it until its name is asked for
    again."""

    def __init__(self) -> None:
        self._blocks: dict[str, NDArray[np.uint8]] = {}

    def array(self, name: str, shape: tuple[int, ...], kind: type[Number]) -> NDArray[Number]:
        """An array, with what was left in it."""
        size = np.dtype(kind).itemsize
        for count in shape:
            size *= count
        block = self._blocks.get(name)
        if block is None or len(block) < size:
            block = self._blocks[name] = np.empty(size, dtype=np.uint8)
        return block[:size].view(kind).reshape(shape)
