"""A comparison in words and as data: each variant named by its settings, not by where a sweep has it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from json import dumps

from stationpoint.base.words import counted, listed, number
from stationpoint.readings import SHARE, Path, about_reading, unit_words, viewing_of
from stationpoint.record import Json, Record
from stationpoint.run.compare.differences import HOLDS, Change, Comparison, Spot, Variant, Whole
from stationpoint.sheet import setting_words
from stationpoint.study import HERE

TELLING = (  # what tells variants apart, the first that does
    *("view_height_m", "pitch_deg", "yaw_deg", "distance_m", "roll_deg", "offset", "offset_by", "aspect"),
    *("hfov_deg", "gate_mm", "fit", "oblique_ratio", "oblique_angle_deg", "anchor_m"),
)
MOST_LETTERS = 60  # of a list or a group
MOST_DECIMALS = 5
ARROW, NOW = " -> ", ", now "  # between two values: in a terminal, and on a sheet, whose font has no arrow
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


def change_words(change: Change, names: Names, found: Comparison, between: str = ARROW) -> str:
    """One change: "35 mm in perspective, at high tide: crate seen 92 % -> 61 %, hidden by barge-2". between:
    what stands between two values."""
    key = change.variant.key
    where = _where(names, key, None) if change.place is None or change.picture is None else ""
    where = where or spot_words(names, (key, str(change.place), str(change.picture)), found)
    if change.path == HOLDS:
        by = [f"{_reading(path)}, {_at(place)}" for path, place in dict.fromkeys(change.failed) if place]
        more = f", by {by[0]}" if by else ""
        more += f" and {len(by) - 1} more" if len(by) > 1 else ""
        return f"{where}: {_held(change.before)}{between}{_held(change.after)}{more}"
    viewing = viewing_of(change.path)
    seat = f" ({viewing})" if viewing is not None and change.path[0] != "viewing" else ""
    before, after = value_pair(change.before, change.after, about_reading(change.path).unit)
    line = f"{where}: {_reading(change.path)}{seat} {before}{between}{after}"
    if change.off:
        return f"{line}, off the picture"
    return line if change.hidden_by is None else f"{line}, hidden by {change.hidden_by.name}"


def value_pair(before: Json, after: Json, unit: str) -> tuple[str, str]:
    """Two values in words, numbers with as few decimals as tell them apart: 0.92 and 0.61 of a share give
    "92 %" and "61 %"."""
    for decimals in range(MOST_DECIMALS + 1):
        said = _value(before, unit, decimals), _value(after, unit, decimals)
        if said[0] != said[1]:
            break
    return said


def _value(value: Json, unit: str, decimals: int) -> str:
    if value is None:
        return "not measured"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        scaled = 100.0 * value if unit == SHARE else float(value)
        usual = 0 if unit == SHARE or abs(scaled) >= 100 or isinstance(value, int) else 1
        after = unit_words("%" if unit == SHARE else unit)
        text = number(scaled, max(usual, decimals))
        return f"{text}{after}" if after == "\u00b0" else f"{text} {after}".rstrip()
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
    return place if place == HERE else f"at {place}"


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
