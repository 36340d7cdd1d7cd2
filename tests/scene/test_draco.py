"""Draco: what is decoded, what is held against the accessors, and what is said where DracoPy is not."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
import pytest

from scene.built import CUBE, CUBE_FACES, Built, area
from scene.written import DRACO, draco_glb, draco_mesh, needs_draco
from stationpoint.base.errors import MachineLacks, StudyWrong
from stationpoint.scene.file import read_scene
from stationpoint.scene.types import Node, Scene

MODELS = Path("/usr/share/assimp/models/glTF2")
BOX = Node("box", CUBE * (1, 2, 3), CUBE_FACES)
BALL = Node(
    "ball",
    np.array([(np.cos(a) * np.sin(b), np.cos(b), np.sin(a) * np.sin(b))
              for a in np.arange(0, 6.2, 0.3) for b in np.arange(0.1, 3.1, 0.2)]),
    np.array([(k, k + 1, k + 15) for k in range(290)]),
)  # fmt: skip


def built_box() -> Built:
    built = Built()
    built.node(name="box", mesh=draco_mesh(built, BOX, 14), translation=[10, 0, 0])
    return built


@needs_draco
def test_a_compressed_box_is_the_box_to_a_step_of_its_quantization(tmp_path: Path) -> None:
    """2 x 4 x 6 with 14 bits over its largest extent: steps of 6 / (2^14 - 1) = 0.37 mm."""
    node = read_scene(built_box().glb(tmp_path / "a.glb")).node("box")
    assert node.bounds == pytest.approx(np.array([[9, -2, -3], [11, 2, 3]]), abs=6 / (2**14 - 1))
    assert area(node.vertices, node.faces) == pytest.approx(2 * (2 * 4 + 4 * 6 + 2 * 6), rel=1e-3)
    assert node.closed


@needs_draco
@pytest.mark.skipif(not MODELS.is_dir(), reason="Debian's assimp-testmodels are not installed")
def test_an_engine_compressed_by_others_is_its_uncompressed_sibling() -> None:
    """Both files are of one model; its positions have 11 bits, and faces without area are gone."""
    packed = read_scene(MODELS / "draco" / "2CylinderEngine.gltf")
    plain = read_scene(MODELS / "2CylinderEngine-glTF-Binary" / "2CylinderEngine.glb")
    assert len(packed.nodes) == len(plain.nodes) == 67
    for ours, other in zip(packed.nodes, plain.nodes, strict=True):
        assert ours.bounds == pytest.approx(other.bounds, abs=np.ptp(other.bounds, axis=0).max() / 2**10)
        assert area(ours.vertices, ours.faces) == pytest.approx(area(other.vertices, other.faces), rel=0.01)


def outcome(path: Path) -> tuple[Scene | None, str]:
    """The scene, or what is said about it; any other error is the test's."""
    try:
        return read_scene(path), ""
    except StudyWrong as error:
        return None, error.message


def lied(**more: object) -> Callable[[dict[str, Any]], None]:
    return lambda tables: tables["accessors"][0].update(more)


@needs_draco
@pytest.mark.parametrize(
    ("lie", "said"),
    [
        (lied(count=9), "8 vertices where 9 are promised"),
        (lambda tables: tables["accessors"][1].update(count=33), "36 indices where 33 are promised"),
        (lied(max=[1, 2, 3.2]), "not within the bounds"),
        (lied(min=[-1, -2, -2.8]), "not within the bounds"),
        (lambda tables: tables["accessors"][0].pop("min"), r"min is \[\], must be 3 numbers"),
        (lied(componentType=5122), "of another type than it says"),
        (lied(type="VEC4"), "of another type than it says"),
    ],
)
def test_what_comes_out_is_held_against_what_the_file_promises(
    tmp_path: Path, lie: Callable[[dict[str, Any]], None], said: str
) -> None:
    built = built_box()
    lie(built.tables)
    with pytest.raises(StudyWrong, match=said) as caught:
        read_scene(built.glb(tmp_path / "a.glb"))
    assert len(caught.value.message.splitlines()) == 1


@needs_draco
@pytest.mark.parametrize("number", [1, 99, "POSITION", True])
def test_an_attribute_that_the_stream_lacks_is_told(tmp_path: Path, number: object) -> None:
    built = built_box()
    primitive = built.tables["meshes"][0]["primitives"][0]
    primitive["extensions"][DRACO]["attributes"]["POSITION"] = number
    with pytest.raises(StudyWrong, match="has no attribute of number"):
        read_scene(built.glb(tmp_path / "a.glb"))


@needs_draco
def test_a_strip_and_a_mesh_without_indices_are_refused(tmp_path: Path) -> None:
    built = built_box()
    primitive = built.tables["meshes"][0]["primitives"][0]
    primitive["mode"] = 5
    with pytest.raises(StudyWrong, match="is a strip compressed with"):
        read_scene(built.glb(tmp_path / "a.glb"))
    del primitive["mode"], primitive["indices"]
    with pytest.raises(StudyWrong, match="names no indices"):
        read_scene(built.glb(tmp_path / "a.glb"))


@needs_draco
def test_streams_mutilated_at_random_are_refused_or_stay_within_their_bounds(tmp_path: Path) -> None:
    path = draco_glb(tmp_path / "a.glb", Scene((BALL,)), 11)
    data = path.read_bytes()
    start = data.index(b"DRACO")
    rng = np.random.default_rng(0)
    refused = 0
    for _ in range(150):
        broken = bytearray(data)
        broken[int(rng.integers(start, len(data)))] ^= int(rng.integers(1, 256))
        path.write_bytes(broken)
        scene, complaint = outcome(path)
        if scene is None:
            refused += 1
            assert len(complaint.splitlines()) == 1
        else:
            assert scene.bounds() == pytest.approx(BALL.bounds, abs=2 / 255)
    assert refused > 50


@needs_draco
def test_a_file_without_its_package_is_told_what_installs_it(tmp_path: Path) -> None:
    path = built_box().glb(tmp_path / "a.glb")
    with patch.dict(sys.modules, {"DracoPy": None}), pytest.raises(MachineLacks) as caught:
        read_scene(path)
    assert str(caught.value) == (
        f"a.glb: is compressed with {DRACO}, and DracoPy, which reads that, is not installed.\n"
        'Install it with: pip install "stationpoint[draco]"'
    )


def test_a_plain_copy_beside_compressed_data_needs_no_package(tmp_path: Path) -> None:
    built = Built()
    built.node(name="tri", mesh=built.mesh(extensions={DRACO: {"bufferView": 0, "attributes": {}}}))
    built.tables["extensionsUsed"] = [DRACO]
    with patch.dict(sys.modules, {"DracoPy": None}):
        assert read_scene(built.glb(tmp_path / "a.glb")).nodes[0].name == "tri"
