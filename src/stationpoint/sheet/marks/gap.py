"""Gaps: a dimension line beside the jump, true length and what it looks like."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.ink.figures import arrow_head
from stationpoint.ink.shapes import Box, Disc, Line, Shape
from stationpoint.look import INK, WHITE
from stationpoint.sheet.marks.drawing import (
    Drawing,
    Entry,
    Label,
    leader,
    leader_end,
    padded,
    set_label,
)
from stationpoint.sheet.scale import Scale
from stationpoint.sheet.wording import span_words

NAME, LAYER = "gaps", 40
Spot = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Rail:
    """A gap's dimension line on the picture, pixels: (2,) each.

    start, end: take-off and landing side of the line. ring: where it seems to end. start_tick,
    end_tick: (2, 2) along the edges of the decks.
    """

    start: Spot
    end: Spot
    ring: Spot
    start_tick: NDArray[np.float64]
    end_tick: NDArray[np.float64]


def draw(look: Drawing) -> list[Shape]:
    """A line for each gap whose ends are both before the eye, with its lengths in words."""
    shapes: list[Shape] = []
    for gap in look.study.gap:
        rail = chosen_rail(look, gap.name)
        if rail is None:
            continue
        shapes += rail_shapes(rail, look.scale)
        look.used.add("gap")
        for p, q in ((rail.start, rail.end), rail.start_tick, rail.end_tick, (rail.start, rail.ring)):
            look.room.take_line(p, q)
        look.room.keep_disc(rail.ring, look.scale.long(6))
        shapes += _words(look, gap.name, rail)
    return shapes


def rails(look: Drawing, name: str) -> list[Rail]:
    """The two lines that could be drawn, 1 m to either side of the gap; the gap itself where it has
    no level direction.

    ("gap", NAME) holds take-off, landing and where it seems to end; ("gap", NAME, "sides") the
    line to its left (take-off, seeming end, landing), then the one to its right.
    """
    whole = gap_ends(look, name)
    sides = look.extra("gap", name, "sides")
    if whole is None:
        return []
    if sides is None or len(sides) < 6:
        return [_rail(whole[0], whole[1], whole[2], np.array([5.0, 0.0]), np.array([5.0, 0.0]))]
    found = []
    for start, ring, end in (sides[:3], sides[3:6]):
        found.append(_rail(start, end, ring, 0.36 * (start - whole[0]), 0.36 * (end - whole[1])))
    return found


def gap_ends(look: Drawing, name: str) -> NDArray[np.float64] | None:
    """Take-off, landing and seeming end, (3, 2), None unless all lie before the eye."""
    found = look.take.reading.extras.get(("gap", name))
    if found is None or len(found) < 3 or not np.all(np.isfinite(found[:3])):
        return None
    return found[:3]


def _rail(start: Spot, end: Spot, ring: Spot, first: Spot, last: Spot) -> Rail:
    return Rail(
        start, end, ring, np.array([start - first, start + first]), np.array([end - last, end + last])
    )


def keep_clear(look: Drawing) -> None:
    """Keep take-off, landing and the corridor between clear of labels and leaders."""
    width, height = look.size_px
    for gap in look.study.gap:
        ends = gap_ends(look, gap.name)
        if ends is None:
            continue
        ticks = look.extra("gap", gap.name, "ticks")
        near = ((-width, -height) <= ends).all() and (ends <= (2 * width, 2 * height)).all()
        if ticks is not None and len(ticks) == 4 and near:
            look.room.keep_hull(ticks[[0, 1, 3, 2]])
        for k, end in enumerate(ends[:2]):
            if 0 <= end[0] <= width and 0 <= end[1] <= height:
                half_m = float(np.hypot(*(ticks[2 * k] - ticks[2 * k + 1])) / 2) if ticks is not None else 0.0
                look.room.keep_disc(end, min(max(look.scale.long(5), half_m * 0.6), look.scale.long(40)))


def chosen_rail(look: Drawing, name: str) -> Rail | None:
    """The line on the clearer side: more of it on the picture, less over the subject, calmer ground."""
    best, least = None, np.inf
    for rail in rails(look, name):
        way = rail.start + (rail.end - rail.start) * np.linspace(0.0, 1.0, 24)[:, None]
        width, height = look.size_px
        out = (way < 4).any(axis=1) | (way[:, 0] > width - 4) | (way[:, 1] > height - 4)
        if out[0] and out[-1] and out.all():
            continue
        rows, columns = look.room.along(rail.start, rail.end)
        covered = float(look.room.kept[rows, columns].mean()) if len(rows) else 1.0
        unrest = float(look.room.busy[rows, columns].mean()) if len(rows) else 0.0
        cost = 3.0 * float(out.mean()) + 2.0 * covered + 0.01 * unrest
        if cost < least - 1e-9:
            best, least = rail, cost
    return best


def rail_shapes(rail: Rail, scale: Scale) -> list[Shape]:
    """Solid to the ring, dotted from there to the arrow head, ticks along the decks' edges."""
    width = scale.line(2.6)
    way = rail.end - rail.start
    length = float(np.hypot(*way))
    head = min(scale.long(10), 0.5 * length)
    thin = scale.line(1.5)
    ticks: list[Shape] = [Line(tick, thin, INK, scale.halo) for tick in (rail.start_tick, rail.end_tick)]
    if length < 1.0:
        return ticks
    back = rail.end - way * (head / length)
    flat = float((rail.ring - rail.start) @ way) / length**2
    shapes = list(ticks)
    if flat <= 1.0:
        shapes.append(Line((rail.start, rail.ring), width, INK, scale.halo))
        if float((back - rail.ring) @ way) > 0:
            shapes.append(Line((rail.ring, back), scale.line(1.8), INK, scale.halo, _dots(scale)))
    else:
        shapes.append(Line((rail.start, back), width, INK, scale.halo))
        shapes.append(Line((rail.end, rail.ring), scale.line(1.8), INK, scale.halo, _dots(scale)))
    tip = (float(rail.end[0]), float(rail.end[1]))
    shapes.append(arrow_head(tip, (float(way[0]), float(way[1])), head, scale.long(9), INK))
    ring = (float(rail.ring[0]), float(rail.ring[1]))
    shapes.append(Disc(ring, scale.long(4.0), WHITE, INK, scale.line(1.6)))
    return shapes


def _dots(scale: Scale) -> tuple[float, float]:
    return (scale.long(2.6), scale.long(3.4))


def _words(look: Drawing, name: str, rail: Rail) -> list[Shape]:
    true, flat = look.value("gaps", name, "true_span_m"), look.value("gaps", name, "flat_span_m")
    if not isinstance(true, float | int):
        return []
    big, small = look.scale.type(16), look.scale.type(14)
    lines = [(span_words(float(true)), big, "bold")]
    if isinstance(flat, float | int):
        lines.append((f"looks {span_words(float(flat))}", small, "semibold"))
    those = Label(tuple(lines))  # type: ignore[arg-type]
    for box in _boxes(look, those, rail):
        spot = rail.ring
        if look.room.free(padded(box, 2)):
            look.room.take(padded(box, 4))
            end = leader_end(spot, box)
            thin: list[Shape] = []
            if float(np.hypot(*(end - spot))) > look.scale.long(40):
                thin = [leader(spot, box, look.scale, look.scale.long(6))]
                look.room.take_line(spot, end)
            return [*thin, *set_label(those, box, look.scale)]
    look.unplaced.append(name)
    return []


def _boxes(look: Drawing, those: Label, rail: Rail) -> Iterator[Box]:
    """Boxes for the lengths: under, beside and over the line, then calm ground near."""
    w, h, scale = those.width, those.height, look.scale
    gap, margin = scale.long(12), scale.long(6)
    middle = (rail.start + rail.end) / 2
    tries = []
    for spot in (middle, rail.start, rail.end, rail.ring):
        x, y = float(spot[0]), float(spot[1])
        tries += [
            (x + gap, y + gap * 0.6),
            (x + gap, y - h - gap * 0.6),
            (x - gap - w, y + gap * 0.6),
            (x - gap - w, y - h - gap * 0.6),
        ]
        if spot is middle:
            tries += [(x - w / 2, y + gap), (x + gap * 1.6, y - h / 2), (x - gap * 1.6 - w, y - h / 2)]
    boxes: list[Box] = [(x, y, x + w, y + h) for x, y in tries]
    near = [box for box in boxes if look.room.inside(box, margin)]
    yield from sorted(near, key=lambda box: look.room.covering(box) > 0.15)
    yield from look.room.calm((w, h), middle, 0.4 * look.size_px[0], margin)


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """The line in small."""
    if "gap" not in used:
        return []
    y = 10.0
    rail = Rail(
        np.array([3.0, y]),
        np.array([53.0, y]),
        np.array([25.0, y]),
        np.array([[3.0, y - 7], [3.0, y + 7]]),
        np.array([[53.0, y - 7], [53.0, y + 7]]),
    )
    return [
        (
            tuple(rail_shapes(rail, scale)),
            "gap, m: arrow at the true end, ring where it seems to end, read flat",
        )
    ]
