"""--help is quick: it loads click and nothing heavy, in a fresh interpreter, for every command. And so is a
sheet's start: what composes and paints it is loaded while other processes draw."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from statistics import median

import pytest

from cli_calls import environment

HEAVY = {"numpy", "PIL", "pydantic", "trimesh", "pyrender", "OpenGL", "embreex", "scipy", "matplotlib"}
HEAVY |= {"DracoPy", "pxr", "tomlkit", "watchfiles", "distributed"}
COMMANDS = (
    "demo",
    "start",
    "check",
    "sheet",
    "measure",
    "judge",
    "compare",
    "choose",
    "page",
    "watch",
    "solve",
    "twins",
    "chart",
    "inspect",
    "mesh",
    "handoff",
    "check-port",
)
CALLS = [(), *[(name,) for name in COMMANDS]]
SLACK_S = 0.15

LISTING = """
import runpy, sys
sys.argv = ["stationpoint", *sys.argv[1:]]
try:
    runpy.run_module("stationpoint", run_name="__main__")
finally:
    print("LOADED", *sorted({name.partition(".")[0] for name in sys.modules}))
"""

AT_FORK = """
import os, sys

def fork():
    print("LOADED", *sorted(sys.modules), flush=True)
    os._exit(0)

os.fork = fork
sys.argv = ["stationpoint", *sys.argv[1:]]
from stationpoint.__main__ import main
main()
"""
LATER = ("uharfbuzz", "matplotlib", "stationpoint.ink.paint_", "stationpoint.study.first")
LATER += ("stationpoint.record.ticket", "stationpoint.record.handoff", "stationpoint.run.pages")
LATER += ("stationpoint.sheet.compose", "stationpoint.sheet.marks", "stationpoint.sheet.legend")


def fresh(*arguments: str) -> subprocess.CompletedProcess[str]:
    """A fresh interpreter that finds the package in this source tree."""
    return subprocess.run(
        [sys.executable, *arguments],
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=environment(),
        timeout=60,
        check=False,
    )


def seconds(*arguments: str) -> float:
    """Of a processor, so that other work on the machine does not count."""

    def once() -> float:
        start = os.times()
        assert fresh(*arguments).returncode == 0
        end = os.times()
        return (end.children_user + end.children_system) - (start.children_user + start.children_system)

    return median(once() for _ in range(3))


@pytest.mark.parametrize("call", CALLS, ids=[" ".join(call) or "stationpoint" for call in CALLS])
def test_help_imports_nothing_heavy_and_shows_an_example(call: tuple[str, ...]) -> None:
    done = fresh("-c", LISTING, *call, "--help")
    assert done.returncode == 0, done.stderr
    text, _, loaded = done.stdout.rpartition("LOADED")
    assert "click" in loaded.split()
    assert HEAVY.isdisjoint(loaded.split())
    examples = [line for line in text.splitlines() if f"stationpoint {' '.join(call)}".strip() in line]
    assert [line for line in examples if not line.startswith("Usage")], text


def test_help_names_every_command() -> None:
    done = fresh("-m", "stationpoint", "--help")
    assert done.returncode == 0, done.stderr
    missing = [name for name in COMMANDS if name not in done.stdout.split()]
    assert missing == []


def test_help_takes_hardly_longer_than_click_itself() -> None:
    assert seconds("-m", "stationpoint", "--help") < seconds("-c", "import click") + SLACK_S


@pytest.mark.skipif(sys.platform != "linux", reason="processes are forked on Linux alone")
def test_processes_that_draw_start_before_anything_that_only_composes_is_loaded() -> None:
    quay = Path(__file__).parents[1] / "scenes" / "quay.study.toml"
    done = fresh("-c", AT_FORK, "sheet", str(quay), "--workers", "2", "--renderer", "rays", "-o", "no.png")
    assert done.returncode == 0, done.stderr
    loaded = done.stdout.rpartition("LOADED")[2].split()
    assert "stationpoint.readings" in loaded
    assert [name for name in loaded if name.startswith(LATER)] == []
