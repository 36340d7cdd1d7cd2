"""A glTF mesh as vertices and faces: every primitive mode that has an area, morph weights, skins at rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.scene.materials import OwnColours
from stationpoint.scene.meshes.gltf.draco import decoded, is_draco
from stationpoint.scene.meshes.gltf.file import Gltf, Values
from stationpoint.scene.meshes.gltf.materials import Materials
from stationpoint.scene.meshes.gltf.tables import Json, inner, integer, members
from stationpoint.scene.meshes.part import Matrix, Unreadable, flipped, mirrors, transformed, used_vertices

TRIANGLES, STRIP, FAN = 4, 5, 6
Positions = NDArray[np.float64]
Faces = NDArray[np.int32]


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A mesh in its own space. left_out: primitives without an area, or without positions. own: its
    colours, None where the file gives it none."""

    vertices: Positions
    faces: Faces
    left_out: int
    own: OwnColours | None


def mesh_shape(
    gltf: Gltf,
    materials: Materials,
    index: object,
    weights: Sequence[float],
    joints: Sequence[Matrix],
    where: str,
) -> Shape:
    """All primitives of a mesh as one. joints: each joint's matrix from mesh to world; empty: no skin."""
    mesh = gltf.item("meshes", index, where)
    vertices: list[Positions] = [np.zeros((0, 3))]
    faces: list[Faces] = [np.zeros((0, 3), np.int32)]
    looks = materials.of_mesh()
    start = left_out = 0
    for number, primitive in enumerate(members(mesh, "primitives", f"mesh {index}")):
        said = f"mesh {index}, primitive {number}"
        if not isinstance(primitive, dict):
            raise Unreadable(f"{said} is not a table.")
        found = _primitive(gltf, primitive, weights, joints, said)
        if found is None:
            left_out += 1
            continue
        points, corners, used, count = found
        vertices.append(points)
        faces.append(corners + np.int32(start))
        looks.add(primitive, used, count, len(corners), said)
        start += len(points)
    return Shape(np.concatenate(vertices), np.concatenate(faces), left_out, looks.own())


def mesh_size(gltf: Gltf, index: object, where: str) -> tuple[int, int, int]:
    """How many vertices, triangles and morph targets a mesh promises at most, by its tables alone."""
    vertices = triangles = targets = 0
    primitives = members(gltf.item("meshes", index, where), "primitives", f"mesh {index}")
    for number, primitive in enumerate(primitives):
        if not isinstance(primitive, dict):
            continue  # told when it is read
        said = f"mesh {index}, primitive {number}"
        attributes = inner(primitive, "attributes", said)
        mode = integer(primitive, "mode", said, TRIANGLES)
        if mode not in (TRIANGLES, STRIP, FAN) or "POSITION" not in attributes:
            continue
        given = gltf.length(attributes["POSITION"], said)
        corners = gltf.length(primitive["indices"], said) if "indices" in primitive else given
        vertices += min(given, corners)
        triangles += corners // 3 if mode == TRIANGLES else max(corners - 2, 0)
        targets = max(targets, len(members(primitive, "targets", said)))
    return vertices, triangles, targets


def _primitive(
    gltf: Gltf, primitive: Json, weights: Sequence[float], joints: Sequence[Matrix], where: str
) -> tuple[Positions, Faces, NDArray[np.int64], int] | None:
    """Vertices that its faces use, the faces, the places of those vertices among all of the file's, and
    how many these are; None where there is nothing to draw."""
    attributes = inner(primitive, "attributes", where)
    mode = integer(primitive, "mode", where, TRIANGLES)
    if mode > FAN:
        raise Unreadable(f"{where}: mode is {mode}, must be 0 to 6.")
    if mode < TRIANGLES or "POSITION" not in attributes:
        return None
    if is_draco(gltf, primitive, where):
        gltf.unpacked.update(decoded(gltf, primitive, where))
    raw = _vec3(gltf, attributes["POSITION"], f"{where}: POSITION")
    faces = _faces(_indices(gltf, primitive, len(raw), where), mode)
    used, faces = used_vertices(faces)
    points = np.asarray(raw[used], dtype=np.float64)
    for weight, target in zip(weights, members(primitive, "targets", where), strict=False):
        if weight and isinstance(target, dict) and "POSITION" in target:
            shift = _vec3(gltf, target["POSITION"], f"{where}: a morph target's POSITION")
            if len(shift) != len(raw):
                raise Unreadable(f"{where}: a morph target has {len(shift)} vertices, the mesh {len(raw)}.")
            points = points + weight * np.asarray(shift[used], dtype=np.float64)
    if not np.isfinite(points).all():
        raise Unreadable(f"{where} has a vertex whose position is not a finite number.")
    if joints:
        points, inside_out = _skinned(gltf, attributes, points, used, len(raw), joints, where)
        faces = flipped(faces) if inside_out else faces
    return points, faces, used, len(raw)


def _vec3(gltf: Gltf, index: object, where: str) -> Values:
    values = gltf.array(index, where)
    if values.shape[1] != 3:
        raise Unreadable(f"{where} has {values.shape[1]} numbers a vertex, must have 3.")
    return values


def _indices(gltf: Gltf, primitive: Json, count: int, where: str) -> NDArray[np.int32]:
    if "indices" not in primitive:
        return np.arange(count, dtype=np.int32)
    values = gltf.array(primitive["indices"], f"{where}: indices")
    if values.dtype.str not in ("|u1", "<u2", "<u4") or values.shape[1] != 1:
        raise Unreadable(f"{where}: its indices are not unsigned whole numbers.")
    most = int(values.max()) if len(values) else -1
    if most >= count:
        raise Unreadable(f"{where}: an index is {most}, but there are {count} vertices.")
    return values.ravel().astype(np.int32)


def _faces(indices: NDArray[np.int32], mode: int) -> Faces:
    """Triangles (m, 3) of a list, a strip or a fan (glTF 2.0, section 3.7.2.1)."""
    if mode == TRIANGLES:
        return indices[: len(indices) // 3 * 3].reshape(-1, 3)
    if len(indices) < 3:
        return np.zeros((0, 3), np.int32)
    if mode == FAN:
        first = np.full(len(indices) - 2, indices[0])
        faces = np.stack([indices[1:-1], indices[2:], first], axis=1)
    else:
        faces = np.stack([indices[:-2], indices[1:-1], indices[2:]], axis=1)
        faces[1::2, 1:] = faces[1::2, :0:-1]
    joined = (faces == np.roll(faces, 1, axis=1)).any(axis=1)  # the seams of a strip have no area
    return np.ascontiguousarray(faces[~joined])


def _skinned(
    gltf: Gltf,
    attributes: Json,
    points: Positions,
    used: NDArray[np.int64],
    count: int,
    joints: Sequence[Matrix],
    where: str,
) -> tuple[Positions, bool]:
    """Points moved by the joints as they rest; and whether that turns the mesh inside out."""
    total = np.zeros_like(points)
    weight_sum = np.zeros(len(points))
    mirrored = 0
    for group in range(8):
        if f"JOINTS_{group}" not in attributes or f"WEIGHTS_{group}" not in attributes:
            break
        which = gltf.array(attributes[f"JOINTS_{group}"], f"{where}: JOINTS_{group}")
        share = gltf.array(attributes[f"WEIGHTS_{group}"], f"{where}: WEIGHTS_{group}")
        if not len(which) == len(share) == count or which.shape[1] != 4 or share.shape[1] != 4:
            raise Unreadable(f"{where}: joints and weights do not fit its {count} vertices.")
        which, share = which[used].astype(np.int64), np.nan_to_num(share[used].astype(np.float64))
        if len(which) and int(which.max()) >= len(joints):
            raise Unreadable(f"{where}: a vertex hangs on joint {int(which.max())} of {len(joints)}.")
        for joint in np.unique(which[share > 0]):
            mine = np.where(which == joint, share, 0.0).sum(axis=1)
            rows = mine > 0
            total[rows] += transformed(points[rows], joints[joint]) * mine[rows, None]
            weight_sum += mine
            mirrored += int(rows.sum()) * (1 if mirrors(joints[joint]) else -1)
    held = weight_sum > 0
    total[held] /= weight_sum[held, None]
    total[~held] = transformed(points[~held], joints[0])
    return total, mirrored > 0
