"""OBJ, PLY and STL: names, polygons, negative indices, cut-off files."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
import trimesh

from scene.built import CUBE, CUBE_FACES, Built, area, volume
from stationpoint.base.errors import StudyWrong
from stationpoint.scene.file import read_scene
from stationpoint.scene.types import Node, Scene

SQUARE = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\n"
VERTEX = "element vertex 4\nproperty float x\nproperty float y\nproperty float z\n"
FACE = "element face {}\nproperty list uchar int vertex_indices\n"
LITTLE = "binary_little_endian"
CORNERS = [(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0)]


def written(tmp_path: Path, name: str, data: str | bytes) -> Path:
    path = tmp_path / name
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    return path


def read(tmp_path: Path, name: str, data: str | bytes) -> Scene:
    return read_scene(written(tmp_path, name, data))


def the_one(tmp_path: Path, name: str, data: str | bytes) -> Node:
    nodes = read(tmp_path, name, data).nodes
    assert len(nodes) == 1
    return nodes[0]


def sentence(path: Path) -> str:
    with pytest.raises(StudyWrong) as caught:
        read_scene(path)
    message = caught.value.message
    assert len(message.splitlines()) == 1
    assert message.startswith(f"{path.name}: ")
    assert message.endswith(".")
    return message


# ---- OBJ ----------------------------------------------------------------------------------------


def test_obj_objects_are_nodes_and_keep_their_names(tmp_path: Path) -> None:
    text = SQUARE + "o left wall\ng a\nf 1 2 3\ng b\nf 1 3 4\no right/wall\nf 1 2 4\n"
    scene = read(tmp_path, "room.obj", text)
    assert [(node.name, len(node.faces)) for node in scene.nodes] == [("left wall", 2), ("right/wall", 1)]


def test_obj_groups_are_nodes_where_there_are_no_objects(tmp_path: Path) -> None:
    text = SQUARE + "f 1 2 3\ng one\nf 1 3 4\ng two\nf 1 2 4\ng one\nf 2 3 4\n"
    scene = read(tmp_path, "room.obj", text)
    assert [(node.name, len(node.faces)) for node in scene.nodes] == [("room", 1), ("one", 2), ("two", 1)]


def test_obj_without_names_is_named_after_its_file(tmp_path: Path) -> None:
    assert the_one(tmp_path, "yard.obj", SQUARE + "f 1 2 3 4\n").name == "yard"


def test_obj_negative_indices_count_from_the_face(tmp_path: Path) -> None:
    text = "o a\n" + SQUARE + "f -4 -3 -2 -1\no b\nv 0 0 9\nv 1 0 9\nv 0 1 9\nf -3/1/1 -2/1/1 -1/1/1\n"
    scene = read(tmp_path, "a.obj", text)
    assert scene.node("a").bounds.tolist() == [[0, 0, 0], [1, 1, 0]]
    assert scene.node("b").bounds.tolist() == [[0, 0, 9], [1, 1, 9]]


def test_obj_forms_of_a_line_are_all_read(tmp_path: Path) -> None:
    text = "\ufeff#c\r\n\tv 0 0 0 1\r\nv\t1 0 0 .5 .5 .5\r\n v 1e0 1. \\\r\n0\r\nv 0 +1 -0\r\n"
    text += "f 1/2 2//3 3/4/5 4\r\n"
    node = the_one(tmp_path, "a.obj", text)
    assert area(node.vertices, node.faces) == pytest.approx(1.0)
    assert node.bounds.tolist() == [[0, 0, 0], [1, 1, 0]]


def test_obj_materials_are_never_opened(tmp_path: Path) -> None:
    (tmp_path / "made.mtl").mkdir()
    text = f"mtllib made.mtl\nmtllib {tmp_path}/../../secret.mtl\nusemtl x\n" + SQUARE + "f 1 2 3\n"
    assert len(the_one(tmp_path, "a.obj", text).faces) == 1


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "has no faces"),
        (SQUARE, "has no faces"),
        (SQUARE + "l 1 2 3\np 4\n", "has no faces"),
        (SQUARE + "f 1 2\n", "has no faces"),
        (SQUARE + "f 1 2 5\n", "asks for vertex 5 of 4"),
        (SQUARE + "f 1 2 0\n", "before the first"),
        (SQUARE + "f -9 1 2\n", "before the first"),
        (SQUARE + "f 1 2 x\n", "not a vertex number"),
        (SQUARE + "f 1 2 99999999999999999999\n", "asks for vertex"),
        ("v 0 0\nf 1 1 1\n", "fewer than three numbers"),
        ("v 0 0 zero\nf 1 1 1\n", "'0 0 zero' is not a vertex"),
        ("v 0 0 0\nv 1 0 nan\nv 0 1 0\nf 1 2 3\n", "not a finite number"),
    ],
)
def test_wrong_obj_files_give_one_sentence(tmp_path: Path, text: str, words: str) -> None:
    assert words in sentence(written(tmp_path, "a.obj", text))


# ---- PLY ----------------------------------------------------------------------------------------


def header(kind: str, elements: str) -> bytes:
    return f"ply\nformat {kind} 1.0\n{VERTEX}{elements}end_header\n".encode()


def body(faces: list[list[int]], order: str) -> bytes:
    corners = b"".join(struct.pack(order + "3f", *corner) for corner in CORNERS)
    return corners + b"".join(struct.pack(f"{order}B{len(face)}i", len(face), *face) for face in faces)


FOUR = b"0 0 0 " * 4  # the vertices of an ASCII file


@pytest.mark.parametrize(
    "faces", [[[0, 1, 2], [0, 2, 3]], [[0, 1, 2, 3]], [[0, 1, 2, 3], [0, 1, 2], [1, 2, 3, 0]]]
)
@pytest.mark.parametrize("kind", ["ascii", "binary_little_endian", "binary_big_endian"])
def test_ply_of_every_kind_and_mixed_faces_is_read(tmp_path: Path, kind: str, faces: list[list[int]]) -> None:
    data = body(faces, ">" if "big" in kind else "<")
    if kind == "ascii":
        lines = [" ".join(map(str, corner)) for corner in CORNERS]
        lines += [" ".join(map(str, [len(face), *face])) for face in faces]
        data = "\n".join(lines).encode() + b"\n"
    node = the_one(tmp_path, "slab.ply", header(kind, FACE.format(len(faces))) + data)
    assert node.name == "slab"
    assert len(node.faces) == sum(len(face) - 2 for face in faces)
    assert area(node.vertices, node.faces) == pytest.approx(sum(len(face) - 2 for face in faces) / 2)


def test_ply_with_more_columns_and_elements_is_read(tmp_path: Path) -> None:
    text = (
        "ply\nformat ascii 1.0\ncomment a\nelement lamp 1\nproperty list uchar float glow\nelement vertex 3\n"
        "property uchar red\nproperty double z\nproperty double y\nproperty double x\n"
        "element face 1\nproperty uchar flags\nproperty list uint8 uint32 vertex_index\n"
        "property list uchar float texcoord\n"
        "end_header\n2 0.5 0.5\n255 3 2 1\n255 3 2 2\n255 3 4 1\n7 3 0 1 2 6 0 0 1 0 0 1\n"
    )
    assert the_one(tmp_path, "a.ply", text).vertices.tolist() == [[1, 2, 3], [2, 2, 3], [1, 4, 3]]


def test_ply_agrees_with_another_writer(tmp_path: Path) -> None:
    ball = trimesh.creation.icosphere(subdivisions=2)
    for encoding in ("ascii", "binary"):
        data = trimesh.exchange.ply.export_ply(ball, encoding=encoding, vertex_normal=True)
        node = the_one(tmp_path, "ball.ply", data)
        assert volume(node.vertices, node.faces) == pytest.approx(ball.volume, rel=1e-5)
        assert node.closed


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "does not begin with the word ply"),
        (b"ply\nformat ascii 1.0\n", "header does not end"),
        (b"ply\nend_header\n", "names no format"),
        (header("ascii", "") + FOUR, "has no faces"),
        (header("ascii", FACE.format(1)) + FOUR + b"3 0 1", "is cut off"),
        (header("ascii", FACE.format(1)) + FOUR + b"3 0 1 4", "asks for vertex 5 of 4"),
        (header("ascii", FACE.format(1)) + FOUR + b"3 0 1 -1", "before the first"),
        (header("ascii", FACE.format(1)) + b"0 x 0 " * 4 + b"3 0 1 2", "not a number"),
        (header("ascii", FACE.format(1)) + FOUR + b"3 0 1 2.5", "not a number"),
        (header("ascii", FACE.format(1)) + b"0 nan 0 " * 4 + b"3 0 1 2", "not a finite number"),
        (header(LITTLE, FACE.format(1)) + body([[0, 1, 2]], "<")[:-1], "is cut off"),
        (header(LITTLE, FACE.format(10**12)) + body([[0, 1, 2]], "<"), "is cut off"),
        (header(LITTLE, FACE.format(1)) + bytes(48) + b"\xff", "is cut off"),
        (header("rot13", ""), "its header says 'format rot13"),
        (header("ascii", FACE.format(-4)), "its header says 'element face -4'"),
        (header("ascii", FACE.format(1).replace("int", "quad")), "its header says 'property list"),
        (header(LITTLE, FACE.format(1).replace("uchar", "float")), "are whole numbers"),
        (header(LITTLE, FACE.format(1).replace("int ", "double ")), "are whole numbers"),
        (header(LITTLE, FACE.format(1)).replace(b" y", b" z"), "gives 'vertex' two properties 'z'"),
        (header("ascii", "element tristrips 1\nproperty list int int vertex_indices\n"), "triangle strips"),
        (header("ascii", "element face 1\nproperty int a\n") + FOUR + b"3", "vertex_indices"),
        (header("ascii", FACE.format(1)).replace(b" x", b" w") + FOUR + b"3 0 1 2", "without x, y"),
    ],
)
def test_wrong_ply_files_give_one_sentence(tmp_path: Path, data: bytes, words: str) -> None:
    assert words in sentence(written(tmp_path, "a.ply", data))


def test_binary_ply_of_a_quad_a_triangle_and_a_pentagon_is_read_face_by_face(tmp_path: Path) -> None:
    """As long as three quads: a reader that takes all faces to be as large as the first sees no harm.

    Areas in the unit square by hand: the quad 1, the triangle 1/2, the pentagon (one corner twice) 1.
    """
    faces = [[0, 1, 2, 3], [0, 1, 2], [0, 1, 2, 3, 3]]
    for kind, order in ((LITTLE, "<"), ("binary_big_endian", ">")):
        node = the_one(tmp_path, "a.ply", header(kind, FACE.format(3)) + body(faces, order))
        assert area(node.vertices, node.faces) == pytest.approx(2.5)
        assert len(node.faces) == 2 + 1 + 3


# ---- STL ----------------------------------------------------------------------------------------


FACET = (
    b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\n"
)


def stl(faces: np.ndarray) -> bytes:
    rows = [struct.pack("<12fH", 0, 0, 0, *corner.ravel(), 0) for corner in faces]
    return bytes(80) + struct.pack("<I", len(rows)) + b"".join(rows)


def test_binary_stl_is_named_after_its_file_and_closed(tmp_path: Path) -> None:
    node = the_one(tmp_path, "Cube One.STL", stl(CUBE[CUBE_FACES]))
    assert node.name == "Cube One"
    assert node.closed
    assert volume(node.vertices, node.faces) == pytest.approx(8)


def test_ascii_stl_with_two_solids_is_one_node(tmp_path: Path) -> None:
    facet = (
        "facet normal 0 0 1\nouter loop\nvertex 0 0 {0}\nvertex 1 0 {0}\nvertex 0 1 {0}\nendloop\nendfacet\n"
    )
    text = "".join(f"solid s{k}\n{facet.format(k)}endsolid s{k}\n" for k in range(2))
    node = the_one(tmp_path, "a.stl", text)
    assert node.bounds.tolist() == [[0, 0, 0], [1, 1, 1]]
    assert len(node.faces) == 2


def test_stl_with_normals_that_are_not_numbers_is_read_with_a_note(tmp_path: Path) -> None:
    """As old exporters write them; and a binary one with NaN."""
    odd = stl(CUBE[CUBE_FACES])
    odd = odd[:84] + struct.pack("<f", np.nan) + odd[88:]
    text = FACET.replace(b"normal 0 0 1", b"normal -1.#IND -1.#IND -1.#IND") + b"endsolid a\n"
    for data, faces in ((text, 1), (odd, 12)):
        scene = read(tmp_path, "a.stl", data)
        assert len(scene.nodes[0].faces) == faces
        assert scene.notes == ("a.stl: has normals that are not numbers; they are not needed.",)
    assert read(tmp_path, "a.stl", FACET + b"endsolid a\n").notes == ()


def test_ascii_stl_may_be_written_in_capitals_with_any_line_ends(tmp_path: Path) -> None:
    text = (FACET + b"endsolid a\n").upper().replace(b"VERTEX", b"\t VERTEX")
    for ends in (b"\n", b"\r\n", b"\r"):
        node = the_one(tmp_path, "a.stl", text.replace(b"\n", ends))
        assert node.vertices.tolist() == [[0, 0, 0], [1, 0, 0], [0, 1, 0]]


@pytest.mark.parametrize("name", ["binary.stl", "ascii.stl"])
def test_stl_agrees_with_another_writer(tmp_path: Path, name: str) -> None:
    ball = trimesh.creation.icosphere(subdivisions=2)
    ball.export(tmp_path / name, file_type="stl_ascii" if name == "ascii.stl" else "stl")
    node = read_scene(tmp_path / name).nodes[0]
    assert volume(node.vertices, node.faces) == pytest.approx(ball.volume, rel=1e-5)
    assert node.closed


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "cut off"),
        (b"hello", "cut off"),
        (stl(CUBE[CUBE_FACES])[:-1], "promises 12 faces, 684 bytes, and it has 683"),
        (stl(CUBE[CUBE_FACES])[:100], "promises 12 faces"),
        (stl(CUBE[CUBE_FACES][:0]), "has no faces"),
        (b"solid empty\nendsolid empty\n", "has no faces"),
        (FACET[:60], "its last solid does not end"),
        (FACET.replace(b"vertex 1 0", b"vertex 1 x") + b"endsolid", "'1 x 0' is not a vertex"),
        (FACET.replace(b"vertex 1 0 0\n", b"") + b"endsolid", "more or fewer corners than three"),
        (FACET.replace(b"endloop", b"vertex 1 1 0") + b"endsolid", "more or fewer corners than three"),
        (FACET.replace(b"solid a\n", b"solid a\nvertex 1 1 0\n") + b"endsolid", "more or fewer corners"),
        (bytes(34), "cut off after 34 bytes"),
        (stl(CUBE[CUBE_FACES] * np.nan), "not a finite number"),
    ],
)  # fmt: skip
def test_wrong_stl_files_give_one_sentence(tmp_path: Path, data: bytes, words: str) -> None:
    assert words in sentence(written(tmp_path, "a.stl", data))


@pytest.mark.parametrize("kind", ["obj", "ply", "stl", "glb", "gltf"])
def test_rubbish_of_any_kind_gives_one_sentence(tmp_path: Path, kind: str) -> None:
    heads = {
        "ply": b"ply\nformat binary_little_endian 1.0\n",
        "glb": b"glTF\x02\0\0\0\x40\0\0\0",
        "stl": b"solid ",
    }
    for seed in range(20):
        rubbish = heads.get(kind, b"") + np.random.default_rng(seed).bytes(300)
        sentence(written(tmp_path, f"a.{kind}", rubbish))


def test_a_million_triangles_are_read_whole(tmp_path: Path) -> None:
    side = 708  # 2 x 707 x 707 triangles
    x, z = np.meshgrid(np.arange(side), np.arange(side))
    points = np.stack([x.ravel(), 0 * x.ravel(), z.ravel()], axis=1)
    corner = (np.arange(side - 1)[:, None] * side + np.arange(side - 1)).ravel()
    faces = np.concatenate(
        [np.stack([corner, corner + side, corner + 1], axis=1),
         np.stack([corner + 1, corner + side, corner + side + 1], axis=1)]
    )  # fmt: skip
    built = Built()
    built.node(name="plain", mesh=built.mesh(points, indices=built.accessor(faces.ravel(), "u4")))
    node = read_scene(built.glb(tmp_path / "plain.glb")).node("plain")
    assert len(node.faces) == 2 * 707**2
    assert area(node.vertices, node.faces) == pytest.approx(707**2)
    assert not node.closed
