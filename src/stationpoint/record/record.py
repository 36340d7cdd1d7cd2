"""Flat readings -> the nested record and back: the only place that nests."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from math import isfinite
from typing import TypeAlias, cast

from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import TOOL
from stationpoint.camera import Setup
from stationpoint.readings import CameraVerdict, Field, Fields, Finding, Path, Result, Verdict
from stationpoint.study import OptionEnd

Json: TypeAlias = bool | int | float | str | list["Json"] | dict[str, "Json"] | None
Record: TypeAlias = dict[str, Json]

UNBOUND_DECIMALS = 5  # of values in verdicts, whose field is not at hand
_json = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode  # made once: json.dumps makes it anew
_named = lru_cache(maxsize=4096)(_json)  # names come again in every row
NO_READINGS = frozenset({"variant", "place", "option", "picture", "matrices"})  # of a row
MOST_VALUES = 4_000_000  # of a record that is read back
BROKEN_DEPTH = 4  # record, rows, row and group are broken into lines; what lies deeper is one line


@dataclass(frozen=True, slots=True)
class Setting:
    """One entry of a variant's settings: the Setup's attribute, its unit, decimals and meaning."""

    name: str
    attribute: str
    unit: str
    decimals: int
    says: str


AWAY = (
    "From the anchor along the sightline, before any offset; 0 in first person, "
    "null where a file's camera does not have it in front."
)
SETTINGS = (
    Setting("projection", "projection", "", 0, "perspective, orthographic or oblique."),
    Setting("focal_mm", "focal_mm", "mm", 5, "Focal length on the gate."),
    Setting("hfov_deg", "hfov_deg", "deg", 4, "Horizontal angle of view."),
    Setting("vfov_deg", "vfov_deg", "deg", 4, "Vertical angle of view."),
    Setting("dfov_deg", "dfov_deg", "deg", 4, "Diagonal angle of view."),
    Setting("view_height_m", "view_height_m", "m", 5, "Whole height of a parallel view."),
    Setting("distance_m", "distance_m", "m", 5, AWAY),
    Setting("pitch_deg", "pitch_deg", "deg", 4, "Positive: camera above, looking down."),
    Setting("yaw_deg", "yaw_deg", "deg", 4, "Positive: heading turns left seen from above."),
    Setting(
        "roll_deg",
        "roll_deg",
        "deg",
        4,
        "Turn about the sightline; positive: clockwise seen from behind the camera.",
    ),
    Setting(
        "offset",
        "offset",
        "",
        7,
        "Where the anchor sits, fractions from the centre, right and up; null where it falls nowhere.",
    ),
    Setting("offset_by", "offset_by", "", 0, "slide, turn or shift: how the offset is made."),
    Setting("aspect", "aspect_words", "", 0, "Width to height of the picture, as written."),
    Setting("pixels", "pixels", "px", 0, "Width and height of the first viewing's picture."),
    Setting("gate_mm", "gate_mm", "mm", 5, "Width and height of the gate."),
    Setting("fit", "fit", "", 0, "What of the gate the picture fills: width, height or diagonal."),
    Setting("oblique_ratio", "oblique_ratio", "", 5, "Drawn over true length of receding lines."),
    Setting("oblique_angle_deg", "oblique_angle_deg", "deg", 4, "Direction of receding lines on screen."),
    Setting("anchor_m", "anchor_m", "m", 5, "What the camera is aimed at, world, at the first place."),
)


def plain(value: object, decimals: int) -> Json:
    """A value as JSON knows it: rounded, tuples as lists, no NaN, no infinity, no minus zero."""
    if isinstance(value, float):  # first: most are
        if not isfinite(value):
            return None
        return round(value) if decimals == 0 else round(value, decimals) + 0.0
    if value is None or isinstance(value, (str, int)):
        return value
    if isinstance(value, Mapping):
        return {str(name): plain(one, decimals) for name, one in value.items()}
    if isinstance(value, (tuple, list)):
        return [plain(one, decimals) for one in value]
    if hasattr(value, "tolist"):  # an array or one of its numbers
        return plain(value.tolist(), decimals)
    raise TypeError(f"a {type(value).__name__} is no value for a record")


def settings(setup: Setup) -> dict[str, Json]:
    """The solved settings of a variant, None where one does not apply."""
    return {one.name: plain(getattr(setup, one.attribute), one.decimals) for one in SETTINGS}


def matrix(rows: Sequence[Sequence[float]]) -> list[Json]:
    """A matrix, row by row, of 9 significant digits."""
    return [[float(f"{value:.9g}") + 0.0 for value in row] for row in rows]


def nested(values: Mapping[Path, object], fields: Fields) -> dict[str, Json]:
    """Flat readings as groups within groups, rounded to each field's decimals."""
    result: dict[str, Json] = {}
    groups: dict[Path, dict[str, Json]] = {}
    for path, value in values.items():
        names, last = path[:-1], path[-1]
        group = groups.get(names)
        if group is None:
            group = groups[names] = _group_of(names, result)
        if last in group:
            raise ValueError(f"the reading {'.'.join(path)} lies around another one")
        if value is None:
            group[last] = None
            continue
        field = fields.at(path)
        if field is None:
            raise ValueError(f"no field describes the reading {'.'.join(path)}")
        group[last] = _parts(value, field) if field.parts else plain(value, field.decimals)
    return result


def _group_of(names: Sequence[str], result: dict[str, Json]) -> dict[str, Json]:
    """The group of these names within groups, made where there is none."""
    group = result
    for name in names:
        inner = group.setdefault(name, {})
        if not isinstance(inner, dict):
            raise ValueError(f"a reading of {'.'.join(names)} lies within another one")
        group = inner
    return group


def _parts(value: object, field: Field) -> Json:
    """A list of groups, each rounded to the decimals of its parts."""
    known = Fields(field.parts)
    return [nested({(name,): one for name, one in group.items()}, known) for group in _groups(value)]


def _groups(value: object) -> Iterator[Mapping[str, object]]:
    for group in value if isinstance(value, tuple) else ():
        if isinstance(group, Mapping):
            yield group


def flat(row: Mapping[str, Json], fields: Fields) -> dict[Path, Json]:
    """The readings of a record's row as path -> value: the inverse of `nested`, lists kept."""
    result: dict[Path, Json] = {}

    def walk(path: Path, group: Mapping[str, Json]) -> None:
        for name, one in group.items():
            here = (*path, name)
            if isinstance(one, dict) and fields.at(here) is None:
                walk(here, one)
            else:
                result[here] = one

    walk((), {name: one for name, one in row.items() if name not in NO_READINGS})
    return result


def make_record(
    results: Sequence[Result],
    *,
    title: str,
    study_sha256: str,
    renderer: str | None,
    version: str,
    fields: Iterable[Field],
    verdicts: Mapping[str, Verdict] | None = None,
    fonts: Sequence[Mapping[str, str]] = (),
    notes: Sequence[str] = (),
    cameras: Sequence[CameraVerdict] | None = None,
    decision: Mapping[str, str | None] | None = None,
    remarks: Mapping[str, str] | None = None,
    with_options: bool | None = None,
    rigs: Sequence[Mapping[str, Json]] = (),
) -> Record:
    """The record of a run: variants in order of first appearance, one row a result.

    fonts: name and digest of each font file that the study names. notes: sentences on what is null, guessed
    and assumed. cameras: None where each is judged once. decision: the study's, with its variant's
    label. remarks: variant label -> what the study notes of it. with_options: whether rows say how players
    have set the camera, None where the results tell. rigs: as the study writes them.
    """
    known = Fields(fields)
    firsts: dict[str, Result] = {}
    for result in results:
        firsts.setdefault(result.variant.label, result)
    variants: list[Json] = [
        record_variant(result, (remarks or {}).get(label, "")) for label, result in firsts.items()
    ]
    if with_options is None:
        with_options = any(result.variant.option is not None for result in results)
    study: Record = {"title": title, "sha256": study_sha256}
    if fonts:
        study["fonts"] = [dict(font) for font in fonts]
    if decision is not None:
        study["decision"] = dict(decision)
    if rigs:
        study["rig"] = [dict(rig) for rig in rigs]
    return {
        "tool": {"name": TOOL, "version": version},
        "study": study,
        "renderer": renderer,
        "variants": variants,
        "notes": list(notes),
        "cameras": None if cameras is None else [_camera(one, with_options) for one in cameras],
        "rows": [record_row(result, known, with_options) for result in results],
        "verdicts": [record_verdict(verdict, with_options) for verdict in (verdicts or {}).values()],
    }


def record_variant(result: Result, note: str) -> Json:
    """A variant of a record, from its first result. note: what the study notes of it."""
    variant = result.variant
    said: Record = {"id": variant.label, "key": variant.key, "settings": settings(result.setup)}
    return said | {"note": note} if note else said


def record_row(result: Result, fields: Fields, with_option: bool) -> Json:
    """A row of a record. with_option: whether it says how players have set the camera."""
    camera = result.setup.camera
    option = {"option": _option(result.variant.option)} if with_option else {}
    return {
        "variant": result.variant.label,
        "place": result.place.name,
        **option,
        "picture": result.picture_shape,
        "matrices": {"view": matrix(camera.view.tolist()), "projection": matrix(camera.projection.tolist())},
        **nested(result.reading.values, fields),
    }


def _option(option: OptionEnd | None) -> str | None:
    return None if option is None else option.said


def _camera(judged: CameraVerdict, with_option: bool) -> Json:
    bound = judged.binds
    binds = None if bound is None else {"variant": judged.variant, **_finding(bound, with_option)}
    return {
        "key": judged.camera.key,
        "head": judged.camera.head,
        "variants": list(judged.camera.variants),
        "holds": judged.holds,
        "score": plain(judged.score, UNBOUND_DECIMALS),
        "binds": binds,
        "failed_at": judged.failed_at,
        "of": judged.of,
    }


def record_verdict(verdict: Verdict, with_option: bool) -> Json:
    """A verdict of a record. with_option: as of rows."""
    return {
        "variant": verdict.variant,
        "holds": verdict.holds,
        "score": plain(verdict.score, UNBOUND_DECIMALS),
        "binds": None if verdict.binds is None else _finding(verdict.binds, with_option),
        "failed": [_finding(finding, with_option) for finding in verdict.failed],
        "told": [_finding(finding, with_option) for finding in verdict.told],
    }


def _finding(finding: Finding, with_option: bool) -> dict[str, Json]:
    bounds = finding.limit.model_dump(
        mode="json", by_alias=True, exclude_none=True, include={"min", "max", "is_", "not_", "one_of"}
    )
    return {
        "reading": finding.reading,
        "place": finding.place,
        **({"option": _option(finding.option)} if with_option else {}),
        "viewing": finding.viewing,
        "value": plain(finding.value, UNBOUND_DECIMALS),
        "limit": plain(bounds, UNBOUND_DECIMALS),
    }


def record_text(whole: Record) -> str:
    """The record as JSON text: fixed order, a line for each thing measured, one newline at the end."""
    return writable(lines_of(whole, 0) + "\n")


def writable(text: str) -> str:
    """Text that UTF-8 can hold: half a surrogate pair, which names may carry, becomes "?"."""
    return text.encode("utf-8", "replace").decode("utf-8")


def lines_of(value: Json, depth: int) -> str:
    """JSON text of a part of a record that lies so deep in it."""
    if depth == BROKEN_DEPTH or not isinstance(value, (dict, list)) or not value:
        return _json(value)
    pad = "\n" + " " * (depth + 1)
    if isinstance(value, list):
        body = [lines_of(one, depth + 1) for one in value]
        return f"[{pad}{f',{pad}'.join(body)}{pad[:-1]}]"
    body = [f"{_named(name)}: {lines_of(one, depth + 1)}" for name, one in value.items()]
    return f"{{{pad}{f',{pad}'.join(body)}{pad[:-1]}}}"


def record_hash(text: str) -> str:
    """The first 10 hex digits of the text's SHA-256, as a sheet prints them."""
    return sha256(text.encode("utf-8")).hexdigest()[:10]


def read_record(text: str, name: str = "the record") -> Record:
    """A record from its text; StudyWrong where the text is none."""

    def no_number(word: str) -> None:
        raise ValueError(word)

    if text.count(",") + text.count("[") + text.count("{") > MOST_VALUES:  # each may take 200 bytes
        raise StudyWrong(f"{name} holds a record of more than {MOST_VALUES} values; so many are not read.")
    try:
        whole = json.loads(text, parse_constant=no_number)
    except (ValueError, RecursionError) as error:
        raise StudyWrong(f"{name} is not JSON; give a record that stationpoint wrote.") from error
    tool = whole.get("tool") if isinstance(whole, dict) else None
    if not (
        isinstance(tool, dict)
        and tool.get("name") == TOOL
        and isinstance(tool.get("version"), str)
        and isinstance(whole.get("renderer", 0), str | None)
        and isinstance(whole.get("variants"), list)
        and isinstance(whole.get("rows"), list)
        and all(isinstance(one, dict) for one in whole["variants"] + whole["rows"])
    ):
        raise StudyWrong(f"{name} is JSON but no record; give one that stationpoint wrote.")
    return cast(Record, whole)
