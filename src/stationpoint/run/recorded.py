"""What a record of a run says besides its results: the verdicts, the decision, what the study notes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from stationpoint import __version__
from stationpoint.readings import (
    FIELDS,
    Result,
    Verdict,
    asked,
    bounded_paths,
    judge_all,
    judge_cameras,
)
from stationpoint.record import Record, make_record
from stationpoint.run.notes import notes_of
from stationpoint.run.prepare import Prepared
from stationpoint.study import note_on


def verdicts_on(
    prepared: Prepared, results: Sequence[Result], only: frozenset[str] | None = None
) -> dict[str, Verdict]:
    """Variant label -> verdict; none where there is no brief, or not all that it bounds was measured.

    only: as in Wants.
    """
    paths = [] if only is None else bounded_paths(prepared.study)
    is_whole = only is None or all(map(asked(only), paths))
    return judge_all(results, prepared.study) if is_whole else {}


def record_of(
    prepared: Prepared, results: Sequence[Result], renderer: str | None, only: frozenset[str] | None = None
) -> Record:
    """The record of a run. renderer: None where nothing had to be drawn. only: as in Wants."""
    verdicts = verdicts_on(prepared, results, only)
    return make_record(
        results,
        **record_facts(prepared),
        renderer=renderer,
        verdicts=verdicts,
        notes=notes_of(prepared, results, only),
        cameras=judge_cameras(results, prepared.study, verdicts),
        remarks=_remarks(prepared),
    )


def record_facts(prepared: Prepared) -> dict[str, Any]:
    """What a record says whatever was measured, as `make_record` takes it."""
    return {
        "title": prepared.study.title,
        "study_sha256": prepared.study_digest,
        "version": __version__,
        "fields": FIELDS,
        "fonts": [font.said for font in prepared.fonts],
        "decision": _decision(prepared),
        "rigs": [rig.written() for rig in prepared.study.rig],
    }


def _decision(prepared: Prepared) -> dict[str, str | None] | None:
    """The study's decision for the record, with the label of the variant that it is for."""
    made = prepared.study.decision
    if made is None:
        return None
    label = prepared.chosen.label if prepared.chosen is not None else None
    signed = {"by": made.by or None, "because": made.because or None, "on": made.on or None}
    return {"chosen": made.chosen, "variant": label, **signed}


def _remarks(prepared: Prepared) -> dict[str, str]:
    """Variant label -> what the study notes of it."""
    said = {variant.label: note_on(prepared.study, variant) for variant in prepared.variants}
    return {label: words for label, words in said.items() if words}
