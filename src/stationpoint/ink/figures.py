"""Outlines that marks share: zigzag, arrow head, boxes plain, cut and saw-toothed, tick, cross."""

from __future__ import annotations

from math import hypot

from stationpoint.base.look import RGB
from stationpoint.ink.shapes import Area, Line, Point, Points


def zigzag(
    start_px: Point, end_px: Point, height_px: float, period_px: float, least_teeth: int = 4
) -> Points:
    """A zigzag from start to end, `height_px` from peak to peak, teeth of about `period_px`.

    A whole number of teeth, at least `least_teeth`; both ends lie on the line itself. Worked: (0, 0)
    to (36, 0), height 8, period 9: 4 teeth, peaks at x 2.25, 6.75, ..., y 4 and -4 by turns.
    """
    (x, y), (dx, dy) = start_px, (end_px[0] - start_px[0], end_px[1] - start_px[1])
    length = hypot(dx, dy)
    if length == 0.0:
        return (start_px,)
    teeth = max(least_teeth, round(length / period_px))
    across = (-dy / length * height_px / 2, dx / length * height_px / 2)
    peaks = []
    for k in range(2 * teeth):
        along, side = (k + 0.5) / (2 * teeth), 1 - 2 * (k % 2)
        peaks.append((x + dx * along + across[0] * side, y + dy * along + across[1] * side))
    return (start_px, *peaks, end_px)


def arrow_head(tip_px: Point, direction: Point, length_px: float, width_px: float, ink: RGB) -> Area:
    """A solid triangle whose tip lies at `tip_px` and points along `direction` (any length but 0)."""
    size = hypot(*direction)
    ux, uy = direction[0] / size, direction[1] / size
    base = (tip_px[0] - ux * length_px, tip_px[1] - uy * length_px)
    half = (-uy * width_px / 2, ux * width_px / 2)
    left, right = (base[0] + half[0], base[1] + half[1]), (base[0] - half[0], base[1] - half[1])
    return Area(((tip_px, left, right),), ink)


def box(left: float, top: float, right: float, bottom: float) -> Points:
    """The four corners of a box, clockwise from the upper left."""
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def cut_box(left: float, top: float, right: float, bottom: float, cut_px: float) -> Points:
    """A box whose upper right corner is cut off by `cut_px` along both sides."""
    return (
        (left, top),
        (right - cut_px, top),
        (right, top + cut_px),
        (right, bottom),
        (left, bottom),
    )


def saw_box(left: float, top: float, right: float, bottom: float, tooth_px: float) -> Points:
    """A box with teeth along top and bottom: about `tooth_px` wide, half as deep, within the box."""
    teeth = max(2, round((right - left) / tooth_px))
    step, depth = (right - left) / teeth, tooth_px / 2
    over, under = [], []
    for k in range(teeth):
        over += [(left + k * step, top + depth), (left + (k + 0.5) * step, top)]
        under += [(right - k * step, bottom - depth), (right - (k + 0.5) * step, bottom)]
    return (*over, (right, top + depth), *under, (left, bottom - depth))


def tick(left: float, baseline: float, size_px: float, width_px: float, ink: RGB) -> Line:
    """A tick `size_px` high on the baseline, about as wide as high."""
    drawn = ((0.0, 0.45), (0.33, 0.08), (0.95, 0.92))
    return Line([(left + x * size_px, baseline - y * size_px) for x, y in drawn], width_px, ink)


def cross(left: float, baseline: float, size_px: float, width_px: float, ink: RGB) -> tuple[Line, Line]:
    """A cross `size_px` high on the baseline, as wide as high."""
    low, high = 0.08 * size_px, 0.92 * size_px
    return (
        Line(((left + low, baseline - high), (left + high, baseline - low)), width_px, ink),
        Line(((left + low, baseline - low), (left + high, baseline - high)), width_px, ink),
    )
