"""Gaps: a dimension line beside the jump, true length and what it looks like."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK, WHITE
from stationpoint.ink import Disc, Line, Shape, arrow_head
from stationpoint.sheet.marks.drawing import (
    Drawing,
    Entry,
)
from stationpoint.sheet.scale import Scale
from stationpoint.sheet.wording import gap_spans
from stationpoint.study import Study

NAME, LAYER = "gaps", 40
GROUND_ARM = 5.0
Spot = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Rail:
    """A gap's dimension line on the picture, pixels: (2,) each.

    start, end: take-off and landing side of the line. ring: where it seems to end. start_tick,
    end_tick: (2, 2) along the edges of the decks. ground: where it would end if both ends stood on one
    level, None where that is one of the others.
    """

    start: Spot
    end: Spot
    ring: Spot
    start_tick: NDArray[np.float64]
    end_tick: NDArray[np.float64]
    ground: Spot | None = None


def draw(look: Drawing) -> list[Shape]:
    """A line for each gap whose ends are both before the eye, with its lengths in words."""
    shapes: list[Shape] = []
    for gap in look.study.gap:
        rail = chosen_rail(look, gap.name)
        if rail is None:
            continue
        rail = replace(rail, ground=_ground_end(look, gap.name, rail))
        shapes += rail_shapes(rail, look.scale)
        look.used.update({"gap"} if rail.ground is None else {"gap", "gap ground"})
        for p, q in (rail.start_tick, rail.end_tick, (rail.start, rail.ring)):
            look.space.take_line(p, q)
    return shapes


@lru_cache(maxsize=8)
def rails(look: Drawing, name: str) -> list[Rail]:
    """The two lines that could be drawn, at most a mark's length to either side of the gap; the gap
    itself where it has no level direction.

    ("gap", NAME) holds take-off, landing and where it seems to end; ("gap", NAME, "sides") the
    line to its left (take-off, seeming end, landing), then the one to its right.
    """
    whole = gap_ends(look, name)
    sides = look.extra("gap", name, "sides")
    if whole is None:
        return []
    if sides is None or len(sides) < 6:
        arm = np.array([[-6.0, 0.0], [6.0, 0.0]])
        return [Rail(whole[0], whole[1], whole[2], whole[0] + arm, whole[1] + arm)]
    level = look.value("gaps", name, "level_span_m")
    off = min(1.0, max(0.3, 0.45 * level / look.mark_m)) if isinstance(level, float | int) else 1.0
    found = []
    for side in (-1.0, 1.0):
        start, ring, end = (
            beside(sides[k], whole[j], sides[3 + k], side * off) for k, j in ((0, 0), (1, 2), (2, 1))
        )
        half = 0.36 * off * side
        first, last = (
            np.array([beside(sides[k], whole[j], sides[3 + k], side * off + d) for d in (-half, half)])
            for k, j in ((0, 0), (2, 1))
        )
        found.append(Rail(start, end, ring, first, last))
    return found


def beside(left: Spot, middle: Spot, right: Spot, across: float) -> Spot:
    """Where a point lies that is `across` steps to the right of `middle`, given one to its left and right.

    Exact in perspective: along a line, s = a t / (1 + c t). Worked: 100 px to the left and 50 to
    the right: c 1/3, a 66.7, so half a step to the right is 28.6 px.
    """
    one, other = float(np.hypot(*(left - middle))), float(np.hypot(*(right - middle)))
    if one + other < 1e-9:
        return middle
    c = (one - other) / (one + other)
    a = other * (1.0 + c)
    way = (right - left) / max(float(np.hypot(*(right - left))), 1e-9)
    place: Spot = middle + way * (a * across / max(1e-3, 1.0 + c * across))
    return place


def gap_ends(look: Drawing, name: str) -> NDArray[np.float64] | None:
    """Take-off, landing and seeming end, (3, 2), None unless all lie before the eye."""
    found = look.result.reading.extras.get(("gap", name))
    if found is None or len(found) < 3 or not np.all(np.isfinite(found[:3])):
        return None
    return found[:3]


def _ground_end(look: Drawing, name: str, rail: Rail) -> Spot | None:
    """Where the line would end if it were as long as the gap seems on one level; None if that is no
    other length, or off the picture."""
    spans = gap_spans(look.result, name)
    values = [look.value("gaps", name, f"{kind}_span_m") for kind in ("true", "flat", "ground")]
    if spans is None or not spans[2] or not all(isinstance(v, float | int) for v in values):
        return None
    true, flat, ground = (float(v) for v in values if isinstance(v, float | int))
    ratio = look.value("gaps", name, "scale_ratio")
    shrinks = float(ratio) if isinstance(ratio, float | int) else 1.0
    way = rail.end - rail.start
    length = float(np.hypot(*way))
    reached = float((rail.ring - rail.start) @ way) / max(length, 1e-9) ** 2
    if reached < flat / true - 1e-9:  # the landing is the nearer end
        shrinks = 1.0 / shrinks
    place: Spot = rail.start + way * along_share(ground / true, shrinks)
    width, height = look.size_px
    return place if 0 <= place[0] <= width and 0 <= place[1] <= height and ground > 0 else None


def along_share(true_share: float, shrinks: float) -> float:
    """Share of a drawn line at which `true_share` of the line in space is drawn, when its far end is
    drawn `shrinks` times smaller than its near end: s = shrinks t / (1 + (shrinks - 1) t).

    Worked: half way along a line whose end is drawn at half scale: 2 / 3.
    """
    under = 1.0 + (shrinks - 1.0) * true_share
    return shrinks * true_share / under if under > 1e-6 else float("inf")


def claim(look: Drawing) -> None:
    """Keep take-off, landing and the corridor between clear of labels and leaders, and of other marks."""
    width, height = look.size_px
    for gap in look.study.gap:
        ends = gap_ends(look, gap.name)
        if ends is None:
            continue
        ticks = look.extra("gap", gap.name, "ticks")
        near = ((-width, -height) <= ends).all() and (ends <= (2 * width, 2 * height)).all()
        if ticks is not None and len(ticks) == 4 and near:
            look.space.keep_hull(ticks[[0, 1, 3, 2]], feet=True)
        for k, end in enumerate(ends[:2]):
            if 0 <= end[0] <= width and 0 <= end[1] <= height:
                half_m = float(np.hypot(*(ticks[2 * k] - ticks[2 * k + 1])) / 2) if ticks is not None else 0.0
                radius = min(max(look.scale.long(5), half_m * 0.6), look.scale.long(40))
                look.space.keep_disc(end, radius, feet=True)
    for gap in look.study.gap:
        rail = chosen_rail(look, gap.name)
        if rail is not None:
            look.space.measure(rail.start, rail.end)
            look.space.keep_disc(rail.ring, look.scale.long(6))


@lru_cache(maxsize=8)
def chosen_rail(look: Drawing, name: str) -> Rail | None:
    """The line on the sheet's side of the gap where it is on the picture, else on the clearer side."""
    costs = rail_costs(look, name)
    wanted = look.sides.get(f"{NAME} {name}")
    side = wanted if wanted in costs else min(costs, key=lambda k: round(costs[k], 9), default=None)
    return None if side is None else rails(look, name)[side]


def clearer_sides(looks: Iterable[Drawing], study: Study) -> dict[str, int]:
    """The side of each gap that is the clearer one over all cells of a sheet, "gaps NAME" -> place in
    `rails`: the one on the picture in most of them, then that with the least cost."""
    totals: dict[str, dict[int, tuple[int, float]]] = {}
    for look in looks:
        for gap in study.gap:
            found = totals.setdefault(f"{NAME} {gap.name}", {})
            for side, cost in rail_costs(look, gap.name).items():
                cells, total = found.get(side, (0, 0.0))
                found[side] = (cells - 1, total + cost)
    return {
        key: min(found, key=lambda side: (found[side][0], round(found[side][1], 9), side))
        for key, found in totals.items()
        if found
    }


def rail_costs(look: Drawing, name: str) -> dict[int, float]:
    """How unclear each of `rails` is, by its place there: off the picture, over the subject, on restless
    ground. Those wholly off the picture are left out."""
    costs: dict[int, float] = {}
    for side, rail in enumerate(rails(look, name)):
        way = rail.start + (rail.end - rail.start) * np.linspace(0.0, 1.0, 24)[:, None]
        width, height = look.size_px
        out = (way < 4).any(axis=1) | (way[:, 0] > width - 4) | (way[:, 1] > height - 4)
        if out[0] and out[-1] and out.all():
            continue
        rows, columns = look.space.along(rail.start, rail.end)
        covered = float(look.space.subject[rows, columns].mean()) if len(rows) else 1.0
        unrest = float(look.space.busy[rows, columns].mean()) if len(rows) else 0.0
        costs[side] = 3.0 * float(out.mean()) + 3.0 * covered + 0.01 * unrest
    return costs


def gap_lines(look: Drawing) -> list[NDArray[np.float64]]:
    """The lines of the gaps that are drawn, (2, 2) px each."""
    if NAME not in look.wanted:
        return []
    found = [chosen_rail(look, gap.name) for gap in look.study.gap]
    return [np.array([rail.start, rail.end]) for rail in found if rail is not None]


def own_rail_first(look: Drawing, name: str) -> list[Rail]:
    """The lines on both sides of a gap, the one that is its dimension line first; none without that."""
    own = chosen_rail(look, name)
    if own is None:
        return []
    return [own, *(rail for rail in rails(look, name) if not np.allclose(rail.start, own.start))]


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
        shapes.append(Line(np.array([rail.start, rail.ring]), width, INK, scale.halo))
        if float((back - rail.ring) @ way) > 0:
            shapes.append(Line(np.array([rail.ring, back]), scale.line(1.8), INK, scale.halo, _dots(scale)))
    else:
        shapes.append(Line(np.array([rail.start, back]), width, INK, scale.halo))
        shapes.append(Line(np.array([rail.end, rail.ring]), scale.line(1.8), INK, scale.halo, _dots(scale)))
    tip = (float(rail.end[0]), float(rail.end[1]))
    shapes.append(arrow_head(tip, (float(way[0]), float(way[1])), head, scale.long(9), INK))
    if rail.ground is not None:
        shapes.insert(0, _ground_tick(rail.ground, rail, scale))
        share = float((rail.ground - rail.start) @ way) / length**2
        if share > max(1.0, flat):  # a tick beyond the line would hang in the air
            ends = np.array([rail.end if flat <= 1.0 else rail.ring, rail.ground])
            shapes.insert(0, Line(ends, scale.line(1.25), INK, scale.halo, _dots(scale), opacity=0.75))
    ring = (float(rail.ring[0]), float(rail.ring[1]))
    shapes.append(Disc(ring, scale.long(4.0), WHITE, INK, scale.line(1.6)))
    return shapes


def _ground_tick(at: Spot, rail: Rail, scale: Scale) -> Line:
    """A short, thin tick across the line, as the landing's tick runs."""
    way = rail.end_tick[1] - rail.end_tick[0]
    if float(np.hypot(*way)) < 1e-6:
        way = (rail.end - rail.start)[::-1] * (1.0, -1.0)
    arm = way / max(float(np.hypot(*way)), 1e-9) * scale.long(GROUND_ARM)
    return Line(np.array([at - arm, at + arm]), scale.line(1.25), INK, scale.halo, opacity=0.75)


def _dots(scale: Scale) -> tuple[float, float]:
    return (scale.long(2.6), scale.long(3.4))


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
    said = "gap, m: arrow at the true end, ring where it seems to end, read flat"
    entries: list[Entry] = [(tuple(rail_shapes(rail, scale)), said)]
    if "gap ground" in used:
        shorter = replace(rail, ring=np.array([13.0, y]), ground=np.array([33.0, y]))
        entries.append((tuple(rail_shapes(shorter, scale)), "thin tick: where it seems to end, if level"))
    return entries
