"""Targets: a dot on what is seen of each, with its name; at the edge, an arrow to those outside."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from itertools import tee
from math import copysign, hypot
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK, WHITE
from stationpoint.ink import Box, Disc, Line, Shape
from stationpoint.sheet.marks import subject, twin
from stationpoint.sheet.marks.drawing import (
    Drawing,
    Entry,
    Label,
    Place,
    leader,
    meeting,
    padded,
    set_label,
)
from stationpoint.sheet.marks.edge import SIDES, edge_arrow, name_label, off_arrow
from stationpoint.sheet.marks.free_space import BLOCK, Blocks
from stationpoint.sheet.reserved import wholly_covered
from stationpoint.sheet.roles import showing
from stationpoint.sheet.scale import Scale
from stationpoint.study import Target

NAME, LAYER = "targets", 70
RADIUS = {"primary": 4.4, "secondary": 3.6, "tertiary": 2.4}
ORDER = ("primary", "secondary", "tertiary")
# From the dot outwards to the nearer end of the name; last straight up or down, then back inwards.
AWAY = ((21, 12), (23, 0), (27, 20), (14, 24), (34, 34), (0, 26), (-14, 24), (-34, 34))
CORNERS = tuple(np.array(c) for c in ((1.0, -1.0), (1.0, 1.0), (-1.0, -1.0), (-1.0, 1.0)))
SIDEWAYS = tuple(np.array(c) for c in ((1.0, 0.0), (-1.0, 0.0), (0.0, -1.0)))
OUTWARDS = np.array([1e-9, -1e-9])  # a side has the corner above or right of it as its direction
SECOND_PX = twin.APART + twin.RADIUS + 2.0  # from a dot past its second dot
CLEAR_PX = 9.0  # round a dot: with less its leader could not get out between other words
SMALL_PX, BESIDE_PX, FEW_BLOCKS = 26.0, 13.0, 40
Spot = NDArray[np.float64]


class Try(NamedTuple):
    """Where a name could go: its box, and from where to where its leader runs."""

    place: Place
    box: Box
    begin: tuple[float, float]
    end: tuple[float, float]


def claim(look: Drawing) -> None:
    """Where the dots go, primary targets first so that they get the best room."""
    under = wholly_covered(look.result, look.study)
    for number, target in sorted(enumerate(look.study.target), key=lambda pair: ORDER.index(pair[1].role)):
        if off_side(look, target) is None:
            spots, hidden = _spots(look, number, target)
            if spots:
                look.places[target.name] = (_first_free(look, spots), hidden or target.name in under)


def draw(look: Drawing) -> list[Shape]:
    """Dots, names and arrows, primary targets first. What is hidden lies behind the subject if that is
    what hides it."""
    ordered = sorted(look.study.target, key=lambda target: ORDER.index(target.role))
    arrows: list[Shape] = []
    behind: list[Shape] = []
    names: list[Shape] = []
    dots: list[Shape] = []
    for target in ordered:
        side = off_side(look, target)
        if side is not None:
            centre = look.extra("target", target.name)
            towards = None if centre is None else centre[0]
            arrows += edge_arrow(look, look.said(target.name), side, towards)
    under = wholly_covered(look.result, look.study)
    for target in ordered:
        if target.name not in look.places:
            continue
        places, hidden = look.places[target.name]
        covered = target.name in under
        mark, words = _named(look, target, places, hidden, covered)
        if hidden and not covered:
            behind += mark + words
        else:
            dots += mark
            names += words
    return arrows + behind + (subject.pasted(look) if behind else []) + names + dots


def _first_free(look: Drawing, spots: list[Place]) -> list[Place]:
    """The places, the first free one first, its disc kept clear of everybody's names."""
    r = look.scale.long(7)
    dots = enumerate(p.spot.tolist() for p in spots)
    best = next((k for k, (x, y) in dots if look.space.free((x - r, y - r, x + r, y + r))), 0)
    look.space.keep_disc(spots[best].spot, look.scale.long(CLEAR_PX))
    return [spots[best], *spots[:best], *spots[best + 1 :]]


def off_side(look: Drawing, target: Target) -> str | None:
    """The side that a target lies off the picture, None while any of it is on it."""
    found = look.value("targets", target.name, "off_picture")
    if isinstance(found, tuple) and found and isinstance(found[0], str):
        return found[0]
    return found if isinstance(found, str) and found in SIDES else None


def _spots(look: Drawing, number: int, target: Target) -> tuple[list[Place], bool]:
    """Where the dot may go, and whether the target is hidden."""
    width, height = look.size_px
    at, low, high = _visible(look, number, target)
    if len(at):
        if float(np.prod(high - low)) ** 0.5 < look.scale.long(SMALL_PX):
            return _beside(look, low, high), False
        edge = look.scale.long(16)
        calm = (at > edge).all(axis=1) & (at < (width - edge, height - edge)).all(axis=1)
        at = at[calm] if calm.any() else at
        return [Place(at[int(np.argmax(at @ c))], c) for c in CORNERS], False
    outline = look.result.reading.outlines.get(target.name)
    if look.seen is None and outline is not None:
        inner = outline[np.isfinite(outline).all(axis=1)]
        inner = inner[(inner >= 0).all(axis=1) & (inner <= (width, height)).all(axis=1)]
        if len(inner):
            return [Place(inner[int(np.argmax(inner @ c))], c) for c in CORNERS], False
    centre = look.extra("target", target.name)
    if centre is None:
        return [], False
    spot = centre[-1] if len(centre) > 2 else centre[0]  # the midst of what is seen, if anything is
    if not (0 <= spot[0] <= width and 0 <= spot[1] <= height):
        return [], False
    return [Place(spot, c) for c in CORNERS], look.value("targets", target.name, "seen") == 0


def _visible(look: Drawing, number: int, target: Target) -> tuple[Spot, Spot, Spot]:
    """Pixels (n, 2) that show a target, away from its edge where it is wide enough, and the corners of
    the box round all that show it; (0, 2) without ids."""
    nothing = np.zeros((0, 2)), np.zeros(2), np.zeros(2)
    if look.seen is None or look.result.ids is None:
        return nothing
    mine, step = look.seen == number, float(BLOCK)
    rows, columns = _where(mine)
    if len(rows) <= FEW_BLOCKS:  # too small for the coarse grid
        own = [k for k, one in look.owner_by_id.items() if one.target == target.name]
        mine, step = showing(look.result.ids, own), 1.0
        rows, columns = _where(mine)
    if not len(rows):
        return nothing
    low = np.array([columns.min(), rows.min()]) * step
    high = np.array([columns.max() + 1, rows.max() + 1]) * step
    inner = _where(_eroded(mine))
    rows, columns = inner if len(inner[0]) else (rows, columns)
    at: Spot = (np.column_stack([columns, rows]).astype(np.float64) + 0.5) * step
    return at, low, high


def _where(mask: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows and columns of a mask (h, w), as np.nonzero gives them, in a fifth of its time."""
    rows, columns = np.divmod(np.flatnonzero(mask), mask.shape[1])
    return rows, columns


def _beside(look: Drawing, low: Spot, high: Spot) -> list[Place]:
    """Places beside a small target, which a dot on it would cover: outwards from the corners and sides
    of its box, tied to it by a short line."""
    middle, half = (low + high) / 2, (high - low) / 2
    away = look.scale.long(BESIDE_PX)
    places = []
    for out in (*CORNERS, *SIDEWAYS):
        edge = middle + half * out
        spot = edge + out / float(np.hypot(*out)) * away
        margin = look.scale.long(8)
        if look.space.inside((spot[0], spot[1], spot[0], spot[1]), margin):
            places.append(Place(spot, np.sign(out + OUTWARDS), edge))
    return places or [Place(middle, c) for c in CORNERS]


def _eroded(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    inner = mask.copy()
    inner[1:] &= mask[:-1]
    inner[:-1] &= mask[1:]
    inner[:, 1:] &= mask[:, :-1]
    inner[:, :-1] &= mask[:, 1:]
    return inner


def _named(
    look: Drawing, target: Target, places: list[Place], hidden: bool, covered: bool
) -> tuple[list[Shape], list[Shape]]:
    """The dot, and its name with a leader, where there is room for it: rather off the other targets' bodies
    than on one, and rather where it crosses no line. covered: by the interface, which hides it.
    An ambiguous target has a second dot, and the other place in words."""
    other = "" if hidden else twin.other_place(look, target.name)
    state = ", covered" if covered else ", hidden" if hidden else ""
    those = name_label(f"{look.said(target.name)}{state}", look, other)
    scale, space = look.scale, look.space
    found = _placed(look, those, places, _others(look, target), scale.long(SECOND_PX) if other else 0.0)
    if found is None:
        look.unplaced.append(target.name)
        place = places[0]
        towards = place.spot + place.out
        return _dot(look, target, place, hidden, towards if other else None), []
    place, box, spot, end = found.place, found.box, found.place.spot, np.array(found.end)
    space.occupy(padded(box, 4))
    space.take_line(spot, end)
    space.keep_disc(spot, scale.long(7))
    clear = scale.long(SECOND_PX - 1.0 if other else RADIUS[target.role] + 1.5)
    align: Literal["left", "right"] = "right" if box[2] < spot[0] else "left"
    far = float(np.hypot(*(end - spot))) > clear + scale.long(3)
    thin = [leader(spot, box, scale, clear)] if far else []
    shown = _dot(look, target, place, hidden, end if other else None)
    return shown, [*thin, *set_label(those, box, scale, align)]


def _others(look: Drawing, target: Target) -> Blocks | None:
    """Where other targets are seen, None where none is."""
    if look.seen is None:
        return None
    number = next(k for k, one in enumerate(look.study.target) if one.name == target.name)
    others = np.zeros_like(look.space.taken)
    down, across = look.seen.shape
    others[:down, :across] = (look.seen >= 0) & (look.seen != number)
    return others if others.any() else None


def _placed(
    look: Drawing, those: Label, places: list[Place], others: Blocks | None, least_px: float
) -> Try | None:
    """The first try that has room; None if none has. others: blocks that the name rather does not lie on.
    least_px: from the dot to the leader's end."""
    for off in (others, None) if others is not None else (None,):
        for lines, groups in zip((True, False), tee(_tries(look, those, places, off, least_px)), strict=True):
            for tries in groups:
                if not tries:
                    continue
                begins, ends = np.array([one.begin for one in tries]), np.array([one.end for one in tries])
                crossing = look.space.crossing(begins, ends, lines)
                if not crossing.all():
                    return tries[int(np.argmin(crossing))]
    return None


def _tries(
    look: Drawing, those: Label, places: list[Place], off: Blocks | None, least_px: float
) -> Iterator[list[Try]]:
    """What may be tried for a name, all on free ground: beside each place's dot, outwards, one by one; then
    on calm ground farther away, all of a place. off: blocks that it must not lie on. least_px: as of
    `_placed`."""
    space, r = look.space, look.scale.long(7)
    dots = [place.spot.tolist() for place in places]

    @cache
    def is_clear(k: int) -> bool:
        x, y = dots[k]
        return k == 0 or space.free((x - r, y - r, x + r, y + r))

    def tried(k: int, boxes: Iterable[Box], least_px: float) -> list[Try]:
        """Those that are free and whose leaders are long enough."""
        tries, (x, y) = list[Try](), dots[k]
        for box in boxes:
            end = meeting(x, y, box)
            across, down = end[0] - x, end[1] - y
            length = hypot(across, down)
            if length >= least_px and space.free(padded(box, 3)):
                share = min(0.9, 1.5 * r / max(1.0, length))
                tries.append(Try(places[k], box, (x + across * share, y + down * share), end))
        return tries

    for k, box in _beside_dots(look, those, places):
        if space.inside(box, r) and is_clear(k) and not space.over(box, off):
            yield tried(k, [box], least_px)
    rooms = space.rooms((those.width, those.height), r, off)
    for k, dot in enumerate(dots):
        if is_clear(k):
            boxes = space.calmest(rooms, dot, 0.4 * look.size_px[0])
            yield tried(k, boxes, max(least_px, look.scale.long(12)))


def _beside_dots(look: Drawing, those: Label, places: list[Place]) -> Iterator[tuple[int, Box]]:
    """Boxes for a name beside the places' dots, first the nearest ones of each place."""
    scale = look.scale
    w, h = those.width, those.height
    more = scale.long(twin.APART) if len(those.lines) > 1 and twin.NAME in look.wanted else 0.0
    dots = [(*place.spot.tolist(), *place.out.tolist()) for place in places]
    for away_x, away_y in AWAY:
        across, down = scale.long(away_x) + copysign(more, away_x) * (away_x != 0), scale.long(away_y)
        for k, (spot_x, spot_y, out_x, out_y) in enumerate(dots):
            x, y = spot_x + out_x * across, spot_y + out_y * down
            left = x - w / 2 if away_x == 0 else x if out_x * away_x > 0 else x - w
            yield k, (left, y - h / 2, left + w, y + h / 2)


def _dot(look: Drawing, target: Target, place: Place, hidden: bool, second: Spot | None) -> list[Shape]:
    """A target's dot; tied to a small target that it stands beside; with a second dot towards `second`."""
    look.used.add("hidden" if hidden else f"dot {target.role}")
    spot = place.spot
    shapes: list[Shape] = []
    if place.edge is not None:
        tie = np.array([place.edge, spot])
        shapes.append(Line(tie, max(1.0, look.scale.long(1.0)), INK, look.scale.halo))
    if second is not None:
        look.used.add(twin.NAME)
        shapes += twin.second_dot(spot, second, look.scale)
    at = (float(spot[0]), float(spot[1]))
    return [*shapes, *dot(at, "hidden" if hidden else target.role, look.scale)]


def dot(centre: tuple[float, float], role: str, scale: Scale) -> tuple[Shape, ...]:
    """A target's dot: primary a disc, secondary a ring, tertiary a small dot in white; all ringed."""
    if role == "hidden":
        ring = Disc(centre, scale.long(4.0), None, INK, scale.line(1.5), scale.halo)
        return (ring,)
    if role == "primary":
        return (
            Disc(centre, scale.long(6.2), WHITE),
            Disc(centre, scale.long(4.4), INK),
        )
    if role == "secondary":
        return (
            Disc(centre, scale.long(6.0), WHITE),
            Disc(centre, scale.long(3.6), WHITE, INK, scale.line(1.8)),
            Disc(centre, scale.long(1.5), INK),
        )
    return (Disc(centre, scale.long(5.4), WHITE), Disc(centre, scale.long(2.4), INK))


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """The arrow and the hidden ring, where used; the dots stand with the tints."""
    entries: list[Entry] = []
    if "off" in used:
        entries.append((off_arrow((2.0, 10.0), SIDES["left"], scale), "off the picture, that way"))
    if "hidden" in used:
        entries.append((dot((10.0, 10.0), "hidden", scale), "hidden or covered target: where it is"))
    return entries
