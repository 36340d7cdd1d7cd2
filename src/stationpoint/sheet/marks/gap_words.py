"""Gaps in words: the true length over what it looks like, placed once all lines have their ground."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stationpoint.ink import Box, Shape
from stationpoint.sheet.marks.drawing import (
    Drawing,
    Entry,
    Label,
    Row,
    leader,
    leader_end,
    padded,
    set_label,
)
from stationpoint.sheet.marks.gap import NAME, Rail, chosen_rail
from stationpoint.sheet.scale import Scale
from stationpoint.sheet.wording import gap_spans

__all__ = ["LAYER", "NAME", "draw", "legend"]

LAYER = 60
MOST_COVERED = 0.15  # of a label, by targets


def draw(look: Drawing) -> list[Shape]:
    """The lengths of each gap that has a line."""
    shapes: list[Shape] = []
    for gap in look.study.gap:
        rail = chosen_rail(look, gap.name)
        shapes += _words(look, gap.name, rail) if rail is not None else []
    return shapes


def _words(look: Drawing, name: str, rail: Rail) -> list[Shape]:
    """A gap's rows beside its line."""
    spans = gap_spans(look.result, name)
    if spans is None:
        return []
    long, flat, ground = spans
    small = look.scale.type(14)
    rows: list[Row] = [(long, look.scale.type(16), "bold")]
    rows += [(f"looks {flat}", small, "semibold")] if flat else []
    rows += [(f"if level {ground}", small, "semibold")] if ground else []
    those = Label(tuple(rows))
    for box in _boxes(look, those, rail):
        if look.space.free(padded(box, 2)):
            look.space.occupy(padded(box, 4))
            way = rail.start + (rail.end - rail.start) * np.linspace(0.0, 1.0, 9)[:, None]
            spot = min(way, key=lambda p: float(np.hypot(*(leader_end(p, box) - p))))
            end = leader_end(spot, box)
            thin: list[Shape] = []
            if float(np.hypot(*(end - spot))) > look.scale.long(30):
                thin = [leader(spot, box, look.scale, look.scale.long(5))]
                look.space.take_line(spot, end)
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
    near = [box for box in boxes if look.space.inside(box, margin)]
    yield from (box for box in near if look.space.covering(box) <= MOST_COVERED)
    calm = look.space.calm((w, h), middle, 0.4 * look.size_px[0], margin)
    yield from (box for box in calm if look.space.covering(box) <= MOST_COVERED)
    yield from near
    yield from calm


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """Nothing: it stands with the line."""
    return []
