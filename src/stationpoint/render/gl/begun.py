"""A shot that was handed to the driver, and is read later."""

from __future__ import annotations

from collections.abc import Callable

from stationpoint.camera import Frame
from stationpoint.render.gl import context


class Begun:
    """A shot under way: read when its frame is called for, or when its canvases are needed."""

    def __init__(self, read: Callable[[], Frame]) -> None:
        self._read = read
        self._frame: Frame | None = None

    def finish(self) -> None:
        """Read it, unless that was done."""
        if self._frame is None:
            self._frame = self._read()

    def frame(self) -> Frame:
        """The frame."""
        context.current_context()
        self.finish()
        assert self._frame is not None
        return self._frame
