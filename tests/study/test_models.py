"""What a study may say, and what is said where it may not."""

from __future__ import annotations

from math import inf, nan, pi

import pytest
from pydantic import ValidationError

from stationpoint.base.errors import StudyWrong
from stationpoint.study.file import study_from_text
from stationpoint.study.models import DESK, CameraFields, Gap, Limit, Study, aspect_ratio
from study.samples import QUAY, complaints, quay

HEAD = 'scene = "quay.toml"\n'


def one(text: str) -> str:
    """The only complaint about a study of this text."""
    lines = complaints(HEAD + text)
    assert len(lines) == 1, lines
    return lines[0].removeprefix("quay.toml: ")


def test_quay_of_the_design_reads() -> None:
    study = quay()
    assert (study.title, study.scene) == ("Which lens lets a couch player judge the hop?", "quay.toml")
    assert [target.name for target in study.target] == ["barge three", "barge two"]
    assert study.target[0].with_ == ("plinth-3",)
    assert study.gap[0].from_ == (4.2, 0.8, -3.0)
    assert study.sweep.columns == {"focal_mm": (24.0, 35.0, 50.0, 85.0)}
    assert [place.name for place in study.places] == ["here", "high tide"]
    assert [viewing.name for viewing in study.viewings] == ["couch"]


def test_study_without_a_viewing_gets_the_desk() -> None:
    study = quay(text=HEAD)
    assert study.viewings == (DESK,)
    assert (DESK.diagonal_in, DESK.pixels, DESK.eye_distance_m) == (24, (1920, 1080), 0.6)


def test_aspect_is_the_ratio_as_written() -> None:
    assert aspect_ratio("21:9") == 7 / 3
    assert aspect_ratio("16:9") == 16 / 9
    assert aspect_ratio("1.85") == 1.85
    assert quay("camera.aspect=2.39").camera.aspect == "2.39"
    assert quay(text=f"{HEAD}[camera]\naspect = 2").camera.aspect == "2"


@pytest.mark.parametrize("words", ["0:9", "16:-9", "1:2:3", "wide", "", "nan", "inf:1", "1000:1"])
def test_aspect_that_is_none_is_refused(words: str) -> None:
    assert one(f'[camera]\naspect = "{words}"') == (
        f'camera: aspect is "{words}", must be two numbers above 0 as in "16:9", '
        "or one number from 0.01 to 100."
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[camera]\nfocal_mm = 0", "camera: focal_mm is 0, must be above 0."),
        ("[camera]\nfocal_mm = -35", "camera: focal_mm is -35, must be above 0."),
        (
            '[camera]\nfocal_mm = "35"',
            'camera: focal_mm is "35", must be a number above 0 and at most 10000.',
        ),
        ("[camera]\nhfov_deg = 180", "camera: hfov_deg is 180, must be below 180."),
        ("[camera]\npitch_deg = 91", "camera: pitch_deg is 91, must be at most 90."),
        ("[camera]\nyaw_deg = nan", "camera: yaw_deg is nan, must be a finite number."),
        ("[camera]\nyaw_deg = inf", "camera: yaw_deg is inf, must be a finite number."),
        ("[camera]\nyaw_deg = true", "camera: yaw_deg is true, must be a number."),
        ("[camera]\nfocal_mm = 1e-300", "camera: focal_mm is 1e-300, must be at least 0.000001."),
        ("[camera]\ngate_mm = [36, 1e-9]", "camera: gate_mm is [36, 1e-09], must be at least 0.000001."),
        ("[camera]\nyaw_deg = 1e300", "camera: yaw_deg is 1e+300, must be from -1000000 to 1000000."),
        (
            "[subject]\nat = [0, 1e300, 0]",
            "subject: at is [0, 1e+300, 0], must be from -1000000000 to 1000000000.",
        ),
        (
            '[[gap]]\nname = "g"\nfrom = [0, 0, 0]\nto = [0, 0, -2e9]',
            'gap "g": to is [0, 0, -2000000000], must be from -1000000000 to 1000000000.',
        ),
        (
            '[[place]]\nname = "p"\nmove = { "a" = [1e30, 0, 0] }',
            'place "p": move "a" is [1e+30, 0, 0], must be from -1000000000 to 1000000000.',
        ),
        ("[camera]\ndistance_m = 1e9", "camera: distance_m is 1000000000, must be at most 1000000."),
        (
            '[camera]\nprojection = "fisheye"',
            'camera: projection is "fisheye", must be "perspective", "orthographic" or "oblique".',
        ),
        (
            "[camera]\nfocal_mm = 35\nhfov_deg = 50",
            "camera: focal_mm and hfov_deg cannot stand together; "
            "give one of focal_mm, hfov_deg, vfov_deg or dfov_deg.",
        ),
        (
            "[camera]\noffset = [0.1, 0]",
            'camera: offset is other than zero and needs offset_by = "slide", "turn" or "shift".',
        ),
        ("[camera]\nnear_m = 5\nfar_m = 2", "camera: far_m is 2, must be above near_m, which is 5."),
        (
            '[camera]\nfrom = "level.glb"',
            'camera: from is "level.glb", must be a file and the name of a camera in it, '
            'as in "level.glb#Name".',
        ),
        ("[[camera]]\nfocal_mm = 35", "camera is a list of tables, must be one table: write [camera]."),
        ('[camera]\nfrom_ = "a.glb#B"', "camera: `from_` is not a key here; did you mean `from`?"),
        (
            f"[camera]\nyaw_deg = 1{'0' * 400}",
            "camera: yaw_deg is a number of very many digits, must be a number of at most 308 digits.",
        ),
        ("[camera]\nfocul_mm = 35", "camera: `focul_mm` is not a key here; did you mean `focal_mm`?"),
        ("[light]\npitch_deg = 0\nyaw_deg = 1", "light: pitch_deg is 0, must be above 0."),
        ('[[target]]\nname = "a"', 'target "a": needs one of node, nodes or at.'),
        (
            '[[target]]\nname = "a"\nnode = "b"\nat = [0, 0, 0]',
            'target "a": node and at cannot stand together; give one of node, nodes or at.',
        ),
        (
            '[[target]]\nname = "a"\nnode = "b"\nsize = [1, 1, 1]',
            'target "a": size stands with at only (a box on its base centre); a node has its own size.',
        ),
        ('[[target]]\nname = ""\nnode = "b"', 'target 1: name is "", must be text, not empty.'),
        (
            '[[target]]\nname = "a"\nnode = "b"\nrole = "main"',
            'target "a": role is "main", must be "primary", "secondary" or "tertiary".',
        ),
        (
            '[[target]]\nname = "a"\nnode = "b"\n[[target]]\nname = "a"\nnode = "c"',
            '2 entries of [[target]] are named "a"; give each its own name.',
        ),
        (
            '[[gap]]\nname = "g"\nfrom = [0, 0]\nto = [0, 0, 1]',
            'gap "g": from is [0, 0], must be three numbers [x, y, z], [x, "floor", z], [x, "top", z] or the '
            "name of a node.",
        ),
        ('[[gap]]\nname = "g"\nfrom = [0, 0, 1]\nto = [0, 0, 1]', 'gap "g": from and to are the same point.'),
        (
            '[[gap]]\nname = "g"\nfrom = [0, 0, 0]\nto = [0, 0, 1]\n'
            "reach_m = 1\njump = { speed_mps = 4, apex_m = 1 }",
            'gap "g": reach_m and jump cannot stand together; give one of reach_m, reach or jump.',
        ),
        (
            '[[gap]]\nname = "g"\nfrom = [0, 0, 0]\nto = [0, 0, 1]\nreach = [[0, 3]]',
            'gap "g": reach needs at least two rows of [height, metres]; for level reach alone use reach_m.',
        ),
        (
            '[[gap]]\nname = "g"\nfrom = [0, 0, 0]\nto = [0, 0, 1]\nreach = [[0, 3], [-1, 4], [1, 2]]',
            'gap "g": reach must go from low to high, its heights are [0, -1, 1].',
        ),
        (
            '[[place]]\nname = "here"',
            'place "here" is the study as it stands; give this place another name, or say here = false.',
        ),
        ("here = false", "here = false leaves no place to judge; add a [[place]], or take it out."),
        (
            '[[place]]\nname = "p"\nmove = { "a" = [1, 2] }',
            'place "p": move "a" is [1, 2], must be three numbers [x, y, z].',
        ),
        (
            '[[reserved]]\nname = "map"\nrect = [0, 0.5, 0.25, 1.5]',
            'reserved "map": rect is [0, 0.5, 0.25, 1.5], must be four numbers from 0 to 1.',
        ),
        (
            '[[reserved]]\nname = "map"\nrect = [0.5, 0, 0.25, 1]',
            'reserved "map": rect is [0.5, 0, 0.25, 1] (left, top, right, bottom), left must be below right.',
        ),
        (
            '[[viewing]]\nname = "v"\ndiagonal_in = 24\npixels = [20000, 1080]\neye_distance_m = 1',
            'viewing "v": pixels is [20000, 1080], must be two whole numbers above 0 and at most 16384.',
        ),
        (
            '[[viewing]]\nname = "v"\ndiagonal_in = 24\npixels = [1920, 1080]\n'
            "eye_distance_m = 1\npart = [0, 1, 1, 0]",
            'viewing "v": part is [0, 1, 1, 0] (left, top, right, bottom), top must be below bottom.',
        ),
        (
            '[[limit]]\nreading = "a.b"',
            'limit "a.b": has no test; give min, max (or both), is, not or one_of.',
        ),
        (
            '[[limit]]\nreading = "a.b"\nmin = 1\nis = "x"',
            'limit "a.b": has more than one test (min, is); only min and max go together.',
        ),
        (
            '[[limit]]\nreading = "a.b"\nmin = 2\nmax = 1',
            'limit "a.b": min is 2, must not be above max, which is 1.',
        ),
        (
            '[[limit]]\nreading = "a.b"\none_of = []',
            'limit "a.b": one_of is [], must be a list of values, not empty.',
        ),
        (
            "[sweep]\nrows = { pitch_deg = [10, 95] }",
            "sweep: rows: pitch_deg is 95, must be at most 90.",
        ),
        (
            "[sweep]\nrows = { pitch_deg = [] }",
            "sweep: rows: pitch_deg has no values; give at least one, or leave pitch_deg out.",
        ),
        (
            "[sweep]\nrows = { pich_deg = [1] }",
            "sweep: rows: `pich_deg` is not a field that can be swept; did you mean `pitch_deg`?",
        ),
        ("[sweep]\nrows = { pitch_deg = 3 }", 'sweep: rows "pitch_deg" is 3, must be a list of values.'),
        (
            "[sweep]\nrows = { pitch_deg = [1, 2], yaw_deg = [1] }",
            "sweep: rows: fields on one axis move together and need equally many values; "
            "pitch_deg has 2 and yaw_deg has 1.",
        ),
        (
            "[sweep]\nrows = { pitch_deg = [1] }\npages = { pitch_deg = [2] }",
            "sweep: pitch_deg is swept on rows and on pages; give it one axis.",
        ),
        (
            "[sweep]\nrows = { focal_mm = [20] }\npages = { hfov_deg = [50] }",
            "sweep: focal_mm (rows) and hfov_deg (pages) are two ways to say one thing; sweep one.",
        ),
        (
            "[sweep]\nrows = { focal_mm = [20, 30] }\npages = { distance_m = [5, 6] }\n"
            'hold = "subject-scale"',
            'sweep: hold = "subject-scale" sets the distance where focal_mm is swept, '
            'and distance_m is swept too; sweep one of them, or use hold = "nothing".',
        ),
        ("[sweep]\nrows = { light_pitch_deg = [0] }", "sweep: rows: light_pitch_deg is 0, must be above 0."),
        ("[sweep]\nrows = { place = [3] }", "sweep: rows: place is 3, must be the name of a place."),
        (
            '[sweep]\nhold = "all"',
            'sweep: hold is "all", must be "nothing", "subject-scale", "subject-height" or "all-in-frame".',
        ),
    ],
)
def test_one_mistake_gives_one_sentence(text: str, words: str) -> None:
    assert one(text) == words


def test_mistakes_of_one_key_and_of_several_come_together() -> None:
    lines = complaints(
        HEAD
        + '[[gap]]\nname = "g"\nfrom = [0, 0, 0]\nto = [0, 0, 1]\nreach_m = -1\nreach = [[0, 3], [0, 2]]\n'
        + "[camera]\npitch_deg = 100\noffset = [0.2, 0]\n"
        + '[[limit]]\nreading = "a.b"\nlevel = "may"\n'
    )
    assert lines == [
        'quay.toml: gap "g": reach_m is -1, must be above 0.',
        'quay.toml: gap "g": reach_m and reach cannot stand together; give one of reach_m, reach or jump.',
        'quay.toml: gap "g": reach must go from low to high, its heights are [0, 0].',
        "quay.toml: camera: pitch_deg is 100, must be at most 90.",
        'quay.toml: camera: offset is other than zero and needs offset_by = "slide", "turn" or "shift".',
        'quay.toml: limit "a.b": level is "may", must be "must" or "should".',
        'quay.toml: limit "a.b": has no test; give min, max (or both), is, not or one_of.',
    ]


def test_empty_file_lacks_its_scene() -> None:
    assert complaints("") == ["quay.toml: scene is missing, must be text, not empty."]


def test_models_are_frozen_and_checked_in_code_too() -> None:
    study = quay()
    with pytest.raises(ValidationError):
        study.camera.focal_mm = 3.0  # type: ignore[misc]
    for wrong in ({"focal_mm": nan}, {"focal_mm": inf}, {"focal_mm": 35, "vfov_deg": 20}):
        with pytest.raises(ValidationError):
            CameraFields(**wrong)
    with pytest.raises(ValidationError):
        Gap(name="g", from_=(0, 0, 0), to=(0, 0, 0))
    assert Gap(name="g", from_=(0, 0, 0), to=(0, 0, pi)).to[2] == pi
    assert Limit(reading="a.b", is_=True).is_ is True
    assert Limit(reading="a.b", not_="lies").not_ == "lies"


def test_limit_takes_false_and_zero_as_tests() -> None:
    study = Study.model_validate(
        {"scene": "q", "limit": [{"reading": "a.b", "is": False}, {"reading": "a.c", "max": 0}]}
    )
    assert study.limit[0].is_ is False
    assert study.limit[1].max == 0


def test_zero_offset_needs_no_way_to_move() -> None:
    assert quay("camera.offset=[0,0]").camera.offset == (0.0, 0.0)
    assert quay("camera.offset=[0.1,0]", "camera.offset_by=shift").camera.offset_by == "shift"


def test_top_level_key_below_a_table_is_sent_to_the_top() -> None:
    assert complaints(QUAY + "\nhere = true") == [
        'quay.toml: limit "gaps.*.verdict": `here` is not a key here; '
        "it belongs at the top of the file, above all tables."
    ]


@pytest.mark.parametrize(
    ("table", "word", "key"),
    [
        ("camera", "fov", "hfov_deg"),
        ("camera", "fov_deg", "hfov_deg"),
        ("camera", "focal", "focal_mm"),
        ("camera", "distance", "distance_m"),
        ("camera", "height", "anchor_height_m"),
        ("camera", "pitch", "pitch_deg"),
        ("camera", "tilt", "pitch_deg"),
        ("subject", "height", "height_m"),
        ("subject", "position", "at"),
    ],
)
def test_a_word_that_people_write_for_a_key_is_told_the_key(table: str, word: str, key: str) -> None:
    says = f"`{word}` is not a key here; did you mean `{key}`?"
    assert complaints(f'scene = "a.toml"\n[{table}]\n{word} = 60') == [f"quay.toml: {table}: {says}"]
    with pytest.raises(StudyWrong) as caught:
        study_from_text('scene = "a.toml"\n', "quay.toml", [f"{table}.{word}=60"])
    assert says in caught.value.message
    if table == "camera":
        with pytest.raises(StudyWrong) as caught:
            study_from_text('scene = "a.toml"\n', "quay.toml", columns=f"{word}=60,70")
        assert f"did you mean `{key}`?" in caught.value.message


SUBJECT = "[subject]\nat = [0, 0, 0]\n"


def test_a_subject_is_a_figure_unless_it_says_otherwise() -> None:
    made = quay(text=HEAD + SUBJECT).subject
    assert made is not None
    assert (made.shape, made.high_m) == ("figure", 1.7)
    horse = quay(text=HEAD + SUBJECT + 'shape = "quadruped"\nsize = [0.6, 1.5, 2.2]').subject
    assert horse is not None
    assert horse.high_m == 1.5


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            SUBJECT + 'shape = "figur"',
            'subject: shape is "figur", must be "figure", "capsule", "quadruped" or "vehicle"; '
            'did you mean "figure"?',
        ),
        (
            SUBJECT + 'shape = "house"',
            'subject: shape is "house", must be "figure", "capsule", "quadruped" or "vehicle".',
        ),
        (
            SUBJECT + "size = [1, 1, 1]",
            'subject: size is that of shape = "quadruped" or "vehicle"; '
            "a figure is as high as height_m says.",
        ),
        (
            SUBJECT + 'shape = "capsule"\nsize = [1, 1, 1]',
            'subject: size is that of shape = "quadruped" or "vehicle"; '
            "a capsule is as high as height_m says.",
        ),
        (
            SUBJECT + 'shape = "vehicle"',
            "subject: a vehicle needs size = [width, height, depth] in metres.",
        ),
        (
            SUBJECT + 'shape = "vehicle"\nsize = [1, 1, 2]\nheight_m = 1',
            "subject: height_m and size both say how high the vehicle is; take height_m out.",
        ),
        (
            SUBJECT + 'shape = "vehicle"\nsize = [1, 0, 2]',
            "subject: size is [1, 0, 2], must be three numbers [x, y, z] above 0 and at most 1000000.",
        ),
        (
            '[subject]\nnode = "hero"\nshape = "figure"',
            "subject: shape is that of a stand-in, and node says what is drawn; take one of them out.",
        ),
    ],
)
def test_a_stand_in_that_cannot_be_made_is_refused_in_a_sentence(text: str, words: str) -> None:
    assert one(text) == words
