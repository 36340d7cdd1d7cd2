"""Doors that open name by name: a module behind one is loaded when the first of its names is asked for.

Most calls need little of such a room, or need it only while other processes already work.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def late(room: str, names_in: Mapping[str, str]) -> Callable[[str], Any]:
    """The `__getattr__` of a door. room: the name of the package. names_in: a module of it -> the names that
    the door takes from there, with blanks between."""
    homes = {name: module for module, names in names_in.items() for name in names.split()}

    def named(name: str) -> Any:
        if name not in homes:
            raise AttributeError(f"module {room!r} has no attribute {name!r}")
        return getattr(import_module(f"{room}.{homes[name]}"), name)

    return named
