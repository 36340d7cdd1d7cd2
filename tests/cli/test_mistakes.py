"""Command lines that a new user gets wrong: each is answered with what to do instead."""

from __future__ import annotations

import os
from pathlib import Path
from unittest.mock import patch

import pytest

from cli_calls import SMALL, done, refused, yard
from stationpoint.cli.actions.work import Drawer

READ = "a study or a scene is a .toml file, a mesh one of .glb, .gltf, .obj, .stl, .ply, "
READ += ".usd, .usda, .usdc or .usdz."
MISTAKES = {
    # a folder, or a file of another kind, in a file's place
    "sheet folder": "folder is a folder; name a study, scene or mesh file in it.",
    "inspect folder": "folder is a folder; name a PNG file.",
    "check level.fbx": "level.fbx is FBX, which is not read; export it as glTF or USD.",
    "start level.FBX": "export it as glTF or USD.",
    "sheet yard.png": "told by: stationpoint inspect yard.png",
    "sheet yard.json": f"yard.json cannot be read: {READ}",
    "start yard.json": "export it as one of these.",
    "inspect yard.study.toml": "told by: stationpoint check yard.study.toml",
    "inspect yard.json": "yard.json is not a PNG file.",
    "measure yard.study.toml --json folder": "it is a folder. Name another place with --json.",
    "chart yard.study.toml --reading gaps.hop.scale_ratio -o folder": "it is a folder. Name another place",
    "mesh yard.toml -o folder": "folder cannot be written: it is a folder.",
    "demo quay -o yard.toml": "yard.toml must be a folder",
    "inspect yard.png --redraw y.png --folder yard.toml": "--folder: yard.toml is no folder",
    "inspect yard.png --folder folder": "--folder says where the scene is for --redraw",
    # a study given as a scene, and the reverse
    "start yard.study.toml": "is a study already; draw it with: stationpoint sheet yard.study.toml",
    "judge yard.toml": "has no [[limit]]",
    "check swapped.study.toml": "yard.study.toml: is a study, not a scene",
    # words in a wrong order, forgotten or doubled
    "yard.study.toml": "as in: stationpoint check yard.study.toml",
    "yard.study.toml sheet": "a file follows its command",
    "sheet out.png yard.study.toml": "unexpected extra argument (yard.study.toml)",
    "-o x.png sheet yard.study.toml": "No such option",
    "sheet -o x.png": "Missing argument 'FILE'",
    "sheet yard.study.toml -o": "requires an argument",
    "demo quay greenhouse": "unexpected extra argument (greenhouse)",
    # names that are almost right
    "sheet yard.study": 'yard.study: there is no such file; did you mean "yard.study.toml"?',
    "check yrad.toml": 'did you mean "yard.toml"?',
    "sheet nothing/at/all.toml": "nothing/at/all.toml: there is no such file.",
    "sheet yard.study.toml --set focal_mm=24": '"focal_mm" is a key of camera; say camera.focal_mm.',
    "sheet yard.study.toml --columns focal=24": "did you mean `focal_mm`?",
    # places that cannot be
    "sheet yard.study.toml -o nowhere/": "nowhere/yard.png cannot be written: its folder does not exist.",
    "sheet yard.study.toml -o out": "out: a sheet is a PNG, SVG or PDF; name it with the ending .png, "
    ".svg or .pdf, or name a folder.",
    "measure yard.study.toml --json a --csv ./a": "./a is named for two outputs; name each once.",
    "measure yard.study.toml --json x.csv --csv x.json": "x.csv: a record is JSON",
    "sheet yard.study.toml --pages pitch_deg=1,2 -o -": "the sheet has 2 pages, standard output takes one",
}  # fmt: skip


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A folder as a new user has it: a scene, a study, a sheet, and what lies about."""
    yard(tmp_path)
    done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    (tmp_path / "folder").mkdir()
    for name in ("level.fbx", "level.FBX"):
        (tmp_path / name).write_bytes(b"Kaydara FBX Binary  \0\x1a\0")
    (tmp_path / "swapped.study.toml").write_text('scene = "yard.study.toml"\n', "utf-8")
    return tmp_path


def never(*_: object) -> None:
    raise AssertionError("work was begun")


@pytest.mark.parametrize("line", MISTAKES)
def test_a_mistaken_command_line_is_told_what_to_do(line: str, home: Path) -> None:
    with patch.object(Drawer, "__call__", never):
        said = refused(*line.split(), cwd=home)
    assert MISTAKES[line] in said
    assert len(said.splitlines()) <= 5


@pytest.mark.parametrize(
    "words", [("check",), ("sheet", "yard.study.toml", "-o"), ("inspect", "yard.png", "--json")]
)
def test_an_empty_name_is_no_name(words: tuple[str, ...], home: Path) -> None:
    for empty in ("", "  "):  # as of a shell's variable that is unset
        assert "it is empty; name a file or a folder." in refused(*words, empty, cwd=home)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_a_place_that_may_only_be_read_is_told(home: Path) -> None:
    (home / "a.json").touch(0o400)
    said = refused("measure", "yard.study.toml", "--json", "a.json", cwd=home)
    assert "a.json cannot be written: this user may not write there. Name another place with --json." in said
