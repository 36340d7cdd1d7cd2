"""Results that wait until their page is drawn, and pages until all files are written: of one page at hand,
of more in files without a name, so that memory does not grow with their number."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from typing import BinaryIO, overload

from stationpoint.base.files import Content
from stationpoint.camera import Setup
from stationpoint.readings import Result
from stationpoint.record import Things
from stationpoint.sheet import Book, first_results, tickets_words
from stationpoint.study import Study


class Kept:
    """What a sheet keeps of results that come variant by variant. at_hand: whether that is all of them, as
    `results`; else only what is drawn, in a file. setups: of each variant, with its label. notes: what the
    ticket says of it besides, by label."""

    def __init__(self, study: Study, at_hand: bool) -> None:
        self._study, self._shelf = study, None if at_hand else Shelf()
        self.results: list[Result] = []
        self.setups: list[tuple[str, Setup]] = []
        self.notes: dict[str, str] = {}

    def passed_on(self, batches: Iterable[Sequence[Result]]) -> Iterator[Sequence[Result]]:
        """The same batches of whole variants, once what is to be kept of them is."""
        for batch in batches:
            for one in first_results(batch):
                self.setups.append((one.variant.label, one.setup))
                self.notes[one.variant.label] = tickets_words(one, self._study)
                if self._shelf is not None:
                    self._shelf.add(one)
            if self._shelf is None:
                self.results += batch
            yield batch

    @property
    def shown(self) -> Sequence[Result] | Book:
        """What is drawn."""
        return self.results if self._shelf is None else Book(self._shelf)


class Shelf(Sequence[Sequence[Result]]):
    """The pages of a Book, each read when it is asked for."""

    def __init__(self) -> None:
        self._things = Things()
        self._pages: dict[int, list[int]] = {}  # number of a page -> numbers of its things

    def add(self, result: Result) -> None:
        """Add the result that is drawn of a variant."""
        self._pages.setdefault(result.variant.page, []).append(len(self._things))
        self._things.add(result)

    def __len__(self) -> int:
        return len(self._pages)

    @overload
    def __getitem__(self, number: int) -> Sequence[Result]: ...
    @overload
    def __getitem__(self, number: slice) -> Sequence[Sequence[Result]]: ...
    def __getitem__(self, number: int | slice) -> Sequence[Result] | Sequence[Sequence[Result]]:
        numbers = sorted(self._pages)
        if isinstance(number, slice):
            return [self[k] for k in range(*number.indices(len(numbers)))]
        return [self._things[k] for k in self._pages[numbers[number]]]


def kept_files(files: Iterable[bytes], count: int) -> tuple[Content, ...]:
    """Files to be written later. count: how many there are; more than one wait in a file of their own."""
    if count == 1:
        return tuple(files)
    things = Things()
    for data in files:
        things.add(data)
    return tuple(partial(_write, things, k) for k in range(len(things)))


def _write(things: Things, number: int, file: BinaryIO) -> None:
    file.write(things.bytes_of(number))
