"""What flows through the readings: cases in, readings and results out."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Frames, Seat, Setup, Shot, ShotKey
from stationpoint.scene import Scene

if TYPE_CHECKING:
    from stationpoint.study import Place, Study, Variant

Path = tuple[str, ...]
SHARE = "share"  # the unit of a share from 0 to 1, which people read as a percentage
Holds = Literal["number", "numbers", "word", "flag", "word or false", "groups", "names", "shares by node"]
Value = float | int | bool | str | tuple["Value", ...] | Mapping[str, "Value"] | None


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """One variant at one place in one picture shape: what a row of readings is about.

    scene: as the place moves it (ids as in the scene that the renderer holds, roles tinted, the
    stand-in subject included). moves: the place's moves, for shots. seats: the viewings whose
    picture has this shape, the first one first; positions and lengths of record are in its pixels.
    setup.camera has the cell's pixels. picture: the shape's name, such as "16:9". marked: whether marks are
    drawn of it; else no outline and no place of a mark is worked out. asked: paths of the fields that are
    read, None for all; a costly one that nobody asks for may be left out.
    """

    study: Study
    scene: Scene
    variant: Variant
    place: Place
    setup: Setup
    seats: tuple[Seat, ...]
    picture: str
    moves: tuple[tuple[str, NDArray[np.float64]], ...] = ()
    marked: bool = True
    asked: frozenset[Path] | None = None


@dataclass(frozen=True, slots=True)
class Field:
    """One reading as people know it: the record, the CSV, the legend and the docs follow from it.

    path: such as ("targets", "*", "seen"); "*" stands for a name. unit: "" if none, SHARE of a share from
    0 to 1. decimals: in records. says: one sentence. source: definition, common practice, or a published
    source. null: when the value is null, in words. parts: where the value is a list of groups, what each
    holds, their paths the one name within the group. holds: what its value is, if any: a number, several,
    a word, a flag (true or false), a word or false, a list of groups, names, or nodes with the share of each.
    words: the words that it can be, where they are few; of a number those that stand for one beyond all
    others. plain: its meaning for people who know cameras and no geometry, where `says` is for others.
    """

    path: Path
    unit: str
    decimals: int
    says: str
    source: str = "definition"
    null: str = ""
    parts: tuple[Field, ...] = ()
    holds: Holds = "number"
    words: tuple[str, ...] = ()
    plain: str = ""

    @property
    def line(self) -> str:
        """What it is, in one plain line for a legend: `plain`, else the first part of `says`."""
        first = re.split(r"[;:.](?: |$)", self.says)[0]
        return self.plain or first[:1].lower() + first[1:]


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """What was read of one case.

    values: path -> value, None where it does not apply. causes: path -> why it is so, in words, of some;
    never in the record. outlines and extras are for marks only, (n, 2)
    pixels of the cell, never in the record. outlines: target -> closed outline of what is seen of it,
    its pieces parted by nan rows. extras: path -> positions, absent where there are none:
    ("target", NAME): centre, foot, a spot in the midst of what is seen (if anything is).
    ("subject",): a spot in the midst of what is seen of the subject.
    ("size", NAME): top-left and bottom-right of the box round the silhouette.
    ("drop", NAME): foot, and the floor straight below it, where it stands above one.
    ("gap", NAME): take-off, landing, where it ends if read flat, ground end; nan where not before the eye.
    ("gap", NAME, "ticks"): half a mark's length left and right of the take-off, then of the landing.
    ("gap", NAME, "sides"): take-off, flat end, landing a mark's length to the left, then to the right.
    ("axes",): anchor and the ends of 1 m along x, y, z. ("vanishing", AXIS): one point.
    ("reserved", "targets", NAME) and ("reserved", "subject"): the mean opacity of each reserved area over
    what is visible, (n, 1).
    ("horizon",): its ends at the cell's left and right side.
    ("twin", NAME, KIND): outline of the twin that is recorded, "slide" or "mirror", closed.
    ("false_contact", "0") and on, in the order of the reading: the longest stretch of the border, in order.
    ("false_break", "0") and on: from where a is nearest to b, to there.
    ("surfaces",): the middle of each walkable surface between which contacts were looked for.
    """

    values: dict[Path, Value]
    outlines: dict[str, NDArray[np.float64]] = field(default_factory=dict)
    extras: dict[Path, NDArray[np.float64]] = field(default_factory=dict)
    causes: dict[Path, str] = field(default_factory=dict)


Shots = Callable[[Case], dict[ShotKey, Shot]]
Reader = Callable[[Case, Frames], Reading]


def no_shots(case: Case) -> dict[ShotKey, Shot]:
    """The shots of a kind that needs none."""
    return {}


@dataclass(frozen=True, slots=True)
class Kind:
    """A family of readings: which fields it fills, which shots it wants, how it reads them.

    name: no group of fields has it, since a group may be filled by several kinds. costly: its shots are
    drawn only where it is asked for, or the scene asks for own colours; else it reads nulls.
    """

    name: str
    fields: tuple[Field, ...]
    read: Reader
    shots: Shots = no_shots
    costly: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Result:
    """One case, measured; picture: (h, w, 3) uint8, or None where only readings were asked for.

    hidden: (h, w) ids of what of subject and targets would be drawn there if nothing hid it. stands: what the
    camera stands in, in words; filled: what fills the picture; "" for most. own_picture: as picture, in the
    level's own colours, where both were asked for. glances: where the eye may land first, fractions of the
    picture, where that was asked for.
    """

    variant: Variant
    place: Place
    setup: Setup
    reading: Reading
    seats: tuple[Seat, ...]
    picture_shape: str
    picture: NDArray[np.uint8] | None = None
    ids: NDArray[np.uint32] | None = None
    depth_m: NDArray[np.float32] | None = None
    hidden: NDArray[np.uint32] | None = None
    stands: str = ""
    filled: str = ""
    own_picture: NDArray[np.uint8] | None = None
    glances: tuple[tuple[float, float], ...] = ()


def without_readings(result: Result, setup: Setup) -> Result:
    """A result of which only variant, place and viewings are kept. setup: one that is kept anyway."""
    return replace(result, setup=setup, reading=Reading({}))
