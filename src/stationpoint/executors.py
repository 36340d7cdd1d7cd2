"""Executors by name, loaded late. Only `map` is used; no worker holds state."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context


def local(workers: int) -> ProcessPoolExecutor:
    """Processes of this machine, always spawned: a GL context does not survive a fork."""
    return ProcessPoolExecutor(max_workers=workers, mp_context=get_context("spawn"))
