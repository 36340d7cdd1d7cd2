"""Colour: sRGB to linear light and back, relative luminance, contrast ratio and CIE lightness.

sRGB as IEC 61966-2-1 defines it, here and nowhere else. Luminance and contrast as WCAG 2 defines them;
lightness as CIE 15 does, white at luminance 1.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Precision = TypeVar("Precision", np.float32, np.float64)

WEIGHTS = (0.2126, 0.7152, 0.0722)  # of linear red, green and blue: WCAG 2, IEC 61966-2-1
FLARE = 0.05  # of the screen, added to both sides of a contrast ratio: WCAG 2


def linear_light(srgb: ArrayLike) -> Floats:
    """Linear light 0..1, of the same shape, of 8-bit sRGB values 0..255.

    Source: IEC 61966-2-1. Worked: 128 is .21586.
    """
    x = np.asarray(srgb, dtype=np.float64) / 255.0
    return np.where(x <= 0.04045, x / 12.92, ((x + 0.055) / 1.055) ** 2.4)


def srgb_encoded(light: NDArray[Precision]) -> NDArray[Precision]:
    """sRGB 0..1 of linear light, in the light's own precision; what lies outside 0..1 is cut off.

    Source: IEC 61966-2-1. Worked: .21586 is 128 / 255.
    """
    x = np.clip(light, 0.0, 1.0)
    return np.where(x <= 0.0031308, x * 12.92, 1.055 * x ** (1.0 / 2.4) - 0.055)


def luminance(srgb: ArrayLike) -> Floats:
    """Relative luminance 0..1, (...), of 8-bit sRGB colours (..., 3).

    Source: WCAG 2, "relative luminance". Worked: #777777: .184475.
    """
    red, green, blue = _parts()
    colours = np.asarray(srgb, dtype=np.uint8)
    result: Floats = red[colours[..., 0]] + green[colours[..., 1]] + blue[colours[..., 2]]
    return result


def luminance_of_light(light: ArrayLike) -> Floats:
    """Relative luminance 0..1, (...), of linear light (..., 3).

    Source: WCAG 2, "relative luminance". Worked: (.5, .1, .02): .17926.
    """
    found: Floats = np.asarray(light, dtype=np.float64) @ np.array(WEIGHTS)
    return found


@lru_cache(maxsize=1)
def _parts() -> tuple[Floats, Floats, Floats]:
    """What each of the 256 values of red, green and blue adds to luminance."""
    light = linear_light(np.arange(256))
    return light * WEIGHTS[0], light * WEIGHTS[1], light * WEIGHTS[2]


def contrast_ratio(first: ArrayLike, second: ArrayLike) -> Floats:
    """Contrast 1..21 between two relative luminances, whichever is the lighter one.

    Source: WCAG 2, "contrast ratio". Worked: #777777 on white: 4.47809.
    """
    a, b = np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
    return np.asarray((np.maximum(a, b) + FLARE) / (np.minimum(a, b) + FLARE))


def lightness(relative_luminance: ArrayLike) -> Floats:
    """CIE L*, 0..100, of relative luminances 0..1.

    Source: CIE 15 (1976 lightness, white at 1). Worked: luminance .18: 49.496.
    """
    y = np.asarray(relative_luminance, dtype=np.float64)
    return np.where(y > (6.0 / 29.0) ** 3, 116.0 * np.cbrt(y) - 16.0, y * (29.0 / 3.0) ** 3)
