"""Cameras, and a level if need be, as USD text: no package is needed to write it.

The stage is in centimetres, since lenses are in tenths of its unit: so focal length and gate are millimetres.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from math import radians, tan

import numpy as np

from stationpoint.scene.types import Node, Scene, SceneCamera

CM = 100.0
TENTHS = 10.0  # of the stage's unit, in which apertures are
GATE_MM = 36.0
FAR_M = 1e6


def usda_bytes(scene: Scene, cameras: Sequence[SceneCamera] = ()) -> bytes:
    """The file itself. What USD cannot hold of a camera (an oblique view) is not written."""
    head = '#usda 1.0\n(\n    defaultPrim = "stationpoint"\n    metersPerUnit = 0.01\n    upAxis = "Y"\n)\n\n'
    taken: set[str] = set()
    inner = [line for camera in cameras for line in _camera(camera, _prim(camera.name, taken))]
    for node in scene.nodes:
        if len(node.faces):
            inner += _mesh(node, _prim(node.name, taken))
    body = "".join(f"    {line}\n" for line in inner)
    return f'{head}def Xform "stationpoint"\n{{\n{body}}}\n'.encode()


def _prim(name: str, taken: set[str]) -> str:
    """A name that a prim can have, each once: ASCII letters, digits and low lines, no digit first."""
    plain = re.sub(r"\W", "_", name, flags=re.ASCII)
    plain = plain if re.match(r"[A-Za-z_]", plain) else f"_{plain}"
    number, found = 1, plain
    while found in taken:
        number += 1
        found = f"{plain}_{number}"
    taken.add(found)
    return found


def _camera(camera: SceneCamera, prim: str) -> Iterator[str]:
    aspect = camera.aspect or 1.0
    if camera.vfov_deg is not None:
        width, height = camera.picture_mm or (GATE_MM, GATE_MM / aspect)
        focal = height / 2.0 / tan(radians(camera.vfov_deg) / 2.0)
    else:
        height = (camera.view_height_m or 1.0) * CM * TENTHS
        width, focal = height * aspect, 50.0
    far = FAR_M if camera.far_m is None else camera.far_m
    place = np.eye(4)
    place[:3, :3] = camera.view[:3, :3]  # for points as rows: the inverse of a rotation is its transpose
    place[3, :3] = -camera.view[:3, :3].T @ camera.view[:3, 3] * CM
    kind = "perspective" if camera.vfov_deg is not None else "orthographic"
    yield f'def Camera "{prim}"'
    yield "{"
    yield f'    token projection = "{kind}"'
    yield f"    float focalLength = {_number(focal)}"
    yield f"    float horizontalAperture = {_number(width)}"
    yield f"    float verticalAperture = {_number(height)}"
    yield f"    float horizontalApertureOffset = {_number(-camera.shift[0] * width)}"
    yield f"    float verticalApertureOffset = {_number(-camera.shift[1] * height)}"
    yield f"    float2 clippingRange = ({_number(camera.near_m * CM)}, {_number(far * CM)})"
    yield f"    matrix4d xformOp:transform = ( {', '.join(_row(row) for row in place.tolist())} )"
    yield '    uniform token[] xformOpOrder = ["xformOp:transform"]'
    if prim != camera.name:
        yield f"    custom string stationpoint:name = {json.dumps(camera.name, ensure_ascii=False)}"
    yield "}"


def _mesh(node: Node, prim: str) -> Iterator[str]:
    points = ", ".join(_row(row) for row in (node.vertices.astype(np.float64) * CM).tolist())
    low, high = (node.bounds * CM).tolist()
    yield f'def Mesh "{prim}"'
    yield "{"
    yield f"    int[] faceVertexCounts = {[3] * len(node.faces)}"
    yield f"    int[] faceVertexIndices = {node.faces.ravel().tolist()}"
    yield f"    point3f[] points = [{points}]"
    yield f"    float3[] extent = [{_row(low)}, {_row(high)}]"
    yield '    uniform token subdivisionScheme = "none"'
    yield f"    uniform bool doubleSided = {'false' if node.backs_open else 'true'}"
    yield "}"


def _row(values: Sequence[float]) -> str:
    return f"({', '.join(map(_number, values))})"


def _number(value: float) -> str:
    return f"{float(value) + 0.0:.12g}"
