"""How different two colours look: CIE Lab, CIEDE2000, and what colour-vision deficiency leaves of them.

Colours are linear light (red, green, blue) of sRGB, 0..1; Lab has its white where all three are 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

# Linear sRGB to CIE XYZ: IEC 61966-2-1, of its primaries and D65 (0.3127, 0.3290), to seven digits.
TO_XYZ = np.array(
    [
        (0.4123908, 0.3575843, 0.1804808),
        (0.2126390, 0.7151687, 0.0721923),
        (0.0193308, 0.1191948, 0.9505322),
    ]
)
# On linear light, at severity 1: Machado, Oliveira and Fernandes 2009, supplement. Rows sum to 1.
DEFICIENCIES = {
    "protan": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deutan": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritan": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
POWER_7 = 25.0**7


def lab(light: ArrayLike) -> Floats:
    """CIE L*, a*, b* (..., 3) of linear light (..., 3), in its own precision.

    Source: CIE 15 (1976), white D65. Worked: linear (.5, .5, .5): (76.069, 0, 0).
    """
    given = np.asarray(light)
    kind = given.dtype if given.dtype in (np.float32, np.float64) else np.dtype(np.float64)
    to_white = (TO_XYZ / TO_XYZ.sum(axis=1)[:, None]).astype(kind)
    share = given.astype(kind) @ to_white.T
    edge = kind.type(6.0 / 29.0)
    root = np.where(share > edge**3, np.cbrt(share), share / (3 * edge * edge) + kind.type(4.0 / 29.0))
    x, y, z = root[..., 0], root[..., 1], root[..., 2]
    found: Floats = np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)
    return found


def with_deficiency(light: ArrayLike, kind: str) -> Floats:
    """Linear light (..., 3) as someone without one kind of cone sees it, cut off to 0..1.

    kind: one of DEFICIENCIES. Source: Machado, Oliveira and Fernandes 2009, severity 1. Worked: grey
    stays grey; #e69f00, protan: sRGB (185.05, 162.39, 0).
    """
    seen: Floats = np.clip(np.asarray(light, dtype=np.float64) @ np.array(DEFICIENCIES[kind]).T, 0.0, 1.0)
    return seen


def difference_2000(first: ArrayLike, second: ArrayLike) -> Floats:
    """CIEDE2000 between two colours in Lab, (..., 3) each, all weights 1.

    Source: CIE 142-2001, as Sharma, Wu and Dalal 2005 write it down. Worked: their pair
    (50, 2.6772, -79.7751), (50, 0, -82.7485): 2.0425.
    """
    (l1, a1, b1), (l2, a2, b2) = (
        np.moveaxis(np.asarray(colour, dtype=np.float64), -1, 0) for colour in (first, second)
    )
    chroma = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2.0) ** 7
    stretch = 1.0 + 0.5 * (1.0 - np.sqrt(chroma / (chroma + POWER_7)))
    c1, c2 = np.hypot(stretch * a1, b1), np.hypot(stretch * a2, b2)
    h1 = np.degrees(np.arctan2(b1, stretch * a1)) % 360.0
    h2 = np.degrees(np.arctan2(b2, stretch * a2)) % 360.0
    grey = c1 * c2 == 0.0
    turn = (h2 - h1 + 180.0) % 360.0 - 180.0  # the short way round; half a turn counts as backward
    turn = np.where(turn == -180.0, np.where(h2 > h1, 180.0, -180.0), turn)
    turn = np.where(grey, 0.0, turn)
    middle = np.where(np.abs(h1 - h2) <= 180.0, (h1 + h2) / 2.0, ((h1 + h2 + 360.0) / 2.0) % 360.0)
    middle = np.where(grey, h1 + h2, middle)
    lightness, c = (l1 + l2) / 2.0, (c1 + c2) / 2.0

    def cosine(times: float, less: float) -> Floats:
        return np.asarray(np.cos(np.radians(times * middle - less)))

    hue = 1.0 - 0.17 * cosine(1, 30) + 0.24 * cosine(2, 0) + 0.32 * cosine(3, -6) - 0.20 * cosine(4, 63)
    off = (lightness - 50.0) ** 2
    by_l = (l2 - l1) / (1.0 + 0.015 * off / np.sqrt(20.0 + off))
    by_c = (c2 - c1) / (1.0 + 0.045 * c)
    by_h = 2.0 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2.0)) / (1.0 + 0.015 * c * hue)
    c7 = c**7
    rotated = -2.0 * np.sqrt(c7 / (c7 + POWER_7))
    rotated *= np.sin(np.radians(60.0 * np.exp(-(((middle - 275.0) / 25.0) ** 2))))
    total = by_l**2 + by_c**2 + by_h**2 + rotated * by_c * by_h
    return np.asarray(np.sqrt(np.maximum(total, 0.0)))
