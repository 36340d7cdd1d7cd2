"""Plan over side view: one axis, one scale, so that a thing is found straight below itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK, PALE, PAPER, RGB, ROLE_TINT, SHADE, WHITE
from stationpoint.base.words import number
from stationpoint.ink import Area, Disc, Group, Line, Shape, arrow_head, box, cap_height_px
from stationpoint.sheet.plan.data import GROUND, PlanCamera, PlanData, PlanObject
from stationpoint.sheet.plan.frame import (
    BETWEEN_PX,
    FEW_CAMERAS,
    PlanFrame,
    Words,
    distinct,
    frame_plan,
    standing,
)
from stationpoint.sheet.plan.names import Label, camera_labels, camera_of_result, stand_names, target_names
from stationpoint.sheet.plan.world import world_arrows
from stationpoint.sheet.scale import Scale

SCENERY: RGB = (0xC3, 0xBC, 0xB4)
MOST_CAMERAS = 60
CAMERA_PX, SMALL_CAMERA_PX = 14.0, 11.0  # a camera's triangle
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
    ground, solids = outline_shapes(data.objects, frame, True)
    shapes += ground + fill + solids + lines
    title = words.put(
        "Plan", frame.width - 12, 12 + cap_height_px(small + 2), small + 2, "right", "bold", True
    )
    least = scale.page_type(14)
    notes = words.put(note, 10, 12 + cap_height_px(small), least, "left", "regular") if note else []
    if data.bar_m:
        bar = _bar(data, frame, scale)
        shapes += bar
        for edge in [*lines, bar[0]]:
            if isinstance(edge, Line) and (edge.dash or edge is bar[0]):
                words.take_line(np.array(edge.points_px[0]), np.array(edge.points_px[1]))
        said = f"{number(data.bar_m)} m wide at the subject in every cell"
        for up in (12, 34, 56, 78):
            put = words.put(said, 10, frame.plan_height - up, least, "left", "regular")
            if put:
                notes += put
                break
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
    shapes += stand_names(those[:MOST_CAMERAS], words, small)
    shapes += target_names(data.objects, frame, words, small)
    return shapes + title + notes


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
    shapes += fill + outline_shapes(data.objects, frame, False)[1] + lines
    title = words.put(
        "Side", frame.width - 12, 12 + cap_height_px(small + 2), small + 2, "right", "bold", True
    )
    ruler = ruler_bar(frame, scale, words)
    for jump in data.jumps:
        shapes += jump_arrow(frame.side(np.array([jump.start[::2], jump.end[::2]])), scale)
    if data.height_m and not any(t.role == "subject" for t in data.objects):
        foot, head = frame.side(np.array([data.foot[::2], (data.foot[0], data.foot[2] + data.height_m)]))
        shapes.append(Line((foot, head), 5.0, INK))
        shapes.append(Line((foot, head), 2.6, ROLE_TINT["subject"]))
    shapes += _cameras(those, _long_px(data), scale)
    shapes += stand_names(those[:MOST_CAMERAS], words, small)
    return shapes + title + ruler


def outline_shapes(
    objects: Sequence[PlanObject], frame: PlanFrame, above: bool
) -> tuple[list[Shape], list[Shape]]:
    """The ground, and tinted outlines: big scenery first so that small things lie on it, roles on top."""
    height = frame.plan_height if above else frame.side_height
    whole = frame.width * height
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
        if thing.role == GROUND:
            ground += [Area((ring,), PALE)] if above else []
        elif len(ring) < 3:
            drawn.append(((bool(thing.role), -size), Line(ring, 2.0, tint if thing.role else INK)))
        else:
            opacity = 0.45 if size > 0.3 * whole and not thing.role else 1.0
            drawn.append(((bool(thing.role), -size), Area((ring,), tint, opacity, INK, 1.0)))
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
    few = distinct(cameras)
    faint = 0.75
    far = 4000.0 / frame.scale
    if len(few) > FEW_CAMERAS:  # a thicket of lines says nothing: the first, the last, the chosen
        few = [camera for k, camera in enumerate(few) if k in (0, len(few) - 1) or camera.chosen]
    for camera in few:
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
    """Triangles that point along the heading, each apart from what it lies on, the chosen one white."""
    shapes: list[Shape] = []
    for one in those[:MOST_CAMERAS]:
        way, ink = one.tip - one.at, WHITE if one.chosen else INK
        if float(np.hypot(*way)) < 1.0:
            shapes.append(Disc((one.at[0], one.at[1]), 4.5, ink, INK, 1.5))
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


def ruler_bar(frame: PlanFrame, scale: Scale, words: Words) -> list[Shape]:
    """A bar of a round number of metres at the lower left."""
    metres = next((m for m in (1, 2, 5, 10, 20, 50, 100, 200, 500) if m * frame.scale >= 60), 1000)
    length, y, x = metres * frame.scale, frame.side_height - 14.0, 14.0
    size = scale.page_type(14)
    said = words.put(f"{metres} m", x + length + 8, y + cap_height_px(size) / 2, size, "left", "semibold")
    ends: list[Shape] = [
        Line(((at, y - 4), (at, y + 4)), 1.5, INK, round_ends=False) for at in (x, x + length)
    ]
    return [Line(((x, y), (x + length, y)), 1.5, INK, round_ends=False), *ends, *said]
