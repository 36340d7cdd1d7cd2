"""A reading against a swept field: which line has which value where, and which limits are about it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from stationpoint.brief import spoken
from stationpoint.errors import StudyWrong
from stationpoint.judge import matching_limits, path_matches
from stationpoint.measure import FIELDS, GROUPS, KINDS
from stationpoint.measure.types import Path as ReadingPath
from stationpoint.measure.types import Take
from stationpoint.output.record import Fields
from stationpoint.sheet.wording import value_words
from stationpoint.study.models import Limit, Study
from stationpoint.study.sweep import Variant
from stationpoint.words import listed, nearest

MOST_LINES = 12


@dataclass(frozen=True, slots=True)
class Series:
    """One line: what it is called, and a reading (None: there is none) at each step of the field."""

    label: str
    values: tuple[float | str | None, ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart, decided: steps of the field, lines, limits, words on its axes."""

    title: str
    field: str
    steps: tuple[float | str, ...]
    lines: tuple[Series, ...]
    says: str
    unit: str
    limits: tuple[Limit, ...]
    foot: str


def chart_of(takes: Sequence[Take], study: Study, reading: str, against: str | None, foot: str) -> Chart:
    """The chart of a reading (a path, "*" for any name) against a swept field.

    against: the field; None takes the columns' first, else the rows', else the pages'. StudyWrong
    where nothing is swept, the field is not swept, or no reading has such a path.
    """
    field = _field(study, against)
    together = _together(study, field)
    steps = list(dict.fromkeys(_step(take.variant, field, together) for take in takes))
    found: dict[tuple[str, ...], dict[Any, float | str | None]] = {}
    paths: dict[ReadingPath, None] = {}
    for take in takes:
        for path, value in take.reading.values.items():
            if path_matches(path, reading):
                paths[path] = None
                line = (*_others(take.variant, together), take.place.name, ".".join(path))
                found.setdefault(line, {})[_step(take.variant, field, together)] = _drawable(value, path)
    if not found:
        raise StudyWrong(_no_reading(reading, takes))
    if len(found) > MOST_LINES:
        raise StudyWrong(
            f'The reading "{reading}" gives {len(found)} lines, at most {MOST_LINES} can be told apart; '
            "name one target or gap, or one --place."
        )
    keys = list(found)
    told = [k for k in range(len(keys[0])) if len({key[k] for key in keys}) > 1]
    lines = tuple(
        Series(_line_name([key[k] for k in told], paths), tuple(found[key].get(step) for step in steps))
        for key in keys
    )
    first = next(iter(paths))
    known = Fields(FIELDS).at(first)
    return Chart(
        study.title or "A study without a title",
        field,
        tuple(steps),
        lines,
        _said(reading, first, len(paths)),
        known.unit if known is not None else "",
        tuple(matching_limits(study.limit, paths)),
        foot,
    )


def kinds_of(reading: str) -> frozenset[str]:
    """Names of the families that may hold a reading; StudyWrong where its group is not known.

    A reading that needs no picture is so measured without one.
    """
    parts = reading.split(".")
    groups = [group for group in GROUPS if path_matches((group,), parts[0])]
    if not groups:
        close = nearest(parts[0], GROUPS)
        meant = f'did you mean "{close}"?' if close else f"there are {listed(GROUPS)}."
        raise StudyWrong(f'--reading: no group of readings is called "{parts[0]}"; {meant}')
    within = [kind for kind in KINDS if any(field.path[0] in groups for field in kind.fields)]
    exact = [
        kind
        for kind in within
        if any(set(field.path) & {*parts[1:]} for field in kind.fields if field.path[0] in groups)
    ]
    return frozenset(kind.name for kind in exact or within)


def _field(study: Study, against: str | None) -> str:
    swept: list[str] = [name for axis in ("columns", "rows", "pages") for name in getattr(study.sweep, axis)]
    if not swept:
        raise StudyWrong("The study sweeps nothing, so there is nothing to chart against; add --columns.")
    if against is None:
        return swept[0]
    if against not in swept:
        close = nearest(against, swept)
        meant = f"did you mean {close}?" if close else f"it sweeps {listed(swept)}."
        raise StudyWrong(f"--against: the study does not sweep {against}; {meant}")
    return against


def _together(study: Study, field: str) -> frozenset[str]:
    """The fields that move with this one, itself included."""
    axes = (getattr(study.sweep, axis) for axis in ("rows", "columns", "pages"))
    return frozenset(next(axis for axis in axes if field in axis))


def _step(variant: Variant, field: str, together: frozenset[str]) -> Any:
    """The step that a variant stands at: its value, or all values in words where fields move together."""
    if len(together) == 1:
        return dict(variant.changes)[field]
    values = dict(variant.changes)
    parts = [
        value_words(name, value)
        for name, value in values.items()
        if name in together and _tells(name, values)
    ]
    return ", ".join(parts)


def _tells(name: str, values: Mapping[str, Any]) -> bool:
    """Whether a field says something under these: an oblique one only of an oblique view."""
    return not name.startswith("oblique_") or values.get("projection", "oblique") == "oblique"


def _others(variant: Variant, together: frozenset[str]) -> tuple[str, ...]:
    return tuple(value_words(name, value) for name, value in variant.changes if name not in together)


def _drawable(value: object, path: ReadingPath) -> float | str | None:
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (int, float)):
        return float(value)
    raise StudyWrong(f"{'.'.join(path)} is no single number or word; chart another reading.")


def _no_reading(reading: str, takes: Sequence[Take]) -> str:
    known = list(dict.fromkeys(".".join(path) for take in takes for path in take.reading.values))
    if not known:  # only readings of the kind that is asked for were taken
        return f'--reading: the study has nothing that "{reading}" could be a reading of.'
    close = nearest(reading, known)
    meant = f'did you mean "{close}"?' if close else f"there are such as {listed(known[:4])}."
    return f'--reading: no reading is called "{reading}"; {meant}'


def _line_name(parts: Sequence[str], paths: Iterable[ReadingPath]) -> str:
    names = {".".join(path): path[1] if len(path) > 2 else path[-1] for path in paths}
    return ", ".join(names.get(part, part) for part in parts if part)


def _said(reading: str, first: ReadingPath, count: int) -> str:
    name = f"{first[1]}: " if len(first) > 2 and count == 1 else ""
    end = first[-1] if len(first) < 4 else f"{first[2]} ({first[3]})"
    return name + spoken(end)
