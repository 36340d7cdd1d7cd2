"""The command line called in a test: in this process (fast), or as a process of its own (whole)."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

from stationpoint import cli
from stationpoint.base.errors import StudyWrong

SOURCE = Path(__file__).parents[1] / "src"
DATA = Path(__file__).parents[1] / ".." / "shared" / "data"

SCENE = """
[ground]
size = [40, 40]

[[solid]]
name = "crate"
shape = "box"
size = [1, 1, 1]
at = [2, 0, -2]

[[solid]]
name = "wall"
shape = "box"
size = [6, 2, 0.3]
at = [0, 0, -4]
"""
STUDY = """
title = "Does the crate show?"
scene = "yard.toml"

[subject]
name = "hopper"
at = [0, 0, 0]

[[target]]
name = "crate"
node = "crate"

[[gap]]
name = "hop"
from = [0, 0, 0]
to = [-2, 0, -2]
reach_m = 3

[camera]
focal_mm = 35
distance_m = 8
anchor_height_m = 0.9
aspect = "16:9"

[sweep]
columns = { focal_mm = [24, 50] }
"""
LAMP_SCENE = """
[ground]
size = [40, 40]

[[solid]]
name = "lamp"
shape = "box"
size = [1, 1, 1]
at = [0, 3, 0]

[[solid]]
name = "crate"
shape = "box"
size = [1, 1, 1]
at = [3, 0, 0]
"""
SMALL = ("--renderer", "rays", "--cell-width", "320")


@dataclass(frozen=True)
class Result:
    """What a call left: its exit code, standard output (bytes) and standard error."""

    code: int
    out: bytes
    err: str

    @property
    def text(self) -> str:
        return self.out.decode()

    @property
    def record(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.out)
        return found


def call(*words: str | Path, cwd: Path) -> Result:
    """Run the command line in this process, in a folder."""
    out, err = io.BytesIO(), io.BytesIO()
    before, term = Path.cwd(), signal.getsignal(signal.SIGTERM)
    code: object = None
    with ExitStack() as stack:
        stack.callback(os.chdir, before)
        stack.callback(signal.signal, signal.SIGTERM, term)
        os.chdir(cwd)
        stack.enter_context(patch.object(sys, "argv", ["stationpoint", *map(str, words)]))
        stdout = stack.enter_context(patch.object(sys, "stdout", io.TextIOWrapper(out, "utf-8")))
        stderr = stack.enter_context(patch.object(sys, "stderr", io.TextIOWrapper(err, "utf-8")))
        try:
            cli.main()
        except SystemExit as end:
            code = end.code
        stdout.flush()
        stderr.flush()
        stdout.detach()
        stderr.detach()
    assert isinstance(code, int)
    return Result(code, out.getvalue(), err.getvalue().decode())


def done(*words: str | Path, cwd: Path) -> Result:
    """As call; the call must succeed."""
    result = call(*words, cwd=cwd)
    assert result.code == 0, result.err
    return result


def refused(*words: str | Path, cwd: Path, code: int = 2) -> str:
    """Standard error of a call that must fail with this code, write nothing, and say it plainly."""
    before = listing(cwd)
    result = call(*words, cwd=cwd)
    assert result.code == code, (result.code, result.err)
    assert listing(cwd) == before
    assert result.out == b""
    assert result.err.strip()
    assert "Traceback" not in result.err
    assert "fault of its own" not in result.err
    return result.err


def listing(folder: Path) -> dict[str, bytes]:
    """Every file under a folder, by its path, with its bytes."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def environment(**more: str) -> dict[str, str]:
    """This process's environment, with the package in reach."""
    return {**os.environ, "PYTHONPATH": str(SOURCE), "PYTHONIOENCODING": "utf-8", **more}


def process(*words: str | Path, cwd: Path, **more: str) -> Result:
    """Run the command line as a process of its own. more: environment variables."""
    ended = subprocess.run(
        [sys.executable, "-m", "stationpoint", *map(str, words)],
        cwd=cwd,
        env=environment(**more),
        capture_output=True,
        timeout=120,
        check=False,
    )
    return Result(ended.returncode, ended.stdout, ended.stderr.decode())


def yard(folder: Path, study: str = STUDY, scene: str = SCENE) -> Path:
    """A small scene and its study, written into a folder; the study's path."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "yard.toml").write_text(scene, "utf-8")
    path = folder / "yard.study.toml"
    path.write_text(study, "utf-8")
    return path


@contextmanager
def doubling() -> Iterator[Callable[[int], int]]:
    """Work that a process of its own can find."""
    yield double


def double(number: int) -> int:
    """Twice a number; an error for one below 0, the process's end for one above 1000."""
    if number < 0:
        raise StudyWrong("a number below 0")
    if number > 1000:
        raise SystemExit(1)
    return 2 * number
