"""A chart drawn through matplotlib, which is imported when a chart is drawn and not before."""

from __future__ import annotations

import io
import logging
import os
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from textwrap import wrap
from typing import TYPE_CHECKING, Any, NamedTuple

from stationpoint.base.look import INK, PALE, PAPER, RGB, SHADE, WHITE
from stationpoint.base.words import TOOL, columns_wide, listed, plain
from stationpoint.ink import font_files, further_fonts, is_settable
from stationpoint.readings import SHARE, amount_words, bounds_of, unit_words
from stationpoint.sheet.chart.series import Chart
from stationpoint.sheet.wording import value_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH_PX, HEIGHT_PX, DPI = 1500, 900, 150
MOST_TICKS, LINE_NAME_LETTERS, STEP_LETTERS = 16, 26, 22
FIELD_NAMES = {"focal": "focal length", "hfov": "horizontal angle", "vfov": "vertical angle"}
# Worst first: where such a word stands on the upright axis.
LADDERS = (
    ("lies", "unseen", "close call", "needs a cue", "sure"),
    ("none", "size only", "place"),
    ("misleads", "absent", "weak", "reads"),
    ("same", "unanchored", "weakly told", "told", "no plausible twin"),
    ("false", "true"),
)
FAMILY = "Open Sans"
DASHES: tuple[Any, ...] = ("-", (0, (7, 4)), (0, (1.5, 2.5)), (0, (9, 3, 2, 3)))
MARKERS = ("o", "s", "^", "D", "v", "P")


def draw_chart(chart: Chart, ending: str) -> bytes:
    """The chart as PNG or SVG. ending: ".png" or ".svg". Same chart, same bytes."""
    with own_settings():
        from matplotlib.figure import Figure

        figure = Figure(figsize=(WIDTH_PX / DPI, HEIGHT_PX / DPI), dpi=DPI, facecolor=hex_of(PAPER))
        _fill(figure, chart)
        out = io.BytesIO()
        kind = ending.lstrip(".").lower()
        metadata = {"Date": None, "Creator": TOOL} if kind == "svg" else {"Software": TOOL}
        figure.savefig(out, format=kind, metadata=metadata, facecolor=hex_of(PAPER))
    return out.getvalue()


@contextmanager
def own_settings() -> Iterator[None]:
    """Within it matplotlib draws as it comes, but for what is set here, whatever a person has set for it
    in the environment (a notebook's terminal does) or in a file."""
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # no talk of font caches
    theirs = {name: os.environ.pop(name, None) for name in ("MPLBACKEND", "MATPLOTLIBRC")}
    os.environ["MATPLOTLIBRC"] = os.devnull  # else their file is read, wrong lines and all
    try:
        import matplotlib
    finally:
        del os.environ["MATPLOTLIBRC"]
        os.environ.update({name: words for name, words in theirs.items() if words is not None})
    as_it_comes = {key: value for key, value in matplotlib.rcParamsDefault.items() if key != "backend"}
    ours: Any = {
        "svg.hashsalt": "stationpoint",
        "svg.fonttype": "path",
        "font.size": 11,
        "axes.linewidth": 1.0,
        "text.parse_math": False,  # a dollar sign is a dollar sign
    }
    with matplotlib.rc_context(as_it_comes | ours), _further_families() as further:
        # the bundled ones last: as they are added, matplotlib forgets what it found before
        matplotlib.rcParams["font.family"] = [FAMILY, *further, *_bundled_families()]
        yield


def _bundled_families() -> list[str]:
    """The bundled fonts as matplotlib knows them: it looks a letter up in one after another."""
    from matplotlib import font_manager

    for file in font_files():
        font_manager.fontManager.addfont(str(file))
    names = (font_manager.FontProperties(fname=str(file)).get_name() for file in font_files())
    return [name for name in dict.fromkeys(names) if name != FAMILY]


@contextmanager
def _further_families() -> Iterator[list[str]]:
    """Within it the study's own fonts, which matplotlib reads from files, by names that no other has."""
    if not further_fonts():
        yield []
        return
    from matplotlib import font_manager

    known = font_manager.fontManager.ttflist
    with TemporaryDirectory() as folder:
        made = []
        for number, data in enumerate(further_fonts()):
            file = Path(folder, f"{number}.ttf")
            file.write_bytes(data)
            made.append(font_manager.FontEntry(fname=str(file), name=f"{TOOL} {number}"))
        known.extend(made)
        try:
            yield [entry.name for entry in made]
        finally:
            for entry in made:
                known.remove(entry)


def _fill(figure: Figure, chart: Chart) -> None:
    words = ladder(chart)
    left = 0.17 if words else 0.09
    axes: Axes = figure.add_axes((left, 0.17, 0.76 - left, 0.62), facecolor=hex_of(PALE))
    ink = hex_of(INK)
    numeric = all(
        isinstance(setting, (int, float)) and not isinstance(setting, bool) for setting in chart.settings
    )
    xs = [float(setting) for setting in chart.settings] if numeric else list(range(len(chart.settings)))
    ends: dict[tuple[float | None, ...], End] = {}
    for k, line in enumerate(chart.lines):
        ys = [_height(value, words) for value in line.values]
        axes.plot(
            xs,
            ys,
            color=ink,
            linewidth=2,
            linestyle=DASHES[k % len(DASHES)],
            **_marker(k),
            clip_on=False,
            zorder=3,
        )
        last = [(x, y) for x, y in zip(xs, ys, strict=True) if y == y]
        if last:
            way = tuple(y if y == y else None for y in ys)
            same = ends.setdefault(way, End(*last[-1], [], k))
            same.labels.append(is_settable(line.label))
    if words:
        axes.set_yticks(range(len(words)), labels=[is_settable(word) for word in words])
        axes.set_ylim(-0.5, len(words) - 0.5)
        _word_limits(axes, chart, words)
    else:
        _limits(axes, chart)
        unit = unit_words(chart.unit)
        axes.set_ylabel(is_settable(f"{chart.says}{f', {unit}' if unit else ''}"), color=ink)
        if chart.unit == SHARE:
            axes.yaxis.set_major_formatter(lambda share, _: amount_words(share, SHARE))
    names = [_setting_words(chart.field, setting, numeric) for setting in chart.settings]
    thin = -(-len(xs) // MOST_TICKS)
    axes.set_xticks(xs[::thin], labels=names[::thin])
    axes.minorticks_off()
    axes.set_xlabel(field_words(chart.field, numeric), color=ink)
    axes.grid(axis="y", color=hex_of(SHADE), linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    _line_names(axes, list(ends.values()))
    title, says = is_settable(chart.title), is_settable(chart.says)
    size = 19 if len(title) <= 66 else 19 * 66 / len(title)
    figure.text(0.03, 0.92, title, size=size, weight="bold", color=ink, va="center")
    figure.text(0.03, 0.85, says, size=13, weight="semibold", color=ink, va="center")
    absent = sum(value is None for line in chart.lines for value in line.values)
    gaps = f"{absent} of the points have no reading and are left out. " if absent else ""
    foot = f"{gaps}A chart screens cameras; it does not replace players."
    figure.text(0.03, 0.04, foot, size=9.5, color=ink)
    figure.text(0.97, 0.04, chart.foot, size=9.5, weight="semibold", color=ink, ha="right")


def _setting_words(field: str, setting: float | str, numeric: bool) -> str:
    if numeric:
        return plain(float(setting))
    words = is_settable(value_words(field, setting) if not isinstance(setting, str) else setting)
    return words.replace(", ", ",\n") if len(words) > STEP_LETTERS else words


def field_words(field: str, numeric: bool) -> str:
    """A field as an axis says it: "focal length, mm", "pitch, deg"."""
    name, _, unit = field.rpartition("_")
    if not numeric or not name:
        return field.replace("_", " ")
    return f"{FIELD_NAMES.get(name, name.replace('_', ' '))}, {unit}"


def ladder(chart: Chart) -> tuple[str, ...]:
    """The words of the upright axis, worst lowest; none where the readings are numbers."""
    said = [value for line in chart.lines for value in line.values if isinstance(value, str)]
    if not said:
        return ()
    for ladder in LADDERS:
        if set(said) <= set(ladder):
            return ladder
    return tuple(sorted(set(said)))


def _height(value: float | str | None, words: tuple[str, ...]) -> float:
    if value is None:
        return float("nan")
    return float(words.index(value)) if isinstance(value, str) else value


def _limits(axes: Axes, chart: Chart) -> None:
    """Limits as lines, the failing sides shaded."""
    bounds = [(whose, bound) for limit, whose in chart.limits for bound in bounds_of(limit, chart.unit)]
    for _, bound in bounds:  # first all the room, so that every side is shaded to its end
        low, high = axes.get_ylim()
        room = 0.08 * (high - low)
        axes.set_ylim(min(low, bound.value - room), max(high, bound.value + room))
    low, high = axes.get_ylim()
    for whose, bound in bounds:
        ends = {"min": [low], "max": [high], "is": [low, high], "not": []}[bound.key]
        for end in ends:
            axes.axhspan(*sorted((bound.value, end)), color=hex_of(SHADE), alpha=0.75, linewidth=0, zorder=0)
        axes.axhline(bound.value, color=hex_of(INK), linewidth=1.2, zorder=1)
        is_above = bound.key != "max"
        axes.annotate(
            is_settable(f"{whose}: {bound.words}" if whose and len(chart.lines) > 1 else bound.words),
            (0, bound.value),
            xycoords=("axes fraction", "data"),
            size=10,
            xytext=(6, 4 if is_above else -4),
            textcoords="offset points",
            va="bottom" if is_above else "top",
            color=hex_of(INK),
            weight="semibold",
        )


def _word_limits(axes: Axes, chart: Chart, words: tuple[str, ...]) -> None:
    """The words that fail a limit, shaded."""
    for limit, _ in chart.limits:
        for k, word in enumerate(words):
            wrong = (
                (limit.not_ is not None and word == str(limit.not_).lower())
                or (limit.is_ is not None and word != str(limit.is_).lower())
                or (limit.one_of is not None and word not in [str(one).lower() for one in limit.one_of])
            )
            if wrong:
                axes.axhspan(k - 0.5, k + 0.5, color=hex_of(SHADE), alpha=0.75, linewidth=0, zorder=0)


class End(NamedTuple):
    """Where a line ends, the labels of all that are the same line, and the place of its dash and marker."""

    x: float
    y: float
    labels: list[str]
    style: int


def _name_lines(words: str) -> list[str]:
    """A line's name in lines: half as many letters where they are as wide as Han."""
    wide = columns_wide(words) > 1.3 * len(words)
    return wrap(words, LINE_NAME_LETTERS // (1 + wide))


def _line_names(axes: Axes, ends: Sequence[End]) -> None:
    """Each line's name at its end, pushed apart where they would touch; with its marker where lines that
    differ end at one point."""
    low, high = axes.get_ylim()
    line = 0.055 * (high - low)
    order = sorted(range(len(ends)), key=lambda k: ends[k].y)
    names = [_name_lines(listed(end.labels)) for end in ends]
    heights: dict[int, float] = {}
    floor = low - line
    for k in order:
        half = line * max(1, len(names[k])) / 2
        heights[k] = max(ends[k].y, floor + half)
        floor = heights[k] + half
    met = Counter((end.x, end.y) for end in ends)
    for k, end in enumerate(ends):
        if not names[k]:
            continue
        shared = met[end.x, end.y] > 1
        axes.annotate(
            "\n".join(names[k]),
            (end.x, end.y),
            xytext=(1.05 if shared else 1.02, heights[k]),
            textcoords=("axes fraction", "data"),
            va="center",
            size=10.5,
            weight="semibold",
            color=hex_of(INK),
            arrowprops={"arrowstyle": "-", "color": hex_of(INK), "linewidth": 0.7},
            annotation_clip=False,
        )
        if shared:
            axes.plot(
                [1.032],
                [heights[k]],
                transform=axes.get_yaxis_transform(),
                **_marker(end.style),
                linestyle="none",
                clip_on=False,
                zorder=4,
            )


def _marker(style: int) -> dict[str, Any]:
    return {
        "marker": MARKERS[style % len(MARKERS)],
        "markersize": 7,
        "markerfacecolor": hex_of(WHITE),
        "markeredgecolor": hex_of(INK),
        "markeredgewidth": 1.5,
    }


def hex_of(rgb: RGB) -> str:
    """A colour as matplotlib reads it."""
    return f"#{rgb[0]:02x}{rgb[1]:02x}{rgb[2]:02x}"
