"""Where one node's pixels meet another's: every such side between two pixels of the picture, once."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import lightness, luminance
from stationpoint.base.once import once_for_each
from stationpoint.readings.frames.sight import Sight

Points = NDArray[np.float64]
Whole = NDArray[np.intp]

JUMP_SHARE, JUMP_M = 0.02, 0.05
STEP_LIGHTNESS = 5.0
BLOCK_PX = 4  # a border is taken to be straight within blocks of this size


@dataclass(frozen=True, slots=True, eq=False)
class Borders:
    """Sides between neighbouring pixels (cells of the picture) of two ids, n of them.

    ids: (n, 2) of the left or upper, and of the right or lower pixel. px: (n, 2) middle of the side.
    upright: (n,) whether the side is (its pixels then lie left and right). pixel, other: (n,) flat
    indices of the two pixels.
    """

    ids: NDArray[np.uint32]
    px: Points
    upright: NDArray[np.bool_]
    pixel: Whole
    other: Whole

    def chosen(self, which: NDArray[np.bool_] | Whole) -> Borders:
        """Some of the sides."""
        some = np.flatnonzero(which) if which.dtype == bool else which
        # Rows are taken several times as fast so as by an index.
        return Borders(*(getattr(self, each.name).take(some, axis=0) for each in fields(self)))


@once_for_each(kept=1)
def borders(ids: NDArray[np.uint32]) -> Borders:
    """All sides between pixels of different ids, none of them empty. ids: (h, w). Kept for the kinds that
    read the same frames one after the other."""
    width = ids.shape[1]
    flat = ids.ravel()
    beside = np.flatnonzero(flat[:-1] != flat[1:])
    beside = beside[beside % width != width - 1]  # a row's last pixel has none to its right
    below = np.flatnonzero(flat[:-width] != flat[width:])
    beside, below = (
        first[(flat[first] > 0) & (flat[first + step] > 0)] for first, step in ((beside, 1), (below, width))
    )
    return sides_at(ids, beside, below)


def sides_at(ids: NDArray[np.uint32], beside: Whole, below: Whole) -> Borders:
    """The sides between pixels and the ones to their right, and pixels and the ones below them. ids: (h, w).
    beside, below: flat indices of the first pixels of either kind."""
    width = ids.shape[1]
    pixel = np.concatenate([beside, below])
    other = np.concatenate([beside + 1, below + width])
    upright = np.arange(len(pixel)) < len(beside)
    both, px = np.empty((len(pixel), 2), ids.dtype), np.empty((len(pixel), 2))
    flat = ids.ravel()
    both[:, 0], both[:, 1] = flat[pixel], flat[other]
    px[:, 1], px[:, 0] = np.divmod(pixel, width)
    px[:, 0] += np.where(upright, 1.0, 0.5)
    px[:, 1] += np.where(upright, 0.5, 1.0)
    return Borders(both, px, upright, pixel, other)


def _behind(ids: NDArray[np.uint32], sides: Borders) -> tuple[Whole, Whole]:
    """Flat indices of the pixels behind the two of each side, (n,) each, where these show the same node;
    else the same again. ids: (h, w)."""
    height, width = ids.shape
    flat = ids.ravel()
    step = np.where(sides.upright, 1, width)
    y, x = np.divmod(sides.pixel, width)
    along, last = np.where(sides.upright, x, y), np.where(sides.upright, width - 1, height - 1)
    inner = np.where(along > 0, sides.pixel - step, sides.pixel)
    beyond = np.where(along + 1 < last, sides.other + step, sides.other)
    inner = np.where(flat[inner] == flat[sides.pixel], inner, sides.pixel)
    beyond = np.where(flat[beyond] == flat[sides.other], beyond, sides.other)
    return inner, beyond


def tellable_sides(sight: Sight, sides: Borders) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which sides part two depths and two lightnesses, (n,), and on which the first pixel is nearer.

    Lightness is taken from the pixels behind, clear of the edge.
    """
    inner, beyond = _behind(sight.ids, sides)
    gap = _depth_gap(sight, (sides.pixel, sides.other, inner, beyond))
    depth = np.abs(sight.depth_m.ravel()[np.stack([sides.pixel, sides.other])]).min(axis=0)
    jump = np.abs(gap) > np.maximum(JUMP_SHARE * depth, JUMP_M)
    colours = sight.colour.reshape(-1, 3)
    near, far = (lightness(luminance(colours[pixel[jump]])) for pixel in (inner, beyond))
    jump[jump] = np.abs(near - far) >= STEP_LIGHTNESS
    return jump, gap > 0.0


def _depth_gap(sight: Sight, pixels: tuple[Whole, Whole, Whole, Whole]) -> Points:
    """By how much the second surface lies deeper than the first where they are drawn together, (n,).

    pixels: of each side the first, the second, and the one behind either.
    Both are carried on along their own plane from the one pixel's middle to the other's: the edge may lie
    anywhere between, and where the two cross there they touch. So ground seen at a low angle is no step
    from what stands on it. On a plane depth, or its inverse in perspective, changes evenly.
    """
    depth = sight.depth_m.ravel()
    first, second, inner, beyond = (depth[k].astype(np.float64) for k in pixels)
    if sight.camera.parallel:
        gaps = np.array([2.0 * second - beyond - first, second - (2.0 * first - inner)])
    else:
        carried = [np.maximum(2.0 / a - 1.0 / b, 1e-6) for a, b in ((second, beyond), (first, inner))]
        gaps = np.array([1.0 / carried[0] - first, second - 1.0 / carried[1]])
    least = np.where(np.abs(gaps[0]) < np.abs(gaps[1]), gaps[0], gaps[1])
    return np.where(gaps[0] * gaps[1] < 0.0, 0.0, least)


@dataclass(frozen=True, slots=True, eq=False)
class Stretches:
    """Borders gathered in blocks: px (n, 2) their middles, ends (2, n, 2) of a straight side of the same
    length, outward (n, 2) unit vectors to the covered side, pixels of the cell."""

    px: Points
    ends: Points
    outward: Points


def stretches(sides: Borders, first_covers: NDArray[np.bool_]) -> Stretches:
    """The sides gathered in blocks of 4 x 4 pixels; within a block a border is taken to be straight, so
    that its stairs of pixels count with their slanted length."""
    if not len(sides.px):
        none = np.zeros((0, 2))
        return Stretches(none, np.zeros((2, 0, 2)), none)
    cell = (sides.px / BLOCK_PX).astype(np.intp)
    # Row and column of a block as one whole number, so that one sort gathers the sides.
    _, block = np.unique(cell[:, 1] * 1_000_000 + cell[:, 0], return_inverse=True)
    block = block.reshape(-1)
    count = np.bincount(block).astype(np.float64)
    px = np.column_stack([np.bincount(block, sides.px[:, k]) for k in (0, 1)]) / count[:, None]
    upright, level = np.bincount(block, sides.upright), np.bincount(block, ~sides.upright)
    length = np.hypot(upright, level)[:, None]
    sign = np.where(first_covers, 1.0, -1.0)
    out_x, out_y = np.bincount(block, sign * sides.upright), np.bincount(block, sign * ~sides.upright)
    out = np.column_stack([out_x, out_y])
    size = np.linalg.norm(out, axis=1)[:, None]
    # Where both sides of something thin lie in one block they cancel out: then any of the two will do.
    outward = np.where(size > 1e-9, out / np.maximum(size, 1e-9), np.column_stack([upright, level]) / length)
    half = 0.5 * length * np.column_stack([-outward[:, 1], outward[:, 0]])
    return Stretches(px, np.array([px - half, px + half]), outward)
