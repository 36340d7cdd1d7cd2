"""The subject as a study writes it: what the player controls, or one of several."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import Field, Strict

from stationpoint.base.allowed import Colour
from stationpoint.base.complaints import quoted_value
from stationpoint.study.table import (
    Flag,
    Given,
    Name,
    NotTiny,
    Number,
    Positive,
    Spot,
    Table,
    Vec3,
)

SPOT_SLIPS = dict.fromkeys(("position", "pos", "location", "where", "spot", "coordinates"), "at")
SIZED, UNSIZED = ("quadruped", "vehicle"), ("figure", "capsule")  # shapes of a stand-in

Body = Literal["figure", "capsule", "quadruped", "vehicle"]
BodyHeight = Annotated[float, Strict(), Field(gt=0, le=1000), NotTiny]


class Part(Table):
    """A point of the subject, such as a hand or the tip of a weapon: `at` counts from its foot before it is
    turned, metres."""

    slips: ClassVar[Mapping[str, str]] = SPOT_SLIPS

    name: Name
    at: Vec3


class Subject(Table):
    """What the player controls. Its foot is `at`, or the foot of `node`; else the scene's middle.

    shape: what stands in for it where it is no node. size: width, height and depth of a quadruped and a
    vehicle; a figure and a capsule go by height_m. part: points that bound it instead of its own bounds.
    """

    either: ClassVar[tuple[tuple[str, ...], ...]] = (("at", "node"),)
    slips: ClassVar[Mapping[str, str]] = SPOT_SLIPS

    name: Name = "subject"
    at: Spot | None = None
    node: Name | None = None
    height_m: BodyHeight = 1.7
    heading_deg: Number = 0.0
    may_hide: Flag = False
    shape: Body = "figure"
    size: tuple[Positive, Positive, Positive] | None = None
    colour: Colour | None = None
    part: tuple[Part, ...] = ()

    @property
    def high_m(self) -> float:
        """How high it is, metres: a quadruped and a vehicle say so in their size."""
        return self.height_m if self.size is None else self.size[1]

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        shape = given.get("shape", "figure")
        for key in ("shape", "size"):
            if key in given and "node" in given:
                yield f"{key} is that of a stand-in, and node says what is drawn; take one of them out"
        if shape in SIZED:
            if "size" not in given:
                yield f"a {shape} needs size = [width, height, depth] in metres"
            elif "height_m" in given:
                yield f"height_m and size both say how high the {shape} is; take height_m out"
        elif "size" in given and "node" not in given and shape in UNSIZED:
            yield f'size is that of shape = "quadruped" or "vehicle"; a {shape} is as high as height_m says'
        yield from named_twice("[[subject.part]]", given.get("part"))


def named_twice(table: str, entries: object) -> Iterator[str]:
    """The complaints about names that several entries of a table have."""
    for name, times in Counter(names_in(entries)).items():
        if times > 1:
            yield f"{times} entries of {table} are named {quoted_value(name)}; give each its own name"


def names_in(entries: object) -> list[str]:
    """The names in a table's entries, whether they are data or made already."""
    if not isinstance(entries, list | tuple):
        return []
    found = [
        entry.get("name") if isinstance(entry, Mapping) else getattr(entry, "name", None) for entry in entries
    ]
    return [name for name in found if isinstance(name, str) and name]
