"""What the frames of a case say about points and nodes: shared by all cues of a row."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import ceil

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base.geometry.pixels import id_counts
from stationpoint.base.once import once_for_each
from stationpoint.camera import (
    Camera,
    Frame,
    Frames,
    PartPx,
    Seat,
    ShotKey,
    arcmin_between,
    depths,
    project_points,
)
from stationpoint.readings.frames.drawn import outline_on_picture
from stationpoint.readings.frames.masks import hidden_at, present_plane
from stationpoint.readings.frames.plain import PLAIN
from stationpoint.readings.frames.shots import MAIN
from stationpoint.readings.things.pairs import End
from stationpoint.readings.things.steps import ARCMIN_PER_RADIAN, record_camera
from stationpoint.readings.things.things import SceneObject
from stationpoint.readings.types import Case
from stationpoint.scene import Scene

Points = NDArray[np.float64]
Bits = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """A case with its frames.

    camera: in pixels of the cell, as the frames. seat: the first viewing's. scale: (2,) pixels of
    its picture a pixel of the cell. ids, depth_m: (h, w) of the picture. counts: pixels of each id.
    colour: (h, w, 3) untinted, as the game shows it, where a cue looks at it.
    """

    case: Case
    camera: Camera
    record: Camera
    seat: Seat
    scale: Points
    ids: NDArray[np.uint32]
    depth_m: NDArray[np.float32]
    counts: NDArray[np.intp]
    colour: NDArray[np.uint8]
    frames: Frames

    @property
    def factor(self) -> float:
        """How many times its threshold a cue must reach to read."""
        return self.case.study.glance_factor

    def arcmin(self, first_px: Points, second_px: Points) -> Points:
        """Angles at the seat, (n,), between pixels (n, 2) of the cell."""
        return arcmin_between(self.seat, first_px * self.scale, second_px * self.scale)

    def px_arcmin2(self, x: ArrayLike, y: ArrayLike) -> Points:
        """Square arc minutes at the seat, (n,), of pixels of the cell whose middles are at x, y (n,)."""
        pitch = self.seat.pixel_m / self.seat.eye_distance_m
        off = (np.column_stack([x, y]) * self.scale - self.seat.centre_px) * pitch
        size = (pitch * ARCMIN_PER_RADIAN) ** 2 * float(np.prod(self.scale))
        stretch = 1.0 + off[:, 0] * off[:, 0] + off[:, 1] * off[:, 1]
        areas: Points = size / (stretch * np.sqrt(stretch))
        return areas

    def box_of(self, end: End) -> tuple[slice, slice] | None:
        """Rows and columns of the picture round the end's own pixels; None where it has none."""
        if not any(self.counts[ids_of(self.case, end.own)]):
            return None
        left, top, right, bottom = part_round(self.camera, end.thing)
        return slice(top, bottom), slice(left, right)


def part_round(camera: Camera, thing: SceneObject | None) -> PartPx:
    """The part of the picture outside which no pixel shows a thing; it may reach over the right and the lower
    side. All of the picture where that cannot be said."""
    box = None if thing is None else outline_on_picture(camera, thing).box_px
    if box is None:
        return 0, 0, *camera.pixels
    left, top = max(0, int(box[0]) - 1), max(0, int(box[1]) - 1)
    return left, top, max(left, ceil(box[2]) + 1), max(top, ceil(box[3]) + 1)


def sight_of(case: Case, frames: Frames) -> Sight:
    """The case with its frames."""
    return _sight(case, tuple(frames.items()))


@lru_cache(maxsize=1)
def _sight(case: Case, frames: tuple[tuple[ShotKey, Frame], ...]) -> Sight:
    """Kept for the kinds that read the same frames one after the other."""
    drawn_frames = dict(frames)
    main, seat = drawn_frames[MAIN], case.seats[0]
    ids = present_plane(main.ids)
    return Sight(
        case=case,
        camera=case.setup.camera,
        record=record_camera(case),
        seat=seat,
        scale=np.asarray(seat.picture_px) / case.setup.camera.pixels,
        ids=ids,
        depth_m=present_plane(main.depth_m),
        counts=node_pixels(ids, case.scene),
        colour=there_colour(drawn_frames[PLAIN]),
        frames=drawn_frames,
    )


@once_for_each(kept=1)
def node_pixels(ids: NDArray[np.uint32], scene: Scene) -> NDArray[np.intp]:
    """Pixels of each id, (nodes + 1,). ids: (h, w). Kept for the kinds that read the same frames."""
    return id_counts(ids, len(scene.nodes) + 1)


def there_colour(frame: Frame) -> NDArray[np.uint8]:
    """A colour plane that was asked for."""
    assert frame.colour is not None
    return frame.colour


def ids_of(case: Case, names: Iterable[str | None]) -> list[int]:
    """Ids of the named nodes that the scene has."""
    return [case.scene.id_of(name) for name in names if name is not None and name in case.scene]


def table(case: Case, names: Iterable[str | None]) -> Bits:
    """Whether each id is one of the named nodes', (nodes + 1,)."""
    found = np.zeros(len(case.scene.nodes) + 1, dtype=bool)
    found[ids_of(case, names)] = True
    return found


def on_picture(camera: Camera, px: Points) -> Bits:
    """Which pixels (n, 2) lie in the picture; not those of points behind the eye."""
    with np.errstate(invalid="ignore"):
        return np.logical_and((px >= 0.0).all(axis=1), (px < camera.pixels).all(axis=1))


def in_view(sight: Sight, end: End) -> bool:
    """Whether the end is in the picture at all: its foot, or, unless it is a spot, a pixel of its nodes.

    Not where its foot is behind the eye: nothing can be compared with it then.
    """
    px = project_points(sight.camera, end.foot_m)
    if on_picture(sight.camera, px)[0] or not np.isfinite(px).all():
        return bool(np.isfinite(px).all())
    return not end.spot and bool(sight.counts[ids_of(sight.case, end.own)].any())


def foot_visible(sight: Sight, end: End) -> bool:
    """Whether the foot is in the picture and no node but its own and its support hides it.

    One on an edge is seen if a pixel beside it shows what it stands on, so that the picture's size
    does not decide.
    """
    px = project_points(sight.camera, end.foot_m)
    if not on_picture(sight.camera, px)[0]:
        return False
    hidden, row, column = hidden_at(sight.depth_m, px, depths(sight.camera, end.foot_m), np.zeros(1))
    if not hidden[0]:
        return True
    top, left = max(int(row[0]) - 1, 0), max(int(column[0]) - 1, 0)
    around = sight.ids[top : int(row[0]) + 2, left : int(column[0]) + 2]
    own = ids_of(sight.case, (*end.own, end.support, *end.ignoring))
    return any(number in own for number in around.ravel().tolist())


def open_points(sight: Sight, points_m: Points, but: Iterable[str | None] = ()) -> Bits:
    """Which world points (n, 3) are in the picture with nothing before them; nodes in `but` look through."""
    px = project_points(sight.camera, points_m)
    good = on_picture(sight.camera, px)
    if not good.any():
        return good
    z_m = depths(sight.camera, points_m[good])
    hidden, rows, columns = hidden_at(sight.depth_m, px[good], z_m, np.zeros(len(z_m)))
    looked_through = table(sight.case, but)[sight.ids[rows, columns]]
    good[good] = np.logical_or(~hidden, looked_through)
    return good
