"""Work done by the workers of a dask cluster, on other machines too, in order.

What opens the work (the prepared study with its meshes and textures, no paths) travels once to each worker
and stays there until the work is done; a job and what is made of it are small beside it. A worker's process
does all its jobs in one thread, since an OpenGL context belongs to a thread.
"""

from __future__ import annotations

import logging
import pickle
import time
import warnings
from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager, ExitStack, suppress
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar

from stationpoint.base.errors import MachineLacks, NoOpenGl
from stationpoint.base.words import listed
from stationpoint.render import driver_of
from stationpoint.run.workers.processes import sendable

if TYPE_CHECKING:
    from distributed import Client, Future

Job = TypeVar("Job")
Done = TypeVar("Done")
Opened = AbstractContextManager[Callable[[Job], Done]]
Versions = Mapping[str, str | None]

CONNECT_S = 10.0  # for the scheduler to answer, and for a first worker to be there
LOOK_S = 1.0  # between looks at whether anybody is still at work
GONE_S = 20.0  # without any worker: a dead one is started again within seconds, if at all
AHEAD = 3  # jobs a worker that are handed out before results are taken: memory does not grow with all jobs
MOST_TOLD = 4
SAME = ("stationpoint", "numpy", "pillow", "embreex", "pydantic", "distributed")
NOISY = ("distributed", "tornado", "asyncio")

_SILENT: set[str] = set()  # addresses that have not answered: of many studies, one waits


class Desk:
    """What a worker keeps of some work: what opens it, pickled. Told from others by identity."""

    def __init__(self, opens: bytes) -> None:
        self.opens = opens


class Cluster:
    """The workers of a scheduler that has been reached. count: how many processes they are."""

    def __init__(self, client: Client, address: str, count: int) -> None:
        self._client, self._address, self.count = client, address, count
        self._seen_s = time.monotonic()  # when a worker was last there

    def work_in_order(
        self, open_work: Callable[[], Opened[Job, Done]], jobs: Sequence[Job]
    ) -> Iterator[Done]:
        """What the work makes of every job, in their order. However this ends, the cluster is left then, and
        drops what is not done.

        open_work, jobs: as of `processes.work_in_order`, picklable. Raises what a job raises. A job whose
        worker dies goes to another one, as often as the scheduler allows (`allowed-failures`); after that,
        and where nobody is left, MachineLacks.
        """
        waiting: deque[Future[bytes]] = deque()
        opens = pickle.dumps(open_work, 5)
        try:
            try:
                desk = self._client.scatter(Desk(opens), broadcast=True, hash=False)
            except Exception as error:
                raise self._lost() from error
            for job in jobs:
                waiting.append(self._client.submit(work_at, desk, job, pure=False))
                if len(waiting) >= AHEAD * self.count:
                    yield self._made(waiting.popleft())
            while waiting:
                yield self._made(waiting.popleft())
        finally:
            _leave(self._client)

    def _made(self, future: Future[bytes]) -> Any:
        """What has been made of a job; what it has raised, raised here."""
        from distributed import KilledWorker

        while True:
            try:
                data = future.result(timeout=LOOK_S)
                break
            except TimeoutError:
                self._look()
            except KilledWorker as error:
                raise MachineLacks(
                    "--executor: every worker that took one batch of the work died of it, most likely for "
                    "want of memory.",
                    "Give the workers more memory, or draw with a smaller --cell-width.",
                ) from error
            except Exception as error:  # of dask's own: jobs hand back theirs
                raise self._lost() from error
        is_made, answer = pickle.loads(data)
        if not is_made:
            raise answer
        return answer

    def _look(self) -> None:
        """MachineLacks where nobody is left to do the work."""
        try:
            if self._client.nthreads():
                self._seen_s = time.monotonic()
        except Exception as error:
            raise self._lost() from error
        if self._client.status != "running" or time.monotonic() - self._seen_s > GONE_S:
            raise self._lost()

    def _lost(self) -> MachineLacks:
        return MachineLacks(
            f"--executor: the dask cluster at {self._address} was lost in the middle of the work: its "
            "scheduler has ended, or all its workers.",
            "See what they logged, and start them again.",
        )


def connect(address: str, renderer: str | None) -> Cluster:
    """The cluster of the scheduler at an address such as "10.0.0.5:8786".

    renderer: what is to draw there, None for nothing. MachineLacks where the package is missing, nobody
    answers or works, or the versions are others than here; NoOpenGl where a worker has none, or another
    driver than the rest, so that whoever draws a picture it is the same.
    """
    try:
        import distributed
    except ImportError as error:
        raise MachineLacks(
            "--executor: the package distributed is not installed.",
            'Install it with: pip install "stationpoint[cluster]"',
        ) from error
    for name in list(logging.root.manager.loggerDict):
        if name.partition(".")[0] in NOISY:  # what it comes to is told in a sentence of ours
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)
    silence = MachineLacks(
        f"--executor: no dask scheduler answers at {address} within {CONNECT_S:g} seconds.",
        "Start one there with: dask scheduler",
    )
    if address in _SILENT:
        raise silence
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of versions, which are held against each other here
        try:
            client = distributed.Client(address, timeout=CONNECT_S, set_as_default=False)
        except (OSError, ValueError, TypeError) as error:
            _SILENT.add(address)
            raise silence from error
    try:
        return Cluster(client, address, _checked(client, address, renderer))
    except BaseException:
        _leave(client)
        raise


def _checked(client: Client, address: str, renderer: str | None) -> int:
    """How many workers there are; raises as of `connect`."""
    try:
        client.wait_for_workers(1, timeout=CONNECT_S)
    except TimeoutError as error:
        raise MachineLacks(
            f"--executor: the dask scheduler at {address} has no workers.",
            f"Start some with: dask worker {address} --nworkers auto --nthreads 1",
        ) from error
    found: Any = client.get_versions(packages=SAME)
    others = {"the scheduler": found["scheduler"], **found["workers"]}
    differing: dict[str, list[str]] = {}
    for who, its in others.items():
        for words in other_versions(found["client"]["packages"], its["packages"]):
            differing.setdefault(words, []).append(who)
    if differing:
        told = [f"{words} at {listed(_shortened(whose))}" for words, whose in differing.items()]
        raise MachineLacks(
            f"--executor: other versions would not give the same output: {'; '.join(told)}.",
            "Install the same versions everywhere, the scheduler's machine included.",
        )
    if renderer is not None:
        check_drivers(client.run(driver_at_hand, renderer, on_error="return"))
    return len(found["workers"])


def _shortened(names: list[str]) -> list[str]:
    return (
        names if len(names) <= MOST_TOLD else [*names[: MOST_TOLD - 1], f"{len(names) - MOST_TOLD + 1} more"]
    )


def other_versions(here: Versions, there: Versions) -> list[str]:
    """What is of another version there, in words: "numpy 2.3.0 (here 2.4.6)"."""
    return [
        f"{name} {there.get(name) or 'not installed'} (here {here.get(name) or 'not installed'})"
        for name in SAME
        if here.get(name) != there.get(name)
    ]


def check_drivers(found: Mapping[str, str | Exception]) -> None:
    """NoOpenGl unless each worker, by its address, draws with the same driver."""
    for who, words in found.items():
        if isinstance(words, NoOpenGl):
            raise NoOpenGl(f"Worker {who}: {words.message}", words.hint)
        if isinstance(words, Exception):
            raise words
    drivers = sorted({str(words) for words in found.values()})
    if len(drivers) > 1:
        raise NoOpenGl(
            f"The workers' OpenGL drivers differ ({listed(drivers)}), and so would their pictures.",
            "Draw with workers alike, or without OpenGL: --renderer rays.",
        )


def _leave(client: Client) -> None:
    with suppress(Exception):
        client.close(timeout=LOOK_S)


# What runs on the other side.


@cache
def _hand() -> ThreadPoolExecutor:
    """The one thread of this process that works and draws, whatever thread dask asks from."""
    return ThreadPoolExecutor(1)


class _Place:
    """What is open in this process: of one desk at a time, since there is one OpenGL context."""

    def __init__(self) -> None:
        self._desk: Desk | None = None
        self._work: Callable[[Any], Any] | None = None
        self._open_things = ExitStack()

    def done(self, desk: Desk, job: Any) -> bytes:
        """What is made of a job, or the error, pickled with which of them it is."""
        try:
            if desk is not self._desk:
                self._desk = self._work = None
                self._open_things.close()
                self._work = self._open_things.enter_context(pickle.loads(desk.opens)())
                self._desk = desk
            assert self._work is not None
            return pickle.dumps((True, self._work(job)), 5)
        except Exception as error:
            return pickle.dumps((False, sendable(error)))


_PLACE = _Place()


def work_at(desk: Desk, job: Any) -> bytes:
    """What is made of a job, as of `_Place.done`."""
    return _hand().submit(_PLACE.done, desk, job).result()


async def driver_at_hand(renderer: str) -> str:
    """What draws here by a renderer, in its driver's words; NoOpenGl where it cannot."""
    import asyncio  # late: no call without a cluster needs it

    return await asyncio.wrap_future(_hand().submit(driver_of, renderer))
