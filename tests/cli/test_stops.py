"""Ctrl-C, polite kills, dying workers and faults: a sentence, the right code, nothing left behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from unittest.mock import Mock, patch

import pytest
from OpenGL.error import GLError

from cli_calls import SMALL, Result, environment, listing, process, refused, yard
from stationpoint.cli import stops
from stationpoint.cli.stops import Stopped, settle, stoppable
from stationpoint.render.gl import open as gl
from stationpoint.render.rays import world

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
    assert left.code == 128 + signal.SIGINT
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


def test_names_that_the_terminal_cannot_show_are_no_fault(tmp_path: Path) -> None:
    yard(tmp_path, scene='[[solid]]\nname = "Kürbis \U0001f383"\nshape = "box"\nsize = [1, 1, 1]\n')
    shown = process("check", "yard.toml", cwd=tmp_path, PYTHONIOENCODING="latin-1")
    assert shown.code == 0, shown.err
    assert "Kürbis \\U0001f383" in shown.out.decode("latin-1")


def lost(number: int) -> None:
    """A signal whose exception is lost, as in a destructor."""

    class Leaving:
        def __del__(self) -> None:
            signal.raise_signal(number)

    Leaving()


@contextmanager
def own_handlers() -> Iterator[None]:
    """Signals are afterwards what they were before."""
    before = {one: signal.getsignal(one) for one in (*stops.STOPS, signal.SIGALRM)}
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        for one, handler in before.items():
            signal.signal(one, handler)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_one_signal_stops_a_call_and_those_after_it_are_ignored(number: signal.Signals) -> None:
    with own_handlers():
        before = signal.getsignal(number)
        with stoppable():
            with pytest.raises(Stopped) as stop:
                signal.raise_signal(number)
            settle()
            signal.raise_signal(signal.SIGINT)
            signal.raise_signal(signal.SIGTERM)
        assert stop.value.code == 128 + number
        assert signal.getsignal(number) is before
        assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


def test_stop_that_is_lost_in_a_destructor_comes_again(capfd: pytest.CaptureFixture[str]) -> None:
    with own_handlers(), patch.object(stops, "AGAIN_S", 0.05), stoppable():
        lost(signal.SIGINT)
        with pytest.raises(Stopped) as stop:
            time.sleep(5.0)
        settle()
    assert stop.value.code == 130
    assert capfd.readouterr().err == ""


def test_signal_that_was_ignored_stays_ignored() -> None:
    with own_handlers():
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        with stoppable():
            signal.raise_signal(signal.SIGINT)
        assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_stop_within_code_from_a_string_gives_its_code(number: signal.Signals) -> None:
    """CPython's run_eval_code_obj notes a KeyboardInterrupt, and the process then ends itself by SIGINT."""
    program = (
        "from unittest.mock import patch\nfrom stationpoint import cli\n"
        f"def run(**words): exec('import signal; signal.raise_signal({int(number)})')\n"
        "with patch.object(cli, 'stationpoint', run): cli.main()\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", program], env=environment(), capture_output=True, timeout=60, check=False
    )
    assert ended.returncode == 128 + number
    assert ended.stderr == b"Stopped; nothing more was written.\n"


def test_driver_without_memory_is_told_as_want_of_memory() -> None:
    for number, kind in ((0x0505, MemoryError), (0x0502, GLError)):
        passes = Mock(GlRenderer=Mock(side_effect=GLError(err=number)))
        door = patch.dict(sys.modules, {"stationpoint.render.gl.passes": passes})
        with door, patch.object(gl, "works"), pytest.raises(kind), gl.open_renderer(Mock()):
            pytest.fail("no renderer was to be had")


def test_want_of_threads_is_a_lack(tmp_path: Path) -> None:
    yard(tmp_path)
    world._threads.cache_clear()  # none is running from a call before, or kept for one after
    full = patch.object(Thread, "start", side_effect=RuntimeError("can't start new thread"))
    with full, patch("stationpoint.render.check_threads"):
        said = refused("sheet", "yard.study.toml", *SMALL, cwd=tmp_path, code=3)
    world._threads.cache_clear()
    assert said.startswith("No more threads can be started here; raise the limit")


def test_fault_is_told_in_one_line() -> None:
    program = (
        "from unittest.mock import patch\nfrom stationpoint import cli\n"
        "def run(**words): raise ValueError('one\\n\\tother ' + 'long ' * 999)\n"
        "with patch.object(cli, 'stationpoint', run): cli.main()\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", program], env=environment(), capture_output=True, timeout=60, check=False
    )
    assert ended.returncode == 70
    (line,) = ended.stderr.decode().splitlines()
    assert "(ValueError: one other long" in line
    assert len(line) < 600


@pytest.mark.parametrize(
    "made",
    [
        "class Name:\n    def __set_name__(self, *_): stop()\ntype('Made', (), {'name': Name()})",
        "import pydantic\nclass Name:\n    def __get_pydantic_core_schema__(*_): stop()\n"
        "class Made(pydantic.BaseModel):\n    name: Name",
        "try:\n    stop()\nexcept BaseException as error:\n    raise ValueError('in its place') from error",
    ],
    ids=["set_name", "pydantic", "another"],
)
def test_stop_that_comes_out_as_another_error_is_a_stop(made: str) -> None:
    program = (
        "import signal\nfrom unittest.mock import patch\nfrom stationpoint import cli\n"
        "def stop(): signal.raise_signal(signal.SIGTERM)\n"
        f"def run(**words): exec({made!r}, dict(stop=stop))\n"
        "with patch.object(cli, 'stationpoint', run): cli.main()\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", program], env=environment(), capture_output=True, timeout=60, check=False
    )
    assert (ended.returncode, ended.stderr) == (143, b"Stopped; nothing more was written.\n")


@pytest.mark.parametrize("error", ["KeyboardInterrupt", "ValueError"])
def test_ctrl_c_while_the_program_is_read_shows_no_traceback(error: str, tmp_path: Path) -> None:
    """click, which is imported before main() is called, is one here that a Ctrl-C or a fault ends."""
    (tmp_path / "click.py").write_text(f"raise {error}\n", "utf-8")
    program = f"import sys\nsys.path.insert(0, {str(tmp_path)!r})\nfrom stationpoint.__main__ import main"
    ended = subprocess.run(
        [sys.executable, "-c", program],
        env=environment(),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ended.returncode != 0
    assert ("Traceback" in ended.stderr) == (error == "ValueError")
