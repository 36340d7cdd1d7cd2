"""Perspective and orthographic cameras against three: pixels, depth after the divide, matrices.

three's filmGauge of 36 mm sits on the wider side of the picture; lens shift and windows are its
setViewOffset. Needs node and the npm package three: in the folder STATIONPOINT_NODE_MODULES, or in
node_modules at the repository's root.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from camera.cameras import Spec, box_in_px, random_specs, seen_points, windowed
from published import CAMERA_PX, CAMERAS, POINTS
from stationpoint.camera.camera import to_clip

SCRIPT = Path(__file__).with_name("three_project.mjs")
ROOT = Path(__file__).parents[2]
SPECS = random_specs(seed=12, count=100, kinds=("perspective", "orthographic"))


def node_modules() -> Path:
    """The folder that holds three, or a skip that says what to install."""
    folder = Path(os.environ.get("STATIONPOINT_NODE_MODULES", ROOT / "node_modules"))
    if shutil.which("node") is None:
        pytest.skip("node is not installed: three is not compared with")
    if not (folder / "three").is_dir():
        pytest.skip(
            "the npm package three is not installed: npm install three, "
            "or name a node_modules folder in STATIONPOINT_NODE_MODULES"
        )
    return folder


def by_three(cameras: list[dict[str, Any]]) -> list[dict[str, Any]]:
    done = subprocess.run(
        ["node", str(SCRIPT), str(node_modules())],
        input=json.dumps(cameras),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    found: list[dict[str, Any]] = json.loads(done.stdout)["cameras"]
    assert len(found) == len(cameras)
    return found


def told(spec: Spec, points_m: Any) -> dict[str, Any]:
    """A spec in three's own terms: focal length of the wider side, offsets in whole pixels."""
    width, height = spec.whole_px
    left, top, right, bottom = box_in_px(spec)
    wider = max(width, height) / width  # three fits 36 mm to the wider side
    return {
        "kind": spec.kind,
        "whole_px": spec.whole_px,
        "near_m": spec.near_m,
        "far_m": spec.far_m,
        "focal_mm": 36 * spec.focal_over_width / wider,
        "view_height_m": spec.view_height_m,
        "view_offset": [
            left - spec.offset[0] * width, top + spec.offset[1] * height, right - left, bottom - top
        ],
        "eye_m": spec.eye_m,
        "yaw_deg": spec.yaw_deg,
        "pitch_deg": spec.pitch_deg,
        "roll_deg": spec.roll_deg,
        "pixels": spec.box_px,
        "points_m": np.asarray(points_m).tolist(),
    }  # fmt: skip


@cache
def compared() -> list[tuple[Spec, Any, dict[str, Any]]]:
    points = [seen_points(windowed(spec), seed)[2] for seed, spec in enumerate(SPECS)]
    found = by_three([told(spec, at) for spec, at in zip(SPECS, points, strict=True)])
    return list(zip(SPECS, points, found, strict=True))


def test_random_cameras_draw_points_where_three_does() -> None:
    worst_px = worst_z = 0.0
    cases = compared()
    assert len(cases) == 100
    for spec, points, found in cases:
        camera = windowed(spec)
        clip = to_clip(camera, points)
        ndc = clip[:, :3] / clip[:, 3:]
        pixels = (ndc[:, :2] * (1, -1) + 1) / 2 * spec.box_px
        three = np.array(found["pixels"])
        worst_px = max(worst_px, float(np.max(np.abs(pixels - three[:, :2]))))
        worst_z = max(worst_z, float(np.max(np.abs(ndc[:, 2] - three[:, 2]))))
    assert worst_px < 1e-8
    assert worst_z < 1e-11


def test_matrices_are_threes() -> None:
    for spec, _, found in compared():
        three = np.array(found["projection"]).reshape(4, 4).T  # three stores columns
        assert windowed(spec).projection == pytest.approx(three, rel=1e-11, abs=1e-12)


def test_both_kinds_and_tall_pictures_are_among_them() -> None:
    kinds = {(spec.kind, spec.aspect < 1) for spec in SPECS}
    assert len(kinds) == 4


def test_worked_cameras_have_threes_pixels() -> None:
    """The numbers of published.py, from three itself (C1 and C5 have their angles by hand)."""
    angles = {  # yaw, pitch, eye; C1 level; C5 looks (-1, -.7, -6) on
        "C1": (0.0, 0.0, (0.0, 1.6, 8.0)),
        "C5": (
            float(np.degrees(np.arctan2(1, 6))),
            float(np.degrees(np.arctan2(0.7, np.hypot(1, 6)))),
            (1.5, 1.7, 5.0),
        ),
    }
    for name, (yaw, pitch, eye) in angles.items():
        given = CAMERAS[name]
        (found,) = by_three(
            [
                {
                    "kind": "perspective",
                    "whole_px": given.pixels,
                    "pixels": given.pixels,
                    "near_m": given.near_m,
                    "far_m": given.far_m,
                    "focal_mm": given.lens,
                    "view_offset": [0, 0, *given.pixels],
                    "eye_m": eye,
                    "yaw_deg": yaw,
                    "pitch_deg": pitch,
                    "roll_deg": 0,
                    "points_m": POINTS,
                }
            ]
        )
        assert np.array(found["pixels"])[:, :2] == pytest.approx(np.array(CAMERA_PX[name]), abs=6e-5)
