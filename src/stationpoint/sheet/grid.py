"""The grid as arithmetic: which variant stands where, and whole pixels that sum to the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from stationpoint.sheet.scale import COLUMN_GUTTER, MARGIN, ROW_GUTTER, ROW_HEAD
from stationpoint.study import Variant

MOST_IN_A_LINE = 5


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Where the variants of a page stand.

    matrix: rows and columns carry headings; else the cells flow in lines and each has a heading of its
    own. at: label -> (line, column).
    """

    matrix: bool
    columns: int
    lines: int
    at: dict[str, tuple[int, int]]


def columns_of_flow(count: int) -> int:
    """Cells in a line when one axis flows: one line up to five, else few empty places, near four."""
    if count <= MOST_IN_A_LINE:
        return max(1, count)
    tries = (3, 4, 5) if count < 20 else (4, 5, 6)
    return min(tries, key=lambda n: (-count % n, abs(n - tries[1])))


def arrange(variants: Sequence[Variant], flows: bool = False) -> Arrangement:
    """The arrangement of one page's variants, in their order.

    A whole product of at least two rows and two columns is a matrix; anything else flows.
    """
    rows = sorted({variant.row for variant in variants})
    columns = sorted({variant.column for variant in variants})
    if not flows and len(rows) > 1 and len(columns) > 1 and len(variants) == len(rows) * len(columns):
        at = {v.label: (rows.index(v.row), columns.index(v.column)) for v in variants}
        return Arrangement(True, len(columns), len(rows), at)
    across = columns_of_flow(len(variants))
    at = {v.label: divmod(k, across) for k, v in enumerate(variants)}
    return Arrangement(False, across, -(-len(variants) // across), at)


@dataclass(frozen=True, slots=True)
class CellParts:
    """Heights of a cell's parts from the top, whole pixels; 0 leaves a part out with its space.
    under: of a second picture below the first, with the space between."""

    width: int
    flag: int
    flag_gap: int
    picture: int
    picture_gap: int
    strip: int
    strip_gap: int
    caption: int
    under: int = 0

    @property
    def picture_top(self) -> int:
        """Where the picture begins, from the cell's top."""
        return self.flag + self.flag_gap

    @property
    def strip_top(self) -> int:
        """Where the strip of depth cues begins."""
        return self.picture_top + self.picture + self.under + self.picture_gap

    @property
    def caption_top(self) -> int:
        """Where the caption begins."""
        return self.strip_top + self.strip + self.strip_gap

    @property
    def height(self) -> int:
        """The whole cell."""
        return self.caption_top + self.caption

    def with_picture(self, height: int) -> CellParts:
        """The same with a picture of another height, and a second one that follows it."""
        under = self.under + height - self.picture if self.under else 0
        return replace(self, picture=height, under=under)


@dataclass(frozen=True, slots=True)
class Grid:
    """Where the cells and their headings stand on a page, whole pixels.

    lefts: of the columns. tops: of the lines' cells. heading_tops: of the column headings, one for the
    whole grid in a matrix, else one a line. width, bottom: of the page and of the last line.
    """

    width: int
    lefts: tuple[int, ...]
    heading_tops: tuple[int, ...]
    tops: tuple[int, ...]
    bottom: int


def lay_out_grid(
    arrangement: Arrangement,
    parts: CellParts,
    top: int,
    heading_px: int,
    row_heading_px: int = ROW_HEAD,
    pictures_px: Sequence[int] = (),
) -> Grid:
    """The grid whose first heading begins at `top`; heading_px: height of a column's heading with its space.
    pictures_px: how high the pictures of each line are, as `parts` says where it is not given.

    margin + row heading + n cells + (n - 1) gutters + margin is the width: 4 cells of 544 px with row
    headings make 2400.
    """
    first = MARGIN + (row_heading_px if arrangement.matrix else 0)
    step = parts.width + COLUMN_GUTTER
    lefts = tuple(first + k * step for k in range(arrangement.columns))
    heading_tops, tops = [], []
    y = top
    for line in range(arrangement.lines):
        if line == 0 or not arrangement.matrix:
            heading_tops.append(y)
            y += heading_px
        tops.append(y)
        y += (parts.with_picture(pictures_px[line]) if pictures_px else parts).height + ROW_GUTTER
    return Grid(lefts[-1] + parts.width + MARGIN, lefts, tuple(heading_tops), tuple(tops), y - ROW_GUTTER)
