"""False contacts: walkable surfaces that seem to touch and do not. False breaks: the reverse."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.nearest import first_of_each, least_of_each
from stationpoint.base.geometry.vectors import length
from stationpoint.camera import (
    Camera,
    Frames,
    Shot,
    ShotKey,
    frontal_px_per_m,
    project_points,
    unproject_pixels,
)
from stationpoint.readings.contacts.borders import Pieces, lines, pieces
from stationpoint.readings.contacts.breaks import breaks
from stationpoint.readings.contacts.nearest import nearest
from stationpoint.readings.contacts.seen import ABOVE_M, surface_borders
from stationpoint.readings.contacts.standing import are_stacked
from stationpoint.readings.contacts.surfaces import Surfaces, surfaces
from stationpoint.readings.contacts.truth import Apart, is_honest, spans
from stationpoint.readings.frames.masks import present_plane
from stationpoint.readings.frames.shots import MAIN, main_shot
from stationpoint.readings.types import Case, Field, Kind, Path, Reading, Value

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]

LEAST_ARCMIN = 30.0
NEAR = 1.01  # a little more than a step is looked for, so that what is a step off is told from it

PARTS = (
    Field(("a",), "", 0, "The surface nearer to the camera."),
    Field(("b",), "", 0, "The other one."),
    Field(("border_arcmin",), "'", 3, "Length of the border, at the first viewing's seat.", null="a break"),
    Field(("flat_m",), "m", 5, "Metres that the two look apart, read flat."),
    Field(("level_m",), "m", 5, "Level distance between them there."),
    Field(("height_m",), "m", 5, "How much higher b is there."),
    Field(("at_xy",), "", 7, "Where, fractions of width and height from top-left."),
)
FIELDS = (
    Field(
        ("false_contacts",),
        "",
        0,
        "Pairs of walkable surfaces that share a border of 30 arcmin or more, in flat reach, with neither "
        "way from one to the other within reach, the longest border first.",
        parts=PARTS,
        holds="groups",
    ),
    Field(
        ("false_breaks",),
        "",
        0,
        "Pairs of walkable surfaces within reach that share no border and look out of reach, read flat, the "
        "longest flat distance first.",
        parts=PARTS,
        holds="groups",
    ),
)


def false_contacts(case: Case, those: Surfaces, there: Pieces, depth_m: NDArray[np.float32]) -> list[Apart]:
    """Pairs of walkable surfaces that seem to touch and do not, the longest border first.

    there: the borders of the surfaces. depth_m: (h, w). A side of a node counts as its surface's edge down
    to a step below its upper faces. Neither way is within reach; what stands on the other, or on something
    that does, is joined with it. Source: definition. Worked: orthographic, pitch 30, edges at (0, 0, 0) and
    (0, -3, -5.196): 0 px apart, 6.0 m in space, 5.196 m level, 3 m down.
    """
    touching = _touching(case, those, there, depth_m)
    honest = is_honest(those, touching.a, touching.b, touching.on_a_m, touching.on_b_m)
    wrong = np.flatnonzero(~honest)
    at = touching.at[wrong]
    # Pieces stand by their pair: so do those that are wrong, and each pair's are one stretch of them.
    starts = first_of_each(there.pair[at])
    arcmin = _sums(there.arcmin[at], starts)
    pairs = there.pair[at[starts]]
    long = np.flatnonzero(arcmin >= LEAST_ARCMIN)
    names = [(those.names[a], those.names[b]) for a, b in there.pairs[pairs[long]].tolist()]
    kept = long[~np.array(are_stacked(case.scene, names), dtype=bool)]
    found = _measured(those, there, touching, wrong, pairs[kept], arcmin[kept]) if len(kept) else []
    return sorted(found, key=lambda one: -(one.border_arcmin or 0.0))


def _measured(
    those: Surfaces, there: Pieces, touching: _Touching, wrong: Whole, pairs: Whole, arcmin: Points
) -> list[Apart]:
    """The contacts of some pairs, measured at the wrong piece next to the middle of their line.

    there: the borders of the surfaces. wrong: places of all wrong pieces among those that touch. pairs: (n,)
    numbers, rising. arcmin: (n,) lengths.
    """
    is_wrong = np.zeros(len(there.pair), dtype=bool)
    is_wrong[touching.at[wrong]] = True
    line = lines(there, pairs, is_wrong)
    middle = np.array([_middle(one) for one in line])
    number = np.full(len(there.pairs), -1)
    number[pairs] = np.arange(len(pairs))
    of = number[there.pair[touching.at[wrong]]]
    wrong, of = wrong[of >= 0], of[of >= 0]
    away_px = touching.px[wrong] - middle[of]
    here = wrong[least_of_each(of, (away_px * away_px).sum(axis=1))]
    first_is_nearer = _sums(touching.nearer_m[wrong], first_of_each(of)) <= 0.0
    both = np.array([touching.a[here], touching.b[here]])
    a, b = np.where(first_is_nearer, both, both[::-1])
    on_m = np.where(first_is_nearer[:, None], touching.on_a_m[here], touching.on_b_m[here])
    span = spans(those, a, b, on_m)
    flat_m, level_m, height_m = touching.flat_m[here], span.across_m, span.rise_m
    return [
        Apart(
            those.names[a[k]],
            those.names[b[k]],
            float(arcmin[k]),
            float(flat_m[k]),
            float(level_m[k]),
            float(height_m[k]),
            middle[k],
            line[k],
        )
        for k in range(len(pairs))
    ]


def _sums(values: Points, starts: Whole) -> Points:
    """Sums of stretches of values, (n,), each from its start to the next one's."""
    return np.array([one.sum() for one in np.split(values, starts[1:])])


def false_breaks(
    case: Case,
    those: Surfaces,
    there: Pieces,
    ids: NDArray[np.uint32],
    depth_m: NDArray[np.float32],
) -> list[Apart]:
    """Pairs of walkable surfaces within reach of each other that seem not to be, the longest flat distance
    first.

    there: the borders of the surfaces. ids, depth_m: (h, w). Within reach from the surface that the subject
    or a take-off stands on, or both ways where none does; those that share no border, look farther apart
    than the reach at that height, and are seen at both ends. Source: definition. Worked: cavalier view,
    depth drawn straight up: 1.8 m farther and 0.8 m higher looks 2.6 m away.
    """
    return sorted(breaks(case, those, ids, depth_m, there.pairs), key=lambda one: -one.flat_m)


@dataclass(frozen=True, slots=True, eq=False)
class _Touching:
    """Pieces of border at which two surfaces seem to touch: at (n,) their places among the pieces; a, b
    (n,) places of the surfaces; on_a_m, on_b_m (n, 3) points of theirs; px (n, 2); flat_m (n,); nearer_m
    (n,) how much nearer to the camera a is."""

    at: Whole
    a: Whole
    b: Whole
    on_a_m: Points
    on_b_m: Points
    px: Points
    flat_m: Points
    nearer_m: Points


def _touching(case: Case, those: Surfaces, there: Pieces, depth_m: NDArray[np.float32]) -> _Touching:
    camera = case.setup.camera
    long = np.bincount(there.pair, there.arcmin, len(there.pairs)) >= LEAST_ARCMIN
    at = np.flatnonzero(long[there.pair])
    px, z_m, seen_m = _seen(camera, there.pixel[at], depth_m)
    # What is farther from a surface's bounds than a step is so from the surface.
    within_m = NEAR * those.step_m
    surface = there.between[at]
    gap_m = np.maximum(np.maximum(those.low[surface] - seen_m, seen_m - those.high[surface]), 0.0)
    near = (length(gap_m) <= within_m).all(axis=1)
    at, surface, px, z_m, seen_m = at[near], surface[near], px[near], z_m[near], seen_m[near]
    on_m = nearest(those, surface.ravel(), seen_m.reshape(-1, 3), within_m).reshape(-1, 2, 3)
    off_m = seen_m - on_m
    aside_px = project_points(camera, on_m.reshape(-1, 3)).reshape(-1, 2, 2) - px
    nearer = np.where((z_m[:, 0] <= z_m[:, 1])[:, None], on_m[:, 0], on_m[:, 1])
    flat_px = np.linalg.norm(aside_px, axis=2).sum(axis=1)
    flat_m = np.nan_to_num(flat_px / frontal_px_per_m(camera, nearer), nan=np.inf)
    is_edge = (length(off_m) <= those.step_m) & (off_m[..., 1] <= ABOVE_M)
    some = np.flatnonzero(is_edge.all(axis=1) & (flat_m <= those.reach.level_m))
    (a, b), on_a_m, on_b_m = surface[some].T, on_m[some, 0], on_m[some, 1]
    nearer_m = z_m[some, 0] - z_m[some, 1]
    return _Touching(at[some], a, b, on_a_m, on_b_m, px[some].mean(axis=1), flat_m[some], nearer_m)


def _seen(camera: Camera, pixel: Whole, depth_m: NDArray[np.float32]) -> tuple[Points, Points, Points]:
    """Middles of pixels, (n, 2, 2), depths there, (n, 2), and points seen, (n, 2, 3). pixel: (n, 2) flat
    indices. depth_m: (h, w)."""
    y, x = np.divmod(pixel, depth_m.shape[1])
    px = np.stack([x, y], axis=2) + 0.5
    z_m = depth_m.ravel()[pixel].astype(np.float64)
    return px, z_m, unproject_pixels(camera, px.reshape(-1, 2), z_m.ravel()).reshape(-1, 2, 3)


def _middle(line: Points) -> Points:
    """The point half way along a line (n, 2)."""
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    return np.array([np.interp(gone[-1] / 2.0, gone, line[:, k]) for k in (0, 1)])


def read(case: Case, frames: Frames) -> Reading:
    """Both lists; for marks ("false_contact", "0") and on: the border's line, ("false_break", "0"): from
    edge to edge; ("surfaces",): the middle of each surface that was looked at."""
    values: dict[Path, Value] = {("false_contacts",): (), ("false_breaks",): ()}
    those, camera = surfaces(case), case.setup.camera
    extras: dict[Path, Points] = {("surfaces",): project_points(camera, (those.low + those.high) / 2.0)}
    if len(those.names) < 2:
        return Reading(values, extras=extras)
    main = frames[MAIN]
    ids, depth_m = present_plane(main.ids), present_plane(main.depth_m)
    seat = case.seats[0]
    scale = np.asarray(seat.picture_px) / camera.pixels
    there = pieces(surface_borders(case, those, ids, depth_m), len(those.names), seat, scale)
    for group, one, found in (
        ("false_contacts", "false_contact", false_contacts(case, those, there, depth_m)),
        ("false_breaks", "false_break", false_breaks(case, those, there, ids, depth_m)),
    ):
        values[group,] = tuple(_entry(case, each) for each in found)
        extras.update({(one, str(k)): each.line_px for k, each in enumerate(found)})
    return Reading(values, extras=extras)


def _entry(case: Case, one: Apart) -> dict[str, Value]:
    x, y = (one.middle_px / case.setup.camera.pixels).tolist()
    return {
        "a": one.a,
        "b": one.b,
        "border_arcmin": one.border_arcmin,
        "flat_m": one.flat_m,
        "level_m": one.level_m,
        "height_m": one.height_m,
        "at_xy": (x, y),
    }


def _shots(case: Case) -> dict[ShotKey, Shot]:
    return {MAIN: main_shot(case)} if len(surfaces(case).names) > 1 else {}


KIND = Kind("contacts", FIELDS, read, _shots)
