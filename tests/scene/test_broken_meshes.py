"""Mesh files broken at random: one sentence or finite geometry, and never a word from a library."""

from __future__ import annotations

import json
import logging
import re
import struct
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from scene.built import CUBE, CUBE_FACES, Built, triangle_file
from stationpoint.base.errors import StudyWrong
from stationpoint.scene.file import read_scene

CORNERS = [(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0)]
NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
ODD = [b"0", b"-1", b"3", b"1.5", b"1e308", b"-1e308", b"1e-320", b"nan", b"inf", b"65536", b"4294967295",
       b"99999999999", b"", b"x", b"[]", b"null", b"-1.#IND"]  # fmt: skip


pytestmark = pytest.mark.filterwarnings("error")


@pytest.fixture(autouse=True)
def _no_library_logs(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    with caplog.at_level(logging.DEBUG):
        yield
    assert caplog.records == []


def outcome(path: Path) -> str:
    """The sentence that refuses a file, or "read"."""
    message = "read"
    try:
        scene = read_scene(path)
    except StudyWrong as error:
        message = error.message
    if message != "read":
        assert len(message.splitlines()) == 1
        assert message.startswith(f"{path.name}: ")
        return message
    assert len(scene.nodes) > 0
    for node in scene.nodes:
        assert np.isfinite(node.vertices).all()
        assert 0 <= node.faces.min() <= node.faces.max() < len(node.vertices)
    return message


def ply(kind: str) -> bytes:
    """A quad and a triangle."""
    head = f"ply\nformat {kind} 1.0\nelement vertex 4\nproperty float x\nproperty float y\nproperty float z\n"
    head += "element face 2\nproperty list uchar int vertex_indices\nend_header\n"
    if kind == "ascii":
        return (head + "0 0 0\n1 0 0\n1 1 0\n0 1 0\n4 0 1 2 3\n3 0 1 2\n").encode()
    order = ">" if "big" in kind else "<"
    data = b"".join(struct.pack(order + "3f", *corner) for corner in CORNERS)
    return head.encode() + data + struct.pack(order + "B4iB3i", 4, 0, 1, 2, 3, 3, 0, 1, 2)


def tree() -> Built:
    """A cube that is moved, morphed, given sparse values and hung on a joint; instances; cameras."""
    built = Built()
    points = built.accessor(CUBE)
    spots = {"bufferView": built.view(struct.pack("<HH", 1, 3)), "componentType": 5123}
    news = {"bufferView": built.view(struct.pack("<6f", *range(6)))}
    built.tables["accessors"][points]["sparse"] = {"count": 2, "indices": spots, "values": news}
    attributes = {
        "POSITION": points,
        "JOINTS_0": built.accessor(np.zeros((8, 4)), "u1"),
        "WEIGHTS_0": built.accessor(np.eye(4)[np.zeros(8, dtype=int)]),
    }
    targets = [{"POSITION": built.accessor(CUBE / 10)}]
    indices = built.accessor(CUBE_FACES.ravel(), "u2")
    built.tables["meshes"].append(
        {"weights": [0.5], "primitives": [{"attributes": attributes, "targets": targets, "indices": indices}]}
    )
    joint = built.node(name="joint", translation=[1, 2, 3], rotation=[0, 0, 0, 1], scale=[1, -1, 2])
    built.tables["skins"] = [
        {"joints": [joint], "inverseBindMatrices": built.accessor(np.eye(4).reshape(1, 16))}
    ]
    built.node(name="held", mesh=0, skin=0, weights=[0.2])
    rows = {"TRANSLATION": built.accessor(np.arange(9.0).reshape(3, 3))}
    built.node(name="row", mesh=0, extensions={"EXT_mesh_gpu_instancing": {"attributes": rows}})
    built.tables["cameras"] = [
        {"type": "perspective", "perspective": {"yfov": 1.0, "znear": 0.1, "aspectRatio": 1.5}},
        {"type": "orthographic", "orthographic": {"xmag": 1, "ymag": 1, "zfar": 10, "znear": 0}},
    ]
    built.node(camera=0)
    built.node(camera=1, matrix=np.eye(4).ravel().tolist())
    return built


def whole_files(folder: Path) -> dict[str, bytes]:
    """A valid file of every kind."""
    loops = "".join(
        "facet normal 0 0 1\nouter loop\n"
        + "".join("vertex {} {} {}\n".format(*CUBE[corner]) for corner in face)
        + "endloop\nendfacet\n"
        for face in CUBE_FACES
    )
    records = b"".join(struct.pack("<12fH", 0, 0, 1, *CUBE[face].ravel(), 0) for face in CUBE_FACES)
    return {
        "little.ply": ply("binary_little_endian"),
        "big.ply": ply("binary_big_endian"),
        "ascii.ply": ply("ascii"),
        "binary.stl": bytes(80) + struct.pack("<I", 12) + records,
        "ascii.stl": f"solid cube\n{loops}endsolid cube\n".encode(),
        "a.obj": b"v 0 0 0\nv 2 0 0\nv 2 1 0\nv 1 1 0\nv 1 2 0\nv 0 2 0\n"
        b"o a\nf 1/1 2/2/3 3//4 4 5 6\nf -1 -2 -3\n",
        "a.glb": tree().glb(folder / "whole.glb").read_bytes(),
        "a.gltf": tree().gltf(folder / "whole.gltf", "whole.bin").read_bytes(),
    }


def broken(data: bytes, rng: np.random.Generator) -> bytes:
    """One to three changes: bytes set, cut out, put in or repeated, numbers set to odd ones."""
    for _ in range(int(rng.integers(1, 4))):
        at, length = int(rng.integers(len(data) + 1)), int(rng.integers(1, 9))
        kind = int(rng.integers(8))
        numbers = list(NUMBER.finditer(data))
        if kind == 0:
            data = data[:at] + rng.bytes(1) + data[at + 1 :]
        elif kind == 1:
            data = data[:at] + data[at + length :]
        elif kind == 2:
            data = data[:at] + rng.bytes(length) + data[at:]
        elif kind == 3:
            data = data[:at] + data[at : at + 20 * length] + data[at:]
        elif numbers:
            found = numbers[int(rng.integers(len(numbers)))]
            data = data[: found.start()] + ODD[int(rng.integers(len(ODD)))] + data[found.end() :]
    return repacked(data)


def repacked(data: bytes) -> bytes:
    """A GLB whose JSON has another length now, with the lengths that it has."""
    end = data.find(b"BIN\0") - 4
    if not data.startswith(b"glTF") or end < 20:
        return data
    text = data[20:end] + b" " * (-len(data[20:end]) % 4)
    return (
        data[:8]
        + struct.pack("<II", 20 + len(text) + len(data) - end, len(text))
        + data[16:20]
        + text
        + data[end:]
    )


@pytest.mark.parametrize(
    "name", ["little.ply", "big.ply", "ascii.ply", "binary.stl", "ascii.stl", "a.obj", "a.glb", "a.gltf"]
)
def test_broken_files_are_refused_with_one_sentence_or_read_to_finite_geometry(
    tmp_path: Path, name: str
) -> None:
    """100 changes to each kind of file, the same ones every time."""
    whole = whole_files(tmp_path)[name]
    path = tmp_path / name
    path.write_bytes(whole)
    assert outcome(path) == "read"
    refused = 0
    for seed in range(100):
        path.write_bytes(broken(whole, np.random.default_rng(seed)))
        refused += outcome(path) != "read"
    assert 20 < refused < 100


# ---- what was found so, reduced -----------------------------------------------------------------


@pytest.mark.parametrize("far", ["inf", "nan", "-inf"])
def test_an_obj_quad_with_a_corner_that_is_no_number_is_refused(tmp_path: Path, far: str) -> None:
    path = tmp_path / "a.obj"
    path.write_text(f"v 0 0 0\nv {far} 0 0\nv 1 1 0\nv 0 1 0\nf 1 2 3 4\n")
    assert outcome(path) == "a.obj: has a vertex whose position is not a finite number."


def test_a_ply_quad_beyond_single_precision_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.ply"
    text = ply("ascii").replace(b"float", b"double").replace(b"1 1 0", b"1e200 1e200 0")
    path.write_bytes(text)
    assert "from the origin; at most 1e+09 m are drawn" in outcome(path)


def test_a_glb_with_numbers_that_overflow_is_refused(tmp_path: Path) -> None:
    """A morph weight, a share of a joint, and a position that is a signalling NaN."""
    built = tree()
    built.tables["nodes"][1]["weights"] = [1e308]
    built.tables["nodes"][0]["scale"] = [1e308, 1e308, 1e308]
    assert outcome(built.glb(tmp_path / "a.glb")) != "read"
    built = triangle_file()
    built.blob[0:4] = struct.pack("<I", 0x7F800001)
    assert "not a finite number" in outcome(built.glb(tmp_path / "a.glb"))


def test_a_rotation_too_small_to_be_one_is_refused(tmp_path: Path) -> None:
    """Its square is nothing in double precision."""
    built = triangle_file()
    built.tables["nodes"][0]["rotation"] = [0, 0, 0, 1e-200]
    path = tmp_path / "a.gltf"
    built.gltf(path, "a.bin")
    assert json.loads(path.read_text())["nodes"][0]["rotation"][3] == 1e-200
    assert "rotation is all zero" in outcome(path)
