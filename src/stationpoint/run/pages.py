"""From a sweep's results to a sheet's pages, their files and what goes beside them.

Loaded late: `run/sheet.py` has variants drawn before it needs this.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from functools import partial

from stationpoint.readings import Result
from stationpoint.record import record_hash, ticket_text
from stationpoint.run.cases import with_height
from stationpoint.run.endings import DRAWING, RECORD, STUDY, files_of
from stationpoint.run.formats import drawn_files, shared_cells
from stationpoint.run.gathered import Gathered
from stationpoint.run.grid import grid_tint
from stationpoint.run.prepare import Prepared
from stationpoint.run.ranked import WORST, Sweep, draw_ranked, draw_worst, rank, worst_spots
from stationpoint.run.sheet import AS_EVER, DRAWN_BY, Drawing, Made
from stationpoint.run.shelf import Kept, kept_files
from stationpoint.run.sweep import Wants
from stationpoint.run.warnings import nodes_told, not_set
from stationpoint.sheet import (
    Ranked,
    answer_words,
    camera_lines,
    compose_pages,
    first_results,
    flags,
    owners_by_id,
    plan_data,
    title_of,
)
from stationpoint.study import mark_m, study_text


def made_of(
    prepared: Prepared,
    drawing: Drawing,
    found: Gathered,
    kept: Kept,
    wants: Wants,
    swept: Sweep,
    workers: int,
    ending: str,
    marks: frozenset[str] | None,
    own_colours: str,
    notes: Sequence[str],
) -> Made:
    """A sheet of what a sweep has found and kept.

    wants, swept: what is drawn of those that are shown where not all are, and what draws it. marks: by name,
    None for the calm ones. own_colours: what the header says of them. notes: what a person should know beside
    what is said of study and results.
    """
    study = prepared.study
    text = found.record_text(drawing.renderer)
    verdicts = found.verdicts
    taken = None if prepared.chosen is None else prepared.chosen.label
    said, flagged = answer_words(verdicts, prepared.variants, study), flags(verdicts, taken)
    cameras = found.cameras or ()
    ranked: Ranked | None = None
    shown: list[Result] | None = None
    spots = worst_spots(prepared, verdicts) if drawing.show == WORST else {}
    if drawing.is_ranked:
        ranked = rank(prepared, verdicts, drawing.layout, drawing.best)
        shown = draw_ranked(prepared, ranked, kept.results, wants, swept, spots)
    elif drawing.show == WORST:
        shown = draw_worst(prepared, spots, kept.results, wants, swept)
    setups = (
        kept.setups if shown is None else [(one.variant.label, one.setup) for one in first_results(shown)]
    )
    told = with_height(prepared)
    pictured = kept.shown if shown is None else shown
    pages = compose_pages(
        pictured,
        told,
        verdicts=flagged or None,
        record_hash=record_hash(text),
        cell_width=wants.cell_width,
        mode=drawing.mode,
        marks=marks,
        plan=plan_data(prepared.scene.nodes, setups, told, taken),
        owner_by_id=owners_by_id(prepared.scene.nodes, study),
        answer=said,
        renderer_note=DRAWN_BY.get(drawing.renderer, ""),
        grid=grid_tint(prepared.scene, pictured, wants.paired) if wants.grid else None,
        shadow=wants.shadow,
        own_colours=own_colours,
        own_ids=frozenset(k for k, node in enumerate(prepared.scene.nodes, start=1) if node.shows_own),
        mark_m=mark_m(study, prepared.scene),
        chosen=prepared.chosen,
        ranked=ranked,
        cameras=cameras,
        share=partial(shared_cells, workers=workers),
    )
    ticket = ticket_text(
        found.read_once(drawing.renderer),
        record_hash(text),
        said,
        {label: flag.words for label, flag in flagged.items()},
        cameras=camera_lines(cameras, prepared.variants, study),
        notes=kept.notes,
    )
    texts = partial(_texts, prepared, drawing, text)
    files = drawn_files(pages, ending, title_of(study), ticket, texts, workers)
    return Made(
        kept_files(files, files_of(len(pages), ending)),
        text,
        found.write_table,
        ticket,
        (
            *prepared.notes,
            *notes,
            *found.warnings,
            *not_set(study, nodes_told(prepared.scene, text)),
        ),
    )


def _texts(prepared: Prepared, drawing: Drawing, text: str, page: int) -> dict[str, str]:
    """All that a page was made from. text: its record."""
    how = asdict(drawing) | {"page": page, "scene_sha256": prepared.scene_digest}
    for name in ("materials", "layout", "best", "show"):
        if how[name] == getattr(AS_EVER, name):
            del how[name]
    if prepared.guessed:
        how["guessed"] = prepared.guessed
    return {RECORD: text, STUDY: study_text(prepared.said), DRAWING: json.dumps(how, sort_keys=True)}
