"""Covers: how much of each target and landing the subject itself hides."""

from __future__ import annotations

from collections.abc import Mapping

from stationpoint.measure.masks import Mask, landing_masks, target_masks
from stationpoint.measure.shots import cover_shots
from stationpoint.measure.things import subject_name
from stationpoint.measure.types import Case, Field, Kind, Path, Reading, Value
from stationpoint.measure.visibility import covers
from stationpoint.shot import Frame

FIELDS = (
    Field(
        ("framing", "subject_covers", "*"),
        "",
        5,
        "Share of the silhouette of a target, or of a landing's node, that the subject hides.",
        null="it reaches behind the camera, or no subject is drawn",
    ),
)


def subject_covers(case: Case, mask: Mask) -> float | None:
    """Share of a silhouette that the subject hides; None where no subject is drawn.

    Source: definition. Worked: the subject before half of a square: .5.
    """
    subject = subject_name(case)
    if subject is None:
        return None
    share, k = covers(mask), case.scene.id_of(subject)
    return float(share[k]) if k < len(share) else 0.0


def read(case: Case, frames: Mapping[str, Frame]) -> Reading:
    """All targets by name, and the landings' nodes that are no target."""
    values: dict[Path, Value] = {}
    nothing = None if subject_name(case) is None else 0.0
    for several in (landing_masks(case, frames), target_masks(case, frames)):
        for name, mask in several.found.items():
            missing = nothing if name in several.absent else None
            share = missing if mask is None else subject_covers(case, mask)
            values["framing", "subject_covers", name] = share
    return Reading(values)


KIND = Kind("covers", FIELDS, read, cover_shots)
