"""The plain loop that the speed is measured against: stock pyrender, one cell after another.

python tests/bench/plain_loop.py 24 out.png

Each box is a node; a directional light with shadows; for each variant the colour and depth, then the
ids as flat colours (pyrender's own way); the cells pasted on a sheet with Pillow and saved as PNG.
"""

from __future__ import annotations

import os
import sys
from math import atan, cos, radians, sin
from types import ModuleType

os.environ.setdefault("PYOPENGL_PLATFORM", "egl")
viewer = ModuleType("pyrender.viewer")  # its own import needs X11
viewer.Viewer = object  # type: ignore[attr-defined]
sys.modules["pyrender.viewer"] = viewer

import numpy as np  # noqa: E402
import pyrender  # noqa: E402
import trimesh  # noqa: E402
from boxes400 import CELL, DISTANCE_M, GATE_MM, GROUND_M, boxes, variants  # noqa: E402
from PIL import Image  # noqa: E402

TINTS = [(235, 164, 44), (28, 106, 166), (99, 39, 95)]


def pose(eye: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Camera to world, (4, 4)."""
    back = (eye - at) / np.linalg.norm(eye - at)
    right = np.cross([0.0, 1.0, 0.0], back)
    right /= np.linalg.norm(right)
    result = np.eye(4)
    result[:3, 0], result[:3, 1], result[:3, 2], result[:3, 3] = right, np.cross(back, right), back, eye
    return result


def node_mesh(
    size: tuple[float, float, float], base: tuple[float, float, float], turn: float, tint: object
) -> object:
    box = trimesh.creation.box(size)
    box.apply_transform(trimesh.transformations.rotation_matrix(radians(turn), [0, 1, 0]))
    box.apply_translation([base[0], base[1] + size[1] / 2, base[2]])
    material = pyrender.MetallicRoughnessMaterial(
        baseColorFactor=[*(c / 255 for c in tint), 1.0], metallicFactor=0.0, roughnessFactor=1.0
    )
    return pyrender.Mesh.from_trimesh(box, material=material, smooth=False)


def main(count: int, out: str) -> None:
    """Draw `count` variants and save the sheet."""
    scene = pyrender.Scene(ambient_light=[0.4, 0.4, 0.4], bg_color=[183, 191, 196])
    nodes = {scene.add(node_mesh((GROUND_M, 0.1, GROUND_M), (0, -0.1, 0), 0, (110, 121, 129))): (1, 0, 0)}
    for k, (_, size, base, turn) in enumerate(boxes()):
        tint = TINTS[k % 3] if k < 6 else (144, 139, 132)
        nodes[scene.add(node_mesh(size, base, turn, tint))] = ((k + 2) & 255, (k + 2) >> 8, 0)
    light = np.array([-0.5, 1.0, 0.74]) / np.linalg.norm([-0.5, 1.0, 0.74])
    scene.add(pyrender.DirectionalLight(intensity=4.0), pose=pose(light * 30.0, np.zeros(3)))
    renderer = pyrender.OffscreenRenderer(*CELL)
    flags = pyrender.RenderFlags.SHADOWS_DIRECTIONAL
    across, gap = 6, 24
    down = -(-count // across)
    sheet = Image.new(
        "RGB", (across * CELL[0] + (across + 1) * gap, down * (CELL[1] + gap) + gap), (145, 143, 139)
    )
    targets_px = 0
    for cell, (focal, pitch, yaw) in enumerate(variants(count)):
        camera = pyrender.PerspectiveCamera(2.0 * atan(GATE_MM / focal / 2.0 * CELL[1] / CELL[0]), 0.1, 500.0)
        p, y = radians(pitch), radians(yaw)
        eye = DISTANCE_M * np.array([sin(y) * cos(p), sin(p), cos(y) * cos(p)])
        node = scene.add(camera, pose=pose(eye, np.zeros(3)))
        scene.main_camera_node = node
        colour, depth = renderer.render(scene, flags=flags)
        seg, _ = renderer.render(scene, flags=pyrender.RenderFlags.SEG, seg_node_map=nodes)
        ids = seg[..., 0].astype(int) + 256 * seg[..., 1].astype(int)
        targets_px += int(((ids >= 2) & (ids <= 7) & (depth > 0)).sum())
        x, row = cell % across, cell // across
        sheet.paste(Image.fromarray(colour), (gap + x * (CELL[0] + gap), gap + row * (CELL[1] + gap)))
        scene.remove_node(node)
    sheet.save(out)
    print(f"{count} variants, {targets_px} pixels on targets")


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2])
