"""Walkable surfaces of a scene, made once and handed on: which nodes count, and what forms one flight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import cos, radians

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.columns import heights_over, spots_over, step_by_step
from stationpoint.base.geometry.linked import linked
from stationpoint.base.geometry.nearest import faces_meeting, nearest_on_triangles
from stationpoint.base.geometry.order import distinct
from stationpoint.readings.contacts.reach import Reach
from stationpoint.readings.contacts.upper import WELD_M, Upper, upper_faces
from stationpoint.readings.things.ends import ends
from stationpoint.readings.things.things import body_m, subject_foot_m, subject_name, target_objects
from stationpoint.readings.types import Case
from stationpoint.scene import Scene, under

Points = NDArray[np.float64]
Whole = NDArray[np.intp]
Bits = NDArray[np.bool_]
Spot = tuple[float, float, float]

LEAST_M2 = 0.25  # a body's footprint
STEP_SHARE = 0.3  # of the body's height: a step, between treads that form one flight (common practice)
TREAD_M2 = 2.0  # up to here a surface of a node of its own may be a tread (common practice)
ALIKE_DEG = 15.0  # tiles of one ground slope alike where they meet (common practice)
SPOT_M = 0.2  # how far apart heights are compared
ON_M = 0.05  # a face this near to what is stood on is stood on
NONE, SEVERAL = -1, -2


@dataclass(frozen=True, slots=True, eq=False)
class Surfaces:
    """The walkable surfaces of a scene, n of them.

    names: of each, its node's, a flight's first. faces: of each (m, 3, 3), upper faces. low, high: (n, 3)
    their bounds. counts: (n,) of faces. starts: (n,) whether the subject or a take-off stands on it. own:
    (nodes,) the surface of each node of the scene, NONE, or SEVERAL. several: by place of such a node all
    its upper faces, the surface of each face, NONE where it is too small, and its surfaces. step_m: a step.
    reach: how far the player gets. known: of pairs that some view has asked for, as `pair_codes` numbers
    them, the nearest points of either, (2, 3), the same in every view; None where they are out of reach.
    """

    names: tuple[str, ...]
    faces: tuple[Points, ...]
    low: Points
    high: Points
    counts: Whole
    starts: Bits
    own: Whole
    several: dict[int, tuple[Points, Whole, Whole]]
    step_m: float
    reach: Reach
    known: dict[int, Points | None] = field(default_factory=dict)

    def pair_codes(self, a: Whole, b: Whole) -> Whole:
        """A whole number, (n,), for each pair of surfaces a and b."""
        return a * len(self.names) + b


@lru_cache(maxsize=4)
def surfaces(case: Case) -> Surfaces:
    """The walkable surfaces of a case: upper faces of walkable nodes, joined, of 0.25 m2 and more.

    Solids are walkable by their key, nodes of meshes by name. Where no node of a mesh is said to be, only
    what the study names counts of meshes: targets, and the surfaces that the subject stands on at any of
    its places, take-offs and landings. Surfaces of one node that are connected step by step are one; so are
    treads of several nodes, and tiles that go on as one ground. Source: definition.
    """
    subject, study = case.study.subject, case.study
    gaps = [ends(case, gap) for gap in study.gap]
    starts = [_spot(one.from_m) for one in gaps]
    others = [_spot(one.to_m) for one in gaps]
    if subject is not None:
        starts.append(_spot(subject_foot_m(case)))
        others += [place.at for place in study.places if place.at is not None]
        others += [] if subject.at is None else [subject.at]
    targets = frozenset(name for one in target_objects(case) for name in one.nodes)
    reach = Reach(study.gap, body_m(case))
    return _surfaces(case.scene, tuple(starts), tuple(others), targets, subject_name(case), reach)


def _spot(at: Points) -> Spot:
    x, y, z = at.tolist()
    return x, y, z


@lru_cache(maxsize=256)
def _surfaces(
    scene: Scene,
    starts: tuple[Spot, ...],
    others: tuple[Spot, ...],
    targets: frozenset[str],
    subject: str | None,
    reach: Reach,
) -> Surfaces:
    is_told = any(node.walkable and node.kind == "mesh" for node in scene.nodes)
    stood = [_stood_on(scene, spot, subject) for spot in (*starts, *others)]
    whole, named = [], set()
    for k, node in enumerate(scene.nodes):
        if node.kind == "subject" or node.name == subject:
            continue
        if node.walkable or (node.kind == "mesh" and not is_told and node.name in targets):
            whole.append(k)
        elif node.kind == "mesh" and not is_told:
            named |= {one for one in stood if one is not None and one[0] == k}
    places = sorted({*whole, *(k for k, _ in named)})
    uppers = upper_faces([scene.nodes[k] for k in places])
    first = dict(zip(places, np.cumsum([0, *(one.pieces for one in uppers)]).tolist(), strict=False))
    step_m = STEP_SHARE * reach.body_m
    corners, piece, area_m2 = _joined(uppers)
    flight = _flights(uppers, corners, piece, area_m2, step_m)
    counts = np.zeros(int(flight.max(initial=-1)) + 1, dtype=bool)
    of_node = np.repeat(np.array(places, np.intp), np.array([one.pieces for one in uppers], np.intp))
    counts[flight[np.isin(of_node, whole)]] = True
    for k, one in named:
        counts[flight[first[k] + one]] = True
    label = flight[piece]
    area = np.bincount(label, area_m2, len(counts))
    kept = np.flatnonzero(counts & (area >= LEAST_M2))
    number = np.full(len(counts), NONE, dtype=np.intp)
    number[kept] = np.arange(len(kept))
    is_start = np.zeros(len(kept), dtype=bool)
    for at in stood[: len(starts)]:
        if at is not None and at[0] in first and number[flight[first[at[0]] + at[1]]] >= 0:
            is_start[number[flight[first[at[0]] + at[1]]]] = True
    lengths = np.array([len(one.face) for one in uppers], dtype=np.intp)
    return _made(scene, places, lengths, corners, number[label], is_start, step_m, reach)


def _joined(uppers: Sequence[Upper]) -> tuple[Points, Whole, Points]:
    """The corners (m, 3, 3) of the upper faces of all nodes, one after another, the number of the piece that
    each is of, numbered through, and its area."""
    starts = np.cumsum([0, *(one.pieces for one in uppers)])
    none = np.zeros((0, 3, 3)), np.zeros(0, dtype=np.intp), np.zeros(0)
    return (
        np.concatenate([none[0], *(one.corners for one in uppers)]),
        np.concatenate([none[1], *(one.piece + start for one, start in zip(uppers, starts, strict=False))]),
        np.concatenate([none[2], *(one.area_m2 for one in uppers)]),
    )


def _made(
    scene: Scene,
    places: Sequence[int],
    lengths: Whole,
    corners: Points,
    label: Whole,
    starts: Bits,
    step_m: float,
    reach: Reach,
) -> Surfaces:
    """The surfaces. lengths: of the node at each place how many upper faces it has; corners (m, 3, 3), label
    (m,): of all of these the corners, and the surface, NONE of those that count for nothing."""
    own = np.full(len(scene.nodes), NONE, dtype=np.intp)
    several: dict[int, tuple[Points, Whole, Whole]] = {}
    ends = np.cumsum(lengths)
    some = np.flatnonzero(lengths)
    first = (ends - lengths)[some]
    least, most = (side.reduceat(label, first) if len(some) else first for side in (np.minimum, np.maximum))
    for k, low_label, high_label in zip(some.tolist(), least.tolist(), most.tolist(), strict=True):
        own[places[k]] = low_label if low_label == high_label else SEVERAL
        if low_label != high_label:
            mine = slice(ends[k] - lengths[k], ends[k])
            labels = distinct(label[mine])
            several[places[k]] = corners[mine], label[mine], labels[labels >= 0]
    order = np.argsort(label, kind="stable")[np.count_nonzero(label == NONE) :]
    begin = np.searchsorted(label[order], np.arange(len(starts)))
    sorted_corners = corners[order]
    faces = tuple(np.split(sorted_corners, begin[1:])) if len(starts) else ()
    # Faces stand by their nodes, in the order of these: the first of a surface is of its first node.
    of_node = np.searchsorted(ends, order[begin], side="right").tolist()
    names = tuple(scene.nodes[places[k]].name for k in of_node)
    low, high = (
        side.reduceat(at(sorted_corners, axis=1), begin) if len(starts) else np.zeros((0, 3))
        for side, at in ((np.minimum, np.min), (np.maximum, np.max))
    )
    counts = np.diff(begin, append=len(order))
    return Surfaces(names, faces, low, high, counts, starts, own, several, step_m, reach)


def _stood_on(scene: Scene, spot: Spot, subject: str | None) -> tuple[int, int] | None:
    """Place of the node under a spot, and the piece of it that is stood on there; None over a void."""
    below = under(scene, spot, ignoring=() if subject is None else (subject,))
    if below is None:
        return None
    place = scene.id_of(below[0]) - 1
    one = upper_faces([scene.nodes[place]])[0]
    if not one.pieces:
        return None
    at = np.array(spot) - (0.0, below[1], 0.0)
    some = faces_meeting(scene.nodes[place].blocks, at - ON_M, at + ON_M)
    near = np.searchsorted(one.face, some[np.isin(some, one.face)])
    away = np.linalg.norm(nearest_on_triangles(at, one.corners[near]) - at, axis=1)
    if not (away <= ON_M).any():
        return None
    return place, int(one.piece[near[away.argmin()]])


def _flights(uppers: Sequence[Upper], corners: Points, piece: Whole, area_m2: Points, step_m: float) -> Whole:
    """The flight of every piece, all nodes' pieces one after another. corners (m, 3, 3), piece (m,), area_m2
    (m,): of all upper faces."""
    starts = np.cumsum([0, *(one.pieces for one in uppers)])
    if not len(uppers):
        return np.zeros(0, dtype=np.intp)
    area = np.bincount(piece, area_m2, int(starts[-1]))
    pairs = [_flush(corners, piece)]
    for one, start in zip(uppers, starts, strict=False):
        if one.pieces > 1:
            pairs.append(_steps(one.corners, one.piece + start, step_m))
    is_tread = (area <= TREAD_M2)[piece]
    pairs.append(_steps(corners[is_tread], piece[is_tread], step_m))
    first, second = (np.concatenate([pair[k] for pair in pairs]) for k in (0, 1))
    return linked(int(starts[-1]), first, second)


def _flush(corners: Points, piece: Whole) -> tuple[Whole, Whole]:
    """Pairs of pieces that go on as one: with a corner in common, at which they slope alike."""
    face = _near_others(corners, piece)
    at = np.round(corners[face].reshape(-1, 3) / WELD_M).astype(np.int64)
    face = np.repeat(face, 3)
    order = np.lexsort((piece[face], *at.T))
    at, face = at[order], face[order]
    same = (at[1:] == at[:-1]).all(axis=1)
    # Pieces that meet at a corner stand together in order: each is held against the one before it.
    meets = np.flatnonzero(same & (piece[face[1:]] != piece[face[:-1]]))
    a, b = face[meets], face[meets + 1]
    alike = (_upward(corners[a]) * _upward(corners[b])).sum(axis=1) >= cos(radians(ALIKE_DEG))
    return piece[a[alike]], piece[b[alike]]


def _near_others(corners: Points, piece: Whole) -> Whole:
    """The numbers of the triangles, rising, without those of the piece of the most that are away from all
    others: of a scan or a terrain that is nearly all."""
    main = piece == np.bincount(piece, minlength=1).argmax()
    if main.all():
        return np.zeros(0, dtype=np.intp)
    others = corners[~main].reshape(-1, 3)
    low, high = others.min(axis=0) - 2.0 * WELD_M, others.max(axis=0) + 2.0 * WELD_M
    near: Whole = np.flatnonzero(~main | ((corners >= low) & (corners <= high)).all(axis=2).any(axis=1))
    return near


def _upward(corners: Points) -> Points:
    """Unit normals (n, 3) of triangles (n, 3, 3), on the side that looks up; zero if degenerate."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal *= np.where(normal[:, 1] < 0.0, -1.0, 1.0)[:, None]
    unit: Points = normal / np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None]
    return unit


def _steps(corners: Points, piece: Whole, step_m: float) -> tuple[Whole, Whole]:
    """Pairs of pieces that are a step apart somewhere. corners: (m, 3, 3). piece: (m,)."""
    if not len(piece) or (piece == piece[0]).all():
        return np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp)
    xs, zs = spots_over(corners, SPOT_M)
    spot, height, face = heights_over(corners, xs, zs)
    return step_by_step(spot, height, piece[face], len(zs), step_m)
