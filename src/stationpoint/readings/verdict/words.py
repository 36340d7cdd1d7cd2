"""A limit in words, in one place: for header, flag, caption, ticket, chart, `check` and `judge`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from stationpoint.base.words import DEGREE, MINUS, listed, number, plain
from stationpoint.readings.paths import (
    ANY,
    CUES,
    SUBJECT,
    TWINS,
    VIEWING,
    field_at,
    meant,
    paths_of,
    without_viewing,
)
from stationpoint.readings.types import SHARE, Path, Value
from stationpoint.readings.verdict.judge import Finding
from stationpoint.readings.verdict.limits import ASSUMED
from stationpoint.study import Limit, Study

MOST_DECIMALS = 12
UNITS = {  # as they follow a number
    "": "",
    SHARE: " %",
    "deg": DEGREE,
    "'": " arcmin",
    "'/m": " arcmin a metre",
    "'/s": " arcmin a second",
    "sq '": " sq arcmin",
    "px/m": " px a metre",
    "%/m": " % a metre",
}
UNIT_END = re.compile(r"_(arcmin_per_m|px_per_m|pct_per_m|arcmin2|arcmin|px|deg|mm|m|xy)$")
OF_CAMERA = {"inside": "inside", "near_cuts": "cut at the near plane"}  # of the boom's readings
# A flag as people say it where it holds, and where it does not.
FLAGS = {"role order holds": ("roles in order", "roles out of order")}
CONTRAST = "contrast"
DIFFERENCES = {"ratio": "contrast ratio", "delta_l": "step in lightness", "delta_e": "step in colour"}
MEASURES = {
    "px_per_m": "scale",
    "arcmin_per_m": "scale",
    "worst_arcmin_per_m": "worst scale",
    "arcmin_per_px": "pixel",
    "swap_m": "look-alike length",
    "hfov_deg": "horizontal angle of view",
    "vfov_deg": "vertical angle of view",
    "dfov_deg": "diagonal angle of view",
}


class About(NamedTuple):
    """What a limit is about: whose reading, "" of the picture as a whole; the reading; its unit; the
    viewing that its path ends in, "" for all."""

    whose: str
    reading: str
    unit: str
    viewing: str = ""


class Bound(NamedTuple):
    """A number that a limit bounds by: "min", "max", "is" or "not", the number, and it in words."""

    key: str
    value: float
    words: str


def limit_words(limit: Limit, study: Study) -> str:
    """A limit of the brief: reading targets.*.seen, min 0.6, role primary gives "primary targets:
    seen at least 60 %"."""
    about = about_limit(limit, study)
    words = f"{about.reading} {_bounded_words(limit, about.unit)}"
    if isinstance(limit.is_, bool) or isinstance(limit.not_, bool):
        is_wanted = limit.is_ is True or limit.not_ is False
        words = _flag(about.reading, is_wanted)
    words = f"{about.whose}: {words}" if about.whose else words
    return words + _narrowed(limit, about)


def brief_words(study: Study) -> list[str]:
    """Each limit of the brief in words."""
    return [limit_words(limit, study) for limit in study.limit]


def bounded_meanings(study: Study) -> dict[str, str]:
    """The readings that the brief bounds, as limits call them, each with its meaning in one plain line."""
    found: dict[str, str] = {}
    for limit in study.limit:
        for path in list(meant(limit.reading, paths_of(study)))[:1]:
            field = field_at(path)
            if field is not None:
                found.setdefault(about_limit(limit, study).reading, field.line)
    return found


def whose_words(limit: Limit, study: Study) -> str:
    """Whom a limit is about, and where: "primary targets (only at high tide)"."""
    about = about_limit(limit, study)
    return (about.whose + _narrowed(limit, about)).strip()


def _narrowed(limit: Limit, about: About) -> str:
    """Where alone a limit holds, and whether it is a should: " (only at high tide, should)"."""
    viewing = limit.viewing or about.viewing
    narrowed = [
        f"only at {limit.place}" if limit.place else "",
        f"only for {viewing}" if viewing else "",
        "should" if limit.level == "should" else "",
        "assumed" if limit == ASSUMED else "",
    ]
    where = ", ".join(one for one in narrowed if one)
    return f" ({where})" if where else ""


def about_limit(limit: Limit, study: Study) -> About:
    """Whom a limit is about, which reading, and its unit where all that it bounds have one."""
    found = meant(limit.reading, paths_of(study))
    if not found:
        return About("", limit.reading, "")
    path, names = next(iter(found.items()))
    group = path[0] if len({one[0] for one in found}) == 1 else "readings"
    units = {field.unit for field in map(field_at, found) if field is not None}
    count = len(without_viewing(path))
    about = _about((group, *names[1:count]), units.pop() if len(units) == 1 else "")
    viewing = names[-1] if len(names) > count and names[-1] != ANY else ""
    every = "every viewing" if group == VIEWING else f"{limit.role or 'all'} {group}"
    whose = every if about.whose == ANY else about.whose
    return about._replace(whose=whose, viewing=viewing)


def about_reading(path: Path) -> About:
    """Whose a reading is, what it is called and its unit, by its concrete path."""
    field = field_at(path)
    return _about(without_viewing(path), "" if field is None else field.unit)


def spoken(reading: str) -> str:
    """A reading's name without its unit: spoken("flat_span_m") gives "flat span"."""
    return MEASURES.get(reading) or UNIT_END.sub("", reading).replace("_", " ")


def finding_words(found: Finding) -> str:
    """A limit and what was found, such as "watering can: seen 31 %, needs 60 %"."""
    whose, said = about_reading(found.path).whose, measured_words(found)
    return f"{whose}: {said}" if whose else said


def measured_words(found: Finding, with_cause: bool = True) -> str:
    """The same without whose it is: "seen 31 %, needs 60 %". with_cause: whether why it is so is said."""
    about, limit = about_reading(found.path), found.limit
    if found.value is None:
        said = f"{about.reading} could not be measured"
    elif isinstance(found.value, bool):
        kept = found.margin >= 0.0
        said = _flag(about.reading, found.value)
        said += "" if kept or found.because else ", not allowed"
    else:
        value, bound = _compared(found, about.unit)
        said = f"{about.reading} {value}{bound}"
    if with_cause and found.because and found.margin < 0.0:
        said = f"{said} ({found.because})"
    viewing = found.viewing if limit.viewing is None and found.path[0] != VIEWING else None
    set_at = None if found.option is None else found.option.words
    where = ", ".join(one for one in ("" if found.place == "here" else found.place, viewing, set_at) if one)
    return f"{said} ({where})" if where else said


def _flag(reading: str, holds: bool) -> str:
    """What is true or false, in words."""
    return FLAGS[reading][not holds] if reading in FLAGS else f"{'' if holds else 'not '}{reading}"


def cause_words(found: Finding) -> str:
    """What fails, shortly: "crate (seen)"."""
    about = about_reading(found.path)
    return f"{about.whose} ({about.reading})" if about.whose else about.reading


def bounds_of(limit: Limit, unit: str) -> list[Bound]:
    """The numbers that a limit bounds by, with their words: min 0.6 of a share gives "at least 60 %"."""
    says = {"min": "at least", "max": "at most", "is": "exactly", "not": "never"}
    given = {"min": limit.min, "max": limit.max, "is": limit.is_, "not": limit.not_}
    if limit.min is not None and limit.min == limit.max:
        given = {"is": limit.min}
    return [
        Bound(key, float(bound), f"{says[key]} {amount_words(bound, unit)}")
        for key, bound in given.items()
        if isinstance(bound, int | float) and not isinstance(bound, bool)
    ]


def amount_words(value: float, unit: str) -> str:
    """A bound as it was written, with its unit: amount_words(0.405, SHARE) gives "40.5 %"."""
    text = f"{abs(_scaled(value, unit)):.{MOST_DECIMALS}g}"
    return f"{MINUS if value < 0 else ''}{text}{_unit(unit)}"


def _about(names: Path, unit: str) -> About:
    group, last = names[0], names[-1]
    if len(names) == 1:
        return About("", spoken(group), unit)
    reading = "every reading" if last == ANY else spoken(last)
    if len(names) > 2 and names[-2] == CONTRAST:
        reading = "every contrast" if last == ANY else DIFFERENCES.get(last, f"step in colour, {last}")
    if group == SUBJECT:
        return About(SUBJECT, reading, unit)
    if group == CUES and len(names) == 4:
        cue = "every cue" if names[2] == ANY else names[2].replace("_", " ")
        reading = cue if last in ("grade", "value") else f"{cue}, {reading}"
    elif group == TWINS and len(names) > 2 and names[2] != ANY:
        reading = f"{reading} ({names[2]})"
    elif group == "boom":
        return About("camera" if last in OF_CAMERA else group, OF_CAMERA.get(last, reading), unit)
    elif group == "framing":
        name = spoken(names[1]) if names[1] != ANY else "every reading"
        return About(names[2] if len(names) > 2 and last != ANY else "", name, unit)
    whose = names[1]
    if group == "pairs" and whose != ANY:
        whose = " and ".join(whose.split("-"))
    return About(whose.partition(":")[2] or whose if group == CUES else whose, reading, unit)


def _bounded_words(limit: Limit, unit: str) -> str:
    """What is asked of a reading: "at least 60 %", "never lies", "sure or needs a cue"."""
    if limit.one_of is not None:
        return listed([_word(one, unit) for one in limit.one_of], "or")
    if isinstance(limit.is_, str):
        return limit.is_
    if isinstance(limit.not_, str):
        return f"never {limit.not_}"
    return " and ".join(bound.words for bound in bounds_of(limit, unit))


def _word(one: object, unit: str) -> str:
    if isinstance(one, bool):
        return str(one).lower()
    return amount_words(one, unit) if isinstance(one, int | float) else str(one)


def _compared(found: Finding, unit: str) -> tuple[str, str]:
    """The value that was found, and what the limit asks: ("31 %", ", needs 60 %").

    Digits are added to a number until it stands to the bound, as printed, as the value does in truth.
    """
    limit, parts = found.limit, _parts(found.value)
    numbers = [float(part) for part in parts if isinstance(part, int | float) and not isinstance(part, bool)]
    said = " by ".join(_said(part, limit, unit) for part in parts)
    ends = [end for end in (limit.min, limit.max) if end is not None]
    if ends:
        longer = [d for one in numbers if (d := _decimals(one, limit, unit)) > _usual(one, unit)]
        under = limit.min is not None and (limit.max is None or _is_low(numbers, limit.min, limit.max))
        end = ends[0 if under else -1]
        words = _longer(end, max(longer), unit) if longer and unit != SHARE else amount_words(end, unit)
        return said, f", {'needs' if under else 'at most'} {words}"
    if limit.one_of is not None:
        return said, f", must be {listed([_word(one, unit) for one in limit.one_of], 'or')}"
    if limit.is_ is not None:
        return said, f", must be {_word(limit.is_, unit)}"
    return said, ", not allowed" if found.margin < 0 else f", never {_word(limit.not_, unit)}"


def _longer(end: float, decimals: int, unit: str) -> str:
    """A bound with as many digits as the value beside it, where it needs no more itself."""
    return f"{number(end, decimals)}{_unit(unit)}" if round(end, decimals) == end else amount_words(end, unit)


def _is_low(numbers: Sequence[float], least: float, most: float) -> bool:
    """Whether of two bounds the lower one binds."""
    return bool(numbers) and least - min(numbers) >= max(numbers) - most


def _parts(value: Value) -> tuple[Value, ...]:
    return value if isinstance(value, tuple) else (value,)


def _said(value: Value, limit: Limit, unit: str) -> str:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value).lower() if isinstance(value, bool) else str(value)
    scaled, decimals = _scaled(value, unit), _decimals(value, limit, unit)
    text = number(scaled, decimals) if decimals > _usual(value, unit) else plain(scaled, decimals)
    return f"{text}{_unit(unit)}"


def _usual(value: float, unit: str) -> int:
    """Decimals of a number that has nothing to be compared with."""
    if unit == SHARE:
        return 0
    return 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2


def _decimals(value: float, limit: Limit, unit: str) -> int:
    """As few decimals as leave a number on its side of the bounds."""

    def stands(one: float, scale: bool) -> list[bool]:
        least, most, equal, never = (
            None if isinstance(end, bool | str) or end is None else _scaled(end, unit) if scale else end
            for end in (limit.min, limit.max, limit.is_, limit.not_)
        )
        return [
            least is None or one >= least,
            most is None or one <= most,
            one == equal,
            one == never,
        ]

    usual, truly = _usual(value, unit), stands(value, scale=False)
    for decimals in range(usual, MOST_DECIMALS):
        if stands(round(_scaled(value, unit), decimals), scale=True) == truly:
            return decimals
    return usual


def _scaled(value: float, unit: str) -> float:
    """A number as people read it: a share in per cent, without the noise of the last digits."""
    return float(f"{100.0 * value:.{MOST_DECIMALS}g}") if unit == SHARE else value


def unit_words(unit: str) -> str:
    """A field's unit as people say it: unit_words("'/m") gives "arcmin a metre"."""
    return _unit(unit).strip()


def _unit(unit: str) -> str:
    return UNITS.get(unit, f" {unit}")
