"""Plan over side view: one axis, one scale, so that a thing is found straight below itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK, PALE, PAPER, RGB, ROLE_TINT, SHADE, WHITE
from stationpoint.base.words import number
from stationpoint.ink import (
    Area,
    Disc,
    Group,
    Line,
    Shape,
    arrow_head,
    box,
    cap_height_px,
    text_shape,
    text_width,
)
from stationpoint.sheet.plan.data import GROUND, PlanCamera, PlanData, PlanObject
from stationpoint.sheet.plan.frame import (
    BETWEEN_PX,
    FEW_CAMERAS,
    PlanFrame,
    Words,
    frame_plan,
    standing,
)
from stationpoint.sheet.plan.names import Label, camera_labels, camera_of_result, stand_names, target_names
from stationpoint.sheet.plan.telling import ranks, with_wedges
from stationpoint.sheet.plan.world import world_arrows
from stationpoint.sheet.scale import Scale

SCENERY: RGB = (0xC3, 0xBC, 0xB4)
EDGE: RGB = (0x6E, 0x69, 0x63)  # of scenery: paler than what the sheet is about
EDGE_PX, LEAST_EDGE_PX = 0.8, 5.0  # things smaller than this have no outline
FADED, FADE_REACH = 0.35, 0.35  # how faint what is far from the subject gets, beyond this share of the width
CAMERA_PX, SMALL_CAMERA_PX, TICK_PX = 14.0, 11.0, 7.0  # a camera's triangle; its tick in a big sweep
ROUND_M = tuple(first * 10**power for power in range(5) for first in (1, 2, 5))
Points = NDArray[np.float64]


def plan_shapes(
    data: PlanData, width: float, height: float, scale: Scale, labels: Mapping[str, str], note: str
) -> list[Shape]:
    """Both boxes. labels: what stands at a camera, by its variant's label. note: what those say."""
    frame = frame_plan(data, width, height)
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


def _plan(
    data: PlanData, frame: PlanFrame, scale: Scale, labels: Mapping[str, str], note: str
) -> list[Shape]:
    words = Words(frame.width, frame.plan_height, scale)
    those = camera_labels(data.cameras, frame, True, _long_px(data), labels)
    camera_of_result(those, words)
    shapes: list[Shape] = [Area((box(0, 0, frame.width, frame.plan_height),), SHADE)]
    small = scale.page_type(15)
    fill, lines = _wedges(data.cameras, frame, True, scale)
    ground, solids = outline_shapes(data.objects, frame, True, data.foot)
    shapes += ground + fill + solids + lines
    title = words.put(
        "Plan", frame.width - 12, 12 + cap_height_px(small + 2), small + 2, "right", "bold", True
    )
    least = scale.page_type(14)
    notes: list[Shape] = []
    if data.bar_m:
        bar = _bar(data, frame, scale)
        shapes += bar
        for edge in [*lines, bar[0]]:
            if isinstance(edge, Line) and (edge.dash or edge is bar[0]):
                words.take_line(np.array(edge.points_px[0]), np.array(edge.points_px[1]))
    if note:
        notes += _first_put(note, (12.0 + cap_height_px(small), 34.0 + cap_height_px(small)), words, least)
    if data.bar_m:
        said = f"{number(data.bar_m)} m wide at the subject in every cell"
        notes += _first_put(said, [frame.plan_height - up for up in (12, 34, 56, 78)], words, least)
    for jump in data.jumps:
        ends = frame.plan(np.array([jump.start[:2], jump.end[:2]]))
        shapes += jump_arrow(ends, scale)
        words.take_line(ends[0], ends[1])
    foot = frame.plan(np.array([data.foot[:2]]))[0]
    words.occupy((foot[0] - 7, foot[1] - 7, foot[0] + 7, foot[1] + 7))
    shapes.append(Disc((foot[0], foot[1]), 5.0, ROLE_TINT["subject"], INK, scale.line(1.5)))
    shapes += _cameras(those, _long_px(data), scale)
    if data.x_way is not None:
        targets = [frame.plan(thing.plan) for thing in data.objects if thing.title]
        notes += world_arrows(data.x_way, words, targets)
    shapes += stand_names(those, words, small)
    shapes += target_names(data.objects, frame, words, small)
    return shapes + title + notes


def _first_put(said: str, downs: Sequence[float], words: Words, size: int) -> list[Shape]:
    """Words at the left of a box at the first of these baselines that is free."""
    tries = (words.put(said, 10, y, size, "left", "regular") for y in downs)
    return next((put for put in tries if put), [])


def _side(data: PlanData, frame: PlanFrame, scale: Scale, labels: Mapping[str, str]) -> list[Shape]:
    words = Words(frame.width, frame.side_height, scale)
    those = camera_labels(data.cameras, frame, False, _long_px(data), labels)
    camera_of_result(those, words)
    shapes: list[Shape] = [Area((box(0, 0, frame.width, frame.side_height),), PAPER)]
    small = scale.page_type(15)
    floor = [t for t in data.objects if t.role == GROUND]
    if floor:
        level = frame.side(np.array([[0.0, float(floor[0].side[:, 1].max())]]))[0, 1]
        shapes.append(Area((box(0, level, frame.width, frame.side_height),), SHADE))
        shapes.append(Line(((0, level), (frame.width, level)), 1.25, INK, round_ends=False))
    fill, lines = _wedges(data.cameras, frame, False, scale)
    shapes += fill + outline_shapes(data.objects, frame, False, data.foot)[1] + lines
    title = words.put(
        "Side", frame.width - 12, 12 + cap_height_px(small + 2), small + 2, "right", "bold", True
    )
    ruler = ruler_bar(frame, scale, words, frame.side_height)
    for jump in data.jumps:
        shapes += jump_arrow(frame.side(np.array([jump.start[::2], jump.end[::2]])), scale)
    if data.height_m and not any(t.role == "subject" for t in data.objects):
        foot, head = frame.side(np.array([data.foot[::2], (data.foot[0], data.foot[2] + data.height_m)]))
        shapes.append(Line((foot, head), 5.0, INK))
        shapes.append(Line((foot, head), 2.6, ROLE_TINT["subject"]))
    shapes += _cameras(those, _long_px(data), scale)
    shapes += stand_names(those, words, small)
    return shapes + title + ruler


def outline_shapes(
    objects: Sequence[PlanObject], frame: PlanFrame, above: bool, foot: tuple[float, float, float]
) -> tuple[list[Shape], list[Shape]]:
    """The ground, and tinted outlines: big scenery first so that small things lie on it, roles on top.
    Scenery is pale and thin, and fainter the farther it is from the subject's foot: along, across, up."""
    height = frame.plan_height if above else frame.side_height
    whole = frame.width * height
    middle = frame.plan(np.array([foot[:2]]))[0] if above else frame.side(np.array([foot[::2]]))[0]
    ground: list[Shape] = []
    drawn: list[tuple[tuple[bool, float], Shape]] = []
    for thing in objects:
        ring = frame.plan(thing.plan) if above else frame.side(thing.side)
        low, high = ring.min(axis=0), ring.max(axis=0)
        if (high < 0).any() or low[0] > frame.width or low[1] > height:
            continue
        ring = np.clip(ring, -4000, 4000)
        tint = ROLE_TINT.get(thing.role, SCENERY)
        size = float(np.prod(np.maximum(high - low, 0.5)))
        off = float(np.hypot(*np.maximum(np.maximum(low - middle, middle - high), 0.0)))
        share = min(max(off / frame.width - FADE_REACH, 0.0) / FADE_REACH, 1.0)
        faint = 1.0 if thing.role else 1.0 - (1.0 - FADED) * share
        if thing.role == GROUND:
            ground += [Area((ring,), PALE)] if above else []
        elif len(ring) < 3:
            line = Line(ring, 2.0, tint) if thing.role else Line(ring, EDGE_PX, EDGE, opacity=faint)
            drawn.append(((bool(thing.role), -size), line))
        else:
            opacity = min(faint, 0.45) if size > 0.3 * whole and not thing.role else faint
            ink, width = (INK, 1.0) if thing.role else (EDGE, EDGE_PX)
            if not thing.role and float((high - low).max()) < LEAST_EDGE_PX:
                ink, width = tint, 0.0
            drawn.append(((bool(thing.role), -size), Area((ring,), tint, opacity, ink, width)))
    return ground, [shape for _, shape in sorted(drawn, key=lambda one: one[0])]


def _wedges(
    cameras: Sequence[PlanCamera], frame: PlanFrame, above: bool, scale: Scale
) -> tuple[list[Shape], list[Shape]]:
    """What each camera sees: the chosen one's area in white; thin lines, dashed for parallel views."""
    parts = [0, 1] if above else [0, 2]
    pair = [0, 1] if above else [2, 3]
    to = frame.plan if above else frame.side
    fill: list[Shape] = []
    lines: list[Shape] = []
    faint = 0.6
    far = 4000.0 / frame.scale
    for camera in with_wedges(cameras, frame, ranks(cameras)):
        starts, ways = camera.starts[pair][:, parts], camera.ways[pair][:, parts]
        ways = ways / np.maximum(np.linalg.norm(ways, axis=1, keepdims=True), 1e-6)
        ends = to(starts + ways * far)
        begins = to(starts - ways * far * camera.parallel)
        if camera.chosen:
            fill.append(Area((np.array([begins[0], ends[0], ends[1], begins[1]]),), WHITE, 0.34))
        width = scale.line(1.6) if camera.chosen else 0.8
        dash = (9.0, 5.0) if camera.parallel else ()
        for begin, end in zip(begins, ends, strict=True):
            opacity = 1.0 if camera.chosen else faint
            lines.append(Line(np.array([begin, end]), width, INK, dash=dash, opacity=opacity))
    return fill, lines


def _cameras(those: Sequence[Label], long_px: float, scale: Scale) -> list[Shape]:
    """Triangles that point along the heading, each apart from what it lies on, the chosen one white; quiet
    ticks across it for cameras that are not told."""
    shapes: list[Shape] = []
    for one in sorted(those, key=lambda one: (one.told, one.chosen)):
        way, ink = one.tip - one.at, WHITE if one.chosen else INK
        if one.told and float(np.hypot(*way)) < 1.0:
            shapes.append(Disc((one.at[0], one.at[1]), 4.5, ink, INK, 1.5))
            continue
        if not one.told:
            aside = np.array([-way[1], way[0]]) / float(np.hypot(*way)) * TICK_PX / 2
            shapes.append(Line(np.array([one.at - aside, one.at + aside]), 1.0, INK, opacity=0.6))
            continue
        tip, ahead = (float(one.tip[0]), float(one.tip[1])), (float(way[0]), float(way[1]))
        head = arrow_head(tip, ahead, long_px, 0.86 * long_px, ink)
        ring = head.rings[0]
        shapes += [Line(ring, 1.0, INK, scale.halo, closed=True), head]
        if one.chosen:
            shapes.append(Line(ring, 1.5, INK, closed=True))
    return shapes


def _long_px(data: PlanData) -> float:
    """How long the cameras' triangles are: shorter where there are many."""
    return CAMERA_PX if len(standing(data.cameras)) <= FEW_CAMERAS else SMALL_CAMERA_PX


def jump_arrow(ends: Points, scale: Scale) -> list[Shape]:
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


def _bar(data: PlanData, frame: PlanFrame, scale: Scale) -> list[Shape]:
    """The width that every cell shows at the subject, as a bar across the sightlines."""
    assert data.bar_m is not None
    camera = data.cameras[0]
    across = (camera.starts[1] - camera.starts[0]) if camera.parallel else (camera.ways[1] - camera.ways[0])
    unit = across[:2] / max(1e-9, float(np.linalg.norm(across[:2])))
    ends = frame.plan(
        np.array([data.foot[:2] - unit * data.bar_m / 2, data.foot[:2] + unit * data.bar_m / 2])
    )
    arm = np.array([6.0, 0.0])
    return [
        Line(ends, scale.line(1.8), INK, scale.halo),
        *(Line((end - arm, end + arm), scale.line(1.5), INK) for end in ends),
    ]


def ruler_bar(frame: PlanFrame, scale: Scale, words: Words, height: float) -> list[Shape]:
    """A bar of a round number of metres with its number, in the first corner of a box `height` px high that
    has room: lower left, lower right, upper left; where none has, lower left all the same."""
    metres = next((m for m in ROUND_M if m * frame.scale >= 60), ROUND_M[-1])
    length, size = metres * frame.scale, scale.page_type(14)
    said = f"{metres} m"
    high, wide = cap_height_px(size), text_width(said, size, "semibold")
    low, right = height - 14.0, max(14.0, frame.width - 22.0 - length - wide)
    spots = [(14.0, low), (right, low), (14.0, 14.0 + high / 2)]
    boxes = [(x - 5.0, y - high / 2 - 4.0, x + length + wide + 14.0, y + high / 2 + 4.0) for x, y in spots]
    best = next((k for k, those in enumerate(boxes) if words.free(those)), 0)
    x, y = spots[best]
    words.occupy(boxes[best])
    ends: list[Shape] = [
        Line(((at, y - 4), (at, y + 4)), 1.5, INK, round_ends=False) for at in (x, x + length)
    ]
    named = text_shape((x + length + 8, y + high / 2), said, size, "semibold", halo=scale.type_halo)
    return [Line(((x, y), (x + length, y)), 1.5, INK, round_ends=False), *ends, named]
