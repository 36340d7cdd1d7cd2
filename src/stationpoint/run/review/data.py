"""What a page for review says, as data: in words where there are words for it, so that it puts nothing in
other words than sheet, ticket and `judge` do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from stationpoint.readings import (
    CUE_RULES,
    FIELDS,
    Fields,
    Finding,
    Path,
    Result,
    Verdict,
    about_reading,
    bounds_of,
    brief_words,
    field_at,
    finding_words,
    unit_words,
)
from stationpoint.record import Json, flat
from stationpoint.run.prepare import Prepared
from stationpoint.sheet import Flag, cue_grades, flag_word, head_words, setting_words, title_of
from stationpoint.study import Study, study_digest


def study_data(prepared: Prepared, answer: str) -> dict[str, Json]:
    """What stands over all: title, answer, the decision and the notes that the study has already."""
    study = prepared.study
    made = study.decision
    undecided = study.model_copy(update={"decision": None, "note": ()})
    cues: list[Json] = [
        {
            "name": rule.name,
            "words": rule.words,
            "letter": rule.letter,
            "unit": rule.unit_words,
            "least": rule.least,
        }
        for rule in CUE_RULES.values()
    ]
    return {
        "title": title_of(study),
        "answer": answer,
        "study": study_digest(undecided)[:12],
        "decision": None
        if made is None
        else {"chosen": made.chosen, "by": made.by, "because": made.because, "on": made.on},
        "notes": [{"variant": note.variant, "by": note.by, "text": note.text} for note in study.note],
        "targets": {target.name: target.role for target in study.target},
        "gaps": [gap.name for gap in study.gap],
        "cues": cues,
    }


class Values(NamedTuple):
    """Readings as a table. paths: of its columns, each a reading's names, with what people call it, its
    unit, its meaning and its source. of_cells: a row for each cell, None where it does not apply."""

    paths: list[Json]
    of_cells: list[list[Json]]


def values_data(rows: Sequence[Json]) -> Values:
    """The readings of a record's rows as a table: each path once, however many rows there are."""
    known = Fields(FIELDS)
    each = [flat(row, known) for row in rows if isinstance(row, dict)]
    paths: dict[Path, None] = {}
    for values in each:
        paths |= dict.fromkeys(path for path, value in values.items() if value is not None)
    said: list[Json] = []
    for path in paths:
        field, about = field_at(path), about_reading(path)
        said.append(
            {
                "path": list(path),
                "whose": about.whose,
                "reading": about.reading,
                "unit": "share" if field is not None and field.unit == "share" else unit_words(about.unit),
                "line": "" if field is None else field.line,
                "source": "" if field is None else field.source,
            }
        )
    return Values(said, [[values.get(path) for path in paths] for values in each])


def fields_data(results: Sequence[Result], study: Study) -> list[Json]:
    """What the sweep moves, in the order of rows, columns and pages: each field with its steps in words."""
    made: list[Json] = []
    for axis in ("rows", "columns", "pages"):
        for field in getattr(study.sweep, axis):
            steps = {repr(v): v for r in results for k, v in r.variant.changes if k == field}
            words: list[Json] = [setting_words(field, value) for value in steps.values()]
            made.append({"field": field, "axis": axis, "steps": words, "name": spoken_field(field)})
    return made


def spoken_field(field: str) -> str:
    """A swept field as people say it: "focal mm" is a lens."""
    named = {
        "focal_mm": "lens, mm",
        "distance_m": "distance, m",
        "pitch_deg": "pitch, degrees down",
        "yaw_deg": "yaw, degrees left",
        "from_": "camera",
        "from": "camera",
    }
    return named.get(field) or field.removesuffix("_deg").removesuffix("_m").replace("_", " ")


def brief_data(study: Study) -> list[Json]:
    """The brief, limit by limit: in words, whether it is a must, why, and the numbers that it bounds by."""
    made: list[Json] = []
    for limit, words in zip(study.limit, brief_words(study), strict=True):
        made.append({"words": words, "must": limit.level == "must", "why": limit.why})
    return made


def cell_data(
    result: Result, study: Study, verdicts: Mapping[str, Verdict], flagged: Mapping[str, Flag]
) -> dict[str, Json]:
    """What is said of one cell: who it is, its flag, what the brief finds there, and its depth cues."""
    variant, label = result.variant, result.variant.label
    verdict, flag = verdicts.get(label), flagged.get(label)
    pairs = dict.fromkeys(path[1] for path in result.reading.values if path[0] == "cues")
    steps = dict(variant.changes)
    return {
        "id": label,
        "key": variant.key,
        "place": result.place.name,
        "page": variant.page,
        "row": variant.row,
        "column": variant.column,
        "steps": {field: _step(value) for field, value in steps.items()},
        "said": {field: setting_words(field, value) for field, value in steps.items()},
        "words": head_words(result, study),
        "flag": None
        if flag is None
        else {"kind": flag.kind, "word": flag_word(flag), "says": flag.words, "why": flag.why},
        "margin": None if verdict is None or verdict.score is None else round(verdict.score, 5),
        "brief": [] if verdict is None else _findings(verdict, result.place.name, study),
        "cues": {pair: dict(cue_grades(result, pair)) for pair in pairs},
    }


def _step(value: object) -> Json:
    """A swept value as a chart's axis takes it: a number, else its words."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    return str(value)


def _findings(verdict: Verdict, place: str, study: Study) -> list[Json]:
    """What the brief finds at a place, what fails first."""
    found = {id(one): one for one in (*verdict.musts, *verdict.told, *verdict.each) if one.place == place}
    made: list[Json] = []
    for one in sorted(found.values(), key=lambda one: one.margin):
        field = field_at(one.path)
        made.append(
            {
                "words": finding_words(one),
                "path": list(one.path),
                "limit": study.limit.index(one.limit),
                "margin": round(one.margin, 5),
                "bounds": [[bound.value, bound.words] for bound in bounds_of(one.limit, _unit(one))],
                "source": "" if field is None else field.source,
            }
        )
    return made


def _unit(found: Finding) -> str:
    field = field_at(found.path)
    return "" if field is None else field.unit
