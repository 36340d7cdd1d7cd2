"""Whether threads can be had: refused one, Embree crashes and drivers of OpenGL wait for ever."""

from __future__ import annotations

import os
from threading import Event, Thread

from stationpoint.base.errors import MachineLacks

HINT = "Raise the limit on processes and threads (ulimit -u), or end other programs."


def check_threads() -> None:
    """MachineLacks where this process may not have a thread for each processor at the same time."""
    go = Event()
    started: list[Thread] = []
    try:
        for _ in range(os.cpu_count() or 1):
            thread = Thread(target=go.wait, daemon=True)
            thread.start()
            started.append(thread)
    except RuntimeError:
        raise MachineLacks("No more threads can be started here.", HINT) from None
    finally:
        go.set()
        for thread in started:
            thread.join()
