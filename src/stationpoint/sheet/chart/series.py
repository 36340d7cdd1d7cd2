"""A reading against a swept field: which line has which value where, and which limits are about it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import listed, nearest
from stationpoint.readings import Path as ReadingPath
from stationpoint.readings import (
    Result,
    Value,
    about_reading,
    bounded,
    field_at,
    is_at,
    kinds_of,
    meant,
    paths_meant,
    viewing_of,
    whose_words,
)
from stationpoint.sheet.wording import value_words
from stationpoint.study import Limit, Study, Variant

DRAWABLE = ("number", "word", "flag")  # what a reading must hold to be drawn as a line
MOST_LINES = 12


@dataclass(frozen=True, slots=True)
class Series:
    """One line: what it is called, and a reading (None: there is none) at each setting of the field."""

    label: str
    values: tuple[float | str | None, ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart, decided: settings of the field, lines, limits, words on its axes. limits: each with whom
    it is about."""

    title: str
    field: str
    settings: tuple[float | str, ...]
    lines: tuple[Series, ...]
    says: str
    unit: str
    limits: tuple[tuple[Limit, str], ...]
    foot: str


def check_chart(study: Study, reading: str, against: str | None) -> frozenset[str]:
    """What a chart of a reading needs measured: names of families of readings.

    StudyWrong, before anything is measured, where there is no such chart.
    """
    _field(study, against)
    paths = paths_meant(f'--reading "{reading}"', reading, study)
    for path in paths:
        field = field_at(path)
        if field is not None and field.holds not in DRAWABLE:
            raise StudyWrong(f"{'.'.join(path)} is no single number or word; chart another reading.")
    return kinds_of(paths)


def chart_of(results: Sequence[Result], study: Study, reading: str, against: str | None, foot: str) -> Chart:
    """The chart of a reading (a pattern) against a swept field.

    against: the field; None takes the columns' first, else the rows', else the pages'. StudyWrong
    where nothing is swept, or the field is not swept.
    """
    field = _field(study, against)
    together = _together(study, field)
    settings = list(dict.fromkeys(_setting(result.variant, field, together) for result in results))
    found: dict[tuple[str, ...], dict[Any, float | str | None]] = {}
    paths = list(meant(reading, dict.fromkeys(path for result in results for path in result.reading.values)))
    if not paths:
        raise StudyWrong(f'--reading "{reading}" means no reading of these variants; chart another.')
    for result in results:
        for path in paths:
            if path in result.reading.values:
                line = (*_others(result.variant, together), result.place.name, *_named(path))
                points = found.setdefault(line, {})  # a variant's own picture comes first, and counts
                points.setdefault(
                    _setting(result.variant, field, together), _drawable(result.reading.values[path])
                )
    if len(found) > MOST_LINES:
        raise StudyWrong(
            f'The reading "{reading}" gives {len(found)} lines, at most {MOST_LINES} can be told apart; '
            "name one target or gap, or one --place."
        )
    keys = list(found)
    differing = [k for k in range(len(keys[0])) if len({key[k] for key in keys}) > 1]
    lines = tuple(
        Series(
            ", ".join(part for part in (key[k] for k in differing) if part),
            tuple(found[key].get(setting) for setting in settings),
        )
        for key in keys
    )
    about = about_reading(paths[0])
    limits = [
        (limit, whose_words(limit, study))
        for limit in study.limit
        if any(is_at(result, limit) for result in results) and bounded(limit, paths, study)
    ]
    return Chart(
        study.title or "A study without a title",
        field,
        tuple(settings),
        lines,
        f"{about.whose}: {about.reading}" if len(paths) == 1 and about.whose else about.reading,
        about.unit,
        tuple(limits),
        foot,
    )


def _named(path: ReadingPath) -> tuple[str, str, str]:
    """What tells the line of a reading from the others': whose it is, which, for which viewing."""
    about, viewing = about_reading(path), viewing_of(path)
    return about.whose, about.reading, "" if viewing in (None, about.whose) else viewing


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


def _setting(variant: Variant, field: str, together: frozenset[str]) -> Any:
    """The setting that a variant stands at: its value, or all values in words where fields move together."""
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


def _drawable(value: Value) -> float | str | None:
    if isinstance(value, bool):
        return str(value).lower()
    return value if value is None or isinstance(value, str) else float(value)  # type: ignore[arg-type]
