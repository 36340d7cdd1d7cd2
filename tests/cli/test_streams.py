"""Streams that are full, closed or read by nobody: the exit code stands, and what can be said is said."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest

from cli_calls import SMALL, STUDY, environment, yard

pytestmark = pytest.mark.skipif(os.name != "posix", reason="pipes and devices as POSIX has them")
FULL = Path("/dev/full")
TAKEN, FILLED, UNREAD, CLOSED = "taken", "full", "unread", "closed"
LIMIT = '\n[[limit]]\nreading = "targets.crate.depth_m"\nmin = {}\n'


@pytest.fixture(params=["", "1"], ids=["buffered", "unbuffered"])
def buffering(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both ways that Python may hold its output back; "" is as unset."""
    monkeypatch.setenv("PYTHONUNBUFFERED", request.param)


@contextmanager
def stream(state: str) -> Iterator[int]:
    """A file descriptor in that state; a closed one is open still, and takes all."""
    if state == UNREAD:
        read_end, write_end = os.pipe()
        os.close(read_end)
    else:
        write_end = os.open(FULL if state == FILLED else os.devnull, os.O_WRONLY)
    try:
        yield write_end
    finally:
        os.close(write_end)


def ended(*words: str, cwd: Path, out: str = TAKEN, err: str = TAKEN) -> tuple[int, str]:
    """The exit code of a Python process with its streams in these states, and what it said on standard
    error if that takes anything."""
    if FILLED in (out, err) and not FULL.exists():
        pytest.skip("this system has no /dev/full")
    closed = [number for number, state in ((1, out), (2, err)) if state == CLOSED]
    with ExitStack() as opened:
        done = subprocess.run(
            [sys.executable, *words],
            cwd=cwd,
            env=environment(),
            stdout=opened.enter_context(stream(out)),
            stderr=subprocess.PIPE if err == TAKEN else opened.enter_context(stream(err)),
            preexec_fn=lambda: [os.close(number) for number in closed],
            timeout=60,
            check=False,
        )
    return done.returncode, (done.stderr or b"").decode()


def within(body: str) -> tuple[str, ...]:
    """The words of a Python process whose command line does nothing else than `body`."""
    return (
        "-c",
        "import click, signal\nfrom unittest.mock import patch\nfrom stationpoint import cli\n"
        "from stationpoint.base import errors\n"
        f"def run(**words):\n    {body}\nwith patch.object(cli, 'stationpoint', run): cli.main()\n",
    )


MODULE = ("-m", "stationpoint")
SAYS = {  # ways out that say something on standard output, each with its exit code
    "help": ((*MODULE, "--help"), 0),
    "help of a command": ((*MODULE, "sheet", "--help"), 0),
    "version": ((*MODULE, "--version"), 0),
    "an answer": (within("click.echo('it holds')"), 0),
}
FAILS = {  # ways out that say something on standard error alone
    "no command": (MODULE, 2),
    "no such command": ((*MODULE, "shet"), 2),
    "no such option": ((*MODULE, "sheet", "--no-such"), 2),
    "wrong input": (within("raise errors.StudyWrong('wrong')"), 2),
    "a lack": (within("raise errors.MachineLacks('lacking')"), 3),
    "no memory": (within("raise MemoryError"), 3),
    "a fault": (within("raise ValueError('fault')"), 70),
    "a stop": (within("signal.raise_signal(signal.SIGINT)"), 130),
    "a fault after words": (within("print('so far'); raise ValueError('fault')"), 70),
}


def test_settings_of_python_on_this_machine_reach_no_test() -> None:
    assert [name for name in environment() if name.startswith("PYTHON")] == ["PYTHONPATH", "PYTHONIOENCODING"]


@pytest.mark.usefixtures("buffering")
@pytest.mark.parametrize("way", list(SAYS))
def test_help_and_answers_want_standard_output_alone(way: str, tmp_path: Path) -> None:
    words, code = SAYS[way]
    assert ended(*words, cwd=tmp_path, err=FILLED) == (code, "")
    assert ended(*words, cwd=tmp_path, err=UNREAD) == (code, "")
    assert ended(*words, cwd=tmp_path, out=UNREAD) == (code, "")
    assert ended(*words, cwd=tmp_path, out=CLOSED, err=CLOSED) == (code, "")
    lacking, said = ended(*words, cwd=tmp_path, out=FILLED)
    assert lacking == 3
    assert said == f"Standard output cannot be used: {os.strerror(errno.ENOSPC)}.\n"
    assert ended(*words, cwd=tmp_path, out=FILLED, err=FILLED) == (3, "")


@pytest.mark.usefixtures("buffering")
@pytest.mark.parametrize("way", list(FAILS))
def test_exit_code_of_an_error_stands_whatever_becomes_of_the_streams(way: str, tmp_path: Path) -> None:
    words, code = FAILS[way]
    assert ended(*words, cwd=tmp_path, err=FILLED) == (code, "")
    assert ended(*words, cwd=tmp_path, err=UNREAD) == (code, "")
    assert ended(*words, cwd=tmp_path, out=CLOSED, err=CLOSED) == (code, "")
    if "print" not in words[-1] or not os.environ["PYTHONUNBUFFERED"]:  # else the print itself fails
        held, said = ended(*words, cwd=tmp_path, out=FILLED)
        assert held == code
        assert len(said.splitlines()) >= 1
        assert "Standard output" not in said


@pytest.mark.usefixtures("buffering")
@pytest.mark.parametrize(
    "words", ["measure yard.study.toml --only axes", "check yard.study.toml", "demo --list"]
)
def test_output_that_nobody_reads_is_no_error_and_a_full_one_is_a_lack(words: str, tmp_path: Path) -> None:
    yard(tmp_path)
    assert ended(*MODULE, *words.split(), cwd=tmp_path, out=UNREAD) == (0, "")
    code, said = ended(*MODULE, *words.split(), cwd=tmp_path, out=FILLED)
    assert code == 3
    assert said == f"Standard output cannot be used: {os.strerror(errno.ENOSPC)}.\n"


@pytest.mark.usefixtures("buffering")
@pytest.mark.parametrize(("min_m", "code"), [(0, 0), (1000, 1)])  # the crate is some 8 m away
def test_verdict_stands_where_nobody_reads_it(min_m: int, code: int, tmp_path: Path) -> None:
    yard(tmp_path, STUDY + LIMIT.format(min_m))
    words = (*MODULE, "judge", "yard.study.toml", "--renderer", "rays")
    assert ended(*words, cwd=tmp_path, out=UNREAD) == (code, "")
    assert ended(*words, "--json", "-", cwd=tmp_path, out=UNREAD) == (code, "")
    assert ended(*words, cwd=tmp_path, out=FILLED)[0] == 3


@pytest.mark.usefixtures("buffering")
@pytest.mark.parametrize("state", [UNREAD, FILLED])
@pytest.mark.parametrize("told", [(), ("--progress",)])
def test_sheet_is_written_where_nothing_can_be_said(
    told: tuple[str, ...], state: str, tmp_path: Path
) -> None:
    yard(tmp_path)
    words = (*MODULE, "sheet", "yard.study.toml", "-o", "yard.png", "--alone", *SMALL, *told)
    assert ended(*words, cwd=tmp_path, err=state)[0] == 0
    assert (tmp_path / "yard.png").stat().st_size > 1000


@pytest.mark.parametrize(("words", "code"), [("--version", 0), ("sheet nowhere.toml", 2)])
def test_a_call_ends_with_its_code_and_words_once_it_has_tidied_up(words: str, code: int) -> None:
    """What was there before the call, and would come after it, stands for the interpreter's own end."""
    program = (
        "import atexit, sys\nfrom stationpoint.__main__ import main\n"
        f"atexit.register(print, 'the end')\nsys.argv = {['stationpoint', *words.split()]}\n"
        "try:\n    main()\nfinally:\n    atexit.register(print, 'tidied up')\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", program],
        env=environment(),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ended.returncode == code, ended.stderr
    assert ("version" in ended.stdout) == (code == 0)
    assert ("nowhere.toml" in ended.stderr) == (code == 2)
    assert "tidied up" in ended.stdout
    assert "the end" not in ended.stdout
