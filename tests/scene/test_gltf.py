"""glTF meshes built in the test, geometry by hand; extensions that a file asks for."""

from __future__ import annotations

from math import cos, radians, sin
from pathlib import Path

import numpy as np
import pytest

from scene.built import CUBE, CUBE_FACES, TRIANGLE, Built, area, triangle_file
from stationpoint.base.errors import StudyWrong
from stationpoint.scene.file import read_scene
from stationpoint.scene.types import Node, Scene

SQUARE = [(0, 0, 0), (1, 0, 0), (0, 1, 0), (1, 1, 0), (0, 2, 0), (1, 2, 0)]


def read(built: Built, tmp_path: Path) -> Scene:
    return read_scene(built.glb(tmp_path / "level.glb"))


def the_one(built: Built, tmp_path: Path) -> Node:
    nodes = read(built, tmp_path).nodes
    assert len(nodes) == 1
    return nodes[0]


@pytest.mark.parametrize("kind", ["u1", "u2", "u4"])
def test_indices_of_every_width_are_read(tmp_path: Path, kind: str) -> None:
    built = Built()
    built.node(mesh=built.mesh(SQUARE, indices=built.accessor([0, 1, 2, 2, 1, 3], kind)))
    node = the_one(built, tmp_path)
    assert area(node.vertices, node.faces) == pytest.approx(1.0)
    assert len(node.vertices) == 4  # the two that no face uses are left out


def test_a_strip_alternates_its_winding(tmp_path: Path) -> None:
    built = Built()
    built.node(mesh=built.mesh(SQUARE, mode=5))
    node = the_one(built, tmp_path)
    assert len(node.faces) == 4
    a, b, c = (node.vertices[node.faces[:, k]] for k in range(3))
    assert (np.cross(b - a, c - a)[:, 2] > 0).all()
    assert area(node.vertices, node.faces) == pytest.approx(2.0)


def test_a_fan_goes_round_its_first_vertex(tmp_path: Path) -> None:
    ring = [(cos(radians(60 * k)), sin(radians(60 * k)), 0) for k in range(6)]
    built = Built()
    built.node(mesh=built.mesh(ring, mode=6))
    node = the_one(built, tmp_path)
    assert len(node.faces) == 4
    assert area(node.vertices, node.faces) == pytest.approx(3 * 3**0.5 / 2)  # regular hexagon, side 1


def test_seams_of_a_strip_have_no_faces(tmp_path: Path) -> None:
    built = Built()
    built.node(mesh=built.mesh(SQUARE, [0, 1, 2, 2, 3, 3, 4, 5], mode=5))
    node = the_one(built, tmp_path)
    assert len(node.faces) == 2


def test_several_primitives_become_one_node_and_lines_are_told(tmp_path: Path) -> None:
    built = Built()
    mesh = built.mesh()
    primitives = built.tables["meshes"][mesh]["primitives"]
    primitives.append({"attributes": {"POSITION": built.accessor([(5, 0, 0), (6, 0, 0), (5, 1, 0)])}})
    primitives.append({"attributes": {"POSITION": built.accessor(TRIANGLE)}, "mode": 1})
    built.node(name="both", mesh=mesh)
    scene = read(built, tmp_path)
    assert scene.node("both").bounds.tolist() == [[0, 0, 0], [6, 1, 0]]
    assert any("lines" in note and "both" in note for note in scene.notes)


def test_a_scene_of_points_only_is_refused(tmp_path: Path) -> None:
    built = Built()
    built.node(mesh=built.mesh(mode=0))
    with pytest.raises(StudyWrong, match=r"^level\.glb: has no faces, so there is nothing to draw\.$"):
        read(built, tmp_path)


def test_interleaved_vertices_are_taken_by_their_stride(tmp_path: Path) -> None:
    built = Built()
    rows = np.hstack([np.array(TRIANGLE), np.full((3, 3), 9.0)]).astype("<f4")
    view = built.view(rows.tobytes(), byteStride=24)
    built.tables["accessors"].append({"bufferView": view, "componentType": 5126, "count": 3, "type": "VEC3"})
    built.tables["meshes"].append({"primitives": [{"attributes": {"POSITION": 0}}]})
    built.node(mesh=0)
    assert the_one(built, tmp_path).vertices.tolist() == [[0, 0, 0], [1, 0, 0], [0, 1, 0]]


def test_sparse_values_replace_those_of_the_base(tmp_path: Path) -> None:
    built = Built()
    sparse = {
        "count": 1,
        "indices": {"bufferView": built.view(np.array([2], "<u2").tobytes()), "componentType": 5123},
        "values": {"bufferView": built.view(np.array([[0, 7, 0]], "<f4").tobytes())},
    }
    number = built.accessor(TRIANGLE, sparse=sparse)
    built.tables["meshes"].append({"primitives": [{"attributes": {"POSITION": number}}]})
    built.node(mesh=0)
    assert the_one(built, tmp_path).bounds.tolist() == [[0, 0, 0], [1, 7, 0]]


def test_sparse_values_without_a_base_start_from_zero(tmp_path: Path) -> None:
    built = Built()
    sparse = {
        "count": 2,
        "indices": {"bufferView": built.view(np.array([1, 2], "<u1").tobytes()), "componentType": 5121},
        "values": {"bufferView": built.view(np.array([[3, 0, 0], [0, 7, 0]], "<f4").tobytes())},
    }
    built.tables["accessors"].append({"componentType": 5126, "count": 3, "type": "VEC3", "sparse": sparse})
    built.tables["meshes"].append({"primitives": [{"attributes": {"POSITION": 0}}]})
    built.node(mesh=0)
    assert the_one(built, tmp_path).vertices.tolist() == [[0, 0, 0], [3, 0, 0], [0, 7, 0]]


@pytest.mark.parametrize(
    ("kind", "normalized", "top", "low"),
    [
        ("i2", True, 1.0, -1.0),
        ("i1", True, 1.0, -1.0),
        ("u2", True, 1.0, 0.0),
        ("i2", False, 32767.0, -32768.0),
    ],
)
def test_quantized_positions_mean_what_the_extension_says(
    tmp_path: Path, kind: str, normalized: bool, top: float, low: float
) -> None:
    # KHR_mesh_quantization: c / 127, c / 32767 with -1 as the least, c / 65535; or the integer itself.
    limits = np.iinfo(kind)
    points = [(limits.min, 0, 0), (limits.max, 0, 0), (0, limits.max, 0)]
    built = Built()
    built.tables["extensionsRequired"] = built.tables["extensionsUsed"] = ["KHR_mesh_quantization"]
    width = np.dtype(kind).itemsize
    rows = np.zeros((3, 4), dtype="<" + kind)
    rows[:, :3] = points
    view = built.view(rows.tobytes(), byteStride=4 * width)
    components = {"i1": 5120, "i2": 5122, "u2": 5123}
    built.tables["accessors"].append(
        {
            "bufferView": view,
            "componentType": components[kind],
            "count": 3,
            "type": "VEC3",
            "normalized": normalized,
        }
    )
    built.tables["meshes"].append({"primitives": [{"attributes": {"POSITION": 0}}]})
    built.node(mesh=0, scale=[2, 2, 2])
    assert the_one(built, tmp_path).bounds.tolist() == [[2 * low, 0, 0], [2 * top, 2 * top, 0]]


def test_morph_weights_of_the_file_are_applied(tmp_path: Path) -> None:
    built = Built()
    target = {"POSITION": built.accessor([(0, 0, 0), (0, 0, 0), (0, 0, 4)])}
    built.tables["meshes"].append(
        {
            "primitives": [{"attributes": {"POSITION": built.accessor(TRIANGLE)}, "targets": [target]}],
            "weights": [0.5],
        }
    )
    built.node(name="as the mesh says", mesh=0)
    built.node(name="as the node says", mesh=0, weights=[0.25])
    scene = read(built, tmp_path)
    assert scene.node("as the mesh says").vertices[2].tolist() == [0, 1, 2]
    assert scene.node("as the node says").vertices[2].tolist() == [0, 1, 1]


def test_a_skin_at_rest_stands_where_its_joints_are(tmp_path: Path) -> None:
    # Joint 1 m up and twice as large, bound at 0.5 m: p -> 2 (p - 0.5 y) + 1 y.
    # The place of the mesh's own node does not count (glTF 2.0, section 3.7.3.3).
    built = Built()
    bind = np.eye(4)
    bind[1, 3] = -0.5
    joint = built.node(name="joint", translation=[0, 1, 0], scale=[2, 2, 2])
    attributes = {
        "POSITION": built.accessor(TRIANGLE),
        "JOINTS_0": built.accessor([[0, 0, 0, 0]] * 3, "u1"),
        "WEIGHTS_0": built.accessor([[1.0, 0, 0, 0]] * 3),
    }
    built.tables["meshes"].append({"primitives": [{"attributes": attributes}]})
    built.tables["skins"] = [{"joints": [joint], "inverseBindMatrices": built.accessor([bind.T.ravel()])}]
    built.node(name="body", mesh=0, skin=0, translation=[100, 100, 100])
    scene = read(built, tmp_path)
    assert scene.node("body").vertices.tolist() == [[0, 0, 0], [2, 0, 0], [0, 2, 0]]
    assert any("rest pose" in note for note in scene.notes)


def test_a_cube_with_split_corners_is_known_as_closed(tmp_path: Path) -> None:
    built = Built()
    built.node(name="whole", mesh=built.mesh(CUBE[CUBE_FACES].reshape(-1, 3)))
    built.node(name="open", mesh=built.mesh(CUBE, CUBE_FACES[:-1]))
    scene = read(built, tmp_path)
    assert scene.node("whole").closed
    assert not scene.node("open").closed


# ---- extensions ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["EXT_meshopt_compression", "KHR_meshopt_compression"])
def test_required_compression_is_refused_by_name(tmp_path: Path, name: str) -> None:
    built = triangle_file()
    built.tables["extensionsRequired"] = ["KHR_mesh_quantization", name]
    with pytest.raises(StudyWrong, match=f"{name}.*export it without compression"):
        read(built, tmp_path)


def test_other_required_extensions_are_refused_by_name(tmp_path: Path) -> None:
    built = triangle_file()
    built.tables["extensionsRequired"] = ["ACME_folded_space", "KHR_texture_transform"]
    with pytest.raises(StudyWrong, match=r"needs ACME_folded_space, which"):
        read(built, tmp_path)


@pytest.mark.parametrize(
    "name", ["KHR_texture_transform", "KHR_materials_unlit", "KHR_lights_punctual", "EXT_texture_webp"]
)
def test_required_extensions_that_leave_the_shape_alone_are_no_matter(tmp_path: Path, name: str) -> None:
    built = triangle_file()
    built.tables["extensionsRequired"] = [name]
    assert the_one(built, tmp_path).name == "tri"
