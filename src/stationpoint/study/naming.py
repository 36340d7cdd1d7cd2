"""What a study names: which nodes a target means, how high the subject is, and how readings call targets and
gaps in one group."""

from __future__ import annotations

from collections.abc import Collection
from math import floor, log10
from typing import TYPE_CHECKING

from stationpoint.base.words import matching_names
from stationpoint.study.camera_keys import EYE_SHARE

if TYPE_CHECKING:
    from stationpoint.scene import Scene
    from stationpoint.study.camera_keys import CameraFields
    from stationpoint.study.models import Place, Study, Target

_GAP, _TARGET = "gap:", "target:"
DEFAULT_BODY_M = 1.7  # of a study without a subject


def gap_name(name: str) -> str:
    """A gap among targets: gap_name("hop") gives "gap:hop"."""
    return _GAP + name


def target_name(name: str) -> str:
    """A target among gaps: target_name("crate") gives "target:crate"."""
    return _TARGET + name


def cover_name(name: str) -> str:
    """A target among landings, which stand under their gaps' names: its own name.

    One that begins as those of gaps do gets "target:" before it, so that no two are ever the same:
    cover_name("crate") gives "crate", cover_name("gap:hop") gives "target:gap:hop".
    """
    return target_name(name) if name.startswith((_GAP, _TARGET)) else name


def target_patterns(target: Target) -> tuple[str, ...]:
    """The names, wildcards among them, of the nodes that make a target; none for a point or a box."""
    named = (target.node,) if target.node else ()
    several = (target.nodes,) if isinstance(target.nodes, str) else tuple(target.nodes or ())
    return named + several


def target_nodes(target: Target, names: Collection[str]) -> tuple[str, ...]:
    """Those of a scene's names that a target means: by pattern in the target's order, each
    once. Empty for a point or a box, or where nothing answers to any pattern.

    Worked: nodes = ["crate-*", "lid"] of lid, crate-1, crate-2: crate-1, crate-2, lid.
    """
    every = (name for pattern in target_patterns(target) for name in matching_names(pattern, names))
    return tuple(dict.fromkeys(every))


def mark_m(study: Study, scene: Scene) -> float:
    """The length in metres of the marks that stand beside the subject: 1 m for a body of 1.7 m, else in
    proportion to it, as the nearest of 1, 2 and 5 times a power of ten (by ratio).

    Worked: 1.7 m: 1 m; 0.35 m: 0.206, so 0.2 m; 30 m: 17.6, so 20 m.
    """
    share = body_height_m(study, scene) / DEFAULT_BODY_M
    power = floor(log10(share))
    round_ones = [float(f"{first}e{k}") for k in (power, power + 1) for first in (1, 2, 5)]
    return min(round_ones, key=lambda metres: abs(log10(metres / share)))


def anchor_over_foot_m(camera: CameraFields, body_m: float) -> float:
    """How far a camera's anchor is over the subject's foot, metres: as written, else 0, or in first person
    0.94 of the body's height (EYE_SHARE). Worked: 1.8 m in first person: 1.692 m."""
    if camera.first_person and "anchor_height_m" not in camera.model_fields_set:
        return EYE_SHARE * body_m
    return camera.anchor_height_m


def body_height_m(study: Study, scene: Scene, place: Place | None = None) -> float:
    """The subject's height in metres, at a place: as that or the subject says, else its node's in the scene,
    else 1.7."""
    subject = study.subject
    if place is not None and place.height_m is not None:
        return place.height_m
    if subject is None:
        return DEFAULT_BODY_M
    if subject.node is not None and subject.node in scene and "height_m" not in subject.model_fields_set:
        low, high = scene.node(subject.node).bounds
        return float(high[1] - low[1])
    return subject.high_m
