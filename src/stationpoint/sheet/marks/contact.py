"""False contacts: surfaces drawn touching that are apart, stitched together; false breaks: the reverse."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import islice, tee
from math import hypot
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK, WHITE
from stationpoint.ink import Area, Box, Line, Shape, box, cap_height_px, cut_text, text_shape, text_width
from stationpoint.readings import Result
from stationpoint.sheet.marks.drawing import Drawing, Entry, label, leader, padded, set_label
from stationpoint.sheet.marks.gap import gap_lines
from stationpoint.sheet.scale import Scale
from stationpoint.sheet.wording import span_words

NAME, LAYER = "contacts", 20
STEP, ACROSS, ALONG = 15.5, 12.0, 9.0  # px from cross to cross, and of a cross
RING = 4.0  # a gap's line and its ring reach so far to either side, px
MOST, MOST_CLOSE = 1, 3  # black labels, and breaks: in a cell, in a close-up
LABEL, LEAD = 16, 1.25
NAME_SHARE = 0.34  # of the picture's width, of each name
Points = NDArray[np.float64]


class Edge(NamedTuple):
    """A border of two surfaces that is drawn otherwise than it is. way: (n, 2) px along it. between: names
    of the two."""

    way: Points
    words: str
    between: tuple[str, str]


def claim(look: Drawing) -> None:
    """Take the ground of the stitches, and place the black labels: they never move for anything."""
    contacts = _contacts(look.result)
    _take(look, contacts)
    placed: list[Shape] = []
    for edge in contacts[: _most(look.close_up)]:
        placed += _black_label(look, edge)
    look.on_top.extend(sorted(placed, key=lambda one: not isinstance(one, Line)))  # leaders under all labels
    _take(look, _breaks(look))


def unlabelled(result: Result, close_up: bool) -> int:
    """How many false contacts are stitched without a word, for the caption."""
    return max(0, len(_contacts(result)) - _most(close_up))


def _most(close_up: bool) -> int:
    return MOST_CLOSE if close_up else MOST


def draw(look: Drawing) -> list[Shape]:
    """A stitched edge for each false contact, a barred one for each false break."""
    contacts = _contacts(look.result)
    shapes = stitches([edge.way for edge in contacts], look.scale, gap_lines(look))
    look.used.update({"false contact"} if contacts else ())
    for edge in _breaks(look):
        shapes += bars(edge.way, look.scale)
        look.used.add("false break")
        look.on_top.extend(_break_words(look, edge))
    return shapes


def edges(result: Result, group: str, one: str, words: str) -> list[Edge]:
    """The false borders of a kind, in the order of the readings (longest first), those on the picture."""
    found = result.reading.values.get((group,))
    if not isinstance(found, tuple):
        return []
    those = []
    for k, entry in enumerate(found):
        way = result.reading.extras.get((one, str(k)))
        if not isinstance(entry, Mapping) or way is None:
            continue
        way = way[np.isfinite(way).all(axis=1)]
        level, height = entry.get("level_m"), entry.get("height_m")
        if len(way) < 2 or not isinstance(level, float | int) or not isinstance(height, float | int):
            continue
        between = str(entry.get("a")), str(entry.get("b"))
        those.append(Edge(way, words.format(span_words(hypot(level, height))), between))
    return those


@lru_cache(maxsize=1)
def _contacts(result: Result) -> list[Edge]:
    return edges(result, "false_contacts", "false_contact", "look joined, are {} apart")


def _breaks(look: Drawing) -> list[Edge]:
    """The false breaks that are drawn: in a cell the widest, in a close-up three."""
    found = edges(look.result, "false_breaks", "false_break", "looks apart, is {} away")
    return found[: _most(look.close_up)]


def _take(look: Drawing, those: Sequence[Edge]) -> None:
    """Take the ground of false borders and of the stitches on them."""
    if not those:
        return
    ways = [edge.way for edge in those]
    reach = look.scale.long(ACROSS / 2 + 1)
    at = evenly(ways, look.scale.long(6))[0]
    look.space.stitch(np.hstack([at - reach, at + reach]))
    look.space.take_lines(np.vstack([way[:-1] for way in ways]), np.vstack([way[1:] for way in ways]))


def evenly(ways: Sequence[Points], step_px: float) -> tuple[Points, NDArray[np.intp]]:
    """Points (n, 2) along ways, `step_px` apart as nearly as whole steps allow, half a step from each way's
    ends, and how many of them each way has. Worked: 100 px in steps of 15.5: six, the first at 8.33 px."""
    corners = np.vstack(ways)
    sizes = np.array([len(way) for way in ways])
    of, nth = _counted(sizes)
    steps = np.zeros((len(ways), sizes.max()))  # to each corner from the one before it, a way a row
    off = corners[1:] - corners[:-1]
    steps[of[1:], nth[1:]] = np.where(nth[1:] > 0, np.hypot(off[:, 0], off[:, 1]), 0.0)
    reached = steps.cumsum(axis=1)[of, nth]
    whole = reached[np.cumsum(sizes) - 1]
    counts = np.maximum(1, np.rint(whole / step_px).astype(np.intp))
    mine, nth = _counted(counts)
    stops = (nth + 0.5) * whole[mine] / counts[mine]
    # The last corner before each stop, of its own way: complex numbers are in order by way, then by length.
    before = np.searchsorted(of + 1j * reached, mine + 1j * stops, side="right") - 1
    after = np.minimum(before + 1, len(corners) - 1)
    run = np.where(reached[after] > reached[before], reached[after] - reached[before], 1.0)
    slope = (corners[after] - corners[before]) / run[:, None]
    return slope * (stops - reached[before])[:, None] + corners[before], counts


def _counted(counts: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Of things that lie one after another, so many of each: which one each is of, and its number there."""
    of = np.repeat(np.arange(len(counts)), counts)
    return of, np.arange(len(of)) - (np.cumsum(counts) - counts)[of]


def _turns(ways: Sequence[Points], at: Points, counts: NDArray[np.intp]) -> Points:
    """Unit directions (n, 2) of ways near the points `at`, smoothed over a cross. counts: of each way's
    points."""
    dense, most = evenly(ways, 3.0)
    of, _ = _counted(counts)
    first, last = (np.cumsum(most) - most)[of], np.cumsum(most)[of] - 1
    near = np.minimum(first[:, None] + np.arange(most.max()), last[:, None])
    k = first + ((dense[near] - at[:, None]) ** 2).sum(axis=2).argmin(axis=1)
    ends = np.array([way[-1] - way[0] for way in ways])[of]
    along = dense[np.minimum(last, k + 4)] - dense[np.maximum(first, k - 4)]
    along = np.where((first == last)[:, None], ends, along)
    sizes = np.hypot(along[:, 0], along[:, 1])
    turned: Points = along / np.maximum(sizes, 1e-9)[:, None]
    return turned


def stitches(ways: Sequence[Points], scale: Scale, lines: Sequence[Points] = ()) -> list[Shape]:
    """White crosses with ink under them on threads of ink, over the whole length; where one meets a gap's
    line the crosses leave that free, unless the line runs along it. lines: (2, 2) px, those of gaps."""
    if not ways:
        return []
    at, counts = evenly(ways, scale.long(STEP))
    of, _ = _counted(counts)
    reach = scale.long(ACROSS / 2 + RING)
    clear = np.array([_off_line(at, line) > reach for line in lines]).reshape(-1, len(at)).all(axis=0)
    clear |= (np.bincount(of[clear], minlength=len(ways)) <= counts / 2)[of]
    at, counts = at[clear], np.bincount(of[clear], minlength=len(ways))
    along = _turns(ways, at, counts)
    across = along[:, ::-1] * (-1.0, 1.0)
    one, other = along * scale.long(ALONG / 2), across * scale.long(ACROSS / 2)
    ends = [at + one + other, at - one - other, at + one - other, at - one + other]
    arms = iter(np.stack(ends, axis=1).reshape(-1, 2, 2).tolist())
    shapes: list[Shape] = []
    for way, count in zip(ways, counts.tolist(), strict=True):
        own = list(islice(arms, 2 * count))
        shapes.append(Line(way.tolist(), scale.line(2.0), INK))
        shapes += [Line(arm, scale.line(5.6), INK) for arm in own]
        shapes += [Line(arm, scale.line(2.5), WHITE) for arm in own]
    return shapes


def bars(way: Points, scale: Scale) -> list[Shape]:
    """The same thread with short bars across it."""
    at, counts = evenly([way], scale.long(STEP))
    across = _turns([way], at, counts)[:, ::-1] * (-1.0, 1.0) * scale.long(ACROSS / 2)
    arms = [np.array([p - a, p + a]) for p, a in zip(at, across, strict=True)]
    under = [Line(arm, scale.line(5.6), INK) for arm in arms]
    return [Line(way, scale.line(2.0), INK), *under, *(Line(arm, scale.line(2.5), WHITE) for arm in arms)]


def _off_line(at: Points, line: Points) -> NDArray[np.float64]:
    """How far points (n, 2) lie from a stroke, px."""
    way = line[1] - line[0]
    shares = np.clip((at - line[0]) @ way / max(float(way @ way), 1e-9), 0.0, 1.0)
    off = line[0] + way * shares[:, None] - at
    found: NDArray[np.float64] = np.hypot(off[:, 0], off[:, 1])
    return found


def black_label(lines: Sequence[str], left: float, top: float, scale: Scale) -> list[Shape]:
    """White words in a box of ink: the only filled black label on a sheet."""
    wide, high = label_size(lines, scale)
    size = scale.type(LABEL)
    first = top + (high - (len(lines) - 1) * LEAD * size + cap_height_px(size)) / 2
    return [
        Area((box(left, top, left + wide, top + high),), INK),
        *(
            text_shape(
                (left + wide / 2, first + k * LEAD * size), words, size, "bold", WHITE, anchor="middle"
            )
            for k, words in enumerate(lines)
        ),
    ]


def label_size(lines: Sequence[str], scale: Scale) -> tuple[float, float]:
    """Width and height of a black label."""
    size = scale.type(LABEL)
    widest = max(text_width(words, size, "bold") for words in lines)
    return widest + 1.4 * size, (1.75 + (len(lines) - 1) * LEAD) * size


def _lines(look: Drawing, edge: Edge) -> tuple[str, str]:
    """What a black label says: both names, cut where they are long, and the distance."""
    size, within = look.scale.type(LABEL), NAME_SHARE * look.size_px[0]
    a, b = (cut_text(name, size, "bold", within) for name in edge.between)
    return f"two parts of {a}" if edge.between[0] == edge.between[1] else f"{a} and {b}", edge.words


def _black_label(look: Drawing, edge: Edge) -> list[Shape]:
    """The label 16 to 24 px under its edge, above it if there is no room, else on calm ground with a
    leader; off all targets if that can be."""
    scale = look.scale
    lines = _lines(look, edge)
    wide, high = label_size(lines, scale)
    margin = scale.long(5)
    size = (wide, high)
    both = zip((True, False), tee(_label_boxes(look, edge.way, size)), strict=True)
    tries = ((beside, one) for beside, boxes in both for one in boxes)
    for beside, (spot, those) in tries:
        if look.space.inside(those, margin) and look.space.free(padded(those, 2), beside):
            look.space.occupy(padded(those, 5))
            shapes = black_label(lines, those[0], those[1], scale)
            away = max(those[0] - spot[0], spot[0] - those[2], those[1] - spot[1], spot[1] - those[3])
            if away <= scale.long(10):
                return shapes
            lead = leader(spot, those, scale, scale.long(8))
            look.space.take_line(lead.points_px[0], lead.points_px[1])
            return [lead, *shapes]
    look.unplaced.append(lines[0])
    return []


def _label_boxes(look: Drawing, way: Points, size: tuple[float, float]) -> Iterator[tuple[Points, Box]]:
    wide, high = size
    scale = look.scale
    dense = evenly([way], scale.long(8))[0]
    width = look.size_px[0]
    margin = scale.long(6)
    along = []  # of some spots: where a label begins, and how high and low the way runs over its width
    for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.08, 0.92):
        spot = dense[min(len(dense) - 1, int(share * len(dense)))]
        left = min(max(float(spot[0]) - wide / 2, margin), width - margin - wide)
        part = dense[(dense[:, 0] > left - 4) & (dense[:, 0] < left + wide + 4), 1]
        part = part if len(part) else spot[1:]
        along.append((spot, left, float(part.min()), float(part.max())))
    for under in (True, False):
        for off in (16.0, 20.0, 24.0):
            gap = scale.long(off)
            for spot, left, first, last in along:
                top = last + gap if under else first - gap - high
                yield spot, (left, top, left + wide, top + high)
    middle = dense[len(dense) // 2]
    for those in look.space.calm(size, middle, 0.6 * width, margin):
        yield dense[int(np.argmin(np.hypot(*(dense - ((those[0] + those[2]) / 2, those[1])).T)))], those


def _break_words(look: Drawing, edge: Edge) -> list[Shape]:
    """A false break's words beside it, in ordinary type."""
    those = label(edge.words, look.scale, look.size_px[0] / 2)
    for _, at in _label_boxes(look, edge.way, (those.width, those.height)):
        if look.space.inside(at, look.scale.long(5)) and look.space.free(padded(at, 2)):
            look.space.occupy(padded(at, 4))
            return list(set_label(those, at, look.scale))
    look.unplaced.append(edge.words)
    return []


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """Both threads in small."""
    way = np.array([[3.0, 10.0], [53.0, 10.0]])
    entries: list[Entry] = []
    if "false contact" in used:
        entries.append((tuple(stitches([way], scale)), "false contact: drawn touching, is apart"))
    if "false break" in used:
        entries.append((tuple(bars(way, scale)), "false break: drawn apart, is within reach"))
    return entries
