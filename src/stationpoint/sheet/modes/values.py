"""Grey, three values, and what a first glance takes in: the picture's own light, less of it."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import WEIGHTS, lightness, linear_light, luminance, srgb_encoded
from stationpoint.base.words import plain
from stationpoint.camera import Seat
from stationpoint.readings import glance_blurred
from stationpoint.sheet.modes.ladder import Ladder, step_inks

OUTMOST_PERCENT = 1.0  # of all pixels, the darkest and the lightest that do not stretch the range
Pixels = NDArray[np.uint8]


def grey(picture: Pixels) -> Pixels:
    """The picture in grey of equal luminance: linear light weighed as in relative luminance,
    and back (IEC 61966-2-1). Pure red becomes 127."""
    light = linear_light(np.arange(256)).astype(np.float32)
    y: NDArray[np.float32] = light[picture] @ np.array(WEIGHTS, dtype=np.float32)
    value = np.clip(srgb_encoded(y) * 255.0 + 0.5, 0, 255).astype(np.uint8)
    return np.repeat(value[..., None], 3, axis=2)


def step_bounds(pictures: Iterable[Pixels]) -> tuple[float, float]:
    """L* from which a pixel is middle, and from which light: thirds of the range of all pictures together,
    from their darkest to their lightest 1 %, whole numbers. Source: definition. Worked: black beside
    white: 33 and 67."""
    every = [lightness(luminance(picture)).ravel() for picture in pictures]
    if not every:
        return 33.0, 67.0
    those = np.concatenate(every)
    low, high = np.percentile(those, [OUTMOST_PERCENT, 100.0 - OUTMOST_PERCENT])
    return float(round(low + (high - low) / 3.0)), float(round(low + 2.0 * (high - low) / 3.0))


def value_steps(picture: Pixels, bounds_l: tuple[float, float]) -> NDArray[np.intp]:
    """The step of each pixel, (h, w): 0 dark, 1 middle, 2 light."""
    return np.searchsorted(np.array(bounds_l), lightness(luminance(picture)), side="right")


def three_values(picture: Pixels, bounds_l: tuple[float, float]) -> Pixels:
    """The picture in three greys, by its lightness. bounds_l: of `step_bounds`."""
    found: Pixels = np.array(step_inks(3)[::-1], dtype=np.uint8)[value_steps(picture, bounds_l)]
    return found


def values_ladder(bounds_l: tuple[float, float]) -> Ladder:
    """The three steps for the legend, the lightest first."""
    low, high = (plain(bound, 0) for bound in bounds_l)
    said = (f"light: L* {high} and over", f"middle: L* {low} to {high}", f"dark: L* under {low}")
    return Ladder("Lightness, thirds over all cells", tuple(zip(step_inks(3), said, strict=True)))


def first_glance(picture: Pixels, seat: Seat) -> Pixels:
    """The picture blurred by one degree at the seat, in linear light: a Gaussian of that full width at half
    height."""
    light = linear_light(np.arange(256)).astype(np.float32)[picture]
    blurred = srgb_encoded(glance_blurred(light, seat)) * 255.0 + 0.5
    found: Pixels = np.clip(blurred, 0, 255).astype(np.uint8)
    return found
