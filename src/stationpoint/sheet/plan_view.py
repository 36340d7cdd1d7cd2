"""Plan over side view: one axis, one scale, so that a thing is found straight below itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.ink.figures import arrow_head, box
from stationpoint.ink.shapes import Area, Box, Disc, Group, Line, Shape
from stationpoint.ink.type import cap_height_px, text, width_px
from stationpoint.look import INK, PALE, PAPER, RGB, ROLE_TINT, SHADE, WHITE
from stationpoint.sheet.plan import GROUND, Eye, PlanData, Thing
from stationpoint.sheet.scale import Scale
from stationpoint.words import number

BETWEEN_PX = 11
LEAST_SIDE_PX = 90
BELOW_FLOOR_PX, OVER_PX = 26, 24
SCENERY: RGB = (0xC3, 0xBC, 0xB4)
MOST_EYES, FEW_EYES = 60, 8
Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Frame:
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


def framed(data: PlanData, width: float, height: float) -> Frame:
    """The frame that holds the cameras, the subject, the targets and the gaps, in two boxes that
    together with the space between fill `height`."""
    near = [np.array([data.foot])]
    near += [np.array([jump.start, jump.end]) for jump in data.jumps]
    near += [eye.at[None, :] for eye in data.eyes if not eye.parallel]
    if data.height_m:
        near.append(np.array([data.foot]) + (0.0, 0.0, data.height_m))
    for thing in data.things:
        if thing.role not in ("", GROUND):
            across = np.column_stack([thing.plan, np.full(len(thing.plan), data.foot[2])])
            near.append(across)
            near.append(
                np.column_stack(
                    [thing.side[:, :1], np.full((len(thing.side), 1), data.foot[1]), thing.side[:, 1:]]
                )
            )
    those = np.concatenate(near)
    reach = max(float(np.ptp(those[:, 0])), 1.0)
    those = (
        those[np.abs(those - np.array(data.foot)).max(axis=1) < max(60.0, 4 * reach)] if len(those) else those
    )
    low, high = those.min(axis=0), those.max(axis=0)
    if data.bar_m:
        low[1] = min(low[1], data.foot[1] - 0.56 * data.bar_m)
        high[1] = max(high[1], data.foot[1] + 0.56 * data.bar_m)
    span = np.maximum(high - low, (4.0, 2.5, 2.0)) * (1.12, 1.12, 1.0) + (1.0, 0.6, 0.4)
    room = height - BETWEEN_PX
    scale = min(width / span[0], (room - BELOW_FLOOR_PX - OVER_PX) / (span[1] + span[2]))
    needed = span[2] * scale + BELOW_FLOOR_PX + OVER_PX
    side = float(round(min(max(LEAST_SIDE_PX, needed, 0.38 * room), room - span[1] * scale)))
    plan = room - side
    middle = (low + high) / 2
    along0 = middle[0] - width / scale / 2
    up0 = low[2] - BELOW_FLOOR_PX / scale
    return Frame(along0, middle[1] - plan / scale / 2, up0, scale, width, plan, side)


def plan_shapes(
    data: PlanData, width: float, height: float, scale: Scale, labels: Mapping[str, str], note: str
) -> list[Shape]:
    """Both boxes. labels: what stands at a camera, by its variant's label. note: what those say."""
    frame = framed(data, width, height)
    plan = _plan(data, frame, scale, labels, note)
    side = _side(data, frame, scale, labels)
    edge = scale.line(1.25)
    top = frame.plan_height + BETWEEN_PX
    return [
        Group("plan", (0.0, 0.0), tuple(plan), (0.0, 0.0, frame.width, frame.plan_height)),
        Line(box(0, 0, frame.width, frame.plan_height), edge, INK, closed=True, round_ends=False),
        Group("side", (0.0, top), tuple(side), (0.0, 0.0, frame.width, frame.side_height)),
        Line(box(0, top, frame.width, top + frame.side_height), edge, INK, closed=True, round_ends=False),
    ]


def _plan(data: PlanData, frame: Frame, scale: Scale, labels: Mapping[str, str], note: str) -> list[Shape]:
    words = Words(frame.width, frame.plan_height, scale)
    shapes: list[Shape] = [Area((box(0, 0, frame.width, frame.plan_height),), SHADE)]
    small = scale.page_type(15)
    fill, lines = _wedges(data.eyes, frame, True, scale)
    ground, solids = _solids(data.things, frame, True)
    shapes += ground + fill + solids + lines
    title = words.put(
        "Plan", frame.width - 12, 12 + cap_height_px(small + 2), small + 2, "right", "bold", True
    )
    notes = words.put(note, 10, 12 + cap_height_px(small), small - 1, "left", "regular") if note else []
    if data.bar_m:
        shapes += _bar(data, frame, scale)
        for edge in lines:
            if isinstance(edge, Line) and edge.dash:
                words.take_line(np.array(edge.points_px[0]), np.array(edge.points_px[1]))
        said = f"{number(data.bar_m)} m wide at the subject in every cell"
        for up in (12, 34, 56, 78):
            put = words.put(said, 10, frame.plan_height - up, small - 1, "left", "regular")
            if put:
                notes += put
                break
    for jump in data.jumps:
        ends = frame.plan(np.array([jump.start[:2], jump.end[:2]]))
        shapes += _jump(ends, scale)
        words.take_line(ends[0], ends[1])
    foot = frame.plan(np.array([data.foot[:2]]))[0]
    words.take((foot[0] - 7, foot[1] - 7, foot[0] + 7, foot[1] + 7))
    shapes.append(Disc((foot[0], foot[1]), 5.0, ROLE_TINT["subject"], INK, scale.line(1.5)))
    shapes += _eyes(data.eyes, frame, True, scale, labels, words)
    shapes += _titles(data.things, frame, words, small)
    return shapes + title + notes


def _side(data: PlanData, frame: Frame, scale: Scale, labels: Mapping[str, str]) -> list[Shape]:
    words = Words(frame.width, frame.side_height, scale)
    shapes: list[Shape] = [Area((box(0, 0, frame.width, frame.side_height),), PAPER)]
    small = scale.page_type(15)
    floor = [t for t in data.things if t.role == GROUND]
    if floor:
        level = frame.side(np.array([[0.0, float(floor[0].side[:, 1].max())]]))[0, 1]
        shapes.append(Area((box(0, level, frame.width, frame.side_height),), SHADE))
        shapes.append(Line(((0, level), (frame.width, level)), 1.25, INK, round_ends=False))
    fill, lines = _wedges(data.eyes, frame, False, scale)
    shapes += fill + _solids(data.things, frame, False)[1] + lines
    title = words.put(
        "Side", frame.width - 12, 12 + cap_height_px(small + 2), small + 2, "right", "bold", True
    )
    ruler = _ruler(frame, scale, words)
    for jump in data.jumps:
        shapes += _jump(frame.side(np.array([jump.start[::2], jump.end[::2]])), scale)
    if data.height_m and not any(t.role == "subject" for t in data.things):
        foot, head = frame.side(np.array([data.foot[::2], (data.foot[0], data.foot[2] + data.height_m)]))
        shapes.append(Line((foot, head), 5.0, INK))
        shapes.append(Line((foot, head), 2.6, ROLE_TINT["subject"]))
    shapes += _eyes(data.eyes, frame, False, scale, labels, words)
    return shapes + title + ruler


def _solids(things: Sequence[Thing], frame: Frame, above: bool) -> tuple[list[Shape], list[Shape]]:
    """The ground, and tinted outlines: big scenery first so that small things lie on it, roles on top."""
    height = frame.plan_height if above else frame.side_height
    whole = frame.width * height
    ground: list[Shape] = []
    drawn: list[tuple[tuple[bool, float], Shape]] = []
    for thing in things:
        ring = frame.plan(thing.plan) if above else frame.side(thing.side)
        low, high = ring.min(axis=0), ring.max(axis=0)
        if (high < 0).any() or low[0] > frame.width or low[1] > height:
            continue
        ring = np.clip(ring, -4000, 4000)
        tint = ROLE_TINT.get(thing.role, SCENERY)
        size = float(np.prod(np.maximum(high - low, 0.5)))
        if thing.role == GROUND:
            ground += [Area((ring,), PALE)] if above else []
        elif len(ring) < 3:
            drawn.append(((bool(thing.role), -size), Line(ring, 2.0, tint if thing.role else INK)))
        else:
            opacity = 0.45 if size > 0.3 * whole and not thing.role else 1.0
            drawn.append(((bool(thing.role), -size), Area((ring,), tint, opacity, INK, 1.0)))
    return ground, [shape for _, shape in sorted(drawn, key=lambda one: one[0])]


def distinct(eyes: Sequence[Eye]) -> list[Eye]:
    """The cameras that differ in place or view, the chosen one kept, in order."""
    seen: dict[tuple[float, ...], Eye] = {}
    for eye in eyes:
        if eye.parallel:
            sides = np.concatenate([eye.ways[0], _across(eye.starts, eye.ways[0])])
            key = tuple(np.round(np.concatenate([[1.0], sides]), 2).tolist())
        else:
            key = tuple(np.round(np.concatenate([[0.0], eye.at, eye.ways.ravel()]), 3).tolist())
        if key not in seen or eye.chosen:
            seen[key] = eye
    return list(seen.values())


def _across(points: Points, way: Points) -> Points:
    """Points (n, 3) without their part along `way`, flat."""
    unit = way / np.linalg.norm(way)
    flat: Points = (points - np.outer(points @ unit, unit)).ravel()
    return flat


def _wedges(eyes: Sequence[Eye], frame: Frame, above: bool, scale: Scale) -> tuple[list[Shape], list[Shape]]:
    """What each camera sees: the chosen one's area in white; thin lines, dashed for parallel views."""
    parts = [0, 1] if above else [0, 2]
    pair = [0, 1] if above else [2, 3]
    to = frame.plan if above else frame.side
    fill: list[Shape] = []
    lines: list[Shape] = []
    few = distinct(eyes)
    faint = 0.75 if len(few) <= FEW_EYES else 0.4
    far = 4000.0 / frame.scale
    for eye in few[:MOST_EYES]:
        starts, ways = eye.starts[pair][:, parts], eye.ways[pair][:, parts]
        ways = ways / np.maximum(np.linalg.norm(ways, axis=1, keepdims=True), 1e-6)
        ends = to(starts + ways * far)
        begins = to(starts - ways * far * eye.parallel)
        if eye.chosen:
            fill.append(Area((np.array([begins[0], ends[0], ends[1], begins[1]]),), WHITE, 0.34))
        width = scale.line(1.6) if eye.chosen else 0.8
        dash = (9.0, 5.0) if eye.parallel else ()
        for begin, end in zip(begins, ends, strict=True):
            opacity = 1.0 if eye.chosen else faint
            lines.append(Line(np.array([begin, end]), width, INK, dash=dash, opacity=opacity))
    return fill, lines


def _eyes(
    eyes: Sequence[Eye], frame: Frame, above: bool, scale: Scale, labels: Mapping[str, str], words: Words
) -> list[Shape]:
    """Triangles that point along the heading, the chosen one white, with a label each."""
    parts = [0, 1] if above else [0, 2]
    to = frame.plan if above else frame.side
    shapes: list[Shape] = []
    small = scale.page_type(15)
    few = [eye for eye in distinct(eyes) if not eye.parallel][:MOST_EYES]
    for eye in few:
        at = to(eye.at[parts][None, :])[0]
        middle = eye.ways.mean(axis=0)[parts]
        way = middle if above else middle * (1.0, -1.0)
        size = float(np.hypot(*way))
        if size < 1e-6:
            shapes.append(Disc((at[0], at[1]), 4.5, WHITE if eye.chosen else INK, INK, 1.5))
        else:
            tip = at + way / size * 14.0
            head = arrow_head((tip[0], tip[1]), (way[0], way[1]), 14.0, 12.0, WHITE if eye.chosen else INK)
            shapes.append(head)
            if eye.chosen:
                shapes.append(Line(head.rings[0], 1.5, INK, closed=True))
        words.take((at[0] - 7, at[1] - 7, at[0] + 14, at[1] + 7))
    for eye in few:
        at = to(eye.at[parts][None, :])[0]
        weight = "bold" if eye.chosen else "semibold"
        said = labels.get(eye.label, eye.label)
        for dy in (-11.0, 11.0 + cap_height_px(small), -26.0, 26.0 + cap_height_px(small)):
            put = words.put(said, at[0] + 3, at[1] + dy, small, "middle", weight, halo=True)
            if put:
                shapes += put
                break
    return shapes


def _titles(things: Sequence[Thing], frame: Frame, words: Words, size: int) -> list[Shape]:
    """Names of targets in or beside their outlines in the plan, each once."""
    shapes: list[Shape] = []
    done: set[str] = set()
    for thing in things:
        if not thing.title or thing.title in done:
            continue
        ring = frame.plan(thing.plan)
        low, high = (
            np.maximum(ring.min(axis=0), 0),
            np.minimum(ring.max(axis=0), (frame.width, frame.plan_height)),
        )
        if (low >= high).any():
            continue
        done.add(thing.title)
        x, y = (low + high) / 2
        drop = cap_height_px(size)
        wide = width_px(thing.title, size, "semibold")
        outside = [(0.0, high[1] - y + drop + 5), (0.0, low[1] - y - 5)]
        outside += [(high[0] - x + wide / 2 + 6, drop / 2), (low[0] - x - wide / 2 - 6, drop / 2)]
        within = [(0.0, drop / 2), (0.0, drop / 2 + 16), (0.0, drop / 2 - 16)]
        tries = within + outside if high[1] - low[1] > 2 * drop and high[0] - low[0] > 0.7 * wide else outside
        for dx, dy in tries:
            put = words.put(thing.title, x + dx, y + dy, size, "middle", "semibold", halo=True)
            if put:
                shapes += put
                break
    return shapes


def _jump(ends: Points, scale: Scale) -> list[Shape]:
    """A gap: a line with an arrow head at the landing."""
    way = ends[1] - ends[0]
    length = float(np.hypot(*way))
    if length < 3.0:
        return []
    head = min(10.0, length / 2)
    tip = (float(ends[1][0]), float(ends[1][1]))
    return [
        Line((ends[0], ends[1] - way * (head / length)), scale.line(2.2), INK),
        arrow_head(tip, (float(way[0]), float(way[1])), head, 9.0, INK),
    ]


def _bar(data: PlanData, frame: Frame, scale: Scale) -> list[Shape]:
    """The width that every cell shows at the subject, as a bar across the sightlines."""
    assert data.bar_m is not None
    eye = data.eyes[0]
    across = (eye.starts[1] - eye.starts[0]) if eye.parallel else (eye.ways[1] - eye.ways[0])
    unit = across[:2] / max(1e-9, float(np.linalg.norm(across[:2])))
    ends = frame.plan(
        np.array([data.foot[:2] - unit * data.bar_m / 2, data.foot[:2] + unit * data.bar_m / 2])
    )
    arm = np.array([6.0, 0.0])
    return [
        Line(ends, scale.line(1.8), INK, scale.halo),
        *(Line((end - arm, end + arm), scale.line(1.5), INK) for end in ends),
    ]


def _ruler(frame: Frame, scale: Scale, words: Words) -> list[Shape]:
    """A bar of a round number of metres at the lower left."""
    metres = next((m for m in (1, 2, 5, 10, 20, 50, 100, 200, 500) if m * frame.scale >= 60), 1000)
    length, y, x = metres * frame.scale, frame.side_height - 14.0, 14.0
    size = scale.page_type(14)
    said = words.put(f"{metres} m", x + length + 8, y + cap_height_px(size) / 2, size, "left", "semibold")
    ends: list[Shape] = [
        Line(((at, y - 4), (at, y + 4)), 1.5, INK, round_ends=False) for at in (x, x + length)
    ]
    return [Line(((x, y), (x + length, y)), 1.5, INK, round_ends=False), *ends, *said]


def within(start: Points, end: Points, size: tuple[float, float]) -> tuple[Points, Points] | None:
    """The part of a stroke that lies in a box of that size, None if none does."""
    way = end - start
    low, high = 0.0, 1.0
    for k in (0, 1):
        if abs(way[k]) < 1e-9:
            if not 0.0 <= start[k] <= size[k]:
                return None
            continue
        near, far = sorted((-start[k] / way[k], (size[k] - start[k]) / way[k]))
        low, high = max(low, near), min(high, far)
    return (start + way * low, start + way * high) if low < high else None


class Words:
    """Words within a box that do not overlap."""

    def __init__(self, width: float, height: float, scale: Scale) -> None:
        self.size = (width, height)
        self.scale = scale
        self.boxes: list[Box] = []

    def take(self, those: Box) -> None:
        """No word may lie here."""
        self.boxes.append(those)

    def take_line(self, start: Points, end: Points) -> None:
        """No word may lie on this line."""
        part = within(start, end, self.size)
        if part is None:
            return
        start, end = part
        count = int(np.hypot(*(end - start)) / 8.0) + 2
        for x, y in (start + (end - start) * np.linspace(0.0, 1.0, count)[:, None]).tolist():
            self.boxes.append((x - 1.0, y - 1.0, x + 1.0, y + 1.0))

    def put(
        self, words: str, x: float, y: float, size: int, anchor: str, weight: str, halo: bool = False
    ) -> list[Shape]:
        """The words with their baseline at (x, y), or nothing where they would leave the box or overlap."""
        width = width_px(words, size, weight)  # type: ignore[arg-type]
        left = x - {"left": 0.0, "middle": width / 2, "right": width}[anchor]
        left = min(max(left, 6.0), self.size[0] - width - 6.0) if anchor == "middle" else left
        those = (left - 3, y - cap_height_px(size) - 3, left + width + 3, y + 0.25 * size + 2)
        if those[0] < 0 or those[1] < 0 or those[2] > self.size[0] or those[3] > self.size[1]:
            return []
        if any(a < those[2] and those[0] < c and b < those[3] and those[1] < d for a, b, c, d in self.boxes):
            return []
        self.boxes.append(those)
        under = self.scale.type_halo if halo else None
        return [text((left, y), words, size, weight, INK, halo=under)]  # type: ignore[arg-type]
