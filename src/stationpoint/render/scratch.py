"""Memory that is used again: what is worked out and thrown away at once costs more in new memory, which the
system hands out page by page as it is first written to, than its arithmetic does."""

from __future__ import annotations

import threading
from math import prod
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

MOST_SHAPES = 400
Number = TypeVar("Number", bound=np.generic)


class Scratch(threading.local):
    """Arrays by name, for each thread its own. One holds what was written to it until its name is asked for
    again, in whatever shape."""

    def __init__(self) -> None:
        self._blocks: dict[str, NDArray[np.uint8]] = {}
        self._arrays: dict[tuple[str, tuple[int, ...], type], NDArray[Any]] = {}

    def array(self, name: str, shape: tuple[int, ...], kind: type[Number]) -> NDArray[Number]:
        """An array, with what was left in it."""
        key = name, shape, kind
        if key not in self._arrays:
            size = prod(shape) * np.dtype(kind).itemsize
            block = self._blocks.get(name)
            if block is None or len(block) < size or len(self._arrays) >= MOST_SHAPES:
                self._arrays.clear()  # none may keep an old block
                block = self._blocks[name] = np.empty(size, dtype=np.uint8)
            self._arrays[key] = block[:size].view(kind).reshape(shape)
        return self._arrays[key]
