"""What a picture for the eye needs of neighbouring pixels, for both renderers: smooth shadows, dark creases.

Each pixel of a rough picture has asked one direction of the sun; any square of four by four has asked all
of them, so the mean over such a square of one surface is a soft shadow without steps or grain.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import COLOUR, DEPTH, Frame, Shot
from stationpoint.render.creases import creases_of
from stationpoint.render.soft import CODE_FOOT, SIDE

RINGS_PX = 640  # a picture twice as wide is smoothed over a ring of squares more, and so on
SUM_BITS, WIDE_BITS = 11, 24
BAND_ROWS = 120  # so many are worked on at a time: they stay near the processor

Floats = NDArray[np.float32]
Words = TypeVar("Words", NDArray[np.uint16], NDArray[np.uint32])


@dataclass(frozen=True, slots=True, eq=False)
class Rough(Frame):
    """A frame whose colour, (h, w, 4) uint8, is lit all over; the fourth is what the shadow of the pixel's
    one sun leaves of it. which: (h, w) uint8, a number of its surface, 0 for several, 255 for none."""

    which: NDArray[np.uint8] | None = None


def rough_shot(shot: Shot) -> Shot:
    """What must be drawn of a shot to finish it."""
    if shot.about_m is None or COLOUR not in shot.planes:
        return shot
    return replace(shot, planes=shot.planes | {DEPTH})


def finish(frame: Frame, shot: Shot) -> Frame:
    """The frame that the shot asks for, of what was drawn of its rough_shot."""
    if not isinstance(frame, Rough) or frame.colour is None:
        return frame
    assert frame.which is not None
    assert frame.depth_m is not None
    assert shot.about_m is not None
    rough, which = frame.colour, frame.which
    creases = creases_of(shot.camera, frame.depth_m, shot.about_m)
    height, width = which.shape
    colour = np.empty((height, width, 3), dtype=np.uint8)
    rings = max(0, round(width / RINGS_PX) - 1)
    foot = np.float32(CODE_FOOT * 255.0)
    band = np.empty((min(BAND_ROWS, height), width), dtype=np.float32)  # used again: new memory takes longer
    for top in range(0, height, BAND_ROWS):
        bottom = min(top + BAND_ROWS, height)
        start, end = max(top - SIDE * (rings + 1), 0), bottom + SIDE * (rings + 1)
        left = smooth_shadow(rough[start:end, :, 3], which[start:end], rings)[top - start : bottom - start]
        left *= creases.left(top, bottom)
        for channel in range(3):
            codes = band[: bottom - top]
            np.copyto(codes, rough[top:bottom, :, channel])
            codes += foot
            codes *= left
            codes += np.float32(0.5) - foot
            colour[top:bottom, :, channel] = np.maximum(codes, np.float32(0.0), out=codes)
    return Frame(
        colour, frame.depth_m if DEPTH in shot.planes else None, frame.ids, frame.whole, frame.measured
    )


def smooth_shadow(left: NDArray[np.uint8], which: NDArray[np.uint8], rings: int = 0) -> Floats:
    """Means of what shadows leave, (h, w), 0..1, over squares of SIDE pixels, each of its own surface; and
    over `rings` of such squares round each."""
    if left.min(initial=255) == 255:
        return np.ones(left.shape, dtype=np.float32)
    # One word holds a sum of values of 7 bits, and above it how many they are: 16 at most.
    words = (left >> np.uint8(1)).astype(np.uint16) + np.uint16(1 << SUM_BITS)
    words = _gathered(words, which, range(-((SIDE - 1) // 2), SIDE // 2 + 1))
    if not rings:
        return _means(words, SUM_BITS, 127.0)
    wide = (words & np.uint16((1 << SUM_BITS) - 1)).astype(np.uint32)
    wide <<= np.uint32(9)
    wide //= words >> np.uint16(SUM_BITS)
    wide += np.uint32(1 << WIDE_BITS)
    wide = _gathered(wide, which, range(-rings * SIDE, rings * SIDE + 1, SIDE))
    return _means(wide, WIDE_BITS, 127.0 * 512.0)


def _gathered(words: Words, which: NDArray[np.uint8], steps: range) -> Words:
    """Sums over pixels that lie `steps` away along both axes, those of a pixel's own surface: along rows
    first; then of what rows of one surface found."""
    for axis in (1, 0):
        sums = words.copy()
        for by in sorted({abs(step) for step in steps} - {0}):
            if by >= which.shape[axis]:
                continue
            before, after = ((slice(None),) * axis + (part,) for part in (slice(-by), slice(by, None)))
            same = (which[before] == which[after]).astype(words.dtype)
            if by in steps:
                sums[before] += same * words[after]
            if -by in steps:
                same *= words[before]
                sums[after] += same
        words = sums
    return words


def _means(words: Words, bits: int, full: float) -> Floats:
    """Means of what words hold the sum and the number of, `full` as 1."""
    result: Floats = (words & words.dtype.type((1 << bits) - 1)).astype(np.float32)
    result /= words >> words.dtype.type(bits)
    result *= np.float32(1.0 / full)
    return result
