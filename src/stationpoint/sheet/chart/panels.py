"""Lines in panels: which stand in one, the worst over places, and how each is told from its neighbours."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from stationpoint.base.words import listed
from stationpoint.sheet.chart.series import WHOSE, Chart, Series

MOST_LINES, MOST_PANELS, MOST_NAMED_PLACES = 12, 12, 5
# Worst first: where such a word stands on the upright axis.
LADDERS = (
    ("lies", "unseen", "close call", "needs a cue", "sure"),
    ("none", "size only", "place"),
    ("misleads", "absent", "weak", "reads"),
    ("same", "unanchored", "weakly told", "told", "no plausible twin"),
    ("false", "true"),
)
PLACE = "place"
Value = float | str | None


class Line(NamedTuple):
    """A line as it is drawn. head, rest: its name in two parts. weight: "usual", "thin" of one place among
    several, "bold" of the worst of them. at: the place that each value is of, for the bold one."""

    head: str
    rest: str
    values: tuple[Value, ...]
    limits: tuple[int, ...]
    fails: tuple[bool, ...]
    weight: str = "usual"
    at: tuple[str, ...] = ()

    @property
    def named(self) -> bool:
        """Whether a name stands at its end."""
        return bool(self.head or self.rest)


class Panel(NamedTuple):
    """A small chart of its own: what its lines have in common, its lines, how many more there are."""

    title: str
    lines: tuple[Line, ...]
    more: int = 0


def ladder(chart: Chart) -> tuple[str, ...]:
    """The words of the upright axis, worst lowest; none where some readings are numbers."""
    values = [value for line in chart.lines for value in line.values]
    said = [value for value in values if isinstance(value, str)]
    if not said or any(isinstance(value, float) for value in values):
        return ()
    for words in LADDERS:
        if set(said) <= set(words):
            return words
    return tuple(sorted(set(said)))


def panels_of(chart: Chart) -> tuple[list[Panel], list[str]]:
    """The panels of a chart, and the titles of those that find no room.

    Lines of several places go to one panel for all that differs otherwise, with the worst of them in bold.
    More than MOST_LINES others are divided by whose they are, else by what else tells them apart.
    """
    kinds = list(dict.fromkeys(kind for line in chart.lines for kind, _ in line.parts))
    by: list[str] = []
    if PLACE in kinds:
        by = [kind for kind in kinds if kind != PLACE]
    else:
        order = sorted(kinds, key=lambda kind: (kind != WHOSE, kind != "reading", kinds.index(kind)))
        while _largest(chart.lines, by) > MOST_LINES and order:
            by.append(order.pop(0))
    panels = []
    for title, lines in _divided(chart.lines, by).items():
        named = [_line(line, [kind for kind in kinds if kind not in by]) for line in lines]
        if PLACE in kinds and len(lines) > 1:
            panels.append(Panel(title, _over_places(chart, lines, named)))
        else:
            panels.append(Panel(title, tuple(named[:MOST_LINES]), len(named[MOST_LINES:])))
    if len(panels) > 1:
        panels = [_titled(panel) for panel in panels]
    return panels[:MOST_PANELS], [panel.title for panel in panels[MOST_PANELS:]]


def _titled(panel: Panel) -> Panel:
    """A panel among others: the name of its bold line goes to its title, so that its lines have the room."""
    bold = [line for line in panel.lines if line.weight == "bold"]
    lines = tuple(line._replace(head="") if line.weight == "bold" else line for line in panel.lines)
    return panel._replace(title=": ".join([panel.title, *(line.head for line in bold)]), lines=lines)


def _divided(lines: Sequence[Series], by: Sequence[str]) -> dict[str, list[Series]]:
    found: dict[str, list[Series]] = {}
    for line in lines:
        words = dict(line.parts)
        title = ", ".join(words[kind] for kind in by if words.get(kind))
        found.setdefault(title, []).append(line)
    return found


def _largest(lines: Sequence[Series], by: Sequence[str]) -> int:
    return max(map(len, _divided(lines, by).values()), default=0)


def _line(line: Series, kinds: Sequence[str]) -> Line:
    """A line with its name in two: whose it is, or else the first of what tells it apart; and the rest."""
    words = {kind: word for kind, word in line.parts if kind in kinds}
    first = WHOSE if WHOSE in words else next(iter(words), "")
    head = words.pop(first, "" if line.parts else line.label)
    return Line(head, ", ".join(words.values()), line.values, line.limits, line.fails)


def _over_places(chart: Chart, lines: Sequence[Series], named: Sequence[Line]) -> tuple[Line, ...]:
    """Thin lines of places, unnamed where there are many, and the worst over them in bold."""
    thin = [line._replace(weight="thin") for line in named]
    if len(lines) > MOST_NAMED_PLACES:
        thin = [line._replace(head="", rest="") for line in thin]
    words, places = ladder(chart), [dict(line.parts).get(PLACE, "") for line in lines]
    limits = sorted({number for line in lines for number in line.limits})
    if words and words not in LADDERS and not limits:
        return tuple(thin)  # words of which none is known to be the worse
    values: list[Value] = []
    fails, at = [], []
    for k in range(len(chart.settings)):
        there = [
            (_badness(chart, limits, words, line.values[k]), -n)
            for n, line in enumerate(lines)
            if line.values[k] is not None and (words or isinstance(line.values[k], float))
        ]
        if there:
            n = -max(there)[1]
            fails.append(bool(lines[n].fails) and lines[n].fails[k])
            values.append(lines[n].values[k])
            at.append(places[n])
        else:
            values.append(None)
            fails.append(False)
            at.append("")
    which = "worst" if words or limits else "lowest"
    name = f"{which} of {len(lines)} places"
    return (*thin, Line(name, "", tuple(values), tuple(limits), tuple(fails), "bold", tuple(at)))


def _badness(chart: Chart, limits: Sequence[int], words: Sequence[str], value: Value) -> float:
    """How bad a value is: how far beyond the limits, or how low where there are none."""
    if isinstance(value, str):
        return -float(words.index(value))
    if value is None:
        return -float("inf")
    beyond = []
    for number in limits:
        limit = chart.limits[number][0]
        beyond += [limit.min - value] if limit.min is not None else []
        beyond += [value - limit.max] if limit.max is not None else []
        beyond += [abs(value - float(limit.is_))] if isinstance(limit.is_, int | float) else []
    return max(beyond) if beyond else -value


def same_lines(lines: Sequence[Line]) -> list[tuple[int, list[tuple[str, str]]]]:
    """Lines that are one on the chart, by the number of the first, with all their names.

    Names with the same rest are listed in one: "perspective" of crate and ledge is ("crate and ledge",
    "perspective"); with the same head, their rests.
    """
    alike: dict[tuple[object, ...], list[int]] = {}
    for k, line in enumerate(lines):
        if any(value is not None for value in line.values) and (line.named or line.weight != "thin"):
            alike.setdefault((line.weight, line.values, line.fails), []).append(k)
    result = []
    for numbers in alike.values():
        rests: dict[str, list[str]] = {}
        for k in numbers:
            rests.setdefault(lines[k].head, []).append(lines[k].rest)
        heads: dict[str, list[str]] = {}
        for head, those in rests.items():
            heads.setdefault(listed(one for one in those if one), []).append(head)
        result.append((numbers[0], [(listed(names), rest) for rest, names in heads.items()]))
    return result
