"""What a study names, found in the scene: targets, the subject, and the points that bound them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.base.geometry.order import distinct
from stationpoint.base.words import listed
from stationpoint.camera import backward_axis
from stationpoint.readings.types import Case, Field, Path
from stationpoint.scene import Node, Scene, box_node
from stationpoint.study import Target, body_height_m, mark_m, target_nodes, target_patterns

Points = NDArray[np.float64]

AT_ONCE = 4096  # points, which stay near the processor
FEW_VERTICES = 1500  # up to here all vertices are kept
CORNERS = np.array(list(product((False, True), repeat=3)))  # (8, 3): of a box, at which side of each axis
ANY = "*"
SUBJECT, SUBJECTS = "subject", "subjects"  # the player's own, and each by its name where there are several


@dataclass(frozen=True, slots=True, eq=False)
class SceneObject:
    """A target, the subject or a landing, as geometry.

    nodes: names of the scene's nodes that it is made of; empty for a point and for a virtual box.
    box: the virtual box as a node (neither drawn nor hiding), or None. points_m: (n, 3) world,
    points with the same convex hull as the thing; one row for a point. bounds_m: (2, 3) world.
    stands_at_m: its foot, (3,), where that is not the bottom centre of the bounds. further: of a subject,
    that it is not the player's own.
    """

    name: str
    role: str
    nodes: tuple[str, ...]
    box: Node | None
    points_m: Points
    bounds_m: Points
    stands_at_m: Points | None = None
    further: bool = False

    @property
    def path(self) -> Path:
        """How its readings' paths begin: ("targets", its name), ("subject",) or ("subjects", its name)."""
        if self.role == SUBJECT:
            return (SUBJECTS, self.name) if self.further else (SUBJECT,)
        return ("targets", self.name)

    @property
    def field_heads(self) -> tuple[Path, ...]:
        """How the paths of the fields begin that its readings fill: of the player's own subject also those of
        every subject by its name."""
        if self.role == SUBJECT:
            return ((SUBJECTS, ANY),) if self.further else ((SUBJECT,), (SUBJECTS, ANY))
        return (("targets", ANY),)

    @property
    def is_point(self) -> bool:
        """Whether it is a bare point, with no extent."""
        return not self.nodes and self.box is None

    @property
    def centre_m(self) -> Points:
        """Centre of the world bounds, (3,)."""
        centre: Points = (self.bounds_m[0] + self.bounds_m[1]) / 2.0
        return centre

    @property
    def foot_m(self) -> Points:
        """Where it stands, (3,): the bottom centre of the world bounds, unless it is known better."""
        if self.stands_at_m is not None:
            return self.stands_at_m
        centre = self.centre_m
        return np.array([centre[0], self.bounds_m[0, 1], centre[2]])

    @property
    def corners_m(self) -> Points:
        """The eight corners of the world bounds, (8, 3)."""
        low, high = self.bounds_m
        corners: Points = np.where(CORNERS, high, low)
        return corners


def and_subject(fields: Iterable[Field]) -> tuple[Field, ...]:
    """Fields of targets, and the same of the subject, which has no name in its path, and of each subject by
    its name."""
    given = tuple(fields)
    of_it = [field for field in given if field.path[0] == "targets" and field.path[2] != "role"]
    return (
        *given,
        *(replace(field, path=(SUBJECT, *field.path[2:])) for field in of_it),
        *(replace(field, path=(SUBJECTS, *field.path[1:])) for field in of_it),
    )


def asks_for(case: Case, thing: SceneObject, *end: str) -> bool:
    """Whether a field of a thing must be read, by the end of its path."""
    return case.marked or case.asked is None or end in _ends_asked(case.asked, thing.field_heads)


@lru_cache(maxsize=32)
def _ends_asked(asked: frozenset[Path], heads: tuple[Path, ...]) -> frozenset[Path]:
    """How the paths of asked fields end that begin so."""
    return frozenset(path[len(head) :] for path in asked for head in heads if path[: len(head)] == head)


def measured_objects(case: Case) -> tuple[SceneObject, ...]:
    """The study's targets in its order, then the subjects that are drawn, the player's own first."""
    return target_objects(case) + subject_objects(case)


def subject_objects(case: Case) -> tuple[SceneObject, ...]:
    """The subjects that are drawn, the player's own first."""
    subject = subject_object(case)
    own = () if subject is None else (subject,)
    return own + tuple(_further(case.scene, one.name, one.node or one.name) for one in case.study.others)


@lru_cache(maxsize=512)
def _further(scene: Scene, name: str, node: str) -> SceneObject:
    return replace(_made_of(scene, name, SUBJECT, (node,)), further=True)


def subject_nodes(case: Case) -> frozenset[str]:
    """Names of the nodes of the subjects that are drawn."""
    return frozenset(name for one in subject_objects(case) for name in one.nodes)


def target_objects(case: Case) -> tuple[SceneObject, ...]:
    """The study's targets in its order, in the scene as the place moves it."""
    return tuple(target_object(case.scene, target) for target in case.study.target)


@lru_cache(maxsize=512)
def target_object(scene: Scene, target: Target) -> SceneObject:
    """The thing that a target names."""
    if not target_patterns(target):
        if target.at is None:
            raise StudyWrong(f'target "{target.name}" names no node and no point; give node, nodes or at.')
        if target.size is None:
            point = np.array([target.at], dtype=np.float64)
            return SceneObject(target.name, target.role, (), None, point, np.repeat(point, 2, axis=0))
        box = box_node(target.name, target.at, target.size)
        corners = box.vertices.astype(np.float64)
        bounds = np.array([corners.min(axis=0), corners.max(axis=0)])
        return SceneObject(target.name, target.role, (), box, corners, bounds)
    names = target_nodes(target, scene.names)
    if not names:
        missing = listed([f'"{pattern}"' for pattern in target_patterns(target)])
        raise StudyWrong(f'target "{target.name}": the scene has no node {missing}.')
    return _made_of(scene, target.name, target.role, names)


@lru_cache(maxsize=512)
def node_object(scene: Scene, name: str, role: str = "") -> SceneObject:
    """One node of the scene as a thing."""
    return _made_of(scene, name, role, (name,))


def subject_name(case: Case) -> str | None:
    """Name of the subject's node in the scene, or None where none is drawn."""
    subject = case.study.subject
    if subject is not None:
        name = subject.node or subject.name
        return name if name in case.scene and case.study.shows_subject else None
    return next((node.name for node in case.scene.nodes if node.kind == "subject"), None)


def subject_object(case: Case) -> SceneObject | None:
    """The subject as a thing, or None where none is drawn."""
    name = subject_name(case)
    return None if name is None else node_object(case.scene, name, SUBJECT)


def subject_foot_m(case: Case) -> Points:
    """The subject's foot, (3,) world: that of its node, else what the anchor was raised from."""
    subject = subject_object(case)
    if subject is not None:
        return subject.foot_m
    return np.array(case.setup.foot_m)


def anchor_m(case: Case) -> Points:
    """The anchor as something drawn, (3,) world: nan in first person, where it is the eye itself."""
    return np.full(3, np.nan) if case.setup.at_anchor else np.array(case.setup.anchor_m, dtype=np.float64)


def subject_heading(case: Case) -> Points:
    """The level unit direction that the subject faces at the case's place, (3,) world."""
    return -backward_axis(_heading_deg(case), 0.0)


def _heading_deg(case: Case) -> float:
    own = 0.0 if case.study.subject is None else case.study.subject.heading_deg
    return own if case.place.heading_deg is None else case.place.heading_deg


def limbs_m(case: Case) -> Points:
    """The points that bound the subjects, (n, 3) world: of each its parts where the study names some, turned
    with it, and of one that crouches at the place lower; else the corners of its bounds; none where none is
    drawn."""
    lower = body_m(case) / body_height_m(case.study, case.scene)
    told = {one.name: one for one in case.study.others}
    found = [np.zeros((0, 3))]
    for thing in subject_objects(case):
        one = told[thing.name] if thing.further else case.study.subject
        if one is None or not one.part:
            found.append(thing.corners_m)
            continue
        at = np.array([part.at for part in one.part], dtype=np.float64)
        turn = np.radians(one.heading_deg if thing.further else _heading_deg(case))
        x, y, z = (at * (1.0, 1.0 if thing.further else lower, 1.0)).T
        across, along = x * np.cos(turn) + z * np.sin(turn), z * np.cos(turn) - x * np.sin(turn)
        found.append(thing.foot_m + np.column_stack([across, y, along]))
    return np.concatenate(found)


def body_m(case: Case) -> float:
    """The subject's height in metres at the case's place."""
    return body_height_m(case.study, case.scene, case.place)


def case_mark_m(case: Case) -> float:
    """The length in metres of the marks that stand beside the subject."""
    return mark_m(case.study, case.scene)


def _made_of(scene: Scene, name: str, role: str, names: tuple[str, ...]) -> SceneObject:
    points = np.concatenate([hull_points(scene.node(each)) for each in names])
    bounds = np.array([points.min(axis=0), points.max(axis=0)])
    stands_at = scene.node(names[0]).stands_at if len(names) == 1 else None
    return SceneObject(name, role, names, None, points, bounds, stands_at)


@lru_cache(maxsize=2048)
def hull_points(node: Node) -> Points:
    """Vertices of the node, (n, 3), without those that lie inside the others' convex hull.

    Exact: what is left has the same convex hull. Up to a few hundred vertices all are kept.
    """
    points = node.vertices.astype(np.float64)
    if len(points) <= FEW_VERTICES:
        return np.unique(points, axis=0, return_index=True)[0]  # asked so, numpy leaves numpy.ma alone
    kept: Points = points[~_inside_extremes(points)]
    return kept


def _inside_extremes(points: Points) -> NDArray[np.bool_]:
    """Which points (n, 3) lie well inside the polytope of the extremes in 50 directions."""
    grid = [np.array(d, dtype=float) for d in product((-1, 0, 1), repeat=3) if any(d)]
    knights = [np.array(d, dtype=float) for d in product((-2, -1, 0, 1, 2), repeat=3)]
    directions = np.array(grid + [d for d in knights if sorted(np.abs(d)) == [0, 1, 2]])
    centred = points - points.mean(axis=0)
    extreme = centred[distinct(_farthest(centred, directions))]
    triples = np.array(list(combinations(range(len(extreme)), 3)))
    if not len(triples):
        return np.zeros(len(points), dtype=bool)
    a, b, c = (extreme[triples[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    lengths = np.linalg.norm(normals, axis=1)
    size = float(np.abs(extreme).max()) or 1.0
    fine = lengths > 1e-9 * size * size
    normals = normals[fine] / lengths[fine, None]
    offsets = np.einsum("ij,ij->i", normals, a[fine])
    sides = extreme @ normals.T - offsets
    tolerance = 1e-9 * size
    above, below = (sides > tolerance).any(axis=0), (sides < -tolerance).any(axis=0)
    faces = above != below
    if not faces.any():
        return np.zeros(len(points), dtype=bool)
    sign = np.where(above[faces], -1.0, 1.0)
    outward, limit = normals[faces] * sign[:, None], (offsets[faces] * sign - 1e-6 * size)[:, None]
    inside = np.ones(len(points), dtype=bool)
    for start in range(0, len(points), AT_ONCE):
        part = slice(start, start + AT_ONCE)
        inside[part] = (outward @ centred[part].T < limit).all(axis=0)
    return inside


def _farthest(points: Points, directions: Points) -> NDArray[np.intp]:
    """The number of the point, of (n, 3), that lies farthest in each direction (m, 3)."""
    reach, number = np.full(len(directions), -np.inf), np.zeros(len(directions), dtype=np.intp)
    for start in range(0, len(points), AT_ONCE):
        along = directions @ points[start : start + AT_ONCE].T
        which, most = along.argmax(axis=1), along.max(axis=1)
        farther = most > reach
        number[farther], reach[farther] = start + which[farther], most[farther]
    return number
