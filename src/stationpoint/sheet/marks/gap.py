"""Gaps: a dimension line beside the jump, true length and what it looks like."""

from __future__ import annotations

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
    """The two lines that could be drawn, one on either side of the gap.

    The extra holds take-off, landing, and for the left and the right side in turn: the line's two
    ends, where it seems to end, and the two ends of its ticks.
    """
    found = look.extra("gap", name)
    if found is None or len(found) < 16:
        return []
    return [Rail(p[0], p[1], p[2], p[3:5], p[5:7]) for p in (found[2:9], found[9:16])]


def keep_clear(look: Drawing) -> None:
    """Keep take-off, landing and the corridor between clear of labels and leaders."""
    for gap in look.study.gap:
        found = look.extra("gap", gap.name)
        if found is None:
            continue
        width, height = look.size_px
        sides = rails(look, gap.name)
        if sides:
            left, right = sides
            half = [(found[0] + s.start) / 2 for s in (left, right)] + [(found[1] + s.end) / 2 for s in (right, left)]
            if all(-width < p[0] < 2 * width and -height < p[1] < 2 * height for p in half):
                look.room.keep_hull(half)
        for end in found[:2]:
            if 0 <= end[0] <= width and 0 <= end[1] <= height:
                look.room.keep_disc(end, look.scale.long(8))


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
        spot = rail.ring if _near(rail.ring, box) else rail.start
        if look.room.free(padded(box, 2)):
            look.room.take(padded(box, 4))
            far = float(np.hypot(*(leader_end(spot, box) - spot))) > look.scale.long(34)
            thin: list[Shape] = []
            if far and not look.room.crosses(leader_end(spot, box), leader_end(spot, box)):
                thin = [leader(spot, box, look.scale, look.scale.long(6))]
                look.room.take_line(spot, leader_end(spot, box))
            return [*thin, *set_label(those, box, look.scale)]
    look.unplaced.append(name)
    return []


def _near(spot: Spot, box: Box) -> bool:
    return True


def _boxes(look: Drawing, those: Label, rail: Rail) -> list[Box]:
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
    boxes = [box for box in boxes if look.room.inside(box, margin)]
    return boxes + look.room.calm((w, h), middle, 0.4 * look.size_px[0], margin)


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
    return [(tuple(rail_shapes(rail, scale)), "gap, m: arrow at the true end, ring where it seems to end, read flat")]
