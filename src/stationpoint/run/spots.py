"""Where a study meets its scene: points in words become coordinates, and one [[place]] the many it means."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from math import atan2, ceil, degrees, hypot
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.complaints import quoted_value, unknown_word
from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import plain
from stationpoint.scene import Scene, level_at, moved_scene, top_at
from stationpoint.study import FLOOR, TOP, Place, Study, body_height_m, no_node, read_spots

Point = tuple[float, float, float]
Matrix = NDArray[np.float64]

MOST_PLACES = 1000  # that one [[place]] may mean
DECIMALS = 6  # of coordinates that the scene gave
NOWHERE = (0.0, 0.0, 0.0)  # stands for what is complained about


def shifts_at(place: Place, scene: Scene) -> dict[str, Matrix]:
    """World matrices (4, 4) of the nodes that a place's `move` shifts, by name."""
    shifts: dict[str, Matrix] = {}
    for pattern, by in place.move.items():
        for name in scene.matching(pattern):
            shifts.setdefault(name, np.eye(4))[:3, 3] += by
    return shifts


def scene_at(place: Place, scene: Scene) -> Scene:
    """The scene with what a place moves moved; the subject where it was."""
    shifts = shifts_at(place, scene)
    return moved_scene(scene, shifts) if shifts else scene


@dataclass(slots=True)
class _Finder:
    """Words -> coordinates in one scene. but: nodes that nothing stands on. wrong: complaints so far."""

    scene: Scene
    height_m: float
    but: tuple[str, ...]
    wrong: list[str] = field(default_factory=list)

    def find(self, spot: Point, where: str) -> Point:
        """A point's coordinates; a complaint, and any point, where there are none."""
        if isinstance(spot, str):
            return self._node_top(spot, where)
        x, y, z = spot
        level_word: object = y
        if level_word == FLOOR:
            level = level_at(self.scene, x, z, self.height_m, self.but)
            found, lacks = level and level.y_m, f" with {plain(self.height_m)} m free above it"
        elif level_word == TOP:
            found, lacks = top_at(self.scene, x, z, self.but), ""
        else:
            return spot
        if found is None:
            self.wrong.append(
                f"{where} = {quoted_value(spot)}: there is no surface{lacks}; give the height as a number, "
                f"or move it, as towards {quoted_value(self._nearest(x, z))}."
            )
            return NOWHERE
        return x, round(float(found), DECIMALS), z

    def _node_top(self, name: str, where: str) -> Point:
        if name not in self.scene:
            self.wrong.append(no_node(where, name, self.scene))
            return NOWHERE
        low, high = self.scene.node(name).bounds.tolist()
        x, y, z = (low[0] + high[0]) / 2, high[1], (low[2] + high[2]) / 2
        return round(x, DECIMALS), round(y, DECIMALS), round(z, DECIMALS)

    def _nearest(self, x: float, z: float) -> str:
        """The node nearest to an upright line, seen from above, by its bounds."""

        def away(name: str) -> float:
            low, high = self.scene.node(name).bounds
            return hypot(max(low[0] - x, x - high[0], 0.0), max(low[2] - z, z - high[2], 0.0))

        return min((node.name for node in self.scene.nodes if node.name not in self.but), key=away)


def placed_study(study: Study, scene: Scene, folder: Path) -> tuple[Study, list[str]]:
    """The study with plain coordinates and single places alone; and what is wrong with its points.

    folder: what the paths of places count from.
    """
    own = tuple(one.node for one in study.subjects if one.node is not None)
    finder = _Finder(scene, body_height_m(study, scene), own)
    subject = study.subject
    if subject is not None and subject.at is not None:
        subject = _with(subject, at=finder.find(subject.at, "subject: at"))
    others = []
    for one in study.others:
        if one.at is not None:
            where = f"subject {quoted_value(one.name)}: at"
            one = _with(one, at=replace(finder, height_m=one.high_m).find(one.at, where))
        others.append(one)
    targets = tuple(
        target
        if target.at is None
        else _with(target, at=finder.find(target.at, f"target {quoted_value(target.name)}: at"))
        for target in study.target
    )
    gaps = []
    for gap in study.gap:
        where = f"gap {quoted_value(gap.name)}"
        if isinstance(gap.to, str) and gap.landing is None:
            gap = gap.model_copy(update={"landing": gap.to})
        gap = _with(gap, from_=finder.find(gap.from_, f"{where}: from"))
        gaps.append(_with(gap, to=finder.find(gap.to, f"{where}: to")))
    places = tuple(place for entry in study.place for place in _places(entry, finder, folder))
    found = {
        "subject": subject,
        "others": tuple(others),
        "target": targets,
        "gap": tuple(gaps),
        "place": places,
    }
    study = _with(study, **found)
    finder.wrong += _odd_names(places)
    return _asked(study, finder.wrong), finder.wrong


def _with(table: object, **values: object):  # type: ignore[no-untyped-def]
    """A table with other values; itself where they are the same, so that what was said stays so."""
    changed = {key: value for key, value in values.items() if value != getattr(table, key)}
    return table.model_copy(update=changed) if changed else table  # type: ignore[attr-defined]


def _places(place: Place, finder: _Finder, folder: Path) -> Iterator[Place]:
    """The places that one entry means."""
    named = f"place {quoted_value(place.name)}" if place.name else "place"
    tall_m = finder.height_m if place.height_m is None else place.height_m
    there = _Finder(scene_at(place, finder.scene), tall_m, finder.but, finder.wrong)
    if place.nodes is not None:
        found = list(_at_nodes(place, there, named))
    elif place.file is not None:
        found = list(_of_file(place, there, folder))
    elif place.along is not None:
        found = list(_along(place, there, named))
    else:
        found = [place if place.at is None else _with(place, at=there.find(place.at, f"{named}: at"))]
    yield from found


def _one(place: Place, name: str, at: Point, heading_deg: float | None) -> Place:
    """One of the places that an entry means; what else it says holds for each."""
    single = {"nodes": None, "file": None, "along": None, "every_m": None}
    heading = place.heading_deg if heading_deg is None else heading_deg
    return place.model_copy(update={**single, "name": name, "at": at, "heading_deg": heading})


def _named(place: Place, name: str) -> str:
    return f"{place.name} {name}" if place.name else name


def _at_nodes(place: Place, finder: _Finder, named: str) -> Iterator[Place]:
    names = finder.scene.matching(str(place.nodes))
    if not names:
        finder.wrong.append(no_node(f"{named}: nodes", str(place.nodes), finder.scene))
    elif len(names) > MOST_PLACES:
        finder.wrong.append(_too_many(named, "nodes", len(names)))
        return
    for name in names:
        yield _one(place, _named(place, name), finder.find(name, named), None)  # type: ignore[arg-type]


def _of_file(place: Place, finder: _Finder, folder: Path) -> Iterator[Place]:
    try:
        spots = read_spots(folder / str(place.file), f"place: file = {quoted_value(place.file)}")
    except StudyWrong as error:
        finder.wrong.append(error.message)
        return
    if len(spots) > MOST_PLACES:
        finder.wrong.append(_too_many("place", f"file = {quoted_value(place.file)}", len(spots)))
        return
    for spot in spots:
        at = finder.find(spot.at, f"place {quoted_value(spot.name)}: at")
        yield _one(place, _named(place, spot.name), at, spot.heading_deg)


def _along(place: Place, finder: _Finder, named: str) -> Iterator[Place]:
    """Places every so many metres along a line from its first point to its last, both included.

    Between two points that have their height in the same word each place has, too, and the distance is
    level. Each faces along the line unless a heading is said.
    """
    line = place.along or ()
    points = [finder.find(point, f"{named}: along") for point in line]
    words = [point[1] if isinstance(point[1], str) and not isinstance(point, str) else None for point in line]
    if finder.wrong:
        return
    legs = []  # metres, word of the height, ends
    for k in range(len(points) - 1):
        (x0, y0, z0), (x1, y1, z1) = points[k], points[k + 1]
        word = words[k] if words[k] == words[k + 1] else None
        legs.append((hypot(x1 - x0, 0.0 if word else y1 - y0, z1 - z0), word, points[k], points[k + 1]))
    legs = [leg for leg in legs if leg[0] > 0]
    step, total = place.every_m or 1.0, sum(leg[0] for leg in legs)
    if not legs:
        finder.wrong.append(f"{named}: along is one point throughout; give two ends.")
        return
    count = ceil(total / step - 1e-9)
    if count >= MOST_PLACES:
        finder.wrong.append(_too_many(named, "along", count + 1))
        return
    for number in range(count + 1):
        gone = min(number * step, total)
        before, leg = 0.0, legs[0]
        for leg in legs:
            if gone <= before + leg[0] * (1 + 1e-9) and (gone < before + leg[0] - 1e-9 or leg is legs[-1]):
                break
            before += leg[0]
        metres, word, (x0, y0, z0), (x1, y1, z1) = leg
        share = min((gone - before) / metres, 1.0)
        x, y, z = (round(a + share * (b - a), DECIMALS) for a, b in ((x0, x1), (y0, y1), (z0, z1)))
        name = f"{place.name} {plain(gone)} m"
        at = finder.find((x, word or y, z), f"place {quoted_value(name)}: at")
        yield _one(place, name, at, _heading(place, x1 - x0, z1 - z0))


def _heading(place: Place, dx: float, dz: float) -> float | None:
    """Which way somebody faces who walks by dx, dz: 0 along -Z, growing to the left from above."""
    if place.heading_deg is not None or not (dx or dz):
        return place.heading_deg
    return round(degrees(atan2(-dx, -dz)), 4) + 0.0


def _too_many(named: str, key: str, count: int) -> str:
    return f"{named}: {key} means {count} places; at most {MOST_PLACES} are made of one entry."


def _odd_names(places: tuple[Place, ...]) -> Iterator[str]:
    for name, times in Counter(place.name for place in places).items():
        if times > 1:
            yield (
                f"{times} places are named {quoted_value(name)}; give the [[place]] that makes them a name, "
                "which then stands before theirs."
            )


def _asked(study: Study, wrong: list[str]) -> Study:
    """The study with those of its places that the command line asked for, where that had to wait."""
    asked = study.asked_places
    if not asked:
        return study
    known = [place.name for place in study.places]
    if not wrong:
        wrong += [
            f"--place: {unknown_word(name, known, 'a place of the study')}"
            for name in asked
            if name not in known
        ]
    kept = tuple(place for place in study.place if place.name in asked)
    return study.model_copy(update={"place": kept}).asking(())
