"""A chart drawn through matplotlib, which is imported when a chart is drawn and not before.

Everything stands where it is put here, in pixels of a page of WIDTH_PX; words are measured in our own type,
so that PNG, SVG and PDF are one picture.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Any

from stationpoint.base.look import INK, PALE, PAPER, SHADE, WHITE
from stationpoint.base.words import listed, plain
from stationpoint.ink import Weight, is_settable, text_width, wrap_text
from stationpoint.readings import SHARE, amount_words, bounds_of, unit_words
from stationpoint.sheet.chart.frame import Frame, field_words, range_of, scale_of, tick_names
from stationpoint.sheet.chart.limits import Drawing, draw_limits
from stationpoint.sheet.chart.names import Box, End, Room, name_rows, width_of
from stationpoint.sheet.chart.own import figure_bytes, hex_of, own_settings
from stationpoint.sheet.chart.page import Page
from stationpoint.sheet.chart.panels import Line, Panel, ladder, panels_of, same_lines
from stationpoint.sheet.chart.series import Chart

WIDTH_PX, HEIGHT_PX, DPI = 1500, 900, 150
MARGIN, HEAD, FOOT = 45.0, 172.0, 74.0  # px: sides; above the panels; below them
TITLE_PX, SAYS_PX, FOOT_PX = 40.0, 27.0, 20.0
PANEL_PX = 330.0  # how high each row of panels is made, where one page's height does not do
DASHES: tuple[Any, ...] = ("-", (0, (5, 2.5)), (0, (1.2, 1.8)), (0, (7, 2, 1.5, 2)))
MARKERS = ("o", "s", "^", "D", "v", "P", "X", "p")
WIDTHS = {"usual": 2.0, "thin": 0.8, "bold": 3.6}  # points


def draw_chart(chart: Chart, ending: str) -> bytes:
    """The chart as PNG, SVG or PDF. ending: ".png", ".svg" or ".pdf". Same chart, same bytes."""
    panels, more = panels_of(chart)
    columns = 1 if len(panels) < 2 else 2 if len(panels) <= 4 else 3
    rows = max(1, ceil(len(panels) / columns))
    height = max(float(HEIGHT_PX), HEAD + FOOT + rows * PANEL_PX + 60)
    with own_settings():
        page = Page(float(WIDTH_PX), height, DPI, hex_of(PAPER))
        _frame_words(page, chart, more)
        _draw_panels(page, chart, panels, columns, rows)
        return figure_bytes(page.figure, ending.lower())


def _frame_words(page: Page, chart: Chart, more: Sequence[str]) -> None:
    """Title, what is charted, and the foot."""
    across = field_words(chart.field, scale_of(chart).numeric)
    unit = unit_words(chart.unit)
    asked = f"{chart.says}{f', {unit}' if unit else ''}"
    title = is_settable(chart.title or f"{chart.says} against {across.partition(',')[0]}")
    size = TITLE_PX * min(1.0, (WIDTH_PX - 2 * MARGIN) / max(1.0, text_width(title, TITLE_PX, "bold")))
    page.text(MARGIN, 84, title, size, "bold")
    page.text(MARGIN, 134, is_settable(asked), SAYS_PX, "semibold")
    values = [value for line in chart.lines for value in line.values]
    absent = sum(value is None for value in values)
    said = []
    if any(fails for line in chart.lines for fails in line.fails):
        said.append("A filled point fails a limit.")
    if absent:
        said.append(f"{absent} of the points have no reading and are left out.")
    if not ladder(chart) and (beyond := sorted({value for value in values if isinstance(value, str)})):
        said.append(f"So are {sum(isinstance(v, str) for v in values)} that read {listed(beyond, 'or')}.")
    if more:
        said.append(f"And {len(more)} more: {listed(more)}.")
    said.append("A chart screens cameras; it does not replace players.")
    within = WIDTH_PX - 3 * MARGIN - text_width(chart.foot, FOOT_PX, "semibold")
    lines = wrap_text(is_settable(" ".join(said)), FOOT_PX, "regular", within, 2)
    for k, line in enumerate(lines):
        page.text(MARGIN, page.height - 22 - (len(lines) - 1 - k) * FOOT_PX * 1.2, line, FOOT_PX)
    page.text(WIDTH_PX - MARGIN, page.height - 22, chart.foot, FOOT_PX, "semibold", "right")


def _draw_panels(page: Page, chart: Chart, panels: Sequence[Panel], columns: int, rows: int) -> None:
    words, scale = ladder(chart), scale_of(chart)
    size = 22.0 if len(panels) == 1 else 19.0 if columns == 2 else 17.0
    bounds = [bound.value for limit, _ in chart.limits for bound in bounds_of(limit, chart.unit)]
    low, high = range_of(chart, words, bounds)
    marks = _upright(words, low, high, chart.unit)
    left = MARGIN + 34 + width_of([(name, "regular") for _, name in marks], size) + 12
    gutter = 30.0
    whole = (WIDTH_PX - MARGIN - left - gutter * (columns - 1)) / columns
    names = max((_names_px(panel, size) for panel in panels), default=0.0)
    names = min(names, 0.34 * whole if columns > 1 else 330.0)
    titled = size * 2.0 if any(panel.title or panel.more for panel in panels) else 0.0
    under = 11 + size * (1.3 if scale.numeric else 2.5)  # the settings' names
    tall = (page.height - HEAD - FOOT - size * 1.2) / rows
    for k, panel in enumerate(panels):
        row, column = divmod(k, columns)
        x = left + column * (whole + gutter)
        y = HEAD + row * tall
        box = (x, y + titled, x + whole - names - 62 * (names > 0), y + tall - under)
        frame = Frame(box, scale, low, high)
        if panel.title or panel.more:
            title = panel.title + (f" (and {panel.more} more)" if panel.more else "")
            fitting = wrap_text(is_settable(title), size + 2, "bold", whole, 1)
            page.text(x, y + titled - 0.6 * size, fitting[0] if fitting else "", size + 2, "bold")
        lowest = k + columns >= len(panels)
        _draw_axes(page, frame, marks if column == 0 else [(at, "") for at, _ in marks], size, lowest)
        _draw_panel(page, frame, chart, panel, words, size, names)
    unit = unit_words(chart.unit)
    page.turned(
        MARGIN + 6,
        HEAD + (page.height - HEAD - FOOT - 60) / 2,
        is_settable(f"{chart.says}{f', {unit}' if unit else ''}"),
        size,
    )
    across = is_settable(field_words(chart.field, scale.numeric))
    middle = (left + WIDTH_PX - MARGIN) / 2 if columns > 1 else (left + frame.box[2]) / 2 if panels else left
    page.text(middle, page.height - FOOT - 6, across, size, "regular", "center")


def _upright(words: Sequence[str], low: float, high: float, unit: str) -> list[tuple[float, str]]:
    """The marks of the upright axis: words on their ladder, or round numbers."""
    if words:
        return [(float(k), is_settable(word)) for k, word in enumerate(words)]
    if unit == SHARE:
        return [(k / 5, amount_words(k / 5, SHARE)) for k in range(6) if low <= k / 5 <= high]
    from matplotlib.ticker import MaxNLocator

    ticks = MaxNLocator(nbins=7, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    return [(float(tick), plain(float(tick), 6)) for tick in ticks if low <= tick <= high]


def _draw_axes(
    page: Page, frame: Frame, marks: Sequence[tuple[float, str]], size: float, named: bool
) -> None:
    left, top, right, bottom = frame.box
    page.area(frame.box, hex_of(PALE), 0.5)
    for value, name in marks:
        y = frame.y(value)
        page.line([(left, y), (right, y)], hex_of(SHADE), 0.6, zorder=1.2)
        page.line([(left - 7, y), (left, y)], hex_of(INK), 1.0)
        if name:
            page.text(left - 13, y + 0.36 * size, name, size, "regular", "right")
    page.line([(left, top), (left, bottom), (right, bottom)], hex_of(INK), 1.0)
    for k in range(len(frame.scale.at)):
        page.line([(frame.x(k), bottom), (frame.x(k), bottom + 7)], hex_of(INK), 1.0)
    for k, lines in tick_names(frame, size) if named else ():
        for n, line in enumerate(lines[:2]):
            page.text(frame.x(k), bottom + 11 + (n + 0.8) * size * 1.15, line, size, "regular", "center")


def _draw_panel(
    page: Page, frame: Frame, chart: Chart, panel: Panel, words: Sequence[str], size: float, names_px: float
) -> None:
    order = sorted(range(len(frame.scale.at)), key=frame.x)
    tracks = [_track(frame, line, words, order) for line in panel.lines]
    left, top, right, bottom = frame.box
    stretches = [piece for track in tracks for piece in _pieces(track)]
    room = Room((left + 3, top + 1, right - 3, bottom - 1), stretches)
    together = same_lines(panel.lines)
    drawn = {k for k, _ in together} | {k for k, line in enumerate(panel.lines) if line.weight == "thin"}
    for k, (line, track) in enumerate(zip(panel.lines, tracks, strict=True)):
        if k in drawn:
            _draw_line(page, panel, k, line, [track[n] for n in order], order)
    draw_limits(Drawing(page, frame, room, size), chart, panel, words)
    for line, track in zip(panel.lines, tracks, strict=True):
        _name_places(page, line, track, order, room, size)
    ends = []
    for k, names in together:
        there = [tracks[k][n] for n in order if tracks[k][n] is not None]
        if there and (last := there[-1]):
            shown = [(is_settable(head), is_settable(rest)) for head, rest in names]
            ends.append(End(last[0], last[1], shown, k))
    rows, size = name_rows(ends, size, names_px, top - size, bottom + size)
    for row in rows:
        page.text(right + 56, row.y + 0.36 * size, row.words, size, row.weight)
        if row.end is not None:
            line = panel.lines[row.end.style]
            page.line(
                [(row.end.x, row.end.y), (right + 10, row.end.y), (right + 24, row.y), (right + 50, row.y)],
                hex_of(INK),
                0.7,
                zorder=2.5,
            )
            if line.weight != "thin":
                page.marker((right + 38, row.y), **_marker(panel, row.end.style, False))


Track = list[tuple[float, float] | None]


def _track(frame: Frame, line: Line, words: Sequence[str], order: Sequence[int]) -> Track:
    """Where a line's values stand, None where it has none."""
    heights = [
        words.index(value)
        if isinstance(value, str) and words
        else value
        if not isinstance(value, str)
        else None
        for value in line.values
    ]
    return [None if y is None else (frame.x(k), frame.y(y)) for k, y in enumerate(heights)]


def _pieces(track: Track) -> list[list[tuple[float, float]]]:
    """The stretches of a line without a gap."""
    found: list[list[tuple[float, float]]] = [[]]
    for point in track:
        if point is None:
            found.append([])
        else:
            found[-1].append(point)
    return [piece for piece in found if piece]


def _draw_line(page: Page, panel: Panel, k: int, line: Line, track: Track, order: Sequence[int]) -> None:
    usual = line.weight == "usual"
    for piece in _pieces(track):
        page.line(
            piece,
            hex_of(INK),
            WIDTHS[line.weight],
            dashes=DASHES[_style(panel, k)[0]] if usual else "-",
            zorder={"thin": 2.6, "usual": 3.0, "bold": 3.4}[line.weight],
        )
        if line.weight == "thin" and len(piece) == 1:
            page.marker(piece[0], **_marker(panel, k, True) | {"markersize": 3})
    if line.weight == "thin":
        return
    for n, point in zip(order, track, strict=True):
        if point is not None:
            page.marker(point, **_marker(panel, k, bool(line.fails) and line.fails[n]))


def _name_places(page: Page, line: Line, track: Track, order: Sequence[int], room: Room, size: float) -> None:
    """Which place the worst is at, where it begins and wherever it changes."""
    before = ""
    for n in order:
        point, place = track[n], line.at[n] if line.at else ""
        if point is None or not place or place == before:
            continue
        words = is_settable(place)
        wide, x, y = text_width(words, size, "semibold"), *point
        boxes: list[Box] = []
        for dy in (-14 - size, 14.0, -14 - 2 * size, 14 + size):
            for dx in (-wide / 2, 0.0, -wide, 14.0, -wide - 14):
                boxes.append((x + dx - 2, y + dy, x + dx + wide + 2, y + dy + size * 1.1))
        found = room.best(boxes)
        if found is not None:
            page.text(found[0] + 2, found[1] + 0.86 * size, words, size, "semibold", halo=hex_of(PALE))
            before = place


def _style(panel: Panel, k: int) -> tuple[int, int]:
    """Dash and marker of a line: lines of one head have one marker, of one rest one dash, where these do."""
    lines = [line for line in panel.lines if line.weight == "usual"]
    heads = list(dict.fromkeys(line.head for line in lines))
    rests = list(dict.fromkeys(line.rest for line in lines))
    line = panel.lines[k]
    if line in lines and 1 < len(rests) <= len(DASHES) and len(heads) <= len(MARKERS):
        return rests.index(line.rest), heads.index(line.head)
    return k % len(DASHES), (k + k // len(MARKERS)) % len(MARKERS) if len(lines) > 8 else k % len(MARKERS)


def _marker(panel: Panel, k: int, fails: bool) -> dict[str, Any]:
    bold = panel.lines[k].weight == "bold"
    return {
        "marker": "o" if panel.lines[k].weight != "usual" else MARKERS[_style(panel, k)[1]],
        "markersize": 8.5 if bold else 7,
        "markerfacecolor": hex_of(INK if fails else WHITE),
        "markeredgecolor": hex_of(INK),
        "markeredgewidth": 1.5,
    }


def _names_px(panel: Panel, size: float) -> float:
    """How wide the names of a panel would be, each part on one line."""
    named = [line for line in panel.lines if line.named]
    heads: list[tuple[str, Weight]] = [(is_settable(line.head), "semibold") for line in named]
    rests: list[tuple[str, Weight]] = [(is_settable(line.rest), "regular") for line in named]
    return width_of(heads + rests, size) + 2 * bool(named)
