"""What is legal and most likely not meant is told in one sentence with its mend."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli_calls import DATA, done, yard
from stationpoint.cli.actions.sheet import DEMOS, demo_folder
from stationpoint.run.meaning import MEANINGS, unlikely_meanings
from stationpoint.run.prepare import prepare_study
from stationpoint.run.spots import placed_study
from stationpoint.scene import read_scene
from stationpoint.study import read_study

# A counter 1.6 m high, a room with 1.2 m under its shelf, and two blocks with 2 m between them.
SCENE = """
[ground]
size = [60, 60]

[[solid]]
name = "counter"
shape = "box"
size = [2, 1.6, 2]
at = [6, 0, 0]

[[solid]]
name = "shelf"
shape = "box"
size = [2, 0.1, 2]
at = [-6, 1.2, 0]

[[solid]]
name = "near block"
shape = "box"
size = [2, 1, 2]
at = [0, 0, -6]

[[solid]]
name = "far block"
shape = "box"
size = [2, 1, 2]
at = [0, 0, -10]
"""
HEAD = 'scene = "yard.toml"\n'
DOOR = '\n[[solid]]\nname = "Door_2"\nshape = "box"\nsize = [90, 210, 5]\nat = [0, 0, 20]\n'
TOWER = '\n[[solid]]\nname = "tower"\nshape = "box"\nsize = [5, 320, 5]\nat = [0, 0, 20]\n'


def me(at: str, height_m: float = 1.7) -> str:
    return f"[subject]\nname = 'me'\nat = {at}\nheight_m = {height_m}\n"


def gap(start: str, end: str, more: str = "") -> str:
    return f"[[gap]]\nname = 'hop'\nfrom = {start}\nto = {end}\n{more}\n"


def told(folder: Path, study: str, scene: str = SCENE) -> list[str]:
    path = yard(folder, HEAD + study, scene)
    read = read_scene(folder / "yard.toml")
    placed, wrong = placed_study(read_study(path), read, folder)
    assert wrong == []
    return list(unlikely_meanings(placed, read))


@pytest.mark.parametrize(
    ("study", "says"),
    [
        (me("[0, 0.4, 0]"), 'the foot of "me" is 0.4 m over "ground"; at = [0, 0, 0] stands on it.'),
        (me("[6, 1.3, 0]"), 'the foot of "me" is 0.3 m under "counter"; at = [6, 1.6, 0] stands on it.'),
        (me("[90, 0, 0]"), 'nothing level lies under the foot of "me"; move it over a floor.'),
        (
            me("[0, 0, 0]") + "[[place]]\nname = 'p'\nat = [0, 2, 3]\n",
            'the foot of "me" at "p" is 2 m over "ground"; at = [0, 0, 3] stands on it.',
        ),
        (
            me("[-6, 0, 0]"),
            '"me" is 1.7 m high, and 1.2 m is free above its foot, under "shelf"; lower its height_m, '
            "or move it.",
        ),
        (
            gap("[0, 2, -5.2]", "[0, 1, -9]"),
            'gap "hop": its take-off is 1 m over "near block"; from = [0, 1, -5.2] stands on it.',
        ),
        (
            gap("[90, 0, 0]", "[0, 1, -9]"),
            'gap "hop": its take-off has nothing level under it; move it over what is jumped from.',
        ),
        # The counter's edge is at x = 5, and the landing is written at 4.8.
        (
            gap("[2, 0, 0]", "[4.8, 1.6, 0]"),
            'gap "hop": it lands on "ground", 1.6 m below the "counter" that it is written on; move it '
            "by 0.2 m.",
        ),
        (
            gap("[2, 0, 0]", "[3, 0.5, 3]"),
            'gap "hop": its landing is 0.5 m over "ground"; to = [3, 0, 3] lies on it.',
        ),
        (
            gap("[2, 0, 0]", "[6, 1, 0]"),
            'gap "hop": its landing is 0.6 m under "counter"; to = [6, 1.6, 0] lies on it.',
        ),
        (
            gap("[2, 0, 0]", "[3, 0, 3]", "landing = 'counter'"),
            'gap "hop": its landing is not over "counter"; move it there, or take `landing` out.',
        ),
        # 4 cm within the lip that faces the take-off, and 4 cm within the far one.
        *(
            (
                gap("[0, 1, -7]", f"[0, 1, {z}]"),
                'gap "hop": its landing is within 0.1 m of an edge of "far block"; put it where feet '
                "would land, "
                "or on the lip that faces the take-off.",
            )
            for z in (-9.04, -10.96, -11)
        ),
        (
            "[[place]]\nname = 'a'\nat = [1, 0, 0]\n[[place]]\nname = 'b'\nat = [1, 0, 0]\nheading_deg "
            "= 360\n" + me("[0, 0, 0]"),
            'the places "a" and "b" are the same; change one, or take it out.',
        ),
        (
            "[[place]]\nname = 'a'\nat = [0, 0, 0]\n" + me("[0, 0, 0]"),
            'the places "here" and "a" are the same; change one, or take it out.',
        ),
    ],
)
def test_what_is_likely_a_slip_is_told(study: str, says: str, tmp_path: Path) -> None:
    assert told(tmp_path, study) == [says]


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (DOOR, '"Door_2" is 210 m high; if that is in centimetres, write its sizes in metres.'),
        (TOWER, "the level is 320 m high; if that is in centimetres, write its sizes in metres."),
        (
            DOOR.replace("210", "2100"),
            '"Door_2" is 2100 m high; if that is in millimetres, write its sizes in metres.',
        ),
    ],
)
def test_a_level_in_another_unit_is_told(more: str, says: str, tmp_path: Path) -> None:
    assert told(tmp_path, "", SCENE + more) == [says]


def test_a_mesh_in_another_unit_is_told_its_scale(tmp_path: Path) -> None:
    yard(tmp_path, HEAD, SCENE + DOOR)
    done("mesh", "yard.toml", "-o", "level.glb", cwd=tmp_path)
    (tmp_path / "s.study.toml").write_text('scene = "level.glb"\n', "utf-8")
    said = done("check", "s.study.toml", cwd=tmp_path).text
    assert '"Door_2" is 210 m high; if that is in centimetres, give its mesh scale = 0.01.' in said


@pytest.mark.parametrize(
    "study",
    [
        me("[0, 0, 0]"),
        me("[-6, 0, 0]", 1.1),  # a child under the shelf
        me("[6, 1.6, 0]"),
        gap("[0, 1, -7]", "[0, 1, -9]"),  # from lip to lip
        gap("[0, 1, -6]", "[0, 1, -10]"),
        gap("[0, 1, -6]", "[0, 0, -8]"),  # down between the blocks
        me("[0, 0, 0]") + "[[place]]\nname = 'a'\nmove = { shelf = [0, 1, 0] }\n",
    ],
)
def test_what_may_well_be_meant_is_not_told(study: str, tmp_path: Path) -> None:
    assert told(tmp_path, study) == []


def test_a_shelf_that_a_place_lifts_leaves_room_there(tmp_path: Path) -> None:
    text = "here = false\n[[place]]\nname = 'a'\nmove = { shelf = [0, 1, 0] }\n"
    assert told(tmp_path, text + me("[-6, 0, 0]")) == []


@pytest.mark.parametrize("name", DEMOS)
def test_no_demo_has_a_likely_slip(name: str) -> None:
    home = demo_folder()
    prepared = prepare_study(read_study(home / f"{name}.study.toml"), home)
    assert prepared.notes == ()


@pytest.mark.parametrize("room", ["office.glb", "meeting_room.glb"])
def test_the_first_study_of_a_real_room_has_no_likely_slip(room: str, tmp_path: Path) -> None:
    if not (DATA / room).is_file():
        pytest.skip(f"{room} is not at hand")
    done("start", (DATA / room).resolve(), "-o", "room.study.toml", cwd=tmp_path)
    study = read_study(tmp_path / "room.study.toml")
    assert unlikely_meanings(study, read_scene(DATA / room)) == ()


def test_a_camera_far_from_a_small_subject_is_told(tmp_path: Path) -> None:
    # 35 mm on 36 mm, 1920 x 1080: F = 1866.7 px, so 1.7 m at 220 m is 14.4 px or 1.3 % of 1080.
    yard(tmp_path, f"{HEAD}{me('[0, 0, 0]')}[camera]\ndistance_m = 220\n", SCENE)
    assert (
        "A1: the camera is 220 m from a subject 1.7 m high, 1.3 % of the picture's height; come nearer, "
        "or say "
        "2.2 if that was in centimetres." in done("check", "yard.study.toml", cwd=tmp_path).text
    )


# Behind the camera, and far to its left.
@pytest.mark.parametrize("at", ["[0, 1, 90]", "[-40, 1, 0]"])
def test_a_target_that_is_in_no_picture_is_told_once(at: str, tmp_path: Path) -> None:
    text = (
        f"[[target]]\nname = 't'\nat = {at}\n[[target]]\nname = 'u'\nat = [0, 1, 0]\n"
        "[camera]\ndistance_m = 8\n[sweep]\ncolumns = { focal_mm = [24, 50] }\n"
    )
    yard(tmp_path, HEAD + me("[0, 0, 0]") + text, SCENE)
    said = done("check", "yard.study.toml", cwd=tmp_path).text
    notes = [line.split("Note")[1].strip() for line in said.splitlines() if "Note" in line]
    assert notes == [
        '"t" is in no picture, but off it or hidden in all 2; turn the camera, or take the target out.'
    ]


def test_every_check_of_meaning_says_what_it_looks_for() -> None:
    assert all(check.__doc__ for check in MEANINGS)
