"""The JSON Schema of a record (2020-12), made from the fields and settings that the code knows."""

from __future__ import annotations

import json
from collections.abc import Iterable

from stationpoint.base.words import TOOL
from stationpoint.readings import Field
from stationpoint.record.record import SETTINGS, Json, Setting

DIALECT = "https://json-schema.org/draft/2020-12/schema"
Schema = dict[str, Json]


def record_schema(fields: Iterable[Field]) -> Schema:
    """The schema of a record whose readings are `fields`. Readings may be added, never renamed."""
    number_rows: Json = {"type": "array", "items": {"type": "number"}, "minItems": 4, "maxItems": 4}
    matrix: Json = {"type": "array", "items": number_rows, "minItems": 4, "maxItems": 4}
    row = _object(
        {
            "variant": _text("The variant's label."),
            "place": _text("The place's name; here is the study as it stands."),
            "picture": _text("The picture's shape."),
            "matrices": _object({"view": matrix, "projection": matrix}),
        }
    )
    option: Json = {
        "type": ["string", "null"],
        "description": "The end of the study's options that the camera is at, as hfov_deg=110; null as the "
        "study has it. Where the study has options.",
    }
    readings = _readings(fields)
    properties = row["properties"]
    assert isinstance(properties, dict)
    row["properties"] = properties | {"option": option} | readings
    finding_keys: dict[str, Json] = {
        "reading": _text("Path of the reading, joined by dots."),
        "place": _text("The place where it was found."),
        "viewing": {"type": ["string", "null"]},
        "value": True,
        "limit": {"type": "object", "description": "min, max, is, not or one_of."},
    }
    finding = _object(finding_keys)
    bound = _object({"variant": _text("The variant that it is of.")} | finding_keys)
    for one in (finding, bound):
        known = one["properties"]
        assert isinstance(known, dict)
        known["option"] = option
    findings: Json = {"type": "array", "items": finding}
    verdict = _object(
        {
            "variant": _text("The variant's label."),
            "holds": {"type": ["boolean", "null"], "description": "Whether every must holds."},
            "score": {"type": ["number", "null"], "description": "The worst margin of a must."},
            "binds": {"anyOf": [finding, {"type": "null"}], "description": "The must that decides."},
            "failed": findings,
            "told": findings,
        }
    )
    camera = _object(
        {
            "key": _text("As a variant's, made from its settings without place, viewing and swept light."),
            "head": _text(
                "Where it stands: the letter of a whole row, the number of a whole column, else the label of "
                "its cell or of its first variant; its page's number and - before it where it is on one of "
                "several pages."
            ),
            "variants": {"type": "array", "items": {"type": "string"}, "description": "Their labels."},
            "holds": {
                "type": ["boolean", "null"],
                "description": "Whether each of its variants holds; null where nothing was judged.",
            },
            "score": {"type": ["number", "null"], "description": "The worst of theirs."},
            "binds": {"anyOf": [bound, {"type": "null"}], "description": "The must that decides."},
            "failed_at": {
                "type": ["integer", "null"],
                "description": "At how many of `of` at least one must fails: a reading of the picture fails "
                "for every viewing that sees it and that its limit is about. Null where nothing was judged.",
            },
            "of": {
                "type": "integer",
                "description": "How many there are of variant, place, viewing and option together.",
            },
        }
    )
    variant = _object(
        {
            "id": _text("Row letter and column number, with the page before them where there are pages."),
            "key": _text("Made from the settings; stays when the sweep grows."),
            "settings": _object({one.name: _setting(one) for one in SETTINGS}),
        }
    )
    variant_keys = variant["properties"]
    assert isinstance(variant_keys, dict)
    variant_keys["note"] = _text("What the study notes of it, where it does.")
    font = _object({"file": {"type": "string"}, "sha256": {"type": "string"}})
    fonts: Json = {
        "type": "array",
        "description": "The study's own fonts, where it names some.",
        "items": font,
    }
    or_null: Json = {"type": ["string", "null"]}
    keys = {"chosen": _text("The key of the variant taken."), "variant": or_null}
    decision: Json = {
        **_object({**keys, "by": or_null, "because": or_null, "on": or_null}),
        "description": "The study's decision, where it has one. variant: label of the one taken, null where "
        "the sweep has none of that key. by, because, on: as written.",
    }
    rig: Json = {
        "type": "array",
        "description": "The study's rigs, where it has some: how its cameras follow, as written.",
        "items": {"type": "object"},
    }
    study: Schema = {
        "type": "object",
        "properties": {
            "title": {"type": "string"},
            "sha256": {"type": "string"},
            "fonts": fonts,
            "decision": decision,
            "rig": rig,
        },
        "required": ["title", "sha256"],
    }
    whole = _object(
        {
            "tool": _object({"name": {"const": TOOL}, "version": {"type": "string"}}),
            "study": study,
            "renderer": {
                "type": ["string", "null"],
                "description": "What drew and counted: gl or rays; null where nothing had to be drawn.",
            },
            "variants": {"type": "array", "items": variant},
            "notes": {
                "type": "array",
                "items": {"type": "string"},
                "description": "What was guessed and assumed, what is odd, what is null and why: sentences.",
            },
            "cameras": {
                "type": ["array", "null"],
                "items": camera,
                "description": "What is one camera to a player: variants alike but for place, viewing and "
                "light, judged by the worst. Null where each is judged once.",
            },
            "rows": {"type": "array", "items": row},
            "verdicts": {"type": "array", "items": verdict},
        }
    )
    whole_properties = whole["properties"]
    assert isinstance(whole_properties, dict)
    whole_properties["solve"] = _solve()
    return {"$schema": DIALECT, "title": f"Record of {TOOL}", **whole}


def _solve() -> Schema:
    """What a record of `solve` alone has: how it searched."""
    ends: Json = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
    given_up = _object(
        {
            "limits": {
                "type": "array",
                "items": {"type": "object"},
                "description": "The musts without which it holds, as a study writes them.",
            },
            "variant": _text("The label of the set-up that then holds."),
            "margin": {
                "type": "number",
                "description": "By how much the worst of them fails there, over the limit.",
            },
        }
    )
    said = _object(
        {
            "evaluations": {"type": "integer", "description": "How many set-ups were tried."},
            "varied": {
                "type": "object",
                "additionalProperties": ends,
                "description": "Each varied field with the ends of its range.",
            },
            "holds": {
                "type": ["object", "null"],
                "additionalProperties": {"type": "array", "items": ends},
                "description": "Of one varied field the stretches that hold; of several, for each the "
                "stretch that the holding set-ups lie in. Null where none holds.",
            },
            "give_up": {
                "type": ["array", "null"],
                "items": given_up,
                "description": "Where none holds: what to give up, the way that asks the least first.",
            },
        }
    )
    return said | {"description": "How the set-ups were found; only in a record of solve."}


def schema_text(fields: Iterable[Field]) -> str:
    """The schema as JSON text."""
    return json.dumps(record_schema(fields), indent=1, ensure_ascii=False) + "\n"


def _object(properties: dict[str, Json]) -> Schema:
    return {"type": "object", "properties": properties, "required": list(properties)}


def _text(says: str) -> Json:
    return {"type": "string", "description": says}


def _setting(one: Setting) -> Json:
    kinds: list[Json] = ["number", "array", "null"] if one.unit or one.decimals else ["string", "null"]
    entry: Schema = {"type": kinds, "description": one.says}
    if "array" in kinds:
        entry["items"] = {"type": "number"}
    if one.unit:
        entry["unit"] = one.unit
    return entry


def _readings(fields: Iterable[Field]) -> dict[str, Json]:
    """Properties of a row, nested as the paths are; "*" becomes any name."""
    top: Schema = {}
    for field in fields:
        holder: Schema = {"properties": top}
        for name in field.path[:-1]:
            holder = _within(holder, name)
        _put(holder, field.path[-1], _value(field))
    return top


def _within(holder: Schema, name: str) -> Schema:
    """The schema of what `name` holds, made an object if it is new."""
    fresh: Schema = {"type": ["object", "null"]}
    if name == "*":
        inner = holder.setdefault("additionalProperties", fresh)
    else:
        properties = holder.setdefault("properties", {})
        assert isinstance(properties, dict)
        inner = properties.setdefault(name, fresh)
    assert isinstance(inner, dict)
    return inner


def _put(holder: Schema, name: str, entry: Schema) -> None:
    if name == "*":
        holder["additionalProperties"] = entry
        return
    properties = holder.setdefault("properties", {})
    assert isinstance(properties, dict)
    properties[name] = entry


def _value(field: Field) -> Schema:
    """What a reading may be.

    One with a unit or decimals is a number, numbers, or numbers by name; words that its sentence
    quotes are values too.
    """
    says = field.says + (f" Null: {field.null}." if field.null else "")
    entry: Schema = {"description": says, "source": field.source}
    if field.unit:
        entry["unit"] = field.unit
    if field.parts:
        kind: Json = ["array", "null"] if field.null else "array"
        entry |= {"type": kind, "items": _object({part.path[0]: _value(part) for part in field.parts})}
        return entry
    if field.path[-1].endswith("_xy"):
        entry |= {"type": ["array", "null"], "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
    elif (field.unit or field.decimals) and len(field.path) > 1:
        kinds: list[Json] = ["number", "array", "object", "null"]
        entry["type"] = [*kinds, "string"] if '"' in field.says else kinds
    return entry
