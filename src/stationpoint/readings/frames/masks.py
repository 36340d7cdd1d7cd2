"""Masks: a thing's whole silhouette and what is seen of it, pixel by pixel."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Frame, Frames, ShotKey, depths, project_points
from stationpoint.readings.frames.drawn import FRONT, REACHING, Box, OnPicture
from stationpoint.readings.frames.shots import MAIN, ObjectView, is_main, is_outside, shot_plan
from stationpoint.readings.types import Case, Path

Bits = NDArray[np.bool_]
Weights = NDArray[np.float32]
Key = TypeVar("Key", str, Path)  # what a mask is found by
Plane = TypeVar("Plane", NDArray[np.uint32], NDArray[np.float32])

NEARER_SHARE, NEARER_M = 0.01, 0.02  # a surface this much nearer than a point hides it
BOX_NEARER_SHARE, BOX_NEARER_M = 1e-4, 1e-3  # the same for a virtual box's own surface
POINT_PX = 1e-6  # side of the one pixel that stands for a bare point


@dataclass(frozen=True, slots=True, eq=False)
class Mask:
    """A silhouette in pixels of the shot that it was counted in.

    whole, visible: (h, w) the whole silhouette, and the part of it that nothing hides (in frame or
    not). ids: (h, w) what is nearest at each pixel. frame: (h, w) share of each pixel that lies in
    the picture, None where all do. left_px, top_px: its corner, step_px: size of its pixels, both in
    pixels of the cell. count: pixels of the whole silhouette.
    """

    at: OnPicture
    whole: Bits
    visible: Bits
    ids: NDArray[np.uint32]
    frame: Weights | None
    left_px: float
    top_px: float
    step_px: tuple[float, float]
    count: int

    def share_in(self, box_px: Box) -> Weights:
        """Share of each pixel, (h, w), that lies in a box (left, top, right, bottom) of the cell."""
        columns = _overlap(self.left_px, self.step_px[0], self.whole.shape[1], box_px[0], box_px[2])
        rows = _overlap(self.top_px, self.step_px[1], self.whole.shape[0], box_px[1], box_px[3])
        return np.outer(rows, columns)


@dataclass(frozen=True, slots=True, eq=False)
class Masks(Generic[Key]):
    """found: by name or path, the mask, None where a thing has no whole silhouette (it reaches behind the
    camera, or is seen edge-on) or nothing of it is in the picture (`absent` holds its name then). A thing is
    in neither whose shot no reading asked for."""

    found: dict[Key, Mask | None]
    absent: frozenset[Key]


def measured_masks(case: Case, frames: Frames) -> Masks[Path]:
    """The masks of all targets and of the subject, by how their readings' paths begin."""
    return _measured_masks(case, tuple(frames.items()))


def landing_masks(case: Case, frames: Frames) -> Masks[str]:
    """The masks of the landings' nodes, by gap."""
    return _masks(case, shot_plan(case).landings, frames)


@lru_cache(maxsize=1)
def _measured_masks(case: Case, frames: tuple[tuple[ShotKey, Frame], ...]) -> Masks[Path]:
    """Kept for the kinds that read the same frames one after the other."""
    return _masks(case, shot_plan(case).measured, dict(frames))


def _masks(case: Case, views: Mapping[Key, ObjectView], frames: Frames) -> Masks[Key]:
    views = {name: view for name, view in views.items() if _is_drawn(view, frames)}
    made = {view: _mask(case, view, frames) for view in dict.fromkeys(views.values())}
    found = {name: made[view] for name, view in views.items()}
    absent = {
        name
        for name, view in views.items()
        if found[name] is None and view.shot is None and view.at.state != REACHING
    }
    return Masks(found, frozenset(absent))


def _is_drawn(view: ObjectView, frames: Frames) -> bool:
    """Whether all is there that a thing is counted in, or nothing has to be."""
    if view.at.state == FRONT and view.at.thing.is_point:
        return MAIN in frames
    return view.shot is None or view.shot in frames


def _mask(case: Case, view: ObjectView, frames: Frames) -> Mask | None:
    if view.at.state != FRONT:
        return None
    if view.at.thing.is_point:
        return _point_mask(case, view.at, frames)
    if view.shot is None:
        return None
    frame = frames[view.shot]
    ids = present_plane(frames[MAIN].ids if is_main(view.shot) else frame.ids)
    if view.alone is not None:
        alone = frames[view.alone]
        whole, own = present_plane(alone.ids) > 0, present_plane(alone.depth_m)
        hidden = present_plane(frame.depth_m) < own * (1.0 - BOX_NEARER_SHARE) - BOX_NEARER_M
        return _made(case, view, whole, whole & ~hidden, ids)
    rows, columns = slice(None), slice(None)
    if is_main(view.shot) and view.at.box_px is not None:
        left, top, right, bottom = view.at.box_px
        rows, columns = slice(int(top), int(np.ceil(bottom))), slice(int(left), int(np.ceil(right)))
    ids = ids[rows, columns]
    bits = present_plane(frame.whole)[rows, columns]
    whole = (bits & np.uint32(1 << view.bit) if is_main(view.shot) else bits) != 0  # a zoom shows one alone
    return _made(case, view, whole, whole & _is_any(ids, case, view.at.thing.nodes), ids, (columns, rows))


def present_plane(plane: Plane | None) -> Plane:
    """A plane that was asked for."""
    assert plane is not None
    return plane


def _is_any(ids: NDArray[np.uint32], case: Case, names: Iterable[str]) -> Bits:
    wanted = [case.scene.id_of(name) for name in names]
    if len(wanted) == 1:
        only: Bits = ids == wanted[0]
        return only
    # A table by id, looked up for the whole plane, costs one pass whatever the number of names.
    table = np.zeros(max(int(ids.max(initial=0)), max(wanted)) + 1, dtype=bool)
    table[wanted] = True
    found: Bits = table[ids]
    return found


def _made(
    case: Case,
    view: ObjectView,
    whole: Bits,
    visible: Bits,
    ids: NDArray[np.uint32],
    crop: tuple[slice, slice] = (slice(None), slice(None)),
) -> Mask | None:
    """The mask of a window, or of the crop (columns, rows) of the picture."""
    count = int(np.count_nonzero(whole))
    if count == 0:
        return None
    left, top, right, bottom = view.window_px
    if crop[0].start is not None:
        left, top, step = float(crop[0].start), float(crop[1].start), (1.0, 1.0)
        return Mask(view.at, whole, visible, ids, None, left, top, step, count)
    step = ((right - left) / whole.shape[1], (bottom - top) / whole.shape[0])
    mask = Mask(view.at, whole, visible, ids, None, left, top, step, count)
    return _framed(case, mask)


def _framed(case: Case, mask: Mask) -> Mask:
    """The mask with the share of its pixels in the picture, if not all are."""
    width, height = case.setup.camera.pixels
    assert mask.at.box_px is not None
    left, top, right, bottom = mask.at.box_px
    if left >= 0 and top >= 0 and right <= width and bottom <= height:
        return mask
    frame = mask.share_in((0.0, 0.0, float(width), float(height)))
    return Mask(
        mask.at,
        mask.whole,
        mask.visible,
        mask.ids,
        frame,
        mask.left_px,
        mask.top_px,
        mask.step_px,
        mask.count,
    )


def _point_mask(case: Case, at: OnPicture, frames: Frames) -> Mask | None:
    """A bare point as a mask of one tiny pixel."""
    camera = case.setup.camera
    assert at.box_px is not None
    x, y = project_points(camera, at.thing.centre_m)[0]
    if is_outside(case, at.box_px):
        return None
    main = frames[MAIN]
    z_m, spread = depths(camera, at.thing.centre_m), np.zeros(1)
    hidden, row, column = hidden_at(present_plane(main.depth_m), np.array([[x, y]]), z_m, spread)
    one = np.ones((1, 1), dtype=bool)
    ids = present_plane(main.ids)[row, column].reshape(1, 1)
    left, top = float(x) - POINT_PX / 2, float(y) - POINT_PX / 2
    return Mask(at, one, one & ~hidden, ids, None, left, top, (POINT_PX, POINT_PX), 1)


def hidden_at(
    depth_m: NDArray[np.float32],
    px: NDArray[np.float64],
    z_m: NDArray[np.float64],
    spread_m: NDArray[np.float64],
) -> tuple[Bits, NDArray[np.intp], NDArray[np.intp]]:
    """Which points something nearer hides, with the rows and columns of their pixels.

    px: (n, 2) inside the plane. z_m: (n,) their depths. spread_m: (n,) how much the depth of their
    own surface may change over a pixel.
    """
    rows = np.clip(px[:, 1].astype(np.intp), 0, depth_m.shape[0] - 1)
    columns = np.clip(px[:, 0].astype(np.intp), 0, depth_m.shape[1] - 1)
    slack = np.maximum(NEARER_SHARE * np.abs(z_m), NEARER_M) + spread_m
    return depth_m[rows, columns] < z_m - slack, rows, columns


def _overlap(start: float, step: float, count: int, low: float, high: float) -> Weights:
    """Share of each of `count` cells of a line that lies between low and high."""
    edges = start + step * np.arange(count + 1)
    inner = np.minimum(edges[1:], high) - np.maximum(edges[:-1], low)
    share: Weights = np.clip(inner / step, 0.0, 1.0).astype(np.float32)
    return share
