"""Work done by several processes of this machine, in order. No worker holds state.

Each process has a pipe of its own, so that one which dies, or is ended in the middle of a word, holds
up no other. (The standard library's pools share a queue, which a dying process can leave locked.)
"""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from threading import current_thread, main_thread
from typing import TypeVar, cast

from stationpoint.errors import MachineLacks

Job = TypeVar("Job")
Done = TypeVar("Done")


def each(work: Callable[[Job], Done], jobs: Sequence[Job], workers: int) -> Iterator[Done]:
    """What `work` makes of every job, in their order. work: a module's own function; all is picklable.

    The processes are always spawned: a GL context does not survive a fork. However this ends, by
    an error or by Ctrl-C, they end with it, at once and without a word.
    """
    team: dict[Connection, BaseProcess] = {}
    try:
        with _deaf_to_ctrl_c():  # inherited by the processes
            for _ in range(min(workers, len(jobs))):
                pipe, process = _started(work)
                team[pipe] = process
        yield from _in_order(list(team), jobs)
    finally:
        for pipe, process in team.items():
            pipe.close()
            process.terminate()
        for process in team.values():
            process.join()


def _started(work: Callable[[Job], Done]) -> tuple[Connection, BaseProcess]:
    context = get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=_serve, args=(work, theirs), daemon=True)
    process.start()
    theirs.close()
    return ours, process


def _serve(work: Callable[[Job], Done], pipe: Connection) -> None:
    """A process's life: jobs in, what is made of them out, until nobody is there any more."""
    with suppress(EOFError, OSError):
        while True:
            job = pipe.recv()
            try:
                answer: tuple[bool, object] = (True, work(job))
            except Exception as error:
                answer = (False, error)
            pipe.send(answer)


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
def _deaf_to_ctrl_c() -> Iterator[None]:
    if current_thread() is not main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
