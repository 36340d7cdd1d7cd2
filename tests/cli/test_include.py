"""A study of several files on the command line: drawn again from its sheet, and under another camera."""

from __future__ import annotations

import json
import shutil
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
    assert "follow.camera.toml: [rig] is not read here" in done.err
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
