"""Work handed to a dask cluster: the same bytes in the same order, whoever dies; whatever lacks is told."""

from __future__ import annotations

import os
import pickle
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from unittest.mock import patch

import pytest

from cli_calls import SMALL, call, done, doubling, environment, listing, refused, yard
from stationpoint.base.errors import MachineLacks, NoOpenGl, StudyWrong
from stationpoint.run import prepare_study
from stationpoint.run.workers import cluster
from stationpoint.run.workers.cluster import connect, other_versions
from stationpoint.study import read_study

from .dask_here import deadly, endless, slowly

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals and processes as POSIX has them")
ROOT = Path(__file__).parents[3]
REACH = os.pathsep.join(map(str, (ROOT / "src", ROOT / "tests", ROOT)))  # for the workers: these tests too
LONG = ("--rows", "pitch_deg=10,20", "--columns", "yaw_deg=0:160:16")
NO_GL = {"__EGL_VENDOR_LIBRARY_FILENAMES": "/nowhere.json"}  # libEGL finds no driver (libglvnd)


class Here:
    """A cluster on this machine, which has no OpenGL: started when its address is asked for, and again where
    it has ended."""

    def __init__(self) -> None:
        self.running: subprocess.Popen[str] | None = None
        self._address = ""

    @property
    def address(self) -> str:
        if self.running is None or self.running.poll() is not None:
            self.running = subprocess.Popen(
                [sys.executable, Path(__file__).parent / "dask_here.py"],
                env=environment(**NO_GL, PYTHONPATH=REACH),
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
                start_new_session=True,
            )
            assert self.running.stdout is not None
            self._address = self.running.stdout.readline().strip()
        return self._address

    def end(self) -> None:
        if self.running is not None:
            os.killpg(self.running.pid, signal.SIGKILL)
            self.running.communicate()


@pytest.fixture(scope="module")
def here() -> Iterator[Here]:
    pytest.importorskip("distributed", reason="the extra cluster is not installed")
    found = Here()
    yield found
    found.end()


def test_a_sheet_and_its_record_are_the_bytes_of_one_process(here: Here, tmp_path: Path) -> None:
    for name, words in (("one", ("--workers", "1")), ("two", ("--executor", f"dask:{here.address}"))):
        yard(tmp_path / name)
        done("sheet", "yard.study.toml", *SMALL, "-o", "a.png", *words, cwd=tmp_path / name)
    one, two = listing(tmp_path / "one"), listing(tmp_path / "two")
    assert {"a.png", "a.json", "a.csv", "a.txt"} <= one.keys()
    assert one == two


def test_measure_and_judge_say_the_same(here: Here, tmp_path: Path) -> None:
    limit = '\n[[limit]]\nreading = "targets.crate.seen"\nmin = 0.5\n'
    text = yard(tmp_path).read_text() + limit
    yard(tmp_path, text)
    for words in (("measure", "--only", "targets,gaps"), ("judge", "--json", "-")):
        command = (words[0], "yard.study.toml", *words[1:], "--renderer", "rays")
        alone = call(*command, "--workers", "1", cwd=tmp_path)
        together = call(*command, "--executor", f"dask:tcp://{here.address}", cwd=tmp_path)
        assert alone.out
        assert (alone.code, alone.out, alone.err) == (together.code, together.out, together.err)


def test_rays_draw_everywhere_where_one_worker_has_no_opengl(here: Here, tmp_path: Path) -> None:
    yard(tmp_path)
    words = ("measure", "yard.study.toml", "--only", "targets")
    auto = done(*words, "--executor", f"dask:{here.address}", cwd=tmp_path)
    rays = done(*words, "--renderer", "rays", "--workers", "1", cwd=tmp_path)
    assert auto.out == rays.out
    assert auto.record["renderer"] == "rays"
    assert "OpenGL cannot be used here" in auto.err
    assert "drawing with rays" in auto.err
    told = refused(*words, "--renderer", "gl", "--executor", f"dask:{here.address}", cwd=tmp_path, code=3)
    assert "Worker tcp://" in told


def test_results_come_in_order_and_an_error_as_it_was(here: Here) -> None:
    jobs = list(range(100))
    assert list(connect(here.address, None).work_in_order(doubling, jobs)) == [2 * job for job in jobs]
    with pytest.raises(StudyWrong, match="a number below 0"):
        list(connect(here.address, None).work_in_order(doubling, [1, 2, -1, 3]))


def test_no_more_is_handed_out_than_soon_is_done(here: Here) -> None:
    handed = []

    class Jobs(list[int]):
        def __iter__(self) -> Iterator[int]:
            for job in range(50):
                handed.append(job)
                yield job

    there = connect(here.address, None)
    results = there.work_in_order(doubling, Jobs())
    assert next(results) == 0
    assert len(handed) == cluster.AHEAD * there.count
    results.close()  # type: ignore[attr-defined]


def test_ctrl_c_leaves_the_cluster_and_ends_with_one_line(here: Here, tmp_path: Path) -> None:
    yard(tmp_path)
    before = listing(tmp_path)
    words = (
        "sheet",
        "yard.study.toml",
        "--renderer",
        "rays",
        *LONG,
        "--progress",
        "--executor",
        f"dask:{here.address}",
    )
    running = subprocess.Popen(
        [sys.executable, "-m", "stationpoint", *words],
        cwd=tmp_path,
        env=environment(),
        stderr=subprocess.PIPE,
        text=True,
    )
    assert running.stderr is not None
    assert "drawn." in running.stderr.readline()
    running.send_signal(signal.SIGINT)
    _, err = running.communicate(timeout=20)
    assert running.returncode == 130
    said = [line for line in err.splitlines() if "drawn." not in line]
    assert said == ["Stopped; nothing more was written."]
    assert listing(tmp_path) == before
    assert list(connect(here.address, None).work_in_order(doubling, [1])) == [2]


def test_worker_killed_in_the_middle_costs_nothing_but_time(here: Here) -> None:
    results = connect(here.address, None).work_in_order(slowly, range(30))
    first, victim = next(results)
    os.kill(victim, signal.SIGKILL)
    assert [first, *(job for job, _ in results)] == list(range(30))


def test_work_that_its_workers_die_of_is_told_as_a_lack(here: Here) -> None:
    with pytest.raises(MachineLacks, match="every worker that took one batch of the work died of it"):
        list(connect(here.address, None).work_in_order(deadly, range(6)))


def test_scheduler_that_ends_in_the_middle_is_told(here: Here) -> None:
    handed = []

    class Jobs(list[int]):
        def __iter__(self) -> Iterator[int]:
            yield 1
            here.end()
            handed.append(1)

    with pytest.raises(MachineLacks, match="was lost in the middle of the work"):
        list(connect(here.address, None).work_in_order(endless, Jobs()))
    assert handed


def test_other_versions_on_the_other_side_are_refused_in_words(here: Here, tmp_path: Path) -> None:
    from distributed import versions

    def other(name: str) -> str | None:
        return "0.0.1" if name == "numpy" else known(name)

    yard(tmp_path)
    address, known = here.address, versions._version_cached
    with patch.object(versions, "_version_cached", other):
        told = refused("measure", "yard.study.toml", "--executor", f"dask:{address}", cwd=tmp_path, code=3)
    assert re.search(
        r"numpy [\d.]+ \(here 0.0.1\) at the scheduler, tcp://[\d.:]+ and tcp://[\d.:]+\.", told
    ), told
    assert other_versions({"numpy": "2.0"}, {}) == ["numpy not installed (here 2.0)"]


def test_workers_whose_drivers_differ_are_refused() -> None:
    cluster.check_drivers({"a": "Mesa, llvmpipe, 4.5", "b": "Mesa, llvmpipe, 4.5"})
    with pytest.raises(NoOpenGl, match=r"drivers differ \(Mesa, 4.5 and Mesa, 4.6\)"):
        cluster.check_drivers({"a": "Mesa, 4.5", "b": "Mesa, 4.6"})


def test_scheduler_that_does_not_answer_is_a_lack(tmp_path: Path) -> None:
    pytest.importorskip("distributed", reason="the extra cluster is not installed")
    yard(tmp_path)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # taken, and nobody listens
        executor = f"dask:127.0.0.1:{taken.getsockname()[1]}"
        with patch.object(cluster, "CONNECT_S", 0.5):
            told = refused("measure", "yard.study.toml", "--executor", executor, cwd=tmp_path, code=3)
    assert "no dask scheduler answers at 127.0.0.1:" in told
    assert len(told.splitlines()) == 2
    with patch("distributed.Client", side_effect=AssertionError), pytest.raises(MachineLacks):
        connect(executor.removeprefix("dask:"), None)  # of many studies the first alone waits


def test_without_the_package_the_extra_is_named(tmp_path: Path) -> None:
    yard(tmp_path)
    with patch.dict(sys.modules, {"distributed": None}):
        words = ("--executor", "dask:127.0.0.1:8786")
        told = refused("measure", "yard.study.toml", *words, cwd=tmp_path, code=3)
    assert 'pip install "stationpoint[cluster]"' in told


@pytest.mark.parametrize(
    "words", ["dask:", "127.0.0.1:8786", "ray:127.0.0.1:8786", "dask:host", "dask:x://h:1", ""]
)
def test_executor_that_is_none_is_refused(words: str, tmp_path: Path) -> None:
    yard(tmp_path)
    assert "--executor" in refused("measure", "yard.study.toml", "--executor", words, cwd=tmp_path)


def test_workers_here_and_elsewhere_are_refused_together(tmp_path: Path) -> None:
    yard(tmp_path)
    words = ("--executor", "dask:127.0.0.1:8786", "--workers", "2")
    assert "leave it out" in refused("measure", "yard.study.toml", *words, cwd=tmp_path)


def test_what_travels_knows_no_folder(tmp_path: Path) -> None:
    prepared = prepare_study(read_study(yard(tmp_path)), tmp_path)
    assert str(tmp_path).encode() not in pickle.dumps(prepared, 5)
