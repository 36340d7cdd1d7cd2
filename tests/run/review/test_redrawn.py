"""A page told of cell by cell while it is drawn again: which are due, and each as the page will have it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

from cli_calls import STUDY, yard
from stationpoint.run import Due, MadeReview, Redrawing, Redrawn, Warm, draw_review, prepare_study
from stationpoint.run.review.pictures import CLAY
from stationpoint.study import read_study

PLACES = '\n[[place]]\nname = "shut"\nmove = { crate = [0, 0, -4] }\n'


class Looking:
    """A page that is drawn again and again, and what was told of it before it was whole."""

    def __init__(self, warm: Warm, folder: Path) -> None:
        self.warm, self.folder = warm, folder
        self.told: list[Due | Redrawn] = []
        self.keys: Mapping[str, bytes] = {}

    def draw(self, study: str) -> MadeReview:
        read = read_study(yard(self.folder, study))
        prepared = self.warm.settled(prepare_study(read, self.folder))
        warm, self.told = self.warm, []
        with Redrawing(self.told.append, self.keys, prepared.study, warm.packed) as redrawing:

            def sweep(*words: Any) -> Any:
                results = warm.sweep(*words[:5], onlooker=redrawing)
                redrawing.settle()
                return results

            page = draw_review(prepared, "rays", 96, sweeper=sweep, packed=warm.packed, live=True)
        self.keys = warm.keys
        return page

    @property
    def due(self) -> dict[str, bool]:
        assert isinstance(self.told[0], Due)
        return self.told[0].labels

    @property
    def cells(self) -> list[Redrawn]:
        return [one for one in self.told[1:] if isinstance(one, Redrawn)]


@pytest.fixture
def looking(tmp_path: Path) -> Iterator[Looking]:
    with ExitStack() as open_things:
        yield Looking(Warm(open_things), tmp_path)


def test_an_edit_of_everything_tells_of_each_cell_as_the_page_will_have_it(looking: Looking) -> None:
    looking.draw(STUDY + PLACES)
    page = looking.draw(STUDY.replace("distance_m = 8", "distance_m = 9") + PLACES)
    assert looking.due == {"A1": True, "A2": True}
    each = [(one.label, one.place) for one in looking.cells]
    assert each == [(label, place) for label in ("A1", "A2") for place in ("here", "shut")]
    packed = set(looking.warm.packed.values())
    assert all(one.pictures[CLAY] in packed for one in looking.cells)
    fresh = draw_review(
        prepare_study(read_study(looking.folder / "yard.study.toml"), looking.folder), "rays", 96, live=True
    )
    assert page == fresh


def test_only_cells_that_change_are_due_and_what_was_drawn_once_is_told_first(looking: Looking) -> None:
    looking.draw(STUDY)
    looking.draw(STUDY.replace("[24, 50]", "[24, 51]"))
    assert looking.due == {"A1": False, "A2": True}
    assert [(one.label, one.words) for one in looking.cells] == [("A2", "51 mm")]
    looking.draw(STUDY.replace("[24, 50]", "[70, 50, 24]"))
    assert looking.due == {"A1": True, "A2": True, "A3": True}
    assert [(one.label, one.words) for one in looking.cells] == [
        ("A2", "50 mm"),
        ("A3", "24 mm"),
        ("A1", "70 mm"),
    ]


def test_where_nothing_is_drawn_nothing_is_told_before_the_page(looking: Looking) -> None:
    looking.draw(STUDY)
    looking.draw(STUDY.replace("Does the crate show?", "Other words"))
    assert looking.told == []
