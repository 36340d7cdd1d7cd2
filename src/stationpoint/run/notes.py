"""What a record says of itself in plain sentences: what was guessed and assumed, what is odd, what is null
and why."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

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
from stationpoint.run.warnings import Warnings
from stationpoint.study import Study

SURFACES: Path = ("surfaces",)
ALWAYS = "always"  # null, whatever is measured: no word of a record's own


def notes_of(
    prepared: Prepared, results: Sequence[Result], only: Collection[str] | None = None
) -> tuple[str, ...]:
    """The notes of a record, each once: of the files, of what is assumed, of the results, of nulls."""
    notes = Notes(prepared, only)
    for result in results:
        notes.add(result)
    return notes.lines


class Notes:
    """The notes of a record whose results come one after the other, as those of Warnings do. only: as in
    Wants."""

    def __init__(self, prepared: Prepared, only: Collection[str] | None = None) -> None:
        self._prepared = prepared
        self._warnings = Warnings(prepared.scene)
        self._colours = colour_notes(prepared.study, prepared.scene, only)
        is_told = any("are null" in note for note in self._colours)
        self._told = (ALWAYS, UNCOLOURED) if is_told else (ALWAYS,)
        self._nulls: dict[str, dict[Path, None]] = {}  # reason -> what is null for it
        self._known: set[Path] = set()  # what has been null
        self._surfaces: dict[int, Result] = {}  # a result for each count of surfaces looked at

    def add(self, result: Result) -> None:
        """Take a result into account."""
        self._warnings.add(result)
        looked = result.reading.extras.get(SURFACES)
        if looked is not None:
            self._surfaces.setdefault(len(looked), result)
        for path, value in result.reading.values.items():
            if value is not None or path in self._known:
                continue
            self._known.add(path)
            field = _field_of_null(path, result)
            if field is not None and field.null and not field.null.startswith(self._told):
                self._nulls.setdefault(field.null, {})[field.path] = None

    @property
    def warnings(self) -> tuple[str, ...]:
        """What a person should know of the results."""
        return self._warnings.lines

    @property
    def lines(self) -> tuple[str, ...]:
        """All notes."""
        lines = [
            *self._prepared.guessed,
            *self._prepared.notes,
            *_assumed(self._prepared, list(self._surfaces.values())),
            *self.warnings,
            *self._colours,
            *_null_lines(self._nulls),
        ]
        return tuple(dict.fromkeys(lines))


def _assumed(prepared: Prepared, results: Sequence[Result]) -> Iterator[str]:
    """What the study leaves open, and what stands in for it."""
    from stationpoint.sheet import aids_words  # late, as below: said once all is drawn

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
    from stationpoint.sheet import surfaces_words

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


def _null_lines(why: Mapping[str, Collection[Path]]) -> Iterator[str]:
    """A sentence for each reason why readings are null in some row, with these readings."""
    for reason, paths in why.items():
        names = [f"`{'.'.join(path)}`" for path in paths]
        yield f"{listed(names)} {'are' if len(names) > 1 else 'is'} null in some rows: {reason}."


def _field_of_null(path: Path, result: Result) -> Field | None:
    """The field of a null reading, which may be null for every viewing at once."""
    return field_at(path) or next(
        (found for seat in result.seats if (found := field_at((*path, seat.name)))), None
    )
