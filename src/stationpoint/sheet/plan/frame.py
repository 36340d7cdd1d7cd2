"""Plan and side view: one axis and one scale, which cameras stand in them, and room for words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.plane import clipped
from stationpoint.base.look import INK
from stationpoint.ink import Anchor, Box, Shape, Weight, cap_height_px, text_shape, text_width
from stationpoint.sheet.plan.data import GROUND, PlanCamera, PlanData
from stationpoint.sheet.scale import Scale

BETWEEN_PX = 11
LEAST_SIDE_PX = 90
FEW_CAMERAS = 8  # with more cameras their sightlines are a thicket, and they need more room
BELOW_FLOOR_PX, OVER_PX = 26, 24
MORE = 1.5  # scenery that makes what is shown no larger than that is shown whole
LEAST_REACH_M = 30.0  # targets farther than this, and than thrice the cameras' reach, lie outside
Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PlanFrame:
    """From metres to pixels: x = (along - along0) * scale; plan and side share it."""

    along0: float
    across0: float
    up0: float
    scale: float
    width: float
    plan_height: float
    side_height: float

    def plan(self, points: Points) -> Points:
        """Pixels in the plan's box of points (n, 2) along, across."""
        return (points - (self.along0, self.across0)) * self.scale

    def side(self, points: Points) -> Points:
        """Pixels in the side view's box of points (n, 2) along, up."""
        way = (points - (self.along0, self.up0)) * self.scale
        return np.column_stack([way[:, 0], self.side_height - way[:, 1]])


def frame_plan(data: PlanData, width: float, height: float) -> PlanFrame:
    """The frame that holds the cameras, the subject, the targets and the gaps, in two boxes that
    together with the space between fill `height`."""
    low, high = _bounds(data)
    span = _span(low, high)
    room = height - BETWEEN_PX
    scale = min(width / span[0], (room - BELOW_FLOOR_PX - OVER_PX) / (span[1] + span[2]))
    needed = span[2] * scale + BELOW_FLOOR_PX + OVER_PX
    side = float(round(min(max(LEAST_SIDE_PX, needed, 0.38 * room), room - span[1] * scale)))
    plan = room - side
    middle = (low + high) / 2
    along0 = middle[0] - width / scale / 2
    up0 = low[2] - BELOW_FLOOR_PX / scale
    return PlanFrame(along0, middle[1] - plan / scale / 2, up0, scale, width, plan, side)


def filling_height(data: PlanData, width: float) -> float:
    """The height of both boxes at which what they show fills their width."""
    span = _span(*_bounds(data))
    return float((span[1] + span[2]) * width / span[0]) + BELOW_FLOOR_PX + OVER_PX + BETWEEN_PX


def _span(low: Points, high: Points) -> Points:
    """Along, across, up that are shown, m: what must be, with some air."""
    span: Points = np.maximum(high - low, (4.0, 2.5, 2.0)) * (1.12, 1.12, 1.0) + (1.0, 0.6, 0.4)
    return span


def _bounds(data: PlanData) -> tuple[Points, Points]:
    """Lowest and highest along, across, up of what must be shown, (3,) each."""
    foot = np.array(data.foot)
    near = [foot, foot + np.array([0.0, 0.0, data.height_m or 0.0])]
    near += [np.array(end) for jump in data.jumps for end in (jump.start, jump.end)]
    near += [camera.at for camera in standing(data.cameras)]
    reach = max(LEAST_REACH_M, 3.0 * max(float(np.abs(point - foot).max()) for point in near))
    for thing in data.objects:
        if thing.role not in ("", GROUND):
            near += [np.array([x, y, foot[2]]) for x, y in thing.plan]
            near += [np.array([x, foot[1], z]) for x, z in thing.side]
    those = np.array([point for point in near if float(np.abs(point - foot).max()) <= reach])
    low, high = those.min(axis=0), those.max(axis=0)
    if data.bar_m:
        low[1] = min(low[1], data.foot[1] - 0.56 * data.bar_m)
        high[1] = max(high[1], data.foot[1] + 0.56 * data.bar_m)
    return _with_scenery(data, low, high)


def _with_scenery(data: PlanData, low: Points, high: Points) -> tuple[Points, Points]:
    """The same with all scenery, where that is little more: a lone model or a room is shown whole."""
    scenery = [thing for thing in data.objects if not thing.role]
    if not scenery:
        return low, high
    ends = [(thing.plan.min(axis=0), thing.plan.max(axis=0), thing.side[:, 1]) for thing in scenery]
    least = np.min([(*plan, up.min()) for plan, _, up in ends], axis=0)
    most = np.max([(*plan, up.max()) for _, plan, up in ends], axis=0)
    least, most = np.minimum(low, least), np.maximum(high, most)
    before, after = _span(low, high), _span(least, most)
    is_little = after[0] <= MORE * before[0] and after[1] + after[2] <= MORE * (before[1] + before[2])
    return (least, most) if is_little else (low, high)


def distinct(cameras: Sequence[PlanCamera]) -> list[PlanCamera]:
    """The cameras that differ in place or view, the chosen one kept, in order."""
    seen: dict[tuple[float, ...], PlanCamera] = {}
    for camera in cameras:
        if camera.parallel:
            sides = np.concatenate([camera.ways[0], _across(camera.starts, camera.ways[0])])
            key = tuple(np.round(np.concatenate([[1.0], sides]), 2).tolist())
        else:
            key = tuple(np.round(np.concatenate([[0.0], camera.at, camera.ways.ravel()]), 3).tolist())
        if key not in seen or camera.chosen:
            seen[key] = camera
    return list(seen.values())


def standing(cameras: Sequence[PlanCamera]) -> list[PlanCamera]:
    """The cameras that are drawn where they stand: perspective ones, all where there are none."""
    few = distinct(cameras)
    return [camera for camera in few if not camera.parallel] or few


def _across(points: Points, way: Points) -> Points:
    """Points (n, 3) without their part along `way`, flat."""
    unit = way / np.linalg.norm(way)
    flat: Points = (points - np.outer(points @ unit, unit)).ravel()
    return flat


def word_box(words: str, x: float, y: float, size: int, anchor: Anchor, weight: Weight) -> Box:
    """The room that words take with their baseline at (x, y)."""
    width = text_width(words, size, weight)
    left = x - {"left": 0.0, "middle": width / 2, "right": width}[anchor]
    return (left - 3, y - cap_height_px(size) - 3, left + width + 3, y + 0.25 * size + 2)


class Words:
    """Words within a box that do not overlap."""

    def __init__(self, width: float, height: float, scale: Scale) -> None:
        self.size = (width, height)
        self.scale = scale
        self.boxes: list[Box] = []

    def occupy(self, those: Box) -> None:
        """No word may lie here."""
        self.boxes.append(those)

    def take_line(self, start: Points, end: Points) -> None:
        """No word may lie on this line."""
        part = clipped(start, end, self.size)
        if part is None:
            return
        start, end = part
        count = int(np.hypot(*(end - start)) / 8.0) + 2
        for x, y in (start + (end - start) * np.linspace(0.0, 1.0, count)[:, None]).tolist():
            self.boxes.append((x - 1.0, y - 1.0, x + 1.0, y + 1.0))

    def crosses(self, start: Points, end: Points) -> bool:
        """Whether a line would cross a word, a camera or another line on its way to what it ends in."""
        count = int(np.hypot(*(end - start)) / 2.0) + 2
        spots = (start + (end - start) * np.linspace(0.0, 1.0, count)[:, None]).tolist()
        x1, y1 = end.tolist()
        met = [(a, b, c, d) for a, b, c, d in self.boxes if not (a <= x1 <= c and b <= y1 <= d)]
        return any(a < x < c and b < y < d for x, y in spots for a, b, c, d in met)

    def free(self, those: Box) -> bool:
        """Whether a box lies within the whole one and on no other."""
        left, top, right, bottom = those
        if left < 0 or top < 0 or right > self.size[0] or bottom > self.size[1]:
            return False
        return not any(a < right and left < c and b < bottom and top < d for a, b, c, d in self.boxes)

    def put(
        self, words: str, x: float, y: float, size: int, anchor: Anchor, weight: Weight, halo: bool = False
    ) -> list[Shape]:
        """The words with their baseline at (x, y), or nothing where they would leave the box or overlap."""
        those = word_box(words, x, y, size, anchor, weight)
        if anchor == "middle":  # pushed in from the sides
            off = min(max(those[0], 3.0), self.size[0] - 3.0 - (those[2] - those[0])) - those[0]
            those = (those[0] + off, those[1], those[2] + off, those[3])
        if not self.free(those):
            return []
        self.boxes.append(those)
        under = self.scale.type_halo if halo else None
        return [text_shape((those[0] + 3, y), words, size, weight, INK, halo=under)]
