"""The results that a sheet shows, page by page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stationpoint.readings import Result
from stationpoint.sheet.ranked import Ranked


@dataclass(frozen=True, slots=True, eq=False)
class Book:
    """One result a variant, in the order of the sweep. pages: of each its results, which may be read anew
    from elsewhere whenever they are asked for."""

    pages: Sequence[Sequence[Result]]

    def __iter__(self) -> Iterator[Result]:
        for page in self.pages:
            yield from page


def book_of(results: Sequence[Result], ranked: Ranked | None = None) -> Book:
    """What is shown of all results, one page a value of the pages axis. ranked: an order of its own, all on
    one page."""
    first = first_results(results)
    if ranked is not None:
        by_label = {result.variant.label: result for result in first}
        return Book([[by_label[label] for label in ranked.labels]])
    numbers = sorted({result.variant.page for result in first})
    return Book([[result for result in first if result.variant.page == number] for number in numbers])


def first_results(results: Sequence[Result]) -> list[Result]:
    """One result a variant: its first with a picture, else its first."""
    found: dict[str, Result] = {}
    for result in results:
        held = found.get(result.variant.label)
        if held is None or (held.picture is None and result.picture is not None):
            found[result.variant.label] = result
    return list(found.values())
