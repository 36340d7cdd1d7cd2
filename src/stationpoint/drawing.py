"""From a study to finished pages: PNG bytes that carry their record and study, and what goes beside."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np

from stationpoint.brief import answer, flags
from stationpoint.errors import StudyWrong
from stationpoint.ink.paint_png import paint
from stationpoint.judge import judge_all
from stationpoint.look import CELL_WIDTH_PX
from stationpoint.measure import FIELDS
from stationpoint.measure.types import Take
from stationpoint.output.csv import csv_text
from stationpoint.output.png import png_bytes
from stationpoint.output.record import Record, record_hash, record_text
from stationpoint.output.ticket import ticket_text
from stationpoint.run import Prepared, Wants, prepare, recorded, sweep, takes_count
from stationpoint.sheet.compose import compose, first_takes
from stationpoint.sheet.marks import known_marks
from stationpoint.sheet.modes import needs
from stationpoint.sheet.plan import plan_data
from stationpoint.sheet.scale import cell_width_for
from stationpoint.sheet.who import who_is_who
from stationpoint.study.models import Study
from stationpoint.study.text import study_text
from stationpoint.words import listed, nearest

RECORD, STUDY, DRAWING = "stationpoint record", "stationpoint study", "stationpoint drawing"
MOST_SIDE_PX = 65000
NARROW_CELL_PX = 420
Progress = Callable[[int], AbstractContextManager[Callable[[], None]]]


@dataclass(frozen=True, slots=True)
class Drawing:
    """How a study is drawn: all that a sheet depends on besides study and scene.

    cell_width: px, None for the width that suits the sweep. marks: names, None for the calm ones.
    variants: labels of a close-up, none for the whole sweep. renderer: "gl" or "rays".
    """

    cell_width: int | None = None
    mode: str = "marks"
    marks: tuple[str, ...] | None = None
    variants: tuple[str, ...] = ()
    grid: bool = True
    renderer: str = "gl"

    @classmethod
    def from_json(cls, said: dict[str, object]) -> Drawing:
        """The drawing that `asdict` and JSON wrote; StudyWrong where it is none."""
        try:
            made = cls(**said)  # type: ignore[arg-type]
        except TypeError as error:
            raise StudyWrong("the sheet does not say how it was drawn; draw it from its study.") from error
        marks = None if made.marks is None else tuple(made.marks)
        return replace(made, marks=marks, variants=tuple(made.variants))


@dataclass(frozen=True, slots=True)
class Made:
    """Finished pages (PNG bytes), and the texts that go beside them."""

    pages: tuple[bytes, ...]
    record_text: str
    csv_text: str
    ticket_text: str
    notes: tuple[str, ...]
    scene_digest: str


def drawn_sheet(
    study: Study,
    folder: Path,
    drawing: Drawing,
    *,
    workers: int = 1,
    note: str = "",
    progress: Progress = lambda count: nullcontext(lambda: None),
) -> Made:
    """A study's sheet. folder: what its paths are relative to. note: said on the sheet where another
    renderer than the best drew."""
    marks = _marks(drawing.marks)
    prepared = _close_up(prepare(study, folder), drawing.variants)
    width = drawing.cell_width or _cell_width(prepared, bool(drawing.variants))
    ids, depth = needs(drawing.mode)
    wants = Wants(cell_width=width, ids=ids, depth=depth, grid=drawing.grid)
    with progress(takes_count(prepared)) as done:
        takes = sweep(prepared, wants, drawing.renderer, workers, done)
    whole = recorded(prepared, takes, drawing.renderer)
    text = record_text(whole)
    verdicts = judge_all(takes, study)
    said = answer(verdicts)
    setups = [(take.variant.label, take.setup) for take in first_takes(takes)]
    sheets = compose(
        takes,
        study,
        verdicts=flags(verdicts, FIELDS) or None,
        record_hash=record_hash(text),
        cell_width=width,
        mode=drawing.mode,
        marks=marks,
        plan=plan_data(prepared.scene.nodes, setups, study),
        who=who_is_who(prepared.scene.nodes, study),
        answer=said,
        renderer_note=note,
    )
    for sheet in sheets:
        if max(sheet.size_px) > MOST_SIDE_PX:
            raise StudyWrong(
                f"The sheet would be {sheet.size_px[0]} x {sheet.size_px[1]} px; "
                f"sweep over pages, or draw it with a smaller --cell-width."
            )
    pages = []
    for number, sheet in enumerate(sheets):
        how = asdict(drawing) | {"page": number, "scene_sha256": prepared.scene_digest}
        carried = {RECORD: text, STUDY: study_text(study), DRAWING: json.dumps(how, sort_keys=True)}
        pages.append(png_bytes(np.asarray(paint(sheet)), carried))
    return Made(
        tuple(pages),
        text,
        csv_text(whole, FIELDS),
        ticket_text(whole, said),
        _notes(prepared, takes, whole),
        prepared.scene_digest,
    )


def _marks(names: tuple[str, ...] | None) -> frozenset[str] | None:
    if names is None:
        return None
    known = known_marks()
    for name in names:
        if name not in known:
            close = nearest(name, known)
            meant = f'did you mean "{close}"?' if close else f"there are {listed(known)}."
            raise StudyWrong(f'--marks: there is no mark "{name}"; {meant}')
    return frozenset(names)


def _close_up(prepared: Prepared, labels: tuple[str, ...]) -> Prepared:
    """The study with only these variants, all where none is named."""
    if not labels:
        return prepared
    known = {variant.label: variant for variant in prepared.variants}
    known |= {variant.key: variant for variant in prepared.variants}
    for label in labels:
        if label not in known:
            last = prepared.variants[-1].label
            raise StudyWrong(f'--variant: there is no variant "{label}"; the sweep has A1 to {last}.')
    kept = tuple(known[label] for label in dict.fromkeys(labels))
    return replace(prepared, variants=kept)


def _cell_width(prepared: Prepared, close_up: bool) -> int:
    """The width that suits the sweep: wide for one or two, narrower where there are many columns."""
    by_page: dict[int, int] = {}
    for variant in prepared.variants:
        by_page[variant.page] = by_page.get(variant.page, 0) + 1
    columns = 1 + max(variant.column for variant in prepared.variants)
    if close_up or max(by_page.values()) <= 2:
        return cell_width_for(max(by_page.values()))
    return CELL_WIDTH_PX if columns <= 6 else NARROW_CELL_PX


def _notes(prepared: Prepared, takes: list[Take], whole: Record) -> tuple[str, ...]:
    """Warnings, each once: of the scene, of the set-ups."""
    notes = [*prepared.notes, *(note for take in takes for note in take.setup.notes)]
    return tuple(dict.fromkeys(notes))
