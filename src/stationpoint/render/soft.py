"""The light of a picture for the eye, stated once for both renderers: soft light and shadow, sky and haze.

What readings measure is drawn in the plain light of shading.py. The three levels of look.py hold in both.
The shader files repeat the formulas; the numbers reach them from here. What a picture needs of its
neighbouring pixels (shadows made smooth, creases) is added by finish.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base import look
from stationpoint.base.colour import srgb_encoded
from stationpoint.camera import Shot, depths, project_points
from stationpoint.render.surface import Surface

Floats = NDArray[np.float64]

SIDE = 4  # of the square of pixels that together ask all of the sun's directions, each of them twice
ROWS = 2  # of directions, of SIDE each
SUNS = SIDE * ROWS
TURN_DEG = 14.0  # of the directions, so that no two shadows of an upright edge fall on one line
GRAZED = 0.15  # n . light under which a cast shadow fades, so that none ends in a line on a round thing
CODE_FOOT = 0.055  # sRGB's: codes plus that much scale with a power of linear light

FALL_OFF, FALL_OFF_M = 0.045, 4.0  # of the light away from what the picture is about
RISE, RISE_M = 0.06, 3.0  # of the light upwards
SHEEN = 0.12  # more light on what is seen at a low angle
SKY_SINE = 0.4  # of the height over the horizon at which the sky has its full tint
LARGE_GROUND_M = 30.0  # half a ground's side, from which on it ends in haze
HAZE, LEAST_HAZE_M = 0.5, 40.0  # of half a ground's side: how far off half of a thing is lost in haze
FADE_FROM = 0.55  # share of the way to such a ground's border


def soft_curve() -> tuple[float, float]:
    """Gain and knee of the light's direct part, gain t^2 / (t^2 + knee) with t = (x + wrap) / (1 + wrap).

    With it and the light from all sides the three levels of look.py hold, as in shading.light_curve.
    Worked: direct .410 on top (t .797) and .283 on a facing side (t .474): knee .203, gain .541.
    """
    yaw = np.radians(look.LIGHT_YAW_DEG)
    light = np.array(look.LIGHT_TOWARDS) / np.linalg.norm(look.LIGHT_TOWARDS)
    ways = np.array([[0.0, 1.0, 0.0], [np.sin(yaw), 0.0, np.cos(yaw)]])
    top, facing = np.array([look.LIT_TOP, look.LIT_FACING]) - around(ways @ light, ways[:, 1])
    t_top, t_facing = wrapped(ways @ light) ** 2
    share = facing / top
    knee = t_top * t_facing * (1.0 - share) / (share * t_top - t_facing)
    return float(top * (t_top + knee) / t_top), float(knee)


def unlit_x() -> float:
    """n . light of the unlit side of look.py's levels: upright, to the right of the camera. Worked: -.571."""
    yaw = np.radians(look.LIGHT_YAW_DEG)
    light = np.array(look.LIGHT_TOWARDS) / np.linalg.norm(look.LIGHT_TOWARDS)
    return float(light @ [np.cos(yaw), 0.0, -np.sin(yaw)])


def wrapped(x: Floats) -> Floats:
    """n . light, 0 only where a surface faces well away from the light, 1 where it faces it."""
    return np.maximum((x + look.SOFT_WRAP) / (1.0 + look.SOFT_WRAP), 0.0)


def around(x: Floats, up: Floats) -> Floats:
    """Light from all sides, (n,). x: n . light. up: n's part upwards."""
    return np.asarray(look.UNLIT + look.SOFT_UP * up + look.SOFT_FILL * (x - unlit_x()))


def levels(x: Floats, up: Floats) -> tuple[Floats, Floats]:
    """Linear light over tint, (n,): in the sun, and in its shadow."""
    gain, knee = soft_curve()
    squared = wrapped(x) ** 2
    direct = gain * squared / (squared + knee)
    hidden = np.clip(x / GRAZED, 0.0, 1.0)
    hidden = hidden * hidden * (3.0 - 2.0 * hidden)
    all_sides = around(x, up)
    return all_sides + direct, all_sides + direct * (1.0 - hidden)


def filled(surface: Surface) -> NDArray[np.bool_]:
    """Nodes (n,) that get SUBJECT_FILL where they are drawn in their tint: those of the subject's."""
    return np.asarray((surface.tints == look.ROLE_TINT["subject"]).all(axis=1))


def sun_axes() -> Floats:
    """Tangents (2, 2) by which a sun's place (u, v) on its disc moves a shadow along light_axes' rows."""
    turn = np.radians(TURN_DEG)
    radius = np.tan(np.radians(look.PENUMBRA_DEG))
    return np.asarray(radius * np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]))


def sun_places(suns: ArrayLike) -> Floats:
    """Places (n, 2) on a disc of radius 1 of some of the suns, by number.

    They stand in SIDE columns and ROWS rows, each moved within its field by the other number, so that from no
    side many stand behind each other.
    """
    row, column = np.divmod(np.ravel(suns), SIDE)
    u = (column + (row + 0.5) / ROWS) * 2.0 / SIDE - 1.0
    v = (row + (_spread(column) + 0.5) / SIDE) * 2.0 / ROWS - 1.0
    return np.column_stack([u * np.sqrt(1.0 - 0.5 * v * v), v * np.sqrt(1.0 - 0.5 * u * u)])


def soft_sun_offsets() -> Floats:
    """Tangent offsets (SUNS, 2) of the sun's directions."""
    return np.asarray(sun_places(np.arange(SUNS)) @ sun_axes())


def few_sun_offsets() -> Floats:
    """Tangent offsets (4, 2) of as many directions as are drawn of a scene of very many triangles: those of
    two columns and all rows together stand for one."""
    square = np.array([(x, y) for y in (-0.5, 0.5) for x in (-0.5, 0.5)])
    return np.asarray(square * np.sqrt(1.0 - 0.5 * square[:, ::-1] ** 2) @ sun_axes())


def sun_of_pixel(columns: NDArray[np.intp], rows: NDArray[np.intp]) -> NDArray[np.intp]:
    """Which sun a pixel asks, (n,): any square of four by four asks all.

    Two Latin squares (sums over the field of four numbers): four pixels in a line ask suns of all columns
    and of all rows, so that no edge of a shadow falls into steps.
    """
    x, y = columns & 3, rows & 3
    doubled = (((y ^ y >> 1) & 1) << 1) + (y >> 1)
    return _spread(x ^ y) + SIDE * (_spread(x ^ doubled) >> 1)


def sun_of_sample(columns: NDArray[np.intp], rows: NDArray[np.intp], sample: int) -> NDArray[np.intp]:
    """Which sun a sample asks where a pixel shows several surfaces, (n,): of two, across the disc from each
    other."""
    across = sample & 1
    return (columns >> 1 & 1) + 2 * (across ^ rows >> 1 & 1) + SIDE * across


def _spread(place: NDArray[np.integer]) -> NDArray[np.intp]:
    """0, 2, 1, 3 for 0, 1, 2, 3, and so on."""
    return np.asarray((place & 1) * 2 + (place >> 1 & 1))


@dataclass(frozen=True, slots=True)
class Air:
    """What stands between eye and surfaces, and how the light falls off. about_m: (3,), from the scene's
    centre. start_m: depth at which haze begins. per_m: 1 over how deep it is there. ground: (4,) middle of
    the ground, x and z, and 1 over half its sides; 0 for a ground that is small or not there."""

    about_m: Floats
    start_m: float
    per_m: float
    ground: Floats


def part_shown(shot: Shot, centre_m: Floats) -> tuple[tuple[float, ...], float]:
    """The place that a shot is about, (3,) from the scene's centre, and how far round it shadows are drawn
    fine: somewhat more than what the picture is wide there, in steps, so that cells share their maps."""
    assert shot.about_m is not None
    middle = np.array(shot.about_m)
    shift = project_points(shot.camera, [middle, middle + shot.camera.right])
    across_px = float(np.abs(shift[1] - shift[0]).max())
    wide_m = shot.camera.pixels[0] / across_px if np.isfinite(across_px) and across_px > 1e-6 else 1.0
    reach_m = float(2.0 ** (np.ceil(2.0 * np.log2(max(1.2 * wide_m, 8.0))) / 2.0))
    return tuple((middle - centre_m).tolist()), reach_m


def air_of(shot: Shot, low: Floats, high: Floats, centre_m: Floats) -> Air:
    """The air of a shot. low, high: (n, 3) bounds of the grounds, from the scene's centre."""
    assert shot.about_m is not None
    start_m = float(depths(shot.camera, np.array([shot.about_m]))[0])
    full = np.isfinite(low).all(axis=1)
    ground, per_m = np.zeros(4), 0.0
    if full.any():
        start, end = low[full].min(axis=0)[[0, 2]], high[full].max(axis=0)[[0, 2]]
        half = (end - start) / 2.0
        if half.min() >= LARGE_GROUND_M:
            ground = np.concatenate([(start + end) / 2.0, 1.0 / half])
            per_m = 1.0 / max(LEAST_HAZE_M, HAZE * float(half.min()))
    return Air(np.array(shot.about_m) - centre_m, start_m, per_m, ground)


def grounds_of(surface: Surface) -> tuple[Floats, Floats]:
    """Bounds low, high (n, 3) of a surface's grounds."""
    return surface.low[surface.ground], surface.high[surface.ground]


def haze_share(air: Air, depth_m: Floats, at: Floats, on_ground: NDArray[np.bool_]) -> Floats:
    """How much of the haze's tint is seen, (n,), 0..1. at: (n, 3) from the scene's centre."""
    deep = np.maximum(depth_m - air.start_m, 0.0) * air.per_m
    haze = 1.0 - np.exp2(-deep * deep)
    out = (np.abs(at[:, [0, 2]] - air.ground[:2]) * air.ground[2:]).max(axis=1)
    fade = np.clip((out - FADE_FROM) / (1.0 - FADE_FROM), 0.0, 1.0)
    return np.asarray(np.where(on_ground, np.maximum(haze, fade * fade * (3.0 - 2.0 * fade)), haze))


def tone(air: Air, at: Floats, along: Floats, normal: Floats) -> Floats:
    """Linear light times this, (n,): it falls off away from what the picture is about, rises upwards, and
    shines where a surface is seen at a low angle. along: (n, 3) sightlines."""
    apart = at - air.about_m
    far = np.log2(1.0 + np.einsum("ij,ij->i", apart, apart) / FALL_OFF_M**2)
    high = apart[:, 1] / RISE_M
    facing = np.abs(np.einsum("ij,ij->i", normal, along)) / np.linalg.norm(along, axis=1)
    low = 1.0 - np.minimum(facing, 1.0)
    return np.asarray(
        (1.0 - FALL_OFF * np.minimum(far, 8.0) / 2.0)
        * (1.0 + RISE * high / (1.0 + np.abs(high)))
        * (1.0 + SHEEN * low * low * low)
    )


def sky_of(along: Floats) -> Floats:
    """sRGB 0..1, (n, 3), of the sky along sightlines (n, 3)."""
    sine = along[:, 1] / np.linalg.norm(along, axis=1)
    share = 1.0 - np.clip(sine / SKY_SINE, 0.0, 1.0)
    share = (1.0 - share * share)[:, None]
    horizon, zenith = np.array(look.HORIZON) / 255.0, np.array(look.ZENITH) / 255.0
    return np.asarray(horizon + (zenith - horizon) * share)


def shadow_share(albedo: Floats, lit: Floats, shaded: Floats, haze: Floats) -> Floats:
    """What a shadow leaves of a pixel's code (as finish.py multiplies it), (n,). albedo: (n, 3) linear."""
    green = srgb_encoded(albedo[:, 1:2] * np.column_stack([lit, shaded]))
    codes = green + (look.HORIZON[1] / 255.0 - green) * haze[:, None] + CODE_FOOT
    return np.asarray(codes[:, 1] / codes[:, 0])


def soft_constants() -> dict[str, ArrayLike]:
    """The constants of the shader files by name, besides shading.look_constants."""
    gain, knee = soft_curve()
    return {
        "WRAP": look.SOFT_WRAP,
        "SOFT_GAIN": gain,
        "SOFT_KNEE": knee,
        "UP": look.SOFT_UP,
        "FILL": look.SOFT_FILL,
        "FILL_FROM": unlit_x(),
        "GRAZED": GRAZED,
        "FALL_OFF": FALL_OFF / 2.0,
        "FALL_OFF_M": FALL_OFF_M,
        "RISE": RISE,
        "RISE_M": RISE_M,
        "SHEEN": SHEEN,
        "SUBJECT_FILL": look.SUBJECT_FILL,
        "SKY_SINE": SKY_SINE,
        "FADE_FROM": FADE_FROM,
        "HORIZON": np.array(look.HORIZON) / 255.0,
        "ZENITH": np.array(look.ZENITH) / 255.0,
        "CODE_FOOT": CODE_FOOT,
    }
