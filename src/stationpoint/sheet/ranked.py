"""Variants in an order of their own in place of the grid: the best few, or one large and the rest small."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from stationpoint.base.look import CELL_WIDTH_PX
from stationpoint.sheet.grid import CellParts, Grid, columns_of_flow
from stationpoint.sheet.scale import COLUMN_GUTTER, MARGIN, ROW_GUTTER

HERO_SPANS = {3: (2, 1), 5: (3, 2)}  # columns of the small ones: how many the first and the second take
NARROW_PX = 430  # of the small ones where they are five in a line


@dataclass(frozen=True, slots=True)
class Ranked:
    """labels: of the variants drawn, in order. hero: whether the first is large and the second less so.
    says: label -> what it is, for its heading: "chosen", "runner-up". shown: what the header says of those
    that are left out, "" where none is."""

    labels: tuple[str, ...]
    hero: bool = False
    says: Mapping[str, str] = field(default_factory=dict)
    shown: str = ""


def columns_of_ranked(count: int, hero: bool) -> int:
    """In how many columns the small ones stand: of a hero 3 or 5, with the fewest places left empty."""
    if not hero:
        return columns_of_flow(count)
    return min(HERO_SPANS, key=lambda columns: (-max(1, count - 2) % columns, columns))


def small_width(count: int, hero: bool) -> int:
    """The width of a small cell that suits so many variants, pixels."""
    return NARROW_PX if hero and columns_of_ranked(count, hero) > min(HERO_SPANS) else CELL_WIDTH_PX


def ranked_widths(count: int, hero: bool, cell_width: int) -> list[int]:
    """The width of each cell, in order, pixels. cell_width: of the small ones.

    Worked: 8 in a hero's sheet of 544 px: 3 columns, so 2 x 544 + 24 = 1112, then 544 for all others.
    """
    spans = HERO_SPANS[columns_of_ranked(count, hero)] if hero else ()
    wide = [span * cell_width + (span - 1) * COLUMN_GUTTER for span in spans[:count]]
    return wide + [cell_width] * (count - len(wide))


def lay_out_hero(parts: Sequence[CellParts], top: int, heading_px: int) -> tuple[Grid, list[tuple[int, int]]]:
    """The columns of the small ones as a grid, and where each cell stands: left, top. parts: of each cell.
    The headings stand `heading_px` above the cells."""
    columns, width = columns_of_ranked(len(parts), True), parts[-1].width
    if len(parts) <= 2:
        spans = HERO_SPANS[columns]
        width = (parts[0].width - (spans[0] - 1) * COLUMN_GUTTER) // spans[0]
    lefts = tuple(MARGIN + k * (width + COLUMN_GUTTER) for k in range(columns))
    y = top + heading_px
    spots = [(MARGIN, y), (MARGIN + parts[0].width + COLUMN_GUTTER, y)][: len(parts)]
    tops, bottom = [y], y + max(part.height for part in parts[:2])
    for k, part in enumerate(parts[2:]):
        if k % columns == 0:
            y = bottom + ROW_GUTTER + heading_px
            tops.append(y)
        bottom = max(bottom, y + part.height)
        spots.append((lefts[k % columns], y))
    grid = Grid(lefts[-1] + width + MARGIN, lefts, tuple(at - heading_px for at in tops), tuple(tops), bottom)
    return grid, spots
