"""Cut-off, lying and nosy glTF files: one clear sentence each, and nothing read outside the folder."""

from __future__ import annotations

import base64
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from scene.built import Built, triangle_file
from stationpoint.base.errors import StudyWrong
from stationpoint.scene.file import read_scene


def sentence(path: Path) -> str:
    with pytest.raises(StudyWrong) as caught:
        read_scene(path)
    lines = caught.value.message.splitlines()
    assert len(lines) == 1
    assert lines[0].startswith(f"{path.name}: ")
    assert lines[0].endswith(".")
    assert len(lines[0]) < 250
    assert str(path.parent) not in lines[0]
    return lines[0]


@pytest.mark.parametrize("name", ["level.glb", "level.gltf"])
def test_file_of_nothing_is_said_to_be_empty(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(b"")
    assert sentence(tmp_path / name) == f"{name}: is empty."


# ---- buffers ------------------------------------------------------------------------------------


def test_buffers_beside_the_model_and_below_it_are_read(tmp_path: Path) -> None:
    (tmp_path / "sub dir").mkdir()
    for uri in ("level.bin", "sub dir/level.bin", "sub dir/../level.bin"):
        path = triangle_file().gltf(tmp_path / "level.gltf", uri)
        assert len(read_scene(path).nodes) == 1
    path = triangle_file().gltf(tmp_path / "level.gltf", "sub%20dir/level.bin", write=False)
    assert len(read_scene(path).nodes) == 1


@pytest.mark.parametrize("mime", ["application/octet-stream", "application/gltf-buffer"])
def test_data_uris_are_read(tmp_path: Path, mime: str) -> None:
    built = triangle_file()
    uri = f"data:{mime};base64,{base64.b64encode(built.blob).decode()}"
    assert len(read_scene(built.gltf(tmp_path / "level.gltf", uri, write=False)).nodes) == 1


@pytest.mark.parametrize(
    "uri",
    ["../secret.bin", "sub/../../secret.bin", "%2e%2e/secret.bin", "..%2Fsecret.bin", "..\\secret.bin",
     "file:///secret.bin", "https://example.org/secret.bin", "//host/secret.bin"],
)  # fmt: skip
def test_nothing_outside_the_folder_is_read(tmp_path: Path, uri: str) -> None:
    folder = tmp_path / "model"
    (folder / "sub").mkdir(parents=True)
    built = triangle_file()
    (tmp_path / "secret.bin").write_bytes(built.blob)
    words = sentence(built.gltf(folder / "level.gltf", uri, write=False))
    assert "outside the model's folder" in words or "only files beside the model" in words


def test_absolute_paths_and_links_out_of_the_folder_are_refused(tmp_path: Path) -> None:
    folder = tmp_path / "model"
    folder.mkdir()
    built = triangle_file()
    (tmp_path / "secret.bin").write_bytes(built.blob)
    (folder / "link.bin").symlink_to(tmp_path / "secret.bin")
    path = folder / "level.gltf"
    built.gltf(path, "link.bin", write=False)
    assert "outside the model's folder" in sentence(path)
    with pytest.raises(StudyWrong, match="outside the model's folder"):
        read_scene(built.gltf(path, str(tmp_path / "secret.bin"), write=False))


@pytest.mark.parametrize("uri", ["none.bin", "", ".", "a\u0000b", "x" * 5000, "loop"])
def test_a_buffer_that_is_not_there_is_told(tmp_path: Path, uri: str) -> None:
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    assert "buffer 0" in sentence(triangle_file().gltf(tmp_path / "level.gltf", uri, write=False))


@pytest.mark.parametrize("uri", ["data:;base64,???", "data:no comma", "data:;base64,AAAA"])
def test_a_broken_data_uri_is_told(tmp_path: Path, uri: str) -> None:
    assert "buffer 0" in sentence(triangle_file().gltf(tmp_path / "level.gltf", uri, write=False))


# ---- containers ---------------------------------------------------------------------------------


def test_a_glb_cut_off_anywhere_gives_one_sentence(tmp_path: Path) -> None:
    whole = triangle_file().glb(tmp_path / "whole.glb").read_bytes()
    path = tmp_path / "level.glb"
    lengths = [0, 1, 3, 4, 11, 12, 19, 20, 21, 100, len(whole) - 40, len(whole) - 1]
    for length in lengths:
        path.write_bytes(whole[:length])
        sentence(path)


@pytest.mark.parametrize(
    ("at", "value", "words"),
    [
        (4, 1, "version 1"),
        (4, 3, "version 3"),
        (8, 10**6, "cut off"),
        (12, 10**6, "cut off"),
        (16, 7, "not JSON"),
        (8, 12, "no JSON"),
        (8, 0, "no JSON"),
    ],
)
def test_lying_lengths_and_kinds_of_chunks_are_told(tmp_path: Path, at: int, value: int, words: str) -> None:
    path = triangle_file().glb(tmp_path / "level.glb")
    data = bytearray(path.read_bytes())
    struct.pack_into("<I", data, at, value)
    path.write_bytes(data)
    assert words in sentence(path)


@pytest.mark.parametrize(
    "text",
    [
        *["", "{", "[]", "7", "null", "{}", "not JSON at all", "[" * 100_000, "\ufeff{}"],
        *['{"asset": {}}', '{"asset": {"version": 2}}', '{"asset": []}', '{"asset": {"version": "2.0"}}'],
        '{"asset": {"version": "2.0"}, "nodes": [NaN]}',
        '{"asset": {"version": "1.0"}, "meshes": {}}',
        '{"asset": {"version": "2.0", "minVersion": "2.1"}}',
    ],
)
def test_json_that_is_no_gltf_gives_one_sentence(tmp_path: Path, text: str) -> None:
    path = tmp_path / "level.gltf"
    path.write_text(text, encoding="utf-8")
    sentence(path)


def test_binary_rubbish_gives_one_sentence(tmp_path: Path) -> None:
    path = tmp_path / "level.gltf"
    for seed in range(20):
        path.write_bytes(np.random.default_rng(seed).bytes(200))
        sentence(path)


# ---- what the JSON claims -----------------------------------------------------------------------

Change = Callable[[dict[str, Any]], object]


def put(*keys: str | int) -> Callable[[object], Change]:
    def with_value(value: object) -> Change:
        def change(tables: dict[str, Any]) -> None:
            inner: Any = tables
            for key in keys[:-1]:
                inner = inner[key]
            inner[keys[-1]] = value

        return change

    return with_value


def lies() -> list[tuple[str, Change]]:
    accessor, view = ("accessors", 0), ("bufferViews", 0)
    primitive = ("meshes", 0, "primitives", 0)
    wrong: list[object] = [None, "a", -1, 1.5, [], {}, True, 10**30]
    found = [(f"accessor count {v}", put(*accessor, "count")(v)) for v in [*wrong, 4]]
    found += [(f"accessor view {v}", put(*accessor, "bufferView")(v)) for v in [*wrong, 9]]
    found += [(f"accessor kind {v}", put(*accessor, "componentType")(v)) for v in [*wrong, 5124, 5125.5]]
    found += [
        (f"accessor type {v}", put(*accessor, "type")(v)) for v in [*wrong, "VEC2", "VEC4", "MAT4", "SCALAR"]
    ]
    found += [(f"accessor offset {v}", put(*accessor, "byteOffset")(v)) for v in [*wrong, 4]]
    found += [(f"view offset {v}", put(*view, "byteOffset")(v)) for v in [*wrong, 4]]
    found += [(f"view length {v}", put(*view, "byteLength")(v)) for v in [*wrong, 0, 35, 37]]
    found += [(f"view stride {v}", put(*view, "byteStride")(v)) for v in [*wrong, 4, 16]]
    found += [(f"view buffer {v}", put(*view, "buffer")(v)) for v in [*wrong, 1]]
    found += [(f"positions {v}", put(*primitive, "attributes", "POSITION")(v)) for v in [*wrong, 7]]
    found += [(f"attributes {v}", put(*primitive, "attributes")(v)) for v in [None, "a", 3, []]]
    found += [(f"indices {v}", put(*primitive, "indices")(v)) for v in [*wrong, 0, 7]]
    found += [(f"mode {v}", put(*primitive, "mode")(v)) for v in [None, "a", -1, 1.5, [], 7]]
    found += [(f"primitive {v}", put(*primitive)(v)) for v in [None, "a", 3, []]]
    found += [(f"node mesh {v}", put("nodes", 0, "mesh")(v)) for v in [*wrong, 1]]
    found += [(f"node camera {v}", put("nodes", 0, "camera")(v)) for v in [*wrong, 0]]
    found += [(f"node skin {v}", put("nodes", 0, "skin")(v)) for v in [*wrong[1:], 0]]
    found += [(f"node name {v}", put("nodes", 0, "name")(v)) for v in [None, 3, [], {}]]
    found += [
        (f"children {v}", put("nodes", 0, "children")(v)) for v in [None, "a", 3, {}, [0], [1], ["a"], [None]]
    ]
    found += [
        (f"translation {v}", put("nodes", 0, "translation")(v))
        for v in [None, "abc", [1, 2], [1, 2, "a"], [1, 2, 1e999], [10**400, 0, 0]]
    ]
    found += [(f"rotation {v}", put("nodes", 0, "rotation")(v)) for v in [[0, 0, 0, 0], [1, 2, 3], {}]]
    found += [(f"matrix {v}", put("nodes", 0, "matrix")(v)) for v in [[1] * 15, None, ["a"] * 16]]
    found += [(f"weights {v}", put("nodes", 0, "weights")(v)) for v in ["a", ["a"], {}, 3]]
    found += [(f"scene {v}", put("scene")(v)) for v in [None, "a", -1, 1, [], {}]]
    found += [
        (f"scene nodes {v}", put("scenes", 0, "nodes")(v)) for v in [None, "a", 3, [7], ["a"], [None], []]
    ]
    found += [
        (f"{key} {v}", put(key)(v))
        for key in ("nodes", "meshes", "accessors", "bufferViews", "scenes")
        for v in [None, "a", 3, {}, [], [None], ["a"], [3]]
    ]
    found += [(f"extensions {v}", put("extensionsRequired")(v)) for v in [None, "a", 3, {}]]
    found += [
        (f"node extensions {v}", put("nodes", 0, "extensions")(v))
        for v in [
            None,
            "a",
            {"EXT_mesh_gpu_instancing": 3},
            {"EXT_mesh_gpu_instancing": {"attributes": {}}},
            {"EXT_mesh_gpu_instancing": {"attributes": {"SCALE": 9}}},
        ]
    ]
    found += [
        (f"sparse {v}", put(*accessor, "sparse")(v))
        for v in [
            None,
            3,
            {},
            {"count": 1},
            {"count": 1, "indices": {"bufferView": 0, "componentType": 5121}, "values": {"bufferView": 4}},
            {"count": 9, "indices": {"bufferView": 0, "componentType": 5125}, "values": {"bufferView": 0}},
        ]
    ]
    return found


@pytest.mark.parametrize("change", [change for _, change in lies()], ids=[what for what, _ in lies()])
def test_a_lie_in_the_tables_gives_one_sentence(tmp_path: Path, change: Change) -> None:
    built = triangle_file()
    change(built.tables)
    sentence(built.glb(tmp_path / "level.glb"))


def test_nodes_in_a_circle_or_with_two_parents_are_told(tmp_path: Path) -> None:
    built = triangle_file()
    built.node(children=[2])
    built.node(root=False, children=[3])
    built.node(root=False, children=[2])
    assert "two parents" in sentence(built.glb(tmp_path / "a.glb"))
    built.tables["nodes"][1].pop("children")
    assert "circle" in sentence(built.glb(tmp_path / "b.glb"))


def test_a_scene_that_begins_in_the_middle_of_a_tree_is_told(tmp_path: Path) -> None:
    built = triangle_file()
    built.node(root=False, children=[0])
    assert "hangs under another node" in sentence(built.glb(tmp_path / "a.glb"))


def test_an_index_beyond_the_vertices_is_told_with_its_number(tmp_path: Path) -> None:
    built = Built()
    built.node(mesh=built.mesh(faces=[0, 1, 3]))
    assert "an index is 3, but there are 3 vertices" in sentence(built.glb(tmp_path / "a.glb"))


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_positions_that_are_no_numbers_are_told(tmp_path: Path, value: float) -> None:
    built = Built()
    built.node(mesh=built.mesh([(0, 0, 0), (1, 0, value), (0, 1, 0)]))
    assert "not a finite number" in sentence(built.glb(tmp_path / "a.glb"))


def test_a_vertex_that_no_face_uses_may_be_anything(tmp_path: Path) -> None:
    built = Built()
    built.node(mesh=built.mesh([(0, 0, 0), (1, 0, 0), (0, 1, 0), (np.nan, 0, 0)], [0, 1, 2]))
    assert read_scene(built.glb(tmp_path / "a.glb")).bounds().tolist() == [[0, 0, 0], [1, 1, 0]]


def test_a_buffer_shorter_than_it_says_is_told(tmp_path: Path) -> None:
    path = triangle_file().gltf(tmp_path / "level.gltf", "level.bin")
    (tmp_path / "level.bin").write_bytes(bytes(20))
    assert "buffer 0 says 36 bytes but has 20; the file is cut off" in sentence(path)
