"""Marks: one file each, with NAME, LAYER, draw(look) and legend(used, scale) side by side.

Every module of this folder that has a NAME is a mark; they are drawn in the order of LAYER.
"""

from __future__ import annotations

from functools import lru_cache
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType

from stationpoint.ink.shapes import Shape
from stationpoint.sheet.marks import gap
from stationpoint.sheet.marks.drawing import Drawing, Entry
from stationpoint.sheet.scale import Scale

ALWAYS = frozenset({"subject"})
CALM = frozenset({"targets", "gaps", "horizon"})  # what a cell shows unless told


@lru_cache(maxsize=1)
def every_mark() -> tuple[ModuleType, ...]:
    """All marks, lowest layer first."""
    names = [found.name for found in iter_modules(__path__)]
    modules = [import_module(f"{__name__}.{name}") for name in names]
    marks = [module for module in modules if hasattr(module, "NAME")]
    return tuple(sorted(marks, key=lambda mark: (mark.LAYER, mark.NAME)))


def known_marks() -> tuple[str, ...]:
    """Names of the marks that can be switched, in alphabetical order."""
    return tuple(sorted(mark.NAME for mark in every_mark() if mark.NAME not in ALWAYS))


def drawn(look: Drawing, wanted: frozenset[str]) -> list[Shape]:
    """The shapes of the wanted marks, lowest layer first; gaps claim their ground before any label."""
    if "gaps" in wanted:
        gap.keep_clear(look)
    shapes: list[Shape] = []
    for mark in every_mark():
        if mark.NAME in wanted or mark.NAME in ALWAYS:
            shapes += mark.draw(look)
    return shapes


def legend_entries(used: set[str], scale: Scale) -> list[Entry]:
    """The legend entries of all that was drawn."""
    return [entry for mark in every_mark() for entry in mark.legend(used, scale)]
