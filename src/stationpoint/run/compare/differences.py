"""What differs between two records: readings beyond their tolerance, verdicts, what is gone and what is new.

Variants are matched by their key, rows by key, place and picture. Nothing here measures or draws.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import NamedTuple, cast

from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import nearest
from stationpoint.readings import FIELDS, SHARE, Field, Fields, Path, field_at, meant
from stationpoint.record import Json, Record, flat

COMPARED = ("subject.seen", "targets.*.seen", "gaps.*.verdict", "gaps.*.landing_seen")
GROUPS_COMPARED = frozenset(path.partition(".")[0] for path in COMPARED)
SHARE_TOLERANCE = 0.01  # of a share, absolute: common practice
SIZE_TOLERANCE = 0.01  # of a size, relative: common practice
STEPS = 1.5  # of the last decimal of a record, which is rounding
FUZZ = 1e-9  # so that 0.92 and 0.91 are one hundredth apart, and no more
FRACTIONS = ("_xy", "_y")  # ends of names: fractions of the picture's sides
HOLDS: Path = ("verdict", "holds")
TURN_DEG = 360.0
Settings = Mapping[str, Json]
Spot = tuple[str, str, str]  # key, place, picture


class Scope(NamedTuple):
    """What is compared. patterns: of readings. paths: further ones, as joined by dots. everything: all
    readings, these first. verdicts: whether each variant holds."""

    patterns: tuple[str, ...] = COMPARED
    paths: frozenset[str] = frozenset()
    everything: bool = False
    verdicts: bool = True


class Tolerance(NamedTuple):
    """How far readings of a pattern may move: of a share as such, of any other number as a share of it."""

    pattern: str
    amount: float


class Variant(NamedTuple):
    """A variant as a record has it: its label, its key and its solved settings."""

    label: str
    key: str
    settings: Settings


class Hidden(NamedTuple):
    """What hides most of a thing, and how much of it."""

    name: str
    share: float


@dataclass(frozen=True, slots=True)
class Change:
    """One value that is another now. place, picture: None of a verdict. after: None too where the reading is
    gone. hidden_by: of what is seen less of, the largest share now. off: it is off the picture now.
    failed: of a verdict, the readings by which it fails now, with their places."""

    variant: Variant
    place: str | None
    picture: str | None
    path: Path
    before: Json
    after: Json
    hidden_by: Hidden | None = None
    off: bool = False
    failed: tuple[tuple[Path, str], ...] = ()


class Whole(NamedTuple):
    """A variant that only one of the two has; with a place, one at which only one of the two has it."""

    variant: Variant
    place: str | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs, verdicts first, then what the scope names, then the rest, in the order of the records.

    variants: all of both, as they are now. apart: groups of readings that only one of the two has, so that
    they are not compared. manifold: keys and places that have several pictures.
    """

    changed: tuple[Change, ...]
    gone: tuple[Whole, ...]
    new: tuple[Whole, ...]
    variants: tuple[Variant, ...]
    apart: tuple[str, ...] = ()
    manifold: frozenset[tuple[str, str]] = frozenset()

    @property
    def is_changed(self) -> bool:
        """Whether anything is another, or gone; what is new is no change."""
        return bool(self.changed or self.gone)


class _Side(NamedTuple):
    """A record by key and spot. holds: of each key, the verdict as the record has it."""

    variants: dict[str, Variant]
    rows: dict[Spot, dict[Path, Json]]
    holds: dict[str, Mapping[str, Json]]


def compare_records(
    before: Record,
    after: Record,
    scope: Scope = Scope(),  # noqa: B008 - a value, frozen
    tolerances: Sequence[Tolerance] = (),
    names: tuple[str, str] = ("the first", "the second"),
) -> Comparison:
    """What changed from one record to another.

    names: what complaints call the two. StudyWrong where they have no variant, or nothing else, in common.
    """
    old, new = _side(before, names[0]), _side(after, names[1])
    if not old.variants.keys() & new.variants.keys():
        raise StudyWrong(
            f"{names[0]} and {names[1]} have no variant in common, so there is nothing to compare; "
            "name two records of one study."
        )
    every = dict.fromkeys(path for side in (old, new) for row in side.rows.values() for path in row)
    named = _wanted(scope, every)
    wanted = frozenset(every) if scope.everything else named
    allowed = _allowed(tolerances, every)
    groups = [{path[0] for row in side.rows.values() for path in row} for side in (old, new)]
    asked = {path[0] for path in wanted}
    apart = sorted(asked & (groups[0] ^ groups[1]))
    changed, compared = list[Change](), 0
    for spot, row in old.rows.items():
        if spot not in new.rows:
            continue
        now, variant = new.rows[spot], new.variants[spot[0]]
        for path in _paths(row, now, wanted - {one for one in wanted if one[0] in apart}):
            one, other = _value(row, path), _value(now, path)
            compared += 1
            if differs(one, other, field_at(path), allowed.get(path)):
                hidden, off = _hiding(one, other, path, now)
                changed.append(Change(variant, spot[1], spot[2], path, one, other, hidden, off))
    verdicts = list(_verdicts(old, new)) if scope.verdicts else []
    compared += len(verdicts)
    changed.sort(key=lambda change: change.path not in named)
    changed = [*(change for change in verdicts if change is not None), *changed]
    if not compared:
        raise StudyWrong(
            f"{names[0]} and {names[1]} have nothing in common of what is compared; "
            "name readings that both have with --reading, or take --all."
        )
    places: dict[tuple[str, str], set[str]] = {}
    for key, place, picture in (*old.rows, *new.rows):
        places.setdefault((key, place), set()).add(picture)
    return Comparison(
        tuple(changed),
        tuple(_lacking(old, new)),
        tuple(_lacking(new, old)),
        tuple((new.variants | {k: v for k, v in old.variants.items() if k not in new.variants}).values()),
        tuple(apart),
        frozenset(spot for spot, pictures in places.items() if len(pictures) > 1),
    )


def differs(before: Json, after: Json, field: Field | None, tolerance: float | None = None) -> bool:
    """Whether a value is another beyond its tolerance: words, flags and counts exactly."""
    if isinstance(before, list) and isinstance(after, list):
        pairs = zip(before, after, strict=False)
        return len(before) != len(after) or any(differs(a, b, field, tolerance) for a, b in pairs)
    if isinstance(before, dict) and isinstance(after, dict):
        parts = {part.path[-1]: part for part in field.parts} if field is not None else {}
        missing = 0.0 if field is not None and field.holds == "shares by node" else None
        return any(
            differs(before.get(name, missing), after.get(name, missing), parts.get(name, field), tolerance)
            for name in before.keys() | after.keys()
        )
    if _is_number(before) and _is_number(after):
        one, other = float(cast(float, before)), float(cast(float, after))
        return _apart(one, other, field) > _room(one, other, field, tolerance) + FUZZ
    return type(before) is not type(after) or before != after


def _is_number(value: Json) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _apart(one: float, other: float, field: Field | None) -> float:
    if field is not None and field.unit == "deg":  # -179 and 181 are one direction
        return abs((one - other + TURN_DEG / 2) % TURN_DEG - TURN_DEG / 2)
    return abs(one - other)


def _room(one: float, other: float, field: Field | None, tolerance: float | None) -> float:
    """How far two numbers may be apart."""
    if field is not None and (field.unit == SHARE or field.path[-1].endswith(FRACTIONS)):
        return SHARE_TOLERANCE if tolerance is None else tolerance
    rounding = STEPS * 10.0**-field.decimals if field is not None and field.decimals else 0.0
    share = SIZE_TOLERANCE if tolerance is None else tolerance
    return max(share * max(abs(one), abs(other)), rounding)


def read_tolerances(given: Iterable[str]) -> tuple[Tolerance, ...]:
    """Tolerances from words such as "targets.*.seen=0.02"; StudyWrong where they say none."""
    found = []
    for words in given:
        pattern, _, amount = words.rpartition("=")
        try:
            number = float(amount)
        except ValueError:
            number = -1.0
        if not pattern.strip() or not isfinite(number) or number < 0.0:
            raise StudyWrong(
                f'--tolerance "{words}" is not understood; write a reading and how far it may move, '
                "as in targets.*.seen=0.02."
            )
        found.append(Tolerance(pattern.strip(), number))
    return tuple(found)


def bounded_names(record: Record) -> frozenset[str]:
    """The readings that a record's verdicts name, which the brief bounds, as joined by dots."""
    return frozenset(
        str(found.get("reading"))
        for verdict in _dicts(record.get("verdicts"))
        for found in (*_dicts([verdict.get("binds")]), *_listed(verdict, "failed"), *_listed(verdict, "told"))
    )


def _listed(verdict: Mapping[str, Json], name: str) -> list[Mapping[str, Json]]:
    return _dicts(verdict.get(name))


def _dicts(value: Json) -> list[Mapping[str, Json]]:
    return [one for one in value if isinstance(one, dict)] if isinstance(value, list) else []


def _side(record: Record, name: str) -> _Side:
    """A record by key and spot; StudyWrong where it is damaged."""
    known = Fields(FIELDS)
    try:
        by_label: dict[str, Variant] = {}
        for one in _dicts(record["variants"]):
            settings = one["settings"]
            if not (
                isinstance(one["id"], str) and isinstance(one["key"], str) and isinstance(settings, dict)
            ):
                raise TypeError
            by_label[one["id"]] = Variant(one["id"], one["key"], settings)
        rows: dict[Spot, dict[Path, Json]] = {}
        for row in _dicts(record["rows"]):
            place, picture = row["place"], row["picture"]
            if not (isinstance(place, str) and isinstance(picture, str)):
                raise TypeError
            key = by_label[str(row["variant"])].key
            rows.setdefault((key, _where(row), picture), flat(row, known))
        verdicts = _dicts(record.get("verdicts"))
        holds = {by_label[str(one["variant"])].key: one for one in verdicts}
    except (KeyError, TypeError, RecursionError):
        raise StudyWrong(f"{name} holds a damaged record; write it anew with stationpoint.") from None
    variants: dict[str, Variant] = {}
    for variant in by_label.values():
        variants.setdefault(variant.key, variant)
    return _Side(variants, rows, holds)


def _wanted(scope: Scope, every: Iterable[Path]) -> frozenset[Path]:
    """The readings that a scope names."""
    paths = tuple(every)
    found = {path for path in paths if ".".join(path) in scope.paths}
    for pattern in scope.patterns:
        hits = meant(pattern, paths)
        if not hits and pattern not in COMPARED:
            raise StudyWrong(f"--reading {pattern}: {_no_reading(pattern, paths)}")
        found |= hits.keys()
    return frozenset(found)


def _allowed(tolerances: Sequence[Tolerance], every: Iterable[Path]) -> dict[Path, float]:
    """The tolerance of each reading that one is given for; the last one given counts."""
    paths = tuple(every)
    found: dict[Path, float] = {}
    for pattern, amount in tolerances:
        hits = meant(pattern, paths)
        if not hits:
            raise StudyWrong(f"--tolerance {pattern}: {_no_reading(pattern, paths)}")
        found |= dict.fromkeys(hits, amount)
    return found


def _no_reading(pattern: str, paths: Iterable[Path]) -> str:
    close = nearest(pattern, [".".join(path) for path in paths])
    return f"neither side has such a reading{f'; did you mean {close}?' if close else '.'}"


def _paths(row: Mapping[Path, Json], now: Mapping[Path, Json], wanted: frozenset[Path]) -> Iterator[Path]:
    """The wanted readings of a row before, then those that are null as a whole there and in parts now."""
    for path in row:
        if path in wanted and not _parted(path, now):
            yield path
    for path in now:
        if path in wanted and path not in row and _has(row, path):
            yield path


def _parted(path: Path, now: Mapping[Path, Json]) -> bool:
    return path not in now and any(other[: len(path)] == path for other in now)


def _has(row: Mapping[Path, Json], path: Path) -> bool:
    """Whether a row has a reading, be it null with all its group."""
    return path in row or any(path[:k] in row and row[path[:k]] is None for k in range(1, len(path)))


def _value(row: Mapping[Path, Json], path: Path) -> Json:
    return row.get(path)


def _hiding(before: Json, after: Json, path: Path, row: Mapping[Path, Json]) -> tuple[Hidden | None, bool]:
    """What hides most of a thing that is seen less of, and whether it is off the picture."""
    if path[-1] != "seen" or not _is_number(after):
        return None, False
    if _is_number(before) and cast(float, before) <= cast(float, after):
        return None, False
    shares = row.get((*path[:-1], "hidden_by"))
    each = shares.items() if isinstance(shares, dict) else ()
    found = [Hidden(name, float(cast(float, share))) for name, share in each if _is_number(share)]
    largest = max((one for one in found if one.share > 0.0), key=lambda one: one.share, default=None)
    return largest, row.get((*path[:-1], "in_frame")) == 0


def _verdicts(old: _Side, new: _Side) -> Iterator[Change | None]:
    """Of each variant with a verdict in both: the change, None where it is the same."""
    names = {".".join(path): path for row in new.rows.values() for path in row}
    for key, verdict in old.holds.items():
        if key not in new.holds:
            continue
        now = new.holds[key]
        if verdict.get("holds") == now.get("holds"):
            yield None
            continue
        failed = [
            (names.get(str(found.get("reading")), (str(found.get("reading")),)), _where(found))
            for found in _listed(now, "failed")
        ]
        yield Change(
            *(new.variants[key], None, None, HOLDS, verdict.get("holds"), now.get("holds")),
            failed=tuple(failed),
        )


def _lacking(one: _Side, other: _Side) -> Iterator[Whole]:
    """What one side has and the other lacks: variants, then places of those that both have."""
    for key, variant in one.variants.items():
        if key not in other.variants:
            yield Whole(variant)
            continue
        there = {place for k, place, _ in other.rows if k == key}
        for place in dict.fromkeys(place for k, place, _ in one.rows if k == key):
            if place not in there:
                yield Whole(variant, place)


def _where(entry: Mapping[str, Json]) -> str:
    """The place of a row or a finding, and how players have set the camera there, where they may."""
    option = entry.get("option")
    return place_set(str(entry.get("place")), option if isinstance(option, str) else None)


def place_set(place: str, option: str | None) -> str:
    """A place, and how players have set the camera there: "high tide, distance_m=4"."""
    return place if option is None else f"{place}, {option}"
