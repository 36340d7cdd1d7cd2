"""What differs between two frames of one window: by the target's silhouette, and in all."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import lightness, luminance
from stationpoint.camera import Frame, Seat
from stationpoint.readings.frames.drawn import Box
from stationpoint.readings.frames.masks import present_plane
from stationpoint.readings.frames.sight import there_colour
from stationpoint.readings.types import Case

Bits = NDArray[np.bool_]
Floats = NDArray[np.float64]

STEP_LIGHTNESS = 2.0
SAME_ARCMIN = 1.0
DARKENS = 0.05  # of luminance: a shadow (reference: cast shadow)
SQ_ARCMIN = (180.0 * 60.0 / np.pi) ** 2


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """Two frames of one window compared, (h, w) each.

    changed: pixels where something that moves is seen in one of them alone, or, off the edges of nodes,
    where lightness L* differs by 2 or more.
    outline: pixels that are the target's in one of them alone. shade: pixels of things that stay, seen in
    both, that darken or brighten by 5 %. own: pixels of the target as it is. box_px: the window, pixels
    of the cell.
    """

    changed: Bits
    outline: Bits
    shade: Bits
    own: Bits
    box_px: Box


def change(
    case: Case, own: tuple[str, ...], moving: tuple[str, ...], frames: tuple[Frame, Frame], box_px: Box
) -> Change:
    """How a twin's frame differs from the target's. own: the target's nodes; moving: all that move. frames:
    of the target, and of the twin."""
    mine, all_moving = _table(case, own), _table(case, moving)
    ids = present_plane(frames[0].ids), present_plane(frames[1].ids)
    lights = luminance(there_colour(frames[0])), luminance(there_colour(frames[1]))
    lighter = lights[0] != lights[1]
    one, two = (lightness(light[lighter]) for light in lights)
    lighter[lighter] = np.abs(one - two) >= STEP_LIGHTNESS
    other = (ids[0] != ids[1]) & (all_moving[ids[0]] | all_moving[ids[1]])
    darker = np.abs(lights[0] - lights[1]) >= DARKENS * np.maximum(*lights)
    plain = ~_beside(ids[0]) & ~_beside(ids[1])
    stays = (ids[0] == ids[1]) & ~all_moving[ids[0]]
    inside = _inside(case, ids[0].shape, box_px)
    outline, own_px = mine[ids[0]] != mine[ids[1]], mine[ids[0]]
    return Change(
        (lighter & plain | other) & inside,
        outline & inside,
        darker & stays & plain & inside,
        own_px & inside,
        box_px,
    )


def _inside(case: Case, size: tuple[int, ...], box_px: Box) -> Bits:
    """Pixels of a window whose middle lies in the picture."""
    width, height = case.setup.camera.pixels
    x = box_px[0] + (np.arange(size[1]) + 0.5) * (box_px[2] - box_px[0]) / size[1]
    y = box_px[1] + (np.arange(size[0]) + 0.5) * (box_px[3] - box_px[1]) / size[0]
    return np.outer((y >= 0.0) & (y <= height), (x >= 0.0) & (x <= width))


def _table(case: Case, names: tuple[str, ...]) -> Bits:
    found = np.zeros(len(case.scene.nodes) + 1, dtype=bool)
    found[[case.scene.id_of(name) for name in names]] = True
    return found


def _beside(ids: NDArray[np.uint32]) -> Bits:
    """Pixels with another id beside them: their colour is mixed."""
    mixed = np.zeros(ids.shape, dtype=bool)
    across, down = ids[:, 1:] != ids[:, :-1], ids[1:] != ids[:-1]
    mixed[:, 1:] |= across
    mixed[:, :-1] |= across
    mixed[1:] |= down
    mixed[:-1] |= down
    return mixed


def is_same(case: Case, change: Change) -> bool:
    """Whether no viewing shows a changed region of 1': no square of 1' by 1' that has changed throughout.

    A pixel that is wider than that counts as such a square.
    """
    rows, columns = change.changed.shape
    left, top, right, bottom = change.box_px
    for seat in case.seats:
        across, down = arcmin_per_cell_px(case, seat)
        wide, high = (right - left) / columns * across, (bottom - top) / rows * down
        if _holds(change.changed, ceil(SAME_ARCMIN / high - 1e-9), ceil(SAME_ARCMIN / wide - 1e-9)):
            return False
    return True


def arcmin_per_cell_px(case: Case, seat: Seat) -> tuple[float, float]:
    """Arc minutes of a pixel of the cell across and down, at the screen's centre, where it is largest."""
    width, height = case.setup.camera.pixels
    return (
        seat.picture_px[0] / width * seat.arcmin_per_px,
        seat.picture_px[1] / height * seat.arcmin_per_px,
    )


def moves_too_little(case: Case, here_px: Floats, there_px: Floats) -> bool:
    """Whether no point, (n, 2) pixels of the cell each, is drawn 1' away from where it was, at any viewing:
    what lies between outlines that differ by less is nowhere 1' wide."""
    moved = np.abs(there_px - here_px)
    return all(
        bool((np.hypot(*(moved * arcmin_per_cell_px(case, at)).T) < SAME_ARCMIN).all()) for at in case.seats
    )


def _holds(mask: Bits, rows: int, columns: int) -> bool:
    """Whether a block of that many pixels is set throughout."""
    if rows > mask.shape[0] or columns > mask.shape[1]:
        return False
    # Sums over everything above and to the left: any block's sum is four look-ups, however large the block.
    sums = np.zeros((mask.shape[0] + 1, mask.shape[1] + 1), dtype=np.int64)
    sums[1:, 1:] = mask.cumsum(axis=0).cumsum(axis=1)
    block = sums[rows:, columns:] - sums[:-rows, columns:] - sums[rows:, :-columns] + sums[:-rows, :-columns]
    return bool((block == rows * columns).any())


def area_arcmin2(case: Case, seat: Seat, mask: Bits, box_px: Box) -> float:
    """Area of a mask's pixels at the seat, square arc minutes. box_px: what the mask shows, pixels of the
    cell.

    A small area away from the screen's centre is seen smaller by the cube of the cosine. Worked: 100 x
    100 px at the centre of the couch's screen: .8074^2 x 10^4 = 6519.
    """
    ys, xs = np.nonzero(mask)
    if not len(xs):
        return 0.0
    scale = np.asarray(seat.picture_px) / case.setup.camera.pixels
    left, top, right, bottom = box_px
    step = np.array([(right - left) / mask.shape[1], (bottom - top) / mask.shape[0]])
    at = ((np.column_stack([xs, ys]) + 0.5) * step + (left, top)) * scale - seat.centre_px
    per_px = seat.pixel_m / seat.eye_distance_m
    slant = (1.0 + (at * per_px * at * per_px).sum(axis=1)) ** -1.5
    return float(slant.sum() * np.prod(step * scale) * per_px**2 * SQ_ARCMIN)
