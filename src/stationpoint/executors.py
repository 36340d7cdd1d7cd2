"""Work done by several processes of this machine, in order.

Each process opens what it needs once, then takes job after job. Each has a pipe of its own, so that
one which dies, or is ended in the middle of a word, holds up no other. (The standard library's pools
share a queue, which a dying process can leave locked.)
"""

from __future__ import annotations

import gc
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, suppress
from multiprocessing import Pipe, get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from threading import current_thread, main_thread
from typing import Any, TypeVar, cast

from stationpoint.errors import MachineLacks

Job = TypeVar("Job")
Done = TypeVar("Done")
Opened = AbstractContextManager[Callable[[Job], Done]]

THREADS = "LP_NUM_THREADS"  # how many threads Mesa's software driver draws with


def processors() -> int:
    """How many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def can_fork() -> bool:
    """Whether processes can be forked: what is loaded comes along, so that they start at once.

    Only where this process has one thread. Others, such as an OpenGL driver's, do not come along, and
    what they held stays locked.
    """
    if sys.platform != "linux":
        return False
    try:
        return len(os.listdir("/proc/self/task")) == 1
    except OSError:
        return False


def each(open_work: Callable[[], Opened[Job, Done]], jobs: Sequence[Job], workers: int) -> Iterator[Done]:
    """What the work makes of every job, in their order.

    open_work: gives, within a `with`, the function that does a job; every process calls it once. Where
    processes cannot be forked they are spawned, and it must be picklable, as jobs and results always
    must. workers: how many processes; 1 works in this one. However this ends, by an error or by Ctrl-C,
    they end with it, at once and without a word.
    """
    if workers <= 1 or len(jobs) <= 1:
        with open_work() as work:
            for job in jobs:
                yield work(job)
        return
    team: dict[Connection, BaseProcess] = {}
    try:
        with _undisturbed(), _fewer_threads(workers):  # inherited by the processes
            forked = can_fork()
            if forked:
                gc.freeze()  # else the first collection in each process copies all that they share
            for _ in range(min(workers, len(jobs))):
                pipe, process = _started(open_work, list(team), forked)
                team[pipe] = process
        yield from _in_order(list(team), jobs)
    finally:
        for pipe, process in team.items():
            pipe.close()
            process.terminate()
        for process in team.values():
            process.join()


def _started(
    open_work: Callable[[], Opened[Job, Done]], others: Sequence[Connection], forked: bool
) -> tuple[Connection, BaseProcess]:
    ours, theirs = Pipe()
    not_theirs = [*others, ours] if forked else []
    start = get_context("fork").Process if forked else get_context("spawn").Process
    process = start(target=_serve, args=(open_work if forked else None, theirs, not_theirs), daemon=True)
    process.start()
    theirs.close()
    if not forked:  # not among the arguments: a process that dies before it has read much would hold us up
        with suppress(OSError):  # it has died: `_in_order` says so
            ours.send(open_work)
    return ours, process


def _serve(
    open_work: Callable[[], Opened[Job, Done]] | None, pipe: Connection, not_ours: Sequence[Connection]
) -> None:
    """A process's life: jobs in, what is made of them out, until nobody is there any more.

    open_work: None where it comes first through the pipe. not_ours: ends of pipes that a fork brings
    along; open, they would hide that the others are gone.
    """
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    _hold_back(signal.SIGTERM, False)
    for other in not_ours:
        other.close()
    handed = _handed(pipe)
    try:
        with (open_work or next(handed))() as work:
            for job in handed:
                pipe.send((True, work(job)))
    except StopIteration:
        return
    except Exception as error:
        with suppress(OSError):
            pipe.send((False, error))


def _handed(pipe: Connection) -> Iterator[Any]:
    while True:
        try:
            job = pipe.recv()
        except (EOFError, OSError):
            return
        yield job


def _in_order(pipes: Sequence[Connection], jobs: Sequence[Job]) -> Iterator[Done]:
    waiting = iter(enumerate(jobs))
    busy: dict[Connection, int] = {}
    made: dict[int, Done] = {}

    def hand_out(pipe: Connection) -> None:
        for number, job in waiting:
            pipe.send(job)
            busy[pipe] = number
            return

    following = 0
    try:
        for pipe in pipes:
            hand_out(pipe)
        while busy:
            for pipe in cast(list[Connection], wait(list(busy))):
                number = busy.pop(pipe)
                is_made, answer = pipe.recv()
                if not is_made:
                    raise answer
                made[number] = answer
                hand_out(pipe)
            while following in made:
                yield made.pop(following)
                following += 1
    except (EOFError, ConnectionError) as error:
        raise MachineLacks(
            "A worker process ended in the middle of its work, most likely for want of memory.",
            "Draw with fewer --workers, or with a smaller --cell-width.",
        ) from error


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Within it, processes start that leave Ctrl-C to this one, and that nothing ends before they are
    ready to end without a word."""
    if current_thread() is not main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    _hold_back(signal.SIGTERM, True)
    try:
        yield
    finally:
        _hold_back(signal.SIGTERM, False)
        signal.signal(signal.SIGINT, before)


def _hold_back(number: signal.Signals, held: bool) -> None:
    """Whether a signal waits. No signals wait on Windows."""
    if sys.platform != "win32":
        signal.pthread_sigmask(signal.SIG_BLOCK if held else signal.SIG_UNBLOCK, [number])


@contextmanager
def _fewer_threads(workers: int) -> Iterator[None]:
    """Software drawing with no more threads than there are processors for each process, and in the
    process's own thread where that is one; unless the person has said how many."""
    if THREADS in os.environ:
        yield
        return
    share = processors() // workers
    os.environ[THREADS] = str(share if share > 1 else 0)
    try:
        yield
    finally:
        del os.environ[THREADS]
