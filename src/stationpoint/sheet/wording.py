"""Settings in words: a swept value as a head says it, and which fields a sweep moves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from stationpoint.base.words import DEGREE, TIMES, listed, number, pitch_words, plain, yaw_words
from stationpoint.camera import Setup
from stationpoint.readings import Result, Value, pulled_to_m
from stationpoint.study import Study, Variant

AXES = ("rows", "columns", "pages")
LENS = frozenset({"focal_mm", "hfov_deg", "vfov_deg", "dfov_deg"})

_UNIT = {
    "focal_mm": "{} mm",
    "distance_m": "{} m away",
    "roll_deg": "roll {}" + DEGREE,
    "hfov_deg": "{}" + DEGREE + " wide",
    "vfov_deg": "{}" + DEGREE + " high",
    "dfov_deg": "{}" + DEGREE + " diagonal",
    "view_height_m": "view {} m high",
    "anchor_height_m": "anchor {} m up",
    "oblique_angle_deg": "receding at {}" + DEGREE,
    "light_yaw_deg": "light yaw {}" + DEGREE,
    "light_pitch_deg": "light pitch {}" + DEGREE,
    "near_m": "near plane {} m",
    "far_m": "far plane {} m",
}
_TURNS = {"pitch_deg": pitch_words, "yaw_deg": yaw_words}
CAMERA_PAIRS = {
    "up-away": ("up", "away"),
    "up-across": ("up", "across"),
    "across-away": ("across", "away"),
}
WORLD_PAIRS = {
    "x-y": ("along x", "up"),
    "x-z": ("along x", "along z"),
    "y-z": ("up", "along z"),
}
CENTRED = "centred"
OTHER_SHARE = 0.1  # lengths that differ by less are one length
BLOCKED = {"show": "shown where blocked", "pull-in": "pulled in where blocked"}
BETWEEN = " stands between"
_MOVED_BY = {"slide": "by sliding", "turn": "by turning", "shift": "by lens shift"}


def away_words(setup: Setup) -> str:
    """How far the camera is from its anchor: "8 m away"; at the subject's eyes "eyes 1.69 m up"."""
    if setup.at_anchor:
        return f"eyes {plain(setup.anchor_height_m, 2)} m up"
    return f"{number(setup.distance_m or 0.0)} m away"


def offset_words(x: float, y: float) -> str:
    """Where the anchor sits: (-0.16, -0.1) gives "16 % left, 10 % low", (0, 0) "centred"."""
    sides = ((x, "right", "left"), (y, "high", "low"))
    said = [(plain(abs(share) * 100, 1), more if share > 0 else less) for share, more, less in sides]
    return ", ".join(f"{share} % {side}" for share, side in said if share != "0") or CENTRED


def _pair(value: Any) -> tuple[float, float] | None:
    if isinstance(value, list | tuple) and len(value) == 2 and all(isinstance(x, int | float) for x in value):
        return float(value[0]), float(value[1])
    return None


def setting_words(field: str, value: Any) -> str:
    """A setting as a head says it: focal_mm 35 gives "35 mm", pitch_deg -5 "pitch 5° up"."""
    if value is None:
        return f"no {field.rsplit('_', 1)[0]}"
    if field in _TURNS and isinstance(value, int | float):
        return _TURNS[field](float(value), 2)
    if field in _UNIT and isinstance(value, int | float):
        return _UNIT[field].format(plain(float(value), 2))
    pair = _pair(value)
    if field == "offset" and pair:
        return offset_words(*pair)
    if field == "gate_mm" and pair:
        return f"gate {plain(pair[0], 2)} {TIMES} {plain(pair[1], 2)} mm"
    if field == "offset_by":
        return _MOVED_BY.get(str(value), str(value))
    if field == "blocked":
        return BLOCKED.get(str(value), str(value))
    if field == "passes" and isinstance(value, list | tuple):
        value = [str(name) for name in value]
        return f"{listed(value)} let through" if value else "nothing let through"
    if field in ("from", "from_"):
        return str(value).partition("#")[2] or str(value)
    if field == "fit":
        return f"fit to {value}"
    if field == "aspect_policy":
        return f"{value} kept"
    if field == "oblique_ratio" and isinstance(value, int | float):
        return f"depth drawn at {plain(float(value), 2)}"
    return str(value)


def fields_on(study: Study, axis: str) -> tuple[str, ...]:
    """The fields that the sweep moves on an axis: "rows", "columns" or "pages"."""
    return tuple(getattr(study.sweep, axis))


def swept_fields(study: Study, variants: Iterable[Variant]) -> frozenset[str]:
    """The fields that differ between these variants."""
    seen: dict[str, set[str]] = {}
    for variant in variants:
        for field, value in variant.changes:
            seen.setdefault(field, set()).add(repr(value))
    return frozenset(field for field, values in seen.items() if len(values) > 1)


def axis_words(variant: Variant, fields: Iterable[str]) -> str:
    """The values of these fields in a variant, in their order: "orthographic", "50 mm, pitch 30° down".

    What only an oblique view has is left out elsewhere.
    """
    return ", ".join(_said(variant, fields).values())


def caption_words(variant: Variant, fields: Iterable[str], parallel: bool) -> str:
    """The same for a caption, where a parallel view has "no lens"."""
    said = _said(variant, fields)
    words = ("no lens" if parallel and field in LENS else value for field, value in said.items())
    return ", ".join(dict.fromkeys(words))


def _said(variant: Variant, fields: Iterable[str]) -> dict[str, str]:
    changes = dict(variant.changes)
    oblique = variant.camera.projection == "oblique"
    return {
        field: setting_words(field, changes[field])
        for field in fields
        if field in changes and (oblique or not field.startswith("oblique_"))
    }


def row_letter(label: str) -> str:
    """The row of a label: "2-AB13" gives "AB"."""
    return label.rsplit("-", 1)[-1].rstrip("0123456789")


def column_number(label: str) -> str:
    """The column of a label: "2-AB13" gives "13"."""
    own = label.rsplit("-", 1)[-1]
    return own[len(row_letter(label)) :]


def span_words(metres: float) -> str:
    """A length on a mark or in a caption: one decimal, two under half a metre."""
    return span_pair(metres, None)[0]


def span_pair(long_m: float, other_m: float | None) -> tuple[str, str]:
    """Two lengths to be compared, with as many decimals as the smaller needs; "" for no other."""
    least = min(abs(long_m), abs(long_m if other_m is None else other_m))
    decimals = 2 if least < 0.5 else 1
    return f"{number(long_m, decimals)} m", "" if other_m is None else f"{number(other_m, decimals)} m"


def gap_spans(result: Result, name: str) -> tuple[str, str, str] | None:
    """A gap's lengths in words, None without any: true; where it seems to end, read flat; and read as if
    both ends stood on one level, "" unless that is more than 10 % from both others."""
    found = [
        result.reading.values.get(("gaps", name, f"{kind}_span_m")) for kind in ("true", "flat", "ground")
    ]
    true, flat, ground = (float(v) if isinstance(v, float | int) else None for v in found)
    if true is None:
        return None
    long, short = span_pair(true, flat)
    apart = ground is not None and all(
        abs(ground - other) > OTHER_SHARE * max(ground, other) for other in (true, flat) if other is not None
    )
    return long, short, span_words(ground) if apart and ground is not None else ""


def confused(result: Result) -> dict[str, float]:
    """Directions that this view draws alike, with the metres of the second that look like 1 m of the
    first. The camera's own; the world's only where none of these are."""
    for pairs in (CAMERA_PAIRS, WORLD_PAIRS):
        swaps = {pair: result.reading.values.get(("pairs", pair, "swap_m")) for pair in pairs}
        found = {pair: float(swap) for pair, swap in swaps.items() if isinstance(swap, float | int)}
        if found:
            return found
    return {}


def confused_words(pair: str, least_m: float, most_m: float) -> str:
    """A confused pair in words, two digits: "1 m up looks like 1.7 m away", "... 1 to 4.7 m away"."""
    one, other = (CAMERA_PAIRS | WORLD_PAIRS)[pair]
    first, last = (plain(float(f"{metres:.2g}")) for metres in (least_m, most_m))
    return f"1 m {one} looks like {first if first == last else f'{first} to {last}'} m {other}"


def alike_words(pair: str, least_m: float, most_m: float) -> str:
    """The same where nothing else says what is confused with what: "up and away: 1 m up looks like ..."."""
    return f"{listed((CAMERA_PAIRS | WORLD_PAIRS)[pair])}: {confused_words(pair, least_m, most_m)}"


def boom_words(result: Result, study: Study) -> str:
    """What the scene does to the camera and its boom: "camera inside wall", "pulled to 3.06 m", "wall stands
    between"; "" where it is clear. Without a subject nothing stands between."""
    to_m = pulled_to_m(result.setup)
    if result.stands:
        return result.stands
    if to_m is not None:
        return f"pulled to {number(to_m, 2)} m"
    blocked = result.reading.values.get(("boom", "blocked_by"))
    return f"{blocked}{BETWEEN}" if isinstance(blocked, str) and study.subject is not None else ""


def shares_of(covers: Value) -> dict[str, float]:
    """What each node hides of a thing, as `hidden_by` has it; empty where that was not measured."""
    each = covers.items() if isinstance(covers, Mapping) else ()
    return {name: float(share) for name, share in each if isinstance(share, float | int)}


def arcmin_words(arcmin: float) -> str:
    """A size at the seat: "178 arcmin" from ten on, "7.5 arcmin" under it."""
    return f"{number(arcmin, 0 if abs(arcmin) >= 10 else 1)} arcmin"
