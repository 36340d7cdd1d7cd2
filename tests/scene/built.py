"""Small mesh files made in the test: a glTF builder, and geometry measured by hand."""

from __future__ import annotations

import json
import struct
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

COMPONENTS = {"i1": 5120, "u1": 5121, "i2": 5122, "u2": 5123, "u4": 5125, "f4": 5126}
WIDTHS = {1: "SCALAR", 2: "VEC2", 3: "VEC3", 4: "VEC4", 16: "MAT4"}
TRIANGLE = [(0, 0, 0), (1, 0, 0), (0, 1, 0)]
CUBE = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], dtype=float)
CUBE_FACES = np.array(
    [(0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1),
     (2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3)]
)  # fmt: skip


class Built:
    """A glTF file in the making: `tables` is its JSON, `blob` its one buffer."""

    def __init__(self) -> None:
        self.blob = bytearray()
        self.tables: dict[str, Any] = {
            "asset": {"version": "2.0"},
            "scene": 0,
            "scenes": [{"nodes": []}],
            "nodes": [],
            "meshes": [],
            "accessors": [],
            "bufferViews": [],
        }

    def view(self, data: bytes, **more: object) -> int:
        self.blob += bytes(-len(self.blob) % 4)
        view = {"buffer": 0, "byteOffset": len(self.blob), "byteLength": len(data), **more}
        self.blob += data
        self.tables["bufferViews"].append(view)
        return len(self.tables["bufferViews"]) - 1

    def accessor(self, values: ArrayLike, kind: str = "f4", **more: object) -> int:
        array = np.asarray(values).astype("<" + kind)
        width = array.shape[1] if array.ndim > 1 else 1
        accessor = {
            "bufferView": self.view(array.tobytes()),
            "componentType": COMPONENTS[kind],
            "count": len(array),
            "type": WIDTHS[width],
            **more,
        }
        self.tables["accessors"].append(accessor)
        return len(self.tables["accessors"]) - 1

    def mesh(self, points: ArrayLike = TRIANGLE, faces: ArrayLike | None = None, **more: object) -> int:
        primitive: dict[str, object] = {"attributes": {"POSITION": self.accessor(points)}, **more}
        if faces is not None:
            primitive["indices"] = self.accessor(np.asarray(faces).ravel(), "u2")
        self.tables["meshes"].append({"primitives": [primitive]})
        return len(self.tables["meshes"]) - 1

    def node(self, root: bool = True, **what: object) -> int:
        self.tables["nodes"].append(what)
        number = len(self.tables["nodes"]) - 1
        if root:
            self.tables["scenes"][0]["nodes"].append(number)
        return number

    def glb(self, path: Path) -> Path:
        tables = {**self.tables, "buffers": [{"byteLength": len(self.blob)}]}
        text = json.dumps(tables).encode()
        text += b" " * (-len(text) % 4)
        data = bytes(self.blob) + bytes(-len(self.blob) % 4)
        chunks = (
            struct.pack("<I4s", len(text), b"JSON") + text + struct.pack("<I4s", len(data), b"BIN\0") + data
        )
        path.write_bytes(struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks)
        return path

    def gltf(self, path: Path, uri: str, write: bool = True) -> Path:
        path.write_text(json.dumps({**self.tables, "buffers": [{"byteLength": len(self.blob), "uri": uri}]}))
        if write:
            (path.parent / uri).write_bytes(self.blob)
        return path


def triangle_file() -> Built:
    """One node "tri" with one triangle of area a half."""
    built = Built()
    built.node(name="tri", mesh=built.mesh())
    return built


def volume(vertices: NDArray[np.floating], faces: NDArray[np.integer]) -> float:
    """Signed volume by the divergence theorem; above 0 where faces point outward."""
    a, b, c = (np.asarray(vertices, dtype=float)[faces[:, k]] for k in range(3))
    return float((a * np.cross(b, c)).sum() / 6)


def area(vertices: NDArray[np.floating], faces: NDArray[np.integer]) -> float:
    a, b, c = (np.asarray(vertices, dtype=float)[faces[:, k]] for k in range(3))
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)
