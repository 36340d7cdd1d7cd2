"""A study of several files on the command line: drawn again from its sheet, and under another camera."""

from __future__ import annotations

import json
import shutil
import tomllib
from pathlib import Path

import pytest

from cli_calls import call

SCENE = """
[ground]
size = [20, 20]
[[solid]]
name = "crate"
shape = "box"
size = [1, 1, 1]
at = [0, 0, -3]
"""
BRIEF = """
scene = "level.toml"
[[target]]
name = "crate"
node = "crate"
[camera]
pitch_deg = 20
distance_m = 8
[[limit]]
reading = "targets.*.seen"
min = 0.5
"""
STUDY = (
    'title = "Of two files"\ninclude = "shared/brief.toml"\nscene = "level.toml"\n[camera]\npitch_deg = 30\n'
)
FAST = ("--renderer", "rays", "--cell-width", "320", "--quiet")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "brief.toml").write_text(BRIEF, "utf-8")
    (tmp_path / "level.toml").write_text(SCENE, "utf-8")
    (tmp_path / "a.study.toml").write_text(STUDY, "utf-8")
    (tmp_path / "follow.camera.toml").write_text(
        "[camera]\nyaw_deg = 40\ndistance_m = 6\n[sweep]\nrows = { pitch_deg = [10, 50] }\n[rig]\n", "utf-8"
    )
    return tmp_path


def test_a_sheet_carries_what_its_study_included_and_is_drawn_again_without_it(folder: Path) -> None:
    assert call("sheet", "a.study.toml", "-o", "a.png", *FAST, cwd=folder).code == 0
    shutil.rmtree(folder / "shared")
    (folder / "a.study.toml").unlink()
    again = call("inspect", "a.png", "--redraw", "b.png", "--study", "a.toml", "--quiet", cwd=folder)
    assert again.code == 0, again.err
    assert (folder / "a.png").read_bytes() == (folder / "b.png").read_bytes()
    assert "include" not in (folder / "a.toml").read_text("utf-8")


def test_another_camera_is_measured_and_drawn_in_place_of_the_studys(folder: Path) -> None:
    done = call("measure", "a.study.toml", "--camera", "follow.camera.toml", "--renderer", "rays", cwd=folder)
    assert "follow.camera.toml: [rig] goes into the record; the camera is drawn at rest" in done.err
    settings = [one["settings"] for one in json.loads(done.out)["variants"]]
    assert [(one["pitch_deg"], one["yaw_deg"], one["distance_m"]) for one in settings] == [
        (10, 40, 6),
        (50, 40, 6),
    ]
    drawn = call(
        *("sheet", "a.study.toml", "--camera", "follow.camera.toml", "-o", "c.png", "--alone", *FAST),
        cwd=folder,
    )
    assert (drawn.code, (folder / "c.png").is_file()) == (0, True)
    judged = call("judge", "a.study.toml", "--camera", "follow.camera.toml", "--every", *FAST[:2], cwd=folder)
    assert judged.code == 0
    assert "2 of 2 variants hold." in judged.text


def test_an_include_that_no_file_wrote_is_refused(folder: Path) -> None:
    said = call("check", "a.study.toml", "--set", "include=other.toml", cwd=folder)
    assert said.code == 2
    assert 'include = "other.toml" is read with a study\'s file alone' in said.err


def test_what_the_scene_and_the_readings_lack_is_told_with_the_file_that_asks_for_it(folder: Path) -> None:
    brief = BRIEF.replace('node = "crate"', 'node = "crat"').replace("targets.*.seen", "targets.*.sen")
    (folder / "shared" / "brief.toml").write_text(brief, "utf-8")
    said = call("judge", "a.study.toml", cwd=folder).err.splitlines()
    assert [line.partition(":")[0] for line in said] == ["shared/brief.toml"] * 2
    own = (folder / "a.study.toml").read_text("utf-8") + '[[target]]\nname = "crate"\nnode = "crat"\n'
    (folder / "a.study.toml").write_text(own, "utf-8")
    said = call("judge", "a.study.toml", cwd=folder).err.splitlines()
    assert [line.partition(":")[0] for line in said] == ['target "crate"', "shared/brief.toml"]


RIG = """
[rig]
place = { half_life_s = 0.25, cap = 12 }
yaw = { spring_hz = 1.5 }
height = { hold = true }
look_ahead_s = 0.3
dead_zone = [0.1, 0.2]
"""


def test_the_rig_of_a_camera_file_goes_into_the_record_as_written(folder: Path) -> None:
    camera = folder / "follow.camera.toml"
    camera.write_text(camera.read_text("utf-8").replace("[rig]\n", RIG), "utf-8")
    words = ("--camera", "follow.camera.toml", "--renderer", "rays")
    record = json.loads(call("measure", "a.study.toml", *words, cwd=folder).out)
    assert record["study"]["rig"] == [tomllib.loads(RIG)["rig"]]
    assert (
        "Rigs are kept as written: nothing moves here, each camera is at rest as [camera] says."
        in (record["notes"])
    )
    # another rig is another study, and moves nothing
    camera.write_text(camera.read_text("utf-8").replace("0.25", "0.5"), "utf-8")
    other = json.loads(call("measure", "a.study.toml", *words, cwd=folder).out)
    assert other["study"]["sha256"] != record["study"]["sha256"]
    assert other["rows"] == record["rows"]
    # a study's own goes with its camera
    study = folder / "a.study.toml"
    study.write_text(
        study.read_text("utf-8") + '[[rig]]\nname = "low"\ncamera = { pitch_deg = 20 }\n', "utf-8"
    )
    own = json.loads(call("measure", "a.study.toml", "--renderer", "rays", cwd=folder).out)
    assert own["study"]["rig"] == [{"name": "low", "camera": {"pitch_deg": 20}}]
    assert json.loads(call("measure", "a.study.toml", *words, cwd=folder).out) == other
    assert call("sheet", "a.study.toml", "-o", "a.png", *FAST, cwd=folder).code == 0
    told = call("inspect", "a.png", "--study", "again.toml", "--quiet", cwd=folder)
    assert told.code == 0, told.err
    assert tomllib.loads((folder / "again.toml").read_text("utf-8"))["rig"] == own["study"]["rig"]


@pytest.mark.parametrize(
    ("rig", "says"),
    [
        ("[rig]\nplaces = {}\n", "`places` is not a key here; did you mean `place`?"),
        (
            "[rig]\nplace = { half_life_s = 0.2, spring_hz = 2 }\n",
            "half_life_s and spring_hz cannot stand together",
        ),
        ("[rig]\nplace = { half_life_s = -1 }\n", "half_life_s is -1"),
        (
            "[rig]\nyaw = { hold = true, cap = 90 }\n",
            "hold = true keeps the first value, so cap means nothing",
        ),
        ("[rig]\ndead_zone = [0.1, 2]\n", "dead_zone"),
        ('[rig]\nlook_ahead_s = "soon"\n', "look_ahead_s"),
        ("[rig]\ncamera = { pitch = 3 }\n", "`pitch` is not a key here"),
        ('[[rig]]\nname = "a"\n[[rig]]\n', "of several [[rig]] each needs a name"),
        ('[[rig]]\nname = "a"\n[[rig]]\nname = "a"\n', '2 entries of [[rig]] are named "a"'),
        ("rig = 3\n", "rig"),
    ],
)
def test_a_rig_that_is_wrong_is_said_in_a_sentence(folder: Path, rig: str, says: str) -> None:
    camera = folder / "follow.camera.toml"
    camera.write_text(f"{rig}[camera]\n" if rig.startswith("rig =") else f"[camera]\n{rig}", "utf-8")
    told = call("measure", "a.study.toml", "--camera", "follow.camera.toml", cwd=folder)
    assert (told.code, told.out) == (2, b"")
    assert says in told.err
    assert told.err.startswith("follow.camera.toml: ")
    assert told.err.count("\n") == 1, told.err
