"""How a surface looks, stated once for both renderers: light, soft shadow, grid.

The shader files repeat the formulas; the numbers reach them from here.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base import look
from stationpoint.base.colour import linear_light

Floats = NDArray[np.float64]

SUNS = 4  # fixed directions that stand for the sun's disc; no noise. look.frag knows that they are four


def light_axes(towards_light: ArrayLike) -> Floats:
    """Rows (3, 3): two unit vectors across the light, and the unit vector towards it."""
    return _light_axes(*np.asarray(towards_light, dtype=np.float64).tolist()).copy()


@lru_cache(maxsize=64)
def _light_axes(x: float, y: float, z: float) -> Floats:
    towards = np.array([x, y, z])
    towards = towards / np.linalg.norm(towards)
    beside = np.eye(3)[int(np.argmin(np.abs(towards)))]
    across = np.cross(beside, towards)
    across /= np.linalg.norm(across)
    return np.array([across, np.cross(towards, across), towards])


def sun_offsets() -> Floats:
    """Tangent offsets (SUNS, 2) of the sun's fixed directions: a ring near the rim of a disc of
    look.PENUMBRA_DEG, turned so that no two shadows of an upright edge fall on one line.
    """
    angle = (np.arange(SUNS) + 0.3) * 2.0 * np.pi / SUNS
    radius = 0.92 * np.tan(np.radians(look.PENUMBRA_DEG))
    offsets: Floats = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    return offsets


def sun_directions(towards_light: ArrayLike) -> Floats:
    """Vectors (SUNS, 3) towards the sun's fixed directions; their part along the light is 1."""
    axes = light_axes(towards_light)
    directions: Floats = axes[2] + sun_offsets() @ axes[:2]
    return directions


def light_curve() -> tuple[float, float, float]:
    """The numbers (unlit, gain, knee) of the light: unlit + gain * x / (x + knee), x = n . light.

    Chosen so that look.py's three levels hold for its light at its yaw: a lit level top, an upright
    face towards the camera, an unlit side. Worked: x_top .7458, x_facing .3426: knee .745.
    """
    yaw = np.radians(look.LIGHT_YAW_DEG)
    light = np.array(look.LIGHT_TOWARDS) / np.linalg.norm(look.LIGHT_TOWARDS)
    top, facing = light[1], float(light @ [np.sin(yaw), 0.0, np.cos(yaw)])
    share = (look.LIT_FACING - look.UNLIT) / (look.LIT_TOP - look.UNLIT)
    knee = top * facing * (1.0 - share) / (share * top - facing)
    return look.UNLIT, (look.LIT_TOP - look.UNLIT) * (top + knee) / top, knee


# sRGB as a polynomial of the root of linear light, highest power first: a root is one instruction where
# powers are many. Right to a tenth of an 8-bit level for roots from .05 (light from .0025) on.
CODED = (0.53014917, -1.65916398, 2.06753636, -1.41895029, 1.52106747, -0.04030125)


def look_constants(sample_places: Floats) -> dict[str, ArrayLike]:
    """The constants of the shader files by name. sample_places: (4, 2), in a pixel, from its centre."""
    unlit, gain, knee = light_curve()
    return {
        "UNLIT": unlit,
        "GAIN": gain,
        "KNEE": knee,
        "CLAY": np.sqrt(linear_light(look.CLAY)),
        "SKY": np.array(look.SKY) / 255.0,
        "LINE_SHARE": look.GRID_SHARE,
        "LINE_M": look.GRID_LINE_M,
        "FADE_M": look.GRID_FADE_M,
        **{f"CODED_{5 - k}": number for k, number in enumerate(CODED)},
        **{f"PLACE_{k}": place for k, place in enumerate(sample_places)},
    }


def grid_share(at_m: Floats, wide_m: Floats) -> Floats:
    """How much of each pixel the metre grid's lines cover, faded with distance, (n,), 0..1.

    at_m: (n, 2) world x and z at the pixel's centre. wide_m: (n, 2) width of the pixel along x and
    z. The lines are averaged over the pixel exactly (a box filter), so nothing flickers or crawls.
    """
    wide = np.maximum(wide_m, 1e-6)

    def up_to(x: Floats) -> Floats:
        whole = np.floor(x)
        return whole * look.GRID_LINE_M + np.minimum(x - whole, look.GRID_LINE_M)

    start = at_m + look.GRID_LINE_M / 2.0 - wide / 2.0
    covered = (up_to(start + wide) - up_to(start)) / wide
    share = 1.0 - np.prod(1.0 - covered, axis=1)
    fade = np.clip((look.GRID_FADE_M - wide.max(axis=1)) / (look.GRID_FADE_M * 2.0 / 3.0), 0.0, 1.0)
    faded: Floats = share * fade * fade * (3.0 - 2.0 * fade)
    return faded
