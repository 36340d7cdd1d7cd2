"""A comparison in words and as data: each variant named by its settings, not by where a sweep has it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from json import dumps
from typing import NamedTuple, cast

from stationpoint.base.words import counted, listed, number
from stationpoint.readings import SHARE, Path, about_reading, unit_words, viewing_of
from stationpoint.record import Json, Record
from stationpoint.run.compare.differences import HOLDS, TURN_DEG, Change, Comparison, Spot, Variant, Whole
from stationpoint.sheet import setting_words
from stationpoint.study import HERE

TELLING = (  # what tells variants apart, the first that does
    *("view_height_m", "pitch_deg", "yaw_deg", "distance_m", "roll_deg", "offset", "offset_by", "aspect"),
    *("hfov_deg", "gate_mm", "fit", "oblique_ratio", "oblique_angle_deg", "anchor_m"),
)
MOST_LETTERS = 60  # of a list or a group
MOST_DECIMALS = 5
ARROW, NOW = " -> ", ", now "  # between two values: in a terminal, and on a sheet, whose font has no arrow
DEGREES, DEGREE = "deg", "\u00b0"
Names = Mapping[str, str]


def variant_names(variants: Iterable[Variant]) -> dict[str, str]:
    """Key -> a variant by its lens and projection, and by as few further settings as tell it from the others:
    "35 mm in perspective, pitch 10° down". Its label, where none does."""
    those = {variant.key: variant for variant in variants}
    parts = {key: [_lens_words(variant.settings)] for key, variant in those.items()}
    for field in TELLING:
        alike: dict[tuple[str, ...], list[str]] = {}
        for key, said in parts.items():
            alike.setdefault(tuple(said), []).append(key)
        for keys in alike.values():
            words = {key: setting_words(field, those[key].settings.get(field)) for key in keys}
            if len(set(words.values())) > 1:
                for key in keys:
                    parts[key].append(words[key])
    names = {key: ", ".join(said) for key, said in parts.items()}
    shared = [name for name in names.values() if list(names.values()).count(name) > 1] if names else []
    return {key: f"{name}, {those[key].label}" if name in shared else name for key, name in names.items()}


def _lens_words(settings: Mapping[str, Json]) -> str:
    projection, focal = str(settings.get("projection")), settings.get("focal_mm")
    if projection == "perspective" and focal is not None:
        return f"{setting_words('focal_mm', focal)} in perspective"
    return projection


def change_lines(found: Comparison) -> list[str]:
    """What changed, a line each: what is gone, what is another, then what is new."""
    names = variant_names(found.variants)
    return [
        *(f"{_where(names, one.variant.key, one.place)}: gone" for one in found.gone),
        *(change_words(change, names, found) for change in found.changed),
        *(f"{_where(names, one.variant.key, one.place)}: new" for one in found.new),
    ]


class Said(NamedTuple):
    """A change in words, part by part. where: its cell. reading: "crate seen", "" of a verdict. why: what
    hides it now, that it is off the picture, or by what a verdict fails; "" where nothing of that is so."""

    where: str
    reading: str
    before: str
    after: str
    why: str


def said_change(change: Change, names: Names, found: Comparison) -> Said:
    """One change in words."""
    key = change.variant.key
    where = _where(names, key, None) if change.place is None or change.picture is None else ""
    where = where or spot_words(names, (key, str(change.place), str(change.picture)), found)
    if change.path == HOLDS:
        by = [f"{_reading(path)}, {_at(place)}" for path, place in dict.fromkeys(change.failed) if place]
        more = f" and {len(by) - 1} more" if len(by) > 1 else ""
        return Said(where, "", _held(change.before), _held(change.after), f"by {by[0]}{more}" if by else "")
    viewing = viewing_of(change.path)
    seat = f" ({viewing})" if viewing is not None and change.path[0] != "viewing" else ""
    pair = value_pair(change.before, change.after, about_reading(change.path).unit)
    hidden = "" if change.hidden_by is None else f"hidden by {change.hidden_by.name}"
    return Said(where, f"{_reading(change.path)}{seat}", *pair, "off the picture" if change.off else hidden)


def change_words(change: Change, names: Names, found: Comparison, between: str = ARROW) -> str:
    """One change: "35 mm in perspective, at high tide: crate seen 92 % -> 61 %, hidden by barge-2". between:
    what stands between two values."""
    said = said_change(change, names, found)
    return f"{said.where}: {told_change(said, between)}"


def told_change(said: Said, between: str = NOW) -> str:
    """A change without its cell: "crate seen 92 %, now 61 %, hidden by barge-2"."""
    values = f"{said.before}{between}{said.after}"
    return ", ".join(filter(None, (f"{said.reading} {values}".strip(), said.why)))


def amount_words(change: Change) -> str:
    """By how much a number has changed, of its values as they are said: "+31 points" of a share, "+2.5 m", of
    an angle the shorter way round; "" of what is no number."""
    values = (change.before, change.after)
    if not all(isinstance(one, int | float) and not isinstance(one, bool) for one in values):
        return ""
    unit = about_reading(change.path).unit
    before, after = (_shown(float(cast(float, one)), unit) for one in values)
    decimals = max(
        _decimals(*values, unit),
        *(_usual(one, isinstance(change.after, int), unit) for one in (before, after)),
    )
    by = round(after, decimals) - round(before, decimals)
    if unit == DEGREES:
        by = (by + TURN_DEG / 2) % TURN_DEG - TURN_DEG / 2
    words = "points" if unit == SHARE else unit_words(unit)
    text = number(by, decimals)
    return f"{'+' if by > 0 else ''}{text}{'' if words == DEGREE else ' '}{words}".rstrip()


def share_words(share: float) -> str:
    """A share in whole percent: "31 %"."""
    return _value(share, SHARE, 0)


def value_pair(before: Json, after: Json, unit: str) -> tuple[str, str]:
    """Two values in words, numbers with as few decimals as tell them apart: 0.92 and 0.61 of a share give
    "92 %" and "61 %"."""
    decimals = _decimals(before, after, unit)
    return _value(before, unit, decimals), _value(after, unit, decimals)


def _decimals(before: Json, after: Json, unit: str) -> int:
    """The fewest decimals that tell two values apart."""
    for decimals in range(MOST_DECIMALS):
        if _value(before, unit, decimals) != _value(after, unit, decimals):
            return decimals
    return MOST_DECIMALS


def _shown(value: float, unit: str) -> float:
    return 100.0 * value if unit == SHARE else value


def _usual(shown: float, is_count: bool, unit: str) -> int:
    """The decimals of a number of which no more are needed."""
    return 0 if unit == SHARE or abs(shown) >= 100 or is_count else 1


def _value(value: Json, unit: str, decimals: int) -> str:
    if value is None:
        return "not measured"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        scaled = _shown(float(value), unit)
        after = unit_words("%" if unit == SHARE else unit)
        text = number(scaled, max(_usual(scaled, isinstance(value, int), unit), decimals))
        return f"{text}{after}" if after == DEGREE else f"{text} {after}".rstrip()
    if isinstance(value, str):
        return value
    if isinstance(value, list) and value and all(isinstance(one, int | float | None) for one in value):
        return ", ".join(_value(one, unit, decimals) for one in value)
    if isinstance(value, list) and all(isinstance(one, str) for one in value):
        return listed(str(one) for one in value) or "none"
    if isinstance(value, list):
        return counted(len(value), "found", "found")
    if value and all(isinstance(one, int | float | None) for one in value.values()):
        return listed(f"{name} {_value(one, unit, decimals)}" for name, one in value.items())
    words = dumps(value, ensure_ascii=False, sort_keys=True)
    return words if len(words) <= MOST_LETTERS else f"{words[:MOST_LETTERS]}..."


def _held(holds: Json) -> str:
    return (
        {True: "holds", False: "fails"}.get(holds, "not judged") if isinstance(holds, bool) else "not judged"
    )


def _reading(path: Path) -> str:
    about = about_reading(path)
    return f"{about.whose} {about.reading}" if about.whose else about.reading


def _at(place: str) -> str:
    return place if f"{place}, ".startswith(f"{HERE}, ") else f"at {place}"


def without_here(words: str) -> str:
    """Words on a cell without the place, where a study has none but as it stands."""
    return words.replace(f", {HERE}, ", ", ").removesuffix(f", {HERE}")


def _where(names: Names, key: str, place: str | None) -> str:
    return names[key] if place is None else f"{names[key]}, {_at(place)}"


def spot_words(names: Names, spot: Spot, found: Comparison) -> str:
    """A cell by its variant, its place, and its picture where there are several."""
    key, place, picture = spot
    where = _where(names, key, place)
    return f"{where}, in {picture}" if (key, place) in found.manifold else where


def comparison_data(found: Comparison, tool: Json) -> Record:
    """A comparison as data: {"tool", "changed", "gone", "new"}."""
    names = variant_names(found.variants)
    return {
        "tool": tool,
        "changed": [_change(change, names, found) for change in found.changed],
        "gone": [_whole(one, names) for one in found.gone],
        "new": [_whole(one, names) for one in found.new],
    }


def _variant(variant: Variant, names: Names) -> dict[str, Json]:
    return {"variant": variant.label, "key": variant.key, "settings": names[variant.key]}


def _change(change: Change, names: Names, found: Comparison) -> Json:
    hidden = change.hidden_by
    return {
        **_variant(change.variant, names),
        "place": change.place,
        "picture": change.picture,
        "reading": ".".join(change.path),
        "before": change.before,
        "after": change.after,
        "hidden_by": None if hidden is None else {"name": hidden.name, "share": hidden.share},
        "says": change_words(change, names, found),
    }


def _whole(one: Whole, names: Names) -> Json:
    return {**_variant(one.variant, names), "place": one.place}


def lines_by_variant(found: Comparison, changes: Sequence[Change]) -> dict[str, list[str]]:
    """A variant by its settings -> what changed of it, for every variant of either side, changed or not."""
    names = variant_names(found.variants)
    lines: dict[str, list[str]] = {name: [] for name in names.values()}
    for one in found.gone:
        lines[names[one.variant.key]].append(f"{_where(names, one.variant.key, one.place)}: gone")
    for change in changes:
        lines[names[change.variant.key]].append(change_words(change, names, found))
    return lines


def answer_of(found: Comparison) -> str:
    """A comparison in one sentence: "2 readings changed, 1 variant gone."."""
    verdicts = sum(change.path == HOLDS for change in found.changed)
    counts = (
        (verdicts, "verdict", "changed"),
        (len(found.changed) - verdicts, "reading", "changed"),
        *((sum(one.place is None for one in those), "variant", how) for those, how in _lone(found)),
        *((sum(one.place is not None for one in those), "place", how) for those, how in _lone(found)),
    )
    said = [f"{counted(count, thing)} {how}" for count, thing, how in counts if count]
    return f"{', '.join(said)}." if said else f"{counted(len(found.variants), 'variant')}, nothing changed."


def _lone(found: Comparison) -> tuple[tuple[tuple[Whole, ...], str], ...]:
    return ((found.gone, "gone"), (found.new, "new"))
