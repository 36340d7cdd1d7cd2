"""A scene written as glTF 2.0: a GLB (section 4.4), or JSON with its buffer within."""

from __future__ import annotations

import base64
import json
import struct
from collections.abc import Sequence
from math import radians

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import linear_light, srgb_encoded
from stationpoint.base.look import CLAY, GROUND
from stationpoint.scene.types import Node, Scene, SceneCamera

FLOAT, UINT = 5126, 5125
VERTICES, INDICES = 34962, 34963

Look = tuple[tuple[int, int, int], bool]  # 8-bit sRGB, and whether backs are open


def glb_bytes(scene: Scene, cameras: Sequence[SceneCamera] = ()) -> bytes:
    """The file itself: one node a node, no normals (so every face is flat).

    Its material is its own colour if that is one throughout, else its tint. Plain clay beside nodes with
    colours of their own has none, so that it is clay again where it is read.
    """
    tables, blob = _tables(scene, cameras)
    text = _json(tables)
    chunks = [(b"JSON", text + b" " * (-len(text) % 4))]
    if blob:
        chunks.append((b"BIN\0", bytes(blob)))
    body = b"".join(struct.pack("<I4s", len(data), kind) + data for kind, data in chunks)
    return struct.pack("<4sII", b"glTF", 2, 12 + len(body)) + body


def gltf_bytes(scene: Scene, cameras: Sequence[SceneCamera] = ()) -> bytes:
    """The same as a .gltf file that stands alone."""
    tables, blob = _tables(scene, cameras)
    if blob:
        uri = "data:application/octet-stream;base64," + base64.b64encode(blob).decode("ascii")
        tables["buffers"] = [{"byteLength": len(blob), "uri": uri}]
    return _json(tables) + b"\n"


def _json(tables: dict[str, object]) -> bytes:
    return json.dumps(tables, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode("utf-8")


def _tables(scene: Scene, cameras: Sequence[SceneCamera]) -> tuple[dict[str, object], bytearray]:
    """What stands in the JSON, and the buffer."""
    drawn = [node for node in scene.nodes if len(node.faces)]
    painted = any(_painted(node) for node in drawn)
    look_of = [_look(node, painted) for node in drawn]
    looks = sorted({look for look in look_of if look is not None})
    blob = bytearray()
    views: list[dict[str, object]] = []
    accessors: list[dict[str, object]] = []
    meshes: list[dict[str, object]] = []
    nodes: list[dict[str, object]] = []
    for node, look in zip(drawn, look_of, strict=True):
        primitive: dict[str, object] = {
            "attributes": {"POSITION": _put(blob, views, accessors, node.vertices, VERTICES)},
            "indices": _put(blob, views, accessors, node.faces, INDICES),
        }
        if look is not None:
            primitive["material"] = looks.index(look)
        nodes.append({"name": node.name, "mesh": len(meshes)})
        meshes.append({"name": node.name, "primitives": [primitive]})
    tables: dict[str, object] = {
        "asset": {"version": "2.0", "generator": "stationpoint"},
        "scene": 0,
        "scenes": [{"nodes": list(range(len(nodes) + len(cameras)))}],
        "nodes": nodes + [_camera_node(camera, number) for number, camera in enumerate(cameras)],
        "meshes": meshes,
        "materials": [_material(*look) for look in looks],
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": len(blob)}] if blob else [],
        "cameras": [_camera(camera) for camera in cameras],
    }
    full = {key: value for key, value in tables.items() if value != [] and value != [{"nodes": []}]}
    if "scenes" not in full:
        del full["scene"]
    return full, blob


def _put(
    blob: bytearray,
    views: list[dict[str, object]],
    accessors: list[dict[str, object]],
    array: NDArray[np.float32] | NDArray[np.int32],
    target: int,
) -> int:
    """Add an array to the buffer; the number of its accessor."""
    data = array.astype("<f4" if target == VERTICES else "<u4").tobytes()
    views.append({"buffer": 0, "byteOffset": len(blob), "byteLength": len(data), "target": target})
    blob += data
    accessor: dict[str, object] = {"bufferView": len(views) - 1}
    if target == VERTICES:
        low, high = array.min(axis=0), array.max(axis=0)
        accessor |= {"componentType": FLOAT, "count": len(array), "type": "VEC3"}
        accessor |= {"min": [float(n) for n in low], "max": [float(n) for n in high]}
    else:
        accessor |= {"componentType": UINT, "count": array.size, "type": "SCALAR"}
    accessors.append(accessor)
    return len(accessors) - 1


def _painted(node: Node) -> bool:
    """Whether it is of one colour of its own, which no role tint covers."""
    own = node.own
    if own is None or node.tint not in (CLAY, GROUND) or own.tints is not None or len(own.materials) != 1:
        return False
    return own.materials[0].texture is None and own.materials[0].blend == "opaque"


def _look(node: Node, painted: bool) -> Look | None:
    if node.own is not None and _painted(node):
        red, green, blue = srgb_encoded(np.array(node.own.materials[0].factor[:3])) * 255.0
        return (round(float(red)), round(float(green)), round(float(blue))), node.backs_open
    plain = painted and node.tint == CLAY and not node.backs_open
    return None if plain else (node.tint, node.backs_open)


def _material(tint: tuple[int, int, int], backs_open: bool) -> dict[str, object]:
    linear = [round(share, 6) for share in linear_light(tint).tolist()]
    return {
        "name": "#" + "".join(f"{value:02x}" for value in tint),
        "pbrMetallicRoughness": {"baseColorFactor": [*linear, 1.0], "metallicFactor": 0.0},
        "doubleSided": not backs_open,
    }


def _camera_node(camera: SceneCamera, number: int) -> dict[str, object]:
    """A node that stands where the camera does; its matrix is the inverse of a rigid view."""
    place = np.eye(4)
    place[:3, :3] = camera.view[:3, :3].T
    place[:3, 3] = -camera.view[:3, :3].T @ camera.view[:3, 3]
    return {
        "name": camera.name,
        "camera": number,
        "matrix": [round(float(n), 12) + 0.0 for n in place.T.ravel()],
    }


def _camera(camera: SceneCamera) -> dict[str, object]:
    far = {} if camera.far_m is None else {"zfar": camera.far_m}
    if camera.vfov_deg is not None:
        aspect = {} if camera.aspect is None else {"aspectRatio": camera.aspect}
        lens = {"yfov": radians(camera.vfov_deg), "znear": camera.near_m, **far, **aspect}
        return {"name": camera.name, "type": "perspective", "perspective": lens}
    half = (camera.view_height_m or 1.0) / 2
    lens = {"xmag": half * (camera.aspect or 1.0), "ymag": half, "znear": camera.near_m}
    lens["zfar"] = camera.far_m if camera.far_m is not None else camera.near_m + 1000.0
    return {"name": camera.name, "type": "orthographic", "orthographic": lens}
