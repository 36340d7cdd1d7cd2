"""Sizes: what a length, a line and a letter measure at a given cell width."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from stationpoint.base.look import CELL_WIDTH_PX, WHITE
from stationpoint.ink import Halo

CLOSE_UP_PX = 1152  # width of a close-up's cell
CLOSE_UP_SCALE = 1.45
LEAST_SCALE, MOST_SCALE = 0.77, 2.1
SHEET_PX, MOST_PAGE_SCALE = 2400, 1.6
LEAST_TYPE_PX = 14
LEAST_LINE_PX = 1.25
NARROW_PX = 480  # below it captions drop what the headings say already

MARGIN, COLUMN_GUTTER, ROW_GUTTER, ROW_HEAD, HEADER_GAP = 34, 24, 30, 84, 30


@dataclass(frozen=True, slots=True)
class Scale:
    """u: scale of lines, dots and cuts; t: scale of type in cells; page_t: of title, table, legend."""

    u: float
    t: float
    page_t: float
    narrow: bool

    def long(self, px: float) -> float:
        """A length on the picture: a tick, a dot's radius, a cut."""
        return px * self.u

    def line(self, px: float) -> float:
        """The width of a line, never under 1.25 px."""
        return max(LEAST_LINE_PX, px * self.u)

    def type(self, px: float) -> int:
        """The size of type in a cell, whole pixels, never under 14."""
        return max(LEAST_TYPE_PX, ceil(px * self.t - 0.1))

    def page_type(self, px: float) -> int:
        """The size of type outside the cells, whole pixels, never under 14."""
        return max(LEAST_TYPE_PX, ceil(px * self.page_t - 0.1))

    def space(self, px: float) -> int:
        """A space between things in a cell, whole pixels."""
        return round(px * self.t)

    @property
    def halo(self) -> Halo:
        """Under a mark's line: 1 px of white at 85 %."""
        return Halo(WHITE, max(1.0, self.u), 0.85)

    @property
    def type_halo(self) -> Halo:
        """Under words on a picture: 2 px of white at 82 %."""
        return Halo(WHITE, max(2.0, 2.0 * self.u**0.7), 0.82)


def scale_for(cell_width: int, page_width: int = SHEET_PX) -> Scale:
    """The scale of a page `page_width` px wide whose cells are `cell_width` px wide.

    Cells of 544 px give 1; wider ones grow to 1.45 at 789 px, where they stay up to the close-up's
    1152. Type grows by the power 0.7. The page's own type grows with pages wider than 2400 px, so
    that they still read when reduced, and shrinks only with the cells.
    """
    grown = min(cell_width / CELL_WIDTH_PX, CLOSE_UP_SCALE)
    u = max(grown, CLOSE_UP_SCALE * cell_width / CLOSE_UP_PX if cell_width > CLOSE_UP_PX else 0.0)
    u = min(max(u, LEAST_SCALE), MOST_SCALE)
    t = u**0.7
    page_t = min(max(page_width / SHEET_PX, 1.0) ** 0.7, MOST_PAGE_SCALE) * min(t, 1.0)
    return Scale(u, t, page_t, cell_width < NARROW_PX)


def cell_width_for(variants_on_a_page: int) -> int:
    """Cell width that suits so many variants: one or two make a close-up."""
    return CLOSE_UP_PX if variants_on_a_page <= 2 else CELL_WIDTH_PX
