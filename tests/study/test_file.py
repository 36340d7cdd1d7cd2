"""Files and the command line's changes to them."""

from __future__ import annotations

from pathlib import Path

import pytest

from stationpoint.base.errors import StudyWrong
from stationpoint.study.changes import axis_from_words
from stationpoint.study.file import read_study, study_digest, study_from_text, what_is
from stationpoint.study.toml import study_text
from study.samples import QUAY, complaints, quay


def test_set_writes_keys_of_tables_and_of_named_entries() -> None:
    study = quay(
        "camera.pitch_deg=30",
        'title="Is it so?"',
        "gap.two to three.reach_m=3",
        'gap."two to three".to=[4, 1, -7]',
        "place.high tide.move.barge-3=[0, 2, 0]",
        "target.2.role=tertiary",
        "limit.gaps.*.verdict.level=should",
        "camera.aspect=21:9",
        "sweep.hold=nothing",
    )
    assert study.camera.pitch_deg == 30
    assert study.title == "Is it so?"
    assert (study.gap[0].reach_m, study.gap[0].to) == (3.0, (4.0, 1.0, -7.0))
    assert study.place[0].move == {"barge-3": (0.0, 2.0, 0.0)}
    assert study.target[1].role == "tertiary"
    assert study.limit[0].level == "should"
    assert study.camera.aspect == "21:9"
    assert study.sweep.hold == "nothing"


def test_set_takes_bare_words_for_text_and_no_value_takes_the_key_away() -> None:
    assert quay("title=2024 or so?").title == "2024 or so?"
    assert quay("title=2024").title == "2024"
    assert quay("subject.name=12:30:00").subject.name == "12:30:00"  # type: ignore[union-attr]
    assert quay("camera.aspect=").camera.aspect is None


def test_set_of_one_way_to_say_a_thing_replaces_the_other() -> None:
    study = quay("camera.hfov_deg=60", "gap.two to three.jump={speed_mps=4, apex_m=1}", columns="")
    assert (study.camera.focal_mm, study.camera.hfov_deg) == (None, 60.0)
    assert study.gap[0].reach_m is None
    assert study.gap[0].jump is not None


def test_set_of_a_name_with_dots_takes_the_longest_name() -> None:
    text = (
        QUAY
        + '\n[[viewing]]\nname = "couch.far"\ndiagonal_in = 55\npixels = [1920, 1080]\neye_distance_m = 3\n'
    )
    study = quay("viewing.couch.far.eye_distance_m=4", text=text)
    assert [viewing.eye_distance_m for viewing in study.viewings] == [2.7, 4.0]


def test_wrong_options_are_all_said_at_once_with_their_names() -> None:
    lines = complaints(
        QUAY,
        "camera.pitch_deg=100",
        "gap.two to thre.reach_m=3",
        "camera",
        "camera.pich_deg=3",
        "gap.two to three.reach_m=-1",
        rows="yaw_deg=10:0:5",
        columns="focul_mm=3",
    )
    assert lines == [
        "--set gap.two to thre.reach_m=3: `two to thre` is not a gap of the study; "
        "did you mean `two to three`?",
        "--set camera: must be KEY=VALUE, as in camera.pitch_deg=30.",
        "--set camera.pich_deg=3: `pich_deg` is not a key here; did you mean `pitch_deg`?",
        "--rows: yaw_deg=10:0:5: the step leads away from 0; give it the other sign.",
        "--columns: `focul_mm` is not a field that can be swept; did you mean `focal_mm`?",
        '--set: gap "two to three": reach_m is -1, must be above 0.',
        "--set: camera: pitch_deg is 100, must be at most 90.",
    ]


def test_set_of_a_swept_field_is_refused_since_it_would_do_nothing() -> None:
    assert complaints(QUAY, "camera.hfov_deg=60") == [
        "--set: hfov_deg would change nothing, since columns sweeps focal_mm; "
        'clear that axis with --columns "" or give it other fields.'
    ]
    assert quay("camera.hfov_deg=60", columns="").camera.hfov_deg == 60


def test_axis_words_give_values_fields_and_ranges() -> None:
    assert axis_from_words("projection=perspective,orthographic") == {
        "projection": ["perspective", "orthographic"]
    }
    assert axis_from_words("focal_mm=24,35 + distance_m=4,6") == {"focal_mm": [24, 35], "distance_m": [4, 6]}
    assert axis_from_words("pitch_deg=10:40:10") == {"pitch_deg": [10, 20, 30, 40]}
    assert axis_from_words("pitch_deg=0,10:-10:-10") == {"pitch_deg": [0, 10, 0, -10]}
    assert axis_from_words("distance_m=0.1:0.45:0.1") == {"distance_m": [0.1, 0.2, 0.3, 0.4]}
    assert axis_from_words("offset=[0,0],[0.1,-0.1]") == {"offset": [[0, 0], [0.1, -0.1]]}
    assert axis_from_words('aspect=16:9,21:9+place=here,"low, tide"') == {
        "aspect": ["16:9", "21:9"],
        "place": ["here", "low, tide"],
    }
    assert axis_from_words("from=level.glb#A,level.glb#B") == {"from": ["level.glb#A", "level.glb#B"]}
    assert axis_from_words("") == {}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("pitch_deg=0:10:0", "pitch_deg=0:10:0: the step is 0, must be another number"),
        ("pitch_deg=0:10", "pitch_deg=0:10: a range is start:stop:step, as in 10:40:10"),
        ("pitch_deg=a:b:c", "pitch_deg=a:b:c: a range is start:stop:step, as in 10:40:10"),
        (
            "pitch_deg=0:nan:1",
            "pitch_deg=0:nan:1: a range is start:stop:step, as in 10:40:10, with three finite numbers",
        ),
        ("yaw_deg=0:1e6:1", "yaw_deg=0:1e6:1 has 1000001 values; at most 20000 variants a call"),
        ("pitch_deg", '"pitch_deg" must be FIELD=VALUE,VALUE as in focal_mm=24,35'),
        ("pitch_deg=", "pitch_deg has no values; give some, as in pitch_deg=1,2"),
        ("pitch_deg=1,,2", "pitch_deg has an empty value between its commas"),
        ("pitch_deg=1+pitch_deg=2", "pitch_deg is given twice"),
    ],
)
def test_wrong_axis_words_are_said(words: str, said: str) -> None:
    with pytest.raises(ValueError, match=r"^.") as caught:
        axis_from_words(words)
    assert str(caught.value) == said


def test_wrong_values_of_an_axis_name_its_option_once() -> None:
    assert complaints(QUAY, rows="pitch_deg=100,nan,a") == [
        "--rows: pitch_deg is 100, must be at most 90.",
        "--rows: pitch_deg is nan, must be a finite number from -90 to 90.",
        '--rows: pitch_deg is "a", must be a number from -90 to 90.',
    ]
    assert complaints(QUAY, hold="subject") == [
        '--hold: sweep: hold is "subject", must be "nothing", "subject-scale", "subject-height" or '
        '"all-in-frame".'
    ]


def test_axis_option_replaces_the_axis_and_takes_its_fields_off_the_others() -> None:
    study = quay(rows="hfov_deg=50,60", pages="pitch_deg=10,20")
    assert study.sweep.rows == {"hfov_deg": (50.0, 60.0)}
    assert study.sweep.columns == {}
    assert study.sweep.pages == {"pitch_deg": (10.0, 20.0)}
    assert quay(rows="").sweep.rows == {}
    assert quay(rows="").sweep.columns == {"focal_mm": (24.0, 35.0, 50.0, 85.0)}


def test_place_and_viewing_keep_only_those_that_are_named() -> None:
    assert [place.name for place in quay(place="high tide").places] == ["high tide"]
    assert [place.name for place in quay(place="here").places] == ["here"]
    assert [place.name for place in quay(place=["high tide", "here"]).places] == ["here", "high tide"]
    assert [viewing.name for viewing in quay(viewing="couch").viewings] == ["couch"]
    text = QUAY + 'place = "high tide"\n'
    assert len(quay(text=text).limit) == 1
    assert quay(text=text, place="here").limit == ()
    assert complaints(QUAY, place="hgh tide", viewing="desk") == [
        "--place: `hgh tide` is not a place of the study; did you mean `high tide`?",
        "--viewing: `desk` is not a viewing of the study; known: `couch`.",
    ]
    assert complaints(QUAY, place="here", rows="place=here") == [
        '--place: rows sweeps the place; use --rows place="here" instead.'
    ]


def test_files_that_are_no_study_are_refused_with_a_sentence(tmp_path: Path) -> None:
    def said(name: str, content: bytes | None = None) -> str:
        if content is not None:
            (tmp_path / name).write_bytes(content)
        with pytest.raises(StudyWrong) as caught:
            read_study(tmp_path / name)
        return str(caught.value).replace(f"{tmp_path}/", "")

    assert said("none.toml") == "none.toml: there is no such file."
    assert said("").endswith("is a folder; name a study, scene or mesh file in it.")
    assert said("bad.toml", b"\xff\xfe\x00") == "bad.toml is not text (UTF-8); a study is a TOML file."
    assert said("cut.toml", b'scene = "q.toml"\ntitle = ') == (
        "cut.toml is not valid TOML: Invalid value (at end of document)."
    )
    assert said("line.toml", b"scene = 1\n[camera\n").startswith("line.toml is not valid TOML: ")
    assert "line 2" in said("line.toml")
    assert said("deep.toml", b"a = " + b"[" * 9999).startswith(
        "deep.toml is not valid TOML: nested too deeply"
    )
    assert said("level.glb", b"glTF").splitlines()[0] == "level.glb is a mesh file, not a study."
    assert (
        said("yard.toml", b'[[solid]]\nname = "a"\n').splitlines()[0]
        == "yard.toml is a scene file, not a study."
    )


def test_file_reads_with_its_own_name_in_complaints_and_a_mark_at_its_start(tmp_path: Path) -> None:
    path = tmp_path / "quay.toml"
    path.write_text(QUAY, encoding="utf-8-sig", newline="\r\n")
    assert read_study(path) == quay()
    assert read_study(path, ["camera.pitch_deg=5"]).camera.pitch_deg == 5
    assert what_is(path) == "study"
    path.write_text("scene = 3")
    with pytest.raises(StudyWrong, match=r"^quay\.toml: scene is 3, must be text, not empty\.$"):
        read_study(path)


def test_digest_is_of_what_is_said_not_of_how_or_where() -> None:
    digest = study_digest(quay())
    assert len(digest) == 64
    assert study_digest(study_from_text("# a remark\n" + QUAY, "other.toml")) == digest
    assert study_digest(quay("camera.pitch_deg=20.0")) == digest
    assert study_digest(quay("camera.pitch_deg=20.1")) != digest
    here, there = (quay(f"scene=/{folder}/quay.toml") for folder in ("here", "there"))
    assert study_digest(here) == study_digest(there)


SEVERAL = """
scene = "piste.toml"
[[subject]]
name = "fencer"
at = [-2, 0, 0]
[[subject]]
name = "fencer two"
at = [2, 0, 0]
part = [{ name = "tip", at = [0, 1, -1] }]
"""


def test_the_first_of_several_subjects_is_the_players_own() -> None:
    study = study_from_text(SEVERAL, "duel.toml", ["subject.height_m=1.8"])
    assert study.subject is not None
    assert (study.subject.name, study.subject.height_m) == ("fencer", 1.8)
    assert [one.name for one in study.subjects] == ["fencer", "fencer two"]
    assert study_from_text(study_text(study), "again.toml") == study


def test_one_subject_in_a_list_of_tables_is_the_same_study() -> None:
    single = study_from_text(SEVERAL.split("[[subject]]")[0] + "[subject]\nat = [1, 0, 0]", "a.toml")
    listed = study_from_text(SEVERAL.split("[[subject]]")[0] + "[[subject]]\nat = [1, 0, 0]", "b.toml")
    assert single == listed
    assert study_digest(single) == study_digest(listed)
