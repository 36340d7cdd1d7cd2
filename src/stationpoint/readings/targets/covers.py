"""Covers: how much of each target and landing the subject itself hides."""

from __future__ import annotations

from stationpoint.camera import Frames
from stationpoint.readings.frames.masks import Key, Mask, Masks, landing_masks, measured_masks
from stationpoint.readings.frames.shots import cover_shots
from stationpoint.readings.targets.visibility import covers
from stationpoint.readings.things.things import subject_name
from stationpoint.readings.types import SHARE, Case, Field, Kind, Path, Reading, Value
from stationpoint.study import cover_name, gap_name

FIELDS = (
    Field(
        ("framing", "subject_covers", "*"),
        SHARE,
        5,
        "Share of its silhouette that the subject hides: of a target by its name, of a gap's landing by "
        "`gap:` and the gap's.",
        null="it reaches behind the camera, nothing lies under the landing, or no subject is drawn",
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


def read(case: Case, frames: Frames) -> Reading:
    """All targets and all landings."""
    path, study = ("framing", "subject_covers"), case.study
    targets, landings = measured_masks(case, frames), landing_masks(case, frames)
    values: dict[Path, Value] = {}
    for target in study.target:
        values[*path, cover_name(target.name)] = _share(case, targets, ("targets", target.name))
    for gap in study.gap:
        values[*path, gap_name(gap.name)] = _share(case, landings, gap.name)
    return Reading(values)


def _share(case: Case, several: Masks[Key], name: Key) -> float | None:
    """What the subject hides of one of them: nothing where nothing of it is in the picture."""
    mask = several.found.get(name)
    if mask is not None:
        return subject_covers(case, mask)
    return 0.0 if name in several.absent and subject_name(case) is not None else None


KIND = Kind("covers", FIELDS, read, cover_shots)
