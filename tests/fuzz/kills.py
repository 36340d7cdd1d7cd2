"""Calls killed, stopped and starved of disk: python -m tests.fuzz.kills --times 300

A sheet with its record is drawn over those of another title. Whatever happens, each of the files is the old
one or the new one, a stop or a full disk leaves the old set or the new one whole, and the next call is in
nobody's way. Faults of the disk are put into every system call that writes by strace, where it is there.
"""

from __future__ import annotations

import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import click

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS), str(TESTS.parent / "src")]

import cli_calls  # noqa: E402

WORDS = ("sheet", "yard.study.toml", "-o", "yard.png", "--renderer", "rays", "--cell-width", "320")
CALL = [sys.executable, "-m", "stationpoint", *WORDS]
OUTPUTS = ("yard.png", "yard.json", "yard.csv", "yard.txt")
FAULTS = ("ENOSPC", "EIO", "EACCES")
INJECTED = "write,pwrite64,writev,rename,renameat,renameat2,link,linkat"
Files = Mapping[str, bytes]


def prepared(folder: Path) -> tuple[Files, Files]:
    """A yard in a folder, and its outputs under another title and under its own."""
    cli_calls.yard(folder, cli_calls.STUDY.replace("Does the crate show?", "Another title"))
    old = _drawn(folder)
    cli_calls.yard(folder)
    return old, _drawn(folder)


def _drawn(folder: Path) -> Files:
    ended = cli_calls.process(*WORDS, cwd=folder)
    assert ended.code == 0, ended.err
    return {name: (folder / name).read_bytes() for name in OUTPUTS}


def put(folder: Path, files: Files) -> None:
    """The folder with these outputs, and nothing that a call has left."""
    for path in folder.glob(".stationpoint-*"):
        path.unlink()
    for name, data in files.items():
        (folder / name).write_bytes(data)


def wrong(folder: Path, old: Files, new: Files, whole: bool) -> str:
    """What is wrong with what stands in the folder; "" if nothing. whole: all are old, or all new."""
    now = {path.name: path.read_bytes() for path in folder.iterdir() if path.name in OUTPUTS}
    if set(now) != set(OUTPUTS):
        return f"lost: {sorted(set(OUTPUTS) - set(now))}"
    broken = [name for name in OUTPUTS if now[name] not in (old[name], new[name])]
    if broken:
        return f"neither old nor new: {broken}"
    if whole and now not in (old, new):
        return "some old, some new"
    if whole and list(folder.glob(".stationpoint-*")):
        return "a part of a file is left"
    return ""


def killed(folder: Path, old: Files, new: Files, number: int, after_s: float) -> str:
    """A call that gets a signal some seconds after its start; what is wrong then."""
    put(folder, old)
    process = subprocess.Popen(
        CALL,
        cwd=folder,
        env=cli_calls.environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    time.sleep(after_s)
    process.send_signal(number)
    err = process.communicate(timeout=60)[1]
    what = wrong(folder, old, new, whole=number != signal.SIGKILL)
    if not what and number != signal.SIGKILL and not ended_well(number, process.returncode, err):
        what = f"exit code {process.returncode}: {err[-200:]}"
    if not what and "Traceback" in err and "stationpoint" in err:
        what = f"a traceback: {err[-200:]}"
    return what


def ended_well(number: int, code: int, err: str) -> bool:
    """Whether a call that got this signal ended with a code of its own, or with one of Python's before it.

    Before Python has read this program there is nobody to say a word: the signal itself ends it, or an
    interrupted import of Python's own, whose traceback names no file of ours.
    """
    own = code in (0, 128 + number, -number)
    return own or (code == 1 and "KeyboardInterrupt" in err and "stationpoint" not in err)


def starved(folder: Path, old: Files, new: Files, fault: str, step: int) -> str:
    """A call whose so-manyth system call that writes fails; what is wrong then."""
    put(folder, old)
    injected = f"inject={INJECTED}:error={fault}:when={step}"
    ended = subprocess.run(
        ["strace", "-f", "-qq", "-o", "/dev/null", "-e", injected, *CALL],
        cwd=folder, env=cli_calls.environment(), capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    what = wrong(folder, old, new, whole=True)
    if not what and ended.returncode not in (0, 2, 3):
        what = f"exit code {ended.returncode}"
    if not what and "Traceback" in ended.stderr:
        what = f"a traceback: {ended.stderr[-200:]}"
    return what


def calls_that_write(folder: Path, old: Files) -> int:
    """How many system calls of a whole call write something."""
    put(folder, old)
    trace = folder / "trace"
    words = ["strace", "-f", "-qq", "-o", str(trace), "-e", f"trace={INJECTED}", *CALL]
    subprocess.run(
        words, cwd=folder, env=cli_calls.environment(), capture_output=True, timeout=120, check=True
    )
    found = [line for line in trace.read_text(errors="replace").splitlines() if re.match(r"\d+ +\w+\(", line)]
    trace.unlink()
    return len(found)


@click.command()
@click.option("--times", type=int, default=300, show_default=True, help="Kills and stops at random moments.")
@click.option("--seed", type=int, default=1, show_default=True)
@click.option("--faults/--no-faults", default=True, show_default=True, help="Faults of the disk too.")
def main(times: int, seed: int, faults: bool) -> None:
    """Kill, stop and starve calls; tell what went wrong. Exit code 1 if anything did."""
    chance, finds = Random(seed), 0

    def tell(what: str, where: str) -> None:
        nonlocal finds
        if what:
            finds += 1
            click.echo(f"{where}: {what}")

    with TemporaryDirectory() as name:
        folder = Path(name)
        old, new = prepared(folder)
        started = time.monotonic()
        _drawn(folder)
        longest_s = 1.1 * (time.monotonic() - started)
        for _ in range(times):
            number = chance.choice([signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
            after_s = chance.uniform(0.0, longest_s)
            tell(killed(folder, old, new, number, after_s), f"{number.name} after {after_s:.3f} s")
        click.echo(f"{times} kills and stops")
        if faults and shutil.which("strace") is None:
            click.echo("no strace: no faults of the disk")
        elif faults:
            steps = calls_that_write(folder, old)
            for fault in FAULTS:
                for step in range(1, steps + 1):
                    tell(starved(folder, old, new, fault, step), f"{fault} at {step}")
            click.echo(f"{len(FAULTS)} faults at each of {steps} system calls that write")
        put(folder, old)
        tell("" if _drawn(folder) == new else "differs", "the next call")
    click.echo(f"{finds} found.")
    sys.exit(1 if finds else 0)


if __name__ == "__main__":
    main()
