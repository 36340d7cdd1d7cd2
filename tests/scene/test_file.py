"""Scene files: what they make, and every complaint about them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scene.built import CUBE, CUBE_FACES, Built, triangle_file
from stationpoint.base.errors import StudyWrong
from stationpoint.base.look import CLAY, GROUND
from stationpoint.scene.file import MOST_SOLIDS, read_scene
from stationpoint.scene.types import Scene

BARGES = """
[ground]
size = [60, 40]
height_m = -0.5

[[solid]]
name = "barge-3"
shape = "box"
size = [2.0, 0.8, 6.0]
at = [4.2, 0.0, -7.1]
repeat = { count = 5, step = [0, 0, -4.1] }
"""
BALL = '[[solid]]\nname = "ball"\nshape = "sphere"\nsize = [1, 1, 1]\n'


def scene(tmp_path: Path, text: str) -> Scene:
    (tmp_path / "quay.toml").write_text(text, encoding="utf-8")
    return read_scene(tmp_path / "quay.toml")


def complaints(tmp_path: Path, text: str) -> list[str]:
    with pytest.raises(StudyWrong) as caught:
        scene(tmp_path, text)
    assert caught.value.exit_code == 2
    return caught.value.message.splitlines()


def test_ground_comes_first_then_a_row_of_solids(tmp_path: Path) -> None:
    found = scene(tmp_path, BARGES)
    assert [node.name for node in found.nodes] == ["ground", *(f"barge-3.{k}" for k in range(1, 6))]
    ground = found.node("ground")
    assert (ground.kind, ground.tint, ground.gridded, ground.walkable, ground.closed) == (
        "ground", GROUND, True, True, False,
    )  # fmt: skip
    assert ground.bounds.tolist() == [[-30, -0.5, -20], [30, -0.5, 20]]
    normal = np.cross(
        *(ground.vertices[ground.faces[0, k]] - ground.vertices[ground.faces[0, 0]] for k in (1, 2))
    )
    assert normal[1] > 0
    last = found.node("barge-3.5")
    assert last.bounds == pytest.approx(np.array([[3.2, 0, -26.5], [5.2, 0.8, -20.5]]), abs=1e-5)
    assert (last.kind, last.tint, last.walkable, last.closed, last.gridded) == (
        "box",
        CLAY,
        True,
        True,
        False,
    )


@pytest.mark.parametrize(
    ("shape", "stood_on"),
    [("box", True), ("ramp", True), ("stairs", True), ("cylinder", False), ("cone", False), ("sphere", False),
     ("capsule", False)],
)  # fmt: skip
def test_box_ramp_and_stairs_are_walkable_unless_said_otherwise(
    tmp_path: Path, shape: str, stood_on: bool
) -> None:
    text = f'[[solid]]\nname = "a"\nshape = "{shape}"\nsize = [1, 1, 1]\n'
    assert scene(tmp_path, text).node("a").walkable is stood_on
    other = f"{text}walkable = {str(not stood_on).lower()}\n"
    assert scene(tmp_path, other).node("a").walkable is not stood_on


def test_repeated_and_empty_names_are_made_unique(tmp_path: Path) -> None:
    names = ["a", "", "a", "a.2", "part-1", "a", "ground"]
    text = "[ground]\n" + "".join(
        f'[[solid]]\nname = "{name}"\nshape = "box"\nsize = [1, 1, 1]\n' for name in names
    )
    found = [node.name for node in scene(tmp_path, text).nodes]
    assert found == ["ground", "a", "part-2", "a.3", "a.2", "part-1", "a.4", "ground.2"]


def test_a_wrong_size_is_named_with_its_solid(tmp_path: Path) -> None:
    lines = complaints(tmp_path, BARGES.replace("[2.0, 0.8, 6.0]", "[2.0, -1, 6.0]"))
    assert len(lines) == 1
    assert lines[0].startswith('quay.toml: solid "barge-3": size is [2, -1, 6]')
    assert "above 0" in lines[0]


def test_every_complaint_comes_at_once(tmp_path: Path) -> None:
    text = """
[grund]
size = [1, 1]
[[solid]]
name = "one"
shape = "pyramid"
size = [1, nan, 1]
[[solid]]
name = "two"
shape = "box"
sise = [1, 1, 1]
turn_deg = "north"
[[mesh]]
file = "nowhere.glb"
scale = 0
"""
    lines = complaints(tmp_path, text)
    wanted = [
        "`grund`",
        "pyramid",
        "size is",
        "`sise`",
        "size is missing",
        "turn_deg",
        "nowhere.glb",
        "scale",
    ]
    for words in wanted:
        assert any(words in line for line in lines), (words, lines)
    assert all(line.startswith("quay.toml: ") and line.endswith((".", "?")) for line in lines)
    assert any("did you mean `ground`?" in line for line in lines)
    assert any('solid "two"' in line and "did you mean `size`?" in line for line in lines)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (BALL + "steps = 3\n", "only stairs have steps"),
        (BALL.replace("[1, 1, 1]", '["1", 1, 1]'), "size"),
        (BALL.replace("[1, 1, 1]", "[1, 1]"), "size"),
        (BALL.replace("[1, 1, 1]", "[1, 1, 2e6]"), "size"),
        (BALL + "at = [0, inf, 0]\n", "at"),
        (BALL + "at = [0, 0, -1.5e9]\n", "at"),
        (BALL + "walkable = 1\n", "walkable"),
        (BALL + "repeat = { count = 0, step = [1, 0, 0] }\n", "count"),
        (BALL + "repeat = { count = 1.5, step = [1, 0, 0] }\n", "count"),
        (BALL + "repeat = { count = 9 }\n", "step"),
        (BALL + "repeat = { count = 90, step = [1e8, 0, 0] }\n", "repeat reaches"),
        ('[solid]\nshape = "box"\nsize = [1, 1, 1]\n', "[[solid]]"),
        ('[[mesh]]\nfile = "level.fbx"\n', "level.fbx"),
        ('[[mesh]]\nfile = ""\n', "file"),
        ('[[mesh]]\nfile = "a\\u0000.glb"\n', "file"),
        ('[[mesh]]\nup = "y"\n', "file is missing"),
        ('scene = "quay.toml"\n[camera]\nfocal_mm = 35\n', "is a study"),
    ],
)
def test_one_wrong_thing_gives_one_sentence(tmp_path: Path, text: str, words: str) -> None:
    lines = complaints(tmp_path, text)
    assert len(lines) == 1
    assert words in lines[0]


def test_too_many_solids_are_refused_with_their_number(tmp_path: Path) -> None:
    row = "repeat = {{ count = {}, step = [0.001, 0, 0] }}\n"
    lines = complaints(tmp_path, BALL + row.format(10**6) + BALL + row.format(MOST_SOLIDS))
    assert lines == ["quay.toml: holds 1100000 solids after repeat; at most 100000 are drawn."]


def test_a_hundred_thousand_solids_are_read_in_seconds(tmp_path: Path) -> None:
    text = BALL.replace("sphere", "box") + f"repeat = {{ count = {MOST_SOLIDS}, step = [0.1, 0, 0] }}\n"
    found = scene(tmp_path, text)
    assert len(found.nodes) == MOST_SOLIDS
    assert found.nodes[-1].name == f"ball.{MOST_SOLIDS}"
    assert np.shares_memory(found.nodes[0].faces, found.nodes[-1].faces)


@pytest.mark.parametrize("text", ["", "# nothing\n", "solid = []\n"])
def test_an_empty_scene_is_refused(tmp_path: Path, text: str) -> None:
    assert complaints(tmp_path, text) == ["quay.toml: holds no geometry, so there is nothing to draw."]


@pytest.mark.parametrize(
    ("data", "words"),
    [(b"\xff\xfe\x00\x01", "UTF-8"), (b"[[solid]\nname", "not valid TOML"), (b"a = " + b"[" * 5000, "TOML")],
)
def test_what_is_no_toml_gives_one_sentence(tmp_path: Path, data: bytes, words: str) -> None:
    (tmp_path / "quay.toml").write_bytes(data)
    with pytest.raises(StudyWrong, match=words) as caught:
        read_scene(tmp_path / "quay.toml")
    assert len(caught.value.message.splitlines()) == 1


def test_folders_missing_files_and_other_kinds_are_refused(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("hello")
    for path, words in (
        (tmp_path, "is a folder"),
        (tmp_path / "none.toml", "no such file"),
        (tmp_path / "a.txt", "is no scene"),
        (tmp_path / ("x" * 5000), "not a name that a file can have|no such file"),
    ):
        with pytest.raises(StudyWrong, match=words):
            read_scene(path)


def test_a_mesh_is_turned_up_scaled_and_moved(tmp_path: Path) -> None:
    built = Built()
    built.node(name="pole", mesh=built.mesh([(0, 0, 0), (1, 0, 0), (0, 0, 10)]))
    built.glb(tmp_path / "pole.glb")
    found = scene(
        tmp_path,
        '[[mesh]]\nfile = "pole.glb"\nup = "z"\nscale = 0.5\nat = [100, 20, 3]\n'
        'walkable = true\nbacks = "open"\n',
    )
    node = found.node("pole")
    assert node.vertices.tolist() == [[100, 20, 3], [100.5, 20, 3], [100, 25, 3]]
    assert (node.walkable, node.backs_open, node.closed, node.gridded) == (True, True, False, True)


def test_z_up_keeps_faces_outward_and_turns_y_away(tmp_path: Path) -> None:
    built = Built()
    built.node(name="cube", mesh=built.mesh(CUBE * (1, 2, 3), CUBE_FACES), translation=[0, 10, 0])
    built.glb(tmp_path / "cube.glb")
    node = scene(tmp_path, '[[mesh]]\nfile = "cube.glb"\nup = "z"\n').node("cube")
    assert node.bounds.tolist() == [[-1, -3, -12], [1, 3, -8]]
    assert node.closed


def test_what_lies_far_out_can_be_brought_nearer_as_its_note_advises(tmp_path: Path) -> None:
    built = Built()
    built.node(name="terrain", mesh=built.mesh(CUBE, CUBE_FACES), translation=[4e6, 0, 0])
    built.glb(tmp_path / "level.glb")
    text = '[[mesh]]\nfile = "level.glb"\n'
    far = scene(tmp_path, text)
    # Single precision from 2^21 to 2^22 m has steps of 2^-2 m.
    assert far.notes == (
        'quay.toml: "terrain" reaches 4000 km from the origin, where positions are rounded to 0.25 m; '
        "bring it nearer with the `at` of a [[mesh]].",
    )
    near = scene(tmp_path, text + "at = [-4e6, 0, 0]\n")
    assert near.notes == ()
    assert near.node("terrain").bounds == pytest.approx(np.array([[-1, -1, -1], [1, 1, 1]]))


@pytest.mark.parametrize(
    "text",
    [
        BALL + "at = [9e8, -9e8, 0]",
        BALL + "at = [-5e8, 0, 0]\nrepeat = { count = 2, step = [9e8, 0, 0] }",
        "[ground]\nheight_m = -9e8",
    ],
    ids=["at", "step", "height"],
)
def test_every_position_may_be_as_far_as_a_position_goes(text: str, tmp_path: Path) -> None:
    assert scene(tmp_path, text).nodes


@pytest.mark.parametrize("text", [BALL + "at = [2e9, 0, 0]", "[ground]\nheight_m = 2e9"])
def test_no_position_is_farther_than_that(text: str, tmp_path: Path) -> None:
    (said,) = complaints(tmp_path, text)
    assert "1000000000" in said


def test_the_same_mesh_twice_can_be_told_apart_by_name(tmp_path: Path) -> None:
    built = triangle_file()
    built.node(mesh=0)
    built.glb(tmp_path / "two.glb")
    triangle_file().glb(tmp_path / "one.glb")
    text = '[[mesh]]\nfile = "two.glb"\nname = "left"\n[[mesh]]\nfile = "two.glb"\n'
    text += '[[mesh]]\nfile = "one.glb"\nname = "solo"\n'
    assert [node.name for node in scene(tmp_path, text).nodes] == [
        "left/tri",
        "left/part-1",
        "tri",
        "part-1",
        "solo",
    ]


def test_complaints_about_several_meshes_come_together(tmp_path: Path) -> None:
    (tmp_path / "a.glb").write_bytes(b"glTF")
    (tmp_path / "b.stl").write_bytes(b"")
    lines = complaints(tmp_path, '[[mesh]]\nfile = "a.glb"\n[[mesh]]\nfile = "b.stl"\n')
    assert [line[:6] for line in lines] == ["a.glb:", "b.stl:"]


def test_digest_follows_geometry_and_names_but_not_paths_or_layout(tmp_path: Path) -> None:
    first = scene(tmp_path, BARGES).digest
    (tmp_path / "sub").mkdir()
    assert len(first) == 64
    assert scene(tmp_path / "sub", "# other words\n" + BARGES).digest == first
    others = {
        scene(tmp_path, BARGES.replace("4.2", "4.3")).digest,
        scene(tmp_path, BARGES.replace("barge-3", "barge-4")).digest,
        scene(tmp_path, BARGES.replace("repeat", "walkable = false\nrepeat")).digest,
    }
    assert len(others - {first}) == 3


def test_arrays_of_a_scene_cannot_be_written(tmp_path: Path) -> None:
    node = scene(tmp_path, BALL).node("ball")
    with pytest.raises(ValueError, match="read-only"):
        node.vertices[0, 0] = 1


def test_a_solid_and_a_ground_may_have_a_colour_of_their_own(tmp_path: Path) -> None:
    # IEC 61966-2-1: 0x80 is 128, .21586 in linear light; 0xFF is 1, 0 is 0.
    text = '[ground]\ncolour = "#FF8000"\n[[solid]]\nname = "a"\nshape = "box"\nsize = [1, 1, 1]\n'
    found = scene(tmp_path, text + 'colour = "#0080ff"\nrepeat = { count = 2, step = [2, 0, 0] }\n')
    for name, light in (("ground", (1, 0.21586, 0)), ("a.1", (0, 0.21586, 1)), ("a.2", (0, 0.21586, 1))):
        node = found.node(name)
        assert node.own is not None
        assert node.own.materials[0].factor == pytest.approx((*light, 1), abs=1e-5)
        assert node.shows_own
        assert not node.is_sheer
    assert scene(tmp_path, text).node("a").own is None


@pytest.mark.parametrize("words", ["red", "#12345", "#12345g", "123456", ""])
def test_a_colour_that_is_none_is_refused(tmp_path: Path, words: str) -> None:
    text = f'[[solid]]\nname = "a"\nshape = "box"\nsize = [1, 1, 1]\ncolour = "{words}"\n'
    assert complaints(tmp_path, text) == [
        f'quay.toml: solid "a": colour is "{words}", must be a colour in sRGB such as "#D55E00".'
    ]
