"""Every family of readings in one table: what they want drawn, and what they read of it.

A new family: a file that exports KIND, and a line here.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from stationpoint.base.errors import StudyWrong
from stationpoint.base.once import once_for_each
from stationpoint.base.words import listed, nearest
from stationpoint.camera import Frames, Shot, ShotKey
from stationpoint.readings import awareness, axes, boom, cues, framing, viewing
from stationpoint.readings.colours import contrast, prominence
from stationpoint.readings.contacts import contacts
from stationpoint.readings.gaps import landing, lengths
from stationpoint.readings.targets import covers, positions, safe_areas, size, visibility
from stationpoint.readings.things.things import SUBJECT, SUBJECTS
from stationpoint.readings.twins import twins
from stationpoint.readings.types import Case, Field, Kind, Path, Reading, no_shots
from stationpoint.scene import Scene

if TYPE_CHECKING:
    from stationpoint.study import Study

__all__ = [
    "FIELDS",
    "GROUPS",
    "KINDS",
    "asked",
    "asked_fields",
    "measures_colours",
    "needs_shots",
    "read",
    "wanted",
]

KINDS: tuple[Kind, ...] = (
    positions.KIND,
    size.KIND,
    visibility.KIND,
    safe_areas.KIND,
    contrast.KIND,
    prominence.KIND,
    lengths.KIND,
    landing.KIND,
    axes.KIND,
    framing.KIND,
    awareness.KIND,
    boom.KIND,
    covers.KIND,
    contacts.KIND,
    twins.KIND,
    viewing.KIND,
    cues.EYE_HEIGHTS,
    cues.KIND,
)
TOLD: frozenset[Path] = frozenset({("surfaces",)})  # what words need of what marks are placed by
FIELDS: tuple[Field, ...] = tuple(field for kind in KINDS for field in kind.fields)
GROUPS: tuple[str, ...] = tuple(dict.fromkeys(field.path[0] for field in FIELDS))


def wanted(case: Case, only: Collection[str] | None = None) -> dict[ShotKey, Shot]:
    """The shots that the readings of a case need, by key.

    only: names of kinds ("size") or of groups of fields ("targets"), which share no word, or of fields
    ("targets.*.seen"); None for all.
    """
    shots: dict[ShotKey, Shot] = {}
    for kind in _chosen(only):
        if kind.costly and not _pays(case.study, case.scene, kind, only):
            continue
        for key, shot in kind.shots(case).items():
            if shots.setdefault(key, shot) is not shot:
                raise AssertionError(f"two shots have the key {key}")
    return shots


def measures_colours(study: Study, scene: Scene, only: Collection[str] | None = None) -> bool:
    """Whether the measured frame is drawn, where the scene has colours. only: as in `wanted`."""
    return any(_pays(study, scene, kind, only) for kind in _chosen(only) if kind.costly)


def _pays(study: Study, scene: Scene, kind: Kind, only: Collection[str] | None) -> bool:
    """Whether a costly family is drawn: it is named, the brief bounds it, or the scene asks for colours."""
    named = only is not None and kind.name in only
    return named or scene.in_colour or kind.name in _in_brief(study)


@once_for_each(kept=4)
def _in_brief(study: Study) -> frozenset[str]:
    """Names of the families that hold a reading which the brief bounds."""
    from stationpoint.readings.verdict.limits import bounded_paths  # late: it rests on this table

    paths = bounded_paths(study)
    return frozenset(
        kind.name
        for kind in KINDS
        if any(_matches(path, field.path) for path in paths for field in kind.fields)
    )


def needs_shots(only: Collection[str] | None = None) -> bool:
    """Whether one of the readings may have to see something drawn. only: as in `wanted`."""
    return any(kind.shots is not no_shots for kind in _chosen(only))


def read(case: Case, frames: Frames, only: Collection[str] | None = None) -> Reading:
    """The readings of a case. frames: by key, what was drawn of `wanted(case, only)`."""
    found = Reading({})
    for kind in _chosen(only):
        part = kind.read(case, frames)
        extras = part.extras
        if not case.marked:
            extras = {path: spots for path, spots in extras.items() if path in TOLD}
        for kept, new in (
            (found.values, _by_name(case, part.values)),
            (found.outlines, part.outlines if case.marked else {}),
            (found.extras, extras),
            (found.causes, _by_name(case, part.causes)),
        ):
            both = len(kept) + len(new)
            kept.update(new)  # type: ignore[arg-type]
            if len(kept) < both:
                raise AssertionError(f"{kind.name} writes one of {sorted(new)}, which another kind wrote")
    if only is None:
        return found
    is_asked = asked(only)
    return replace(found, values={path: value for path, value in found.values.items() if is_asked(path)})


def _by_name(case: Case, found: dict[Path, Any]) -> dict[Path, Any]:
    """What was found, and where there are several subjects, of the player's own the same under its name."""
    subject = case.study.subject
    if subject is None or not case.study.others:
        return found
    both: dict[Path, Any] = {}
    for path, value in found.items():
        both[path] = value
        if path[0] == SUBJECT:
            both[SUBJECTS, subject.name, *path[1:]] = value
    return both


def asked(only: Collection[str]) -> Callable[[Path], bool]:
    """Whether a reading is among those asked for. only: as for `wanted`."""
    return _asked(frozenset(only))


@lru_cache(maxsize=8)
def _asked(only: frozenset[str]) -> Callable[[Path], bool]:
    fields = {field.path for field in FIELDS if ".".join(field.path) in only}
    paths = fields.union(*(_paths(kind) for kind in KINDS if kind.name in only))
    by_group: dict[str, list[Path]] = {}
    for one in paths:
        by_group.setdefault(one[0], []).append(one)
    known: dict[Path, bool] = {}  # the same few paths are asked about for every case

    def is_asked(path: Path) -> bool:
        if path not in known:
            known[path] = path[0] in only or any(_matches(path, one) for one in by_group.get(path[0], ()))
        return known[path]

    return is_asked


def asked_fields(only: Collection[str] | None) -> frozenset[Path] | None:
    """Paths of the fields asked for, None for all. only: as for `wanted`."""
    return None if only is None else _asked_fields(frozenset(only))


@lru_cache(maxsize=8)
def _asked_fields(only: frozenset[str]) -> frozenset[Path]:
    return frozenset(
        path
        for kind in KINDS
        for path in _paths(kind)
        if kind.name in only or path[0] in only or ".".join(path) in only
    )


def _paths(kind: Kind) -> frozenset[Path]:
    return frozenset(field.path for field in kind.fields)


def _matches(path: Path, known: Path) -> bool:
    """Whether a path is one of a field's, or the whole of one that is null."""
    return len(path) <= len(known) and all(
        part in (name, "*") for name, part in zip(path, known, strict=False)
    )


def _chosen(only: Collection[str] | None) -> tuple[Kind, ...]:
    """The families that must be measured. only: as for `wanted`; StudyWrong for a name not known."""
    return KINDS if only is None else _chosen_of(frozenset(only))


@lru_cache(maxsize=8)
def _chosen_of(only: frozenset[str]) -> tuple[Kind, ...]:
    known = [*dict.fromkeys([kind.name for kind in KINDS] + list(GROUPS))]
    for name in sorted(only - {".".join(field.path) for field in FIELDS}):
        if name not in known:
            close = nearest(name, known)
            hint = f'Did you mean "{close}"?' if close else f"There are {listed(known)}."
            raise StudyWrong(f'There is no family of readings called "{name}".', hint)
    fields = _asked_fields(only)
    return tuple(kind for kind in KINDS if kind.name in only or _paths(kind) & fields)
