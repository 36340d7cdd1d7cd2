"""Who is drawn in a Shot: what stands where the scene has it, and what is a guest there.

Both renderers keep the scene as they got it; only guests (moved and extra nodes) are new geometry.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import listed, nearest
from stationpoint.camera import MOST_WHOLE, PLANES, WHOLE, Shot
from stationpoint.scene import Node, Scene

GUESTS_KEPT = 4  # of the latest: one stands in many stages beside others


@dataclass(frozen=True, slots=True, eq=False)
class Stage:
    """Who is drawn.

    standing: (n,) bool, the scene's nodes that stand where the scene has them. guests: moved and
    extra nodes at their places; guest_ids: their ids. key: equal for two shots with the same stage.
    """

    standing: NDArray[np.bool_]
    guests: tuple[Node, ...]
    guest_ids: tuple[int, ...]
    key: Hashable


def stage_of(scene: Scene, shot: Shot) -> Stage:
    """Who is drawn in `shot`; an unknown name or plane is an error that names it."""
    check(scene, shot)
    standing = np.ones(len(scene.nodes), dtype=bool)
    if shot.show is not None:
        standing[:] = False
        standing[[scene.id_of(name) - 1 for name in shot.show if name in scene]] = True
    guests, ids = [], []
    for name, matrix in dict(shot.moves).items():
        place = scene.id_of(name) - 1
        if standing[place]:
            standing[place] = False
            at = np.asarray(matrix, dtype=np.float64)
            guests.append(_moved(scene.node(name), at.tobytes()))
            ids.append(place + 1)
    guests.extend(shot.extra)
    ids.extend(len(scene.nodes) + 1 + k for k in range(len(shot.extra)))
    return Stage(standing, tuple(guests), tuple(ids), stage_key(shot))


def stage_key(shot: Shot) -> Hashable:
    """Equal for two shots that draw the same nodes at the same places.

    Extra nodes are told apart by identity: whoever keeps the key must keep the nodes as well.
    """
    moves = tuple((name, np.asarray(matrix, dtype=np.float64).tobytes()) for name, matrix in shot.moves)
    return shot.show, moves, tuple(map(id, shot.extra))


def moved(node: Node, matrix: NDArray[np.float64]) -> Node:
    """The node at another place, its faces still outward after a mirroring. matrix: (4, 4) world."""
    m = np.asarray(matrix, dtype=np.float64)
    vertices = node.vertices.astype(np.float64) @ m[:3, :3].T + m[:3, 3]
    faces = node.faces[:, ::-1] if np.linalg.det(m[:3, :3]) < 0.0 else node.faces
    return replace(node, vertices=vertices.astype(np.float32), faces=faces)


@lru_cache(maxsize=GUESTS_KEPT)
def _moved(node: Node, matrix: bytes) -> Node:
    """The same for the same: what is found of it is found once."""
    return moved(node, np.frombuffer(matrix).reshape(4, 4))


def check(scene: Scene, shot: Shot) -> None:
    """Raise StudyWrong, naming it, for a plane or a node that a shot asks for and that is not there."""
    unknown = sorted(set(shot.planes) - PLANES)
    if unknown:
        raise StudyWrong(f"No renderer draws the plane {unknown[0]!r}; there are {listed(sorted(PLANES))}.")
    extra = {node.name for node in shot.extra}
    _check_names(scene, extra, shot.show or (), "show")
    _check_names(scene, set(), (name for name, _ in shot.moves), "move")
    _check_names(scene, extra, shot.casters or (), "cast a shadow")
    if WHOLE in shot.planes:
        if len(shot.whole) > MOST_WHOLE:
            raise StudyWrong(f"{len(shot.whole)} whole silhouettes in one shot; at most {MOST_WHOLE} fit.")
        for group in shot.whole:
            _check_names(scene, extra, group, "outline")


def _check_names(scene: Scene, extra: set[str], names: Iterable[str], what: str) -> None:
    for name in names:
        if name not in scene and name not in extra:
            near = nearest(name, [node.name for node in scene.nodes])
            hint = f"Did you mean {near!r}?" if near else ""
            raise StudyWrong(f"There is no node {name!r} in the scene to {what}.", hint)
