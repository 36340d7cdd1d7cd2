"""Memory that a process shares with one that it forks: arrays come back through it without being copied.

Pickle's protocol 5 (PEP 574) hands large arrays over beside the stream; here they are put into the shared
memory, and what comes back lies there.
"""

from __future__ import annotations

import mmap
import pickle
from collections.abc import Sequence
from typing import Any, NamedTuple

from numpy.typing import NDArray

SMALL_BYTES = 4096  # so little goes through the stream
ALIGNED = 64


class SharedPickle(NamedTuple):
    """A thing on its way. places: where its arrays lie in the room, (start, stop) each, or the number of one
    that is at hand."""

    stream: bytes
    places: list[tuple[int, int] | int]


class SharedMemory:
    """Shared memory of a size in bytes; pages that nothing was put into cost nothing.

    again: whether each thing takes the place of the one before, which was unpacked by then; else it is filled
    once. at_hand: arrays that the forked process has as well, so that their numbers do. Made before the fork.
    What does not fit, or no memory at all, only means more copying.
    """

    def __init__(self, size: int, again: bool = False, at_hand: Sequence[NDArray[Any]] = ()) -> None:
        self._used, self._again = 0, again
        self._at_hand = at_hand
        self._numbers = {id(array): k for k, array in enumerate(at_hand)}
        self._memory: mmap.mmap | None = None
        if size > 0:
            try:
                self._memory = mmap.mmap(-1, size)
            except (OSError, OverflowError, ValueError):
                self._memory = None

    def packed(self, thing: object) -> SharedPickle:
        """A thing, its large arrays put into the room."""
        places: list[tuple[int, int] | int] = []
        self._used = 0 if self._again else self._used

        def through_the_stream(buffer: pickle.PickleBuffer) -> bool:
            number = self._numbers.get(id(memoryview(buffer).obj)) if self._numbers else None
            if number is not None:
                places.append(number)
                return False
            raw = buffer.raw()
            start, stop = self._used, self._used + raw.nbytes
            if self._memory is None or raw.nbytes < SMALL_BYTES or stop > len(self._memory):
                return True
            self._memory[start:stop] = raw
            places.append((start, stop))
            self._used = -(-stop // ALIGNED) * ALIGNED
            return False

        return SharedPickle(pickle.dumps(thing, 5, buffer_callback=through_the_stream), places)

    def unpacked(self, packed: SharedPickle) -> Any:
        """The thing, its arrays where they lie: they keep the room. Copies where that is used again."""
        whole = memoryview(self._memory or b"")
        arrays = [
            self._at_hand[place] if isinstance(place, int) else whole[slice(*place)]
            for place in packed.places
        ]
        return pickle.loads(packed.stream, buffers=map(bytearray, arrays) if self._again else arrays)
