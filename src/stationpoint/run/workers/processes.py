"""Work done by several processes of this machine, in order.

Each process opens what it needs once, then takes job after job. Each has a pipe of its own, so that
one which dies, or is ended in the middle of an answer, holds up no other. (The standard library's pools
share a pipe for all answers: half an answer that a dying process leaves in it is waited for without end.)
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, suppress
from multiprocessing import Pipe, current_process, get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from threading import current_thread, main_thread
from typing import Any, NamedTuple, TypeVar, cast

from numpy.typing import NDArray

from stationpoint.base.errors import MachineLacks
from stationpoint.run.workers.memory import SharedMemory

Job = TypeVar("Job")
Done = TypeVar("Done")
Team = dict[Connection, tuple[BaseProcess, SharedMemory]]
Opened = AbstractContextManager[Callable[[Job], Done]]
Tell = Callable[[Any], None]

HELD_BACK = (signal.SIGINT, signal.SIGTERM)
THREADS = "LP_NUM_THREADS"  # how many threads Mesa's software driver draws with


def processors() -> int:
    """How many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def free_bytes() -> int:
    """How much memory is left on this machine, 0 where it does not say. Less may be allowed."""
    try:
        lines = Path("/proc/meminfo").read_text("ascii").splitlines()
        return next(1024 * int(line.split()[1]) for line in lines if line.startswith("MemAvailable"))
    except (OSError, StopIteration, ValueError):
        return 0


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


def work_in_order(
    open_work: Callable[[], Opened[Job, Done]],
    jobs: Sequence[Job],
    workers: int,
    may_fork: bool = True,
    room_bytes: int = 0,
    let_go: bool = False,
    at_hand: Sequence[NDArray[Any]] = (),
    meanwhile: Callable[[], object] | None = None,
) -> Iterator[Done]:
    """What the work makes of every job, in their order.

    open_work: gives, within a `with`, the function that does a job; every process calls it once. Where
    processes cannot be forked they are spawned, and it must be picklable, as jobs and results always
    must. workers: how many processes; 1 works in this one, as does a process that may have none of its
    own; where there is no room for so many there are fewer. may_fork: False where this process holds
    what does not survive a fork. room_bytes: of all arrays that come back, which a forked process hands
    over in shared memory; let_go: of those of one job, which are copied there, so that the next one has the
    room. at_hand: arrays of this process, which a forked one hands back uncopied. meanwhile: called here
    while processes are at their first jobs; where none are, not at all. However this ends, by an error or by
    Ctrl-C, they end with it, at once and without a word.
    """
    team: Team = {}
    is_done = False
    try:
        if min(workers, len(jobs)) > 1 and not current_process().daemon:
            forked = may_fork and can_fork()
            _gather(team, open_work if forked else None, min(workers, len(jobs)), room_bytes, let_go, at_hand)
            for pipe in [] if forked else team:
                with suppress(OSError):  # it has died: `_answer` says so
                    pipe.send(open_work)
        if team:
            yield from _in_order(team, jobs, meanwhile)
        else:
            with open_work() as work:
                for job in jobs:
                    yield work(job)
        is_done = True
    finally:
        _end(team, wait_for=not is_done)
        if team:
            gc.unfreeze()


class Standby:
    """A process of its own that stays up and does job after job; another is started where it has ended.

    Spawned: the process that asks may have threads. open_work: as of `work_in_order`, picklable, but that it
    gets what tells whoever asks of a job before it is done.
    """

    def __init__(self, open_work: Callable[[Tell], Opened[Any, Any]]) -> None:
        self._open_work = _Telling(open_work)
        self._team: Team = {}

    def start(self) -> None:
        """Start it where it is not up: what it opens is opened meanwhile."""
        if any(not process.is_alive() for process, _ in self._team.values()):
            self.end()
        if self._team:
            return
        _gather(self._team, None, 1)
        if not self._team:
            raise MachineLacks(
                "No process can be started to draw in.", "End some others, or free some memory."
            )
        for pipe in self._team:
            with suppress(OSError):  # it has died: `_answer` says so
                pipe.send(self._open_work)

    def ask(self, job: object, on_told: Tell | None = None) -> Any:
        """What it makes of a job; what it raises, raised here, and it has ended then. on_told: called with
        what is told meanwhile."""
        self.start()
        ((pipe, (_, room)),) = self._team.items()
        try:
            with suppress(OSError):
                pipe.send(job)
            return _answer(pipe, room, on_told)
        except BaseException:
            self.end()
            raise

    def end(self) -> None:
        """End it, at once and without a word."""
        _end(self._team)
        self._team = {}


class _Telling(NamedTuple):
    """What opens the work of a `Standby`."""

    open_work: Callable[[Tell], Opened[Any, Any]]


def _end(team: Team, wait_for: bool = True) -> None:
    """End all processes. wait_for: until they are gone, which takes a while where they hold much."""
    for pipe, (process, _) in team.items():
        pipe.close()
        process.terminate()
    if wait_for:
        for process, _ in team.values():
            process.join()


def _gather(
    team: Team,
    open_work: Callable[[], Opened[Job, Done]] | None,
    count: int,
    room_bytes: int = 0,
    let_go: bool = False,
    at_hand: Sequence[NDArray[Any]] = (),
) -> None:
    """Start processes and note each with its pipe. open_work: None for spawned ones."""
    with _undisturbed(), _fewer_threads(count):  # inherited by the processes
        if open_work is not None:
            gc.freeze()  # else the first collection in each process copies all that they share
        for _ in range(count):
            try:
                room = SharedMemory(0 if open_work is None else room_bytes, let_go, at_hand)
                pipe, process = _started(open_work, list(team), room)
            except OSError:  # too many processes or files, or too little memory
                return
            team[pipe] = process, room


def _started(
    open_work: Callable[[], Opened[Job, Done]] | None, others: Sequence[Connection], room: SharedMemory
) -> tuple[Connection, BaseProcess]:
    """A process, and our end of its pipe.

    open_work: None for a spawned one, which gets it later: among the arguments it would hold us up
    where the process dies before it has read much.
    """
    ours, theirs = Pipe()
    not_theirs = [*others, ours] if open_work else []
    start = get_context("fork").Process if open_work else get_context("spawn").Process
    process = start(
        target=_serve, args=(open_work, theirs, not_theirs, room if open_work else None), daemon=True
    )
    process.start()
    theirs.close()
    return ours, process


def _serve(
    open_work: Callable[[], Opened[Job, Done]] | None,
    pipe: Connection,
    not_ours: Sequence[Connection],
    room: SharedMemory | None,
) -> None:
    """A process's life: jobs in, what is made of them out, until nobody is there any more.

    open_work: None where it comes first through the pipe. not_ours: ends of pipes that a fork brings
    along; open, they would hide that the others are gone. room: what is shared, of a forked process.
    """
    room = room or SharedMemory(0)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if sys.platform != "win32":
        signal.pthread_sigmask(signal.SIG_UNBLOCK, HELD_BACK)
    for other in not_ours:
        other.close()
    handed = _handed(pipe)
    try:
        opened = open_work or next(handed, None)
        if opened is None:
            return
        with _opening(opened, pipe) as work:
            for job in handed:
                pipe.send((True, room.packed(work(job))))
    except Exception as error:
        with suppress(OSError):
            pipe.send((False, sendable(error)))


def _opening(opened: Any, pipe: Connection) -> Opened[Any, Any]:
    if isinstance(opened, _Telling):
        return opened.open_work(lambda part: pipe.send((None, part)))
    return cast(Opened[Any, Any], opened())


def _handed(pipe: Connection) -> Iterator[Any]:
    while True:
        try:
            job = pipe.recv()
        except (EOFError, OSError):
            return
        yield job


def sendable(error: Exception) -> Exception:
    """The error, or what it says where it does not survive the way to another process."""
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        return RuntimeError(f"{type(error).__name__}: {error}")
    return error


def _in_order(team: Team, jobs: Sequence[Job], meanwhile: Callable[[], object] | None) -> Iterator[Any]:
    waiting = iter(enumerate(jobs))
    busy: dict[Connection, int] = {}
    made: dict[int, Any] = {}

    def hand_out(pipe: Connection) -> None:
        for number, job in waiting:
            busy[pipe] = number
            with suppress(OSError):  # it has ended: what it said last is still to be read
                pipe.send(job)
            return

    following = 0
    for pipe in team:
        hand_out(pipe)
    if meanwhile is not None:
        meanwhile()
    while busy:
        for pipe in cast(list[Connection], wait(list(busy))):
            made[busy.pop(pipe)] = _answer(pipe, team[pipe][1])
            hand_out(pipe)
        while following in made:
            yield made.pop(following)
            following += 1


def _answer(pipe: Connection, room: SharedMemory, on_told: Tell | None = None) -> Any:
    """What a process has made of its job; what it has raised, raised here. on_told: called with what it tells
    before it is done."""
    try:
        is_made, answer = pipe.recv()
        while is_made is None:
            if on_told is not None:
                on_told(answer)
            is_made, answer = pipe.recv()
    except (EOFError, OSError) as error:  # OSError: it ended in the middle of an answer
        raise MachineLacks(
            "A worker process ended in the middle of its work, most likely for want of memory.",
            "Draw with fewer --workers, or with a smaller --cell-width.",
        ) from error
    if not is_made:
        raise answer
    return room.unpacked(answer)


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Within it, processes start that leave Ctrl-C to this one, and that nothing ends before they are
    ready to end without a word. Signals wait meanwhile, but for Windows, which knows no waiting."""
    with _held_back():
        if current_thread() is not main_thread():
            yield
            return
        before = signal.signal(signal.SIGINT, signal.SIG_IGN)  # spawned ones begin with it
        try:
            yield
        finally:
            signal.signal(signal.SIGINT, before)


@contextmanager
def _held_back() -> Iterator[None]:
    if sys.platform == "win32":
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, [])
    try:
        signal.pthread_sigmask(signal.SIG_BLOCK, HELD_BACK)
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


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
