"""Points in words and places in number: what they become where a study meets its scene."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli_calls import done, refused, yard
from stationpoint.base.errors import StudyWrong
from stationpoint.run.prepare import Prepared, prepare_study
from stationpoint.study.file import read_study, study_digest

# A counter 0.9 m high with 1.1 m under its shelf at 2 m, and a table one can not stand under.
SCENE = """
[ground]
size = [40, 40]

[[solid]]
name = "counter"
shape = "box"
size = [2, 0.9, 2]
at = [4, 0, 0]

[[solid]]
name = "shelf"
shape = "box"
size = [2, 0.1, 2]
at = [4, 2, 0]

[[solid]]
name = "table"
shape = "box"
size = [2, 0.1, 2]
at = [8, 0.7, 0]

[[solid]]
name = "jump_a"
shape = "box"
size = [1, 0.5, 1]
at = [-4, 0, 0]

[[solid]]
name = "jump_b"
shape = "box"
size = [1, 1.5, 1]
at = [-8, 0, 2]
"""
HEAD = 'scene = "yard.toml"\n'


def met(folder: Path, study: str, **options: str) -> Prepared:
    """The study where it has met the scene above."""
    return prepare_study(read_study(yard(folder, HEAD + study, SCENE), **options), folder)


@pytest.mark.parametrize(
    ("at", "height_m", "found"),
    [
        ('[0, "floor", 0]', 1.7, (0, 0, 0)),
        # 1.1 m are free between counter and shelf: room for a child, else its shelf is stood on.
        ('[4, "floor", 0]', 1.7, (4, 2.1, 0)),
        ('[4, "floor", 0]', 1.0, (4, 0.9, 0)),
        ('[8, "floor", 0]', 1.7, (8, 0.8, 0)),  # under the table 0.7 m are free
        ('[8, "floor", 0]', 0.6, (8, 0, 0)),
        ('[4, "top", 0]', 1.0, (4, 2.1, 0)),
        ('"table"', 1.7, (8, 0.8, 0)),
    ],
)
def test_a_point_in_words_is_a_surface_of_the_scene(
    at: str, height_m: float, found: tuple[float, ...], tmp_path: Path
) -> None:
    study = met(tmp_path, f"[subject]\nat = {at}\nheight_m = {height_m}\n").study
    assert study.subject is not None
    assert study.subject.at == pytest.approx(found, abs=1e-6)


def test_targets_and_gaps_take_words_too(tmp_path: Path) -> None:
    text = (
        "[[target]]\nname = 't'\nat = [4, 'top', 0]\n"
        "[[gap]]\nname = 'g'\nfrom = [0, 'floor', 0]\nto = 'counter'\n"
    )
    study = met(tmp_path, text).study
    assert study.target[0].at == pytest.approx((4, 2.1, 0), abs=1e-6)
    assert study.gap[0].from_ == (0, 0, 0)
    assert study.gap[0].to == pytest.approx((4, 0.9, 0), abs=1e-6)
    assert study.gap[0].landing == "counter"


def test_words_and_the_coordinates_that_they_mean_are_one_study(tmp_path: Path) -> None:
    words = met(tmp_path, "[subject]\nat = [8, 'floor', 0]\n").study
    plain = met(tmp_path, "[subject]\nat = [8, 0.8, 0]\n").study
    assert study_digest(words) == study_digest(plain)


def test_a_node_makes_a_place_on_its_top_centre(tmp_path: Path) -> None:
    places = met(tmp_path, "here = false\n[[place]]\nnodes = 'jump_*'\nheading_deg = 90\n").study.places
    assert [(one.name, one.at, one.heading_deg) for one in places] == [
        ("jump_a", (-4, 0.5, 0), 90),
        ("jump_b", (-8, 1.5, 2), 90),
    ]


def test_a_line_makes_places_to_its_end_with_a_shorter_last_step(tmp_path: Path) -> None:
    text = "here = false\n[[place]]\nname = 'walk'\nalong = [[0, 0, 5], [9, 0, 5]]\nevery_m = 2\n"
    places = met(tmp_path, text).study.places
    assert [one.at for one in places] == [(x, 0, 5) for x in (0, 2, 4, 6, 8, 9)]
    assert [one.name for one in places][-2:] == ["walk 8 m", "walk 9 m"]
    assert {one.heading_deg for one in places} == {-90}  # towards +X: to the right of -Z


def test_a_line_on_the_floor_climbs_what_is_in_its_way(tmp_path: Path) -> None:
    text = "here = false\n[[place]]\nname = 'w'\nalong = [[-8, 'floor', 0], [-2, 'floor', 0]]\nevery_m = 2\n"
    heights = [one.at and one.at[1] for one in met(tmp_path, text).study.places]
    assert heights == [0, 0, 0.5, 0]  # x = -4 is on jump_a


def test_a_line_with_a_corner_goes_round_it(tmp_path: Path) -> None:
    line = "along = [[0, 0, 0], [3, 0, 0], [3, 0, 3]]\nevery_m = 2\n"
    places = met(tmp_path, f"here = false\n[[place]]\nname = 'w'\n{line}").study.places
    assert [one.at for one in places] == [(0, 0, 0), (2, 0, 0), (3, 0, 1), (3, 0, 3)]
    assert [abs(one.heading_deg or 0) for one in places] == [90, 90, 180, 180]


def test_a_csv_of_spots_makes_a_place_a_line(tmp_path: Path) -> None:
    (tmp_path / "spots.csv").write_text(
        "name,x,y,z,heading_deg\ndoor,1,0,2,90\nstore,-4,floor,0,\n", "utf-8-sig"
    )
    text = "here = false\n[[place]]\nfile = 'spots.csv'\n"
    places = met(tmp_path, text).study.places
    assert [(one.name, one.at, one.heading_deg) for one in places] == [
        ("door", (1, 0, 2), 90),
        ("store", (-4, 0.5, 0), None),
    ]
    said = refused("measure", "yard.study.toml", "--json", "spots.csv", "--force", cwd=tmp_path)
    assert "spots.csv" in said


def test_places_that_the_scene_makes_can_be_asked_for_by_name(tmp_path: Path) -> None:
    text = "[[place]]\nnodes = 'jump_*'\n"
    assert [one.name for one in met(tmp_path, text, place="jump_b").study.places] == ["jump_b"]
    with pytest.raises(StudyWrong) as caught:
        met(tmp_path, text, place="jump_c")
    assert caught.value.message == "--place: `jump_c` is not a place of the study; did you mean `jump_b`?"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "[subject]\nat = 'countr'\n",
            "subject: at: `countr` is not a node of the scene; did you mean `counter`?",
        ),
        (
            "[subject]\nat = [0, 'flor', 0]\n",
            'yard.study.toml: subject: at is [0, "flor", 0], must be three numbers [x, y, z], '
            '[x, "floor", z], [x, "top", z] or the name of a node.',
        ),
        (
            "[subject]\nat = [-30, 'floor', 0]\n",
            'subject: at = [-30, "floor", 0]: there is no surface with 1.7 m free above it; give the '
            "height as "
            'a number, or move it, as towards "ground".',
        ),
        ("[[place]]\nnodes = 'jmp_*'\n", 'place: nodes: "jmp_*" matches no node of the scene.'),
        (
            "[[place]]\nname = 'w'\nalong = [[0, 0, 0], [9, 0, 0]]\n",
            'yard.study.toml: place "w": along and every_m stand together: a line, and how far apart '
            "the places "
            "on it are.",
        ),
        (
            "[[place]]\nname = 'w'\nalong = [[0, 0, 0], [9, 0, 0]]\nevery_m = 0.001\n",
            'place "w": along means 9001 places; at most 1000 are made of one entry.',
        ),
        (
            "[[place]]\nfile = 'none.csv'\n",
            'place: file = "none.csv" was not found; its path counts from the study\'s own folder.',
        ),
        (
            "[[place]]\nat = [0, 0, 0]\n",
            "yard.study.toml: place 1: name is missing, must be text, not empty.",
        ),
        (
            "[[place]]\nnodes = 'jump_*'\n[[place]]\nnodes = 'jump_a'\n",
            '2 places are named "jump_a"; give the [[place]] that makes them a name, which then stands '
            "before "
            "theirs.",
        ),
    ],
)
def test_words_that_lead_nowhere_are_one_sentence(text: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(StudyWrong) as caught:
        met(tmp_path, text)
    assert caught.value.message == says


@pytest.mark.parametrize(
    ("csv", "says"),
    [
        ("name;x;y;z\n", "its first line lacks name, x, y and z"),
        ("name,x,y,z\n", "holds no spots"),
        ("name,x,y,z\na,1,b,2\n", 'line 2: y is "b", must be a number, "floor" or "top".'),
        ("name,x,y,z\na,1,2\n", "line 2: it has other columns than the first line"),
        ("name,x,y,z,facing\na,1,0,2,3\n", "`facing` is not a column of spots"),
        ("name,x,y,z\na,nan,0,2\n", 'line 2: x is "nan", must be a number.'),
    ],
)
def test_a_csv_that_is_none_of_spots_is_refused_with_its_line(csv: str, says: str, tmp_path: Path) -> None:
    (tmp_path / "spots.csv").write_text(csv, "utf-8")
    yard(tmp_path, HEAD + "[[place]]\nfile = 'spots.csv'\n", SCENE)
    assert says in refused("check", "yard.study.toml", cwd=tmp_path)


def test_a_place_that_moves_its_floor_stands_on_it_where_it_is_then(tmp_path: Path) -> None:
    text = "[[place]]\nname = 'p'\nat = [-4, 'floor', 0]\nmove = { jump_a = [0, 1, 0] }\n"
    # jump_a, 0.5 m high, is lifted by 1 m: 1 m under it is no room for 1.7 m.
    assert met(tmp_path, text).study.places[1].at == (-4, 1.5, 0)


def test_a_sheet_of_words_is_drawn_and_read(tmp_path: Path) -> None:
    yard(tmp_path, HEAD + "[subject]\nat = 'counter'\n[[place]]\nnodes = 'jump_*'\n", SCENE)
    rows = done("measure", "yard.study.toml", "--renderer", "rays", "--only", "framing", cwd=tmp_path).record[
        "rows"
    ]
    assert [row["place"] for row in rows] == ["here", "jump_a", "jump_b"]
