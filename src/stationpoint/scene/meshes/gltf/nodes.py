"""The glTF reader: the node tree walked, meshes baked into world space, cameras with their pose.

Everything is in file order (the order of the "nodes" list), whatever the tree looks like. Trees are
walked without recursion, so that depth does not matter.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.words import counted, listed
from stationpoint.scene.meshes.gltf.cameras import cameras_of
from stationpoint.scene.meshes.gltf.file import Gltf, opened
from stationpoint.scene.meshes.gltf.materials import Materials
from stationpoint.scene.meshes.gltf.mesh import Shape, mesh_shape, mesh_size
from stationpoint.scene.meshes.gltf.tables import Json, inner, members, name_of, numbers
from stationpoint.scene.meshes.part import (
    Imported,
    Matrix,
    MeshPart,
    Unreadable,
    check_size,
    flipped,
    is_closed,
    mirrors,
    product,
    transformed,
)

MOST_NAMED = 3  # names in a note
MOST_MOVED = 100_000_000  # vertices, once for each morph target that moves them


def read_gltf(path: Path) -> Imported:
    """The parts and cameras of a .gltf or .glb file; Unreadable where it cannot be drawn right."""
    gltf = opened(path)
    worlds, roots = _worlds(gltf)
    notes: list[str] = []
    drawn = _drawn(gltf, roots, notes)
    reader = _Meshes(gltf, worlds)
    reader.check_promises(drawn)
    parts = [part for node in drawn for part in reader.parts(node)]
    cameras = [camera for node in drawn for camera in cameras_of(gltf, node, worlds[node], path.name, notes)]
    if members(gltf.tables, "animations", "the file"):
        notes.append("its animations are not played.")
    colours = {id(part.own): part.own for part in parts if part.own is not None}
    notes += dict.fromkeys(note for own in colours.values() for note in own.sight_notes)
    return Imported(tuple(parts), tuple(cameras), tuple(notes + reader.notes()))


# ---- the tree -----------------------------------------------------------------------------------


def _worlds(gltf: Gltf) -> tuple[list[Matrix], list[int]]:
    """Each node's matrix to world space, and the nodes that have no parent."""
    count = gltf.count("nodes")
    parent: dict[int, int] = {}
    children: list[list[int]] = []
    for node in range(count):
        table = gltf.item("nodes", node, "the file")
        children.append([])
        for child in members(table, "children", f"node {node}"):
            gltf.item("nodes", child, f"node {node}: children")
            child = int(str(child))
            if child in parent:
                raise Unreadable(
                    f"node {child} hangs under two parents, {parent[child]} and {node}; one at most is right."
                )
            parent[child] = node
            children[node].append(child)
    roots = [node for node in range(count) if node not in parent]
    found: dict[int, Matrix] = {}
    open_nodes = list(roots)
    while open_nodes:
        node = open_nodes.pop()
        local = _local(gltf.item("nodes", node, "the file"), f"node {node}")
        found[node] = product(found[parent[node]], local) if node in parent else local
        open_nodes.extend(children[node])
    if len(found) < count:
        lost = min(set(range(count)) - set(found))
        raise Unreadable(f"node {lost} hangs in a circle of nodes that are each other's children.")
    return [found[node] for node in range(count)], roots


def _drawn(gltf: Gltf, parentless: list[int], notes: list[str]) -> list[int]:
    """The nodes of the file's scene that are visible, in file order."""
    scenes = gltf.count("scenes")
    starts: list[int] = parentless
    if scenes or "scene" in gltf.tables:
        chosen = gltf.tables.get("scene", 0)
        scene = gltf.item("scenes", chosen, "the file's scene")
        starts = []
        for node in members(scene, "nodes", f"scene {chosen}"):
            gltf.item("nodes", node, f"scene {chosen}")
            starts.append(int(str(node)))
        if set(starts) - set(parentless):
            lost = min(set(starts) - set(parentless))
            raise Unreadable(f"scene {chosen} begins at node {lost}, which hangs under another node.")
        if scenes > 1:
            notes.append(f"it holds {scenes} scenes; number {chosen} is drawn.")
    drawn: set[int] = set()
    hidden = 0
    open_nodes = list(starts)
    while open_nodes:
        node = open_nodes.pop()
        table = gltf.item("nodes", node, "the file")
        visibility = _extension(table, "KHR_node_visibility", f"node {node}")
        if visibility is not None and visibility.get("visible") is False:
            hidden += 1
            continue
        drawn.add(node)
        open_nodes.extend(int(str(child)) for child in members(table, "children", f"node {node}"))
    if hidden:
        notes.append(f"{counted(hidden, 'node')} marked as not visible and all under it are left out.")
    return sorted(drawn)


def _local(table: Json, where: str) -> Matrix:
    """A node's own matrix: given whole, or as translation, rotation, scale."""
    if "matrix" in table:
        return numbers(table, "matrix", where, 16, []).reshape(4, 4).T.copy()
    move = numbers(table, "translation", where, 3, [0, 0, 0])
    turn = numbers(table, "rotation", where, 4, [0, 0, 0, 1])
    scale = numbers(table, "scale", where, 3, [1, 1, 1])
    if not (turn * turn).sum() > 0:
        raise Unreadable(f"{where}: rotation is all zero, must be a unit quaternion.")
    return _composed(move, turn, scale)


def _composed(move: NDArray[np.float64], turn: NDArray[np.float64], scale: NDArray[np.float64]) -> Matrix:
    """Translation (3,), quaternion x, y, z, w (4,), scale (3,) as one matrix."""
    x, y, z, w = (float(n) for n in turn / np.sqrt((turn * turn).sum()))
    matrix = np.eye(4)
    matrix[0, :3] = 1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)
    matrix[1, :3] = 2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)
    matrix[2, :3] = 2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)
    matrix[:3, :3] *= scale
    matrix[:3, 3] = move
    return matrix


def _extension(table: Json, name: str, where: str) -> Json | None:
    extensions = inner(table, "extensions", where, {})
    return inner(extensions, name, where) if name in extensions else None


# ---- meshes -------------------------------------------------------------------------------------


class _Meshes:
    """Meshes read once each, however many nodes show them; keeps count of what is left out."""

    def __init__(self, gltf: Gltf, worlds: list[Matrix]) -> None:
        self.gltf = gltf
        self.worlds = worlds
        self.read: dict[object, tuple[Shape, bool]] = {}
        self.left_out: dict[str, list[str]] = {}
        self.materials = Materials(gltf)

    def check_promises(self, nodes: Iterable[int]) -> None:
        """Unreadable where the nodes would show more than is drawn; nothing is read for it yet."""
        sizes: dict[str, tuple[int, int, int]] = {}
        parts = vertices = triangles = moved = 0
        for node in nodes:
            table, where = self.gltf.item("nodes", node, "the file"), f"node {node}"
            if "mesh" not in table:
                continue
            mesh = str(table["mesh"])
            if mesh not in sizes:
                sizes[mesh] = mesh_size(self.gltf, table["mesh"], where)
            times = self._instances(table, where)
            parts += times
            vertices += times * sizes[mesh][0]
            triangles += times * sizes[mesh][1]
            weights = [*self._weights(table, where)][: sizes[mesh][2]]
            moved += sizes[mesh][0] * sum(weight != 0 for weight in weights)
        check_size(parts, vertices, triangles)
        if moved > MOST_MOVED:
            raise Unreadable(f"has morph targets that move {moved} vertices; at most {MOST_MOVED} are read.")

    def parts(self, node: int) -> Iterable[MeshPart]:
        """What one node shows: nothing, one part, or one for each instance."""
        table = self.gltf.item("nodes", node, "the file")
        if "mesh" not in table:
            return
        where = f"node {node}"
        name = name_of(table, where)
        said = name or where
        shape, closed = self._shape(table, where, said)
        if shape.left_out:
            self.left_out.setdefault("points, lines or empty pieces are not drawn", []).append(said)
        if not len(shape.faces):
            return
        mirrored_faces = None
        for world in self._places(table, node, where):
            vertices = transformed(shape.vertices, world)
            if not np.isfinite(vertices.astype(np.float32)).all():
                raise Unreadable(f"{where} ({said!r}) is moved or scaled beyond all numbers.")
            faces = shape.faces
            if mirrors(world):
                mirrored_faces = flipped(faces) if mirrored_faces is None else mirrored_faces
                faces = mirrored_faces
            flat = not world[:3, :3].any(axis=0).all() or not world[:3, :3].any(axis=1).all()
            if flat:
                self.left_out.setdefault("scaled to nothing along an axis", []).append(said)
            yield MeshPart(name, vertices, faces, closed and not flat, shape.own)

    def notes(self) -> list[str]:
        """One sentence for each kind of oddity."""
        return [
            f"{what}: {listed([*(repr(n) for n in names[:MOST_NAMED]), *_more(len(names) - MOST_NAMED)])}."
            for what, names in self.left_out.items()
        ]

    def _shape(self, table: Json, where: str, said: str) -> tuple[Shape, bool]:
        mesh = table["mesh"]
        weights = tuple(self._weights(table, where))
        skin = table.get("skin")
        if skin is not None:
            self.left_out.setdefault("moved by a skeleton, drawn in its rest pose", []).append(said)
        key = (str(mesh), weights, str(skin))
        if key not in self.read:
            joints = self._joints(skin, where) if skin is not None else []
            shape = mesh_shape(self.gltf, self.materials, mesh, weights, joints, where)
            self.read[key] = (shape, is_closed(shape.vertices, shape.faces))
        return self.read[key]

    def _weights(self, table: Json, where: str) -> Iterable[float]:
        mesh = self.gltf.item("meshes", table["mesh"], where)
        found = table.get("weights", mesh.get("weights", []))
        count = len(found) if isinstance(found, list) else 0
        return [float(n) for n in numbers({"weights": found}, "weights", where, count, [])]

    def _joints(self, skin: object, where: str) -> list[Matrix]:
        """Each joint's matrix from the mesh's space to the world, at rest."""
        table = self.gltf.item("skins", skin, where)
        joints = members(table, "joints", f"skin {skin}")
        if not joints:
            raise Unreadable(f"skin {skin} has no joints.")
        for joint in joints:
            self.gltf.item("nodes", joint, f"skin {skin}")
        binds = np.tile(np.eye(4), (len(joints), 1, 1))
        if "inverseBindMatrices" in table:
            values = self.gltf.array(table["inverseBindMatrices"], f"skin {skin}")
            if len(values) < len(joints) or values.shape[1] != 16 or not np.isfinite(values).all():
                raise Unreadable(
                    f"skin {skin}: its inverse bind matrices do not fit its {len(joints)} joints."
                )
            binds = values[: len(joints)].reshape(-1, 4, 4).transpose(0, 2, 1).astype(np.float64)
        return [product(self.worlds[int(str(j))], bind) for j, bind in zip(joints, binds, strict=True)]

    def _instances(self, table: Json, where: str) -> int:
        """At how many places a node's mesh promises to stand."""
        instancing = None if "skin" in table else _extension(table, "EXT_mesh_gpu_instancing", where)
        if instancing is None:
            return 1
        attributes = inner(instancing, "attributes", where)
        return max((self.gltf.length(index, where) for index in attributes.values()), default=0)

    def _places(self, table: Json, node: int, where: str) -> Iterable[Matrix]:
        """The matrices at which a node's mesh stands: one, unless it is instanced."""
        if "skin" in table:
            return [np.eye(4)]  # the joints hold it; the node's own place does not count
        world = self.worlds[node]
        instancing = _extension(table, "EXT_mesh_gpu_instancing", where)
        if instancing is None:
            return [world]
        attributes = inner(instancing, "attributes", where)
        usual = {"TRANSLATION": [0.0, 0, 0], "ROTATION": [0.0, 0, 0, 1], "SCALE": [1.0, 1, 1]}
        given = {
            key: self.gltf.array(attributes[key], f"{where}: {key}") for key in usual if key in attributes
        }
        counts = {len(values) for values in given.values()}
        widths_fit = all(values.shape[1] == len(usual[key]) for key, values in given.items())
        if len(counts) != 1 or not widths_fit:
            raise Unreadable(f"{where}: the lists of its instances do not fit each other.")
        count = counts.pop()
        every = {
            key: given[key].astype(np.float64) if key in given else np.tile(np.array(default), (count, 1))
            for key, default in usual.items()
        }
        return [product(world, _composed(*row)) for row in zip(*every.values(), strict=True)]


def _more(count: int) -> list[str]:
    return [f"{count} more"] if count > 0 else []
