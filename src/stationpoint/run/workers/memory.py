"""Memory that a process shares with one that it forks: arrays come back through it without being copied.

Pickle's protocol 5 (PEP 574) hands large arrays over beside the stream; here they are put into the shared
memory, and what comes back lies there.
"""

from __future__ import annotations

import mmap
import pickle
from typing import Any, NamedTuple

SMALL_BYTES = 4096  # so little goes through the stream
ALIGNED = 64


class SharedPickle(NamedTuple):
    """A thing on its way. places: where its arrays lie in the room, (start, stop) each."""

    stream: bytes
    places: list[tuple[int, int]]


class SharedMemory:
    """Shared memory of a size in bytes; pages that nothing was put into cost nothing.

    again: whether each thing takes the place of the one before, which was unpacked by then; else it is filled
    once. Made before the fork. What does not fit, or no memory at all, only means more copying.
    """

    def __init__(self, size: int, again: bool = False) -> None:
        self._used, self._again = 0, again
        self._memory: mmap.mmap | None = None
        if size > 0:
            try:
                self._memory = mmap.mmap(-1, size)
            except (OSError, OverflowError, ValueError):
                self._memory = None

    def packed(self, thing: object) -> SharedPickle:
        """A thing, its large arrays put into the room."""
        places: list[tuple[int, int]] = []
        self._used = 0 if self._again else self._used

        def through_the_stream(buffer: pickle.PickleBuffer) -> bool:
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
        if self._memory is None:
            return pickle.loads(packed.stream)
        whole = memoryview(self._memory)
        arrays = [whole[start:stop] for start, stop in packed.places]
        return pickle.loads(packed.stream, buffers=map(bytearray, arrays) if self._again else arrays)
