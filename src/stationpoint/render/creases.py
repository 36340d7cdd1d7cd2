"""Places that are hidden from much of the sky are darker: creases, and what lies close under things.

From depth alone, which both renderers draw: a point is dark where the surfaces round it rise before the
plane through it. Depth is taken as a quantity that changes evenly over a plane: its inverse in
perspective, itself in parallel views. Two places on either side of a point then tell by their mean how far
what is there rises before the point's own plane. Fixed samples, and arithmetic that is rounded the same on
every machine.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, depths, focal_px
from stationpoint.render.scratch import Scratch

REACH_M = 0.5  # of what darkens a point
LEAST_REACH = 0.03  # of the picture's width, at the depth that the picture is about
WORKED_PX = 213  # about so many columns are asked for creases
# Radii there, pixels, each with how much it counts and the ways to it.
RINGS = (
    (2, 1.2, ((1.0, 0.5), (0.5, 1.0), (-0.5, 1.0), (-1.0, 0.5))),
    (7, 1.2, ((1.0, 0.0), (0.7, 0.7), (0.0, 1.0), (-0.7, 0.7))),
)
MARGIN = max(ring for ring, *_ in RINGS)
DARKEST = 0.55  # what a crease leaves of a code at least
STRENGTH = 0.65
MOST = np.float32(1.45)  # tangent of a rise from which on it counts for nothing
# How fast a rise counts for less as it gets steeper: a wall at once, what hangs far before it as it is far.
NEAR_CUT, FAR_CUT = np.float32(0.25), np.float32(6.0)

LEAST_M, FAR_M = np.float32(1e-3), np.float32(1e5)  # the second where nothing is

BAND_ROWS = 45  # so many are worked on at a time: they stay near the processor

Floats = NDArray[np.float32]
SCRATCH = Scratch()


@dataclass(frozen=True, slots=True, eq=False)
class Creases:
    """What hidden places leave of a picture's codes, until the next picture's creases are asked for. known:
    what they leave of every `step`-th row, (n + 2, w), DARKEST..1, with a margin of one."""

    known: Floats
    step: int

    def left(self, top: int, bottom: int) -> Floats:
        """The same for rows `top` to `bottom`, until asked again; top: a multiple of step."""
        rows = self.known[top // self.step : -(-bottom // self.step) + 2]
        result = _floats("left", bottom - top, self.known.shape[1])
        _spread_out(rows, result, self.step)
        return result


def creases_of(camera: Camera, depth_m: Floats, about_m: tuple[float, float, float]) -> Creases:
    """The creases of a picture; depth_m: (h, w), infinity where nothing is."""
    width = depth_m.shape[1]
    step = max(1, round(width / WORKED_PX))
    deep = np.minimum(depth_m[step // 2 :: step, step // 2 :: step], FAR_M)
    pixel_m = 1.0 / focal_px(camera)  # its width; in perspective a metre away
    if camera.parallel:
        even, metres, about = -deep, np.ones_like(deep), 1.0
    else:
        metres = np.maximum(deep, LEAST_M, out=deep)
        even = np.float32(1.0) / metres
        about = max(float(depths(camera, [about_m])[0]), 0.1)
    left = _hidden(even, metres, pixel_m * step, max(REACH_M, LEAST_REACH * pixel_m * about * width))
    left *= np.float32(-STRENGTH)
    left += np.float32(1.0)
    np.maximum(left, np.float32(DARKEST), out=left)
    known = _floats("known", len(left), width)
    _spread_out(left.T, known.T, step)
    return Creases(known, step)


def _floats(name: str, *shape: int) -> Floats:
    return SCRATCH.array(name, shape, np.float32)


def _hidden(even: Floats, metres: Floats, a_pixel: float, reach_m: float) -> Floats:
    """How much of the half space before each point is hidden, about 0..1, (h + 2, w + 2): with a margin.

    even: what changes evenly over planes, by 1 / (metres * metres) a metre of depth; both (h, w). a_pixel:
    how wide a pixel is, times metres.
    """
    wide, far = _with_margin("wide", even, MARGIN, True), _with_margin("metres", metres, MARGIN, False)
    result = _floats("hidden", *wide.shape)
    # Rows lie one after the other: what lies beside and below is so many places on. Margins hold nothing.
    height, line = wide.shape
    for top in range(MARGIN, height - MARGIN, BAND_ROWS):
        here = slice(top * line + MARGIN, min(top + BAND_ROWS, height - MARGIN) * line - MARGIN)
        _hidden_in(wide.ravel(), far.ravel()[here], here, line, a_pixel, reach_m, result.ravel()[here])
    return _blurred(result[MARGIN:-MARGIN, MARGIN:-MARGIN])


def _with_margin(name: str, values: Floats, by: int, evenly: bool) -> Floats:
    """Values with a margin into which they go on evenly, as planes do, or in which they stay as they are."""
    wide = _floats(name, values.shape[0] + 2 * by, values.shape[1] + 2 * by)
    wide[by:-by, by:-by] = values
    out = np.arange(1, by + 1)
    for part in (wide[:, by:-by], wide.T):
        first, last = part[by], part[-by - 1]
        if not evenly:
            part[:by], part[-by:] = first, last
            continue
        inwards = np.minimum(out, len(part) - 2 * by - 1)  # as far as there are values
        times = (out / np.maximum(inwards, 1)).astype(np.float32)[:, None]
        part[by - out] = first + (first - part[by + inwards]) * times
        part[out - by - 1] = last + (last - part[-by - 1 - inwards]) * times
    return wide


def _hidden_in(
    wide: Floats, metres: Floats, here: slice, line: int, a_pixel: float, reach_m: float, total: Floats
) -> None:
    """The same for some places, (n,), into total. wide: even of all places with a margin, `line` a row."""

    def moved(x: int, y: int) -> Floats:
        apart = y * line + x
        return wide[here.start + apart : here.stop + apart]

    lean, rise, most, found, spare, tangent, apart = (_floats(f"hidden {k}", len(metres)) for k in range(7))
    one, even = np.float32(1.0), moved(0, 0)
    _least_step(moved(-1, 0), even, moved(1, 0), lean, spare)
    lean += _least_step(moved(0, -1), even, moved(0, 1), rise, spare)
    lean *= metres
    lean *= metres
    lean *= np.float32(1.0 / a_pixel**2)  # tangent of how far the surface leans away from the camera, squared
    lean += one
    np.divide(metres, lean, out=lean)
    twice = np.add(even, even, out=_floats("twice", len(metres)))
    total[:] = 0.0
    for ring, share, ways in RINGS:
        np.multiply(metres, np.float32(a_pixel * ring / reach_m), out=apart)
        apart *= apart
        cut = np.multiply(apart, FAR_CUT, out=spare)
        cut += NEAR_CUT
        np.sqrt(cut, out=cut)
        # What a rise, of two, counts as a tangent of the height over the plane, upright to the surface.
        np.multiply(lean, cut, out=tangent)
        tangent *= np.float32(0.5 / (a_pixel * ring))
        apart += one
        apart *= cut
        np.divide(MOST, tangent, out=most)
        found[:] = 0.0
        for x, y in ways:
            dx, dy = round(x * ring), round(y * ring)
            np.subtract(moved(dx, dy), twice, out=rise)
            rise += moved(-dx, -dy)
            np.subtract(most, rise, out=spare)
            rise *= spare
            np.maximum(rise, np.float32(0.0), out=rise)
            found += rise
        tangent *= tangent
        found *= tangent
        found *= np.float32(share / len(ways)) / MOST
        found /= apart
        total += found


def _least_step(before: Floats, here: Floats, after: Floats, into: Floats, spare: Floats) -> Floats:
    """Squares of the lesser of two changes."""
    np.subtract(here, before, out=into)
    np.subtract(after, here, out=spare)
    into *= into
    spare *= spare
    return np.minimum(into, spare, out=into)


def _blurred(values: Floats) -> Floats:
    """Values mixed 1 : 4 : 6 : 4 : 1 with what lies beside them, along both axes, with a margin of one."""
    mixed = _with_margin("blurred", values, 3, False)
    other = _floats("blurred too", *mixed.shape)
    line = mixed.shape[1]
    size = mixed.size
    for by in (1, 1, 1, 1, line, line, line, line):
        size -= by
        np.add(mixed.ravel()[by : by + size], mixed.ravel()[:size], out=other.ravel()[:size])
        mixed, other = other, mixed
    mixed *= np.float32(1.0 / 256.0)
    return mixed[:-4, :-4]


def _spread_out(known: Floats, result: Floats, step: int) -> None:
    """What is known of every `step`-th row, into all rows, in even steps. known: with a margin of one row."""
    start = step // 2
    found, change = known[:-1].copy(), known[1:] - known[:-1]
    change *= np.float32(1.0 / step)
    for row in range(start, start + step):
        part = result[row % step :: step]
        first = int(row < step)
        part[:] = found[first : first + len(part)]
        found += change
