"""What a record says of itself in plain sentences: what was guessed and assumed, what is odd, what is null
and why."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from stationpoint.base.words import listed, plain
from stationpoint.readings import (
    ASSUMED,
    UNCOLOURED,
    UNTOLD_REACH_M,
    Field,
    Path,
    Result,
    field_at,
    has_reach,
)
from stationpoint.run.prepare import Prepared
from stationpoint.run.setup_notes import colour_notes
from stationpoint.run.warnings import warnings_of
from stationpoint.sheet import aids_words, surfaces_words
from stationpoint.study import Study

ALWAYS = "always"  # null, whatever is measured: no word of a record's own


def notes_of(
    prepared: Prepared, results: Sequence[Result], only: Collection[str] | None = None
) -> tuple[str, ...]:
    """The notes of a record, each once: of the files, of what is assumed, of the results, of nulls."""
    colours = colour_notes(prepared.study, prepared.scene, only)
    told = (ALWAYS, UNCOLOURED) if any("are null" in note for note in colours) else (ALWAYS,)
    lines = [
        *prepared.guessed,
        *prepared.notes,
        *_assumed(prepared, results),
        *warnings_of(results, prepared.scene),
        *colours,
        *_nulls(results, told),
    ]
    return tuple(dict.fromkeys(lines))


def _assumed(prepared: Prepared, results: Sequence[Result]) -> Iterator[str]:
    """What the study leaves open, and what stands in for it."""
    study = prepared.study
    if not study.viewing:
        desk = study.viewings[0]
        yield (
            f"The study names no viewing: {desk.name} viewing is assumed, {plain(desk.diagonal_in, 1)} in, "
            f"{desk.pixels[0]} x {desk.pixels[1]}, at {plain(desk.eye_distance_m, 2)} m."
        )
    if study.subject is None:
        yield "The study has no subject: the camera looks at the scene's middle on its floor."
    if not study.limit:
        yield "The study has no brief, so nothing is judged."
    elif ASSUMED in study.limit:
        yield (
            f"No limit is about the subject: a must is assumed, {ASSUMED.reading} at least "
            f"{plain(ASSUMED.min or 0.0, 2)}."
        )
    if not study.aids:
        yield f"The game is taken to ship {aids_words(study.model_copy(update={'show_aids': 'shipped'}))}."
    if study.rig:
        yield "Rigs are kept as written: nothing moves here, each camera is at rest as [camera] says."
    yield from _contacts(study, prepared, results)


def _contacts(study: Study, prepared: Prepared, results: Sequence[Result]) -> Iterator[str]:
    """Between what false contacts were looked for, and by which reach."""
    looked = surfaces_words(results)
    if not looked:
        return
    yield f"False contacts: {looked}."
    meshes = [node for node in prepared.scene.nodes if node.kind == "mesh"]
    if meshes and not any(node.walkable for node in meshes):
        yield (
            "No mesh says what of it is walkable: of meshes, only what the study names and stands on counts "
            "as a floor."
        )
    if not any(has_reach(gap) for gap in study.gap):
        yield f"No gap has a reach: false contacts are looked for within {plain(UNTOLD_REACH_M, 1)} m."


def _nulls(results: Sequence[Result], told: tuple[str, ...]) -> Iterator[str]:
    """A sentence for each reason why readings are null in some row, with these readings. told: starts of
    reasons that need no sentence."""
    why: dict[str, dict[Path, None]] = {}
    for result in results:
        for path, value in result.reading.values.items():
            field = _field_of_null(path, result) if value is None else None
            if field is not None and field.null and not field.null.startswith(told):
                why.setdefault(field.null, {})[field.path] = None
    for reason, paths in why.items():
        names = [f"`{'.'.join(path)}`" for path in paths]
        yield f"{listed(names)} {'are' if len(names) > 1 else 'is'} null in some rows: {reason}."


def _field_of_null(path: Path, result: Result) -> Field | None:
    """The field of a null reading, which may be null for every viewing at once."""
    return field_at(path) or next(
        (found for seat in result.seats if (found := field_at((*path, seat.name)))), None
    )
