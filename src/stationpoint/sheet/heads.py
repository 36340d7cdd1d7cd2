"""Which heading stands where: of rows and columns, of cells that flow, of cells in an order of their own."""

from __future__ import annotations

from collections.abc import Sequence

from stationpoint.ink import Shape
from stationpoint.readings import Result
from stationpoint.sheet.camera_verdicts import APART, LineFlags, column_flag, row_flag
from stationpoint.sheet.cell import CellStyle
from stationpoint.sheet.grid import Arrangement, Grid
from stationpoint.sheet.headings import (
    column_heading,
    column_heading_size,
    heading_height,
    letter_baseline,
    row_heading,
)
from stationpoint.sheet.ranked import Ranked
from stationpoint.sheet.scale import MARGIN, ROW_HEAD
from stationpoint.sheet.wording import axis_words, column_number, fields_on, row_letter


def grid_heads(
    results: Sequence[Result],
    arrangement: Arrangement,
    look: CellStyle,
    those: Grid,
    heights: Sequence[int],
    flagged: LineFlags,
) -> list[Shape]:
    """The headings of columns and rows, or one a cell where cells flow. heights: of the lines' pictures.
    flagged: what the brief says of whole rows and columns."""
    study, scale, parts = look.study, look.scale, look.parts
    shapes: list[Shape] = []
    by_spot = {arrangement.at[result.variant.label]: result.variant for result in results}
    if not arrangement.matrix:
        fields = [*fields_on(study, "columns"), *fields_on(study, "rows")]
        said = {
            spot: (v.label.rsplit("-", 1)[-1], axis_words(v, look.swept) or axis_words(v, fields))
            for spot, v in by_spot.items()
        }
    else:
        fields = list(fields_on(study, "columns"))
        said = {
            (0, k): (column_number(by_spot[0, k].label), axis_words(by_spot[0, k], fields))
            for k in range(arrangement.columns)
        }
    size = column_heading_size(list(said.values()), parts.width, scale)
    for (line, column), (number, words) in said.items():
        left, top = those.lefts[column], those.heading_tops[line]
        shapes += column_heading(number, words, left, top, parts.width, size, scale)
    for column, (judged, counts) in flagged.columns.items():
        top = those.heading_tops[0] + heading_height(scale) - APART
        shapes += column_flag(judged, counts, those.lefts[column], top, parts.width, scale)
    if not arrangement.matrix:
        return shapes
    for line, top in enumerate(those.tops):
        variant = by_spot[line, 0]
        words, below = axis_words(variant, fields_on(study, "rows")), None
        if line in flagged.rows:
            flag, below = row_flag(*flagged.rows[line], MARGIN, letter_baseline(top, scale) + 12, scale)
            shapes += flag
        shapes += row_heading(
            row_letter(variant.label),
            words,
            MARGIN,
            top,
            top + parts.picture_top + heights[line],
            top + parts.with_picture(heights[line]).height,
            ROW_HEAD - 20,
            scale,
            below,
        )
    return shapes


def ranked_heads(
    results: Sequence[Result], looks: Sequence[CellStyle], spots: Sequence[tuple[int, int]], ranked: Ranked
) -> list[Shape]:
    """A heading over each cell: label, what differs, and what it is to the others; at one size where the
    cells are of one width."""
    said = []
    for result in results:
        parts = (axis_words(result.variant, looks[0].swept), ranked.says.get(result.variant.label, ""))
        said.append((result.variant.label, ": ".join(part for part in parts if part)))
    shapes: list[Shape] = []
    for (number, words), look, (left, top) in zip(said, looks, spots, strict=True):
        alike = [one for one, other in zip(said, looks, strict=True) if other.parts.width == look.parts.width]
        scale = looks[-1].scale
        size = column_heading_size(alike, look.parts.width, scale)
        shapes += column_heading(number, words, left, top, look.parts.width, size, scale)
    return shapes
