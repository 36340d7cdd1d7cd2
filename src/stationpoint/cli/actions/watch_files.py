"""Which files of a study have changed: folders are watched, since editors save by renaming."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Mapping
from pathlib import Path
from queue import Empty, Queue
from threading import Event, Thread
from types import ModuleType

from stationpoint.base.errors import MachineLacks
from stationpoint.run import Stamp, stamp

QUIET_MS = 40  # so long nothing more is written once a save is over
MOST_MS = 1000  # that a save may take
LOOK_AGAIN_S = 1.0  # where the system tells of no changes, as of a folder on another machine


class Watcher:
    """Waits until files change. MachineLacks where watchfiles is not installed."""

    def __init__(self) -> None:
        self._watchfiles = _watchfiles()
        self._folders: frozenset[Path] = frozenset()
        self._stop = Event()
        self._events = Queue[bool]()

    def watch(self, files: Iterable[Path]) -> None:
        """Watch the folders of these files from now on."""
        folders = {folder for file in files for folder in (file.parent, file.resolve().parent)}
        there = frozenset(folder for folder in folders if folder.is_dir())
        if there == self._folders:
            return
        self._stop.set()
        self._folders, self._stop = there, Event()
        Thread(target=self._listen, args=(there, self._stop), daemon=True).start()

    def wait(self, stamps: Mapping[Path, Stamp], any_event: bool = False) -> None:
        """Return once one of these files is another than its stamp says. any_event: or anything has happened
        in the folders."""
        while not any(stamp(file) != before for file, before in stamps.items()):
            try:
                self._events.get(timeout=LOOK_AGAIN_S)
            except Empty:
                continue
            if any_event:
                break
        while not self._events.empty():
            self._events.get_nowait()

    def end(self) -> None:
        """Watch nothing any more."""
        self._stop.set()

    def _listen(self, folders: frozenset[Path], stop: Event) -> None:
        """A thread's life: an event for each change, none where the system cannot tell of any."""
        try:
            for _ in self._watchfiles.watch(
                *folders,
                watch_filter=None,
                debounce=MOST_MS,
                step=QUIET_MS,
                stop_event=stop,
                recursive=False,
                ignore_permission_denied=True,
            ):
                self._events.put(True)
        except (OSError, RuntimeError):  # a folder has gone, or no more can be watched
            return


def _watchfiles() -> ModuleType:
    try:
        import watchfiles
    except ImportError:
        raise MachineLacks(
            "watch needs watchfiles, which is not installed.",
            'Install it with: pip install "stationpoint[watch]"',
        ) from None
    logging.getLogger("watchfiles").setLevel(logging.ERROR)
    return watchfiles
