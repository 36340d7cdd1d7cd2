"""Tables of another file in a study, and a camera in place of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from stationpoint.base.errors import StudyWrong
from stationpoint.study.file import camera_file, read_study, study_digest, study_from_text, what_is

BRIEF = """
title = "the brief's"
[camera]
focal_mm = 35
pitch_deg = 20
distance_m = 8
[sweep]
columns = { focal_mm = [24, 35] }
pages = { pitch_deg = [10, 30] }
[[limit]]
reading = "targets.*.seen"
min = 0.5
[decision]
chosen = "9f31c2"
by = "AK"
"""
STUDY = 'scene = "level.toml"\ninclude = "brief.toml"\n'


def put(folder: Path, **files: str) -> Path:
    """Files of these names (`_` for a point before the ending) in a folder; the path of the study."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / f"{name}.toml").write_text(text, "utf-8")
    return folder / "study.toml"


def refused(path: Path) -> str:
    with pytest.raises(StudyWrong) as caught:
        read_study(path)
    return str(caught.value)


def test_an_included_table_is_filled_up_key_by_key_and_the_studys_own_keys_win(tmp_path: Path) -> None:
    study = read_study(put(tmp_path, brief=BRIEF, study=STUDY + "[camera]\npitch_deg = 45\n"))
    assert (study.camera.focal_mm, study.camera.pitch_deg, study.camera.distance_m) == (35, 45, 8)
    assert study.title == "the brief's"
    assert len(study.limit) == 1


def test_the_studys_own_way_to_give_a_lens_takes_out_the_included_one(tmp_path: Path) -> None:
    study = read_study(put(tmp_path, brief=BRIEF, study=STUDY + "[camera]\nhfov_deg = 60\n"))
    assert (study.camera.focal_mm, study.camera.hfov_deg) == (None, 60)


def test_lists_of_tables_axes_and_a_decision_are_taken_whole(tmp_path: Path) -> None:
    own = """[[limit]]
reading = "targets.*.seen"
min = 0.9
[sweep]
rows = { focal_mm = [50, 85] }
[decision]
chosen = "000000"
"""
    study = read_study(put(tmp_path, brief=BRIEF, study=STUDY + own))
    assert [limit.min for limit in study.limit] == [0.9]
    assert dict(study.sweep.rows) == {"focal_mm": (50, 85)}
    assert dict(study.sweep.columns) == {}, "the study sweeps that field elsewhere"
    assert dict(study.sweep.pages) == {"pitch_deg": (10, 30)}
    assert study.decision is not None
    assert (study.decision.chosen, study.decision.by) == ("000000", "")


def test_paths_count_from_the_file_that_writes_them_along_a_chain(tmp_path: Path) -> None:
    put(tmp_path / "shared" / "deep", far='fonts = ["a.ttf"]\n[camera]\nfrom = "cams.glb#Low"\n')
    brief = 'include = "deep/far.toml"\nscene = "../level.toml"\n[[place]]\nfile = "spots.csv"\n'
    put(tmp_path / "shared", brief=brief)
    study = read_study(put(tmp_path / "levels", study='include = "../shared/brief.toml"\n'))
    assert study.scene == "../level.toml"
    assert study.fonts == ("../shared/deep/a.ttf",)
    assert study.camera.from_ == "../shared/deep/cams.glb#Low"
    assert study.place[0].file == "../shared/spots.csv"


def test_a_study_with_its_scene_in_the_included_file_is_a_study(tmp_path: Path) -> None:
    path = put(tmp_path, brief='scene = "level.glb"\n', study='include = "brief.toml"\n[mesh]\nup = "z"\n')
    assert what_is(path) == "study"
    assert read_study(path).mesh_keys == {"up": "z"}


@pytest.mark.parametrize(
    ("files", "says"),
    [
        (
            {"study": STUDY, "brief": 'include = "study.toml"\n'},
            'brief.toml: include = "study.toml" leads in a circle, study.toml, brief.toml, study.toml; '
            "take one of them out.",
        ),
        (
            {"study": STUDY},
            'study.toml: include = "brief.toml" was not found; its path counts from the file that writes it.',
        ),
        ({"study": STUDY, "brief": "[camera\n"}, "brief.toml is not valid TOML"),
        ({"study": STUDY, "brief": "[camera]\npitch_deg = 100\n"}, "brief.toml: camera: pitch_deg is 100"),
        ({"study": STUDY, "brief": '[[limit]]\nreading = "a.b"\n'}, 'brief.toml: limit "a.b": has no test'),
        (
            {"study": STUDY + "[camera]\npitch_deg = 100\n", "brief": "[camera]\nyaw_deg = true\n"},
            "study.toml: camera: pitch_deg is 100",
        ),
        (
            {"study": STUDY + "[camera]\npitch_deg = 10\n", "brief": "[camera]\nyaw_deg = true\n"},
            "brief.toml: camera: yaw_deg is true",
        ),
        ({"study": 'scene = "a.toml"\ninclude = 3\n'}, "study.toml: include is 3, must be text"),
        ({"study": 'scene = "a.toml"\ninclude = "a.glb"\n', "a.glb": ""}, 'include = "a.glb" was not found'),
    ],
)
def test_a_mistake_is_told_with_the_file_that_holds_it(
    files: dict[str, str], says: str, tmp_path: Path
) -> None:
    assert says in refused(put(tmp_path, **files))


def test_the_digest_is_that_of_the_same_study_in_one_file(tmp_path: Path) -> None:
    whole = study_from_text('scene = "level.toml"\n' + BRIEF, "whole")
    path = put(tmp_path, brief=BRIEF, study=STUDY)
    assert study_digest(read_study(path)) == study_digest(whole)
    (tmp_path / "brief.toml").write_text(BRIEF.replace("0.5", "0.6"), "utf-8")
    assert study_digest(read_study(path)) != study_digest(whole)


def test_another_camera_takes_the_place_of_camera_sweep_and_decision(tmp_path: Path) -> None:
    put(tmp_path / "cams", follow='[camera]\nfrom = "low.glb#Low"\n[rig]\nname = "soft"\n')
    camera = camera_file(tmp_path / "cams" / "follow.toml")
    assert camera.notes == (
        "follow.toml: [rig] goes into the record; the camera is drawn at rest, as [camera] says.",
    )
    home = tmp_path / "levels"
    study = study_from_text(
        'scene = "level.toml"\n' + BRIEF, "study", ("camera.yaw_deg=5",), folder=home, camera=camera
    )
    assert study.camera.said() == {"from": "../cams/low.glb#Low", "yaw_deg": 5}
    assert (dict(study.sweep.columns), study.decision, len(study.limit)) == ({}, None, 1)
    put(tmp_path, sweeps="[camera]\n[sweep]\nrows = { yaw_deg = [0, 90] }\n")
    swept = study_from_text(BRIEF + "", "s", ("scene=a",), camera=camera_file(tmp_path / "sweeps.toml"))
    assert dict(swept.sweep.rows) == {"yaw_deg": (0, 90)}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[sweep]\n", "cam.toml has no [camera]"),
        ("[camera]\n[[limit]]\n", 'a camera file holds [camera], [sweep] and [rig] alone; take out "limit"'),
        ("[camera]\npitch = 3\n", "cam.toml: camera: `pitch` is not a key here"),
    ],
)
def test_a_camera_file_that_is_none_is_refused_by_its_name(text: str, says: str, tmp_path: Path) -> None:
    put(tmp_path, cam=text)
    with pytest.raises(StudyWrong) as caught:
        study_from_text('scene = "a.toml"\n', "s", camera=camera_file(tmp_path / "cam.toml"))
    assert says in str(caught.value)
