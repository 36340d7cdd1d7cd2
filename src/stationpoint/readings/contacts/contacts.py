"""False contacts: walkable surfaces that seem to touch and do not. False breaks: the reverse."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Frames, Shot, ShotKey, frontal_px_per_m, project_points, unproject_pixels
from stationpoint.readings.contacts.borders import Pieces, line_of, pieces
from stationpoint.readings.contacts.breaks import breaks
from stationpoint.readings.contacts.parts import Parts, part_borders, parts
from stationpoint.readings.contacts.reach import looked_for_m
from stationpoint.readings.contacts.tops import nearest, stands_on, tops
from stationpoint.readings.contacts.truth import Apart, is_honest
from stationpoint.readings.frames.masks import present_plane
from stationpoint.readings.frames.shots import MAIN, main_shot
from stationpoint.readings.types import Case, Field, Kind, Path, Reading, Value
from stationpoint.scene import Scene

Points = NDArray[np.float64]
Bits = NDArray[np.bool_]

LEAST_ARCMIN = 30.0
SIDE_M = 0.5  # a side counts as its surface's edge down to here below it: a step (common practice)

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
        "Pairs of walkable surfaces that share a border of 30' or more, within flat reach, but are out of "
        "reach of each other, the longest border first.",
        parts=PARTS,
        holds="groups",
    ),
    Field(
        ("false_breaks",),
        "",
        0,
        "Pairs of walkable surfaces within reach of each other that share no border and look out of reach, "
        "read flat, the longest flat distance first.",
        parts=PARTS,
        holds="groups",
    ),
)


def false_contacts(case: Case, whole: Parts, those: Pieces, depth_m: NDArray[np.float32]) -> list[Apart]:
    """Pairs of walkable surfaces that seem to touch and do not, the longest border first.

    whole: the scene in parts. those: the borders of its surfaces. depth_m: (h, w). A side of a node counts
    as its surface's edge down to half a metre below its upper faces. What stands on the other, or on
    something that does, is joined with it.
    Source: definition. Worked: orthographic, pitch 30, edges at (0, 0, 0) and (0, -3, -5.196): 0 px apart,
    6.0 m in space, 5.196 m level, 3 m down.
    """
    touching = _touching(case, whole.scene, those, depth_m)
    at, a, b = touching.at, touching.a, touching.b
    honest, there_to, back = is_honest(
        case.study.gap, tops(whole.scene), a, b, touching.on_a_m, touching.on_b_m
    )
    false = ~honest
    wrong = np.zeros(len(those.pair), dtype=bool)
    wrong[at[false]] = True
    found = []
    for pair in np.unique(those.pair[wrong]).tolist():
        mine = np.flatnonzero(false & (those.pair[at] == pair))
        length = float(those.arcmin[at[mine]].sum())
        if length < LEAST_ARCMIN:
            continue
        line = line_of(those, pair, wrong)
        middle = _middle(line)
        here = mine[int(((touching.px[mine] - middle) ** 2).sum(axis=1).argmin())]
        first_is_nearer = float(touching.nearer_m[mine].sum()) <= 0.0
        nodes = (a[here], b[here]) if first_is_nearer else (b[here], a[here])
        span = there_to if first_is_nearer else back
        names = whole.names[nodes[0]], whole.names[nodes[1]]
        level, height = float(span.across_m[here]), float(span.rise_m[here])
        found.append(Apart(*names, length, float(touching.flat_m[here]), level, height, middle, line))
    return sorted(found, key=lambda one: -(one.border_arcmin or 0.0))


def false_breaks(case: Case, whole: Parts, those: Pieces, ids: NDArray[np.uint32]) -> list[Apart]:
    """Pairs of walkable surfaces that can be reached from each other and seem not to be, the longest flat
    distance first.

    whole: the scene in parts. those: the borders of its surfaces. ids: (h, w). Those that share no border,
    and look farther apart than the longest reach. Source: definition. Worked: cavalier view, depth drawn
    straight up: 1.8 m farther and 1.5 m higher looks 3.3 m away.
    """
    joined = {(int(a), int(b)) for a, b in those.pairs}
    found = breaks(case, whole, _visible(whole, those, ids), joined)
    return sorted(found, key=lambda one: -one.flat_m)


@dataclass(frozen=True, slots=True, eq=False)
class _Touching:
    """Pieces of border at which two surfaces seem to touch: at (n,) their places among the pieces; a, b
    (n,) nodes; on_a_m, on_b_m (n, 3) the points of the surfaces; px (n, 2); flat_m (n,); nearer_m (n,)
    how much nearer to the camera a is."""

    at: NDArray[np.intp]
    a: NDArray[np.intp]
    b: NDArray[np.intp]
    on_a_m: Points
    on_b_m: Points
    px: Points
    flat_m: Points
    nearer_m: Points


def _visible(whole: Parts, those: Pieces, ids: NDArray[np.uint32]) -> NDArray[np.intp]:
    """Pixels in which each surface, (n,), is seen; of parts of meshes as many as they have borders."""
    seen = np.bincount(ids.ravel(), minlength=len(whole.own) + 1)[1:]
    counts = np.bincount(those.sides.ids.ravel().astype(np.intp), minlength=len(whole.names) + 1)[1:]
    is_whole = whole.own >= 0
    counts[whole.own[is_whole]] = seen[is_whole]
    return counts


def _touching(case: Case, scene: Scene, those: Pieces, depth_m: NDArray[np.float32]) -> _Touching:
    surfaces, camera = tops(scene), case.setup.camera
    at = np.flatnonzero(_doubtful(scene, those)[those.pair])
    a, b = those.nodes[at].T
    pixel = those.pixel[at]
    px = np.stack([pixel % camera.pixels[0], pixel // camera.pixels[0]], axis=2) + 0.5
    z_m = depth_m.ravel()[pixel].astype(np.float64)
    seen = [unproject_pixels(camera, px[:, k], z_m[:, k]) for k in (0, 1)]
    on = [nearest(surfaces, node, points) for node, points in zip((a, b), seen, strict=True)]
    below_m = np.maximum(*(np.linalg.norm(p - q, axis=1) for p, q in zip(seen, on, strict=True)))
    aside_px = [np.linalg.norm(project_points(camera, on[k]) - px[:, k], axis=1) for k in (0, 1)]
    nearer = np.where((z_m[:, 0] <= z_m[:, 1])[:, None], on[0], on[1])
    flat_m = np.nan_to_num((aside_px[0] + aside_px[1]) / frontal_px_per_m(camera, nearer), nan=np.inf)
    some = np.flatnonzero((below_m <= SIDE_M) & (flat_m <= looked_for_m(case.study.gap)))
    return _Touching(
        at[some], a[some], b[some], on[0][some], on[1][some], px[some].mean(axis=1), flat_m[some],
        (z_m[:, 0] - z_m[:, 1])[some],
    )  # fmt: skip


def _doubtful(scene: Scene, those: Pieces) -> Bits:
    """Which pairs, (p,), share a border long enough and do not stand on each other."""
    long = np.bincount(those.pair, those.arcmin, len(those.pairs)) >= LEAST_ARCMIN
    nodes = scene.nodes
    for k in np.flatnonzero(long):
        a, b = (nodes[place].name for place in those.pairs[k])
        long[k] = b not in stands_on(scene, a) and a not in stands_on(scene, b)
    return long


def _middle(line: Points) -> Points:
    """The point half way along a line (n, 2)."""
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    return np.array([np.interp(gone[-1] / 2.0, gone, line[:, k]) for k in (0, 1)])


def read(case: Case, frames: Frames) -> Reading:
    """Both lists; for marks ("false_contact", "0") and on: the border's line, ("false_break", "0"): from
    edge to edge."""
    values: dict[Path, Value] = {("false_contacts",): (), ("false_breaks",): ()}
    extras: dict[Path, Points] = {}
    if not _any(case):
        return Reading(values)
    main = frames[MAIN]
    ids, depth_m = present_plane(main.ids), present_plane(main.depth_m)
    seat = case.seats[0]
    scale = np.asarray(seat.picture_px) / case.setup.camera.pixels
    whole = parts(case.scene)
    those = pieces(part_borders(case, ids, depth_m), tops(whole.scene), seat, scale)
    for group, one, found in (
        ("false_contacts", "false_contact", false_contacts(case, whole, those, depth_m)),
        ("false_breaks", "false_break", false_breaks(case, whole, those, ids)),
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


def _any(case: Case) -> bool:
    """Whether there are two walkable surfaces at all."""
    return int(np.count_nonzero(tops(parts(case.scene).scene).walks)) > 1


def _shots(case: Case) -> dict[ShotKey, Shot]:
    return {MAIN: main_shot(case)} if _any(case) else {}


KIND = Kind("contacts", FIELDS, read, _shots)
