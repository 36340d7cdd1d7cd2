"""Cameras from a file: their own settings make the same camera again; what is written or swept beside them.

Poses are made with scipy's rotations and found in files by trimesh, so that none of the expected numbers
comes from the package.
"""

from __future__ import annotations

import shutil
from math import atan, degrees, radians, sin, tan
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from cli_calls import done
from scene.built import CUBE, CUBE_FACES, Built
from stationpoint.base.errors import StudyWrong
from stationpoint.camera.aim.aim import Shape, aim_camera
from stationpoint.camera.camera import frontal_px_per_m, project_points
from stationpoint.camera.shot import Setup
from stationpoint.scene.edit import box_node
from stationpoint.scene.file import read_scene
from stationpoint.scene.types import Scene, SceneCamera
from stationpoint.study.file import study_from_text
from stationpoint.study.sweep import expand

SCENE = Scene((box_node("floor", (0, -1, 0), (40, 1, 40)),))
ANCHOR = np.array([0.0, 0.9, 0.0])
EYE = (3.0, 4.0, 6.0)
EAST = Rotation.from_euler("YX", [30, -20], degrees=True)  # heading 30 degrees left, 20 down
WORDS = "level.glb#Boom"


def found(eye=EYE, turn: Rotation = EAST, vfov_deg: float | None = 40.0, **over) -> SceneCamera:
    """A camera at `eye`, its axes turned from the world's: right, up and back are the columns of `turn`."""
    view = np.eye(4)
    view[:3, :3] = turn.as_matrix().T
    view[:3, 3] = -view[:3, :3] @ np.array(eye)
    fields = {"name": "Boom", "aspect": 16 / 9, "view_height_m": None, "near_m": 0.1, "far_m": None}
    return SceneCamera(**({**fields, "view": view, "vfov_deg": vfov_deg, "file": "level.glb"} | over))


def flat(height_m: float = 7.0, **over) -> SceneCamera:
    """The same, orthographic."""
    return found(vfov_deg=None, view_height_m=height_m, **over)


def setups(camera: str, cameras: SceneCamera | None = None, sweep: str = "", at="[0, 0, 0]") -> list[Setup]:
    """Every set-up of a study whose subject's anchor is ANCHOR, drawn in 16:9."""
    study = study_from_text(
        f'scene = "x.toml"\nsubject = {{ at = {at}, height_m = 1.8 }}\n'
        f"[camera]\nanchor_height_m = 0.9\n{camera}\n[sweep]\n{sweep}\n",
        "made",
    )
    files = None if cameras is None else {WORDS: cameras, "level.glb#Other": found(eye=(-5, 2, 9))}
    shape = Shape("16:9", 16 / 9, (1920, 1080))
    return [aim_camera(v, study.places[0], study, SCENE, shape, (1920, 1080), files) for v in expand(study)]


def own(camera: SceneCamera, more: str = "", sweep: str = "", at="[0, 0, 0]") -> list[Setup]:
    return setups(f'from = "{WORDS}"\n{more}', camera, sweep, at)


def written(setup: Setup) -> str:
    """A set-up's settings as the [camera] that a person would copy from the record."""
    assert setup.offset is not None
    lens = (
        f"vfov_deg = {setup.vfov_deg!r}"
        if setup.projection == "perspective"
        else f"view_height_m = {setup.view_height_m!r}"
    )
    return (
        f'projection = "{setup.projection}"\n{lens}\ndistance_m = {setup.distance_m!r}\n'
        f"pitch_deg = {setup.pitch_deg!r}\nyaw_deg = {setup.yaw_deg!r}\nroll_deg = {setup.roll_deg!r}\n"
        f'offset = {list(setup.offset)!r}\noffset_by = "{setup.offset_by}"\naspect = {setup.aspect!r}\n'
    )


def same(one: NDArray[np.float64], other: NDArray[np.float64]) -> bool:
    return bool(np.allclose(one, other, rtol=1e-9, atol=1e-9))


ANGLE = st.floats(-180, 180)
METRES = st.floats(-20, 20)


@settings(max_examples=300, deadline=None)
@given(
    yaw=ANGLE,
    pitch=st.floats(-90, 90) | st.sampled_from([-90.0, 90.0, 0.0]),
    roll=ANGLE,
    eye=st.tuples(METRES, METRES, METRES),
    lens=st.floats(5, 120),
    parallel=st.booleans(),
)
def test_settings_of_a_file_camera_written_out_make_the_same_camera(
    yaw: float, pitch: float, roll: float, eye: tuple[float, float, float], lens: float, parallel: bool
) -> None:
    turn = Rotation.from_euler("YXZ", [yaw, -pitch, roll], degrees=True)
    away = turn.inv().apply(ANCHOR - np.array(eye))
    assume(away[2] < -0.01)  # in front
    camera = flat(lens, eye=eye, turn=turn) if parallel else found(eye, turn, lens)
    (setup,) = own(camera)
    # The file's camera is drawn as it stands (single precision holds no more of a direction than 1e-7) ...
    assert np.allclose(setup.camera.view[:3, :3], turn.as_matrix().T, atol=2e-6)
    assert np.allclose(setup.camera.eye_m, eye, atol=1e-4)
    assert setup.distance_m == pytest.approx(-away[2])
    # ... and its settings, written out, are that camera.
    (again,) = setups(written(setup))
    assert same(again.camera.view, setup.camera.view)
    assert same(again.camera.projection, setup.camera.projection)


def test_angles_are_those_of_the_camera_and_not_of_the_line_to_the_subject() -> None:
    # Level, 10 m south of the anchor and 7.28 m over it: the line to the subject falls by 36 degrees.
    (setup,) = own(found(eye=(0, 0.9 + 7.28, 10), turn=Rotation.identity()))
    assert (setup.pitch_deg, setup.yaw_deg, setup.roll_deg) == pytest.approx((0, 0, 0))
    assert setup.distance_m == pytest.approx(10)
    # 40 degrees high: 2 x 10 tan 20 m there; the anchor lies 7.28 m under the middle.
    assert setup.offset == pytest.approx((0, -7.28 / (20 * tan(radians(20)))))
    assert setup.offset_by == "slide"


@pytest.mark.parametrize("roll", [-170, -30, 12, 90])
def test_a_roll_is_positive_where_the_camera_turns_clockwise_seen_from_behind(roll: float) -> None:
    # A turn about +Z, which points to who stands behind, is counterclockwise for them (right hand).
    turn = Rotation.from_euler("YX", [30, -20], degrees=True) * Rotation.from_rotvec(
        [0, 0, -roll], degrees=True
    )
    (setup,) = own(found(turn=turn))
    assert (setup.yaw_deg, setup.pitch_deg, setup.roll_deg) == pytest.approx((30, 20, roll))
    # So what is above the anchor moves to the left in the picture, for a roll to the right.
    foot, head = project_points(setup.camera, [(0, 0.9, 0), (0, 1, 0)])
    assert np.sign(head[0] - foot[0]) == -np.sign(sin(radians(roll)))


@pytest.mark.parametrize(("down", "pitch"), [(-90, 90), (90, -90)])
@pytest.mark.parametrize("noise", [0.0, 3e-8])
def test_a_camera_straight_down_or_up_has_its_up_as_its_yaw(down: float, pitch: float, noise: float) -> None:
    # Heading 50 degrees left, then tipped over; noise as single precision leaves it in a direction.
    turn = Rotation.from_rotvec([noise, 0, -noise]) * Rotation.from_euler("YX", [50, down], degrees=True)
    (setup,) = own(found(eye=(0.5, 10 if down < 0 else -10, 0.3), turn=turn))
    assert (setup.pitch_deg, setup.yaw_deg, setup.roll_deg) == pytest.approx((pitch, 50, 0), abs=1e-5)
    assert np.allclose(setup.camera.view[:3, :3], turn.as_matrix().T, atol=1e-7)


def test_an_orthographic_file_camera_is_drawn_as_one_without_being_told() -> None:
    (setup,) = own(flat(7.0))
    assert setup.projection == setup.camera.kind == "orthographic"
    assert setup.view_height_m == pytest.approx(7.0)
    assert setup.focal_mm is None
    assert setup.camera.projection[3].tolist() == [0, 0, 0, 1]
    # 1080 px over 7 m.
    assert float(frontal_px_per_m(setup.camera, ANCHOR)[0]) == pytest.approx(1080 / 7)


def test_an_aspect_of_the_study_keeps_pose_and_vertical_angle() -> None:
    study = study_from_text(
        f'scene = "x.toml"\nsubject = {{ at = [0, 0, 0] }}\n'
        f'[camera]\nfrom = "{WORDS}"\naspect = "4:3"\nanchor_height_m = 0.9',
        "made",
    )
    (variant,) = expand(study)
    shape = Shape("4:3", 4 / 3, (1440, 1080))
    for camera in (found(), flat()):
        setup = aim_camera(variant, study.places[0], study, SCENE, shape, (1440, 1080), {WORDS: camera})
        assert same(setup.camera.view, camera.view)
        if camera.view_height_m is None:
            assert setup.vfov_deg == pytest.approx(40)
        else:
            assert setup.view_height_m == pytest.approx(7)
        sits = project_points(setup.camera, ANCHOR)[0]
        assert setup.offset == pytest.approx((sits[0] / 1440 - 0.5, 0.5 - sits[1] / 1080))


def test_a_lens_or_projection_beside_from_leaves_the_camera_where_it_stands() -> None:
    eye = np.array(EYE)
    depth = float((EAST.as_matrix().T @ (eye - ANCHOR))[2])
    (long,) = own(found(), "focal_mm = 70")
    assert same(long.camera.view, found().view)
    assert long.focal_mm == pytest.approx(70)
    # A parallel view shows as much of the anchor's plane as the lens does there, and the reverse.
    (parallel,) = own(found(), 'projection = "orthographic"')
    assert parallel.view_height_m == pytest.approx(2 * depth * tan(radians(20)))
    (through,) = own(flat(7.0), 'projection = "perspective"')
    assert through.vfov_deg == pytest.approx(2 * degrees(atan(3.5 / depth)))
    for setup in (parallel, through):
        assert same(setup.camera.view, found().view)


CHANGES = [("pitch_deg", 45.0), ("yaw_deg", -100.0), ("roll_deg", 33.0), ("distance_m", 2.5)]


@pytest.mark.parametrize(
    ("field", "value", "is_swept"),
    [(*one, swept) for one in CHANGES for swept in (True, False)] + [("focal_mm", 90.0, True)],
)
def test_one_field_that_is_changed_keeps_the_others(field: str, value: float, is_swept: bool) -> None:
    (before,) = own(found())
    change = ("", f"columns = {{ {field} = [{value}] }}") if is_swept else (f"{field} = {value}", "")
    (after,) = own(found(), *change)
    assert getattr(after, field) == pytest.approx(value)
    for kept in ("pitch_deg", "yaw_deg", "roll_deg", "distance_m", "focal_mm", "offset"):
        if kept != field:
            assert getattr(after, kept) == pytest.approx(getattr(before, kept)), kept
    sits = project_points(after.camera, ANCHOR)[0] / (1920, 1080)
    assert before.offset == pytest.approx((sits[0] - 0.5, 0.5 - sits[1]))


def test_sweeping_the_distance_moves_the_camera_along_the_line_to_the_subject() -> None:
    eye = np.array(EYE)
    depth = float((EAST.as_matrix().T @ (eye - ANCHOR))[2])
    for setup, distance in zip(own(found(), "", "columns = { distance_m = [5, 10] }"), (5, 10), strict=True):
        assert setup.camera.eye_m == pytest.approx(ANCHOR + (eye - ANCHOR) * distance / depth)
        assert same(setup.camera.view[:3, :3], found().view[:3, :3])


def test_an_offset_is_swept_without_saying_how_it_is_made() -> None:
    (aside,) = own(found(), "", "columns = { offset = [[0.2, -0.1]] }")
    assert aside.offset_by == "slide"
    assert project_points(aside.camera, ANCHOR)[0] == pytest.approx((0.7 * 1920, 0.6 * 1080))


HOLD = 'hold = "subject-scale"'


def px_per_m(setup: Setup) -> float:
    return float(frontal_px_per_m(setup.camera, ANCHOR)[0])


@pytest.mark.parametrize("camera", [found(), flat()], ids=["perspective", "orthographic"])
@pytest.mark.parametrize(
    "swept", ["focal_mm = [24, 50]", "distance_m = [3, 12]", 'projection = ["perspective", "orthographic"]']
)
def test_a_held_scale_is_the_files_own_whatever_is_swept(camera: SceneCamera, swept: str) -> None:
    depth = float((EAST.as_matrix().T @ (np.array(EYE) - ANCHOR))[2])
    across = camera.view_height_m or 2 * depth * tan(radians(20))
    held = own(camera, "", f"columns = {{ {swept} }}\n{HOLD}")
    assert len(held) == 2
    assert [px_per_m(setup) for setup in held] == pytest.approx([1080 / across] * 2)


def test_a_held_height_is_the_files_own_while_the_distance_is_swept() -> None:
    def tall(setup: Setup) -> float:
        foot, head = project_points(setup.camera, [(0, 0, 0), (0, 1.8, 0)])
        return float(np.hypot(*(head - foot)))

    (before,) = own(found())
    swept = own(found(), "", 'columns = { distance_m = [4, 12] }\nhold = "subject-height"')
    assert [tall(setup) for setup in swept] == pytest.approx([tall(before)] * 2)


def test_a_swept_view_height_cannot_be_held() -> None:
    with pytest.raises(StudyWrong, match=r'hold = "subject-scale" sets the view height, and view_height_m'):
        own(flat(), "", f"columns = {{ view_height_m = [4, 8] }}\n{HOLD}")


def test_cameras_on_an_axis_are_those_of_the_file_whatever_the_studys_own_is() -> None:
    plain = "distance_m = 8\npitch_deg = 20\nyaw_deg = 10\nfocal_mm = 24"
    one, other = setups(plain, found(), f'columns = {{ from = ["{WORDS}", "level.glb#Other"] }}')
    assert same(one.camera.view, found().view)
    assert same(other.camera.view, found(eye=(-5, 2, 9)).view)
    assert one.vfov_deg == other.vfov_deg == pytest.approx(40)


BEHIND = found(eye=(0, 0.9, -4), turn=Rotation.identity())  # looks on, away from the subject


def test_a_camera_with_the_subject_behind_it_is_drawn_as_it_stands() -> None:
    (setup,) = own(BEHIND)
    assert same(setup.camera.view, BEHIND.view)
    assert (setup.distance_m, setup.offset, setup.offset_by) == (None, None, None)
    assert setup.vfov_deg == pytest.approx(40)
    (setup,) = own(flat(eye=(1, 0.9, -4), turn=Rotation.identity()))
    # 7 m high, 12.444 m wide: the subject is drawn 1 m left of the middle, though behind.
    assert setup.distance_m is None
    assert setup.offset == pytest.approx((-1 / (7 * 16 / 9), 0))
    on_it = found(eye=tuple(ANCHOR))
    (setup,) = own(on_it)
    assert same(setup.camera.view, on_it.view)
    assert setup.distance_m is None


@pytest.mark.parametrize(
    ("more", "sweep", "says"),
    [
        ("pitch_deg = 10", "", "pitch_deg alone has nothing to count from; give distance_m and offset"),
        ("", "columns = { distance_m = [2, 3] }", "distance_m alone has nothing to count from"),
        ("", f"columns = {{ focal_mm = [20, 30] }}\n{HOLD}", 'hold = "subject-scale" has no size to keep'),
        ('projection = "orthographic"', "", "no view height matches its lens; give view_height_m"),
    ],
)
def test_what_needs_the_subject_in_front_is_refused_in_a_sentence(more: str, sweep: str, says: str) -> None:
    with pytest.raises(StudyWrong) as caught:
        own(BEHIND, more, sweep)
    assert f'from = "{WORDS}": the subject is not in front of that camera, and {says}' in str(caught.value)


def test_distance_and_offset_given_place_a_camera_that_looked_away() -> None:
    (setup,) = own(BEHIND, "distance_m = 5\noffset = [0, 0]")
    assert setup.camera.eye_m == pytest.approx((0, 0.9, 5))


def test_what_is_written_beside_from_counts_even_where_it_is_as_by_default() -> None:
    (parallel,) = own(flat(), 'projection = "perspective"\nyaw_deg = 0')
    assert (parallel.projection, parallel.yaw_deg) == ("perspective", 0)
    head = f'scene = "x.toml"\n[camera]\nfrom = "{WORDS}"\n'
    plain, told = (expand(study_from_text(head + more, "made"))[0] for more in ("", "yaw_deg = 0\n"))
    assert plain.key != told.key


def test_the_house_light_turns_with_the_files_camera() -> None:
    (seen,) = own(found())
    (plain,) = setups("yaw_deg = 30")
    assert seen.towards_light == pytest.approx(plain.towards_light)


# ---- whole files --------------------------------------------------------------------------------


def placed_by_trimesh(path: Path, node: str) -> NDArray[np.float64]:
    """The rigid view matrix of a camera at a node: its world matrix, its scale taken out.

    Of a mirrored one the back and the up stay, as glTF's camera looks along -Z with +Y up.
    """
    world, _ = trimesh.load_scene(path).graph.get(node)
    back, up = (world[:3, k] / np.linalg.norm(world[:3, k]) for k in (2, 1))
    view = np.eye(4)
    view[:3, :3] = np.array([np.cross(up, back), up, back])
    view[:3, 3] = -view[:3, :3] @ world[:3, 3]
    return view


def turned(axes: str, angles: list[float]) -> list[float]:
    return Rotation.from_euler(axes, angles, degrees=True).as_quat().tolist()


NODES: dict[str, dict[str, object]] = {
    "plain": {"translation": [1, 3, 12]},
    "scaled": {"translation": [2, 3, 12], "scale": [2, 2, 2]},
    "mirrored": {"translation": [0, 3, 12], "scale": [-1, 1, 1]},
    "rolled": {"translation": [0, 3, 12], "rotation": turned("XZ", [-10, 30])},
    "down": {"translation": [0, 12, 0.5], "rotation": turned("X", [-90])},
    "nested": {"translation": [0, 0.5, 5]},
}  # fmt: skip


def built_with(name: str, **what: object) -> Built:
    """A file with a crate and a node of NODES that holds something."""
    built = Built()
    built.node(name="crate", mesh=built.mesh(CUBE, CUBE_FACES), translation=[0, 1, 0])
    inner = built.node(root=name != "nested", name=name, **NODES[name], **what)
    if name == "nested":  # turned and scaled by the node that holds it
        rig = built.node(name="rig", translation=[0, 2, 0], rotation=turned("YX", [90, -10]), scale=[2, 2, 2])
        built.tables["nodes"][rig]["children"] = [inner]
    return built


@pytest.mark.parametrize("kind", [0, 1], ids=["perspective", "orthographic"])
@pytest.mark.parametrize("name", NODES)
def test_a_camera_is_drawn_where_trimesh_places_its_node(name: str, kind: int, tmp_path: Path) -> None:
    built = built_with(name, camera=kind)
    built.tables["cameras"] = [
        {"type": "perspective", "perspective": {"yfov": 0.7, "znear": 0.1, "aspectRatio": 1.5}},
        {"type": "orthographic", "orthographic": {"xmag": 9, "ymag": 6, "znear": 0.1, "zfar": 90}},
    ]
    built.glb(tmp_path / "level.glb")
    path = built_with(name, mesh=0).glb(tmp_path / "mesh.glb")  # trimesh renames a node that holds a camera
    (tmp_path / "s.study.toml").write_text(
        f'scene = "level.glb"\n[subject]\nat = [0, 0, 0]\n[camera]\nfrom = "level.glb#{name}"\n'
    )
    call = ("measure", "s.study.toml", "--only", "axes", "--renderer", "rays", "--json", "-")
    record = done(*call, cwd=tmp_path).record
    view = np.array(record["rows"][0]["matrices"]["view"])
    assert view == pytest.approx(placed_by_trimesh(path, name), abs=2e-6)
    settings_of = record["variants"][0]["settings"]
    assert settings_of["distance_m"] == pytest.approx(-placed_by_trimesh(path, name)[2, 3], abs=1e-4)
    assert settings_of["offset_by"] == "slide"
    if kind == 0:
        assert settings_of["projection"] == "perspective"
        assert settings_of["vfov_deg"] == pytest.approx(degrees(0.7), abs=1e-4)
    else:  # half heights of 6 m: 12 m in all, whatever its node's scale
        assert (settings_of["projection"], settings_of["view_height_m"]) == ("orthographic", 12)


def test_the_two_cameras_of_a_real_file_are_drawn_as_it_says(tmp_path: Path) -> None:
    path = Path("/usr/share/assimp/models/glTF2/cameras/Cameras.gltf")
    if not path.exists():
        pytest.skip("needs the models of Debian's assimp-testmodels")
    shutil.copytree(path.parent, tmp_path / "cameras")
    seen = []
    for camera in read_scene(path).cameras:
        (tmp_path / "s.study.toml").write_text(
            'scene = "cameras/Cameras.gltf"\n[subject]\nat = [0.5, 0, 0]\nheight_m = 0.5\n'
            f'[camera]\nfrom = "cameras/Cameras.gltf#{camera.name}"\n'
        )
        words = ("--only", "axes", "--renderer", "rays", "--json", "-")
        seen.append(done("measure", "s.study.toml", *words, cwd=tmp_path).record["variants"][0]["settings"])
    perspective, orthographic = seen
    # The file: yfov 0.7, aspect 1; xmag and ymag 1; both from (0.5, 0.5, 3) along -Z. So the foot at
    # (0.5, 0, 0) is 3 m away and half a metre under the middle.
    assert (perspective["projection"], orthographic["projection"]) == ("perspective", "orthographic")
    assert perspective["vfov_deg"] == pytest.approx(degrees(0.7), abs=1e-3)
    assert orthographic["view_height_m"] == 2
    for one in seen:
        assert (one["distance_m"], one["pitch_deg"], one["yaw_deg"], one["roll_deg"]) == (3, 0, 0, 0)
    assert perspective["offset"] == pytest.approx([0, -0.5 / (2 * 3 * tan(0.35))], abs=1e-6)
    assert orthographic["offset"] == pytest.approx([0, -0.25])


def test_a_camera_that_looks_away_is_told_of_and_drawn(tmp_path: Path) -> None:
    built = Built()
    built.node(name="crate", mesh=built.mesh(CUBE, CUBE_FACES), translation=[0, 1, 0])
    built.tables["cameras"] = [{"type": "perspective", "perspective": {"yfov": 0.7, "znear": 0.1}}]
    built.node(name="away", camera=0, translation=[0, 3, -12])
    built.glb(tmp_path / "level.glb")
    (tmp_path / "s.study.toml").write_text(
        'scene = "level.glb"\n[subject]\nat = [0, 0, 0]\n[camera]\nfrom = "level.glb#away"\n'
    )
    said = done("sheet", "s.study.toml", "--renderer", "rays", "--cell-width", "320", cwd=tmp_path)
    assert "the subject is behind the camera" in said.err
    ticket = (tmp_path / "s.txt").read_text(encoding="utf-8")
    assert "None" not in ticket
    assert "away" not in ticket.splitlines()[1]
    checked = done("check", "s.study.toml", cwd=tmp_path).text
    assert "the subject not in front, pitch 0°" in checked
