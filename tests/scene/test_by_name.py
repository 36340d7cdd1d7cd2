"""Nodes of a mesh that a scene hides, lets be stood on, or opens, by name."""

from __future__ import annotations

from pathlib import Path

import pytest

from stationpoint.base.errors import StudyWrong
from stationpoint.scene.file import read_scene

# Four triangles: one whose name has a bracket in it.
LEVEL = """\
v 0 0 0
v 1 0 0
v 0 0 -1
o CEILING
f 1 2 3
o chair
f 1 2 3
o crate [2]
f 1 2 3
o chair two
f 1 2 3
"""


def level(folder: Path, keys: str) -> Path:
    (folder / "level.obj").write_text(LEVEL, "utf-8")
    (folder / "s.toml").write_text(f'[[mesh]]\nfile = "level.obj"\n{keys}\n', "utf-8")
    return folder / "s.toml"


def test_hidden_nodes_are_not_there_and_change_no_other_name(tmp_path: Path) -> None:
    whole = read_scene(level(tmp_path, ""))
    assert [node.name for node in whole.nodes] == ["CEILING", "chair", "crate [2]", "chair two"]
    less = read_scene(level(tmp_path, 'hide = ["CEIL*", "chair"]'))
    assert [node.name for node in less.nodes] == ["crate [2]", "chair two"]
    assert less.digest != whole.digest


def test_walkable_and_backs_hold_for_the_nodes_that_are_named(tmp_path: Path) -> None:
    scene = read_scene(level(tmp_path, 'walkable = ["chair*"]\nbacks = ["CEILING"]'))
    assert [node.walkable for node in scene.nodes] == [False, True, False, True]
    assert [node.backs_open for node in scene.nodes] == [True, False, False, False]
    every = read_scene(level(tmp_path, 'walkable = true\nbacks = "open"'))
    assert all(node.walkable and node.backs_open for node in every.nodes)


def test_bracket_in_a_name_is_a_letter_of_it(tmp_path: Path) -> None:
    scene = read_scene(level(tmp_path, ""))
    assert scene.matching("crate [2]") == scene.matching("crate [*") == ("crate [2]",)


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ('hide = ["WALL*"]', 's.toml: mesh "level.obj": hide: "WALL*" matches no node of that mesh.'),
        ('walkable = ["CEILNG"]', "did you mean `CEILING`"),
        ('hide = ["*"]', "leaves nothing to draw"),
        ("walkable = 3", "walkable"),
    ],
)
def test_pattern_that_cannot_be_meant_is_told(keys: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(StudyWrong) as wrong:
        read_scene(level(tmp_path, keys))
    assert says in str(wrong.value)


def test_study_takes_its_mesh_as_a_scene_would(tmp_path: Path) -> None:
    path = level(tmp_path, 'hide = ["chair*"]\nup = "z"\nscale = 0.5\nat = [0, 1, 0]')
    keys = {"hide": ["chair*"], "up": "z", "scale": 0.5, "at": [0, 1, 0]}
    assert read_scene(path).digest == read_scene(tmp_path / "level.obj", keys).digest
