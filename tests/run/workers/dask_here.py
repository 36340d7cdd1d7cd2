"""A dask scheduler with two workers on this machine, as a process of its own: it prints their address, and
ends with its standard input. And work for them, which they find here."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def slowly() -> Iterator[Callable[[int], tuple[int, int]]]:
    """Work that takes a while, and tells which process does it."""

    def work(job: int) -> tuple[int, int]:
        time.sleep(0.1)
        return job, os.getpid()

    yield work


@contextmanager
def deadly() -> Iterator[Callable[[int], int]]:
    """Work that the process of the first job dies of."""

    def work(job: int) -> int:
        if job == 0:
            os._exit(9)
        return job

    yield work


@contextmanager
def endless() -> Iterator[Callable[[int], None]]:
    yield lambda job: time.sleep(60)


if __name__ == "__main__":
    import dask  # late: without them the tests are skipped
    from distributed import LocalCluster

    with (
        dask.config.set({"distributed.scheduler.allowed-failures": 1}),
        LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
        ) as cluster,
    ):
        print(cluster.scheduler_address.removeprefix("tcp://"), flush=True)
        sys.stdin.read()
