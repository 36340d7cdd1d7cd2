"""Cameras named by what sets them apart from others: "35 and 50 mm in perspective"."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from stationpoint.base.words import listed
from stationpoint.sheet.wording import setting_words

Camera = Mapping[str, Any]  # what is swept of it, value by field
PROJECTION, RATIO = "projection", "oblique_ratio"
# Fields in the order in which they are said; others stand before the projection, in the sweep's order.
FIRST = (
    "focal_mm",
    "hfov_deg",
    "vfov_deg",
    "dfov_deg",
    "view_height_m",
    "distance_m",
    "pitch_deg",
    "yaw_deg",
)
_AFTER = {"distance_m": "at {}", "pitch_deg": "at {}", "yaw_deg": "at {}", PROJECTION: "in {}"}


def cameras_words(those: Sequence[Camera], others: Sequence[Camera]) -> str:
    """What `those` cameras have in common that none of the `others` has, one name each, those that share all
    but one value together; fields that set none apart are left out.

    Worked: 35 and 50 mm in perspective, of four lenses in two projections, give "35 and 50 mm in
    perspective"; all four of them "perspective".
    """
    fields = _telling(_ordered(those, others), those, others)
    if not fields:
        return ""
    chosen = list(dict.fromkeys(_values(camera, fields) for camera in those))
    every = list(dict.fromkeys([*chosen, *(_values(camera, fields) for camera in others)]))
    groups: dict[tuple[str, ...], list[str]] = {}
    for one in chosen:
        groups.setdefault(one[1:], []).append(one[0])
    alike: dict[tuple[str, ...], list[tuple[str, ...]]] = {}
    for rest, firsts in groups.items():
        is_whole = (
            bool(rest) and len(firsts) == sum(tuple(one[1:]) == rest for one in every) and len(firsts) > 1
        )
        alike.setdefault(() if is_whole else tuple(firsts), []).append(rest)
    return listed(_said(fields, firsts, rests) for firsts, rests in alike.items())


def _said(fields: Sequence[str], firsts: Sequence[str], rests: Sequence[tuple[str, ...]]) -> str:
    """One group: "35 and 50 mm in perspective"; without first values "perspective"."""
    heads = _merged(firsts)
    if len(fields) == 1:
        return heads
    if len(fields) == 2:
        values = _merged([rest[0] for rest in rests])
        return f"{heads} {_after(fields[1], values)}" if firsts else values
    named = [" ".join(_after(f, v) for f, v in zip(fields[1:], rest, strict=True)) for rest in rests]
    return f"{heads} {listed(named)}" if firsts else listed(name.partition(" ")[2] for name in named)


def _after(field: str, values: str) -> str:
    """A value as it follows another one: "at 8 m", "in perspective"."""
    words = values.removesuffix(" away") if field == "distance_m" else values
    return _AFTER.get(field, "with {}").format(words)


def _merged(values: Sequence[str]) -> str:
    """Values with what begins or ends them all said once: "24, 35 and 50 mm", "pitch 12° and 28° down"."""
    parts = [value.split(" ") for value in values]
    if len(parts) < 2 or len({len(one) for one in parts}) > 1:
        return listed(values)
    differ = [k for k in range(len(parts[0])) if len({one[k] for one in parts}) > 1]
    if len(differ) != 1:
        return listed(values)
    k = differ[0]
    return " ".join([*parts[0][:k], listed(one[k] for one in parts), *parts[0][k + 1 :]])


def _ordered(those: Sequence[Camera], others: Sequence[Camera]) -> list[str]:
    """The fields of these cameras in the order in which they are said."""
    found = list(dict.fromkeys(field for camera in (*those, *others) for field in camera))
    last = [field for field in (PROJECTION, RATIO) if field in found]
    middle = [field for field in found if field not in (*FIRST, *last)]
    return [*(field for field in FIRST if field in found), *middle, *last]


def _telling(fields: list[str], those: Sequence[Camera], others: Sequence[Camera]) -> list[str]:
    """As few of the fields as set these cameras apart from the others, the lens and the projection kept
    longest."""
    last = [field for field in (PROJECTION, *FIRST[:4]) if field in fields]
    kept = fields
    for field in sorted(fields, key=lambda one: (one in last, -fields.index(one))):
        fewer = [one for one in kept if one != field]
        if fewer and not {_key(c, fewer) for c in those} & {_key(c, fewer) for c in others}:
            kept = fewer
    return [field for field in kept if field != RATIO or PROJECTION not in kept]


def _key(camera: Camera, fields: Sequence[str]) -> tuple[str, ...]:
    return tuple(repr(camera.get(field)) for field in fields)


def _values(camera: Camera, fields: Sequence[str]) -> tuple[str, ...]:
    """A camera's values in words."""
    return tuple(_value(camera, field) for field in fields)


def _value(camera: Camera, field: str) -> str:
    """A value in words; an oblique view's ratio is one with its projection."""
    value = camera.get(field)
    ratio = camera.get(RATIO)
    if field == PROJECTION and value == "oblique" and ratio is not None:
        return f"{setting_words(RATIO, ratio)} oblique"
    return setting_words(field, value)
