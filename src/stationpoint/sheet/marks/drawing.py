"""What a mark is given to draw with, and the pieces that several marks share."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base.look import INK
from stationpoint.ink import (
    Box,
    Line,
    PointsLike,
    Shape,
    Text,
    Weight,
    cap_height_px,
    cut_text,
    text_shape,
    text_width,
    zigzag,
)
from stationpoint.readings import Result, Value
from stationpoint.sheet.marks.free_space import BLOCK, FreeSpace
from stationpoint.sheet.roles import Owner, owner_codes
from stationpoint.sheet.scale import Scale
from stationpoint.study import Study

Grade = Literal["reads", "weak", "misleads"]
Entry = tuple[tuple[Shape, ...], str]  # shapes in a box of 56 x 20 px, and the sentence beside them
ENTRY_WIDTH, ENTRY_HEIGHT = 56, 20


class Place(NamedTuple):
    """Where a dot may go. out: the direction outwards from its target, (2,) of -1 and 1. edge: where the
    target ends, for a dot that stands beside it."""

    spot: NDArray[np.float64]
    out: NDArray[np.float64]
    edge: NDArray[np.float64] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """One picture to be marked.

    size_px: the picture's width and height, the space of outlines and extras. space: what is taken
    already (it fills as marks are drawn). owner_by_id: of what it shows. seen: (h / 4, w / 4) codes of
    `owner_codes` at every fourth pixel, None without ids. close_up: whether all cues are drawn. used:
    marks and legend entries that came to be drawn. about: the pair whose cues are drawn, "" for the
    study's first. unplaced: names that found no room. on_top: shapes that lie over all other marks,
    already placed. wanted: names of the marks that are drawn. places: target -> where its dot may go, the
    best first, and whether the target is hidden. moved: target that
    stands elsewhere, and after: the words after its name. mark_m: the
    length in metres of marks that stand beside the subject. sides: ("gap NAME" or a cue) -> the side on which
    its marks stand in every cell, filled by the first one that draws them. outlined: ids of subject and
    targets that no tint tells.
    """

    result: Result
    study: Study
    size_px: tuple[int, int]
    scale: Scale
    space: FreeSpace
    owner_by_id: Mapping[int, Owner]
    seen: NDArray[np.int16] | None = None
    close_up: bool = False
    about: str = ""
    used: set[str] = field(default_factory=set)
    unplaced: list[str] = field(default_factory=list)
    on_top: list[Shape] = field(default_factory=list)
    wanted: set[str] = field(default_factory=set)
    places: dict[str, tuple[list[Place], bool]] = field(default_factory=dict)
    moved: str = ""
    after: str = ""
    mark_m: float = 1.0
    sides: dict[str, int] = field(default_factory=dict)
    outlined: frozenset[int] = frozenset()

    def said(self, target: str) -> str:
        """What a target is called on the picture."""
        return f"{target}{self.after}" if target == self.moved else target

    def value(self, *path: str) -> Value:
        """A reading, None where it does not apply or was not asked for."""
        return self.result.reading.values.get(path)

    def extra(self, *path: str) -> NDArray[np.float64] | None:
        """Screen positions (n, 2) for a mark, None unless there are some and all are finite."""
        found = self.result.reading.extras.get(path)
        return None if found is None or not len(found) or not np.all(np.isfinite(found)) else found


def drawing(
    result: Result,
    study: Study,
    scale: Scale,
    owner_by_id: Mapping[int, Owner],
    close_up: bool = False,
    about: str = "",
    moved: str = "",
    after: str = "",
    mark_m: float = 1.0,
    sides: dict[str, int] | None = None,
    outlined: frozenset[int] = frozenset(),
) -> Drawing:
    """The drawing of a result with a picture, its subject kept clear."""
    assert result.picture is not None
    height, width = result.picture.shape[:2]
    space = FreeSpace((width, height), result.picture)
    seen = None
    if result.ids is not None and owner_by_id:
        names = tuple(target.name for target in study.target)
        seen = owner_codes(result.ids[BLOCK // 2 :: BLOCK, BLOCK // 2 :: BLOCK], owner_by_id, names)
        down, across = seen.shape
        space.subject[:down, :across] = seen == -1
        space.shown[:down, :across] = seen >= 0
        space.keep(space.subject)
    return Drawing(
        result,
        study,
        (width, height),
        scale,
        space,
        owner_by_id,
        seen,
        close_up,
        about,
        moved=moved,
        after=after,
        mark_m=mark_m,
        sides={} if sides is None else sides,
        outlined=outlined,
    )


def graded_line(points_px: PointsLike, width_px: float, grade: Grade, scale: Scale) -> Line:
    """A line whose style is its grade: reads solid, weak dash 9 gap 5, misleads zigzag."""
    if grade == "misleads":
        ends = np.asarray(points_px, dtype=float)
        first, last = ends[0], ends[-1]
        teeth = zigzag(
            (float(first[0]), float(first[1])),
            (float(last[0]), float(last[1])),
            scale.long(8),
            scale.long(9),
        )
        return Line(teeth, width_px, INK, scale.halo)
    dash = (scale.long(9), scale.long(5)) if grade == "weak" else ()
    return Line(points_px, width_px, INK, scale.halo, dash)


Row = tuple[str, int, Weight]  # words, size_px, weight


@dataclass(frozen=True, slots=True)
class Label:
    """Words to be placed, one or two rows."""

    lines: tuple[Row, ...]

    @property
    def width(self) -> float:
        """Width of the widest line."""
        return max(text_width(words, size, weight) for words, size, weight in self.lines)

    @property
    def height(self) -> float:
        """From the top of the first line's capitals to the last line's lowest stroke."""
        first = self.lines[0][1]
        return cap_height_px(first) + sum(self.leads) + 0.3 * self.lines[-1][1]

    @property
    def leads(self) -> tuple[float, ...]:
        """Steps from one baseline to the next."""
        return tuple(1.18 * size for _, size, _ in self.lines[1:])


def label(words: str, scale: Scale, within_px: float, size: int = 14, weight: Weight = "semibold") -> Label:
    """A label of one line, cut with an ellipsis only where it is wider than `within_px`."""
    px = scale.type(size)
    return Label(((cut_text(words, px, weight, within_px), px, weight),))


def set_label(those: Label, box: Box, scale: Scale, align: Literal["left", "right"] = "left") -> list[Text]:
    """The label's texts in its box."""
    left, top, right, _ = box
    y = top + cap_height_px(those.lines[0][1])
    x, anchor = (left, "left") if align == "left" else (right, "right")
    result = []
    for k, (words, size, weight) in enumerate(those.lines):
        y += those.leads[k - 1] if k else 0.0
        result.append(
            text_shape(
                (x, y),
                words,
                size,
                weight,
                INK,
                halo=scale.type_halo,
                anchor="left" if anchor == "left" else "right",
            )
        )
    return result


def padded(box: Box, px: float) -> Box:
    """A box grown by `px` on each side."""
    return (box[0] - px, box[1] - px, box[2] + px, box[3] + px)


def leader(start: ArrayLike, box: Box, scale: Scale, clear_px: float) -> Line:
    """A thin line from `clear_px` off a point to the nearest edge of a label's box."""
    p = np.asarray(start, dtype=float)
    q = leader_end(start, box)
    way = q - p
    length = float(np.hypot(*way))
    begin = p + way * min(1.0, clear_px / length) if length > 0 else p
    return Line(np.array([begin, q]), max(1.0, scale.long(1.0)), INK, scale.halo)


def leader_end(start: ArrayLike, box: Box) -> NDArray[np.float64]:
    """Where a leader from `start` meets a label: at the middle of its nearer end, or straight above
    or below it."""
    x, y = np.asarray(start, dtype=float).tolist()
    return np.array(meeting(x, y, box))


def meeting(x: float, y: float, box: Box) -> tuple[float, float]:
    """`leader_end` in plain numbers, for the many places that a label may take."""
    left, top, right, bottom = box
    if x < left:
        return left - 2.0, (top + bottom) / 2
    if x > right:
        return right + 2.0, (top + bottom) / 2
    return min(max(x, left + 6), right - 6), top - 1.0 if y < top else bottom + 1.0


Draw = Callable[[Drawing], list[Shape]]
