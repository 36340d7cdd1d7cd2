"""Names in plan and side view: each where it can only belong to the camera or the target it names."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.plane import inside_convex
from stationpoint.base.look import INK
from stationpoint.ink import Box, Line, Shape, Weight, cap_height_px, text_width
from stationpoint.sheet.plan.data import PlanCamera, PlanObject
from stationpoint.sheet.plan.frame import FEW_CAMERAS, PlanFrame, Words, standing, word_box
from stationpoint.sheet.plan.telling import ranks, told

CLOSE_PX = 4.0  # cameras nearer to each other than this are drawn at one spot
CROWD_PX = (14.0, 28.0)  # triangles nearer to each other than this may have one name
LEADER_PX = 12.0  # a name farther from its target than this has a thin line to it
NEARER_PX = 3.0  # by so much a name is nearer to its own target than to any other
Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Label:
    """Where cameras are drawn, px: one for all whose places meet there. tip: of the triangle. told: whether
    it has a triangle and a name, else a tick. names: of its cameras; every: of all in the view."""

    at: Points
    tip: Points
    words: str
    chosen: bool
    told: bool = True
    names: tuple[str, ...] = ()
    every: tuple[str, ...] = ()

    @property
    def middle(self) -> Points:
        """The triangle's middle, (2,)."""
        middle: Points = (self.at + self.tip) / 2
        return middle


def camera_labels(
    cameras: Sequence[PlanCamera], frame: PlanFrame, above: bool, long_px: float, labels: Mapping[str, str]
) -> list[Label]:
    """The cameras of a view. long_px: of their triangles. labels: what stands at each, by its label."""
    solid = [camera for camera in cameras if not camera.parallel] or standing(cameras)
    parts, to = ([0, 1], frame.plan) if above else ([0, 2], frame.side)
    spots: list[Points] = []
    tips: list[Points] = []
    groups: list[list[PlanCamera]] = []
    for camera in solid:
        at = to(camera.at[parts][None, :])[0]
        way = camera.ways.mean(axis=0)[parts] * (1.0, 1.0 if above else -1.0)
        size = float(np.hypot(*way))
        tip = at + way / size * long_px if size > 1e-6 else at
        same = (
            k
            for k, spot in enumerate(spots)
            if float(np.hypot(*(spot - at))) < CLOSE_PX and float(np.hypot(*(tips[k] - tip))) < 2.0 * CLOSE_PX
        )
        found = next(same, None)
        if found is None:
            spots.append(at)
            tips.append(tip)
            groups.append([camera])
        else:
            groups[found].append(camera)
    every = [labels.get(camera.label, camera.label) for camera in solid]
    how = ranks(cameras)
    least = [min(how[camera.label] for camera in group) for group in groups]
    are_told = told([(float(x), float(y)) for x, y in spots], least)
    own = [tuple(labels.get(camera.label, camera.label) for camera in group) for group in groups]
    return [
        Label(
            at,
            tip,
            join_labels(names, every),
            any(camera.chosen for camera in group),
            is_told,
            names,
            tuple(every),
        )
        for at, tip, group, names, is_told in zip(spots, tips, groups, own, are_told, strict=True)
    ]


def join_labels(some: Sequence[str], every: Sequence[str]) -> str:
    """What stands at cameras that meet: the letters of whole rows, the numbers of whole columns, else
    two labels, or the first and how many more.

    Worked: A1 and A2 of A1, A2, B1 and B2: A.
    """
    if not set(every) - set(some) and len(set(some)) > 2:
        return f"all {len(set(some))}"
    own, rest = list(dict.fromkeys(some)), set(every) - set(some)
    if len(own) == 1:
        return own[0]
    for part in (r"[A-Z]+(?=\d+$)", r"(?<=[A-Z])\d+$"):
        shared = list(dict.fromkeys(found.group() for one in own if (found := re.search(part, one))))
        others = {found.group() for one in rest if (found := re.search(part, one))}
        if 0 < len(shared) < len(own) and others and not others & set(shared):
            return ", ".join(shared)
    return ", ".join(own) if len(own) == 2 else f"{own[0]} +{len(own) - 1}"


def camera_of_result(those: Sequence[Label], words: Words) -> None:
    """No word may lie on a camera."""
    for one in those:
        reach = one.tip if one.told else one.at
        low, high = np.minimum(one.at, reach) - 5.0, np.maximum(one.at, reach) + 5.0
        words.occupy((float(low[0]), float(low[1]), float(high[0]), float(high[1])))


def stand_names(those: Sequence[Label], words: Words, size: int) -> list[Shape]:
    """A name beside each triangle, where no other triangle is nearer to it; those that find no room for
    one of their own have one together with their neighbours; else none."""
    shapes: list[Shape] = []
    left = []
    for one in sorted((one for one in those if one.told), key=lambda one: not one.chosen):
        put = _beside([one], those, words, size)
        shapes += put
        left += [] if put else [one]
    if len(those) <= FEW_CAMERAS:
        for reach_px in CROWD_PX:
            for crowd in _crowds(left, reach_px):
                put = _beside(crowd, those, words, size)
                shapes += put
                left = [one for one in left if not put or one not in crowd]
    return shapes


def _crowds(those: Sequence[Label], reach_px: float) -> list[list[Label]]:
    """Triangles without a name, those together of which each is near to the next, two at least."""
    crowds: list[list[Label]] = []
    for one in those:
        near = [
            crowd
            for crowd in crowds
            if any(float(np.hypot(*(one.middle - other.middle))) < reach_px for other in crowd)
        ]
        crowds = [crowd for crowd in crowds if crowd not in near]
        crowds.append([*(other for crowd in near for other in crowd), one])
    return [crowd for crowd in crowds if len(crowd) > 1]


def _beside(some: Sequence[Label], those: Sequence[Label], words: Words, size: int) -> list[Shape]:
    """One name for some of the triangles, at the first place that has room and lies nearer to them than to
    any other; nothing where there is none."""
    names = [name for one in some for name in one.names]
    said = some[0].words if len(some) == 1 else join_labels(sorted(names), some[0].every)
    weight: Weight = "bold" if any(one.chosen for one in some) else "semibold"
    middles = np.array([one.middle for one in some])
    x, y = (middles.min(axis=0) + middles.max(axis=0)) / 2
    half_x, half_y = np.ptp(middles, axis=0) / 2
    high_px, wide = cap_height_px(size), text_width(said, size, weight) / 2 + 14 + half_x
    others = [other.middle for other in those if not any(other is one for one in some)]
    for dx, dy in (
        (0.0, -11.0 - half_y),
        (0.0, 11.0 + half_y + high_px),
        (wide, high_px / 2),
        (-wide, high_px / 2),
        (wide, -7.0),
        (-wide, -7.0),
        (wide, 7.0 + high_px),
        (-wide, 7.0 + high_px),
        (0.0, -24.0 - half_y),
        (0.0, 24.0 + half_y + high_px),
    ):
        those_px = word_box(said, x + dx, y + dy, size, "middle", weight)
        near = min(away_px(those_px, middle) for middle in middles)
        if any(away_px(those_px, other) < near + 2.0 for other in others):
            continue
        put = words.put(said, x + dx, y + dy, size, "middle", weight, halo=True)
        if put:
            return put
    return []


def away_px(box: Box, spot: Points) -> float:
    """From a spot to the nearest point of a box. Worked: box 0, 0, 10, 10 and (13, 14): 5."""
    x, y = float(spot[0]), float(spot[1])
    return float(np.hypot(max(box[0] - x, 0.0, x - box[2]), max(box[1] - y, 0.0, y - box[3])))


def target_names(objects: Sequence[PlanObject], frame: PlanFrame, words: Words, size: int) -> list[Shape]:
    """Names of targets in the plan, each once: inside the outline, close beside it, or farther away on
    a thin line; nearer to it than to any other target where that can be."""
    limits = (frame.width, frame.plan_height)
    rings = [(thing.title, frame.plan(thing.plan)) for thing in objects if thing.title]
    drop = cap_height_px(size)
    shapes: list[Shape] = []
    done: set[str] = set()
    for title, ring in rings:
        low, high = np.maximum(ring.min(axis=0), 0), np.minimum(ring.max(axis=0), limits)
        if (low >= high).any() or title in done:
            continue
        done.add(title)
        others = [other for name, other in rings if name != title]
        wide = text_width(title, size, "semibold") / 2
        spots = _spots(low, high, wide, drop)
        tries = [(spot, apart) for apart in (True, False) for spot in spots]
        for (x, y), apart in tries:
            those = word_box(title, x, y, size, "middle", "semibold")
            if not words.free(those):
                continue
            near = off_ring_px(those, ring)
            if apart and any(_is_nearer(those, other, near + NEARER_PX) for other in others):
                continue
            tie = _tie(those, ring)
            if tie and words.crosses(*tie):
                continue
            put = words.put(title, x, y, size, "middle", "semibold", halo=True)
            if put:
                if tie:
                    words.take_line(*tie)
                    shapes.append(Line(np.array(tie), 1.0, INK, words.scale.halo))
                shapes += put
                break
    return shapes


def _spots(low: Points, high: Points, wide: float, drop: float) -> list[tuple[float, float]]:
    """Middles of a name's baseline, the best first. wide: half its width; drop: its capitals' height."""
    x, y = float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2
    left, top, right, bottom = float(low[0]), float(low[1]), float(high[0]), float(high[1])
    spots: list[tuple[float, float]] = []
    if bottom - top > 1.5 * drop and right - left > wide:
        spots += [(x, y + drop / 2), (x, y + drop / 2 + 16), (x, y + drop / 2 - 16)]
    for off in (5.0, 22.0, 40.0, 60.0, 80.0):
        spots += [(x, bottom + off + drop), (x, top - off)]
        spots += [(right + off + 2 + wide, y + drop / 2), (left - off - 2 - wide, y + drop / 2)]
        spots += [(a, b) for b in (top - off, bottom + off + drop) for a in (right + wide, left - wide)]
    return spots


def _is_nearer(those: Box, ring: Points, px: float) -> bool:
    """Whether a box is nearer than so much to an outline; that of most is far enough by its corners alone."""
    apart = np.maximum(np.maximum(ring.min(axis=0) - those[2:], those[:2] - ring.max(axis=0)), 0.0)
    return float(np.hypot(*apart)) < px and off_ring_px(those, ring) < px


def _tie(those: Box, ring: Points) -> tuple[Points, Points] | None:
    """Ends of a thin line from a name to its target's outline, None where they are close."""
    if off_ring_px(those, ring) < LEADER_PX:
        return None
    middle = (ring.min(axis=0) + ring.max(axis=0)) / 2
    start = np.clip(middle, those[:2], those[2:])
    way = start + (middle - start) * np.linspace(0.0, 1.0, 60)[:, None]
    inside = np.flatnonzero(inside_convex(ring, way)) if len(ring) > 2 else np.zeros(0, dtype=np.intp)
    goal = way[min(int(inside[0]) + 2, len(way) - 1)] if len(inside) else middle
    return start, goal


def off_ring_px(those: Box, ring: Points) -> float:
    """From a box to a convex outline (n, 2), 0 where they meet. Worked: box 0, 0, 10, 10 and a square from
    13, 14 to 20, 20: 5."""
    x, y = np.linspace(those[0], those[2], 13), np.linspace(those[1], those[3], 5)
    spots = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    way = np.roll(ring, -1, axis=0) - ring
    off = spots[:, None] - ring[None]
    if len(ring) > 2 and inside_convex(ring, spots).any():
        return 0.0
    beside = np.maximum(np.maximum(those[:2] - ring, ring - those[2:]), 0.0)
    nearest = float(np.hypot(beside[:, 0], beside[:, 1]).min())
    share = np.clip((off * way).sum(axis=2) / np.maximum((way**2).sum(axis=1), 1e-9), 0.0, 1.0)
    return min(nearest, float(np.linalg.norm(off - share[:, :, None] * way, axis=2).min()))
