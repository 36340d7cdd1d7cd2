"""What is wrong in a file, as plain sentences: every complaint at once, each with its place.

pydantic's errors give kind, path and found value as data; the sentence is made from these and from
the model's own annotations, so that what is allowed is always said in full:
`quay.toml: gap "two to three": reach_m is -1, must be above 0.`
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from stationpoint.base.allowed import (
    BOUNDS,
    MISSING,
    MOST_BITS,
    allowed,
    annotated,
    bare,
    bounds_of,
    bounds_said,
    choices_of,
    field_of,
    is_model,
    item_of,
    keys_of,
    members_of,
    one_of,
    quoted_value,
    written,
)
from stationpoint.base.words import listed, nearest

__all__ = ["RULE", "Loc", "entry_label", "entry_name", "quoted_value", "sentences", "ticked", "unknown_word"]

RULE = "rule"  # the kind of an error whose "says" is a finished sentence of ours
MOST_NAMED = 24  # names in a list of all that are known
CALLED_BY = ("name", "file", "reading")  # keys that an entry is known by

Loc = tuple[str | int, ...]  # a path in data: ("gap", 0, "reach_m")


def sentences(
    error: ValidationError,
    data: Mapping[str, object],
    file_name: str,
    model: type[BaseModel],
    options: Mapping[Loc, str] | None = None,
) -> list[str]:
    """Every complaint of `error` as one sentence, in the order of the file's model, none twice.

    data: what was validated, as read from the file. model: what it was validated against.
    options: places in the data that a command-line option filled -> the option, named instead of
    the file.
    """
    found = {
        f"{_source(details['loc'], options or {}) or file_name}: {line}": None
        for details in error.errors(include_url=False)
        for line in _complaint(details, data, model)
    }
    return list(found)


def _source(loc: Loc, options: Mapping[Loc, str]) -> str | None:
    return next((option for place, option in options.items() if loc[: len(place)] == place), None)


def unknown_word(word: str, known: Sequence[str], what: str, slips: Mapping[str, str] | None = None) -> str:
    """`rech_m` is not WHAT; did you mean `reach_m`? - or, with nothing near, all that there are.

    slips: words (in small letters) that people write for a known one -> that one.
    """
    near = (slips or {}).get(word.lower()) or nearest(word, known)
    if near is not None:
        return f"{ticked(word)} is not {what}; did you mean {ticked(near)}?"
    named = [ticked(name) for name in known[:MOST_NAMED]]
    if len(known) > MOST_NAMED:
        named.append(f"{len(known) - MOST_NAMED} more")
    return f"{ticked(word)} is not {what}; known: {listed(named) if named else 'none'}."


def entry_name(table: str, index: int, entry: object) -> str:
    """An entry of a list of tables as the user knows it: `gap "two to three"`, else `target 2`."""
    called = entry_label(entry)
    return f"{table} {quoted_value(called)}" if called else f"{table} {index + 1}"


def entry_label(entry: object) -> str:
    """What an entry is called in its file, "" if nothing."""
    found = [entry.get(key) for key in CALLED_BY] if isinstance(entry, Mapping) else []
    return next((called for called in found if isinstance(called, str) and called.strip()), "")


@dataclass
class _Spot:
    """Where a complaint points: entry names from the outside in, key, its value, what it may be."""

    entry: list[str]
    key: str
    value: object
    kind: object
    model: type[BaseModel]

    def says(self, words: str) -> str:
        return ": ".join([*self.entry, words])


def _complaint(details: ErrorDetails, data: Mapping[str, object], model: type[BaseModel]) -> Iterator[str]:
    spot = _spot(details["loc"], data, model)
    context = details.get("ctx", {})
    if details["type"] == "extra_forbidden":
        yield spot.says(_unknown_key(spot, model))
    elif details["type"] == RULE or details["type"] in ("value_error", "assertion_error"):
        for line in str(context.get("says") or context.get("error") or "is wrong").splitlines():
            yield spot.says(_ended(_with_key(spot, line)))
    elif details["type"] in ("union_tag_invalid", "union_tag_not_found"):
        yield spot.says(_wrong_tag(spot, context))
    elif spot.value is MISSING:
        yield spot.says(f"{spot.key} is missing, must be {allowed(spot.kind)}.")
    else:
        yield _wrong_value(spot)


def _with_key(spot: _Spot, line: str) -> str:
    """A rule that starts with "must" is about the key's value; any other is a sentence of its own."""
    if not line.startswith("must "):
        return line
    return f"{spot.key} is {quoted_value(spot.value)}, {line}" if spot.key else line


def _ended(line: str) -> str:
    return line if line.endswith((".", "?")) else line + "."


def _unknown_key(spot: _Spot, top: type[BaseModel]) -> str:
    known, slips = keys_of(spot.model), getattr(spot.model, "slips", {})
    if spot.key.lower() not in slips and nearest(spot.key, known) is None:
        if spot.entry and spot.key in keys_of(top):
            return (
                f"{ticked(spot.key)} is not a key here; it belongs at the top of the file, above all tables."
            )
        tables = [table for table, inner in _tables(top) if spot.key in keys_of(inner)]
        if len(tables) == 1:
            return f"{ticked(spot.key)} is not a key here; it belongs in {tables[0]}."
    return unknown_word(spot.key, known, "a key here", slips)


def _wrong_tag(spot: _Spot, context: Mapping[str, object]) -> str:
    key = str(context.get("discriminator", "")).strip("'")
    value = spot.value.get(key, MISSING) if isinstance(spot.value, Mapping) else MISSING
    members = [kind for kind in members_of(bare(spot.kind)[0]) if is_model(kind)]
    tags = [tag for kind in members for tag in _tags(kind, key)]
    found = "missing" if value is MISSING else quoted_value(value)
    return f"{key} is {found}, must be {one_of(tags)}."


def _wrong_value(spot: _Spot) -> str:
    where = ": ".join([*spot.entry, spot.key]) if not spot.key else spot.says(spot.key)
    where = where.removesuffix(": ") or "the file"
    item = item_of(spot.kind)
    if item is not None and _contains_model(item) and isinstance(spot.value, Mapping):
        return f"{where} is one table, must be a list of tables: write [[{spot.key}]]."
    if is_model(bare(spot.kind)[0]) and isinstance(spot.value, list) and spot.entry == []:
        return f"{where} is a list of tables, must be one table: write [{spot.key}]."
    bounded = _broken_bound(spot.value, spot.kind) or _not_finite(spot.value, spot.kind)
    words = [one for one in choices_of(spot.kind) if isinstance(one, str)]
    near = nearest(spot.value, words, 0.75) if isinstance(spot.value, str) else None
    meant = f"; did you mean {quoted_value(near)}?" if near else "."
    return f"{where} is {quoted_value(spot.value)}, must be {bounded or allowed(spot.kind)}{meant}"


def _broken_bound(value: object, kind: object) -> str | None:
    """The one bound that a number breaks; None where its kind is what is wrong."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    plain, metadata = bare(kind)
    if plain not in (int, float) or (plain is int and isinstance(value, float)):
        return None
    if isinstance(value, float) and not isfinite(value):
        return f"a finite number{bounds_said(metadata)}"
    for name, words in BOUNDS:
        for bound in bounds_of(metadata, name):
            held = {"gt": value > bound, "ge": value >= bound, "lt": value < bound, "le": value <= bound}
            if not held[name]:
                return f"{words} {written(bound)}"
    too_long = isinstance(value, int) and value.bit_length() > MOST_BITS
    return "a number of at most 308 digits" if too_long else None


def _not_finite(value: object, kind: object) -> str | None:
    """What a list of numbers must be, where one of them is not a finite number."""
    pieces = value if isinstance(value, list | tuple) else ()
    if any(isinstance(piece, float) and not isfinite(piece) for piece in pieces):
        return allowed(kind).replace("numbers", "finite numbers", 1)
    return None


# ---- walking a path through data and model ------------------------------------------------------


def _spot(loc: Sequence[str | int], data: Mapping[str, object], model: type[BaseModel]) -> _Spot:
    """Follow pydantic's path; stop where the rest of it is the inside of one value."""
    spot = _Spot([], "", data, model, model)
    table = ""
    for part in loc:
        plain = bare(spot.kind)[0]
        members = members_of(plain)
        if len(members) > 1:
            models = [kind for kind in members if is_model(kind)]
            if not models:
                break  # a branch's name: the value is complained about whole
            spot.kind = next((kind for kind in models if _has_tag(kind, part)), models[0])
        elif is_model(plain):
            spot.model = plain  # type: ignore[assignment]
            field = field_of(spot.model, part)
            spot.key = table = str(part)
            if field is None:
                spot.value, spot.kind = _inside(spot.value, part), object
                break
            spot.value = _inside(spot.value, field.alias or part, part)
            spot.kind = annotated(field)
            if is_model(bare(spot.kind)[0]) and isinstance(spot.value, Mapping):
                spot.entry.append(table)
                spot.key = ""
        elif item_of(plain) is not None:
            spot.value, spot.kind = _inside(spot.value, part), item_of(plain)
            if _contains_model(spot.kind):
                spot.entry.append(entry_name(table, int(part), spot.value))
                spot.key = ""
            else:
                spot.key = f"{spot.key}, item {int(part) + 1},"
        elif get_origin(plain) is dict:
            if part == "[key]":
                break
            spot.value, spot.kind = _inside(spot.value, part), get_args(plain)[1]
            spot.key = f"{spot.key} {quoted_value(part)}"
        else:
            break
    return spot


def _inside(value: object, *parts: str | int) -> object:
    for part in parts:
        if isinstance(value, Mapping) and part in value:
            return value[part]
        if isinstance(value, Sequence) and isinstance(part, int) and part < len(value):
            return value[part]
    return MISSING


def _tables(model: type[BaseModel]) -> Iterator[tuple[str, type[BaseModel]]]:
    """The tables of a file as they are headed, [camera] or [[gap]], each with its model."""
    for name, field in model.model_fields.items():
        item = item_of(field.annotation)
        inner = bare(item or field.annotation)[0]
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            heading = f"[{field.alias or name}]"
            yield (f"[{heading}]" if item else heading), inner


def _has_tag(kind: object, tag: object) -> bool:
    fields = kind.model_fields.values() if is_model(kind) else ()  # type: ignore[attr-defined]
    return getattr(kind, "__name__", "") == tag or any(
        tag in choices_of(field.annotation) for field in fields
    )


def _tags(kind: object, key: str) -> tuple[object, ...]:
    return choices_of(kind.model_fields[key].annotation)  # type: ignore[attr-defined]


def _contains_model(kind: object) -> bool:
    return any(is_model(member) for member in members_of(bare(kind)[0]))


def ticked(word: str) -> str:
    """A word as it must be written in a file, set apart: ticked("seen") gives "`seen`"."""
    return f"`{json.dumps(word, ensure_ascii=False)[1:-1]}`"
