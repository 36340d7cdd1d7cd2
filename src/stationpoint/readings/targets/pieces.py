"""Pieces: the largest part of a target that is seen in one, and the outline of all that is seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.pixels import hull_of_runs, largest_piece, outline
from stationpoint.base.geometry.plane import smallest_rectangle
from stationpoint.camera import Camera, Seat, arcmin_between
from stationpoint.readings.frames.drawn import CONVEX
from stationpoint.readings.frames.masks import Mask
from stationpoint.readings.types import Case

PIECE_SHARE = 0.5  # of a pixel that must be in the picture and open, for it to be part of a piece
Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """The largest 8-connected visible piece: hull_px (n, 2), a pixel (2,) in its midst (both in
    pixels of the cell), and whether it is the whole silhouette, unhidden and in frame."""

    hull_px: Points
    midst_px: Points
    whole: bool


def visible_piece(mask: Mask) -> Piece | None:
    """The largest visible piece in the picture, or None where nothing is visible."""
    visible = mask.visible if mask.frame is None else mask.visible & (mask.frame >= PIECE_SHARE)
    rows, starts, ends = largest_piece(visible)
    if not len(rows):
        return None
    count = int((ends - starts).sum())
    whole = count == mask.count and mask.frame is None
    corner, step = np.array([mask.left_px, mask.top_px]), np.array(mask.step_px)
    middle_row = int(np.searchsorted(np.cumsum(ends - starts), count / 2))
    midst = np.array([(starts[middle_row] + ends[middle_row]) / 2, rows[middle_row] + 0.5])
    hull = mask.at.hull_px if whole else hull_of_runs(rows, starts, ends) * step + corner
    return Piece(hull, midst * step + corner, whole)


def piece_arcmin(camera: Camera, seat: Seat, piece: Piece) -> float:
    """Smaller side of the smallest-area rectangle round the largest visible piece, arc minutes.

    Of what no opaque reserved area covers; 0 where nothing of it is seen. None for a bare point, and where it
    reaches behind the camera. Source: definition. Worked: a packet .3 m square at 25 m, 90 degrees wide on
    1920 px: 11.52 px, 18.3' on the desk.
    """
    corners = smallest_rectangle(piece.hull_px * (np.asarray(seat.picture_px) / camera.pixels))
    middles = (corners + corners[[1, 2, 3, 0]]) / 2.0
    sides = arcmin_between(seat, middles[:2], middles[2:])
    return float(sides.min())


def seen_outline(case: Case, mask: Mask, piece: Piece) -> Points:
    """Outline of what is seen in the picture, (n, 2) pixels of the cell, closed, pieces parted by nan."""
    nodes = mask.at.thing.nodes
    convex = mask.at.thing.box is not None or (len(nodes) == 1 and case.scene.node(nodes[0]).kind in CONVEX)
    if piece.whole and convex:
        return np.concatenate([piece.hull_px, piece.hull_px[:1]])
    visible = mask.visible if mask.frame is None else mask.visible & (mask.frame >= PIECE_SHARE)
    edges: Points = outline(visible) * np.array(mask.step_px) + (mask.left_px, mask.top_px)
    return edges
