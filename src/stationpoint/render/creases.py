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

from stationpoint.camera import Camera, depths, pixel_rays

REACH_M = 0.5  # of what darkens a point
LEAST_REACH = 0.03  # of the picture's width, at the depth that the picture is about
WORKED_PX = 320  # about so many columns are asked for creases
# Radii there, pixels, each with how much it counts and the ways to it.
RINGS = (
    (3, 1.2, ((0.92, 0.38), (0.38, 0.92), (-0.38, 0.92), (-0.92, 0.38))),
    (10, 1.2, ((1.0, 0.0), (0.7, 0.7), (0.0, 1.0), (-0.7, 0.7))),
)
MARGIN = max(ring for ring, *_ in RINGS)
DARKEST = 0.55  # what a crease leaves of a code at least
STRENGTH = 0.65
MOST_SQUARED_TWICE = np.float32(5e8)  # whose fourfold, to the power of four, is still a float32
# How fast a rise counts for less as it gets steeper: a wall at once, what hangs far before it as it is far.
NEAR_CUT, FAR_CUT = np.float32(0.25), np.float32(6.0)

LEAST_M, FAR_M = np.float32(1e-3), np.float32(1e5)  # the second where nothing is

BAND_ROWS = 90  # so many are worked on at a time: they stay near the processor

Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Creases:
    """How much is hidden at some pixels of a picture. even: (h, w), depth as it changes evenly over planes.
    dark: how much is hidden at every `step`-th pixel of each axis; few: `even` there; both with a margin of
    one."""

    even: Floats
    dark: Floats
    few: Floats
    step: int
    parallel: bool

    def left(self, top: int, bottom: int) -> Floats:
        """What hidden places leave of a code, rows `top` to `bottom`, DARKEST..1; top: a multiple of step."""
        first = top // self.step
        left = _spread_out(
            self.dark[first:], self.few[first:], self.even[top:bottom], self.step, self.parallel
        )
        left *= np.float32(-STRENGTH)
        left += np.float32(1.0)
        return np.maximum(left, np.float32(DARKEST), out=left)


def creases_of(camera: Camera, depth_m: Floats, about_m: tuple[float, float, float]) -> Creases:
    """The creases of a picture; depth_m: (h, w), infinity where nothing is."""
    width = depth_m.shape[1]
    step = 1 << max(0, round(np.log2(width / WORKED_PX)))
    (origin, beside), (way, way_beside) = pixel_rays(camera, [(0.0, 0.0), (1.0, 0.0)])
    even = np.clip(depth_m, LEAST_M, FAR_M) if not camera.parallel else np.minimum(depth_m, FAR_M)
    if camera.parallel:
        np.negative(even, out=even)
        pixel_m = float(np.linalg.norm(beside - origin))
    else:
        np.divide(np.float32(1.0), even, out=even)
        pixel_m = float(np.linalg.norm(way_beside - way)) * max(float(depths(camera, [about_m])[0]), 0.1)
    few = np.ascontiguousarray(even[step // 2 :: step, step // 2 :: step])
    if camera.parallel:
        across_m, metres = np.full_like(few, pixel_m * step), np.ones_like(few)
    else:
        across_m = np.float32(np.linalg.norm(way_beside - way) * step) / few
        metres = np.float32(1.0) / (few * few)
    reach_m = np.float32(max(REACH_M, LEAST_REACH * pixel_m * width))
    dark = _hidden(few, metres, across_m, reach_m)
    return Creases(even, np.pad(dark, 1, mode="edge"), np.pad(few, 1, mode="edge"), step, camera.parallel)


def _hidden(even: Floats, metres: Floats, across_m: Floats, reach_m: np.float32) -> Floats:
    """How much of the half space before each point is hidden, about 0..1, (h, w).

    even: what changes evenly over planes. metres: of depth per unit of it. across_m: width of a pixel.
    """
    wide = np.pad(even, MARGIN, mode="reflect", reflect_type="odd")  # planes go on evenly
    result = np.empty_like(even)
    steps = _steps(even, 0) + _steps(even, 1)
    for top in range(0, len(even), BAND_ROWS):
        rows = slice(top, top + BAND_ROWS)
        band = wide[top : top + BAND_ROWS + 2 * MARGIN]
        result[rows] = _hidden_in(band, even[rows], steps[rows], metres[rows], across_m[rows], reach_m)
    return _blurred(_blurred(result, 1), 2)


def _hidden_in(
    wide: Floats, even: Floats, steps: Floats, metres: Floats, across_m: Floats, reach_m: np.float32
) -> Floats:
    """The same for some rows. wide: even with a margin all round. steps: squares of its changes per pixel."""
    height, width = even.shape
    one, half = np.float32(1.0), np.float32(0.5)
    lean = metres / across_m
    lean *= lean
    lean *= steps  # tangent of how far the surface leans away from the camera, squared
    lean += one
    total, twice = np.zeros_like(even), even + even
    most = MOST_SQUARED_TWICE / max(float(np.abs(wide).max()), 1e-9)
    rise, under, found = np.empty_like(even), np.empty_like(even), np.empty_like(even)
    for ring, share, ways in RINGS:
        apart = across_m * np.float32(ring)
        # What a rise, of two, counts as a tangent of the height over the plane, upright to the surface.
        tangent = half * metres / (apart * lean)
        apart /= reach_m
        apart *= apart
        cut = np.sqrt(NEAR_CUT + FAR_CUT * apart)
        tangent *= cut  # a rise r then counts for r / (1 + r r)^2, over what it was multiplied by
        np.minimum(tangent, most, out=tangent)
        found[:] = 0.0
        for x, y in ways:
            dx, dy = round(x * ring), round(y * ring)
            there, back = (
                wide[MARGIN + v : MARGIN + v + height, MARGIN + u : MARGIN + u + width]
                for u, v in ((dx, dy), (-dx, -dy))
            )
            np.subtract(there, twice, out=rise)
            rise += back
            np.maximum(rise, np.float32(0.0), out=rise)
            rise *= tangent
            np.multiply(rise, rise, out=under)
            under += one
            under *= under
            rise /= under
            found += rise
        found *= np.float32(share / len(ways))
        apart += one
        apart *= cut
        found /= apart
        total += found
    return total


def _steps(even: Floats, axis: int) -> Floats:
    """Squares of how much values change per pixel along an axis: the lesser of the changes to either side."""
    steps = np.abs(np.diff(even, axis=axis))
    padding = [(0, 0), (0, 0)]
    padding[axis] = (1, 1)
    steps = np.pad(steps, padding, mode="edge")
    low = np.minimum(steps[:-1], steps[1:]) if axis == 0 else np.minimum(steps[:, :-1], steps[:, 1:])
    return low * low


def _blurred(values: Floats, by: int) -> Floats:
    """Values mixed 1 : 2 : 1 with what lies `by` pixels to either side, along both axes."""
    for axis in (0, 1):
        padding = [(0, 0), (0, 0)]
        padding[axis] = (by, by)
        padded = np.pad(values, padding, mode="edge")
        before, after = (
            (slice(None),) * axis + (slice(None, -2 * by),),
            (slice(None),) * axis + (slice(2 * by, None),),
        )
        values = values + values
        values += padded[before]
        values += padded[after]
        values *= np.float32(0.25)
    return values


def _spread_out(dark: Floats, few: Floats, even: Floats, step: int, parallel: bool) -> Floats:
    """Values known at every `step`-th pixel, at all of them: of four neighbours those count that lie about as
    deep as the pixel does. dark, few: with a margin of one before and after."""
    if step == 1:
        return dark[1 : 1 + len(even), 1:-1].copy()
    result = np.empty(even.shape, dtype=np.float32)
    start = step // 2
    for row, column in np.ndindex(step, step):
        own = even[row::step, column::step]
        high, wide = own.shape
        places = [
            (share_y * share_x, (slice(1 + dy, 1 + dy + high), slice(1 + dx, 1 + dx + wide)))
            for dy, share_y in _between((row - start) / step)
            for dx, share_x in _between((column - start) / step)
        ]
        if len(places) == 1:
            result[row::step, column::step] = dark[places[0][1]]
            continue
        own = np.ascontiguousarray(own)
        inverse = np.float32(20.0) if parallel else np.float32(60.0) / own
        total, count = np.zeros_like(own), np.zeros_like(own)
        for share, part in places:
            off = few[part] - own
            off *= inverse
            off *= off
            off += np.float32(0.02)
            alike = np.divide(np.float32(share), off, out=off)
            count += alike
            alike *= dark[part]
            total += alike
        total /= count
        result[row::step, column::step] = total
    return result


def _between(share: float) -> tuple[tuple[int, float], ...]:
    """Neighbours of a place, -1..1, and what each counts in it."""
    if share == 0.0:
        return ((0, 1.0),)
    return (0, 1.0 - abs(share)), (1 if share > 0.0 else -1, abs(share))
