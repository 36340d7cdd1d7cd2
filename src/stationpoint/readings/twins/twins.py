"""Twins: the target elsewhere, or turned inside out, under the same camera; and what would tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.plane import convex_hull
from stationpoint.camera import Frame, Frames, depths, project_points
from stationpoint.readings.cues.rules import CUE_NAMES, CUE_RULES
from stationpoint.readings.frames.masks import present_plane
from stationpoint.readings.frames.shots import MAIN
from stationpoint.readings.things.things import target_object
from stationpoint.readings.twins.changes import (
    SAME_ARCMIN,
    Change,
    area_arcmin2,
    change,
    is_same,
    moves_too_little,
)
from stationpoint.readings.twins.covers import covers_change
from stationpoint.readings.twins.cues import Anchor, CueRatios, level_of, ratios_by_geometry
from stationpoint.readings.twins.order import keeps_order, meets_any
from stationpoint.readings.twins.place import (
    MIRROR,
    SLIDE,
    Twin,
    carried_nodes,
    group_points,
    twin_group,
    twin_moves,
)
from stationpoint.readings.twins.views import TwinViews, twin_shots, twin_views
from stationpoint.readings.types import SHARE, Case, Field, Kind, Path, Reading, Value

__all__ = ["KIND", "twin_moves"]

SAME, NO_TWIN = "same", "no plausible twin"
RANK = (SAME, "unanchored", "weakly told", "told")
KEYS = ("shift_m", "level", "told_by", "ambiguous", "changed_arcmin2", "silhouette_changed_share", "why")
UNSEEN = "a point or a box that is not drawn, one that is not in the picture or reaches behind the camera"
NONE_THERE = f"there is no plausible twin; {UNSEEN}"

FIELDS = (
    Field(
        ("twins", "*", "*", "shift_m"),
        "m",
        5,
        "Metres of depth by which the slide twin stands farther (or, negative, nearer): the less told one.",
        null=f"a mirror twin; {NONE_THERE}",
    ),
    Field(
        ("twins", "*", "*", "level"),
        "",
        0,
        'Whether the picture tells the target from its twin: "same", "unanchored", "weakly told", "told", '
        'or "no plausible twin".',
        null=UNSEEN,
        holds="word",
        words=(*RANK, NO_TWIN),
    ),
    Field(
        ("twins", "*", "*", "told_by"),
        "",
        0,
        "The cue that tells it best.",
        null=f"no cue does; {NONE_THERE}",
        holds="word",
        words=CUE_NAMES,
    ),
    Field(
        ("twins", "*", "*", "ambiguous"),
        "",
        0,
        "Whether the two cannot be told apart: same or unanchored.",
        plain="whether it could stand elsewhere and be drawn the same",
        null=UNSEEN,
        holds="flag",
    ),
    Field(
        ("twins", "*", "*", "changed_arcmin2"),
        "sq '",
        3,
        "Area of the picture that differs, by lightness or by what moves, at the first viewing's seat.",
        null=NONE_THERE,
    ),
    Field(
        ("twins", "*", "*", "silhouette_changed_share"),
        SHARE,
        5,
        "Pixels that show the target in one of the two pictures alone, over those that show it.",
        null=f"nothing of it is seen; {NONE_THERE}",
    ),
    Field(
        ("twins", "*", "*", "why"),
        "",
        0,
        "Why there is no plausible twin, in words.",
        null=f"there is one; {UNSEEN}",
        holds="word",
    ),
)


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """A twin, what it changes in the picture (None: nothing, by construction), and what tells it."""

    twin: Twin
    change: Change | None
    ratios: CueRatios
    is_same: bool


def shift_m(found: Found) -> float | None:
    """Metres of depth by which the slide twin stands farther; None for a mirror twin.

    Source: definition. Worked: story planter, --shift 3: 3 or -3, the less told one.
    """
    return found.twin.shift_m


def level(case: Case, found: Found) -> str:
    """Whether the picture tells the target from its twin.

    "same": at no viewing has a square of 1' changed, by L* of 2 or by what moves; nor the game's drop
    line by 1', which is drawn in no frame. Else by the cues against things alike, supports and the
    subject: "unanchored" where none changes by its threshold T, "weakly told" from T, "told" from three
    times T on. None where nothing of the target is drawn. Source: definition. Worked: 35 mm at 15 m, +3
    m, a like planter beside it: 18.2 % of 3 %: "told".
    """
    return SAME if found.is_same else level_of(found.ratios, case.study.glance_factor)[0]


def told_by(case: Case, found: Found) -> str | None:
    """The cue that changes by the most thresholds; None where none changes by one.

    Source: definition. Worked: 18.2 % of 3 %: "relative_size".
    """
    return None if found.is_same else level_of(found.ratios, case.study.glance_factor)[1]


def ambiguous(of_level: str) -> bool:
    """Whether a target and its twin cannot be told apart: same or unanchored.

    None where nothing of the target is drawn. Source: definition. Worked: "told": no.
    """
    return of_level in RANK[:2]


def changed_arcmin2(case: Case, found: Found) -> float:
    """Area of the picture that differs, square arc minutes at the first viewing's seat.

    None where there is no plausible twin. Source: definition. Worked: a parallel view, nothing between:
    0.
    """
    if found.change is None:
        return 0.0
    return area_arcmin2(case, case.seats[0], found.change.changed, found.change.box_px)


def silhouette_changed_share(found: Found) -> float | None:
    """Pixels that show the target in one of the two pictures alone, over those that show it as it is.

    None where nothing of it is seen. Source: definition. Worked: a square drawn 8 / 9 as large: 1 - 64 / 81.
    """
    if found.change is None:
        return 0.0
    count = int(np.count_nonzero(found.change.own))
    return None if count == 0 else int(np.count_nonzero(found.change.outline)) / count


def why(failed: Sequence[Twin]) -> str:
    """Why there is no plausible twin, in words: of both slides where they differ.

    None where there is one. Source: definition. Worked: a crate on the ground: "it stands on ground".
    """
    reasons = [one.why or "" for one in failed]
    if len(set(reasons)) < 2:
        return reasons[0]
    return f"farther {reasons[0]}, nearer {reasons[1]}"


def read(case: Case, frames: Frames) -> Reading:
    """Both twins of every target; for marks ("twin", NAME, KIND): the twin's outline, closed."""
    values: dict[Path, Value] = {}
    extras: dict[Path, NDArray[np.float64]] = {}
    for name, views in twin_views(case).items():
        seen = [anchor for anchor in views.anchors if _is_seen(case, frames, anchor)]
        for kind in (SLIDE, MIRROR):
            path = ("twins", name, kind)
            values.update({(*path, key): None for key in KEYS})
            if not views.seen:
                continue
            found = _least_told(case, _all_found(case, views, kind, frames, seen))
            if found is None:
                values[*path, "level"], values[*path, "ambiguous"] = NO_TWIN, False
                values[*path, "why"] = why([one for one in views.failed if one.kind == kind])
                continue
            values.update({(*path, key): value for key, value in _values(case, found).items()})
            outline = _outline(case, views, found.twin)
            if outline is not None:
                extras["twin", name, kind] = outline
    return Reading(values, extras=extras)


def _values(case: Case, found: Found) -> dict[str, Value]:
    of_level = level(case, found)
    return {
        "shift_m": shift_m(found),
        "level": of_level,
        "told_by": told_by(case, found),
        "ambiguous": ambiguous(of_level),
        "changed_arcmin2": changed_arcmin2(case, found),
        "silhouette_changed_share": silhouette_changed_share(found),
    }


def _least_told(case: Case, several: list[Found]) -> Found | None:
    """The one that the picture tells least: by level, by its strongest cue, by what changes."""

    def strength(found: Found) -> tuple[int, float, float]:
        most = 0.0 if found.is_same else found.ratios.most()[0]
        return RANK.index(level(case, found)), most, changed_arcmin2(case, found)

    return min(several, key=strength, default=None)


def _all_found(case: Case, views: TwinViews, kind: str, frames: Frames, seen: list[Anchor]) -> list[Found]:
    found = []
    for one in views.certain:
        if one.kind == kind:
            ratios = ratios_by_geometry(case, views.target, one, seen)
            found.append(Found(one, None, ratios, _line_stays(ratios)))
    for key, one in views.drawn:
        if one.kind == kind:
            found.append(_compared(case, views, one, frames[views.base], frames[key], seen))
    return found


def _compared(
    case: Case, views: TwinViews, one: Twin, here: Frame, other: Frame, seen: list[Anchor]
) -> Found:
    assert views.camera is not None
    box = views.box_px
    moving = twin_group(case, views.target)
    differs = change(case, target_object(case.scene, views.target).nodes, moving, (here, other), box)
    by_cue = dict(ratios_by_geometry(case, views.target, one, seen).by_cue)
    if "cast-shadow" in case.study.aids:
        area = area_arcmin2(case, case.seats[0], differs.shade, box)
        by_cue["cast_shadow"] = area / CUE_RULES["cast_shadow"].least
    near = [anchor for anchor in seen if meets_any(case, views.target, one, anchor.nodes)]
    by_cue["occlusion"] = covers_change(case, views.camera, box, (here, other), moving, near)
    ratios = CueRatios(tuple(by_cue.items()))
    return Found(one, differs, ratios, _line_stays(ratios) and _looks_same(case, views, one, differs))


def _line_stays(ratios: CueRatios) -> bool:
    """Whether the drop line that the game draws, which no frame shows, changes by less than 1'."""
    return dict(ratios.by_cue).get("drop_line", 0.0) * CUE_RULES["drop_line"].least < SAME_ARCMIN


def _looks_same(case: Case, views: TwinViews, one: Twin, differs: Change) -> bool:
    if is_same(case, differs):
        return True
    if one.kind == MIRROR or "cast-shadow" in case.study.aids:
        return False
    assert one.matrix is not None
    camera, points = case.setup.camera, group_points(case, views.target)
    here_px, there_px = (
        project_points(camera, points),
        project_points(camera, carried_nodes(points, one.matrix)),
    )
    return moves_too_little(case, here_px, there_px) and keeps_order(case, views.target, one)


def _is_seen(case: Case, frames: Frames, anchor: Anchor) -> bool:
    """Whether any pixel of the picture shows it; taken to be so where the picture was not asked for."""
    if MAIN not in frames:
        return True
    ids = present_plane(frames[MAIN].ids)
    return any(bool((ids == case.scene.id_of(name)).any()) for name in anchor.nodes)


def _outline(case: Case, views: TwinViews, one: Twin) -> NDArray[np.float64] | None:
    """Outline of the twin's convex hull, (n, 2) pixels of the cell, closed; None where it reaches behind
    the near plane."""
    assert one.matrix is not None
    camera = case.setup.camera
    points = carried_nodes(target_object(case.scene, views.target).points_m, one.matrix)
    if not camera.parallel and (depths(camera, points) <= camera.near_m).any():
        return None
    hull = convex_hull(project_points(camera, points))
    return np.concatenate([hull, hull[:1]])


KIND = Kind("twin-layouts", FIELDS, read, twin_shots)
