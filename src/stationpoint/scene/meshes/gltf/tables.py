"""Tables of a glTF file that may lie: each value is checked for its kind where it is taken out."""

from __future__ import annotations

import json
from typing import NoReturn

import numpy as np
from numpy.typing import NDArray

from stationpoint.scene.meshes.part import Unreadable

Json = dict[str, object]


def integer(table: Json, key: str, where: str, default: int | None = None) -> int:
    """A whole number of at least 0; `default` where the key is missing."""
    value = table.get(key, default)
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or (value < 0 and value != default):
        bad(where, key, value, "a whole number of at least 0")
    return value


def numbers(table: Json, key: str, where: str, count: int, default: list[float]) -> NDArray[np.float64]:
    """`count` finite numbers."""
    value = table.get(key, default)
    given = value if isinstance(value, list) else [None]
    if len(given) != count or not all(isinstance(n, int | float) and not isinstance(n, bool) for n in given):
        bad(where, key, value, f"{count} numbers")
    try:
        found = np.array(given, dtype=np.float64)
    except OverflowError:
        bad(where, key, value, "finite numbers")
    return found


def number(table: Json, key: str, where: str, default: float) -> float:
    """A finite number; `default` where the key is missing."""
    value = table.get(key, default)
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e30:
        bad(where, key, value, "a number")
    return float(value)


def inner(table: Json, key: str, where: str, default: Json | None = None) -> Json:
    """A table in a table."""
    value = table.get(key, default)
    if not isinstance(value, dict):
        bad(where, key, value, "a table")
    return value


def name_of(table: Json, where: str) -> str:
    """The name of a node, a mesh, a camera; "" if it has none."""
    value = table.get("name", "")
    if not isinstance(value, str):
        bad(where, "name", value, "text")
    return value.encode("utf-8", "replace").decode("utf-8")  # half a surrogate pair is no text


def members(table: Json, key: str, where: str) -> list[object]:
    """A list in a table, empty if it is missing."""
    value = table.get(key, [])
    if not isinstance(value, list):
        bad(where, key, value, "a list")
    return value


def bad(where: str, key: str, value: object, must_be: str) -> NoReturn:
    """Complain about one value."""
    found = "missing" if value is None else shown(value)
    raise Unreadable(f"{where}: {key} is {found}, must be {must_be}.")


def shown(value: object) -> str:
    """A found value as the file writes it, cut to a readable length."""
    text = json.dumps(value, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


def reason(error: Exception) -> str:
    """Why, in a few words and without a path."""
    if isinstance(error, OSError) and error.strerror:
        return error.strerror.lower()
    if isinstance(error, UnicodeDecodeError):
        return "it is not text in UTF-8"
    return str(error).rstrip(".")[:100]
