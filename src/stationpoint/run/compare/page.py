"""What changed, as a page for review: that of what is there now, each of its cells with what it was."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any, cast

from stationpoint.ink import Weight
from stationpoint.readings import Result
from stationpoint.record import Json, review_page
from stationpoint.run.compare.differences import HOLDS, Change, Comparison
from stationpoint.run.compare.words import (
    amount_words,
    said_change,
    share_words,
    told_change,
    variant_names,
    without_here,
)
from stationpoint.run.prepare import Prepared
from stationpoint.run.review.data import brief_data, fields_data, values_data
from stationpoint.run.review.draw import (
    MOST_THREADS,
    MadeReview,
    Side,
    cells_count,
    draw_side,
    page_data,
    page_fonts,
    refuse_many,
    suited_width,
)
from stationpoint.run.review.leaves import Leaves
from stationpoint.run.review.pictures import Pictures, Pixels, commons_of
from stationpoint.run.sheet import Progress, quiet_progress
from stationpoint.run.workers.processes import processors
from stationpoint.sheet import page_scale, where_they_differ
from stationpoint.study import HERE

Spot = tuple[str, str]  # a variant's key, and a place
VERDICT = "verdict"


def draw_changes(
    found: Comparison,
    before: Prepared,
    after: Prepared,
    title: str,
    answer: str,
    renderer: str = "gl",
    workers: int | None = 1,
    progress: Progress = quiet_progress,
) -> MadeReview:
    """The page for review of what is there now, with what changed of it; what is gone stands at its end.

    StudyWrong for more cells than a page has.
    """
    count = cells_count(before) + cells_count(after)
    refuse_many(count)
    old, new = (draw_side(side, renderer, suited_width(count), workers, progress) for side in (before, after))
    at, earlier = _numbers(new.drawn), _numbers(old.drawn)
    gone = [k for spot, k in earlier.items() if spot not in at]
    leaves = Leaves()
    with ThreadPoolExecutor(min(processors(), MOST_THREADS)) as threads:
        pictures = Pictures(threads, commons_of([*old.deep, *new.deep], new.told))
        cells, words = new.cells(pictures, leaves)
        sheets, more = new.sheets(pictures, leaves)
        was, others = _cells_before(old, pictures, leaves, len(after.study.limit))
        for spot, number in at.items():
            if spot in earlier:
                k = earlier[spot]
                own = old.is_own and new.is_own
                shown, says = _differing(old.drawn[k], new.drawn[number], own)
                cells[number] |= {"before": was[k], "differs": says}
                if shown is not None:
                    for cell in (cells[number], was[k]):
                        cast(dict[str, Json], cell["pictures"])["difference"] = pictures.add(shown)
        files = pictures.files
    table = values_data([*new.rows, *old.rows])
    for cell, values in zip([*cells, *was], table.of_cells, strict=True):
        cell["values"] = values
    every = [*cells, *(was[k] for k in gone)]
    at |= {spot: len(cells) + gone.index(k) for spot, k in earlier.items() if spot not in at}
    changes = _changes(found, at, {place.name for side in (before, after) for place in side.study.places})
    changed = {number for number, _ in changes}
    for number, cell in enumerate(every):
        lone = "gone" if number >= len(cells) else "" if "before" in cell else "new"
        cell["change"] = lone or ("changed" if number in changed else "unchanged")
    data: dict[str, Json] = {
        **page_data(new, pictures, leaves),
        "title": title,
        "answer": answer,
        "targets": {one.name: one.role for side in (before, after) for one in side.study.target},
        "gaps": list(dict.fromkeys(gap.name for side in (after, before) for gap in side.study.gap)),
        "fields": fields_data([*new.drawn, *(old.drawn[k] for k in gone)], after.study),
        "brief": [*brief_data(after.study), *brief_data(before.study)],
        "paths": table.paths,
        "cells": [*every],
        "sheets": sheets,
        "changes": [change | {"cell": number} for number, change in changes],
    }
    rules, family = page_fonts([*words, *more, *others])
    return MadeReview(review_page(data, files, rules, family), new.warnings)


def _numbers(results: Sequence[Result]) -> dict[Spot, int]:
    """Where each cell stands in an order of results."""
    found: dict[Spot, int] = {}
    for number, result in enumerate(results):
        found.setdefault((result.variant.key, result.place.name), number)
    return found


def _cells_before(
    side: Side, pictures: Pictures, leaves: Leaves, limits: int
) -> tuple[list[dict[str, Json]], list[tuple[str, Weight]]]:
    """The cells as they were, each with its drawing on a sheet, and the words in them. limits: how many
    of the other side stand before this side's in the brief."""
    cells, words = side.cells(pictures, leaves)
    sheets, more = side.sheets(pictures, leaves)
    for cell in cells:
        cell["id"] = f"{cell['id']} (before)"
        for finding in _dicts(cell["brief"]):
            finding["limit"] = limits + cast(int, finding["limit"])
    for page in (page for sheet in _dicts(sheets) for page in _dicts(sheet["pages"])):
        groups = [one for one in cast(list[Any], page["tree"]) if isinstance(one[1], dict)]
        drawn = [one for one in groups if one[1].get("class") == "cell"]
        for number, group in zip(cast(list[int], page["cells"]), drawn, strict=True):
            cells[number]["drawing"] = group
    return cells, [*words, *more]


def _dicts(those: Json) -> list[dict[str, Json]]:
    return cast(list[dict[str, Json]], those)


def _differing(before: Result, after: Result, own: bool) -> tuple[Pixels | None, str]:
    """Where a cell differs, and in words. own: whether in the level's own colours."""
    old, new = (cast(Pixels, one.own_picture if own else one.picture) for one in (before, after))
    return where_they_differ(old, new, max(1, round(page_scale(new.shape[1]).line(1.5))))


def _changes(
    found: Comparison, at: Mapping[Spot, int], places: Collection[str]
) -> list[tuple[int, dict[str, Json]]]:
    """What changed, reading by reading, the largest amount of each first, with the cell that shows it."""
    names = variant_names(found.variants)
    by_reading: dict[str, list[tuple[float, int, dict[str, Json]]]] = {}
    for change in found.changed:
        cell = _cell_of(change, at, found)
        if cell is None:
            continue
        number, aside = cell
        said = said_change(change, names, found)
        where = without_here(said.where) if places == {HERE} else said.where
        share = "" if change.hidden_by is None or change.off else f", {share_words(change.hidden_by.share)}"
        told: dict[str, Json] = {
            "reading": said.reading or VERDICT,
            "where": where,
            "before": said.before,
            "after": said.after,
            "by": amount_words(change),
            "why": f"{said.why}{share}",
            "aside": aside,
            "says": ", ".join(filter(None, (told_change(said), aside))),
        }
        by_reading.setdefault(said.reading, []).append((-_amount(change), number, told))
    return [
        (number, told)
        for those in by_reading.values()
        for _, number, told in sorted(those, key=lambda one: one[0])
    ]


def _cell_of(change: Change, at: Mapping[Spot, int], found: Comparison) -> tuple[int, str] | None:
    """The cell that shows a change, and what of it the cell's name leaves out: how players have set the
    camera, and the picture where there are several. Of a verdict it is the first cell by which it fails,
    else the first of its variant."""
    own = {spot[1]: number for spot, number in at.items() if spot[0] == change.variant.key}
    place = change.failed[0][1] if change.path == HOLDS and change.failed else change.place
    for name, number in own.items():
        if place is not None and f"{place}, ".startswith(f"{name}, "):
            manifold = change.place is not None and (change.variant.key, change.place) in found.manifold
            more = [
                place[len(name) + 2 :] if change.place else "",
                f"in {change.picture}" if manifold else "",
            ]
            return number, ", ".join(filter(None, more))
    return next(((number, "") for number in own.values()), None)


def _amount(change: Change) -> float:
    """By how much a number has changed; 0 of what is none."""
    before, after = change.before, change.after
    return abs(after - before) if isinstance(before, int | float) and isinstance(after, int | float) else 0.0
