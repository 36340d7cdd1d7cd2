"""What would tell a twin from the target by depth cues: how far each cue changes, in its thresholds.

Only cues against something that stays count: a thing that the study calls alike, what the target stands
on, the subject. T and V rest on ground that a plausible twin does not stand on, Z on standing things, L
on form alone, so that these four never tell a twin.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import arcmin_between, depths, focal_px, project_points
from stationpoint.readings.cues.parallax import SPEED_MPS
from stationpoint.readings.cues.rules import CUE_NAMES, CUE_RULES, PARALLAX_SHARE
from stationpoint.readings.frames.drawn import outline_on_picture
from stationpoint.readings.things.steps import record_camera
from stationpoint.readings.things.things import SceneObject, node_object, subject_name, target_object
from stationpoint.readings.twins.place import MIRROR, RESTS_M, Twin, carried_nodes, rests_on, twin_group
from stationpoint.readings.types import Case
from stationpoint.scene import under
from stationpoint.study import Target

Points = NDArray[np.float64]

UNANCHORED, WEAKLY_TOLD, TOLD = "unanchored", "weakly told", "told"


@dataclass(frozen=True, slots=True, eq=False)
class Anchor:
    """Something that stays where it is. nodes: names of what it is made of. alike: known to be as large."""

    thing: SceneObject
    nodes: tuple[str, ...]
    alike: bool


@dataclass(frozen=True, slots=True)
class CueRatios:
    """How far cues change between a target and its twin. by_cue: cue -> change over its threshold,
    the largest of all anchors'."""

    by_cue: tuple[tuple[str, float], ...] = ()

    def most(self) -> tuple[float, str | None]:
        """The greatest change and its cue; of equals the first in the order of cues."""
        best: tuple[float, str | None] = (0.0, None)
        for cue, ratio in sorted(self.by_cue, key=lambda one: CUE_NAMES.index(one[0])):
            if ratio > best[0]:
                best = (ratio, cue)
        return best


def level_of(ratios: CueRatios, factor: float) -> tuple[str, str | None]:
    """Level of a twin whose picture changed, and the cue that tells it.

    factor: the study's glance factor. Worked: 18.2 % of 3 %, factor 3: ("told", "relative_size").
    """
    ratio, cue = ratios.most()
    if ratio < 1.0:
        return UNANCHORED, None
    return (TOLD if ratio >= factor else WEAKLY_TOLD), cue


@lru_cache(maxsize=64)
def anchors(case: Case, target: Target) -> tuple[Anchor, ...]:
    """What a twin can be told by, as far as any of it lies in the picture."""
    moving = set(twin_group(case, target))
    found: dict[tuple[str, ...], Anchor] = {}
    named = {one.name: one for one in case.study.target}
    for name in target.like:
        if name in named:
            thing = target_object(case.scene, named[name])
        elif name in case.scene:
            thing = node_object(case.scene, name)
        else:
            continue
        found.setdefault(thing.nodes, Anchor(thing, thing.nodes, True))
    subject = subject_name(case)
    others = [] if subject is None else [subject]
    others += [support for _, support in rests_on(case.scene, twin_group(case, target))]
    for name in others:
        found.setdefault((name,), Anchor(node_object(case.scene, name), (name,), False))
    return tuple(
        anchor
        for nodes, anchor in found.items()
        if nodes and not moving & set(nodes) and _in_picture(case, anchor.thing)
    )


def _in_picture(case: Case, thing: SceneObject) -> bool:
    camera = case.setup.camera
    box = outline_on_picture(camera, thing).box_px
    if box is None:
        return bool((depths(camera, thing.points_m) > camera.near_m).any())
    left, top, right, bottom = box
    return right > 0 and bottom > 0 and left < camera.pixels[0] and top < camera.pixels[1]


def ratios_by_geometry(case: Case, target: Target, twin: Twin, anchors: Iterable[Anchor]) -> CueRatios:
    """S, H, D and P in closed form, from the places of the feet.

    S: 100 abs ln z'/z %, full weight against a thing alike, else weak at most; a mirror twin keeps its
    size. H: how far its foot moves up or down in the picture. P: F v abs(1/z - 1/z') and abs(z' - z) /
    z_B, the weaker one, at 1 m/s sideways. D: how far its drop line grows, where the game ships one.
    Worked: 15 m, +3 m: S 18.2 %, 6.1 thresholds; 135 mm at 57.857 m: 5.06 %, 1.7.
    """
    thing = target_object(case.scene, target)
    assert twin.matrix is not None
    foot, other = thing.foot_m, carried_nodes(thing.foot_m[None], twin.matrix)[0]
    by_cue: dict[str, float] = {}
    camera, seat = record_camera(case), case.seats[0]
    here, there = project_points(camera, [foot, other])
    rise = float(arcmin_between(seat, here, (here[0], there[1]))[0])
    z, z_twin = depths(camera, [foot, other])
    for anchor in anchors:
        _raise(by_cue, "height_in_field", rise)
        if camera.parallel or twin.kind == MIRROR:
            continue
        size = 100.0 * abs(float(np.log(z_twin / z)))
        most = np.inf if anchor.alike else _weak(case, "relative_size")
        _raise(by_cue, "relative_size", min(size, most))
        slides = focal_px(camera) * SPEED_MPS * abs(1.0 / z - 1.0 / z_twin) * seat.arcmin_per_px
        share = abs(z_twin - z) / abs(float(depths(camera, anchor.thing.foot_m)[0]))
        both = min(slides / CUE_RULES["parallax"].least, share / PARALLAX_SHARE)
        by_cue["parallax"] = max(both, by_cue.get("parallax", 0.0))
    if "drop-marker" in case.study.aids:
        lines = [_line_arcmin(case, target, point) for point in (foot, other)]
        _raise(by_cue, "drop_line", abs(lines[1] - lines[0]))
    return CueRatios(tuple(by_cue.items()))


def _raise(by_cue: dict[str, float], cue: str, value: float) -> None:
    by_cue[cue] = max(value / CUE_RULES[cue].least, by_cue.get(cue, 0.0))


def _weak(case: Case, cue: str) -> float:
    """The most that a cue may be worth that is weak at most: just under what reads."""
    return float(np.nextafter(case.study.glance_factor * CUE_RULES[cue].least, 0.0)) * (1.0 - 1e-12)


def _line_arcmin(case: Case, target: Target, foot: Points) -> float:
    """Length at the seat of the drop line of something at `foot`, 0 over a void or on a thing that it
    moves with."""
    own, moving = target_object(case.scene, target).nodes, twin_group(case, target)
    standing = under(case.scene, _key(target_object(case.scene, target).foot_m), ignoring=own)
    if standing is not None and standing[0] in moving and standing[1] <= RESTS_M:
        return 0.0
    below = under(case.scene, _key(foot), ignoring=moving)
    if below is None:
        return 0.0
    ends = project_points(record_camera(case), [foot, foot - (0.0, below[1], 0.0)])
    if not np.isfinite(ends).all():
        return 0.0
    return float(arcmin_between(case.seats[0], ends[0], ends[1])[0])


def _key(at_m: Points) -> tuple[float, float, float]:
    x, y, z = at_m.tolist()
    return x, y, z
