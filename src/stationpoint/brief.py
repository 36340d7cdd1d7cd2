"""What a verdict says in words: the flag of a cell, and the answer under a sheet's title."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from stationpoint.judge import Finding, Verdict
from stationpoint.measure.types import Field, Path, Value
from stationpoint.sheet.flag import Flag
from stationpoint.words import DEGREE, listed, plain

MOST_NAMED = 4
UNIT_ENDS = ("_m", "_px", "_deg", "_mm", "_arcmin", "_xy", "_per_m")


def flags(verdicts: Mapping[str, Verdict], fields: Iterable[Field]) -> dict[str, Flag]:
    """Variant label -> the flag of its cell."""
    units = units_of(fields)
    made = {}
    for label, verdict in verdicts.items():
        bound = verdict.binds
        if bound is None:
            made[label] = Flag("holds")
        elif verdict.holds:
            made[label] = Flag("holds", f"nearest limit: {limit_words(bound, units)}", bound.path)
        else:
            made[label] = Flag("fails", limit_words(bound, units), bound.path)
    return made


def units_of(fields: Iterable[Field]) -> dict[str, str]:
    """Name of a reading -> its unit."""
    return {field.path[-1] if field.path[-1] != "*" else field.path[-2]: field.unit for field in fields}


def limit_words(found: Finding, units: Mapping[str, str]) -> str:
    """A limit and what was found, such as "watering can: seen 31 %, needs 60 %"."""
    path = found.path[:-1] if found.viewing is not None else found.path
    reading, unit = path[-1], units.get(path[-1], "")
    share = unit in ("share", "1", "fraction") or (unit == "" and reading in ("seen", "in_frame"))
    name = _thing(path)
    limit = found.limit
    if path[0] == "twins" and len(path) > 3:
        reading = f"{reading} ({path[2]})"
    if found.value is None:
        said = f"{spoken(reading)} could not be measured"
    elif isinstance(found.value, bool):
        kept = found.margin >= 0.0
        said = f"{'' if found.value else 'not '}{spoken(reading)}{'' if kept else ', not allowed'}"
    else:
        said = f"{spoken(reading)} {value_words(found.value, unit, share)}{_bound(found, unit, share)}"
    seat = found.viewing if found.viewing is not None and limit.viewing is None else ""
    where = ", ".join(one for one in ("" if found.place == "here" else found.place, seat) if one)
    said = f"{said} ({where})" if where else said
    return f"{name}: {said}" if name else said


def _bound(found: Finding, unit: str, share: bool) -> str:
    limit = found.limit
    if limit.min is not None and (limit.max is None or found.margin >= 0 or _below(found)):
        return f", needs {value_words(limit.min, unit, share)}"
    if limit.max is not None:
        return f", at most {value_words(limit.max, unit, share)}"
    if limit.one_of is not None:
        return f", must be {listed([str(one) for one in limit.one_of], 'or')}"
    if limit.is_ is not None:
        return f", must be {limit.is_}"
    return ", not allowed" if found.margin < 0 else ""


def _below(found: Finding) -> bool:
    value, least = found.value, found.limit.min
    return isinstance(value, (int, float)) and least is not None and value < least


def spoken(reading: str) -> str:
    """A reading's name without its unit: spoken("flat_span_m") gives "flat span"."""
    for end in UNIT_ENDS:
        reading = reading.removesuffix(end)
    return reading.replace("_", " ")


def value_words(value: Value, unit: str, share: bool) -> str:
    """A reading's value with its unit: a share as a percentage."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        if isinstance(value, tuple):
            return " by ".join(value_words(one, unit, share) for one in value)
        return str(value).lower() if isinstance(value, bool) else str(value)
    if share:
        return f"{plain(100 * value, 0)} %"
    digits = 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2
    said = plain(value, digits)
    return f"{said}{DEGREE}" if unit == "deg" else f"{said} {unit}".strip()


def answer(verdicts: Mapping[str, Verdict]) -> str:
    """One line: which variants hold, and what fails the others."""
    if not verdicts:
        return ""
    holding = [label for label, verdict in verdicts.items() if verdict.holds]
    failing = [verdict for verdict in verdicts.values() if not verdict.holds]
    if not failing:
        return "Every variant holds the brief." if len(holding) > 1 else f"{holding[0]} holds the brief."
    common, count = Counter(_cause(v.binds) for v in failing if v.binds is not None).most_common(1)[0]
    if len(verdicts) == 1:
        return f"{failing[0].variant} does not hold the brief, by {common}."
    if count == len(failing):
        who = "all fail" if not holding else "the others fail" if count > 1 else "the other fails"
        cause = f"{who} by {common}"
    else:
        cause = f"most fail by {common}" if 2 * count > len(failing) else f"the commonest cause is {common}"
    if not holding:
        return f"None holds the brief; {cause}."
    if len(holding) <= MOST_NAMED:
        return f"{listed(holding)} {'holds' if len(holding) == 1 else 'hold'}; {cause}."
    return f"{len(holding)} of {len(verdicts)} hold; {cause}."


def _cause(found: Finding) -> str:
    path = found.path[:-1] if found.viewing is not None else found.path
    name = _thing(path)
    return f"{name} ({spoken(path[-1])})" if name else spoken(path[-1])


def _thing(path: Path) -> str:
    """What a reading is about, as people say it, "" if nothing is named."""
    if len(path) < 3:
        return ""
    if path[0] == "cues":  # gap:NAME or target:NAME, then the cue
        return f"{path[1].partition(':')[2]}, {path[2].replace('_', ' ')}"
    return path[1].replace("-", " and ") if path[0] == "pairs" else path[1]
