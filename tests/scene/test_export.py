"""GLB files that the tool writes: read back, looked at by another reader, and by the Khronos validator."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import trimesh

from scene.built import Built
from stationpoint.camera.pose import turned_by, view_from
from stationpoint.scene.assemble import scene_of
from stationpoint.scene.edit import box_node, stand_in, tinted_scene
from stationpoint.scene.export import glb_bytes
from stationpoint.scene.file import read_scene
from stationpoint.scene.solids import SHAPES, solid
from stationpoint.scene.types import Node, Scene, SceneCamera

ROOT = Path(__file__).parents[2]
VALIDATE = """
const fs = require("fs");
const validator = require(process.argv[1] + "/gltf-validator");
validator.validateBytes(new Uint8Array(fs.readFileSync(process.argv[2])))
  .then(report => console.log(JSON.stringify(report.issues)));
"""


@pytest.fixture
def yard() -> Scene:
    nodes = [box_node('crate "A"/\n木', (3, 0, 1), (1, 2, 3)), stand_in("hopper", (0, 0, 0), 1.7, 20)]
    for shape in SHAPES:
        vertices, faces = solid(shape, (1, 2, 3), (5, 0, 5), 25)
        nodes.append(Node(shape, vertices.astype(np.float32), faces))
    nodes.append(Node("backless", nodes[0].vertices, nodes[0].faces, backs_open=True))
    cameras = [
        SceneCamera("Shoulder", view_from((1, 2, 3), turned_by(33, 21, 4)), 40.0, 1.5, None, 0.1, 100.0),
        SceneCamera("Wide", view_from((1, 2, 3), turned_by(-150, 10)), 70.0, None, None, 0.1, None),
        SceneCamera("Plan", view_from((0, 30, 0), turned_by(0, 90)), None, 2.0, 9.0, 0.0, 60.0),
    ]
    return tinted_scene(scene_of(nodes, cameras), {"box": (235, 164, 44)})


def validated(path: Path) -> dict[str, object]:
    """The Khronos validator's issues; skips where it is not installed."""
    folder = Path(os.environ.get("STATIONPOINT_NODE_MODULES", ROOT / "node_modules"))
    if shutil.which("node") is None or not (folder / "gltf-validator").is_dir():
        pytest.skip(
            "node or the npm package gltf-validator is not installed: npm install gltf-validator, "
            "or name a node_modules folder in STATIONPOINT_NODE_MODULES"
        )
    done = subprocess.run(
        ["node", "-e", VALIDATE, str(folder.resolve()), str(path)], capture_output=True, text=True, check=True
    )
    issues: dict[str, object] = json.loads(done.stdout)
    return issues


def test_the_khronos_validator_finds_nothing(tmp_path: Path, yard: Scene) -> None:
    (tmp_path / "yard.glb").write_bytes(glb_bytes(yard, yard.cameras))
    issues = validated(tmp_path / "yard.glb")
    assert (issues["numErrors"], issues["numWarnings"]) == (0, 0), issues["messages"]


def test_the_validator_would_see_an_error(tmp_path: Path) -> None:
    built = Built()
    built.node(mesh=built.mesh())
    assert (
        validated(built.glb(tmp_path / "bad.glb"))["numErrors"] == 1
    )  # a position accessor without min and max


def test_what_is_written_is_read_back(tmp_path: Path, yard: Scene) -> None:
    (tmp_path / "yard.glb").write_bytes(glb_bytes(yard, yard.cameras))
    back = read_scene(tmp_path / "yard.glb")
    assert [node.name for node in back.nodes] == [node.name for node in yard.nodes]
    for found, wanted in zip(back.nodes, yard.nodes, strict=True):
        assert np.array_equal(found.vertices, wanted.vertices)
        assert np.array_equal(found.faces, wanted.faces)
        assert found.closed
    assert len(back.cameras) == 3
    for camera, original in zip(back.cameras, yard.cameras, strict=True):
        assert camera.name == original.name
        assert camera.view == pytest.approx(original.view, abs=1e-7)
        for field in ("vfov_deg", "aspect", "view_height_m", "near_m", "far_m"):
            assert getattr(camera, field) == pytest.approx(getattr(original, field)), field


def test_another_reader_sees_the_same_geometry(tmp_path: Path, yard: Scene) -> None:
    (tmp_path / "yard.glb").write_bytes(glb_bytes(yard))
    other = trimesh.load_scene(tmp_path / "yard.glb", process=False)
    assert len(other.geometry) == len(yard.nodes)
    assert other.bounds == pytest.approx(yard.bounds(), abs=1e-6)
    colour = other.geometry["box"].visual.material.baseColorFactor
    assert (
        np.abs(np.asarray(colour)[:3].astype(int) - [211, 95, 6]).max() <= 1
    )  # #eba42c in linear light, x 255


def test_the_same_scene_gives_the_same_bytes(yard: Scene) -> None:
    assert glb_bytes(yard, yard.cameras) == glb_bytes(yard, yard.cameras)


def test_a_scene_of_cameras_only_is_still_a_valid_file(tmp_path: Path, yard: Scene) -> None:
    (tmp_path / "cameras.glb").write_bytes(glb_bytes(Scene(()), yard.cameras))
    assert validated(tmp_path / "cameras.glb")["numErrors"] == 0


PAINTED = """
[ground]
colour = "#A39B80"

[[solid]]
name = "hut"
shape = "box"
size = [2, 2, 2]
colour = "#7C6448"

[[solid]]
name = "slab"
shape = "box"
size = [1, 1, 1]
at = [4, 0, 0]
"""


def test_colours_of_solids_come_back_as_own_colours_and_clay_as_clay(tmp_path: Path) -> None:
    (tmp_path / "yard.toml").write_text(PAINTED)
    written = read_scene(tmp_path / "yard.toml")
    (tmp_path / "yard.glb").write_bytes(glb_bytes(written))
    assert validated(tmp_path / "yard.glb")["numErrors"] == 0
    back = read_scene(tmp_path / "yard.glb", {"materials": "own"})
    some = read_scene(tmp_path / "yard.glb", {"materials": "own", "walkable": ["*"]})
    assert back.in_colour
    assert some.in_colour  # whatever else is said of its nodes
    for name in ("ground", "hut"):
        found, meant = back.node(name).own, written.node(name).own
        assert found is not None
        assert meant is not None
        assert found.materials[0].factor == pytest.approx(meant.materials[0].factor, abs=1e-6)
        assert back.node(name).shows_own
    assert back.node("slab").own is None
    assert not back.node("slab").shows_own


def test_a_role_shows_over_a_colour_in_what_is_written(tmp_path: Path) -> None:
    (tmp_path / "yard.toml").write_text(PAINTED)
    tinted = tinted_scene(read_scene(tmp_path / "yard.toml"), {"hut": (235, 164, 44)})
    (tmp_path / "yard.glb").write_bytes(glb_bytes(tinted))
    other = trimesh.load_scene(tmp_path / "yard.glb", process=False)
    colour = np.asarray(other.geometry["hut"].visual.material.baseColorFactor)[:3].astype(int)
    assert np.abs(colour - [211, 95, 6]).max() <= 1  # #eba42c in linear light, x 255
