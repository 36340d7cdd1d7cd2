"""Random inputs for a while: python -m tests.fuzz --minutes 30

Each kind's inputs are numbered; a number and a seed give the same input in every run. They are called in a
process that is replaced after some hundred, with a limit on memory and time. What is found is made smaller
and written into --out, a folder each, with the call in words.txt. Exit code 1 if anything is found.
"""

from __future__ import annotations

import multiprocessing
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random

import click

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS), str(TESTS.parent / "src")]

from fuzz.inputs import KINDS, Case, good  # noqa: E402
from fuzz.tried import complaint  # noqa: E402

BATCH, STUCK_S, MOST_BYTES = 200, 60.0, 3 << 29  # 1.5 GiB
TRIES = 300
forking = multiprocessing.get_context("fork")


def case_of(kind: str, seed: int, number: int) -> Case:
    """The input of that kind, seed and number."""
    return KINDS[kind](Random(f"{kind} {seed} {number}"))


def _limited(case: Case) -> str:
    try:
        return complaint(case)
    except BaseException as error:  # whatever a call lets through is a find
        return f"{type(error).__name__}: {str(error)[:300]}"


def _work(kind: str, seed: int, numbers: range, pipe: Connection) -> None:
    resource.setrlimit(resource.RLIMIT_DATA, (MOST_BYTES, MOST_BYTES))
    for number in numbers:
        pipe.send((number, _limited(case_of(kind, seed, number))))


def run_batch(kind: str, seed: int, numbers: range, found: Callable[[int, str], None]) -> None:
    """Try these numbers; a call that hangs or kills its process is a find, and the rest go on."""
    while numbers:
        mine, theirs = forking.Pipe(duplex=False)
        child = forking.Process(target=_work, args=(kind, seed, numbers, theirs))
        child.start()
        theirs.close()
        last = numbers[0] - 1
        try:
            while last < numbers[-1]:
                if not mine.poll(STUCK_S):
                    found(last + 1, f"nothing for {STUCK_S:.0f} s")
                    last += 1
                    break
                last, what = mine.recv()
                if what:
                    found(last, what)
        except EOFError:
            child.join()
            found(last + 1, f"the process ended with {child.exitcode}")
            last += 1
        child.kill()
        child.join()
        numbers = range(last + 1, numbers[-1] + 1)


def _alone(case: Case) -> str:
    """The complaint about one case, from a process of its own."""
    answers: list[str] = []
    KINDS["one"] = lambda _: case
    try:
        run_batch("one", 0, range(1), lambda _, what: answers.append(what))
    finally:
        del KINDS["one"]
    return answers[0] if answers else ""


def smaller(case: Case, what: str) -> Case:
    """The same find with as little as may be of what was broken: words left out, or lines, or bytes."""
    tries = 0

    def still(candidate: Case) -> bool:
        nonlocal tries
        tries += 1
        return tries <= TRIES and _alone(candidate)[:12] == what[:12]

    def cut(parts: list[bytes] | list[str], made: Callable[[list], Case]) -> list:  # type: ignore[type-arg]
        size = max(1, len(parts) // 2)
        while size and tries < TRIES:
            at = 0
            while at < len(parts):
                fewer = parts[:at] + parts[at + size :]
                if still(made(fewer)):
                    parts = fewer
                else:
                    at += size
            size //= 2
        return parts

    if case.broken == "words":
        return replace(
            case,
            words=(
                case.words[0],
                *cut(list(case.words[1:]), lambda w: replace(case, words=(case.words[0], *w))),
            ),
        )

    def with_data(parts: list[bytes]) -> Case:
        return replace(case, files={**case.files, case.broken: b"".join(parts)})

    lines = cut(case.files[case.broken].splitlines(keepends=True), with_data)
    if len(b"".join(lines)) < 4096:
        lines = cut([bytes([byte]) for byte in b"".join(lines)], with_data)
    return with_data(lines)


@click.command()
@click.option("--minutes", type=float, default=30.0, show_default=True, help="Of the clock, over all kinds.")
@click.option("--each", type=int, default=0, help="Or so many inputs of each kind.")
@click.option("--seed", type=int, default=1, show_default=True)
@click.option("--kind", "kinds", type=click.Choice(list(KINDS)), multiple=True, help="Only this. Repeatable.")
@click.option("--number", type=int, help="Only this input, as a find names it (with --kind and --seed).")
@click.option("--out", type=click.Path(path_type=Path), default=Path("out/fuzz"), show_default=True)
def main(minutes: float, each: int, seed: int, kinds: tuple[str, ...], number: int | None, out: Path) -> None:
    """Try random inputs of each kind in turn and tell what is found."""
    complaint(Case(good(), ("check", "yard.study.toml"), "words"))  # imported once, not by each process
    ends, tried = time.monotonic() + 60.0 * minutes, dict.fromkeys(kinds or tuple(KINDS), 0)
    finds: dict[str, str] = {}

    def found(kind: str, number: int, what: str) -> None:
        first = what[:60]
        click.echo(f"{kind} {seed} {number}: {what}")
        if first in finds:
            return
        finds[first] = f"{kind} {number}"
        case = smaller(case_of(kind, seed, number), what)
        folder = out / f"{kind}-{seed}-{number}"
        folder.mkdir(parents=True, exist_ok=True)
        for name, data in case.files.items():
            (folder / name).write_bytes(data)
        (folder / "words.txt").write_text(
            f"stationpoint {' '.join(map(repr, case.words))}\n{what}\n", "utf-8"
        )

    while any(not each or done < each for done in tried.values()) and (each or time.monotonic() < ends):
        for kind, done in tried.items():
            numbers = range(done, min(done + BATCH, each) if each else done + BATCH)
            if number is not None:
                numbers = range(number, number + 1)
            run_batch(kind, seed, numbers, lambda n, what, kind=kind: found(kind, n, what))  # type: ignore[misc]
            tried[kind] = done + len(numbers)
        if number is not None:
            break
    click.echo(", ".join(f"{kind} {done}" for kind, done in tried.items()) + f" tried; {len(finds)} found.")
    sys.exit(1 if finds else 0)


if __name__ == "__main__":
    main()
