"""glTF node trees, transforms and cameras, built in the test, places by hand."""

from __future__ import annotations

from math import atan, cos, degrees, pi, radians, sin
from pathlib import Path

import numpy as np
import pytest

from scene.built import CUBE, CUBE_FACES, Built, triangle_file, volume
from stationpoint.base.errors import StudyWrong
from stationpoint.scene.file import read_scene
from stationpoint.scene.types import Node, Scene


def read(built: Built, tmp_path: Path) -> Scene:
    return read_scene(built.glb(tmp_path / "level.glb"))


def the_one(built: Built, tmp_path: Path) -> Node:
    nodes = read(built, tmp_path).nodes
    assert len(nodes) == 1
    return nodes[0]


def test_matrix_and_parts_of_a_transform_mean_the_same(tmp_path: Path) -> None:
    half = radians(90) / 2
    matrix = np.array(
        [[0, 0, 3, 5], [0, 2, 0, 6], [-1, 0, 0, 7], [0, 0, 0, 1.0]]
    )  # a quarter turn about y, scaled
    built = Built()
    mesh = built.mesh([(1, 0, 0), (0, 1, 0), (0, 0, 1)])
    built.node(name="a", mesh=mesh, matrix=matrix.T.ravel().tolist())
    built.node(
        name="b", mesh=mesh, translation=[5, 6, 7], rotation=[0, sin(half), 0, cos(half)], scale=[1, 2, 3]
    )
    scene = read(built, tmp_path)
    assert scene.node("a").vertices.tolist() == [[5, 6, 6], [5, 8, 7], [8, 6, 7]]
    assert scene.node("b").vertices == pytest.approx(scene.node("a").vertices, abs=1e-6)


def test_mirrored_nodes_keep_their_faces_outward(tmp_path: Path) -> None:
    built = Built()
    mesh = built.mesh(CUBE, CUBE_FACES)
    built.node(name="plain", mesh=mesh)
    built.node(name="mirrored", mesh=mesh, scale=[-1, 2, 1])
    parent = built.node(name="mirror", scale=[1, 1, -1])
    child = built.node(root=False, name="twice", mesh=mesh, scale=[-1, 1, 1], translation=[9, 0, 0])
    built.tables["nodes"][parent]["children"] = [child]
    scene = read(built, tmp_path)
    assert volume(CUBE, CUBE_FACES) == 8
    assert {n.name: round(volume(n.vertices, n.faces)) for n in scene.nodes} == {
        "plain": 8, "mirrored": 16, "twice": 8,
    }  # fmt: skip
    assert all(node.closed for node in scene.nodes)


def test_sheared_nodes_are_baked_as_they_are(tmp_path: Path) -> None:
    half = radians(45) / 2
    built = Built()
    parent = built.node(scale=[1, 3, 1])
    built.tables["nodes"][parent]["children"] = [
        built.node(
            root=False,
            name="leaning",
            mesh=built.mesh(CUBE, CUBE_FACES),
            rotation=[0, 0, sin(half), cos(half)],
        )
    ]
    node = read(built, tmp_path).node("leaning")
    r = 2**0.5
    assert node.bounds == pytest.approx(np.array([[-r, -3 * r, -1], [r, 3 * r, 1]]), rel=1e-6)
    assert volume(node.vertices, node.faces) == pytest.approx(24, rel=1e-6)


def test_a_scale_of_zero_is_flat_and_told(tmp_path: Path) -> None:
    built = Built()
    built.node(name="gone", mesh=built.mesh(CUBE, CUBE_FACES), scale=[0, 0, 0], translation=[1, 2, 3])
    built.node(name="flat", mesh=0, scale=[1, 0, 1])
    scene = read(built, tmp_path)
    assert scene.node("gone").bounds.tolist() == [[1, 2, 3], [1, 2, 3]]
    assert not scene.node("flat").closed
    assert any("gone" in note and "scaled to nothing" in note for note in scene.notes)


def test_huge_coordinates_are_kept(tmp_path: Path) -> None:
    built = Built()
    built.node(name="far", mesh=built.mesh(), translation=[1e8, 0, -9e8])
    scene = read(built, tmp_path)
    assert scene.node("far").vertices[1].tolist() == np.float32([1e8 + 1, 0, -9e8]).tolist()
    # Single precision has 24 bits: from 2^29 to 2^30, where 9e8 lies, its steps are 2^6 = 64 m.
    assert len(scene.notes) == 1
    assert '"far" reaches 900000 km from the origin' in scene.notes[0]
    assert "rounded to 64 m" in scene.notes[0]


@pytest.mark.parametrize("far", [1.1e9, 3e30])
def test_coordinates_that_no_picture_can_hold_are_refused(far: float, tmp_path: Path) -> None:
    built = Built()
    built.node(name="far", mesh=built.mesh(), translation=[0, 0, -far])
    with pytest.raises(StudyWrong, match=r'"far" reaches .* from the origin; at most 1e\+09 m are drawn'):
        read(built, tmp_path)


def test_coordinates_past_all_numbers_are_refused(tmp_path: Path) -> None:
    built = Built()
    built.node(name="farther", mesh=built.mesh(), scale=[1e39, 1, 1])
    with pytest.raises(StudyWrong, match="beyond all numbers"):
        read(built, tmp_path)


def test_fifteen_hundred_nested_nodes_add_up(tmp_path: Path) -> None:
    built = Built()
    mesh = built.mesh()
    for k in range(1500):
        built.node(root=k == 0, translation=[0, 0.5, 0], children=[k + 1])
    built.node(root=False, name="deep", mesh=mesh)
    assert the_one(built, tmp_path).bounds.tolist() == [[0, 750, 0], [1, 751, 0]]


def test_four_hundred_instances_of_one_name_are_numbered_in_file_order(tmp_path: Path) -> None:
    built = Built()
    mesh = built.mesh()
    for k in range(400):
        built.node(root=False, name="crate", mesh=mesh, translation=[k, 0, 0])
    built.tables["scenes"][0]["nodes"] = list(reversed(range(400)))
    scene = read(built, tmp_path)
    assert [node.name for node in scene.nodes][:3] == ["crate", "crate.2", "crate.3"]
    assert [node.bounds[0, 0] for node in scene.nodes] == list(range(400))
    assert scene.nodes[399].name == "crate.400"


@pytest.mark.parametrize("name", ["a/b", 'say "hi"', "two\nlines", "Grüße 木", " lead", "a.2"])
def test_odd_names_are_kept(tmp_path: Path, name: str) -> None:
    built = Built()
    built.node(name=name, mesh=built.mesh())
    assert the_one(built, tmp_path).name == name


def test_half_a_surrogate_pair_in_a_name_can_still_be_written(tmp_path: Path) -> None:
    built = Built()
    built.node(name="bad\ud800", mesh=built.mesh())
    assert the_one(built, tmp_path).name.encode("utf-8")


def test_instances_of_the_instancing_extension_are_all_drawn(tmp_path: Path) -> None:
    built = Built()
    instancing = {"attributes": {"TRANSLATION": built.accessor([(0, 0, 0), (10, 0, 0), (20, 0, 0)])}}
    built.tables["extensionsRequired"] = ["EXT_mesh_gpu_instancing"]
    built.node(
        name="tree",
        mesh=built.mesh(),
        translation=[0, 1, 0],
        extensions={"EXT_mesh_gpu_instancing": instancing},
    )
    scene = read(built, tmp_path)
    assert [(n.name, n.bounds[0].tolist()) for n in scene.nodes] == [
        ("tree", [0, 1, 0]), ("tree.2", [10, 1, 0]), ("tree.3", [20, 1, 0]),
    ]  # fmt: skip


def test_the_default_scene_is_drawn_and_others_are_told(tmp_path: Path) -> None:
    built = Built()
    mesh = built.mesh()
    built.node(name="first", mesh=mesh)
    built.node(root=False, name="second", mesh=mesh)
    built.tables["scenes"].append({"nodes": [1]})
    built.tables["scene"] = 1
    scene = read(built, tmp_path)
    assert [node.name for node in scene.nodes] == ["second"]
    assert any("2 scenes" in note for note in scene.notes)


def test_nodes_marked_invisible_are_left_out_with_all_under_them(tmp_path: Path) -> None:
    built = triangle_file()
    child = built.node(root=False, name="child", mesh=0)
    built.node(
        name="hidden", mesh=0, children=[child], extensions={"KHR_node_visibility": {"visible": False}}
    )
    scene = read(built, tmp_path)
    assert [node.name for node in scene.nodes] == ["tri"]
    assert any("not visible" in note for note in scene.notes)


# ---- cameras -----------------------------------------------------------------------------------


def test_every_camera_is_taken_with_its_world_pose(tmp_path: Path) -> None:
    half = radians(90) / 2
    built = triangle_file()
    built.tables["cameras"] = [
        {"type": "perspective", "perspective": {"yfov": 0.8, "znear": 0.2, "zfar": 50, "aspectRatio": 1.5}},
        {"type": "orthographic", "orthographic": {"xmag": 4, "ymag": 2, "znear": 0, "zfar": 9}},
        {"type": "perspective", "perspective": {"yfov": 2 * atan(0.5), "znear": 0.1}},
    ]
    rig = built.node(
        name="rig", translation=[10, 0, 0], rotation=[0, sin(half), 0, cos(half)], scale=[2, 2, 2]
    )
    built.tables["nodes"][rig]["children"] = [
        built.node(root=False, name="Shoulder", camera=0, translation=[0, 1, 3]),
    ]
    built.node(name="Plan", camera=1, translation=[0, 30, 0], rotation=[-sin(half), 0, 0, cos(half)])
    built.node(camera=2)
    built.node(name="Plan", camera=2)
    cameras = {camera.name: camera for camera in read(built, tmp_path).cameras}
    assert list(cameras) == ["Shoulder", "Plan", "camera-1", "Plan.2"]

    # A quarter turn about y takes -z to -x, z to x: (10, 0, 0) + turned 2 x (0, 1, 3) = (16, 2, 0).
    shoulder = cameras["Shoulder"]
    assert shoulder.view @ [16, 2, 0, 1] == pytest.approx([0, 0, 0, 1], abs=1e-9)
    assert shoulder.view @ [11, 2, 0, 1] == pytest.approx([0, 0, -5, 1], abs=1e-9)  # five metres, not scaled
    assert shoulder.view @ [16, 3, -1, 1] == pytest.approx([1, 1, 0, 1], abs=1e-9)
    assert (shoulder.vfov_deg, shoulder.aspect, shoulder.view_height_m) == (
        pytest.approx(degrees(0.8)),
        1.5,
        None,
    )
    assert (shoulder.near_m, shoulder.far_m, shoulder.file) == (0.2, 50, "level.glb")

    plan = cameras["Plan"]
    assert plan.view @ [1, 0, -2, 1] == pytest.approx([1, 2, -30, 1], abs=1e-9)  # looks down, -z is up
    assert (plan.vfov_deg, plan.aspect, plan.view_height_m, plan.far_m) == (None, 2.0, 4.0, 9)
    assert cameras["camera-1"].vfov_deg == pytest.approx(2 * degrees(atan(0.5)))
    assert cameras["camera-1"].far_m is None
    assert cameras["camera-1"].aspect is None


def test_views_stay_rigid_under_any_scale_and_shear(tmp_path: Path) -> None:
    half = radians(30) / 2
    built = triangle_file()
    built.tables["cameras"] = [{"type": "perspective", "perspective": {"yfov": 1, "znear": 0.1}}]
    parent = built.node(scale=[-1, 5, 0.1])
    built.tables["nodes"][parent]["children"] = [
        built.node(root=False, name="odd", camera=0, rotation=[sin(half), 0, 0, cos(half)])
    ]
    view = read(built, tmp_path).cameras[0].view
    assert view[:3, :3] @ view[:3, :3].T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(view[:3, :3]) == pytest.approx(1)


def test_cameras_follow_the_mesh_entry_of_a_scene_file(tmp_path: Path) -> None:
    built = triangle_file()
    built.tables["cameras"] = [
        {"type": "orthographic", "orthographic": {"xmag": 1, "ymag": 1, "znear": 1, "zfar": 9}}
    ]
    built.node(name="cam", camera=0, translation=[0, -5, 1])
    built.glb(tmp_path / "level.glb")
    (tmp_path / "a.toml").write_text('[[mesh]]\nfile = "level.glb"\nup = "z"\nscale = 2\nat = [7, 0, 0]\n')
    camera = read_scene(tmp_path / "a.toml").cameras[0]
    # z up: (0, -5, 1) is (0, 1, 5); doubled and moved: (7, 2, 10). It looked along the file's -z: now down.
    assert camera.view @ [7, 2, 10, 1] == pytest.approx([0, 0, 0, 1], abs=1e-9)
    assert camera.view @ [7, 0, 10, 1] == pytest.approx([0, 0, -2, 1], abs=1e-9)
    assert (camera.view_height_m, camera.near_m, camera.far_m) == (4, 2, 18)


@pytest.mark.parametrize(
    "camera",
    [
        {"type": "perspective", "perspective": {"yfov": 0, "znear": 0.1}},
        {"type": "perspective", "perspective": {"yfov": pi, "znear": 0.1}},
        {"type": "perspective", "perspective": {"yfov": 1, "znear": 1, "zfar": 0.5}},
        {"type": "orthographic", "orthographic": {"xmag": 0, "ymag": 1, "znear": 0, "zfar": 1}},
        {"type": "fisheye"},
    ],
)
def test_a_camera_without_a_lens_is_left_out_and_told(tmp_path: Path, camera: dict[str, object]) -> None:
    built = triangle_file()
    built.tables["cameras"] = [camera]
    built.node(name="odd", camera=0)
    scene = read(built, tmp_path)
    assert scene.cameras == ()
    assert any("odd" in note and "lens" in note for note in scene.notes)
