"""Files of cameras that were handed off, opened by others: the Khronos validator, trimesh, three's own glTF
loader, USD itself; and random cameras in random conventions against three and OpenCV.

Each must draw the check points of the hand-off where that says, to 0.01 px.
"""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from math import atan, degrees, hypot
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from camera.cameras import Spec, random_specs, seen_points, specs, whole
from cli_calls import done, yard
from outside.test_three import by_three, node_modules, told
from scene.test_export import validated
from scene.written import needs_usd
from stationpoint.camera.camera import project_points
from stationpoint.camera.shot import Setup
from stationpoint.record.handoff.convention import AXES_OF, CLIPS, LOOKS, ORDERS, PITCHES, YAWS, Convention
from stationpoint.record.handoff.reading import read_handoff
from stationpoint.record.handoff.written import Handed, handoff_text

Points = NDArray[np.float64]

SCRIPT = Path(__file__).with_name("three_gltf.mjs")
PIXEL = 0.01
STUDY = """
title = "Cameras of every kind that glTF holds"
scene = "yard.toml"
[subject]
name = "hopper"
at = [1.5, 0.2, -2]
[camera]
distance_m = 8
yaw_deg = 33
pitch_deg = 21
anchor_height_m = 0.9
offset = [0.11, -0.07]
offset_by = "slide"
aspect = "16:9"
[sweep]
rows = { projection = ["perspective", "orthographic"] }
columns = { offset_by = ["slide", "turn", "shift"] }
pages = { roll_deg = [0, 12] }
"""
WITH_USD = """
import json, sys
from pxr import Gf, Usd, UsdGeom
stage = Usd.Stage.Open(sys.argv[1])
given, found = json.loads(sys.argv[2]), {}
for prim in stage.Traverse():
    if prim.IsA(UsdGeom.Camera):
        seen = UsdGeom.Camera(prim).GetCamera(0)
        frustum = seen.frustum
        whole = frustum.ComputeViewMatrix() * frustum.ComputeProjectionMatrix()
        ours = "stationpoint:name"
        name = prim.GetAttribute(ours).Get() if prim.HasAttribute(ours) else prim.GetName()
        width, height = given["pixels"]
        px = []
        for point in given["points_m"]:
            at = whole.Transform(Gf.Vec3d(*point) / UsdGeom.GetStageMetersPerUnit(stage))
            px.append([(at[0] + 1) / 2 * width, (1 - at[1]) / 2 * height])
        found[name] = {"px": px, "focal": seen.focalLength, "gate": seen.horizontalAperture}
print(json.dumps(found))
"""


def handed(folder: Path, file: str, *words: str) -> dict[str, dict[str, Any]]:
    """The hand-off's variants by label, and the cameras as a file beside it."""
    path = yard(folder, STUDY)
    done("handoff", path, "-o", "camera.json", "--force", cwd=folder)
    done("handoff", path, *words, "-o", file, "--force", cwd=folder)
    return {one["id"]: one for one in json.loads((folder / "camera.json").read_text())["variants"]}


def points_of(variants: dict[str, dict[str, Any]]) -> Points:
    return np.array([point["xyz"] for one in variants.values() for point in one["points"]])


def off_px(found: dict[str, Any], variants: dict[str, dict[str, Any]]) -> float:
    """How far the worst check point is off; `found` has pixels of every variant's points for each camera."""
    worst, counted = 0.0, 0
    for number, (label, variant) in enumerate(variants.items()):
        if label in found:
            own = np.array(found[label])[8 * number : 8 * number + 8]
            worst = max(worst, float(np.abs(own - [point["px"] for point in variant["points"]]).max()))
            counted += 1
    assert counted == len(found) > 0
    return worst


@pytest.mark.parametrize("file", ["camera.glb", "camera.gltf"])
@pytest.mark.parametrize("words", [(), ("--with-level",)])
def test_the_validator_finds_nothing_and_threes_loader_draws_the_points_where_they_belong(
    file: str, words: tuple[str, ...], tmp_path: Path
) -> None:
    variants = handed(tmp_path, file, *words)
    issues = validated(tmp_path / file)
    assert (issues["numErrors"], issues["numWarnings"]) == (0, 0), issues["messages"]
    given = {"points_m": points_of(variants).tolist(), "pixels": [1920, 1080]}
    ended = subprocess.run(
        ["node", str(SCRIPT), str(node_modules()), str(tmp_path / file), json.dumps(given)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    found = json.loads(ended.stdout)
    assert set(found["cameras"]) == {label for label in variants if label[-1] != "3"}  # the third is shifted
    assert len(found["cameras"]) == 8
    assert off_px(found["cameras"], variants) < PIXEL
    assert (found["meshes"] > 0) == bool(words)


def test_trimesh_finds_the_cameras_where_they_stand_and_opencv_draws_their_points(tmp_path: Path) -> None:
    variants = handed(tmp_path, "camera.glb", "--with-level")
    data = (tmp_path / "camera.glb").read_bytes()
    tables = json.loads(data[20 : 20 + int.from_bytes(data[12:16], "little")])  # glTF 2.0, section 4.4
    graph = trimesh.load_scene(tmp_path / "camera.glb", process=False).graph
    points = points_of(variants)
    found = {}
    for node in tables["nodes"]:
        if "camera" not in node or tables["cameras"][node["camera"]]["type"] != "perspective":
            continue
        lens = tables["cameras"][node["camera"]]["perspective"]
        place = graph.get(node["name"])[0]
        focal = 1080 / 2 / np.tan(lens["yfov"] / 2)
        k = np.array([[focal, 0, 960], [0, focal, 540], [0, 0, 1]])
        view = np.diag([1.0, -1.0, -1.0, 1.0]) @ np.linalg.inv(place)
        px, _ = cv2.projectPoints(points, cv2.Rodrigues(view[:3, :3])[0], view[:3, 3], k, None)
        found[node["name"]] = np.asarray(px).reshape(-1, 2)
    assert len(found) == 4
    assert off_px(found, variants) < PIXEL


@needs_usd
def test_usd_itself_draws_the_points_where_they_belong(tmp_path: Path) -> None:
    variants = handed(tmp_path, "camera.usda", "--with-level")
    given = {"points_m": points_of(variants).tolist(), "pixels": [1920, 1080]}
    words = [sys.executable, "-c", WITH_USD, str(tmp_path / "camera.usda"), json.dumps(given)]
    found = json.loads(subprocess.run(words, capture_output=True, check=True, timeout=60).stdout)
    assert set(found) == set(variants)  # shifted lenses included
    assert off_px({label: one["px"] for label, one in found.items()}, variants) < PIXEL
    assert found["1-A1"]["focal"] == pytest.approx(35)  # millimetres, as people know them
    assert found["1-A1"]["gate"] == pytest.approx(36)


# ---- random cameras in random conventions -------------------------------------------------------


def setup_of(spec: Spec) -> Setup:
    """The spec's camera with the angles that belong to it."""
    camera = whole(spec)
    tan_h, tan_v = 0.5 / spec.focal_over_width, 0.5 / spec.focal_over_width / spec.aspect
    angles = [degrees(2 * atan(side)) for side in (tan_h, tan_v, hypot(tan_h, tan_v))]
    flat = spec.kind != "perspective"
    return Setup(
        camera=camera,
        projection=spec.kind,
        focal_mm=None if flat else 36 * spec.focal_over_width,
        hfov_deg=None if flat else angles[0],
        vfov_deg=None if flat else angles[1],
        dfov_deg=None if flat else angles[2],
        view_height_m=spec.view_height_m if flat else None,
        distance_m=None,
        pitch_deg=spec.pitch_deg,
        yaw_deg=spec.yaw_deg,
        roll_deg=spec.roll_deg,
        offset=spec.offset,
        offset_by="shift",
        aspect=spec.aspect,
        aspect_words=f"{spec.whole_px[0]}:{spec.whole_px[1]}",
        pixels=spec.whole_px,
        anchor_m=(0.0, 0.0, 0.0),
        focal_over_width=None if flat else spec.focal_over_width,
        oblique_ratio=spec.ratio if spec.kind == "oblique" else None,
        oblique_angle_deg=spec.angle_deg if spec.kind == "oblique" else None,
    )


def told_in(spec: Spec, convention: Convention, points: Points) -> dict[str, Any]:
    """The hand-off of one camera, as JSON."""
    names = tuple(f"p{k}" for k in range(len(points)))
    one = Handed("A1", "abcdef", "here", setup_of(spec), "height", None, None, names, points)
    found: dict[str, Any] = json.loads(handoff_text([one], convention, "Any", "0", "0"))
    return found


def drawn(found: dict[str, Any]) -> Points:
    """Pixels of its points by its matrices, (n, 2), with numpy alone."""
    said, variant = found["convention"], found["variants"][0]
    rows = [np.array(variant["matrices"][name]) for name in ("projection", "view")]
    projection, view = rows if said["matrix_order"] == "row" else [matrix.T for matrix in rows]
    xyz = np.array([point["xyz"] for point in variant["points"]])
    clip = np.column_stack([xyz, np.ones(len(xyz))]) @ (projection @ view).T
    ndc = clip[:, :2] / clip[:, 3:] * (1, 1 if said["clip_y"] == "down" else -1)
    px: Points = (ndc + 1) / 2 * variant["lens"]["pixels"]
    return px


def by_opencv(found: dict[str, Any]) -> Points:
    """Pixels of its points from its eye, axes, angles and shift, by OpenCV."""
    variant = found["variants"][0]
    pose, lens = variant["pose"], variant["lens"]
    width, height = lens["pixels"]
    axes = np.array([pose["right"], -np.array(pose["up"]), pose["ahead"]])
    at = (np.array([point["xyz"] for point in variant["points"]]) - pose["eye"]) @ axes.T
    focal = [
        side / 2 / np.tan(np.radians(lens[key]) / 2)
        for side, key in ((width, "hfov_deg"), (height, "vfov_deg"))
    ]
    x, y = lens["shift"]
    k = np.array([[focal[0], 0, width * (0.5 + x)], [0, focal[1], height * (0.5 - y)], [0, 0, 1]])
    px, _ = cv2.projectPoints(at, np.zeros(3), np.zeros(3), k, None)
    return np.asarray(px, dtype=np.float64).reshape(-1, 2)


CONVENTIONS = st.builds(
    Convention,
    axes=st.sampled_from([*AXES_OF.values(), ("-z", "x", "y"), ("y", "z", "x"), ("-x", "-y", "z")]),
    looks=st.sampled_from(LOOKS),
    unit=st.sampled_from(("m", "cm", "mm")),
    clip=st.sampled_from(CLIPS),
    clip_y=st.sampled_from(("up", "down")),
    is_reversed=st.booleans(),
    order=st.sampled_from(ORDERS),
    yaw=st.sampled_from(YAWS),
    pitch=st.sampled_from(PITCHES),
)


@settings(max_examples=150, deadline=None)
@given(spec=specs(), convention=CONVENTIONS, seed=st.integers(0, 99))
def test_any_camera_in_any_convention_draws_as_ours_does_and_comes_back(
    spec: Spec, convention: Convention, seed: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    camera = whole(spec)
    _, _, points = seen_points(camera, seed, 8)
    points = np.round(points, 3)
    found = told_in(spec, convention, points)
    ours = project_points(camera, points)
    near = np.isfinite(ours).all(axis=1) & (np.abs(ours).max(axis=1) < 4 * max(spec.whole_px))
    assert drawn(found)[near] == pytest.approx(ours[near], abs=PIXEL)
    path = tmp_path_factory.getbasetemp() / "any.json"
    path.write_text(json.dumps(found))
    (back,) = read_handoff(path)
    assert back.camera.view == pytest.approx(camera.view, abs=1e-6)
    assert back.camera.projection == pytest.approx(camera.projection, rel=1e-6, abs=1e-9)
    assert back.convention == convention
    assert back.points_m == pytest.approx(points, abs=1e-6)


def test_three_and_opencv_draw_random_cameras_of_any_convention_alike() -> None:
    every = [
        replace(spec, box=(0.0, 0.0, 1.0, 1.0), box_px=spec.whole_px)
        for spec in random_specs(seed=31, count=90, kinds=("perspective", "orthographic"))
    ]
    points = [np.round(seen_points(whole(spec), seed, 8)[2], 3) for seed, spec in enumerate(every)]
    three = by_three([told(spec, at) for spec, at in zip(every, points, strict=True)])
    rng = np.random.default_rng(32)
    axes = [*AXES_OF.values(), ("-z", "x", "y")]
    counted = 0
    for spec, at, drawn_there in zip(every, points, three, strict=True):
        convention = Convention(
            axes=axes[rng.integers(len(axes))],
            looks=str(rng.choice(LOOKS)),
            unit=str(rng.choice(("m", "cm", "mm"))),
            clip=str(rng.choice(CLIPS)),
            is_reversed=bool(rng.integers(2)),
            order=str(rng.choice(ORDERS)),
        )
        found = told_in(spec, convention, at)
        given = np.array([point["px"] for point in found["variants"][0]["points"]])
        assert given == pytest.approx(np.array(drawn_there["pixels"])[:, :2], abs=PIXEL)
        assert drawn(found) == pytest.approx(given, abs=PIXEL)
        if spec.kind == "perspective":
            assert by_opencv(found) == pytest.approx(given, abs=PIXEL)
            counted += 1
    assert counted == 45
