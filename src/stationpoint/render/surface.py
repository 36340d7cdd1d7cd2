"""Nodes -> one triangle list with smooth or faceted normals: what both renderers are fed with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, reduce

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.order import stable_order
from stationpoint.base.geometry.vectors import cross, length
from stationpoint.render.own import FaceColours, face_colours, joined, none_of
from stationpoint.render.stage import GUESTS_KEPT
from stationpoint.scene import Node

SMOOTH_DEG = 30.0  # two faces that meet at less than this are drawn as one rounded surface
AT_ONCE = 8192  # triangles, or places where corners meet
MANY = 4096  # triangles of a node whose order is made better
SEALED_KINDS = frozenset({"box", "ramp", "stairs", "cylinder", "cone", "sphere", "capsule", "subject"})

Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """All triangles of some nodes, node by node.

    A triangle: corners (m, 3, 3) f32 metres, world minus `centre_m`; normals (m, 3, 3) f32, unit, one
    a corner; round (m,), whether they bend; node (m,) i32, place of its node in the list.
    A node: starts (n + 1,) i64, its first triangle; ids (n,) u32; tints (n, 3) u8 sRGB; gridded,
    backs_open, ground (n,); sealed (n,), a solid whose backs nobody outside can see; low, high (n, 3)
    f64 bounds, world minus centre_m, nan for a node with no vertex.
    own: its triangles' own colours, None where nobody asks for them and nothing lets sight through.
    """

    corners: Floats
    normals: Floats
    round: Mask
    node: NDArray[np.int32]
    starts: NDArray[np.int64]
    ids: NDArray[np.uint32]
    tints: NDArray[np.uint8]
    gridded: Mask
    backs_open: Mask
    ground: Mask
    sealed: Mask
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    own: FaceColours | None = None


PER_FACE = ("corners", "normals", "round")
PER_NODE = ("ids", "tints", "gridded", "backs_open", "ground", "sealed", "low", "high")


def centre_of(nodes: Sequence[Node]) -> NDArray[np.float64]:
    """Where float32 coordinates are counted from, (3,), whole metres.

    The origin, unless the nodes lie so far from it that float32 would lose millimetres.
    """
    corners = [node.vertices for node in nodes if len(node.vertices)]
    if not corners:
        return np.zeros(3)
    low = np.min([part.min(axis=0) for part in corners], axis=0).astype(np.float64)
    high = np.max([part.max(axis=0) for part in corners], axis=0).astype(np.float64)
    middle: NDArray[np.float64] = np.round((low + high) / 2.0)
    return middle if np.abs(middle).max() > 1000.0 else np.zeros(3)


_found_before: list[tuple[Sequence[Node], Surface]] = []


def find_before(nodes: Sequence[Node]) -> None:
    """Find a scene's surface before processes are forked, which then need not."""
    _found_before[:] = [(nodes, surface_of_scene(nodes))]


def surface_of_scene(nodes: Sequence[Node], own: bool = False) -> Surface:
    """The triangles of all nodes of a scene, as surface_of has them; what was found before is given once."""
    for known, surface in _found_before:
        if known is nodes and not own:
            _found_before.clear()
            return surface
    return _neighbours_together(surface_of(nodes, range(1, len(nodes) + 1), centre_of(nodes), own), nodes)


def _neighbours_together(surface: Surface, nodes: Sequence[Node]) -> Surface:
    """With the triangles of each node of many in the order of its index, in which neighbours stand together:
    of what is drawn in blocks more is left out. Those in one place keep their order, and so does which is
    seen."""
    order = np.arange(len(surface.node))
    for node, start in zip(nodes, surface.starts, strict=False):
        if len(node.faces) >= MANY:
            order[start : start + len(node.faces)] = start + node.blocks.face.reshape(-1)[: len(node.faces)]
    return faces_of(surface, order) if any(len(node.faces) >= MANY for node in nodes) else surface


def surface_of(
    nodes: Sequence[Node], ids: Sequence[int], centre_m: NDArray[np.float64], own: bool = False
) -> Surface:
    """The triangles of `nodes` with the given ids, coordinates counted from `centre_m` (3,). own: with
    their own colours, which they have in any case where something lets sight through."""
    vertex_counts = np.array([len(node.vertices) for node in nodes], dtype=np.int64)
    face_counts = np.array([len(node.faces) for node in nodes], dtype=np.int64)
    starts = np.concatenate([[0], np.cumsum(face_counts)])
    node = np.repeat(np.arange(len(nodes), dtype=np.int32), face_counts)
    vertices = np.concatenate([n.vertices for n in nodes] or [np.zeros((0, 3), np.float32)])
    if centre_m.any():
        vertices = (vertices.astype(np.float64) - centre_m).astype(np.float32)
    vertex_starts = np.concatenate([[0], np.cumsum(vertex_counts)])
    faces = np.concatenate(
        [n.faces + start for n, start in zip(nodes, vertex_starts, strict=False)]
        or [np.zeros((0, 3), np.int64)]
    )
    corners = np.take(vertices, faces, axis=0)
    low, high = _bounds(vertices, vertex_starts)
    normals = _corner_normals(corners, np.take(_welded(vertices, vertex_counts), faces))
    return Surface(
        corners=corners,
        normals=normals,
        round=_bends(normals),
        node=node,
        starts=starts,
        ids=np.array(ids, dtype=np.uint32),
        tints=np.array([n.tint for n in nodes], dtype=np.uint8).reshape(-1, 3),
        gridded=np.array([n.gridded for n in nodes], dtype=bool),
        backs_open=np.array([n.backs_open for n in nodes], dtype=bool),
        ground=np.array([n.kind == "ground" for n in nodes], dtype=bool),
        sealed=np.array([n.closed and n.kind in SEALED_KINDS for n in nodes], dtype=bool),
        low=low,
        high=high,
        own=face_colours(nodes) if own or any(n.is_sheer for n in nodes) else None,
    )


def surface_of_guests(
    nodes: Sequence[Node], ids: Sequence[int], centre_m: NDArray[np.float64], own: bool = False
) -> Surface:
    """As surface_of, of one or more moved and extra nodes, of which the latest are kept."""
    at = tuple(centre_m.tolist())
    return reduce(join_surfaces, (_of_guest(node, k, at, own) for node, k in zip(nodes, ids, strict=True)))


@lru_cache(maxsize=GUESTS_KEPT)
def _of_guest(node: Node, number: int, centre_m: tuple[float, ...], own: bool) -> Surface:
    return surface_of([node], [number], np.array(centre_m), own)


def _bends(normals: Floats) -> Mask:
    """Whether the normals of a triangle's corners differ, (m,); normals: (m, 3, 3)."""
    found = np.zeros(len(normals), dtype=bool)
    for a, b, c in normals.transpose(2, 1, 0):
        found |= np.maximum(np.maximum(a, b), c) - np.minimum(np.minimum(a, b), c) > 0.01
    return found


def face_normals(corners: Floats) -> Floats:
    """Unit normals (m, 3) of triangles (m, 3, 3), counterclockwise from outside; zero if degenerate."""
    face = cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    face /= np.maximum(length(face), 1e-30)[:, None]
    return face


def part_of(surface: Surface, kept: Mask) -> Surface:
    """The kept nodes alone; kept: (n,)."""
    if kept.all():
        return surface
    faces = kept[surface.node]
    number = np.cumsum(kept, dtype=np.int32) - np.int32(1)
    counts = np.diff(surface.starts)[kept]
    return Surface(
        **{name: getattr(surface, name)[faces] for name in PER_FACE},
        node=number[surface.node[faces]],
        starts=np.concatenate([[0], np.cumsum(counts)]),
        **{name: getattr(surface, name)[kept] for name in PER_NODE},
        own=None if surface.own is None else surface.own.kept(faces),
    )


def faces_of(surface: Surface, kept: Mask | NDArray[np.intp]) -> Surface:
    """Some of the triangles of all nodes; kept: (m,), or their numbers, node by node."""
    if kept.dtype == bool and kept.all():
        return surface
    counts = np.bincount(surface.node[kept], minlength=len(surface.ids))
    return replace(
        surface,
        **{name: getattr(surface, name)[kept] for name in PER_FACE},
        node=surface.node[kept],
        starts=np.concatenate([[0], np.cumsum(counts)]),
        own=None if surface.own is None else surface.own.kept(kept),
    )


def join_surfaces(a: Surface, b: Surface) -> Surface:
    """All nodes of a, then those of b."""
    both = {name: np.concatenate([getattr(a, name), getattr(b, name)]) for name in (*PER_FACE, *PER_NODE)}
    own = None
    if a.own is not None or b.own is not None:
        own = joined(a.own or none_of(len(a.node)), b.own or none_of(len(b.node)))
    return Surface(
        node=np.concatenate([a.node, b.node + np.int32(len(a.ids))]),
        starts=np.concatenate([a.starts, a.starts[-1] + b.starts[1:]]),
        own=own,
        **both,
    )


def _bounds(vertices: Floats, starts: NDArray[np.int64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest corner, (n, 3) each, of runs of vertices; nan for an empty run."""
    low = np.full((len(starts) - 1, 3), np.nan)
    high = np.full((len(starts) - 1, 3), np.nan)
    full = np.flatnonzero(np.diff(starts))
    if len(full):
        low[full] = np.minimum.reduceat(vertices, starts[full])
        high[full] = np.maximum.reduceat(vertices, starts[full])
    return low, high


def _welded(vertices: Floats, counts: NDArray[np.int64]) -> NDArray[np.int64]:
    """A number per vertex, (n,): of one of those of its node that lie at the same place."""
    bits = (vertices + np.float32(0.0)).view(np.uint32).astype(np.uint64)  # + 0: no minus zero
    key = np.repeat(np.arange(len(counts), dtype=np.uint64), counts)
    for axis, odd in enumerate((0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9)):
        key = (key ^ bits[:, axis]) * np.uint64(odd)  # multiplicative hashing; overflow is meant
        key ^= key >> np.uint64(29)
    order = np.argsort(key)
    alike = key[order]
    first = np.flatnonzero(np.append(True, alike[1:] != alike[:-1])[: len(alike)])
    number = np.empty(len(key), dtype=np.int64)
    number[order] = np.repeat(order[first], np.diff(first, append=len(key)))
    return number


def _corner_normals(corners: Floats, welded: NDArray[np.int64]) -> Floats:
    """Unit normals, (m, 3, 3): each corner's mean over the faces there that bend less than SMOOTH_DEG.

    Faces are weighted by their angle at the corner, so that how a flat part is cut into triangles
    does not matter. corners: (m, 3, 3). welded: (m, 3), equal numbers meet.
    """
    result = np.empty((3 * len(corners), 3), dtype=np.float32)
    face = np.empty((3, len(corners)), dtype=np.float32)
    angles = np.empty((len(corners), 3), dtype=np.float32)
    # Some thousands at a time, which stay near the processor, in rows of an axis each: quick with numpy.
    for start in range(0, len(corners), AT_ONCE):
        some = slice(start, start + AT_ONCE)
        face[:, some], angles[some] = _facing(np.ascontiguousarray(corners[some].transpose(1, 2, 0)))
    order = stable_order(welded.reshape(-1))
    group = welded.reshape(-1)[order]
    first = np.flatnonzero(np.append(True, group[1:] != group[:-1])[: len(group)])
    for start in range(0, len(first), AT_ONCE):
        here = first[start : start + AT_ONCE]
        end = first[start + AT_ONCE] if start + AT_ONCE < len(first) else len(group)
        some = slice(here[0], end)
        turned = np.take(face, order[some] // 3, axis=1), np.take(angles, order[some])
        result[order[some]] = _smoothed(*turned, group[some], here - here[0]).T
    return result.reshape(-1, 3, 3)


def _smoothed(facing: Floats, angles: Floats, group: NDArray[np.int64], first: NDArray[np.int64]) -> Floats:
    """Unit normals, (3, n), of corners that stand together by the place where they meet.

    facing: (3, n) normals of their faces. angles: (n,). group: (n,) the place. first: where each begins."""
    sizes = np.diff(first, append=len(group))
    total = facing * angles
    mean = np.add.reduceat(total, first, axis=1)
    mean /= np.maximum(_length(mean), 1e-30)
    smooth: Floats = np.repeat(mean, sizes, axis=1)
    spread = np.minimum.reduceat(_dot(facing, smooth), first)
    # Where every face lies within half the angle of the mean, all of them meet smoothly. The rest
    # is compared pair by pair.
    mixed = np.flatnonzero(np.repeat(spread < np.cos(np.radians(SMOOTH_DEG / 2.0)), sizes))
    if len(mixed):
        turned, weighted = (np.ascontiguousarray(each[:, mixed].T) for each in (facing, total))
        smooth[:, mixed] = _pairwise(turned, weighted, group[mixed]).T
    return smooth


def _facing(rows: Floats) -> tuple[Floats, Floats]:
    """Unit normals (3, m) of triangles (3 corners, 3 axes, m), and their angles at each corner, radians,
    (m, 3)."""
    edges = np.roll(rows, -1, axis=0) - rows
    face = _crossed(edges[0], rows[2] - rows[0])
    face /= np.maximum(_length(face), 1e-30)
    out = [edge / np.maximum(_length(edge), 1e-30) for edge in edges]
    cosines = np.stack([-_dot(out[k], out[k - 1]) for k in range(3)], axis=1)
    return face, np.arccos(np.clip(cosines, -1.0, 1.0))


def _crossed(u: Floats, v: Floats) -> Floats:
    """Products u x v of vectors (3, n)."""
    return np.stack([u[a] * v[b] - u[b] * v[a] for a, b in ((1, 2), (2, 0), (0, 1))])


def _dot(u: Floats, v: Floats) -> Floats:
    """Products u . v of vectors (3, n), (n,)."""
    product: Floats = u[0] * v[0] + u[1] * v[1] + u[2] * v[2]
    return product


def _length(u: Floats) -> Floats:
    """Lengths of vectors (3, n), (n,)."""
    return np.sqrt(_dot(u, u))


def _pairwise(facing: Floats, weighted: Floats, group: NDArray[np.int64]) -> Floats:
    """Unit normals, (n, 3), of corners sorted by the place where they meet."""
    total = weighted.copy()
    limit = np.float32(np.cos(np.radians(SMOOTH_DEG)))
    for apart in range(1, len(group)):
        here = np.flatnonzero(group[apart:] == group[:-apart])
        if not len(here):
            break
        near = here[np.einsum("ij,ij->i", facing[here], facing[here + apart]) > limit]
        total[near] += weighted[near + apart]
        total[near + apart] += weighted[near]
    lost = length(total) < 1e-20
    total[lost] = facing[lost]
    total /= np.maximum(length(total), 1e-30)[:, None]
    return total
