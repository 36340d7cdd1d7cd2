"""The frame of a panel: its axes, the scale along each, and where a value stands on the page in pixels."""

from __future__ import annotations

from collections.abc import Sequence
from math import log
from typing import NamedTuple

from stationpoint.base.words import plain
from stationpoint.ink import is_settable, text_width, wrap_text
from stationpoint.readings import SHARE
from stationpoint.sheet.chart.names import Box
from stationpoint.sheet.chart.series import Chart
from stationpoint.sheet.wording import LENS, setting_words

FIELD_NAMES = {
    "focal": "focal length",
    "hfov": "horizontal angle",
    "vfov": "vertical angle",
    "dfov": "diagonal angle",
}
LEAST_RANGE = 0.1  # of the largest value: what hardly differs is no cliff
SIDE = 0.06  # of an axis's length, free at either end


class Scale(NamedTuple):
    """The settings along the axis: where each stands, and how they are named. logarithmic: of a lens, whose
    every doubling is one step."""

    at: tuple[float, ...]
    names: tuple[str, ...]
    logarithmic: bool
    numeric: bool

    @property
    def ends(self) -> tuple[float, float]:
        """Where the axis begins and ends."""
        turned = [log(x) if self.logarithmic else x for x in self.at]
        low, high = min(turned), max(turned)
        room = SIDE * (high - low) or 0.5
        return low - room, high + room

    def share(self, k: int) -> float:
        """How far along the axis a setting stands, 0 to 1."""
        low, high = self.ends
        x = log(self.at[k]) if self.logarithmic else self.at[k]
        return (x - low) / (high - low)


def scale_of(chart: Chart) -> Scale:
    """Settings that are numbers stand at them, by their logarithm for a lens; others a step apart."""
    numeric = all(isinstance(one, int | float) and not isinstance(one, bool) for one in chart.settings)
    if numeric:
        at = tuple(float(one) for one in chart.settings)
        return Scale(at, tuple(map(plain, at)), chart.field in LENS and min(at) > 0, True)
    names = (one if isinstance(one, str) else setting_words(chart.field, one) for one in chart.settings)
    count = len(chart.settings)
    return Scale(tuple(map(float, range(count))), tuple(map(is_settable, names)), False, False)


def field_words(field: str, numeric: bool) -> str:
    """A field as an axis says it: "focal length, mm", "pitch, deg"."""
    name, _, unit = field.rpartition("_")
    if not numeric or not name:
        return field.replace("_", " ")
    return f"{FIELD_NAMES.get(name, name.replace('_', ' '))}, {unit}"


def range_of(chart: Chart, words: Sequence[str], bounds: Sequence[float]) -> tuple[float, float]:
    """From where to where the upright axis goes: all values, all bounds, of shares 0 to 100 %."""
    if words:
        return -0.5, len(words) - 0.5
    values = [value for line in chart.lines for value in line.values if isinstance(value, int | float)]
    values += [*bounds, *((0.0, 1.0) if chart.unit == SHARE else ())]
    low, high = min(values, default=0.0), max(values, default=1.0)
    least = LEAST_RANGE * max(abs(low), abs(high)) or 1.0
    room = max(0.07 * (high - low), (least - (high - low)) / 2)
    return low - room, high + room


class Frame(NamedTuple):
    """A panel on the page: its box in pixels, its scale along and its range up."""

    box: Box
    scale: Scale
    low: float
    high: float

    def x(self, k: int) -> float:
        """Where a setting stands, in pixels of the page."""
        return self.box[0] + self.scale.share(k) * (self.box[2] - self.box[0])

    def y(self, value: float) -> float:
        """Where a value stands, in pixels of the page, down."""
        return self.box[3] - (value - self.low) / (self.high - self.low) * (self.box[3] - self.box[1])


def tick_names(frame: Frame, size_px: float) -> list[tuple[int, tuple[str, ...]]]:
    """The settings whose names find room under the axis, with the lines of each; the first always does."""
    scale = frame.scale
    width = (frame.box[2] - frame.box[0]) / max(1, len(scale.names))
    found: list[tuple[int, tuple[str, ...]]] = []
    free = float("-inf")
    for k in sorted(range(len(scale.names)), key=frame.x):
        name = scale.names[k]
        words = wrap_text(name, size_px, "regular", max(width - 12, 120), 2) if not scale.numeric else (name,)
        half = max(text_width(one, size_px) for one in words) / 2 if words else 0.0
        if frame.x(k) - half >= free:
            found.append((k, words))
            free = frame.x(k) + half + 0.5 * size_px
    return found
