"""A scene written again in other formats, as another program would: Draco, quantized, USD."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterable
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from scene.built import Built
from stationpoint.scene.types import Node, Scene

DRACO = "KHR_draco_mesh_compression"
CRATE = """
import sys
from pxr import Sdf, UsdUtils
text, crate, package = sys.argv[1:]
assert Sdf.Layer.FindOrOpen(text).Export(crate)
assert UsdUtils.CreateNewUsdzPackage(Sdf.AssetPath(crate), package)
"""

needs_draco = pytest.mark.skipif(find_spec("DracoPy") is None, reason="DracoPy is not installed")
needs_usd = pytest.mark.skipif(find_spec("pxr") is None, reason="usd-core is not installed")


def draco_mesh(built: Built, node: Node, bits: int) -> int:
    """A node's mesh in a glTF, Draco-encoded with positions of so many bits. Returns its number."""
    import DracoPy

    data = DracoPy.encode(node.vertices, node.faces, quantization_bits=bits, preserve_order=True)
    count = len(node.vertices)
    position = {"componentType": 5126, "count": count, "type": "VEC3"}
    position |= {"min": node.bounds[0].tolist(), "max": node.bounds[1].tolist()}
    accessors = built.tables["accessors"]
    accessors += [position, {"componentType": 5123, "count": node.faces.size, "type": "SCALAR"}]
    primitive = {
        "attributes": {"POSITION": len(accessors) - 2},
        "indices": len(accessors) - 1,
        "extensions": {DRACO: {"bufferView": built.view(data), "attributes": {"POSITION": 0}}},
    }
    built.tables["extensionsRequired"] = built.tables["extensionsUsed"] = [DRACO]
    built.tables["meshes"].append({"primitives": [primitive]})
    return len(built.tables["meshes"]) - 1


def draco_glb(path: Path, scene: Scene, bits: int = 16) -> Path:
    built = Built()
    for node in scene.nodes:
        built.node(name=node.name, mesh=draco_mesh(built, node, bits))
    return built.glb(path)


def quantized_glb(path: Path, scene: Scene, kind: str = "i2", normalized: bool = True) -> Path:
    """Whole-number positions, normals and UVs; each node's place and scale bring them back to metres."""
    built = Built()
    built.tables["extensionsRequired"] = built.tables["extensionsUsed"] = ["KHR_mesh_quantization"]
    top = int(np.iinfo(kind).max)
    for node in scene.nodes:
        low, high = node.bounds
        middle, half = (low + high) / 2, np.maximum((high - low) / 2, 1e-9)
        stored = np.rint((node.vertices - middle) / half * top)
        scale = half if normalized else half / top
        attributes = {
            "POSITION": _padded(built, stored, kind, normalized),
            "NORMAL": _padded(built, np.tile([0, top, 0], (len(stored), 1)), kind, True),
            "TEXCOORD_0": built.accessor(np.zeros((len(stored), 2)), "u2", normalized=True),
        }
        primitive = {"attributes": attributes, "indices": built.accessor(node.faces.ravel(), "u4")}
        built.tables["meshes"].append({"primitives": [primitive]})
        mesh = len(built.tables["meshes"]) - 1
        built.node(name=node.name, mesh=mesh, translation=middle.tolist(), scale=scale.tolist())
    return built.glb(path)


def _padded(built: Built, rows: np.ndarray, kind: str, normalized: bool) -> int:
    """Rows of three numbers, each padded to a multiple of four bytes as the extension asks."""
    four = np.zeros((len(rows), 4), dtype="<" + kind)
    four[:, :3] = rows
    index = built.accessor(four, kind, normalized=normalized)
    table = built.tables["accessors"][index]
    table["type"] = "VEC3"
    built.tables["bufferViews"][table["bufferView"]]["byteStride"] = 4 * np.dtype(kind).itemsize
    return index


def usda_text(
    nodes: Iterable[Node], up: str = "Y", unit_m: float = 1.0, scale: float = 1.0, more: str = ""
) -> str:
    """A stage as text: a mesh for each node, at `scale` units a metre. Needs no USD to write."""
    head = f'#usda 1.0\n(\n    upAxis = "{up}"\n    metersPerUnit = {unit_m}\n    defaultPrim = "level"\n)\n'
    return head + 'def Xform "level"\n{\n' + "\n".join(_usda_mesh(n, up, scale) for n in nodes) + more + "}\n"


def _usda_mesh(node: Node, up: str, scale: float) -> str:
    points = node.vertices.astype(np.float64)
    if up == "Z":  # x, y, z of ours are x, z, -y of a file whose Z is up
        points = np.stack([points[:, 0], -points[:, 2], points[:, 1]], axis=1)
    rows = ", ".join("({:.9g}, {:.9g}, {:.9g})".format(*row) for row in (points * scale).tolist())
    return (
        f'    def Mesh "{usd_name(node.name)}"\n    {{\n'
        f"        int[] faceVertexCounts = {[3] * len(node.faces)}\n"
        f"        int[] faceVertexIndices = {node.faces.ravel().tolist()}\n"
        f"        point3f[] points = [{rows}]\n"
        '        uniform token subdivisionScheme = "none"\n    }\n'
    )


def usd_name(name: str) -> str:
    """A name that a prim can have: letters, digits, low lines."""
    return "".join(letter if letter.isalnum() else "_" for letter in name)


def usd_files(folder: Path, text: str) -> list[Path]:
    """A stage's text as .usda, .usdc and .usdz; the latter two by USD itself, in a process of its own,
    since it leaves threads behind."""
    paths = [folder / f"level.{kind}" for kind in ("usda", "usdc", "usdz")]
    paths[0].write_text(text)
    subprocess.run([sys.executable, "-c", CRATE, *map(str, paths)], check=True, timeout=60)
    return paths
