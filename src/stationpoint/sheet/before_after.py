"""Pictures before and after a change, and where they differ: a row for each cell that changed.

Where two pictures differ, the third shows the later one in its full colours within a line of ink; what is the
same is pale. So the difference says what stands there now, and its line where.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK, PALE, PAPER, WHITE
from stationpoint.base.words import counted
from stationpoint.ink import (
    Area,
    Line,
    Page,
    Picture,
    Shape,
    box,
    cap_height_px,
    cut_text,
    text_shape,
    text_width,
)
from stationpoint.sheet.flag import picture_frame
from stationpoint.sheet.header import title_lines
from stationpoint.sheet.headings import balanced, rule
from stationpoint.sheet.scale import COLUMN_GUTTER, MARGIN, ROW_GUTTER, Scale, scale_for

Pixels = NDArray[np.uint8]
Mask = NDArray[np.bool_]

TITLE, ANSWER, HEAD, SUB, FOOT = 54, 30, 34, 25, 20
COLUMNS = ("before", "after", "where they differ")
MOST_LINES = 3  # told of one cell
MOST_DIFFERENT = 40.0  # % of a picture: of more, as when the camera moved, lines would tell nothing
LEAST_STEP = 8  # of 255 in any channel: what no eye sees on clay is no difference
PALE_SHARE = 0.6  # how far what is the same goes towards PALE
LUMA = np.array([0.30, 0.59, 0.11])  # near enough for a grey that only steps back
KEY = "Where they differ: what is there afterwards as it is drawn, within a line; the rest is pale."


@dataclass(frozen=True, slots=True, eq=False)
class ChangedCell:
    """A cell that changed. name: its variant and place. says: what changed, a line each. before, after:
    (h, w, 3), None of one that is gone or new."""

    name: str
    says: tuple[str, ...]
    before: Pixels | None
    after: Pixels | None


def difference_mask(before: Pixels, after: Pixels) -> Mask:
    """(h, w): where two pictures of one size differ by more than LEAST_STEP in any channel."""
    step = np.abs(before.astype(np.int16) - after.astype(np.int16)).max(axis=2)
    return np.asarray(step > LEAST_STEP)


def difference_picture(after: Pixels, mask: Mask, line_px: int) -> Pixels:
    """The later picture, pale and grey where nothing differs; a line of ink with a white one around it
    borders what does."""
    grey = (after @ LUMA)[..., None]
    pale = grey * (1.0 - PALE_SHARE) + np.array(PALE, dtype=float) * PALE_SHARE
    shown = np.where(mask[..., None], after, np.rint(pale)).astype(np.uint8)
    ink = _grown(mask, line_px)
    shown[_grown(ink, line_px) & ~ink] = WHITE
    shown[ink & ~mask] = INK
    return shown


def _grown(mask: Mask, by_px: int) -> Mask:
    """A mask and all within a few pixels of it, up, down and across."""
    for _ in range(by_px):
        padded = np.pad(mask, 1)
        mask = mask | padded[:-2, 1:-1] | padded[2:, 1:-1] | padded[1:-1, :-2] | padded[1:-1, 2:]
    return mask


def before_after_page(
    title: str, answer: str, cells: Sequence[ChangedCell], more: int, cell_width: int, note: str = ""
) -> Page:
    """The page of these cells; more: how many changed beside them. note: what drew them, "" unsaid."""
    scale = scale_for(cell_width)
    width = 2 * MARGIN + 3 * cell_width + 2 * COLUMN_GUTTER
    inner = width - 2 * MARGIN
    lefts = [MARGIN + k * (cell_width + COLUMN_GUTTER) for k in range(3)]
    shapes: list[Shape] = []
    size, lines = title_lines(title, inner, TITLE, scale)
    y = MARGIN + cap_height_px(size) + 2
    for k, line in enumerate(lines):
        y += round(size * 1.18) if k else 0
        shapes.append(text_shape((MARGIN, round(y)), line, size, "bold"))
    small = scale.page_type(ANSWER)
    for line in balanced(answer, small, "semibold", inner, 2):
        y += round(small * 1.5)
        shapes.append(text_shape((MARGIN, round(y)), line, small, "semibold"))
    y += 30
    for cell in cells:
        y = _row(shapes, cell, lefts, round(y), cell_width, scale) + ROW_GUTTER
    said = [
        KEY,
        *([f"and {counted(more, 'more cell')}"] if more else []),
        *([f"Drawn by {note}"] if note else []),
    ]
    foot = scale.page_type(FOOT)
    shapes.append(rule(MARGIN, width - MARGIN, y))
    y += round(foot * 1.6)
    for one in reversed(said):
        for line in balanced(one, foot, "semibold" if one != KEY else "regular", inner, 3):
            shapes.append(text_shape((MARGIN, round(y)), line, foot, "semibold" if one != KEY else "regular"))
            y += round(foot * 1.4)
    return Page((width, round(y + MARGIN - foot)), PAPER, tuple(shapes))


def _row(
    shapes: list[Shape], cell: ChangedCell, lefts: Sequence[int], top: int, width: int, scale: Scale
) -> float:
    """A cell's head, what changed of it, and its three pictures; where the next thing may begin."""
    inner = lefts[-1] + width - lefts[0]
    big, small = scale.page_type(HEAD), scale.page_type(SUB)
    shapes.append(rule(lefts[0], lefts[0] + inner, top))
    y = float(top + round(big * 1.25))
    shapes.append(text_shape((lefts[0], round(y)), cut_text(cell.name, big, "bold", inner), big, "bold"))
    lines = [*cell.says[:MOST_LINES]]
    if len(cell.says) > MOST_LINES:
        lines.append(f"and {counted(len(cell.says) - MOST_LINES, 'more change')}")
    for line in lines:
        y += round(small * 1.4)
        shapes.append(text_shape((lefts[0], round(y)), cut_text(line, small, "regular", inner), small))
    y += round(small * 1.9)
    pictures, share = _three(cell, scale)
    for left, head, picture in zip(lefts, (*COLUMNS[:2], share), pictures, strict=True):
        if picture is not None or head != COLUMNS[2]:  # what differs so much that it is not drawn is said
            shapes.append(
                text_shape((left, round(y)), cut_text(head, small, "semibold", width), small, "semibold")
            )
    y += round(small * 0.6)
    drawn = next(picture for picture in pictures if picture is not None)
    high, wide = int(drawn.shape[0]), int(drawn.shape[1])
    for left, picture, absent in zip(lefts, pictures, ("not there", "gone", ""), strict=True):
        area = (float(left), y, float(left + wide), y + high)
        if picture is not None:
            shapes.append(Picture(area, picture))
            shapes += picture_frame(None, *area, scale)
        elif absent:
            shapes.append(Area((box(*area),), PALE))
            shapes.append(Line(box(*area), scale.line(1.25), INK, dash=(6.0, 5.0), closed=True))
            middle = left + wide / 2 - text_width(absent, small, "semibold") / 2
            shapes.append(text_shape((round(middle), round(y + high / 2)), absent, small, "semibold"))
    return y + high


def _three(cell: ChangedCell, scale: Scale) -> tuple[tuple[Pixels | None, Pixels | None, Pixels | None], str]:
    """The three pictures, and what stands above the third."""
    before, after = cell.before, cell.after
    if before is None or after is None or before.shape != after.shape:
        return (before, after, None), COLUMNS[2]
    shown, said = where_they_differ(before, after, max(1, round(scale.line(1.5))))
    return (before, after, shown), said


def where_they_differ(before: Pixels, after: Pixels, line_px: int) -> tuple[Pixels | None, str]:
    """Where two pictures differ, and in words how much of them does; no picture where most of it does, or
    where they are of two sizes."""
    if before.shape != after.shape:
        return None, "another shape"
    mask = difference_mask(before, after)
    share = 100.0 * float(mask.mean())
    if share > MOST_DIFFERENT:
        return None, f"the whole picture: {share:.0f} % of it differs"
    if not mask.any():
        said = "no visible difference"
    else:
        said = f"{COLUMNS[2]}: {'under 1' if share < 1.0 else f'{share:.0f}'} % of the picture"
    return difference_picture(after, mask, line_px), said
