"""What a study says against what its scene is: legal, drawn, and most likely not what was meant.

Each check is a function in MEANINGS and says one sentence a finding, with the likely mend. What needs the
cameras is told by setup_notes and warnings.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from math import cos, hypot, pi, sin
from typing import NamedTuple

from stationpoint.base.allowed import quoted_value
from stationpoint.base.words import plain
from stationpoint.run.spots import scene_at
from stationpoint.scene import Level, Scene, floor_under, free_distance_m, levels_at
from stationpoint.study import HERE, Gap, Place, Study, body_height_m

Point = tuple[float, float, float]

STANDS = 0.03  # of the body's height: a foot no farther from a level stands on it
HEADROOM = 0.97  # of the body's height that must be free above its foot
HAND_M, ON_EDGE_M = 0.1, 0.01  # an edge this near to a landing is told; one this near is landed on
WAYS = 16  # in which an edge is looked for
DROP_M = 0.3  # lower than that beside a level, and its edge is one
BESIDE_M = 1.0  # a level that a landing misses by no more is the one that it is written on
TALL_M = 200.0  # levels are less high
DOOR, DOOR_M = "door", 20.0  # and doors than that
CENTI, MILLI = 0.01, 0.001


class _Stand(NamedTuple):
    """Where the subject stands at a place. scene: as the place moves it."""

    of: str
    foot: Point
    scene: Scene
    but: tuple[str, ...]
    tall_m: float


def unlikely_meanings(study: Study, scene: Scene) -> tuple[str, ...]:
    """A sentence for each thing that is likely a slip. study: with plain coordinates. scene: as read."""
    return tuple(dict.fromkeys(line for check in MEANINGS for line in check(study, scene)))


def wrong_unit(study: Study, scene: Scene) -> Iterator[str]:
    """A door of tens of metres, or a level of hundreds."""
    things = [node for node in scene.nodes if node.kind != "ground"]
    doors = [node for node in things if DOOR in node.name.lower()]
    tall = [(float(node.bounds[1, 1] - node.bounds[0, 1]), node) for node in doors]
    high, door = max(tall, key=lambda one: one[0], default=(0.0, None))
    if door is not None and high >= DOOR_M:
        yield f"{quoted_value(door.name)} is {plain(high, 1)} m high; {_unit(high / 2.1, door.kind)}."
        return
    low, top = scene.bounds([node.name for node in things] or None)[:, 1].tolist()
    if top - low >= TALL_M:
        kind = "mesh" if any(node.kind == "mesh" for node in things) else "box"
        yield f"the level is {plain(top - low, 0)} m high; {_unit((top - low) / 10, kind)}."


def _unit(times: float, kind: str) -> str:
    scale, unit = (MILLI, "millimetres") if times >= 500 else (CENTI, "centimetres")
    mend = f"give its mesh scale = {scale:g}" if kind == "mesh" else "write its sizes in metres"
    return f"if that is in {unit}, {mend}"


def off_its_floor(study: Study, scene: Scene) -> Iterator[str]:
    """The subject's foot over or under the level that it is nearest to."""
    for stand in _stands(study, scene):
        found = _nearest_level(stand.scene, stand.foot, stand.but)
        if found is None:
            yield f"nothing level lies under the foot of {stand.of}; move it over a floor."
        elif off := _off(found, stand.foot, study, scene):
            yield f"the foot of {stand.of} is {off}; {_on(found, stand.foot, 'at')} stands on it."


def cramped(study: Study, scene: Scene) -> Iterator[str]:
    """A subject that is higher than what is free above its foot."""
    for stand in _stands(study, scene):
        found = _nearest_level(stand.scene, stand.foot, stand.but)
        if found is None or _off(found, stand.foot, study, scene) or found.free_m >= HEADROOM * stand.tall_m:
            continue
        under = _ceiling(stand)
        yield (
            f"{stand.of} is {plain(stand.tall_m, 2)} m high, and {plain(found.free_m, 2)} m is free above "
            f"its foot{under}; lower its height_m, or move it."
        )


def takeoff_in_the_air(study: Study, scene: Scene) -> Iterator[str]:
    """A take-off that lies on nothing."""
    for gap in study.gap:
        found = _nearest_level(scene, gap.from_, _own(study))
        said = f"gap {quoted_value(gap.name)}: its take-off"
        if found is None:
            yield f"{said} has nothing level under it; move it over what is jumped from."
        elif off := _off(found, gap.from_, study, scene):
            yield f"{said} is {off}; {_on(found, gap.from_, 'from')} stands on it."


def landing_beside(study: Study, scene: Scene) -> Iterator[str]:
    """A landing that lies on something else than it is written on, or within it."""
    for gap in study.gap:
        found = _landing(gap, study, scene)
        said = f"gap {quoted_value(gap.name)}:"
        if found is None and gap.landing is not None:
            yield (
                f"{said} its landing is not over {quoted_value(gap.landing)}; move it there, "
                "or take `landing` out."
            )
        elif found is not None and (off := _off(found, gap.to, study, scene)):
            high = gap.to[1] - found.y_m
            meant = _written_on(gap, scene, study) if high > 0 else None
            if meant is None:
                yield f"{said} its landing is {off}; {_on(found, gap.to, 'to')} lies on it."
            else:
                name, away = meant
                yield (
                    f"{said} it lands on {quoted_value(found.node)}, {plain(high, 2)} m below the "
                    f"{quoted_value(name)} that it is written on; move it by {plain(max(away, 0.01), 2)} m."
                )


def landing_near_an_edge(study: Study, scene: Scene) -> Iterator[str]:
    """A landing within a hand of an edge; the lip that faces the take-off is one to land on."""
    for gap in study.gap:
        found = _landing(gap, study, scene)
        if found is None or _off(found, gap.to, study, scene):
            continue
        at = (gap.to[0], found.y_m, gap.to[2])
        ways = [(sin(2 * pi * k / WAYS), cos(2 * pi * k / WAYS)) for k in range(WAYS)]
        lip = [way for way in ways if _falls(scene, at, way, ON_EDGE_M, _own(study))]
        out = (sum(way[0] for way in lip), sum(way[1] for way in lip))
        if out[0] * (gap.from_[0] - at[0]) + out[1] * (gap.from_[2] - at[2]) > 0:
            ways = [way for way in ways if way[0] * out[0] + way[1] * out[1] < -1e-9]
        if any(_falls(scene, at, way, HAND_M, _own(study)) for way in ways):
            yield (
                f"gap {quoted_value(gap.name)}: its landing is within {HAND_M:g} m of an edge of "
                f"{quoted_value(found.node)}; put it where feet would land, or on the lip that faces the "
                "take-off."
            )


def same_places(study: Study, scene: Scene) -> Iterator[str]:
    """Places at which all is as at another."""
    known: dict[object, str] = {}
    subject = study.subject
    for place in study.places:
        own = (None, 0.0) if subject is None else (subject.at, subject.heading_deg)
        at, heading = place.at or own[0], own[1] if place.heading_deg is None else place.heading_deg
        said = place.said()
        more = {key: value for key, value in said.items() if key not in ("name", "at", "heading_deg")}
        all_of_it = repr((at, round(heading % 360.0, 4), sorted(more.items())))
        first = known.setdefault(all_of_it, place.name)
        if first != place.name:
            yield (
                f"the places {quoted_value(first)} and {quoted_value(place.name)} are the same; "
                "change one, or take it out."
            )


Check = Callable[[Study, Scene], Iterator[str]]
MEANINGS: Sequence[Check] = (
    wrong_unit,
    off_its_floor,
    cramped,
    takeoff_in_the_air,
    landing_beside,
    landing_near_an_edge,
    same_places,
)


def _own(study: Study) -> tuple[str, ...]:
    """The subject, on which nothing stands: its node, or its stand-in where that is in the scene."""
    subject = study.subject
    return () if subject is None else (subject.node or subject.name,)


def _stands(study: Study, scene: Scene) -> Iterator[_Stand]:
    """Where the subject stands, place by place; each spot in each state of the scene once."""
    subject = study.subject
    if subject is None:
        return
    seen: set[object] = set()
    for place in study.places:
        there = scene_at(place, scene)
        own = subject.at if subject.node is None else _foot(there, subject.node)
        foot = place.at or own
        tall_m = body_height_m(study, scene, place)
        key = (foot, tall_m, tuple(sorted(place.move.items())))
        if foot is not None and key not in seen:
            seen.add(key)
            yield _Stand(_called(subject.name, place), foot, there, _own(study), tall_m)


def _called(subject: str, place: Place) -> str:
    return (
        quoted_value(subject)
        if place.name == HERE
        else f"{quoted_value(subject)} at {quoted_value(place.name)}"
    )


def _foot(scene: Scene, name: str) -> Point:
    x, y, z = scene.node(name).foot.tolist()
    return x, y, z


@lru_cache(maxsize=1024)
def _nearest_level(scene: Scene, point: Point, but: tuple[str, ...]) -> Level | None:
    """The level on the upright line through a point that is nearest to it; of two, the lower one."""
    levels = list(levels_at(scene, point[0], point[2], but))
    return min(reversed(levels), key=lambda level: abs(level.y_m - point[1]), default=None)


def landed_node(gap: Gap, study: Study, scene: Scene) -> str | None:
    """The node that a gap lands on; None over a void."""
    found = _landing(gap, study, scene)
    return found and found.node


def _landing(gap: Gap, study: Study, scene: Scene) -> Level | None:
    """The level under a landing: of the node that it names, if it names one."""
    if gap.landing is None:
        return _nearest_level(scene, gap.to, _own(study))
    return _nearest_level(scene, gap.to, tuple(n.name for n in scene.nodes if n.name != gap.landing))


def _off(level: Level, point: Point, study: Study, scene: Scene) -> str:
    """How far a point is over or under a level, in words; "" if it lies on it."""
    over = point[1] - level.y_m
    if abs(over) <= STANDS * body_height_m(study, scene):
        return ""
    return f"{plain(abs(over), 2)} m {'over' if over > 0 else 'under'} {quoted_value(level.node)}"


def _on(level: Level, point: Point, key: str) -> str:
    return f"{key} = [{', '.join(_written(one) for one in (point[0], level.y_m, point[2]))}]"


def _written(value: float) -> str:
    """A coordinate as a file would have it."""
    return f"{round(value, 3) + 0.0:g}"


def _ceiling(stand: _Stand) -> str:
    """What is above a foot, in words; "" where that has no name."""
    x, y, z = stand.foot
    up = {
        node.name: free_distance_m(Scene((node,)), (x, y + 0.01, z), (0.0, 1.0, 0.0))
        for node in stand.scene.nodes
        if node.name not in stand.but
    }
    name = min(up, key=lambda one: up[one])
    return f", under {quoted_value(name)}" if up[name] < float("inf") else ""


def _written_on(gap: Gap, scene: Scene, study: Study) -> tuple[str, float] | None:
    """The node with its top at a landing's height that it misses by little, and by how much, metres."""
    slack = STANDS * body_height_m(study, scene)
    found: list[tuple[float, str]] = []
    for node in scene.nodes:
        low, high = node.bounds.tolist()
        away = hypot(
            max(low[0] - gap.to[0], gap.to[0] - high[0], 0.0),
            max(low[2] - gap.to[2], gap.to[2] - high[2], 0.0),
        )
        if abs(high[1] - gap.to[1]) <= slack and away <= BESIDE_M and node.name not in _own(study):
            found.append((away, node.name))
    return (min(found)[1], min(found)[0]) if found else None


def _falls(scene: Scene, at: Point, way: tuple[float, float], away: float, but: tuple[str, ...]) -> bool:
    """Whether there is a drop that far from a point on a level."""
    names = [node.name for node in scene.nodes if node.name not in but]
    beside = (at[0] + way[0] * away, at[1] + DROP_M, at[2] + way[1] * away)
    below = floor_under(scene, beside, names)
    return below is None or at[1] - below > DROP_M
