"""Work divided among processes: whatever goes wrong in one is told as what it is, and nothing is lost."""

from __future__ import annotations

import errno
import gc
import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from functools import partial
from multiprocessing.connection import Connection
from typing import Any
from unittest.mock import patch

import numpy as np
import pytest

from cli_calls import doubling
from stationpoint.base.errors import MachineLacks
from stationpoint.run.workers import processes as executors
from stationpoint.run.workers.memory import SharedMemory
from stationpoint.run.workers.processes import Standby, can_fork, work_in_order

pytestmark = [
    pytest.mark.skipif(sys.platform != "linux", reason="processes are forked on Linux alone"),
    # Python's from 3.12 on: the tests' own runner has threads, where the program forks only without any.
    pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning"),
]
SIX = [0, 1, 2, 3, 4, 5]
Work = Callable[[int], object]


class Unsendable(Exception):
    """As an OpenGL error: it holds what no other process can have."""

    def __init__(self) -> None:
        super().__init__("the driver said no")
        self.held = lambda: 1


class Unreadable(Exception):
    """It can be sent, but not be made again from its words."""

    def __init__(self, one: int, other: int) -> None:
        super().__init__(f"{one} and {other} do not fit")

    def __reduce__(self) -> tuple[Any, ...]:
        return Unreadable, self.args  # as any exception, unless a library has taught pickle better


ERRORS: dict[str, Callable[[], Exception]] = {
    "unsendable": Unsendable,
    "unreadable": lambda: Unreadable(1, 2),
    "end of file": lambda: EOFError("of the mesh"),
    "connection": lambda: ConnectionError("to the display"),
    "memory": MemoryError,
    "disk": lambda: OSError(errno.ENOSPC, "full"),
}


@contextmanager
def failing(name: str, at_once: bool = False) -> Iterator[Work]:
    """Work that fails at the fourth job, or before the first."""
    if at_once:
        raise ERRORS[name]()

    def work(job: int) -> object:
        if job == 3:
            raise ERRORS[name]()
        return job

    yield work


@contextmanager
def breaking_off() -> Iterator[Work]:
    """Work whose process dies in the middle of an answer."""

    def half(pipe: Connection, data: bytes) -> None:
        os.write(pipe.fileno(), bytes(data)[: len(data) // 2])
        os._exit(9)

    with patch.object(Connection, "_send", half):
        yield bytes


@contextmanager
def own_number() -> Iterator[Work]:
    """Work that tells which process does it."""
    yield lambda job: os.getpid()


@pytest.fixture(params=["fork", "spawn"])
def start(request: pytest.FixtureRequest) -> Iterator[str]:
    """How processes start."""
    with patch.object(executors, "can_fork", lambda: request.param == "fork"):
        yield request.param


@pytest.mark.parametrize(
    ("name", "kind", "words"),
    [
        ("unsendable", RuntimeError, "Unsendable: the driver said no"),
        ("unreadable", RuntimeError, "Unreadable: 1 and 2 do not fit"),
        ("end of file", EOFError, "of the mesh"),
        ("connection", ConnectionError, "to the display"),
        ("memory", MemoryError, "^$"),
        ("disk", OSError, "full"),
    ],
)
def test_error_of_a_process_is_told_as_it_was(
    name: str, kind: type[Exception], words: str, capfd: pytest.CaptureFixture[str]
) -> None:
    with patch.object(executors, "can_fork", lambda: True), pytest.raises(kind, match=words):
        list(work_in_order(partial(failing, name), SIX, 2))
    assert capfd.readouterr().err == ""


def test_process_that_fails_before_its_first_job_says_why(start: str) -> None:
    with pytest.raises(MemoryError):
        list(work_in_order(partial(failing, "memory", at_once=True), SIX, 6 if start == "fork" else 2))


def test_process_that_ends_within_an_answer_is_a_lack() -> None:
    with patch.object(executors, "can_fork", lambda: True), pytest.raises(MachineLacks, match="ended in the"):
        list(work_in_order(breaking_off, SIX, 2))


@pytest.mark.parametrize("room", [0, 1])
def test_fewer_processes_work_where_there_is_no_room_for_more(room: int) -> None:
    fork, forks = os.fork, list[int]()

    def fork_while_there_is_room() -> int:
        if len(forks) == room:
            raise BlockingIOError(errno.EAGAIN, os.strerror(errno.EAGAIN))
        forks.append(1)
        return fork()

    forking = patch.object(os, "fork", fork_while_there_is_room)
    with patch.object(executors, "can_fork", lambda: True), forking:
        who = set(work_in_order(own_number, SIX, 3))
    assert len(forks) == room
    assert len(who) == 1
    assert (os.getpid() in who) == (room == 0)


def test_process_that_may_have_none_of_its_own_works_itself() -> None:
    with multiprocessing.get_context("fork").Pool(1) as pool:
        assert pool.apply(_doubled_by_two) == [0, 2, 4, 6, 8, 10]


def _doubled_by_two() -> list[int]:
    return list(work_in_order(doubling, SIX, 2))


def test_nothing_stays_out_of_the_collector_s_reach() -> None:
    gc.unfreeze()
    with patch.object(executors, "can_fork", lambda: True):
        assert list(work_in_order(doubling, SIX, 2)) == [0, 2, 4, 6, 8, 10]
    assert gc.get_freeze_count() == 0


def test_nothing_is_forked_where_it_may_not_be() -> None:
    asked: list[str] = []
    get_context = multiprocessing.get_context

    def noted(method: str) -> object:
        asked.append(method)
        return get_context(method)

    with patch.multiple(executors, can_fork=lambda: True, get_context=noted):
        assert list(work_in_order(doubling, [1, 2], 2, may_fork=False)) == [2, 4]
        assert list(work_in_order(doubling, [1, 2], 2)) == [2, 4]
    assert asked == ["spawn", "spawn", "fork", "fork"]


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_signal_among_the_starts_waits_and_is_not_lost(number: signal.Signals, start: str) -> None:
    started: list[object] = []
    begin: Callable[..., object] = executors._started

    def interrupted(*words: object) -> object:
        started.append(begin(*words))
        signal.pthread_kill(threading.get_ident(), number)
        return started[-1]

    def stop(number: int, frame: object) -> None:
        raise KeyboardInterrupt(number)

    handlers = {one: signal.signal(one, stop) for one in (signal.SIGINT, signal.SIGTERM)}
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, [])
    try:
        with patch.object(executors, "_started", interrupted), pytest.raises(KeyboardInterrupt):
            list(work_in_order(doubling, SIX, 2))
        assert signal.getsignal(signal.SIGINT) is stop
        assert signal.pthread_sigmask(signal.SIG_BLOCK, []) == mask
    finally:
        for one, handler in handlers.items():
            signal.signal(one, handler)
    assert len(started) == 2
    assert multiprocessing.active_children() == []


def test_processes_that_are_done_end_by_themselves() -> None:
    assert list(work_in_order(doubling, SIX, 2)) == [2 * one for one in SIX]
    until = time.monotonic() + 30
    while multiprocessing.active_children() and time.monotonic() < until:
        time.sleep(0.01)
    assert multiprocessing.active_children() == []


def test_processes_leave_ctrl_c_to_the_one_that_started_them(start: str) -> None:
    assert list(work_in_order(ignoring, [1, 2], 2)) == [True, True]


def test_processes_of_another_thread_leave_ctrl_c_to_the_main_one() -> None:
    made: list[object] = []
    other = threading.Thread(target=lambda: made.extend(work_in_order(ignoring, [1, 2], 2)))
    other.start()
    assert not can_fork()
    other.join()
    assert made == [True, True]


@contextmanager
def ignoring() -> Iterator[Work]:
    """Work that tells whether its process ignores Ctrl-C and can be ended."""
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, [])
    yield lambda job: signal.getsignal(signal.SIGINT) is signal.SIG_IGN and signal.SIGTERM not in mask


def test_spawned_processes_begin_at_the_same_time() -> None:
    with patch.object(executors, "can_fork", lambda: False):
        log: list[str] = []
        begin: Callable[..., tuple[Any, Any]] = executors._started

        def noted(open_work: None, others: Sequence[Any], room: SharedMemory) -> tuple[Any, Any]:
            log.append("started")
            pipe, process = begin(open_work, others, room)
            send = pipe.send

            def send_noted(what: object) -> None:
                log.append("sent")
                send(what)

            pipe.send = send_noted
            return pipe, process

        with patch.object(executors, "_started", noted):
            assert list(work_in_order(doubling, [1, 2], 2)) == [2, 4]
    assert log[:4] == ["started", "started", "sent", "sent"]


@contextmanager
def painting() -> Iterator[Callable[[int], object]]:
    """Pictures of a grey, one that the processes share and a piece of one that they do not."""

    def picture(grey: int) -> object:
        whole = np.full((60, 80, 3), grey, dtype=np.uint8)
        return {"whole": whole, "part": whole[:, ::2], "small": whole[0], "twice": (whole, whole), "n": grey}

    yield picture


@pytest.mark.parametrize("room_bytes", [0, 20_000, 10**6, 10**18], ids=["none", "some", "enough", "too much"])
@pytest.mark.parametrize("let_go", [False, True], ids=["all at once", "one after the other"])
def test_arrays_come_back_whole_however_much_is_shared(room_bytes: int, let_go: bool) -> None:
    made: list[Any] = list(work_in_order(painting, SIX, 2, room_bytes=room_bytes, let_go=let_go))
    for grey, one in zip(SIX, made, strict=True):
        assert one["n"] == grey
        for name, shape in (("whole", (60, 80, 3)), ("part", (60, 40, 3)), ("small", (80, 3))):
            assert one[name].shape == shape
            assert np.all(one[name] == grey)
            one[name] += 1  # nobody else's
        assert one["twice"][0] is one["twice"][1]


def test_what_is_shared_is_not_copied() -> None:
    room = SharedMemory(10**5)
    picture = np.arange(30_000, dtype=np.uint8)
    packed = room.packed({"picture": picture})
    assert len(packed.stream) < 1000
    assert len(packed.places) == 1
    (again,) = (room.unpacked(packed)[name] for name in ("picture",))
    assert np.array_equal(again, picture)
    assert not again.flags.owndata
    full = room.packed([np.zeros(60_000, np.uint8), np.zeros(60_000, np.uint8)])  # one fits
    assert len(full.places) == 1
    assert len(full.stream) > 60_000
    assert [len(part) for part in room.unpacked(full)] == [60_000, 60_000]


def test_arrays_at_hand_come_back_by_number() -> None:
    one, other = np.full((60, 80, 3), 1, np.uint8), np.full((60, 80, 3), 2, np.uint8)
    for room in (SharedMemory(0, at_hand=[one, other]), SharedMemory(10**5, at_hand=[one, other])):
        packed = room.packed({"held": other, "own": np.full(60_000, 3, np.uint8), "n": 7})
        assert packed.places[0] == 1
        assert other.tobytes() not in packed.stream
        again = room.unpacked(packed)
        assert np.shares_memory(again["held"], other)
        assert again["held"].shape == (60, 80, 3)
        assert (again["own"] == 3).all()
        assert again["n"] == 7


def test_forked_process_hands_back_arrays_at_hand_uncopied() -> None:
    held = [np.full((60, 80, 3), grey, np.uint8) for grey in SIX]
    with patch.object(executors, "can_fork", lambda: True):
        made = list(work_in_order(lambda: nullcontext(lambda k: (k, held[k])), SIX, 2, at_hand=held))
    assert [number for number, _ in made] == [*SIX]
    assert all(np.shares_memory(came, held[number]) for number, came in made)


def test_room_that_is_used_again_holds_one_thing_after_the_other() -> None:
    room = SharedMemory(10**5, again=True)
    for grey in range(5):
        packed = room.packed([np.full(60_000, grey, np.uint8)])
        assert packed.places == [(0, 60_000)]
        (came,) = room.unpacked(packed)
        room.packed([np.full(60_000, 9, np.uint8)])
        assert np.all(came == grey)


@contextmanager
def counting(tell: Callable[[object], None]) -> Iterator[Callable[[int], int]]:
    """Tells of each number on the way to one."""

    def count(to: int) -> int:
        for number in range(to):
            tell(number)
        return to

    yield count


def test_a_process_that_stands_by_tells_of_a_job_before_it_is_done() -> None:
    standby = Standby(counting)
    try:
        told: list[object] = []
        assert standby.ask(3, told.append) == 3
        assert told == [0, 1, 2]
        assert standby.ask(2) == 2  # nobody listens
        assert standby.ask(1, told.append) == 1
        assert told == [0, 1, 2, 0]
    finally:
        standby.end()
