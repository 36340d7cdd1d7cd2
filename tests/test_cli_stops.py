"""Ctrl-C, closed pipes, full devices and dying workers: a sentence, the right code, nothing left behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from cli_calls import Result, environment, listing, process, yard

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals and pipes as POSIX has them")
LONG = (
    "--renderer",
    "rays",
    "--cell-width",
    "500",
    "--pages",
    "yaw_deg=0:180:15",
    "--rows",
    "pitch_deg=10,20",
)


def started(*words: str, cwd: Path) -> subprocess.Popen[bytes]:
    """A call in a process group of its own, as a terminal makes it."""
    return subprocess.Popen(
        [sys.executable, "-m", "stationpoint", *words],
        cwd=cwd,
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )


def in_the_middle(folder: Path, number: int, workers: int, group: bool = True) -> Result:
    """What is left by a long call that is stopped while it draws. group: its workers get the signal too,
    as from a terminal."""
    running = started("sheet", "yard.study.toml", *LONG, "--workers", str(workers), "--progress", cwd=folder)
    assert running.stderr is not None
    told = running.stderr.readline()  # the first tenth has been drawn
    assert b"drawn." in told, told
    (os.killpg if group else os.kill)(running.pid, number)
    try:
        out, err = running.communicate(timeout=20)
    finally:
        if running.returncode is None:
            os.killpg(running.pid, signal.SIGKILL)
    return Result(running.returncode, out, err.decode())


@pytest.mark.parametrize("workers", [1, 2])
def test_ctrl_c_ends_with_one_line_and_no_file(workers: int, tmp_path: Path) -> None:
    yard(tmp_path)
    before = listing(tmp_path)
    left = in_the_middle(tmp_path, signal.SIGINT, workers)
    assert left.code in (130, -signal.SIGINT)
    said = [line for line in left.err.splitlines() if "drawn." not in line]
    assert said == ["Stopped; nothing more was written."]
    assert listing(tmp_path) == before


def test_polite_kill_ends_workers_too(tmp_path: Path) -> None:
    yard(tmp_path)
    before = listing(tmp_path)
    left = in_the_middle(tmp_path, signal.SIGTERM, 2, group=False)
    assert left.code == 128 + signal.SIGTERM
    assert left.err.splitlines()[-1] == "Stopped; nothing more was written."
    assert "Traceback" not in left.err
    assert listing(tmp_path) == before


def test_ctrl_c_at_the_start_shows_no_traceback(tmp_path: Path) -> None:
    yard(tmp_path)
    for wait in (0.15, 0.4):
        running = started("sheet", "yard.study.toml", *LONG, "--workers", "2", cwd=tmp_path)
        time.sleep(wait)
        os.killpg(running.pid, signal.SIGINT)
        _, err = running.communicate(timeout=20)
        assert running.returncode in (130, -signal.SIGINT)
        if wait > 0.3:  # before that the interpreter itself may be starting
            assert "Traceback" not in err.decode()


def test_worker_that_dies_is_told_as_a_lack(tmp_path: Path) -> None:
    yard(tmp_path)
    running = started("sheet", "yard.study.toml", *LONG, "--workers", "2", "--progress", cwd=tmp_path)
    assert running.stderr is not None
    assert b"drawn." in running.stderr.readline()
    children = Path(f"/proc/{running.pid}/task/{running.pid}/children")
    if not children.exists():
        running.kill()
        pytest.skip("this system does not tell a process's children")
    os.kill(int(children.read_text().split()[-1]), signal.SIGKILL)
    _, err = running.communicate(timeout=30)
    assert running.returncode == 3
    assert "A worker process ended in the middle of its work" in err.decode()
    assert "Traceback" not in err.decode()


@pytest.mark.parametrize(
    "words", ["measure yard.study.toml --only axes", "check yard.study.toml", "demo --list", "--help"]
)
def test_closed_pipe_is_no_error(words: str, tmp_path: Path) -> None:
    yard(tmp_path)
    read_end, write_end = os.pipe()
    os.close(read_end)
    ended = subprocess.run(
        [sys.executable, "-m", "stationpoint", *words.split()],
        cwd=tmp_path,
        env=environment(),
        stdout=write_end,
        stderr=subprocess.PIPE,
        timeout=60,
        check=False,
    )
    os.close(write_end)
    assert ended.stderr == b""
    assert ended.returncode == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_full_standard_output_is_a_lack(tmp_path: Path) -> None:
    yard(tmp_path)
    for words in (("measure", "yard.study.toml", "--only", "axes"), ("check", "yard.study.toml")):
        with Path("/dev/full").open("wb") as full:
            ended = subprocess.run(
                [sys.executable, "-m", "stationpoint", *words],
                cwd=tmp_path,
                env=environment(),
                stdout=full,
                stderr=subprocess.PIPE,
                timeout=60,
                check=False,
            )
        assert ended.returncode == 3
        assert ended.stderr.decode().startswith("Standard output cannot be used: No space left")
        assert len(ended.stderr.splitlines()) == 1


def test_names_that_the_terminal_cannot_show_are_no_fault(tmp_path: Path) -> None:
    yard(tmp_path, scene='[[solid]]\nname = "Kürbis \U0001f383"\nshape = "box"\nsize = [1, 1, 1]\n')
    shown = process("check", "yard.toml", cwd=tmp_path, PYTHONIOENCODING="latin-1")
    assert shown.code == 0, shown.err
    assert "Kürbis \\U0001f383" in shown.out.decode("latin-1")
