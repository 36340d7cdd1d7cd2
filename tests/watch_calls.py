"""`watch` as tests call it: a process of its own, a study saved, what it has told so far."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from cli_calls import environment

FAST = ("--renderer", "rays", "--cell-width", "320")
DEADLINE_S = 60.0  # of a machine that does much else
LINE = re.compile(r"Wrote (\S+): (\d+) of (\d+) variants drawn\.")


class Watching(NamedTuple):
    """A call that watches a folder's study. said: what it has told so far, line by line."""

    process: subprocess.Popen[bytes]
    folder: Path
    said: Callable[[], list[str]]

    def until(self, test: Callable[[list[str]], bool]) -> list[str]:
        """All that it has told once that passes a test."""
        end = time.monotonic() + DEADLINE_S
        while time.monotonic() < end and self.process.poll() is None:
            if test(self.said()):
                return self.said()
            time.sleep(0.02)
        raise AssertionError(self.said())

    def wrote(self, count: int) -> list[tuple[str, int]]:
        """Once so many files were written: each with how many variants were drawn for it."""
        lines = self.until(lambda said: sum(map(bool, map(LINE.match, said))) >= count)
        return [(one[1], int(one[2])) for one in map(LINE.match, lines) if one]

    def address(self) -> str:
        """Where the page is shown, once it is."""
        lines = self.until(lambda said: any("http://" in line for line in said))
        return next(line.split()[-1] for line in lines if "http://" in line)

    def save(self, text: str, name: str = "yard.study.toml") -> None:
        """As editors save: beside the file, then renamed."""
        beside = self.folder / "saved~"
        beside.write_text(text, "utf-8")
        os.replace(beside, self.folder / name)


@contextmanager
def watching(folder: Path, *words: str) -> Iterator[Watching]:
    told = folder.parent / f"{folder.name}.told"
    with told.open("wb") as stream:
        process = subprocess.Popen(
            [sys.executable, "-m", "stationpoint", "watch", "yard.study.toml", *FAST, *words],
            cwd=folder,
            env=environment(),
            stderr=stream,
            start_new_session=True,
        )
    try:
        yield Watching(process, folder, lambda: told.read_text("utf-8").splitlines())
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
