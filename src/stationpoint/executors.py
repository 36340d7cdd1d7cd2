"""Executors by name, loaded late. Only `map` is used; no worker holds state."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import active_children, get_context
from threading import current_thread, main_thread
from typing import TypeVar

from stationpoint.errors import MachineLacks

Job = TypeVar("Job")
Done = TypeVar("Done")


def each(work: Callable[[Job], Done], jobs: Sequence[Job], workers: int) -> Iterator[Done]:
    """What `work` makes of every job, in their order, by processes of this machine.

    They are always spawned: a GL context does not survive a fork. Where the caller stops, or is
    stopped by Ctrl-C, the processes end at once and without a word.
    """
    others = set(active_children())
    executor = ProcessPoolExecutor(min(workers, len(jobs)), mp_context=get_context("spawn"))
    try:
        with _deaf_to_ctrl_c():  # inherited by the processes, which all start here
            results = executor.map(work, jobs)
        yield from results
    except BrokenProcessPool as error:
        raise MachineLacks(
            "A worker process ended in the middle of its work, most likely for want of memory.",
            "Draw with fewer --workers, or with a smaller --cell-width.",
        ) from error
    except BaseException:
        executor.shutdown(wait=False, cancel_futures=True)
        for process in set(active_children()) - others:
            process.terminate()
        raise
    finally:
        executor.shutdown(cancel_futures=True)


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
