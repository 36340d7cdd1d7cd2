"""Where one node's pixels meet another's: every such side between two pixels of the picture, once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import lightness, luminance
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
    indices of the two pixels; inner, beyond: of the ones behind them, where these show the same node,
    else the same again.
    """

    ids: NDArray[np.uint32]
    px: Points
    upright: NDArray[np.bool_]
    pixel: Whole
    other: Whole
    inner: Whole
    beyond: Whole

    def chosen(self, which: NDArray[np.bool_] | Whole) -> Borders:
        """Some of the sides."""
        return Borders(
            self.ids[which],
            self.px[which],
            self.upright[which],
            self.pixel[which],
            self.other[which],
            self.inner[which],
            self.beyond[which],
        )


def borders(ids: NDArray[np.uint32], among: NDArray[np.bool_] | None = None) -> Borders:
    """All sides between pixels of different ids, none of them empty. ids: (h, w). among: (m,), which ids both
    pixels must be of; of any but the empty one, 0, if None."""
    height, width = ids.shape
    flat = ids.ravel()
    beside = np.flatnonzero(ids[:, :-1] != ids[:, 1:])
    # Sides between columns are numbered in rows one pixel shorter: back to the picture's own numbers.
    beside = beside + beside // max(width - 1, 1)
    below = np.flatnonzero(flat[:-width] != flat[width:])
    pixel = np.concatenate([beside, below])
    upright = np.arange(len(pixel)) < len(beside)
    step = np.where(upright, 1, width)
    first, second = flat[pixel], flat[pixel + step]
    solid = (first > 0) & (second > 0) if among is None else among[first] & among[second]
    pixel, upright, step = pixel[solid], upright[solid], step[solid]
    other, x, y = pixel + step, pixel % width, pixel // width
    along, last = np.where(upright, x, y), np.where(upright, width - 1, height - 1)
    inner = np.where(along > 0, pixel - step, pixel)
    beyond = np.where(along + 1 < last, other + step, other)
    inner = np.where(flat[inner] == flat[pixel], inner, pixel)
    beyond = np.where(flat[beyond] == flat[other], beyond, other)
    px = np.column_stack([x, y]) + np.where(upright[:, None], (1.0, 0.5), (0.5, 1.0))
    return Borders(np.column_stack([flat[pixel], flat[other]]), px, upright, pixel, other, inner, beyond)


def tellable_sides(sight: Sight, sides: Borders) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which sides part two depths and two lightnesses, (n,), and on which the first pixel is nearer.

    Lightness is taken from the pixels behind, clear of the edge.
    """
    gap = _depth_gap(sight, sides)
    depth = np.abs(sight.depth_m.ravel()[np.stack([sides.pixel, sides.other])]).min(axis=0)
    jump = np.abs(gap) > np.maximum(JUMP_SHARE * depth, JUMP_M)
    colours = sight.colour.reshape(-1, 3)
    light = np.abs(lightness(luminance(colours[sides.inner])) - lightness(luminance(colours[sides.beyond])))
    return jump & (light >= STEP_LIGHTNESS), gap > 0.0


def _depth_gap(sight: Sight, sides: Borders) -> Points:
    """By how much the second surface lies deeper than the first where they are drawn together, (n,).

    Both are carried on along their own plane from the one pixel's middle to the other's: the edge may lie
    anywhere between, and where the two cross there they touch. So ground seen at a low angle is no step
    from what stands on it. On a plane depth, or its inverse in perspective, changes evenly.
    """
    depth = sight.depth_m.ravel()
    first, second, inner, beyond = (
        depth[k].astype(np.float64) for k in (sides.pixel, sides.other, sides.inner, sides.beyond)
    )
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
