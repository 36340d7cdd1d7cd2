"""Bad input from the command line: one clear sentence, the right exit code, nothing written."""

from __future__ import annotations

import json
import os
import struct
import time
from pathlib import Path
from unittest.mock import patch

import pytest

from cli_calls import SMALL, STUDY, call, listing, process, refused, yard
from scene.built import Built
from stationpoint.base import files

SHEET = ("sheet", "yard.study.toml", *SMALL)


def wrong_study(folder: Path, old: str, new: str, *words: str) -> str:
    assert old in STUDY
    yard(folder, STUDY.replace(old, new))
    return refused(*SHEET, *words, cwd=folder)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("focal_mm = 35", "focl_mm = 35", "`focl_mm` is not a key here; did you mean `focal_mm`?"),
        ("focal_mm = 35", "focal_mm = 0", "camera: focal_mm is 0, must be above 0"),
        ("distance_m = 8", "distance_m = nan", "distance_m is nan, must be a finite number"),
        ("distance_m = 8", "distance_m = -1", "distance_m is -1, must be above 0"),
        ("distance_m = 8", "distance_m = 1e30", "distance_m is 1e+30, must be at most 1000000"),
        ("distance_m = 8", 'distance_m = "8"', 'distance_m is "8", must be a number'),
        ("distance_m = 8", "distance_m = 8\npitch_deg = 91", "pitch_deg is 91, must be at most 90"),
        ("at = [0, 0, 0]", "at = [0, 0]", "subject: at is [0, 0], must be three numbers"),
        ("at = [0, 0, 0]", "at = [0, inf, 0]", "subject: at"),
        ('node = "crate"', 'node = "crat"', "`crat` is not a node of the scene; did you mean `crate`?"),
        (
            'scene = "yard.toml"',
            'scene = "sea.toml"',
            'scene = "sea.toml" was not found; did you mean "yard.toml"?',
        ),
        ('scene = "yard.toml"', 'scene = "."', "is a folder"),
        ('scene = "yard.toml"', "", "scene is missing"),
        ("[24, 50]", "[]", "focal_mm has no values"),
        ("[24, 50]", "[24, -1]", "focal_mm"),
        ("focal_mm = 35", 'from = "no.glb#x"', "no.glb: there is no such file."),
        ("focal_mm = 35", 'from = "yard.toml#x"', "yard.toml holds no cameras"),
        ("focal_mm = 35", 'from = "yard.toml"', "from"),
        ("reach_m = 3", "reach_m = 3\nreach = [[0, 1], [1, 1]]", "reach"),
        ('title = "Does', 'title = "Does\n', "is not valid TOML"),
    ],
)
def test_wrong_study_is_refused_with_a_sentence(old: str, new: str, said: str, tmp_path: Path) -> None:
    assert said in wrong_study(tmp_path, old, new)


def test_a_flood_of_complaints_is_cut_short_and_counted(tmp_path: Path) -> None:
    study = yard(tmp_path)
    study.write_text(
        STUDY + "".join(f'[[target]]\nname = "t{k}"\nnoode = "crate"\n' for k in range(2500)), "utf-8"
    )
    err = refused("check", study, cwd=tmp_path)
    lines = err.splitlines()
    assert len(lines) == 101  # two complaints of each target, of which a hundred are shown
    assert lines[-1] == "and 4 900 more."


def test_every_complaint_comes_at_once(tmp_path: Path) -> None:
    yard(tmp_path, STUDY.replace("focal_mm = 35", "focl_mm = 35").replace("distance_m = 8", "distance_m = 0"))
    assert len(refused(*SHEET, cwd=tmp_path).splitlines()) == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--columns", "pitch_deg=0:89.9999:0.0001"), "at most 20000 variants a call"),
        (
            ("--rows", "pitch_deg=1:80:0.1", "--pages", "yaw_deg=0:359:1"),
            "make 569520 variants, at most 20000",
        ),
        (("--rows", "pitch_deg=1:80:0.01"), "The sheet would be "),
        (("--cell-width", "4096", "--rows", "pitch_deg=1:9:1"), "at most 16384 a side are drawn"),
        (("--cell-width", "4096", "--set", "camera.aspect=1:16"), "would be 65536 px high; at most 16384 px"),
        (("--variant", "C9"), 'there is no variant "C9"; the sweep has A1 to A2'),
        (("--marks", "horizn"), 'there is no mark "horizn"; did you mean "horizon"?'),
        (("--set", "camera.fov=3"), "`fov` is not a key here"),
        (("--set", "camera.pitch_deg"), "must be KEY=VALUE"),
        (("--set", "camera.focal_mm=40"), "would change nothing, since columns sweeps focal_mm"),
        (("--place", "x"), "`x` is not a place of the study"),
        (("--viewing", "x"), "`x` is not a viewing of the study"),
        (("-o", "x.jpg"), "name it with the ending .png"),
        (("-o", "nowhere/x.png"), "its folder does not exist"),
        (("-o", "yard.toml/x.png"), "its folder is a file"),
        (("-o", "x.png", "--json", "x.png"), "x.png is named for two outputs"),
        (("--json", "-", "--csv", "-"), "Standard output (-) is named for two outputs"),
        (("--json", "yard.study.toml"), "is what this call reads"),
        (("--json", "./yard.toml"), "is what this call reads"),
        (("--json", "folder"), "it is a folder"),
    ],
)
def test_wrong_options_are_refused_at_once(words: tuple[str, ...], said: str, tmp_path: Path) -> None:
    yard(tmp_path)
    (tmp_path / "folder").mkdir()
    start = time.process_time()
    assert said in refused(*SHEET, *words, cwd=tmp_path)
    assert time.process_time() - start < 15.0  # drawing them would take minutes


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("sheet",), "Missing argument 'FILE'"),
        (("sheet", "yard.study.toml", "--wrong"), "No such option"),
        (("sheet", "yard.study.toml", "--cell-width", "319"), "319 is not in the range 320<=x<=4096"),
        (("twins", "yard.study.toml", "--cell-width", "4097"), "4097 is not in the range 320<=x<=4096"),
        (("sheet", "yard.study.toml", "--mode", "pretty"), "'pretty' is not one of"),
        (("sheet", "yard.study.toml", "two.toml"), "unexpected extra argument"),
        (("shet", "yard.study.toml"), 'did you mean "sheet"?'),
        (("wibble",), "there are demo, start,"),
    ],
)
def test_wrong_usage_shows_a_short_hint(words: tuple[str, ...], hint: str, tmp_path: Path) -> None:
    yard(tmp_path)
    message = refused(*words, cwd=tmp_path)
    assert hint in message
    assert len(message.splitlines()) <= 5
    assert "' for help." in message  # -h or --help, as click has it


@pytest.mark.parametrize(
    "command", ["sheet", "measure", "check", "start", "mesh", "handoff", "page", "inspect"]
)
def test_file_that_is_missing_or_is_a_folder_or_binary_is_refused(command: str, tmp_path: Path) -> None:
    (tmp_path / "noise.toml").write_bytes(bytes(range(256)) * 4)
    (tmp_path / "noise.png").write_bytes(bytes(range(256)) * 4)
    (tmp_path / "noise.glb").write_bytes(bytes(range(256)) * 4)
    for name in ("nothing.toml", "nothing.glb", ".", "noise.toml", "noise.png", "noise.glb", "\0"):
        message = refused(command, name, cwd=tmp_path)
        assert len(message.strip().splitlines()) <= 2, message
        assert (" is a folder; name" in message) == (name == ".")


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("a.toml", "", "a.toml is empty; a study names its `scene`"),
        ("a.toml", "[[solid]]\nshape = 'box'\nsize = [1, 1, 0]\n", "size is [1, 1, 0], must be"),
        ("a.toml", "[[solid]]\nshape = 'bx'\nsize = [1, 1, 1]\n", "shape"),
        ("a.toml", "[[solid]]\nshape = 'box'\nsize = [1, 1, 1]\n"
         "repeat = { count = 200000, step = [1, 0, 0] }\n",
         "holds 200000 solids after repeat; at most 100000"),
        ("a.toml", "[[mesh]]\nfile = 'no.glb'\n", '"no.glb" is not there'),
        ("a.toml", "solid = []\n", "nothing to draw"),
        ("a.obj", "v 0 0 0\nv 1 1 1\n", "nothing to draw"),
        ("a.obj", "", "nothing to draw"),
        ("a.stl", "solid x\nendsolid x\n", "nothing to draw"),
        ("a.ply", "ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\n", "a.ply"),
    ],
)  # fmt: skip
def test_wrong_scene_is_refused_with_a_sentence(name: str, text: str, said: str, tmp_path: Path) -> None:
    (tmp_path / name).write_text(text, "utf-8")
    for command in ("sheet", "check", "start"):
        assert said in refused(command, name, cwd=tmp_path)


def test_cut_off_and_lying_meshes_are_refused(tmp_path: Path) -> None:
    built = Built()
    built.node(mesh=built.mesh(), name="a")
    data = built.glb(tmp_path / "good.glb").read_bytes()
    assert call("sheet", "good.glb", *SMALL, "-o", "good.png", "--alone", cwd=tmp_path).code == 0
    tables = json.dumps({**built.tables, "extensionsRequired": ["EXT_meshopt_compression"]}).encode()
    tables += b" " * (-len(tables) % 4)
    chunk = struct.pack("<I4s", len(tables), b"JSON") + tables
    lies = {
        "cut.glb": data[: len(data) // 2],
        "head.glb": data[:10],
        "long.glb": data[:8] + struct.pack("<I", 1 << 31) + data[12:],
        "needs.glb": struct.pack("<4sII", b"glTF", 2, 12 + len(chunk)) + chunk,
        "outside.gltf": json.dumps(
            {**built.tables, "buffers": [{"byteLength": 36, "uri": "../../etc/passwd"}]}
        ).encode(),
    }
    for name, bad in lies.items():
        (tmp_path / name).write_bytes(bad)
        message = refused("sheet", name, *SMALL, cwd=tmp_path)
        assert name in message
    assert "EXT_meshopt_compression" in refused("check", "needs.glb", cwd=tmp_path)


def test_full_disk_leaves_nothing_behind(tmp_path: Path) -> None:
    yard(tmp_path)

    def full(file: object, content: object) -> None:
        raise OSError(28, "No space left on device")

    with patch.object(files, "_fill", full):
        message = refused(*SHEET, cwd=tmp_path, code=3)
    assert "the disk is full" in message
    assert "nothing was written" in message


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_full_device_is_told_with_exit_code_three(tmp_path: Path) -> None:
    yard(tmp_path)
    message = refused(
        "measure", "yard.study.toml", "--only", "axes", "--json", "/dev/full", cwd=tmp_path, code=3
    )
    assert "/dev/full cannot be written: the disk is full" in message


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_read_only_folder_is_told_before_the_work(tmp_path: Path) -> None:
    yard(tmp_path)
    tmp_path.chmod(0o500)
    try:
        assert "may not write there" in refused(*SHEET, cwd=tmp_path)
    finally:
        tmp_path.chmod(0o700)


def test_start_and_mesh_write_over_nothing_unasked(tmp_path: Path) -> None:
    yard(tmp_path)
    assert "is there already" in refused("start", "yard.toml", cwd=tmp_path)
    assert "is a study already" in refused("start", "yard.study.toml", cwd=tmp_path)
    assert call("mesh", "yard.toml", cwd=tmp_path).code == 0
    assert "is there already" in refused("mesh", "yard.toml", cwd=tmp_path)
    assert "is what this call reads" in refused("mesh", "yard.glb", cwd=tmp_path)
    assert "ending .glb" in refused("mesh", "yard.toml", "-o", "yard.obj", cwd=tmp_path)


def test_camera_that_a_glb_cannot_hold_is_refused(tmp_path: Path) -> None:
    yard(tmp_path, STUDY.replace("focal_mm = 35", 'projection = "oblique"'))
    assert "a GLB holds no oblique view" in refused("mesh", "yard.study.toml", cwd=tmp_path)


def test_without_opengl_rays_draw_with_one_line_and_the_sheet_says_so(tmp_path: Path) -> None:
    yard(tmp_path)
    nothing = {"__EGL_VENDOR_LIBRARY_FILENAMES": "/nonexistent"}
    words = ("sheet", "yard.study.toml", "--cell-width", "320", "-o", "x.png")
    fallen = process(*words, cwd=tmp_path, **nothing)
    assert fallen.code == 0, fallen.err
    if "drawing with rays" not in fallen.err:
        pytest.skip("this machine's OpenGL does not look where it is told")
    assert [line for line in fallen.err.splitlines() if "OpenGL" in line] == fallen.err.splitlines()[:1]
    made = listing(tmp_path)
    assert json.loads(made["x.json"])["renderer"] == "rays"
    asked = process(*words, "--renderer", "rays", cwd=tmp_path)
    assert "OpenGL" not in asked.err
    assert listing(tmp_path) == made  # the sheet itself does not depend on why rays drew
    refusal = process(*words, "--renderer", "gl", cwd=tmp_path, **nothing)
    assert refusal.code == 3
    assert "libegl1" in refusal.err
    assert "--renderer rays" in refusal.err
    assert listing(tmp_path) == made
