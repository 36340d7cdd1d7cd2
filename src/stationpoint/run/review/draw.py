"""From a prepared study to the file of its page for review."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import NamedTuple

from stationpoint.base.errors import StudyWrong
from stationpoint.ink import Page, Shape, Weight, font_rules, svg_tree
from stationpoint.readings import Result, Verdict
from stationpoint.record import Json, record_hash, record_text, review_page
from stationpoint.run.cases import with_height
from stationpoint.run.grid import grid_tint
from stationpoint.run.prepare import Prepared
from stationpoint.run.recorded import record_of, verdicts_on
from stationpoint.run.review.data import brief_data, cell_data, fields_data, study_data, values_data
from stationpoint.run.review.leaves import Leaves
from stationpoint.run.review.pictures import CLAY, OWN, Packed, Pictures, commons_of
from stationpoint.run.sheet import AS_EVER, DRAWN_BY, Progress, aids_drawn, own_words, quiet_progress
from stationpoint.run.sweep import (
    Sweeper,
    Wants,
    cases_to_draw,
    sweep_variants,
)
from stationpoint.run.warnings import nodes_told, not_set, warnings_of
from stationpoint.run.workers.processes import processors
from stationpoint.run.workers.worth import workers_worth
from stationpoint.scene import in_own_colours, own_colour_notes
from stationpoint.sheet import (
    Flag,
    Ladder,
    Owner,
    PlanData,
    answer_words,
    caption_texts,
    close_up_marks,
    compose_pages,
    flags,
    owners_by_id,
    page_scale,
    picking_plan,
    plan_data,
)
from stationpoint.study import Study, mark_m

WIDTHS_PX = ((80, 960), (200, 640), (600, 480))  # up to so many pictures, and how wide they are drawn
LEAST_WIDTH_PX = 400
MOST_CELLS = 1000
MOST_THREADS = 8
# What the page's own words and a reviewer's may be written in; names bring theirs.
LETTERS = "".join(map(chr, (*range(0x20, 0x7F), *range(0xA0, 0x180), 0x2013, 0x2019, 0x2026, 0x2212)))
WEIGHTS: tuple[Weight, ...] = ("regular", "semibold", "bold")


class MadeReview(NamedTuple):
    """A page's file, and what a person should know. live: the page that follows what serves it, which calls
    it by its version."""

    data: bytes
    warnings: tuple[str, ...]
    live: bytes = b""
    version: str = ""


def draw_review(
    prepared: Prepared,
    renderer: str = "gl",
    cell_width: int | None = None,
    workers: int | None = 1,
    progress: Progress = quiet_progress,
    sweeper: Sweeper = sweep_variants,
    packed: Packed | None = None,
    live: bool = False,
) -> MadeReview:
    """A study's page for review. Raises StudyWrong for more cells than a page has.

    cell_width: of pictures, px; None for what suits their number. workers: processes, None for as many as
    pay. sweeper: what draws and measures its variants. packed: pictures of the page before, and then those of
    this one. live: whether it is made once more, as a page that follows what serves it.
    """
    count = cells_count(prepared)
    refuse_many(count)
    side = draw_side(prepared, renderer, cell_width or suited_width(count), workers, progress, sweeper)
    leaves = Leaves()
    with ThreadPoolExecutor(min(processors(), MOST_THREADS)) as threads:
        pictures = Pictures(threads, commons_of(side.deep, side.told), packed)
        cells, words = side.cells(pictures, leaves)
        sheets, more = side.sheets(pictures, leaves)
        files = pictures.files
    if packed is not None:
        packed.clear()
        packed.update(zip(pictures.keys, files, strict=True))
    table = values_data(side.rows)
    data: dict[str, Json] = {
        **page_data(side, pictures, leaves),
        "paths": table.paths,
        "cells": [cell | {"values": values} for cell, values in zip(cells, table.of_cells, strict=True)],
        "sheets": sheets,
    }
    rules, family = page_fonts([*words, *more])
    page = review_page(data, files, rules, family)
    if not live:
        return MadeReview(page, side.warnings)
    version = sha256(page).hexdigest()[:16]
    following = review_page({**data, "version": version}, files, rules, family, live=True)
    return MadeReview(page, side.warnings, following, version)


def refuse_many(count: int) -> None:
    """StudyWrong for more cells than a page has."""
    if count > MOST_CELLS:
        raise StudyWrong(
            f"The page would have {count} cells, at most {MOST_CELLS} are drawn; take values off an axis, or "
            "name places with --place."
        )


def page_data(side: Side, pictures: Pictures, leaves: Leaves) -> dict[str, Json]:
    """What stands over the cells of a page, once all of them are drawn."""
    return {
        **study_data(side.prepared, side.answer),
        "record": side.record,
        "mode": OWN if side.is_own else CLAY,
        "fields": fields_data(side.drawn, side.prepared.study),
        "brief": brief_data(side.prepared.study),
        "ladders": {m: _steps(common.ladder) for m, common in pictures.commons.items() if common.ladder},
        "looks": leaves.looks,
    }


def page_fonts(words: Sequence[tuple[str, Weight]]) -> tuple[str, str]:
    """The rules and the family of fonts for what is written in drawings, and for the page's own words."""
    return font_rules([*words, *((LETTERS, weight) for weight in WEIGHTS)])


def draw_side(
    prepared: Prepared,
    renderer: str,
    width: int,
    workers: int | None,
    progress: Progress,
    sweeper: Sweeper = sweep_variants,
) -> Side:
    """A study drawn and measured for a page, its pictures `width` px wide."""
    by_file = bool(own_words(prepared.scene))
    prepared = replace(prepared, scene=in_own_colours(prepared.scene, True))
    own = any(node.shows_own for node in prepared.scene.nodes)
    colour_notes = own_colour_notes(prepared.scene)  # decodes textures, before work is shared
    grid, shadow = aids_drawn(prepared, AS_EVER)
    wants = Wants(
        cell_width=width,
        ids=True,
        depth=True,
        hidden=True,
        grid=grid,
        shadow=shadow,
        own=own,
        paired=own,
        everywhere=True,
    )
    workers = workers_worth(prepared) if workers is None else workers
    with progress(cases_to_draw(prepared)) as done:
        results = sweeper(prepared, wants, renderer, workers, done)
    whole = record_of(prepared, results, renderer)
    text = record_text(whole)
    verdicts = verdicts_on(prepared, results)
    told = with_height(prepared)
    rows = whole["rows"]
    assert isinstance(rows, list)
    shown = [k for k, result in enumerate(results) if result.picture is not None]
    deep = [results[k] for k in shown]
    return Side(
        prepared,
        told,
        renderer,
        width,
        grid,
        by_file and own,
        deep,
        [replace(result, depth_m=None) for result in deep],  # marks as on a sheet, which has no depth
        [rows[k] for k in shown],
        verdicts,
        flags(verdicts, None if prepared.chosen is None else prepared.chosen.label),
        answer_words(verdicts, prepared.variants, prepared.study),
        record_hash(text),
        owners_by_id(prepared.scene.nodes, told),
        (
            *prepared.notes,
            *colour_notes,
            *warnings_of(results, prepared.scene),
            *not_set(prepared.study, nodes_told(prepared.scene, text)),
        ),
    )


def cells_count(prepared: Prepared) -> int:
    """How many cells a page has: a variant at each place at which it is judged."""
    return sum(1 if one.place else len(prepared.study.places) for one in prepared.variants)


def suited_width(count: int) -> int:
    """How wide so many pictures are drawn, so that a page of many is no larger than mail takes."""
    return next((width for most, width in WIDTHS_PX if count <= most), LEAST_WIDTH_PX)


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """A study as it was drawn for a page. told: as sheets tell it. is_own: whether it is shown in own colours
    first. deep: its results with a picture, with their depth; drawn: without it; rows: of them in the record.
    """

    prepared: Prepared
    told: Study
    renderer: str
    width: int
    grid: bool
    is_own: bool
    deep: Sequence[Result]
    drawn: Sequence[Result]
    rows: Sequence[Json]
    verdicts: Mapping[str, Verdict]
    flagged: Mapping[str, Flag]
    answer: str
    record: str
    owner_by_id: Mapping[int, Owner]
    warnings: tuple[str, ...]

    def cells(
        self, pictures: Pictures, leaves: Leaves
    ) -> tuple[list[dict[str, Json]], list[tuple[str, Weight]]]:
        """What is said of each result and how it looks, and the words of its marks."""
        drawn = self.drawn
        nodes = self.prepared.scene.nodes
        own_ids = frozenset(k for k, node in enumerate(nodes, start=1) if node.shows_own)
        marks = close_up_marks(
            drawn, self.told, self.owner_by_id, mark_m(self.told, self.prepared.scene), own_ids
        )
        captions = caption_texts(drawn, self.told, self.flagged)
        made, words = [], list[tuple[str, Weight]]()
        each = pictures.add_each(self.deep, self.owner_by_id)
        for result, seen, groups, caption in zip(drawn, each, marks, captions, strict=True):
            assert result.picture is not None
            height, width = result.picture.shape[:2]
            tree = svg_tree(groups, (width, height), pictures.address)
            words += tree.words
            said = cell_data(result, self.prepared.study, self.verdicts, self.flagged)
            looks: dict[str, Json] = {
                "size": [width, height],
                "pictures": dict(seen),
                "caption": [list(line) for line in caption],
                "marks": leaves.short(tree.elements),
            }
            made.append(said | looks)
        return made, words

    def sheets(self, pictures: Pictures, leaves: Leaves) -> tuple[list[Json], list[tuple[str, Weight]]]:
        """The sheet of each place, one for all where the place is swept, and the words on them."""
        drawn = self.drawn
        names = list(dict.fromkeys(result.place.name for result in drawn))
        is_apart = len(names) > 1 and not any(result.variant.place for result in drawn)
        number = {id(result): k for k, result in enumerate(drawn)}
        made, words = list[Json](), list[tuple[str, Weight]]()

        def elements(shapes: Sequence[Shape], size_px: tuple[int, int]) -> Json:
            tree = svg_tree(shapes, size_px, pictures.address)
            words.extend(tree.words)
            return leaves.short(tree.elements)

        for name in names if is_apart else [""]:
            those = [result for result in drawn if name in ("", result.place.name)]
            numbers = sorted({result.variant.page for result in those})
            paged = [[one for one in those if one.variant.page == page] for page in numbers]
            plan = self._plan(those)
            pages: list[Json] = [
                {
                    "size": list(page.size_px),
                    "tree": elements(page.shapes, page.size_px),
                    "cells": [number[id(one)] for one in of_page],
                }
                for page, of_page in zip(self._pages(those, plan), paged, strict=True)
            ]
            shapes, size_px, spots = picking_plan(plan, {})
            cameras: Json = [[spot.label, round(spot.x, 1), round(spot.y, 1)] for spot in spots]
            drawn_plan: Json = {"size": list(size_px), "tree": elements(shapes, size_px), "cameras": cameras}
            made.append({"place": name, "pages": pages, "plan": drawn_plan})
        return made, words

    def _plan(self, results: Sequence[Result]) -> PlanData:
        setups = [(result.variant.label, result.setup) for result in results]
        taken = None if self.prepared.chosen is None else self.prepared.chosen.label
        return plan_data(self.prepared.scene.nodes, setups, self.told, taken)

    def _pages(self, results: Sequence[Result], plan: PlanData) -> Sequence[Page]:
        return compose_pages(
            results,
            self.told,
            verdicts=self.flagged or None,
            record_hash=self.record,
            cell_width=self.width,
            plan=plan,
            owner_by_id=self.owner_by_id,
            answer=self.answer,
            renderer_note=DRAWN_BY.get(self.renderer, ""),
            grid=grid_tint(self.prepared.scene, results, False) if self.grid else None,
            mark_m=mark_m(self.told, self.prepared.scene),
            chosen=self.prepared.chosen,
            scale=page_scale(self.width),
        )


def _steps(ladder: Ladder) -> Json:
    """The steps of a mode as data."""
    return {
        "head": ladder.head,
        "steps": [["#{:02x}{:02x}{:02x}".format(*ink), words] for ink, words in ladder.steps],
    }
