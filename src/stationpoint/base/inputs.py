"""The one door by which a person's files are read, so that a call knows them and writes over none.

A call reads within `noting()`; whatever goes through the door there, or is named with `note`, is among
`files_read()` afterwards. Elsewhere nothing is kept.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import BinaryIO

_noted: ContextVar[dict[Path, None] | None] = ContextVar("noted", default=None)


@contextmanager
def noting() -> Iterator[None]:
    """Within it the files that are read are kept, from none on."""
    token = _noted.set({})
    try:
        yield
    finally:
        _noted.reset(token)


def note(path: Path) -> None:
    """Keep a file that belongs to what was read without being opened, as a mesh's texture does."""
    found = _noted.get()
    if found is not None:
        found[path] = None


def open_input(path: Path) -> BinaryIO:
    """A file opened to be read in pieces. Raises OSError."""
    note(path)
    return path.open("rb")


def read_input(path: Path) -> bytes:
    """A file's bytes. Raises OSError."""
    with open_input(path) as file:
        return file.read()


def files_read() -> tuple[Path, ...]:
    """The files read so far, each once, in that order."""
    return tuple(_noted.get() or ())
