"""Marks: one file each, with NAME, LAYER, draw(look) and legend(used, scale) side by side.

Every module of this folder that has a NAME is a mark; they are drawn in the order of LAYER. Those of
depth cues share one name, are called CUE, and have an icon(scale) for the legend in place of entries.
"""

from __future__ import annotations

from functools import lru_cache
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType

from stationpoint.ink import Group, Shape
from stationpoint.sheet.marks import contact, gap, reserved, target
from stationpoint.sheet.marks.cue import NAME_OF_ALL
from stationpoint.sheet.marks.drawing import Drawing, Entry
from stationpoint.sheet.scale import Scale

ALWAYS = frozenset({"subject"})
OF_MODES = frozenset({"edges", "glances"})  # drawn by the modes that have them
CALM = frozenset(
    {"targets", "gaps", "horizon", "cues", "contacts", "twins", "hidden", "reserved", "outlines"}
)  # what a cell shows unless told
CLOSE = CALM | {"axes"}  # and a close-up


@lru_cache(maxsize=1)
def every_mark() -> tuple[ModuleType, ...]:
    """All marks, lowest layer first."""
    names = [found.name for found in iter_modules(__path__)]
    modules = [import_module(f"{__name__}.{name}") for name in names]
    marks = [module for module in modules if hasattr(module, "NAME")]
    return tuple(sorted(marks, key=lambda mark: (mark.LAYER, mark.NAME)))


def known_marks() -> tuple[str, ...]:
    """Names of the marks that can be switched, in alphabetical order."""
    return tuple(sorted({mark.NAME for mark in every_mark()} - ALWAYS - OF_MODES))


def draw_marks(look: Drawing, wanted: frozenset[str]) -> list[Shape]:
    """The shapes of the wanted marks, without their names."""
    return [shape for group in named_marks(look, wanted) for shape in group.shapes]


def named_marks(look: Drawing, wanted: frozenset[str]) -> list[Group]:
    """The wanted marks, each a group "mark NAME", lowest layer first. Gaps, then false contacts, then
    targets' dots claim their ground before any label is placed; tags and black labels lie on top."""
    look.wanted.update(wanted)
    wanting = [mark for mark in every_mark() if mark.NAME in wanted | ALWAYS]
    for mark in (reserved, gap, contact, target):
        if mark.NAME in wanted:
            mark.claim(look)
    drawn = [(mark.NAME, mark.draw(look)) for mark in wanting]
    drawn.append(("tags", look.on_top))
    return [Group(f"mark {name}", (0.0, 0.0), tuple(shapes)) for name, shapes in drawn if shapes]


def legend_entries(used: set[str], scale: Scale) -> list[Entry]:
    """The legend entries of all that was drawn, depth cues aside."""
    return [entry for mark in every_mark() if mark.NAME != NAME_OF_ALL for entry in mark.legend(used, scale)]


def cue_icon(cue: str, scale: Scale) -> tuple[Shape, ...]:
    """A depth cue's mark in small, in a box of 56 x 20 px."""
    (mark,) = (mark for mark in every_mark() if getattr(mark, "CUE", "") == cue)
    return tuple(mark.icon(scale))
