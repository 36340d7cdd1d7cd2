"""The pairs that cues are about: a gap's take-off and landing; the subject and a primary target."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.readings.things.ends import ends
from stationpoint.readings.things.things import (
    SceneObject,
    node_object,
    subject_foot_m,
    subject_name,
    target_object,
    target_objects,
)
from stationpoint.readings.types import Case
from stationpoint.scene import Scene, under
from stationpoint.study import Gap, Target, gap_name, target_name

Points = NDArray[np.float64]

HANGS_M = 0.05  # a foot that is farther than this over its floor stands on nothing


@dataclass(frozen=True, slots=True, eq=False)
class End:
    """One of the two things of a pair.

    foot_m: (3,) world. own: names of the nodes that it is made of; for a gap, the node that its end
    lies on. support: the node that it stands on, None if that is unknown or the same as its own.
    hangs: whether nothing is right under its foot. thing: its geometry, None where there is none.
    ignoring: nodes that never count as hiding it, besides its own and its support. spot: whether it is
    a spot on its nodes, not the whole of them.
    """

    foot_m: Points
    own: tuple[str, ...]
    support: str | None
    hangs: bool
    thing: SceneObject | None
    ignoring: tuple[str, ...] = ()
    spot: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """name: "gap:NAME" or "target:NAME". a: take-off or subject; b: landing or target.

    alike: whether sizes can be compared: the subject will stand at both ends of a gap, or the study
    calls the two alike (rival is the one that b is alike to).
    """

    name: str
    a: End
    b: End
    is_gap: bool
    alike: bool
    rival: SceneObject | None = None

    @property
    def on_one_node(self) -> bool:
        """Whether a landing lies on the node of its take-off, which may be all of a level, as in a scan."""
        return self.b.spot and bool(self.b.own) and set(self.b.own) <= set(self.a.own)


@lru_cache(maxsize=4)
def pairs(case: Case) -> tuple[Pair, ...]:
    """Every gap of the study, then every primary target."""
    return tuple(gap_pair(case, gap) for gap in case.study.gap) + tuple(
        _target_pair(case, target, thing)
        for target, thing in zip(case.study.target, target_objects(case), strict=True)
        if target.role == "primary"
    )


def gap_pair(case: Case, gap: Gap) -> Pair:
    """A gap's take-off and landing. The subject moves on, so it does not count as hiding them."""
    at, subject = ends(case, gap), subject_name(case)
    ignoring = () if subject is None else (subject,)
    a, b = (
        End(point, () if node is None else (node,), None, False, _node(case.scene, node), ignoring, True)
        for point, node in ((at.from_m, at.takeoff), (at.to_m, at.landing))
    )
    return Pair(gap_name(gap.name), a, b, True, True)


def _node(scene: Scene, name: str | None) -> SceneObject | None:
    return None if name is None or name not in scene else node_object(scene, name)


def _target_pair(case: Case, target: Target, thing: SceneObject) -> Pair:
    name = subject_name(case)
    subject = None if name is None else node_object(case.scene, name, "subject")
    a = _standing(case.scene, subject_foot_m(case), subject)
    b = _standing(case.scene, thing.foot_m, thing)
    rival = _rival(case, target, a)
    return Pair(target_name(target.name), a, b, False, rival is not None, rival)


def _standing(scene: Scene, foot_m: Points, thing: SceneObject | None) -> End:
    own = () if thing is None else thing.nodes
    below = under(scene, as_point(foot_m), ignoring=own)
    hangs = below is None or below[1] > HANGS_M
    return End(foot_m, own, None if below is None or hangs else below[0], hangs, thing)


def _rival(case: Case, target: Target, a: End) -> SceneObject | None:
    """What the study calls alike to the target and is in the pair: the subject, or what it stands on."""
    there = {*a.own} | ({a.support} if a.support else set())
    named = {one.name: one for one in case.study.target}
    for name in target.like:
        thing = target_object(case.scene, named[name]) if name in named else _node(case.scene, name)
        if thing is not None and there & set(thing.nodes):
            return thing
    return None


def as_point(at_m: Points) -> tuple[float, float, float]:
    """A point (3,) as numbers, which can be a key."""
    x, y, z = at_m.tolist()
    return x, y, z


def drop_to_floor_m(scene: Scene, end: End) -> float | None:
    """Metres from the end straight down to the floor below it and below its own nodes; None over a
    void."""
    below = under(scene, as_point(end.foot_m), ignoring=(*end.own, *end.ignoring))
    return None if below is None else below[1]
