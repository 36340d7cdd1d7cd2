"""Files written whole or not at all, several at once included."""

from __future__ import annotations

import errno
import os
import shutil
import signal
import stat
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from threading import current_thread, main_thread
from typing import BinaryIO, TypeAlias

from stationpoint.base.errors import MachineLacks, StationpointError, StudyWrong

Content: TypeAlias = bytes | Callable[[BinaryIO], None]

FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.ENOMEM}
REASONS = {
    errno.EACCES: "this user may not write there",
    errno.EPERM: "this user may not write there",
    errno.EROFS: "it is read-only",
    errno.ENOENT: "its folder does not exist",
    errno.ENOTDIR: "its folder is a file",
    errno.EEXIST: "a file of that name is in the way",
    errno.EISDIR: "it is a folder",
    errno.ENAMETOOLONG: "the name is too long",
    errno.ELOOP: "its links lead in a circle",
}


def cannot_write(path: Path | str, error: OSError | ValueError, option: str = "-o") -> StationpointError:
    """The sentence for a failed write: MachineLacks for a full disk, else StudyWrong.

    option: what names another place for this output; "" where nothing does.
    """
    elsewhere = f". Name another place with {option}" if option else ""
    number = error.errno if isinstance(error, OSError) else None
    if number in FULL:
        return MachineLacks(
            f"{path} cannot be written: the disk is full or failing.",
            f"Free some room{elsewhere.replace('. Name', ' or name')}; nothing was written.",
        )
    reason = REASONS.get(number or 0) or (error.strerror if isinstance(error, OSError) else None)
    reason = reason or "that is no name for a file"
    return StudyWrong(f"{path} cannot be written: {reason}{elsewhere}.")


def make_folder(path: Path) -> None:
    """Make a folder and those above it, if need be."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise cannot_write(path, error) from error


def write_all(
    contents: Mapping[Path | str, Content], options: Mapping[Path | str, str] | None = None
) -> None:
    """Write several files: all of them, or none and an error that says why.

    Each is written beside its place under a name of chance, so that what an earlier call has left is
    never in the way; they are renamed once all are written. Where one cannot be, those before it get back
    what they held; a stop waits until all are. Each is the old file or the new one whatever happens; a
    kill between two renames may leave the first new and the second old. A failing of power is the file
    system's to mend: nothing waits for the disk. Devices and pipes are written to as they are.
    options: what names another place for an output, -o unless said.
    """
    options = options or {}
    waiting: list[tuple[Path, Path, Path | str]] = []  # (written, its place, as named)
    taken: set[Path] = set()
    try:
        for named, content in contents.items():
            try:
                place = Path(named).resolve()
                if place in taken:
                    raise StudyWrong(f"{named} is named twice for two outputs; name each once.")
                taken.add(place)
                if place.is_dir():
                    raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
                if place.exists() and not place.is_file():
                    with open(place, "wb") as device:
                        _fill(device, content)
                    continue
                beside = _beside(place)
                with open(beside, "xb") as file:
                    if place.exists():
                        os.chmod(beside, stat.S_IMODE(place.stat().st_mode))
                    waiting.append((beside, place, named))
                    _fill(file, content)
            except (OSError, ValueError, RuntimeError) as error:
                if isinstance(error, RuntimeError):
                    error = OSError(errno.ELOOP, os.strerror(errno.ELOOP))
                raise cannot_write(named, error, options.get(named, "-o")) from error
        _rename(waiting, options)
    finally:
        for beside, _, _ in waiting:
            beside.unlink(missing_ok=True)


def _rename(waiting: list[tuple[Path, Path, Path | str]], options: Mapping[Path | str, str]) -> None:
    """Give written files their names: all, or none and an error. What is renamed leaves the list."""
    kept: list[tuple[Path, Path | None]] = []  # (place, what holds its old contents)
    with _stops_held_back():
        try:
            while waiting:
                beside, place, named = waiting[0]
                try:
                    if len(waiting) > 1:  # none comes after the last that could fail
                        kept.append((place, _set_aside(place)))
                    os.replace(beside, place)
                except OSError as error:
                    _put_back(kept)
                    raise cannot_write(named, error, options.get(named, "-o")) from error
                waiting.pop(0)
        finally:
            for _, aside in kept:
                if aside is not None:
                    aside.unlink(missing_ok=True)


def _set_aside(place: Path) -> Path | None:
    """A further name for what a place holds; None where nothing is there."""
    if not place.exists():
        return None
    aside = _beside(place)
    try:
        os.link(place, aside)
    except OSError:  # a file system without links
        shutil.copy2(place, aside)
    return aside


def _put_back(kept: list[tuple[Path, Path | None]]) -> None:
    for place, aside in reversed(kept):
        if aside is None:
            place.unlink(missing_ok=True)
        else:
            os.replace(aside, place)


@contextmanager
def _stops_held_back() -> Iterator[None]:
    """Within it Ctrl-C, polite kills and the alarm that repeats them wait."""
    if current_thread() is not main_thread():
        yield
        return
    late: list[int] = []
    names = [name for name in ("SIGINT", "SIGTERM", "SIGALRM") if hasattr(signal, name)]
    before = {number: signal.getsignal(number) for number in (getattr(signal, name) for name in names)}
    held = {number: handler for number, handler in before.items() if callable(handler)}
    for number in held:
        signal.signal(number, lambda number, _: late.append(number))
    try:
        yield
    finally:
        for number, handler in held.items():
            signal.signal(number, handler)
        for number in late[:1]:
            signal.raise_signal(number)


def _beside(place: Path) -> Path:
    return place.with_name(f".stationpoint-{os.urandom(8).hex()}.part")


def whole(content: Content) -> bytes:
    """All of what is to be written."""
    if isinstance(content, bytes):
        return content
    file = BytesIO()
    content(file)
    return file.getvalue()


def _fill(file: BinaryIO, content: Content) -> None:
    if isinstance(content, bytes):
        file.write(content)
    else:
        content(file)
