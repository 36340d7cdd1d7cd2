"""From results to pages: the only entry of this room."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple, Protocol, overload

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import CELL_WIDTH_PX, GROUND, PAPER, RGB
from stationpoint.base.words import title_name
from stationpoint.ink import Group, Page, Shape
from stationpoint.readings import CameraVerdict, Result
from stationpoint.sheet.book import Book, book_of
from stationpoint.sheet.camera_verdicts import (
    cells_failing,
    column_flag_px,
    line_flags,
)
from stationpoint.sheet.cell import CellStyle, cell_parts, cell_shapes
from stationpoint.sheet.cues import pairs_of
from stationpoint.sheet.decision import chosen_words, note_lines
from stationpoint.sheet.equal import equal_cells
from stationpoint.sheet.flag import Flag
from stationpoint.sheet.foot import foot_shapes
from stationpoint.sheet.grid import Arrangement, CellParts, arrange, lay_out_grid
from stationpoint.sheet.header import header_shapes
from stationpoint.sheet.headings import heading_height
from stationpoint.sheet.heads import grid_heads, ranked_heads
from stationpoint.sheet.legend.legend import columns_of, legend_shapes
from stationpoint.sheet.legend.uses import uses_of
from stationpoint.sheet.legend.words import texts_of
from stationpoint.sheet.marks import CALM, CLOSE, known_marks
from stationpoint.sheet.marks.gap import clearer_sides
from stationpoint.sheet.modes.modes import (
    BY_NAME,
    MODES,
    Common,
    all_mode_words,
    common_of,
    mode_words,
    picture_in_mode,
)
from stationpoint.sheet.plan.data import PlanData
from stationpoint.sheet.plan.labels import camera_labels
from stationpoint.sheet.ranked import Ranked, columns_of_ranked, lay_out_hero, ranked_widths
from stationpoint.sheet.roles import SUBJECT, Owner
from stationpoint.sheet.scale import (
    CLOSE_UP_PX,
    COLUMN_GUTTER,
    HEADER_GAP,
    MARGIN,
    Scale,
    scale_for,
)
from stationpoint.sheet.settings import GRID, SHADOW, common_settings, confused_in_all
from stationpoint.sheet.wording import (
    axis_words,
    fields_on,
    swept_fields,
)
from stationpoint.study import Study, Variant


class Cell(NamedTuple):
    """A cell of a page. used: the legend entries that it uses. sides: of its style, once it was drawn."""

    group: Group
    used: set[str]
    sides: Mapping[str, int]


class Share(Protocol):
    """Who composes the cells of a page: what is made of each number below `count`, in their order.

    pictures: what need not be handed over by other processes. A cell depends on those before it only by the
    sides that they settle: made before these are known it may have to be made again.
    """

    def __call__(
        self, make: Callable[[int], Cell], count: int, pictures: Sequence[NDArray[np.uint8]]
    ) -> Iterable[Cell]: ...


def in_turn(make: Callable[[int], Cell], count: int, pictures: Sequence[NDArray[np.uint8]]) -> Iterable[Cell]:
    """All cells by this process, each once those before it are known."""
    return map(make, range(count))


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """What all pages of a sheet share; see compose. swept: the fields that differ between variants. large:
    label -> style of a cell that is larger than others."""

    look: CellStyle
    swept: frozenset[str]
    verdicts: Mapping[str, Flag]
    record_hash: str
    mode: str
    common: Common
    plan: PlanData | None
    answer: str
    renderer_note: str
    grid: RGB | None
    shadow: bool
    own_colours: str
    own_ids: frozenset[int]
    chosen: Variant | None
    ranked: Ranked | None
    large: Mapping[str, CellStyle]
    cameras: Sequence[CameraVerdict]
    variants: Sequence[Variant]
    share: Share


def compose_pages(
    results: Sequence[Result] | Book,
    study: Study,
    *,
    verdicts: Mapping[str, Flag] | None = None,
    record_hash: str,
    cell_width: int = CELL_WIDTH_PX,
    mode: str = "marks",
    marks: frozenset[str] | None = None,
    plan: PlanData | None = None,
    owner_by_id: Mapping[int, Owner] | None = None,
    answer: str = "",
    renderer_note: str = "",
    grid: RGB | None = GROUND,
    shadow: bool = True,
    own_colours: str = "",
    mark_m: float = 1.0,
    own_ids: frozenset[int] = frozenset(),
    chosen: Variant | None = None,
    ranked: Ranked | None = None,
    cameras: Sequence[CameraVerdict] = (),
    scale: Scale | None = None,
    share: Share = in_turn,
) -> Pages:
    """The pages of a sheet, one a value of the pages axis, each composed when it is asked for.

    results: in the order of the sweep; a variant's first result with a picture is drawn, results of other
    places are left to the record. Of a Book, only numbers are kept of one page while another one is composed.
    verdicts: label -> flag; without them the flag row is left out.
    mode: one of modes.MODES. marks: names of marks to draw, where the mode has any to choose: the calm ones
    unless given, and in a close-up directions too. plan: plan
    and side view, left out if None. owner_by_id: `owners_by_id` of the scene. answer: a line under the
    title. renderer_note: said at the top where another renderer drew. grid: the tint under the metre grid,
    None where pictures show none. shadow: whether they show cast shadows. own_colours: what the header says
    where pictures show the level's own colours.
    mark_m: length in metres of marks that stand beside the subject. own_ids: of what pictures (in a paired
    mode the lower ones) show in own colours. chosen: the variant of the study's decision. ranked: an order
    of its own in place of grid and pages. cameras: those that are judged more than once, with what the brief
    says of each. scale: that of the cell width unless given. share: who composes the cells of a page.
    """
    if mode not in MODES:
        raise ValueError(f"mode {mode} is none of {', '.join(MODES)}")
    unknown = sorted((marks or frozenset()) - set(known_marks()))
    if unknown:
        raise ValueError(f"no such marks: {', '.join(unknown)}")
    book = results if isinstance(results, Book) else book_of(results, ranked)
    how = BY_NAME[mode]
    own_marks = CALM if how.marks is None else how.marks
    wanted = marks if marks is not None and how.marked else own_marks
    who = owner_by_id or {}
    round_them = frozenset(who) if mode == "depth" else own_ids & frozenset(who)
    if own_ids:  # a tint may be lost among a level's own colours: that of the subject is outlined, too
        round_them |= {number for number, one in who.items() if one.role == SUBJECT}
    is_hero = ranked is not None and ranked.hero
    shown, widest, tallest, cues = list[list[Variant]](), 0, 0, False
    for page in book.pages:
        shown.append([result.variant for result in page])
        widest = max(widest, _page_width(shown[-1], cell_width, ranked))
        small = (page[2:] or page) if is_hero else page
        tallest = max(tallest, *(0 if one.picture is None else one.picture.shape[0] for one in small))
        cues = cues or any(pairs_of(result, study) for result in page)
    variants = [variant for those in shown for variant in those]
    scale = scale or scale_for(cell_width, widest)
    swept = swept_fields(study, variants)
    tallest = tallest or round(cell_width * 9 / 16)
    in_small = (variants[2:] or variants) if is_hero else variants
    below = max(len(note_lines(study, variant, cell_width, scale)) for variant in in_small)
    paired = how.paired and bool(own_ids)
    parts = cell_parts(cell_width, tallest, scale, bool(verdicts), cues, paired, below)
    headed = [*fields_on(study, "columns"), *fields_on(study, "rows")]
    headed += fields_on(study, "pages") if ranked is not None else []
    headings = [field for field in headed if field in swept]
    look = CellStyle(
        study,
        scale,
        parts,
        wanted,
        who,
        headings,
        mark_m=mark_m,
        outlined=frozenset() if how.paired else round_them,
        under_outlined=round_them if how.paired else frozenset(),
        failing=cells_failing(cameras),
    )
    if study.gap and wanted:
        pictured = (look.drawing(result) for result in book if result.picture is not None)
        look = replace(look, sides=clearer_sides(pictured, study))
    sheet = Sheet(
        look,
        swept,
        verdicts or {},
        record_hash,
        mode,
        common_of(mode, book, study),
        plan,
        answer,
        renderer_note,
        grid,
        shadow,
        own_colours,
        own_ids,
        chosen,
        ranked,
        _large(book.pages[0], look, widest, bool(verdicts), cues, paired) if is_hero else {},
        cameras,
        variants,
        share,
    )
    return Pages(sheet, book.pages)


def _large(
    results: Sequence[Result], look: CellStyle, page_width: int, flags: bool, cues: bool, paired: bool
) -> dict[str, CellStyle]:
    """The styles of the first two cells of a hero's sheet, by label."""
    found = {}
    widths = ranked_widths(len(results), True, look.parts.width)
    for result, width in zip(results[:2], widths, strict=False):
        scale = scale_for(width, page_width)
        height = round(width * 9 / 16) if result.picture is None else result.picture.shape[0]
        below = len(note_lines(look.study, result.variant, width, scale))
        parts = cell_parts(width, height, scale, flags, cues, paired, below)
        found[result.variant.label] = replace(look, scale=scale, parts=parts)
    return found


class Pages(Sequence[Page]):
    """The pages of a sheet, each composed when it is asked for; only the last one is kept."""

    def __init__(self, sheet: Sheet, results: Sequence[Sequence[Result]]) -> None:
        self._sheet, self._results = sheet, results
        self._last: tuple[int, Page] | None = None

    def __len__(self) -> int:
        return len(self._results)

    @overload
    def __getitem__(self, number: int) -> Page: ...
    @overload
    def __getitem__(self, number: slice) -> Sequence[Page]: ...
    def __getitem__(self, number: int | slice) -> Page | Sequence[Page]:
        if isinstance(number, slice):
            return [self[k] for k in range(*number.indices(len(self)))]
        number = range(len(self))[number]
        if self._last is None or self._last[0] != number:
            self._last = None  # so that two are never held at once
            here = self._results[number]
            words = axis_words(here[0].variant, fields_on(self._sheet.look.study, "pages"))
            said = (str(number + 1), words, len(self)) if len(self) > 1 else None
            self._last = number, _page(here, self._sheet, said)
        return self._last[1]


def title_of(study: Study) -> str:
    """What stands over a sheet."""
    return study.title or f"Camera variants of {title_name(study.scene)}"


def _page_width(variants: Sequence[Variant], cell_width: int, ranked: Ranked | None) -> int:
    if ranked is not None and ranked.hero:
        columns = columns_of_ranked(len(variants), True)
        return 2 * MARGIN + columns * (cell_width + COLUMN_GUTTER) - COLUMN_GUTTER
    those = arrange(variants, ranked is not None)
    return lay_out_grid(those, CellParts(cell_width, 0, 0, 0, 0, 0, 0, 0), 0, 0).width


def _page(results: Sequence[Result], sheet: Sheet, page: tuple[str, str, int] | None) -> Page:
    """One page. page: its number, words and how many there are, None for a sheet of one page."""
    study, scale = sheet.look.study, sheet.look.scale
    ranked = sheet.ranked
    arrangement = arrange([result.variant for result in results], ranked is not None)
    is_hero = ranked is not None and ranked.hero
    close_up = not is_hero and sheet.look.parts.width >= CLOSE_UP_PX and arrangement.columns <= 2
    drawn_marks = CLOSE if close_up and sheet.look.marks == CALM else sheet.look.marks
    everywhere = frozenset(confused_in_all(results))
    look = replace(sheet.look, marks=drawn_marks, close_up=close_up, said_of_all=everywhere)
    large = {label: replace(one, said_of_all=everywhere) for label, one in sheet.large.items()}
    looks = [large.get(result.variant.label, look) for result in results]
    flagged = line_flags(sheet.cameras, sheet.variants, arrangement, study)
    head = heading_height(scale) + (column_flag_px(scale) if flagged.columns else 0)
    width = _page_width([result.variant for result in results], look.parts.width, ranked)
    plan = sheet.plan
    if plan is not None:
        here = {result.variant.label for result in results}
        holding = {label for label, flag in sheet.verdicts.items() if flag.kind in ("chosen", "holds")}
        cameras = (replace(one, holds=one.label in holding) for one in plan.cameras if one.label in here)
        plan = replace(plan, cameras=tuple(cameras))
    labels, note = camera_labels(results, sheet.swept)
    shown = {result.variant.label for result in results}
    first = [("Chosen", chosen_words(study, sheet.chosen, sheet.verdicts, shown))]
    first += [("Shown", ranked.shown)] if ranked is not None else []
    has_grid = sheet.grid is not None and BY_NAME[sheet.mode].grid
    aids = ([GRID] if has_grid else []) + ([SHADOW] if sheet.shadow else [])
    rows = common_settings(results, study, sheet.swept, sheet.renderer_note, sheet.own_colours, first, aids)
    title = title_of(study)
    said = [part for part in (sheet.answer, mode_words(sheet.mode, bool(sheet.own_ids), study)) if part]
    others = [[part for part in (sheet.answer, words) if part] for words in all_mode_words(study)]
    header, bottom = header_shapes(
        width, title, said, page, rows, plan, labels, note, scale, close_up, others
    )
    heights = _line_heights(results, arrangement, look.parts.picture)
    if is_hero:
        those, spots = lay_out_hero([one.parts for one in looks], bottom + HEADER_GAP, head)
    else:
        those = lay_out_grid(arrangement, look.parts, bottom + HEADER_GAP, head, pictures_px=heights)
        at = [arrangement.at[result.variant.label] for result in results]
        looks = [replace(look, parts=look.parts.with_picture(heights[line])) for line, _ in at]
        spots = [(those.lefts[column], those.tops[line]) for line, column in at]
    if ranked is not None:
        heads = ranked_heads(results, looks, [(x, y - head) for x, y in spots], ranked)
    else:
        heads = grid_heads(results, arrangement, look, those, heights, flagged)
    shapes: list[Shape] = [_group("header", header), _group("heads", heads)]
    in_order = {result.variant.label: (0, k) for k, result in enumerate(results)}
    same = equal_cells(results, arrangement.at if ranked is None else in_order)
    used: set[str] = set()
    settled = dict(sheet.look.sides)

    def composed(k: int) -> Cell:
        result, style = results[k], replace(looks[k], sides=dict(settled))
        label = result.variant.label
        pixels = (
            None
            if result.picture is None
            else picture_in_mode(result, sheet.mode, look.owner_by_id, sheet.common)
        )
        drawn, marks = cell_shapes(result, pixels, style, sheet.verdicts.get(label), same.get(label))
        return Cell(Group("cell", spots[k], tuple(drawn)), marks, style.sides)

    pictures = [one for result in results for one in (result.picture, result.own_picture) if one is not None]
    for k, cell in enumerate(sheet.share(composed, len(results), pictures)):
        if any(settled.get(name, side) != side for name, side in cell.sides.items()):
            cell = composed(k)  # made while a cell before it, which settles the side for all, was not yet
        settled |= cell.sides
        used |= cell.used
        shapes.append(cell.group)
    top = those.bottom + HEADER_GAP
    drawn_with = (
        sheet.verdicts,
        sheet.mode,
        sheet.common.ladder,
        sheet.grid,
        texts_of(shapes),
        look.mark_m,
    )
    outlined = look.outlined | look.under_outlined
    uses = uses_of(results, study, used, *drawn_with, look.owner_by_id, outlined, sheet.own_ids)
    columns = columns_of(uses, scale)
    legend, height = legend_shapes(columns, MARGIN, top, width - 2 * MARGIN, those.lefts[1:], scale)
    foot, foot_height = foot_shapes(top + round(height), width, sheet.record_hash, scale)
    shapes += [_group("legend", legend), _group("foot", foot)]
    return Page((width, top + round(height) + foot_height), PAPER, tuple(shapes))


def _group(name: str, shapes: Sequence[Shape]) -> Group:
    return Group(name, (0.0, 0.0), tuple(shapes))


def _line_heights(results: Sequence[Result], arrangement: Arrangement, tallest: int) -> list[int]:
    """How high the pictures of each line are: as its tallest, so that aspects swept down leave no line
    empty room. tallest: of the sheet, for a line without a picture."""
    heights: list[list[int]] = [[] for _ in range(arrangement.lines)]
    for result in results:
        if result.picture is not None:
            heights[arrangement.at[result.variant.label][0]].append(result.picture.shape[0])
    return [max(line, default=tallest) for line in heights]
