"""Primitives compressed with Draco, decoded by DracoPy, which is imported late and may be missing.

A mutilated stream may decode without complaint, so what comes out is held against what the file's
accessors say of it: how many vertices and indices, and between which bounds.
Specification: KHR_draco_mesh_compression.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from stationpoint.scene.meshes.gltf.tables import Json, inner, integer, members, numbers
from stationpoint.scene.meshes.part import Lacking, Unreadable

if TYPE_CHECKING:
    from stationpoint.scene.meshes.gltf.file import Gltf, Values

NAME = "KHR_draco_mesh_compression"
TRIANGLES = 4
COARSEST = 1 / 255  # of the largest extent: one step of positions in 8 bits, the coarsest in use


def is_draco(gltf: Gltf, primitive: Json, where: str) -> bool:
    """Whether a primitive must be decoded: it is compressed, and no plain copy lies beside that."""
    if NAME not in inner(primitive, "extensions", where, {}):
        return False
    if NAME in members(gltf.tables, "extensionsRequired", "the file"):
        return True
    asked = [inner(primitive, "attributes", where).get("POSITION"), primitive.get("indices")]
    return any("bufferView" not in gltf.item("accessors", n, where) for n in asked if n is not None)


def decoded(gltf: Gltf, primitive: Json, where: str) -> dict[int, Values]:
    """What a compressed primitive's accessors hold, by their numbers: indices and attributes.

    Values are as stored: (count, width), normalized integers still integers.
    """
    if integer(primitive, "mode", where, TRIANGLES) != TRIANGLES:
        raise Unreadable(f"{where} is a strip compressed with {NAME}; export it as triangles.")
    table = inner(inner(primitive, "extensions", where), NAME, where)
    mesh = _mesh(gltf.view_bytes(table.get("bufferView"), f"{where}: {NAME}"), where)
    ids = inner(table, "attributes", f"{where}: {NAME}")
    attributes = inner(primitive, "attributes", where)
    found: dict[int, Values] = {}
    for name in attributes:
        if name not in ids:
            continue  # stays uncompressed beside the stream
        values = _attribute(mesh, ids[name], f"{where}: {name}")
        index = attributes[name]
        count = gltf.length(index, where)
        if len(values) != count:
            raise _unlike(where, f"{len(values)} vertices where {count} are promised")
        found[int(str(index))] = values
    if "POSITION" in ids and "POSITION" in attributes:
        _check_bounds(gltf, attributes["POSITION"], found[int(str(attributes["POSITION"]))], where)
    faces = np.asarray(mesh.faces, dtype="<u4").reshape(-1, 1)  # type: ignore[attr-defined]
    if "indices" in primitive:
        count = gltf.length(primitive["indices"], where)
        if len(faces) != count:
            raise _unlike(where, f"{len(faces)} indices where {count} are promised")
        found[int(str(primitive["indices"]))] = faces
    else:
        raise Unreadable(f"{where} is compressed with {NAME} but names no indices.")
    return found


def _mesh(data: bytes, where: str) -> object:
    """The decoded mesh of a stream."""
    try:
        import DracoPy
    except ImportError:
        raise Lacking(
            f"is compressed with {NAME}, and DracoPy, which reads that, is not installed.", "draco"
        ) from None
    try:
        mesh = DracoPy.decode(data)
    except MemoryError:
        raise
    except Exception:  # it has several kinds for a stream that is cut off or wrong
        raise Unreadable(f"{where}: its Draco data is cut off or wrong.") from None
    if not isinstance(mesh, DracoPy.DracoMesh):
        raise Unreadable(f"{where}: its Draco data holds points and no faces.")
    return mesh


def _attribute(mesh: object, number: object, where: str) -> Values:
    for entry in mesh.attributes:  # type: ignore[attr-defined]
        if entry["unique_id"] == number and not isinstance(number, bool):
            values: Values = np.asarray(entry["data"])
            return values.reshape(len(values), -1)
    raise Unreadable(f"{where}: its Draco data has no attribute of number {number}.")


def _check_bounds(gltf: Gltf, index: object, values: Values, where: str) -> None:
    """Unreadable where positions leave, or do not reach, the bounds that their accessor states."""
    accessor = gltf.item("accessors", index, where)
    said = f"accessor {index}"
    low, high = numbers(accessor, "min", said, 3, []), numbers(accessor, "max", said, 3, [])
    if not len(values):
        return
    slack = COARSEST * float(np.max(np.maximum(high - low, 0.0)))
    off = [np.abs(values.min(axis=0) - low), np.abs(values.max(axis=0) - high)]
    if not (np.array(off) <= slack).all():  # what is no number is not within it either
        raise _unlike(where, "vertices that are not within the bounds which the file states")


def _unlike(where: str, what: str) -> Unreadable:
    return Unreadable(f"{where}: its Draco data gives {what}; the file is cut off or wrong.")
