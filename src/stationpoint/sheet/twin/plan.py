"""Plan and side view of a twin: solid as built, dashed where it would be, an arrow with metres between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.plane import clipped, inside_convex
from stationpoint.base.look import INK, PAPER, ROLE_TINT, SHADE, WHITE
from stationpoint.ink import Area, Box, Disc, Group, Line, Shape, box, cap_height_px, text_width
from stationpoint.sheet.marks.drawing import leader
from stationpoint.sheet.plan.data import GROUND, PlanData, PlanObject
from stationpoint.sheet.plan.frame import BETWEEN_PX, PlanFrame, Words
from stationpoint.sheet.plan.view import jump_arrow, outline_shapes, ruler_bar
from stationpoint.sheet.plan.world import world_arrows
from stationpoint.sheet.scale import Scale
from stationpoint.sheet.wording import span_words

Points = NDArray[np.float64]
LEAST_SPAN_M, ROOM = 8.0, 1.7
MOST_NAMES = 9
NEAR_SHARE = 3.0  # subject and gaps farther from the two places than this times their distance lie outside


@dataclass(frozen=True, slots=True)
class TwinLayout:
    """Where a target's foot is. at: along, across, up. floor_m: up, of what is under it, None over a
    void; floor: its name."""

    at: tuple[float, float, float]
    floor_m: float | None
    floor: str


@dataclass(frozen=True, slots=True, eq=False)
class Layouts:
    """Both layouts. data: as built. own: names of the nodes that move. moved: their outlines elsewhere.
    here, there: the target's foot in either."""

    data: PlanData
    own: frozenset[str]
    moved: tuple[PlanObject, ...]
    here: TwinLayout
    there: TwinLayout

    @property
    def way(self) -> Points:
        """From here to there, (3,) along, across, up."""
        step: Points = np.array(self.there.at) - np.array(self.here.at)
        return step


def way_words(layouts: Layouts) -> str:
    """How far the twin is and where, "3.7 m nearer and 1.1 m higher"; "" where it has not moved."""
    along, across, up = layouts.way.tolist()
    said = []
    if abs(along) >= 0.05 or abs(across) >= 0.05:
        level = float(np.hypot(along, across))
        said.append(f"{span_words(level)} {'farther' if along > 0 else 'nearer'}")
    if abs(up) >= 0.05:
        said.append(f"{span_words(abs(up))} {'higher' if up > 0 else 'lower'}")
    return " and ".join(said)


def twin_views(layouts: Layouts, width: float, height: float, scale: Scale) -> list[Shape]:
    """Plan over side, together `width` x `height` px, on one axis and one scale."""
    plan_high = float(round((height - BETWEEN_PX) / 2))
    side_high = height - BETWEEN_PX - plan_high
    plan = _framed(layouts, width, plan_high, above=True)
    side = _framed(layouts, width, side_high, above=False)
    metres = max(width / plan.scale, width / side.scale)
    plan, side = (_zoomed(frame, metres) for frame in (plan, side))
    side = replace(side, along0=plan.along0)
    below = Group(
        "below", (0.0, plan_high + BETWEEN_PX), tuple(twin_side(layouts, width, side_high, scale, side))
    )
    return [*twin_plan(layouts, width, plan_high, scale, plan), below]


def _zoomed(frame: PlanFrame, metres: float) -> PlanFrame:
    """A frame about the same middle that is so many metres wide."""
    scale = frame.width / metres
    more = (1.0 / scale - 1.0 / frame.scale) / 2
    down = more * frame.plan_height
    return replace(
        frame,
        along0=frame.along0 - more * frame.width,
        across0=frame.across0 - down,
        up0=frame.up0 - down,
        scale=scale,
    )


def twin_plan(
    layouts: Layouts, width: float, height: float, scale: Scale, frame: PlanFrame | None = None
) -> list[Shape]:
    """The plan, `width` x `height` px. frame: one that holds both layouts if None."""
    frame = frame or _framed(layouts, width, height, above=True)
    words = Words(width, height, scale)
    small = scale.page_type(15)
    shapes: list[Shape] = [Area((box(0, 0, width, height),), SHADE)]
    ground, solids = outline_shapes(layouts.data.objects, frame, True, layouts.data.foot)
    shapes += ground + solids
    title = words.put("Plan", width - 12, 12 + cap_height_px(small + 2), small + 2, "right", "bold", True)
    shapes += ruler_bar(frame, scale, words, height)
    for jump in layouts.data.jumps:
        ends = frame.plan(np.array([jump.start[:2], jump.end[:2]]))
        shapes += jump_arrow(ends, scale)
        words.take_line(ends[0], ends[1])
    foot = frame.plan(np.array([layouts.data.foot[:2]]))[0]
    shapes.append(Disc((foot[0], foot[1]), 5.5, ROLE_TINT["subject"], INK, scale.line(1.5)))
    words.occupy((foot[0] - 8, foot[1] - 8, foot[0] + 8, foot[1] + 8))
    shapes += _moved(layouts.moved, frame, above=True, scale=scale)
    ends = frame.plan(np.array([layouts.here.at[:2], layouts.there.at[:2]]))
    words.take_line(ends[0], ends[1])
    shapes += jump_arrow(ends, scale)
    level = float(np.hypot(*layouts.way[:2]))
    if level >= 0.05:
        nearer = "farther" if layouts.way[0] > 0 else "nearer"
        shapes += _beside(f"{span_words(level)} {nearer}", ends, words, small)
    if layouts.data.x_way is not None:
        targets = [frame.plan(thing.plan) for thing in (*layouts.data.objects, *layouts.moved) if thing.title]
        shapes += world_arrows(layouts.data.x_way, words, targets)
    shapes += _names(layouts.data.objects, frame, words, small, above=True)
    return _boxed("plan", shapes + title, width, height, scale)


def twin_side(
    layouts: Layouts, width: float, height: float, scale: Scale, frame: PlanFrame | None = None
) -> list[Shape]:
    """The side view, `width` x `height` px, with the sightline that both lie on. frame: as of the plan."""
    frame = frame or _framed(layouts, width, height, above=False)
    words = Words(width, height, scale)
    small = scale.page_type(15)
    shapes: list[Shape] = [Area((box(0, 0, width, height),), PAPER)]
    floor = [thing for thing in layouts.data.objects if thing.role == GROUND]
    if floor:
        level = frame.side(np.array([[0.0, float(floor[0].side[:, 1].max())]]))[0, 1]
        shapes.append(Area((box(0, level, width, height),), SHADE))
        shapes.append(Line(((0, level), (width, level)), 1.25, INK, round_ends=False))
    shapes += outline_shapes(layouts.data.objects, frame, False, layouts.data.foot)[1]
    title = words.put("Side", width - 12, 12 + cap_height_px(small + 2), small + 2, "right", "bold", True)
    shapes += ruler_bar(frame, scale, words, height)
    for jump in layouts.data.jumps:
        shapes += jump_arrow(frame.side(np.array([jump.start[::2], jump.end[::2]])), scale)
    ends = frame.side(np.array([layouts.here.at[::2], layouts.there.at[::2]]))
    if float(np.linalg.norm(layouts.way)) >= 0.05 and float(np.hypot(*(ends[1] - ends[0]))) > 1.0:
        line = _through(ends, width, height)
        shapes.append(Line(line, scale.line(1.25), INK, dash=(14.0, 3.0, 2.0, 3.0), round_ends=False))
        words.take_line(line[0], line[1])
        shapes += _on_line("one sightline", line, ends, words, small)
    shapes += _moved(layouts.moved, frame, above=False, scale=scale)
    for stand in dict.fromkeys((layouts.here, layouts.there)):
        others = [one for one in layouts.data.objects if one.role != GROUND and one.name != stand.floor]
        bounds = _bounds((*others, *layouts.moved), frame)
        shapes += _height_over(stand, frame, words, small, scale, bounds)
    shapes += _names(layouts.data.objects, frame, words, small, above=False)
    return _boxed("side", shapes + title, width, height, scale)


def _boxed(name: str, shapes: list[Shape], width: float, height: float, scale: Scale) -> list[Shape]:
    edge = Line(box(0, 0, width, height), scale.line(1.25), INK, closed=True, round_ends=False)
    return [Group(name, (0.0, 0.0), tuple(shapes), (0.0, 0.0, width, height)), edge]


def _framed(layouts: Layouts, width: float, height: float, above: bool) -> PlanFrame:
    """A frame that holds both places with room round them, subject and gaps too where they are near."""
    parts = [0, 1] if above else [0, 2]
    own = [thing for thing in layouts.data.objects if thing.name in layouts.own]
    rings = [thing.plan if above else thing.side for thing in (*own, *layouts.moved)]
    near = np.vstack([*rings, *(np.array([stand.at])[:, parts] for stand in (layouts.here, layouts.there))])
    floors = [s.floor_m for s in (layouts.here, layouts.there) if s.floor_m is not None]
    if not above:
        near = np.vstack([near, *(np.array([[layouts.here.at[0], floor]]) for floor in floors)])
    low, high = near.min(axis=0), near.max(axis=0)
    reach = NEAR_SHARE * max(LEAST_SPAN_M / 2, float(np.max(high - low)))
    foot = np.array(layouts.data.foot)
    head = foot + np.array([0.0, 0.0, layouts.data.height_m or 0.0])
    others = [foot[parts], head[parts]]
    others += [np.array(end)[parts] for jump in layouts.data.jumps for end in (jump.start, jump.end)]
    for point in others:
        if float(np.abs(point - (low + high) / 2).max()) <= reach:
            low, high = np.minimum(low, point), np.maximum(high, point)
    span = np.maximum((high - low) * ROOM, LEAST_SPAN_M * np.array([1.0, height / width]))
    scale = float(min(width / span[0], height / span[1]))
    middle = (low + high) / 2
    along0, second0 = middle[0] - width / scale / 2, middle[1] - height / scale / 2
    return PlanFrame(float(along0), float(second0), float(second0), scale, width, height, height)


def _moved(objects: Sequence[PlanObject], frame: PlanFrame, above: bool, scale: Scale) -> list[Shape]:
    """Dashed outlines over a pale fill."""
    dash = (scale.long(6), scale.long(4))
    shapes: list[Shape] = []
    for thing in objects:
        ring = np.clip(frame.plan(thing.plan) if above else frame.side(thing.side), -4000, 4000)
        if len(ring) >= 3:
            shapes.append(Area((ring,), WHITE, 0.6))
            shapes.append(Line(ring, scale.line(1.5), INK, dash=dash, closed=True, round_ends=False))
    return shapes


def _through(ends: Points, width: float, height: float) -> Points:
    """A straight line through two points from edge to edge of a box."""
    way = (ends[1] - ends[0]) / max(float(np.hypot(*(ends[1] - ends[0]))), 1e-9)
    far = 2.0 * (width + height)
    part = clipped(ends[0] - way * far, ends[0] + way * far, (width, height))
    return np.array(part) if part is not None else ends


def _beside(said: str, ends: Points, words: Words, size: int) -> list[Shape]:
    """Words under, over or beside an arrow, the nearest place that is free."""
    x, y = (ends[0] + ends[1]) / 2
    low, high = ends.min(axis=0), ends.max(axis=0)
    wide = text_width(said, size, "semibold") / 2
    drop = cap_height_px(size)
    for far in (10.0, 22.0, 34.0, 48.0, 64.0):
        tries = [(x, high[1] + far + drop), (x, low[1] - far)]
        tries += [(high[0] + far + wide, y + drop / 2), (low[0] - far - wide, y + drop / 2)]
        for at_x, at_y in tries:
            put = words.put(said, float(at_x), float(at_y), size, "middle", "semibold", halo=True)
            if put:
                return put
    return []


def _on_line(said: str, line: Points, ends: Points, words: Words, size: int) -> list[Shape]:
    """Words beside a line, away from what lies on it."""
    for share in (0.24, 0.16, 0.32, 0.8, 0.88, 0.7, 0.5):
        spot = line[0] + (line[1] - line[0]) * share
        if float(np.hypot(*(ends - spot).T).min()) < 60.0:
            continue
        for drop in (-10.0, 12.0 + cap_height_px(size), -26.0, 28.0 + cap_height_px(size)):
            put = words.put(
                said, float(spot[0]), float(spot[1] + drop), size, "middle", "semibold", halo=True
            )
            if put:
                return put
    return []


def _height_over(
    stand: TwinLayout, frame: PlanFrame, words: Words, size: int, scale: Scale, others: Sequence[Box]
) -> list[Shape]:
    """How high a foot is over what lies under it: a thin post beside it, with words; nothing where it
    stands. others: boxes of all but its floor, which its words leave free where they can."""
    if stand.floor_m is None or stand.at[2] - stand.floor_m < 0.05:
        return []
    spots = frame.side(np.array([stand.at[::2], (stand.at[0], stand.floor_m)]))
    arm = np.array([scale.long(4), 0.0])
    shapes: list[Shape] = [Line(spots, scale.line(1.25), INK, scale.halo)]
    shapes += [Line(np.array([spot - arm, spot + arm]), scale.line(1.25), INK, scale.halo) for spot in spots]
    words.take_line(spots[0], spots[1])
    said = f"{span_words(stand.at[2] - stand.floor_m)} over {stand.floor}".strip()
    wide, drop = text_width(said, size, "semibold") / 2, cap_height_px(size)
    (x, low), middle = spots[1], spots.mean(axis=0)
    near = [(x, low + 10.0 + drop), (x + 10.0 + wide, middle[1]), (x - 10.0 - wide, middle[1])]
    near += [
        (middle[0] + side * (wide + off), middle[1] - up)
        for up in (24.0, 40.0, 60.0, 80.0)
        for side in (1.0, -1.0)
        for off in (16.0, 40.0, 64.0)
    ]
    for at_x, at_y in near:
        left, top = float(at_x) - wide, float(at_y) - drop
        if any(a < left + 2 * wide and left < c and b < top + drop and top < d for a, b, c, d in others):
            continue
        put = words.put(said, float(at_x), float(at_y), size, "middle", "semibold", halo=True)
        if put:
            lead = leader(middle, (left, top, left + 2 * wide, top + drop), scale, 3.0)
            return [*shapes, *([] if at_y > middle[1] - 24.0 else [lead]), *put]
    return shapes + _beside(said, spots[1:].repeat(2, axis=0), words, size)


def _bounds(objects: Sequence[PlanObject], frame: PlanFrame) -> list[Box]:
    """The boxes of objects, (left, top, right, bottom) px of the side view."""
    rings = [frame.side(thing.side) for thing in objects]
    return [
        (float(r[:, 0].min()), float(r[:, 1].min()), float(r[:, 0].max()), float(r[:, 1].max()))
        for r in rings
        if len(r)
    ]


def _names(
    objects: Sequence[PlanObject], frame: PlanFrame, words: Words, size: int, above: bool
) -> list[Shape]:
    """Names of targets, and of other things within outlines that are wide enough and bare where their
    name would be, the biggest ones first."""
    limits = (frame.width, frame.plan_height)
    rings = [(thing, frame.plan(thing.plan) if above else frame.side(thing.side)) for thing in objects]
    seen: list[tuple[bool, float, str, Points]] = []
    for thing, ring in rings:
        low, high = np.maximum(ring.min(axis=0), 0.0), np.minimum(ring.max(axis=0), limits)
        if thing.role in (GROUND, "subject") or (high - low < (20.0, cap_height_px(size) + 4)).any():
            continue
        name, middle = thing.title or thing.name, (low + high) / 2
        wide = text_width(name, size, "semibold")
        covered = any(_smaller(other, thing) and inside_convex(at, middle) for other, at in rings)
        if thing.title or (
            wide < 0.9 * float(high[0] - low[0]) and not covered and bool(inside_convex(ring, middle))
        ):
            seen.append((not thing.title, -float(np.prod(high - low)), name, middle))
    shapes: list[Shape] = []
    done: set[str] = set()
    for _, _, name, middle in sorted(seen, key=lambda one: one[:3]):
        if name in done or len(done) >= MOST_NAMES:
            continue
        x, y = middle[0], middle[1] + cap_height_px(size) / 2
        put = words.put(name, float(x), float(y), size, "middle", "semibold", True)
        if put:
            done.add(name)
            shapes += put
    return shapes


def _smaller(one: PlanObject, other: PlanObject) -> bool:
    """Whether a thing lies on another in the drawing: those with a role, then the smaller one."""
    if bool(one.role) != bool(other.role):
        return bool(one.role) and one.role != GROUND
    return one is not other and one.role != GROUND and _area(one) < _area(other)


def _area(thing: PlanObject) -> float:
    return float(np.prod(np.ptp(thing.plan, axis=0)) + np.prod(np.ptp(thing.side, axis=0)))
