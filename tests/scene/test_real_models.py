"""Models made by others: Debian's assimp-testmodels and two scanned rooms."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from scene.built import area
from stationpoint.base.errors import StudyWrong
from stationpoint.scene.file import read_scene
from stationpoint.scene.types import Scene

MODELS = Path("/usr/share/assimp/models")
ROOMS = Path(__file__).parents[2] / ".." / "shared" / "data"
KINDS = {".gltf", ".glb", ".obj", ".stl", ".ply"}
REFUSED = {  # in glTF2/: why
    "BoxTextured-glTF-techniqueWebGL/BoxTextured.gltf": "KHR_technique_webgl",
    "BoxWithInfinites-glTF-Binary/BoxWithInfinites.glb": "not a finite number",
    "IndexOutOfRange/AllIndicesOutOfRange.gltf": "an index is 65535",
    "IndexOutOfRange/IndexOutOfRange.gltf": "an index is 255",
    "MissingBin/BoxTextured.gltf": "is missing beside the model",
    "RecursiveNodes/RecursiveNodes.gltf": "circle",
    "SchemaFailures/sceneWrongType.gltf": "scene",
    "wrongTypes/badArray.gltf": "primitives",
}
POINTS_OR_LINES = {f"Mesh_PrimitiveMode_{k:02}.gltf" for k in (0, 1, 2, 3, 7, 8, 9, 10)}
PLAIN = [
    "glTF2/2CylinderEngine-glTF-Binary/2CylinderEngine.glb",
    "glTF2/BoxTextured-glTF-Binary/BoxTextured.glb",
    "glTF2/ClearCoat-glTF/ClearCoatTest.gltf",
    "glTF2/textureTransform/TextureTransformTest.gltf",
    "glTF2/issue_3269/texcoord_crash.gltf",
    "OBJ/WusonOBJ.obj",
    "OBJ/spider.obj",
    "OBJ/box.obj",
    "PLY/Wuson.ply",
    "PLY/cube_binary.ply",
    "STL/Spider_ascii.stl",
    "STL/Spider_binary.stl",
    "STL/Wuson.stl",
]

needs_models = pytest.mark.skipif(
    not MODELS.is_dir(), reason="the models of Debian's package assimp-testmodels are not installed"
)


def model(name: str) -> Scene:
    return read_scene(MODELS / name)


def whole_area(scene: Scene) -> float:
    return sum(area(node.vertices, node.faces) for node in scene.nodes)


def outcome(path: Path) -> tuple[Scene | None, str]:
    """The scene, or what is said about it; any other error is the test's."""
    try:
        return read_scene(path), ""
    except StudyWrong as error:
        return None, error.message


@needs_models
def test_every_model_is_read_or_refused_with_one_sentence() -> None:
    paths = sorted(path for path in MODELS.rglob("*") if path.suffix.lower() in KINDS)
    assert len(paths) > 80
    read = 0
    for path in paths:
        scene, complaint = outcome(path)
        if scene is None:
            assert len(complaint.splitlines()) == 1
            assert complaint.startswith(f"{path.name}: ")
            continue
        read += 1
        assert sum(len(node.faces) for node in scene.nodes) > 0
        assert all(np.isfinite(node.vertices).all() for node in scene.nodes)
        assert all(node.faces.max() < len(node.vertices) for node in scene.nodes)
        assert len({node.name for node in scene.nodes}) == len(scene.nodes)
    assert read > 55


@needs_models
@pytest.mark.parametrize("name", REFUSED)
def test_models_that_cannot_be_drawn_right_are_refused_for_the_right_reason(name: str) -> None:
    with pytest.raises(StudyWrong, match=REFUSED[name]):
        model(f"glTF2/{name}")


@needs_models
def test_version_one_is_told_from_version_two() -> None:
    paths = sorted(path for path in (MODELS / "glTF").rglob("*") if path.suffix in KINDS)
    assert len(paths) > 5
    for path in paths:
        with pytest.raises(StudyWrong, match=r"glTF 1|GLB of version 1"):
            read_scene(path)


@needs_models
def test_every_primitive_mode_with_an_area_draws_the_same_square() -> None:
    paths = sorted((MODELS / "glTF2" / "glTF-Asset-Generator" / "Mesh_PrimitiveMode").glob("*.gltf"))
    assert len(paths) == 16
    for path in paths:
        if path.name in POINTS_OR_LINES:
            with pytest.raises(StudyWrong, match="has no faces"):
                read_scene(path)
        else:
            scene = read_scene(path)
            assert scene.bounds().tolist() == [[-0.5, -0.5, 0], [0.5, 0.5, 0]]
            assert whole_area(scene) == pytest.approx(1)


@needs_models
@pytest.mark.parametrize("name", PLAIN)
def test_plain_models_have_the_bounds_and_area_that_another_reader_finds(name: str) -> None:
    other = trimesh.load_scene(MODELS / name, process=False, skip_materials=True)
    scene = model(name)
    assert scene.bounds() == pytest.approx(other.bounds, rel=1e-5, abs=1e-5)
    assert whole_area(scene) == pytest.approx(sum(mesh.area for mesh in other.dump()), rel=1e-5)


@needs_models
def test_both_cameras_of_a_model_are_found() -> None:
    # The file: yfov 0.7, aspect 1, znear .01, zfar 100; xmag = ymag = 1; both at (0.5, 0.5, 3), not turned.
    scene = model("glTF2/cameras/Cameras.gltf")
    perspective, orthographic = scene.cameras
    assert perspective.vfov_deg == pytest.approx(np.degrees(0.7))
    assert orthographic.view_height_m == 2
    for camera in scene.cameras:
        assert camera.view @ [0.5, 0.5, 3, 1] == pytest.approx([0, 0, 0, 1])


@needs_models
def test_obj_objects_of_a_real_model_keep_their_names() -> None:
    scene = model("OBJ/regr01.obj")
    text = (MODELS / "OBJ" / "regr01.obj").read_text("latin-1")
    groups = dict.fromkeys(line[2:].strip() for line in text.splitlines() if line.startswith("g "))
    assert len(groups) > 40
    assert set(groups) >= {node.name for node in scene.nodes}


@pytest.mark.skipif(not ROOMS.is_dir(), reason="the two scanned rooms of ../shared/data are not there")
@pytest.mark.parametrize(
    ("name", "nodes", "faces", "some"),
    [
        ("office.glb", 14, 3878, ["WALL_FACE.01", "CEILING.01", "FLOOR.01"]),
        ("meeting_room.glb", 21, 16764, ["WALL_FACE.01", "WINDOW_FRAME.01"]),
    ],
)
def test_scanned_rooms_are_read_whole(name: str, nodes: int, faces: int, some: list[str]) -> None:
    """Counts by an independent reader; names as its scene graph has them."""
    scene = read_scene(ROOMS / name)
    other = trimesh.load_scene(ROOMS / name, process=False)
    assert len(scene.nodes) == len(other.graph.nodes_geometry) == nodes
    assert sum(len(node.faces) for node in scene.nodes) == sum(len(m.faces) for m in other.dump()) == faces
    assert scene.bounds() == pytest.approx(other.bounds, abs=1e-5)
    assert {node.name for node in scene.nodes} == set(other.graph.nodes_geometry)
    assert all(room in scene for room in some)
