"""What a value of a model may be, in words; and found values, as a person wrote them.

Read off the models' annotations, so that a complaint names every choice and every bound.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, Field
from pydantic.fields import FieldInfo

from stationpoint.base.words import listed

FARTHEST_M = 1e9  # of anything from the origin
MOST_SHOWN = 60  # characters of a found value
MOST_BITS = 1024  # of a whole number that is shown; Python refuses to write very long ones
NUMBERS = {2: "two numbers", 3: "three numbers [x, y, z]", 4: "four numbers"}
BOUNDS = (("gt", "above"), ("ge", "at least"), ("lt", "below"), ("le", "at most"))
MISSING = object()


@dataclass(frozen=True, slots=True)
class Said:
    """In a kind's annotations: what its values may be, in words, where its kind alone does not say it."""

    words: str


Colour = Annotated[str, Field(pattern=r"^#[0-9A-Fa-f]{6}$"), Said('a colour in sRGB such as "#D55E00"')]


def quoted_value(value: object) -> str:
    """A found value as a person wrote it, cut to a readable length: shown([1, "a"]) is `[1, "a"]`."""
    text = written(value)
    return text if len(text) <= MOST_SHOWN else text[: MOST_SHOWN - 3] + "..."


def allowed(kind: object) -> str:
    """What a value of this kind may be: "a number above 0", `"width", "height" or "diagonal"`."""
    plain, metadata = bare(kind)
    for piece in metadata:
        if isinstance(piece, Said):
            return piece.words
    members = members_of(plain)
    if len(members) > 1 and all(is_model(member) for member in members):
        return allowed(members[0])
    if len(members) > 1:
        choices = [written(choice) for member in members for choice in choices_of(member)]
        others = [allowed(member) for member in members if not choices_of(member)]
        return listed([*choices, *others], "or")
    if choices_here := choices_of(plain):
        return one_of(choices_here)
    if is_model(plain):
        return "a table of keys"
    item = item_of(plain)
    if item is not None:
        return f"a list of {_plural(item)}{_length_said(metadata)}"
    if get_origin(plain) is tuple:
        return _fixed(get_args(plain))
    if get_origin(plain) is dict:
        return f"a table of {_plural(get_args(plain)[1])}"
    names = {float: "a number", int: "a whole number", bool: "true or false", str: "text"}
    words = names.get(plain, "a value")  # type: ignore[call-overload]
    return f"{words}{bounds_said(metadata)}{_length_said(metadata)}"


def _plural(kind: object) -> str:
    plain, metadata = bare(kind)
    for piece in metadata:
        if isinstance(piece, Said):
            return f"points, each {piece.words}"
    if all(is_model(member) for member in members_of(plain)):
        return "tables"
    if get_origin(plain) is tuple and item_of(plain) is None:
        return f"lists of {_fixed(get_args(plain))}"
    if get_origin(plain) is tuple:
        return "lists"
    names = {float: "numbers", int: "whole numbers", str: "texts", Any: "values"}
    words = names.get(plain)  # type: ignore[call-overload]
    if len(members_of(plain)) > 1 and not words:
        return "values"
    return f"{words}{bounds_said(metadata)}" if words else f"{allowed(plain)} each"


def _fixed(kinds: Sequence[object]) -> str:
    words = NUMBERS.get(len(kinds), f"{len(kinds)} numbers")
    plain, metadata = bare(kinds[0])
    if plain is int:
        words = words.replace("numbers", "whole numbers")
    return f"{words}{bounds_said(metadata)}"


def bounds_of(metadata: Sequence[object], name: str) -> list[float]:
    return [getattr(piece, name) for piece in metadata if getattr(piece, name, None) is not None]


def bounds_said(metadata: Sequence[object]) -> str:
    low, high = bounds_of(metadata, "ge"), bounds_of(metadata, "le")
    if low and high:
        return f" from {written(low[0])} to {written(high[0])}"
    said = [f"{words} {written(bound)}" for name, words in BOUNDS for bound in bounds_of(metadata, name)]
    return f" {listed(said)}" if said else ""


def _length_said(metadata: Sequence[object]) -> str:
    return ", not empty" if any(getattr(piece, "min_length", None) for piece in metadata) else ""


def one_of(choices: Sequence[object]) -> str:
    return listed([written(choice) for choice in choices], "or")


def written(value: object) -> str:
    if value is MISSING:
        return "missing"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and value.bit_length() > MOST_BITS:
        return "a number of very many digits"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, Sequence):
        return f"[{', '.join(written(item) for item in value[:9])}{', ...' if len(value) > 9 else ''}]"
    return str(value)


# ---- reading annotations ----


def field_of(model: type[BaseModel], part: str | int) -> FieldInfo | None:
    for name, field in model.model_fields.items():
        if part in (name, field.alias):
            return field
    return None


def keys_of(model: type[BaseModel]) -> list[str]:
    """The keys that a file may have; a blank is in none, but in the alias of what is filled otherwise."""
    keys = (field.alias or name for name, field in model.model_fields.items())
    return [key for key in keys if " " not in key]


def annotated(field: FieldInfo) -> object:
    if not field.metadata:
        return field.annotation
    return Annotated[(field.annotation, *field.metadata)]


def is_model(kind: object) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


def bare(kind: object) -> tuple[object, tuple[object, ...]]:
    """A kind without Annotated and without "or nothing"; and the annotations it carried."""
    metadata: tuple[object, ...] = ()
    while True:
        if get_origin(kind) is Annotated:
            kind, *more = get_args(kind)
            for piece in more:
                metadata += tuple(piece.metadata) if isinstance(piece, FieldInfo) else (piece,)
        elif len(members := members_of(kind)) == 1 and members[0] is not kind:
            kind = members[0]
        else:
            return kind, metadata


def members_of(kind: object) -> list[object]:
    """The kinds that a union allows, nothing aside; a kind that is no union is its own only one."""
    if get_origin(kind) not in (Union, UnionType):
        return [kind]
    return [member for member in get_args(kind) if member is not NoneType]


def item_of(kind: object) -> object | None:
    """What a list of any length holds; None for all else."""
    plain = bare(kind)[0]
    inner = get_args(plain)
    if get_origin(plain) is list or (get_origin(plain) is tuple and inner[-1:] == (Ellipsis,)):
        first: object = inner[0]
        return first
    return None


def choices_of(kind: object) -> tuple[object, ...]:
    plain = bare(kind)[0]
    return get_args(plain) if get_origin(plain) is Literal else ()
