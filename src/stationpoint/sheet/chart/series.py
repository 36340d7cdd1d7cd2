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
    brief_words,
    field_at,
    is_at,
    judge_all,
    kinds_of,
    meant,
    paths_meant,
    viewing_of,
    whose_words,
)
from stationpoint.sheet.wording import setting_words
from stationpoint.study import Limit, Study, Variant

WHOSE = "whose"
DRAWABLE = ("number", "word", "flag")  # what a reading must hold to be drawn as a line


@dataclass(frozen=True, slots=True)
class Series:
    """One line: what it is called, and a reading (None: there is none) at each setting of the field.

    parts: what tells it from the others, each with its kind ("place", WHOSE, "reading", "viewing", or a swept
    field). limits: which of the chart's limits are about it, by number. fails: whether each value fails one
    of them; empty where there are none.
    """

    label: str
    values: tuple[float | str | None, ...]
    parts: tuple[tuple[str, str], ...] = ()
    limits: tuple[int, ...] = ()
    fails: tuple[bool, ...] = ()


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart, decided: settings of the field, lines, limits, words on its axes. limits: each with whom
    it is about. brief: the same limits in words."""

    title: str
    field: str
    settings: tuple[float | str, ...]
    lines: tuple[Series, ...]
    says: str
    unit: str
    limits: tuple[tuple[Limit, str], ...]
    foot: str
    brief: tuple[str, ...] = ()


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
    results = [result for result in results if result.variant.option is None]
    field = _field(study, against)
    together = _together(study, field)
    settings = list(dict.fromkeys(_setting(result.variant, field, together) for result in results))
    paths = list(meant(reading, dict.fromkeys(path for result in results for path in result.reading.values)))
    if not paths:
        raise StudyWrong(f'--reading "{reading}" means no reading of these variants; chart another.')
    about = [
        limit
        for limit in study.limit
        if any(is_at(result, limit) for result in results) and bounded(limit, paths, study)
    ]
    words = dict(zip(study.limit, brief_words(study), strict=True))
    wrong = _failing(results, study, about)
    found: dict[Parts, dict[Any, Point]] = {}
    bound: dict[Parts, set[int]] = {}
    for result in results:
        for path in (path for path in paths if path in result.reading.values):
            line = _parts(result, path, together)
            points = found.setdefault(line, {})  # a variant's own picture comes first, and counts
            point = (
                _drawable(result.reading.values[path], path),
                any((*_case(result), path, seat) in wrong for seat in (None, *_seats(result, path))),
            )
            points.setdefault(_setting(result.variant, field, together), point)
            numbers = (k for k, one in enumerate(about) if is_at(result, one) and bounded(one, [path], study))
            bound.setdefault(line, set()).update(numbers)
    keys = list(found)
    differing = [k for k in range(len(keys[0])) if len({key[k] for key in keys}) > 1]
    lines = []
    for key, points in found.items():
        parts = tuple(key[k] for k in differing if key[k][1])
        values, fails = zip(*(points.get(setting, (None, False)) for setting in settings), strict=True)
        lines.append(
            Series(", ".join(word for _, word in parts), values, parts, tuple(sorted(bound[key])), fails)
        )
    of = about_reading(paths[0])
    says = f"{of.whose}: {of.reading}" if len(paths) == 1 and of.whose else of.reading
    return Chart(
        study.title,
        field,
        tuple(settings),
        tuple(lines),
        says,
        of.unit,
        tuple((limit, whose_words(limit, study)) for limit in about),
        foot,
        tuple(words[limit] for limit in about),
    )


Parts = tuple[tuple[str, str], ...]  # kind and words
Point = tuple[float | str | None, bool]  # a value, and whether it fails a limit


def _parts(result: Result, path: ReadingPath, together: frozenset[str]) -> Parts:
    """All that may tell a line from another: other fields of the sweep, place, whose, which, what viewing."""
    whose, reading, viewing = _named(path)
    own = {"place"} | ({"viewing"} if viewing else set())
    return (
        *(
            (name, "" if name in own else setting_words(name, value))
            for name, value in result.variant.changes
            if name not in together
        ),
        ("place", "" if "place" in together else result.place.name),
        (WHOSE, whose),
        ("reading", reading),
        ("viewing", "" if "viewing" in together else viewing),
    )


def _case(result: Result) -> tuple[str, str]:
    return result.variant.label, result.place.name


def _seats(result: Result, path: ReadingPath) -> tuple[str, ...]:
    viewing = viewing_of(path)
    return tuple(seat.name for seat in result.seats) if viewing is None else (viewing,)


def _failing(
    results: Sequence[Result], study: Study, limits: Sequence[Limit]
) -> set[tuple[str, str, ReadingPath, str | None]]:
    """What fails one of these limits: variant, place, reading and viewing (None: all), as it is judged."""
    verdicts = judge_all(results, study.model_copy(update={"limit": tuple(limits)}))
    return {
        (label, one.place, one.path, one.viewing)
        for label, verdict in verdicts.items()
        for one in (*verdict.failed, *verdict.told)
    }


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
        setting_words(name, value)
        for name, value in values.items()
        if name in together and _tells(name, values)
    ]
    return ", ".join(parts)


def _tells(name: str, values: Mapping[str, Any]) -> bool:
    """Whether a field says something under these: an oblique one only of an oblique view."""
    return not name.startswith("oblique_") or values.get("projection", "oblique") == "oblique"


def _drawable(value: Value, path: ReadingPath) -> float | str | None:
    """A value as the record has it, a flag in words."""
    if isinstance(value, bool):
        return str(value).lower()
    if value is None or isinstance(value, str):
        return value
    field = field_at(path)
    number = float(value)  # type: ignore[arg-type]
    return number if field is None else round(number, field.decimals)
