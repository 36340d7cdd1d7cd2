"""What a picture for the eye needs of neighbouring pixels, for both renderers: smooth shadows, dark creases.

Each pixel of a rough picture has asked one direction of the sun; any square of four by four has asked all
of them, so the mean over such a square of one surface is a soft shadow without steps or grain.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from math import log2

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import COLOUR, DEPTH, Frame, Shot
from stationpoint.render.creases import creases_of
from stationpoint.render.scratch import Scratch
from stationpoint.render.soft import CODE_FOOT, SIDE

SQUARES_PX = 640  # a picture twice as wide is smoothed over squares farther off as well, and so on
BAND_PX = 60_000  # so many are worked on at a time: they stay near the processor
UPPER = int(sys.byteorder == "little")  # which byte of a word counts for more
FOOT = round(CODE_FOOT * 255.0)

Bytes = NDArray[np.uint8]
SCRATCH = Scratch()


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
    wider = max(0, round(log2(width / SQUARES_PX)))
    margin = SIDE << wider
    shadow = SCRATCH.array("shadow", which.shape, np.uint8)
    shadow[:] = rough[:, :, 3]
    rows = max(BAND_PX // width // creases.step, 1) * creases.step
    for top in range(0, height, rows):
        bottom = min(top + rows, height)
        start, end = max(top - margin, 0), bottom + margin
        shade = smooth_shadow(shadow[start:end], which[start:end], wider)[top - start : bottom - start]
        left = creases.left(top, bottom)
        left *= shade
        darken(rough[top:bottom], left, colour[top:bottom])
    return Frame(
        colour, frame.depth_m if DEPTH in shot.planes else None, frame.ids, frame.whole, frame.measured
    )


def darken(codes: Bytes, left: NDArray[np.float32], into: Bytes) -> None:
    """Codes, (h, w, 4), of which `left`, (h, w), of 255 stays, into (h, w, 3): codes plus FOOT scale. left is
    used up."""
    high, wide = left.shape
    share, foot, without_half, pairs = (
        SCRATCH.array(f"pairs {k}", (high, wide, 2), np.uint16) for k in range(4)
    )
    left *= np.float32(256.49 / 255.0)
    both = share.view(np.uint32)[:, :, 0]
    np.copyto(both, left, casting="unsafe")
    both *= np.uint32(0x10001)  # the same in either half
    np.subtract(np.uint16(256), share, out=foot)
    foot *= np.uint16(FOOT)
    np.subtract(foot, np.uint16(128), out=without_half)  # may wrap round: so does then what it is taken from
    two = codes.view("<u2")
    for first in (0, 1):
        if first == 0:
            np.bitwise_and(two, np.uint16(255), out=pairs)
        else:
            np.right_shift(two, np.uint16(8), out=pairs)
        pairs *= share
        np.maximum(pairs, foot, out=pairs)
        pairs -= without_half
        for k in range(2 - first):  # the fourth is no colour
            into[:, :, first + 2 * k] = pairs.view(np.uint8)[:, :, 2 * k + UPPER]


def smooth_shadow(left: Bytes, which: Bytes, wider: int = 0) -> Bytes:
    """Means of what shadows leave, (h, w), of 255, over squares of SIDE pixels, each of its own surface; and
    of such squares round each, `wider` times, twice as far off each time. They last until asked again."""
    if left.min(initial=255) == 255:
        return left
    steps = [-1, 2]  # halves of two, then of two such: four in a line
    for k in range(wider):
        steps += [SIDE << k, -(SIDE << k)]
    result = SCRATCH.array("smooth", left.shape, np.uint8)
    result[:] = left
    for axis in (1, 0):
        for step in steps:
            if abs(step) < left.shape[axis]:
                _mix(result, which, step, axis)
    return result


def _mix(values: Bytes, which: Bytes, step: int, axis: int) -> None:
    """Mix values half and half with what lies `step` pixels on along an axis, if that is of the same
    surface."""
    width = values.shape[1]
    apart = abs(step) if axis else abs(step) * width
    # Rows lie one after the other, so that one line holds all: what would reach into the next is left out.
    line, which = values.ravel(), which.ravel()
    size = len(line) - apart
    same, bits = (SCRATCH.array(name, (len(line),), np.uint8)[:size] for name in ("same", "bits"))
    np.equal(which[:-apart], which[apart:], out=same.view(np.bool_))
    np.negative(same, out=same)
    if axis:
        over = SCRATCH.array("same", values.shape, np.uint8)
        over[:, width - apart :] = 0
    np.bitwise_xor(line[:-apart], line[apart:], out=bits)
    bits &= same  # in which the two differ
    own = line[apart:] if step < 0 else line[:-apart]
    own |= bits
    if axis:  # halves are rounded up along rows, and down between them
        bits >>= np.uint8(1)
        own -= bits
    else:
        own -= bits
        bits >>= np.uint8(1)
        own += bits
