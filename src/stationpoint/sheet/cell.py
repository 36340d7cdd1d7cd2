"""One cell: flag, picture with its marks and frame, caption."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import PALE, SHADE
from stationpoint.ink import Area, Group, Picture, Shape, box, text_shape, wrap_text
from stationpoint.readings import Result
from stationpoint.sheet.caption import caption_height, caption_lines, caption_shapes, leading
from stationpoint.sheet.cues import BOX_HEIGHT, strip_shapes
from stationpoint.sheet.decision import note_lines, note_shapes
from stationpoint.sheet.equal import Same
from stationpoint.sheet.flag import HEIGHT, Flag, flag_row, picture_cut_px, picture_frame
from stationpoint.sheet.grid import CellParts
from stationpoint.sheet.marks import contact, hidden, named_marks
from stationpoint.sheet.marks.drawing import Drawing, drawing
from stationpoint.sheet.modes.modes import OWN_MARKS
from stationpoint.sheet.reserved import wholly_covered
from stationpoint.sheet.roles import Owner
from stationpoint.sheet.scale import Scale
from stationpoint.study import Study

PAIR_GAP = 10


@dataclass(frozen=True, slots=True, eq=False)
class CellStyle:
    """What all cells of a sheet share. marks: names of the marks to draw. swept: fields in the headings.
    close_up: whether cells show all cue marks. said_of_all: confused directions that the header tells.
    mark_m: length of marks that stand beside the subject. sides: on which side they stand, see Drawing.
    outlined: ids of subject and targets that no tint tells. under_outlined: the same of second pictures.
    failing: label -> "fails at 3 of 40", see camera_verdicts.cells_failing."""

    study: Study
    scale: Scale
    parts: CellParts
    marks: frozenset[str]
    owner_by_id: Mapping[int, Owner]
    swept: Sequence[str]
    close_up: bool = False
    said_of_all: frozenset[str] = frozenset()
    mark_m: float = 1.0
    sides: dict[str, int] = field(default_factory=dict)
    outlined: frozenset[int] = frozenset()
    under_outlined: frozenset[int] = frozenset()
    failing: Mapping[str, str] = field(default_factory=dict)

    def drawing(self, result: Result) -> Drawing:
        """A cell's picture to be marked."""
        return drawing(
            result,
            self.study,
            self.scale,
            self.owner_by_id,
            self.close_up,
            mark_m=self.mark_m,
            sides=self.sides,
            outlined=self.outlined,
        )


def cell_parts(
    width: int,
    picture: int,
    scale: Scale,
    flags: bool,
    cues: bool = False,
    paired: bool = False,
    notes: int = 0,
) -> CellParts:
    """The heights of a cell's parts. cues: whether the strip of depth cues is under the picture. paired:
    whether a second picture is. notes: lines that are kept for notes under the caption."""
    strip = scale.space(BOX_HEIGHT) if cues else 0
    return CellParts(
        width=width,
        flag=scale.space(HEIGHT) if flags else 0,
        flag_gap=scale.space(14) if flags else 0,
        picture=picture,
        picture_gap=scale.space(16 if flags or strip else 12),
        strip=strip,
        strip_gap=scale.space(8) if strip else 0,
        caption=caption_height(scale) + notes * leading(scale),
        under=picture + scale.space(PAIR_GAP) if paired else 0,
    )


def cell_shapes(
    result: Result, pixels: NDArray[np.uint8] | None, look: CellStyle, flag: Flag | None, same: Same | None
) -> tuple[list[Shape], set[str]]:
    """A cell's shapes in its own pixels, and the legend entries that it uses."""
    scale, parts = look.scale, look.parts
    shapes: list[Shape] = []
    used: set[str] = set()
    if flag is not None:
        said = _with_covered(flag, result, look.study)
        shapes.append(Group("flag", (0.0, 0.0), tuple(flag_row(said, parts.width, parts.flag, scale))))
    if pixels is None:
        shapes += _empty(look, flag)
    else:
        marked, used = _picture(result, pixels, look, flag)
        shapes += marked
    if parts.under and result.own_picture is not None:
        marked, more = _picture_under(result, result.own_picture, look)
        shapes += marked
        used |= more
    if parts.strip:
        strip = strip_shapes(result, look.study, parts.strip_top, parts.width, parts.strip, scale)
        shapes.append(Group("strip", (0.0, 0.0), tuple(strip)))
    unlabelled = contact.unlabelled(result, look.close_up) if contact.NAME in look.marks else 0
    lines = caption_lines(
        result,
        look.study,
        look.swept,
        scale,
        parts.width,
        flag,
        same,
        look.said_of_all,
        0 if pixels is None else unlabelled,
        look.failing.get(result.variant.label, ""),
    )
    words = caption_shapes(lines, parts.caption_top, parts.width, scale)
    note = note_lines(look.study, result.variant, parts.width, scale)
    words += note_shapes(note, parts.caption_top + caption_height(scale), scale)
    return [*shapes, Group("caption", (0.0, 0.0), tuple(words))], used


def _with_covered(flag: Flag, result: Result, study: Study) -> Flag:
    """A flag that says first which things the interface will cover wholly, though every limit holds."""
    covered = wholly_covered(result, study) if flag.kind in ("chosen", "holds") else {}
    said = [f"but {name} is {words}" for name, words in covered.items()]
    return replace(flag, limit="; ".join([*said, flag.limit] if flag.limit else said)) if said else flag


def picture_box(size_px: tuple[int, int], parts: CellParts) -> tuple[int, int, int, int]:
    """Where a picture lies in its cell: centred in the cell's width and picture height."""
    width, height = size_px
    left = (parts.width - width) // 2
    top = parts.picture_top + (parts.picture - height) // 2
    return left, top, left + width, top + height


def _picture(
    result: Result, pixels: NDArray[np.uint8], look: CellStyle, flag: Flag | None
) -> tuple[list[Shape], set[str]]:
    scale, parts = look.scale, look.parts
    height, width = pixels.shape[:2]
    left, top, right, bottom = picture_box((width, height), parts)
    shapes: list[Shape] = []
    if (width, height) != (parts.width, parts.picture):
        whole = box(0, parts.picture_top, parts.width, parts.picture_top + parts.picture)
        shapes.append(Area((whole,), SHADE))
    cut = picture_cut_px(flag, scale)
    shapes.append(Picture((left, top, right, bottom), pixels, cut))
    used: set[str] = set()
    is_told = bool(result.stands or result.filled)  # in words, whatever the mode and its marks
    if look.marks or is_told:
        marking = look.drawing(result if pixels is result.picture else replace(result, picture=pixels))
        marking.space.occupy((width - cut, 0.0, float(width), cut))
        marks: list[Shape] = [*named_marks(marking, look.marks)] if look.marks else []
        if is_told and hidden.NAME not in look.marks:
            marks += hidden.draw(marking)
        used = marking.used
        clip = (0.0, 0.0, float(width), float(height))
        shapes.append(Group("marks", (float(left), float(top)), tuple(marks), clip))
    shapes += picture_frame(flag, left, top, right, bottom, scale)
    return shapes, used


def _picture_under(
    result: Result, pixels: NDArray[np.uint8], look: CellStyle
) -> tuple[list[Shape], set[str]]:
    """The second picture, in own colours, below the first."""
    plain = replace(look, marks=OWN_MARKS, outlined=look.under_outlined)
    shapes, used = _picture(replace(result, stands="", filled=""), pixels, plain, None)
    return [Group("under", (0.0, float(look.parts.under)), tuple(shapes))], used


def _empty(look: CellStyle, flag: Flag | None) -> list[Shape]:
    """A cell without a picture: a pale area with the reason in it."""
    parts, scale = look.parts, look.scale
    top, bottom = parts.picture_top, parts.picture_top + parts.picture
    shapes: list[Shape] = [Area((box(0, top, parts.width, bottom),), PALE)]
    size = scale.type(16)
    said = flag.words if flag is not None and flag.words else "No picture was drawn."
    for k, line in enumerate(wrap_text(said, size, "semibold", parts.width - 2 * size, 4)):
        shapes.append(text_shape((size, top + 2 * size + k * size * 1.3), line, size, "semibold"))
    return shapes + picture_frame(Flag("none"), 0, top, parts.width, bottom, scale)
