"""What a twin's readings say in words: the question, its answer, what differs."""

from __future__ import annotations

from stationpoint.base.words import plain
from stationpoint.readings import CUE_RULES, Result, Value
from stationpoint.sheet.twin.plan import Layouts, way_words

SAME, UNANCHORED, WEAKLY, TOLD = "same", "unanchored", "weakly told", "told"
MIRROR = "mirror"


def twin_title(target: str, kind: str) -> str:
    """The title: could it be elsewhere?"""
    the = target if target.lower().startswith("the ") else f"the {target}"
    return f"Could {the} be its own mirror image?" if kind == MIRROR else f"Could {the} be somewhere else?"


def twin_answer(built: Result, target: str, kind: str, layouts: Layouts) -> str:
    """The line under the title, from the twin's level and the cue that tells it."""
    level, told_by = _value(built, target, kind, "level"), _value(built, target, kind, "told_by")
    tells = _tells(told_by) or "something"
    label = built.variant.label
    way = way_words(layouts)
    over = layouts.there.floor
    place = ", ".join(part for part in (way, f"over {over}" if over and way else "") if part)
    where = "mirrored in depth" if kind == MIRROR else place
    if level == SAME:
        return f"In {label}, yes: {where}, it draws the same picture."
    if level == UNANCHORED:
        return f"In {label}, yes: {where}, it is drawn another way, but nothing in view tells which is true."
    if level == WEAKLY:
        return f"In {label}, perhaps: {where}, {tells} would tell, but weakly."
    return f"In {label}, no: {where}, {tells} would tell."


def difference(built: Result, target: str, kind: str) -> str:
    """What differs between the pictures: "same: 0 % of the silhouette differs"."""
    level = _value(built, target, kind, "level")
    share = _value(built, target, kind, "silhouette_changed_share")
    told_by = _tells(_value(built, target, kind, "told_by"))
    said = f"{level} by {told_by}" if level in (WEAKLY, TOLD) and told_by else str(level)
    if not isinstance(share, float | int):
        return said
    percent = plain(100 * float(share), 0 if share >= 0.1 or share == 0 else 1)
    return f"{said}: {percent} % of the silhouette differs"


def changed_words(built: Result, target: str, kind: str) -> str:
    """How much of the picture differs: "1240 sq arcmin", "" where it was not measured."""
    area = _value(built, target, kind, "changed_arcmin2")
    if not isinstance(area, float | int):
        return ""
    return f"{plain(float(area), 0 if area >= 10 or area == 0 else 1)} sq arcmin"


def is_same(built: Result, target: str, kind: str) -> bool:
    """Whether picture and twin cannot be told apart by anything drawn."""
    return _value(built, target, kind, "level") == SAME


def _tells(cue: Value) -> str:
    """What a player sees of a cue, in words; "" where no cue is named."""
    return CUE_RULES[cue].tells if isinstance(cue, str) and cue in CUE_RULES else ""


def _value(result: Result, target: str, kind: str, key: str) -> Value:
    return result.reading.values.get(("twins", target, kind, key))
