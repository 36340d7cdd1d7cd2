"""The light of the measured plane, stated once for both renderers: neutral, never over 1, and apart from the
light that pictures are drawn in, so that no reading changes with a picture's look."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base import look
from stationpoint.base.colour import linear_light

AMBIENT = 0.45  # light on what the sun does not reach; common practice

Floats = NDArray[np.float64]


def measured_light(cosine: Floats, sun: Floats) -> Floats:
    """Light on a surface, (n,), 0..1: the ambient part, and the rest as the sun falls on it.

    cosine: of the angle between normal and light, 0 where it faces away. sun: share of the sun that
    reaches it. Source: Lambert's law. Worked: straight on, in the sun: 1; at 60 degrees: .725.
    """
    return AMBIENT + (1.0 - AMBIENT) * cosine * sun


def plain_colours() -> tuple[Floats, Floats, Floats]:
    """Linear light (3,) of what has no colours of its own: any node, the ground, the sky."""
    return linear_light(look.CLAY), linear_light(look.GROUND), linear_light(look.SKY)
