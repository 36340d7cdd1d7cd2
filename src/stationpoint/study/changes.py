"""The command line's changes to a study: --set, and --rows, --columns, --pages as words -> data."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from datetime import date, datetime, time
from decimal import Decimal, InvalidOperation
from typing import Any, get_origin

from pydantic import BaseModel

from stationpoint.base.allowed import bare, field_of, item_of, keys_of
from stationpoint.base.complaints import Loc, entry_label, quoted_value, unknown_word
from stationpoint.base.words import listed
from stationpoint.study.axes import MOST_VARIANTS, SWEPT, TEXT_FIELDS, unknown_field
from stationpoint.study.models import Study
from stationpoint.study.table import Table

NEXT_FIELD = re.compile(r"\+\s*(?=[A-Za-z_]+\s*=)")
RANGE_HELP = "a range is start:stop:step, as in 10:40:10"


def axis_from_words(words: str) -> dict[str, list[Any]]:
    """An axis as the command line writes it: field -> values.

    "focal_mm=24,35+distance_m=4,6" moves two fields together; "pitch_deg=10:40:10" is 10, 20, 30,
    40; "" is an axis that sweeps nothing. Raises ValueError with one sentence a line.
    """
    axis: dict[str, list[Any]] = {}
    wrong: list[str] = []
    for part in NEXT_FIELD.split(words) if words.strip() else ():
        field, equals, values = (piece.strip() for piece in part.partition("="))
        if not equals or not field:
            wrong.append(f"{quoted_value(part)} must be FIELD=VALUE,VALUE as in focal_mm=24,35")
        elif field not in SWEPT:
            wrong.append(unknown_field(field))
        elif field in axis:
            wrong.append(f"{field} is given twice")
        elif not values:
            wrong.append(f"{field} has no values; give some, as in {field}=1,2")
        else:
            try:
                axis[field] = [value for item in _items(values) for value in _item_values(field, item)]
            except ValueError as error:
                wrong.append(str(error))
    if wrong:
        raise ValueError("\n".join(wrong))
    return axis


def value_from_words(words: str, is_text: bool) -> Any:
    """A value as TOML would read it; bare words, and all unquoted words for a text, as they stand."""
    try:
        read = tomllib.loads(f"value = {words}")
    except (ValueError, RecursionError):  # TOML's own error is a ValueError
        return words
    value = read["value"]
    if (
        len(read) != 1
        or isinstance(value, date | datetime | time)
        or (is_text and not isinstance(value, str))
    ):
        return words
    return value


def _items(words: str) -> list[str]:
    """`words` cut at the commas that are in no brackets and no quotes."""
    items, depth, quote = [""], 0, ""
    for letter in words:
        if letter == "," and not depth and not quote:
            items.append("")
            continue
        if quote:
            quote = "" if letter == quote else quote
        elif letter in "\"'" and not items[-1].strip():
            quote = letter
        else:
            depth += (letter in "[{") - (letter in "]}")
        items[-1] += letter
    return [item.strip() for item in items]


def _item_values(field: str, item: str) -> Sequence[Any]:
    if not item:
        raise ValueError(f"{field} has an empty value between its commas")
    if field in TEXT_FIELDS:
        return [value_from_words(item, is_text=True)]
    if ":" in item and not item.startswith(("[", '"', "'")):
        return _range(field, item)
    return [value_from_words(item, is_text=False)]


def _range(field: str, words: str) -> list[float]:
    """start:stop:step, both ends included where a step lands on them; counted in decimals."""
    try:
        start, stop, step = (Decimal(piece.strip()) for piece in words.split(":"))
    except (ValueError, InvalidOperation):
        raise ValueError(f"{field}={words}: {RANGE_HELP}") from None
    if not all(number.is_finite() and abs(number) <= 10**9 for number in (start, stop, step)):
        raise ValueError(f"{field}={words}: {RANGE_HELP}, with three finite numbers")
    if step == 0:
        raise ValueError(f"{field}={words}: the step is 0, must be another number")
    if (stop - start) * step < 0:
        raise ValueError(f"{field}={words}: the step leads away from {stop}; give it the other sign")
    count = int((stop - start) / step) + 1
    if count > MOST_VARIANTS:
        said = str(count) if count < 10**12 else "far too many"
        raise ValueError(f"{field}={words} has {said} values; at most {MOST_VARIANTS} variants a call")
    return [float(start + k * step) for k in range(count)]


def put_value(data: dict[str, Any], words: str) -> Loc:
    """Write one --set into a study's data and return where: "gap.two to three.reach_m=3" writes
    the gap of that name. No value takes the key away. Raises ValueError with a sentence."""
    key, equals, value = words.partition("=")
    if not equals or not key.strip():
        raise ValueError("must be KEY=VALUE, as in camera.pitch_deg=30")
    return _put(data, Study, key.strip(), value.strip(), ())


def _put(table: dict[str, Any], model: type[BaseModel], path: str, words: str, place: Loc) -> Loc:
    head, _, rest = path.partition(".")
    field = field_of(model, head)
    if field is None:
        homes = [key for key in keys_of(model) if not place and head in _keys_in(model, key)]
        if len(homes) == 1:
            raise ValueError(f"{quoted_value(head)} is a key of {homes[0]}; say {homes[0]}.{path}")
        raise ValueError(unknown_word(head, keys_of(model), "a key here", getattr(model, "slips", None)))
    kind, key = bare(field.annotation)[0], field.alias or head
    here, inner, entry = (*place, key), _model(kind), _model(item_of(kind))
    if entry is not None:
        entries = table.get(key)
        entries = entries if isinstance(entries, list) else []
        index, rest = _entry(key, entries, rest)
        if not rest:
            raise ValueError(f"{key} is a table, name a key in it: {listed(keys_of(entry), 'or')}")
        return _put_inside(entries[index], entry, rest, words, (*here, index))
    for other in {other for keys in _either(model) if head in keys for other in keys} - {head}:
        table.pop(other, None)
    if inner is not None and rest:
        return _put_inside(table.setdefault(key, {}), inner, rest, words, here)
    if get_origin(kind) is dict and rest:
        pairs = table.setdefault(key, {})
        if isinstance(pairs, dict):
            pairs[rest.strip("\"'")] = value_from_words(words, is_text=False)
        return (*here, rest.strip("\"'"))
    if rest:
        raise ValueError(f"{key} holds a value, there is no {quoted_value(rest)} in it")
    value = value_from_words(words, is_text=kind is str)
    if inner is not None and words and not isinstance(value, dict):
        raise ValueError(f"{key} is a table, name a key in it: {listed(keys_of(inner), 'or')}")
    if words:
        table[key] = value
    else:
        table.pop(key, None)
    return here


def _put_inside(table: object, model: type[BaseModel], path: str, words: str, place: Loc) -> Loc:
    if not isinstance(table, dict):
        return place  # the file has something else there, which is complained about by itself
    return _put(table, model, path, words, place)


def _keys_in(model: type[BaseModel], key: str) -> list[str]:
    """The keys of the table that a key holds; none where it holds anything else."""
    field = field_of(model, key)
    inner = None if field is None else _model(bare(field.annotation)[0])
    return [] if inner is None else keys_of(inner)


def _model(kind: object) -> type[BaseModel] | None:
    return kind if isinstance(kind, type) and issubclass(kind, BaseModel) else None


def _either(model: type[BaseModel]) -> tuple[tuple[str, ...], ...]:
    return model.either if issubclass(model, Table) else ()


def _entry(table: str, entries: Sequence[object], rest: str) -> tuple[int, str]:
    """The entry that `rest` ("two to three.reach_m") starts with, and what follows it.

    The longest name that fits counts, since names may hold dots; a number counts from 1.
    """
    names = [entry_label(entry) for entry in entries]
    forms = [(form, k) for k, name in enumerate(names) if name for form in (name, f'"{name}"', f"'{name}'")]
    fitting = [(form, k) for form, k in forms if rest == form or rest.startswith(f"{form}.")]
    if fitting:
        form, index = max(fitting, key=lambda pair: len(pair[0]))
        if names.count(names[index]) > 1:
            raise ValueError(
                f"{names.count(names[index])} entries of [[{table}]] are {quoted_value(form)}; use a number"
            )
        return index, rest[len(form) + 1 :]
    if not rest:
        raise ValueError(f"[[{table}]] has several entries, name one of them and a key in it")
    first, _, after = rest.partition(".")
    if first.isdecimal() and 1 <= int(first) <= len(entries):
        return int(first) - 1, after
    wanted = rest.rpartition(".")[0] or rest
    raise ValueError(unknown_word(wanted, [name for name in names if name], f"a {table} of the study"))
