"""Ctrl-C and polite kills: a call ends where it stands, once, and tidies up on its way out."""

from __future__ import annotations

import atexit
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import current_thread, main_thread
from types import FrameType
from typing import NoReturn

STOPS = (signal.SIGINT, signal.SIGTERM)
AGAIN_S = 0.5


_asked: list[int] = []  # the signal that has stopped the call, if one has


class Stopped(BaseException):
    """A signal ends the call.

    No KeyboardInterrupt: one that passes through code made from a string, as a dataclass's is, has
    Python end itself by SIGINT, whatever exit code the program gives.
    """

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.code = 128 + number


@contextmanager
def stoppable() -> Iterator[None]:
    """Within it SIGINT and SIGTERM raise Stopped, unless they were ignored before.

    Once: those that follow are ignored, as the call is ending. But what is raised in a destructor, or
    where a library catches everything, is lost; so it is raised again until it is settled.
    """
    if current_thread() is not main_thread():
        yield
        return
    alarm = () if sys.platform == "win32" else (signal.SIGALRM,)
    before = {number: signal.getsignal(number) for number in (*STOPS, *alarm)}
    hook = sys.unraisablehook
    _asked.clear()

    def hushed(lost: sys.UnraisableHookArgs) -> None:
        if not isinstance(lost.exc_value, Stopped):
            hook(lost)

    try:
        sys.unraisablehook = hushed
        for number in STOPS:
            if before[number] is not signal.SIG_IGN:
                signal.signal(number, _stop)
        yield
    finally:
        sys.unraisablehook = hook
        for number, handler in before.items():
            if handler is not None:  # None: not Python's
                signal.signal(number, handler)


def stopped_by(error: BaseException) -> BaseException:
    """The Stopped behind an error, or the error itself where no signal has come.

    What is raised while a class is made comes out as another error: Python (before 3.12) and pydantic
    put their own in its place.
    """
    return Stopped(_asked[0]) if _asked else error


def settle() -> None:
    """Nothing interrupts the call any more: it is telling how it ends."""
    if current_thread() is not main_thread():
        return
    if sys.platform != "win32":
        signal.setitimer(signal.ITIMER_REAL, 0.0)
    _ignore_stops()


def _ignore_stops() -> None:
    for number in STOPS:
        signal.signal(number, signal.SIG_IGN)


def _stop(number: int, frame: FrameType | None) -> NoReturn:
    _asked.append(number)
    atexit.register(_ignore_stops)  # nor is the interpreter interrupted on its own way out
    if sys.platform != "win32":
        _ignore_stops()
        signal.signal(signal.SIGALRM, lambda *_: _raise_stopped(number))
        signal.setitimer(signal.ITIMER_REAL, AGAIN_S, AGAIN_S)
    _raise_stopped(number)


def _raise_stopped(number: int) -> NoReturn:
    raise Stopped(number)
