"""The plain loop over the scanned room of scan.py: stock pyrender, one cell after another, at each place.

python tests/bench/plain_scan.py out.png

As plain_loop.py: the colour with shadows and depth, then the ids. The room is one node, the targets and the
body are others.
"""

from __future__ import annotations

import sys
from math import atan, cos, radians, sin

import numpy as np
import pyrender
import trimesh
from PIL import Image
from plain_loop import TINTS, node_mesh, pose
from scan import DISTANCE_M, FOCAL_MM, PITCHES, PLACES, YAWS, room

CELL = (544, 306)  # as the sheet's


def main(out: str) -> None:
    """Draw the 12 cells at both places and save the sheet of the first."""
    points, faces = room()
    material = pyrender.MetallicRoughnessMaterial(baseColorFactor=[0.56, 0.54, 0.52, 1.0], metallicFactor=0.0)
    mesh = trimesh.Trimesh(points, faces, process=False)
    scene = pyrender.Scene(ambient_light=[0.4, 0.4, 0.4], bg_color=[183, 191, 196])
    nodes = {scene.add(pyrender.Mesh.from_trimesh(mesh, material=material, smooth=False)): (1, 0, 0)}
    things = (((0.4, 0.3, 0.4), (0.2, 1.9, -1.4)), ((0.5, 0.4, 0.5), (2.6, 0.75, -1.4)))
    for k, (size, base) in enumerate(things):
        nodes[scene.add(node_mesh(size, base, 0.0, TINTS[k]))] = (k + 2, 0, 0)
    body = scene.add(node_mesh((0.5, 1.7, 0.5), (0.0, 0.0, 0.0), 0.0, TINTS[2]))
    nodes[body] = (4, 0, 0)
    light = np.array([-0.5, 1.0, 0.74]) / np.linalg.norm([-0.5, 1.0, 0.74])
    scene.add(pyrender.DirectionalLight(intensity=4.0), pose=pose(light * 30.0, np.zeros(3)))
    renderer = pyrender.OffscreenRenderer(*CELL)
    flags = pyrender.RenderFlags.SHADOWS_DIRECTIONAL
    gap, across = 24, len(YAWS)
    sheet = Image.new("RGB", (across * (CELL[0] + gap) + gap, len(PITCHES) * (CELL[1] + gap) + gap))
    counted = 0
    for cell, (pitch, yaw) in enumerate((p, y) for p in PITCHES for y in YAWS):
        p, y = radians(pitch), radians(yaw)
        for number, place in enumerate(PLACES):
            camera = pyrender.PerspectiveCamera(
                2.0 * atan(36.0 / FOCAL_MM / 2.0 * CELL[1] / CELL[0]), 0.1, 60.0
            )
            foot = np.array(place)
            eye = foot + DISTANCE_M * np.array([sin(y) * cos(p), sin(p), cos(y) * cos(p)])
            node = scene.add(camera, pose=pose(eye, foot))
            scene.main_camera_node = node
            moved = np.eye(4)
            moved[:3, 3] = foot
            scene.set_pose(body, moved)
            colour, depth = renderer.render(scene, flags=flags)
            seg, _ = renderer.render(scene, flags=pyrender.RenderFlags.SEG, seg_node_map=nodes)
            counted += int(((seg[..., 0] >= 2) & (depth > 0)).sum())
            if number == 0:
                at = (gap + cell % across * (CELL[0] + gap), gap + cell // across * (CELL[1] + gap))
                sheet.paste(Image.fromarray(colour), at)
            scene.remove_node(node)
    sheet.save(out)
    print(f"{len(PITCHES) * len(YAWS)} cells at {len(PLACES)} places, {counted} pixels on what is named")


if __name__ == "__main__":
    main(sys.argv[1])
