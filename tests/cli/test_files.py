"""Files of a person that no call may lose: what is read, what is there already, what a kill leaves."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest

from cli_calls import LAMP_SCENE, SMALL, STUDY, done, listing, refused, yard
from scene.built import Built
from stationpoint.cli.actions.work import Drawer
from stationpoint.record.png import png_bytes

READS = "is what this call reads"
CHART = ("chart", "yard.study.toml", "--reading", "gaps.hop.scale_ratio", "--renderer", "rays")
MATERIALS = "newmtl a\nmap_Kd -s 1 1 1 wood.png\n"
HANGING = """
scene = "yard.toml"
subject = { at = [-3, 0, 2] }

[[target]]
name = "lamp"
node = "lamp"

[camera]
projection = "orthographic"
view_height_m = 12
distance_m = 20
pitch_deg = 30
"""
SCENE = """
[[mesh]]
file = "level.gltf"

[[mesh]]
file = "shed.obj"
at = [3, 0, 0]
"""


def never(*_: object) -> None:
    raise AssertionError("work was begun")


@pytest.fixture
def level(tmp_path: Path) -> Path:
    """A study of a scene of two meshes, with a buffer, textures, a material file, and a camera's file."""
    built = Built()
    built.node(mesh=built.mesh([(0, 0, 0), (2, 0, 0), (0, 2, 0)]), name="slab")
    tables = {
        **built.tables,
        "buffers": [{"byteLength": len(built.blob), "uri": "level%20one.bin"}],
        "images": [{"uri": "brick.png"}],
    }
    (tmp_path / "level.gltf").write_text(json.dumps(tables), "utf-8")
    (tmp_path / "level one.bin").write_bytes(bytes(built.blob))
    picture = png_bytes(np.zeros((2, 2, 3), dtype=np.uint8), {"stationpoint record": "as if it were ours"})
    for name in ("brick.png", "wood.png"):
        (tmp_path / name).write_bytes(picture)
    (tmp_path / "shed.mtl").write_text(MATERIALS, "utf-8")
    (tmp_path / "shed.obj").write_text("mtllib shed.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "utf-8")
    eye = Built()
    eye.tables["cameras"] = [
        {"type": "perspective", "perspective": {"yfov": 0.6, "znear": 0.1, "aspectRatio": 1.6}}
    ]
    eye.node(mesh=eye.mesh(), name="post")
    eye.node(camera=0, name="crane", translation=[0, 1, 8])
    eye.glb(tmp_path / "eye.glb")
    text = (
        'scene = "level.toml"\n[camera]\nfrom = "eye.glb#crane"\n[sweep]\ncolumns = { focal_mm = [24, 50] }\n'
    )
    (tmp_path / "level.toml").write_text(SCENE, "utf-8")
    (tmp_path / "level.study.toml").write_text(text, "utf-8")
    return tmp_path


@pytest.mark.parametrize(
    "name",
    [
        "level.study.toml",
        "level.toml",
        "level.gltf",
        "level one.bin",
        "brick.png",
        "shed.obj",
        "shed.mtl",
        "wood.png",
        "eye.glb",
    ],
)
def test_no_file_that_a_study_is_made_of_is_written_over(level: Path, name: str) -> None:
    with patch.object(Drawer, "__call__", never):
        for words in (("measure", "--json"), ("sheet", "--csv"), ("sheet", "-o"), ("twins", "--text")):
            command, option = words
            said = refused(command, "level.study.toml", option, name, "--force", cwd=level)
            assert f"{name} {READS}; name another place with {option}." in said
    assert f"{name} {READS}" in refused("mesh", "level.study.toml", "-o", name, "--force", cwd=level)


def by_dots(place: Path) -> str:
    return f"./nowhere/../{place.name}" if (place.parent / "nowhere").mkdir() is None else ""


def by_symlink(place: Path) -> str:
    (place.parent / "soft.json").symlink_to(place.name)
    return "soft.json"


def by_hard_link(place: Path) -> str:
    os.link(place, place.parent / "hard.json")
    return "hard.json"


@pytest.mark.skipif(os.name != "posix", reason="links as POSIX has them")
@pytest.mark.parametrize("alias", [by_dots, by_symlink, by_hard_link, str])
def test_a_file_by_another_name_is_the_same_file(level: Path, alias: Callable[[Path], str]) -> None:
    said = refused(
        "measure", "level.study.toml", "--json", alias(level / "level one.bin"), "--force", cwd=level
    )
    assert READS in said


@pytest.mark.parametrize(
    "words",
    [
        ("mesh", "yard.study.toml", "-o", "level.glb"),
        ("mesh", "level.glb"),
        ("measure", "yard.study.toml", "--json", "level.glb"),
        ("measure", "level.glb", "--json", "level.glb"),
        ("sheet", "level.glb", "-o", "level.glb"),
        ("judge", "yard.study.toml", "--json", "level.glb"),
        (*CHART, "-o", "level.glb"),
        ("start", "level.glb", "-o", "level.glb"),
        ("twins", "yard.study.toml", "-o", "level.glb"),
    ],
    ids=" ".join,
)
def test_the_mesh_that_a_scene_is_made_of_stays(words: tuple[str, ...], tmp_path: Path) -> None:
    yard(tmp_path)
    done("mesh", "yard.toml", "-o", "level.glb", cwd=tmp_path)
    limit = '\n[[limit]]\nreading = "targets.*.seen"\nmin = 0.5\n'
    yard(tmp_path, STUDY.replace("yard.toml", "level.glb") + limit)
    (tmp_path / "yard.toml").unlink()
    assert READS in refused(*words, "--force", cwd=tmp_path)


def test_neither_a_sheet_nor_its_scene_is_written_over_by_inspect(tmp_path: Path) -> None:
    yard(tmp_path)
    done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    for option in ("--redraw", "--json", "--study"):
        said = refused("inspect", "yard.png", option, "yard.png", "--force", cwd=tmp_path)
        assert f"yard.png {READS}; name another place with {option}." in said
    (tmp_path / "yard.toml").rename(tmp_path / "level.toml")
    (tmp_path / "yard.toml").symlink_to("level.toml")
    (tmp_path / "a.png").symlink_to("level.toml")
    assert READS in refused("inspect", "yard.png", "--redraw", "a.png", "--force", cwd=tmp_path)


@pytest.mark.parametrize("end", ["png", "json", "csv", "txt"])
@pytest.mark.parametrize("text", ["name,x\r\n1,2\r\n", '{"name": "mine"}', "\x89PNG\r\n\x1a\nmine"])
def test_a_file_that_we_did_not_write_stays_unless_forced(end: str, text: str, tmp_path: Path) -> None:
    yard(tmp_path)
    (tmp_path / f"yard.{end}").write_text(text, "latin-1")
    with patch.object(Drawer, "__call__", never):
        said = refused("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    assert f"yard.{end} is there already and would be lost" in said
    assert "--force" in said
    done("sheet", "yard.study.toml", *SMALL, "--force", cwd=tmp_path)
    assert (tmp_path / f"yard.{end}").read_bytes() != text.encode("latin-1")


def test_a_page_that_we_did_not_write_stays(tmp_path: Path) -> None:
    yard(tmp_path)
    (tmp_path / "yard-2.png").write_bytes(b"mine")
    with patch.object(Drawer, "__call__", never):
        said = refused("sheet", "yard.study.toml", *SMALL, "--pages", "pitch_deg=10,30", cwd=tmp_path)
    assert "yard-2.png is there already" in said


@pytest.mark.parametrize(
    ("words", "names"),
    [
        (("sheet", "yard.study.toml", *SMALL), "yard.png yard.json yard.csv yard.txt"),
        (
            ("sheet", "yard.study.toml", *SMALL, "--pages", "pitch_deg=10,30", "-o", "p.png"),
            "p-1.png p-2.png p.json p.csv p.txt",
        ),
        (("twins", "yard.study.toml", *SMALL, "-o", "t.png"), "t.png t.json t.csv t.txt"),
        (("measure", "yard.study.toml", "--only", "gaps", "--json", "a", "--csv", "b"), "a b"),
        ((*CHART, "-o", "c.png"), "c.png"),
        ((*CHART, "-o", "c.svg"), "c.svg"),
        (("demo", "quay", *SMALL, "-o", "out", "--copy"), "out/quay.png out/quay.json out/quay.toml"),
        (("inspect", "yard.png", "--redraw", "r.png", "--json", "r.json"), "r.png r.json"),
    ],
    ids=lambda words: words if isinstance(words, str) else " ".join(words),
)
def test_what_we_wrote_is_written_again_unasked(words: tuple[str, ...], names: str, tmp_path: Path) -> None:
    yard(tmp_path, *((HANGING, LAMP_SCENE) if words[0] == "twins" else ()))
    if words[0] == "inspect":
        done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    done(*words, cwd=tmp_path)
    made = listing(tmp_path)
    assert set(names.split()) <= set(made)
    done(*words, cwd=tmp_path)
    assert listing(tmp_path) == made


def test_studies_and_meshes_are_never_written_over_unasked(tmp_path: Path) -> None:
    yard(tmp_path)
    for words, made in (
        (("start", "yard.toml", "-o", "a.toml"), "a.toml"),
        (("mesh", "yard.toml"), "yard.glb"),
    ):
        done(*words, cwd=tmp_path)
        assert f"{made} is there already and would be lost" in refused(*words, cwd=tmp_path)
        done(*words, "--force", cwd=tmp_path)
    done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    (tmp_path / "mine.toml").write_text(STUDY, "utf-8")
    said = refused("inspect", "yard.png", "--study", "mine.toml", cwd=tmp_path)
    assert "mine.toml is there already and would be lost; name another place with --study" in said


def test_an_empty_file_is_in_nobodys_way(tmp_path: Path) -> None:
    yard(tmp_path)
    (tmp_path / "a.json").touch()
    done("measure", "yard.study.toml", "--only", "axes", "--json", "a.json", cwd=tmp_path)
    assert (tmp_path / "a.json").stat().st_size > 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("measure", "yard.study.toml", "--json", "a.csv"),
            "a.csv: a record is JSON; name it with the ending .json.",
        ),
        (
            ("measure", "yard.study.toml", "--csv", "a.JSON"),
            "a.JSON: a table is CSV; name it with the ending .csv.",
        ),
        (("measure", "yard.study.toml", "--csv", "a.png"), "a.png: a table is CSV"),
        (("judge", "yard.study.toml", "--json", "a.toml"), "a.toml: a record is JSON"),
        (
            ("sheet", "yard.study.toml", "-o", "a.csv"),
            "a.csv: a sheet is a PNG, SVG or PDF; name it with the ending .png, .svg or .pdf, or",
        ),
        (("sheet", "yard.study.toml", "--text", "a.glb"), "a.glb: a ticket is plain text"),
        (("twins", "yard.study.toml", "-o", "a.gif"), "a.gif: a sheet is a PNG, SVG or PDF"),
        (
            (*CHART, "-o", "a.json"),
            "a.json: a chart is a PNG, an SVG or a PDF; name it with the ending .png, .svg or .pdf.",
        ),
        (("mesh", "yard.toml", "-o", "a.gltf"), "a.gltf: a mesh is written as a GLB"),
        (("start", "yard.toml", "-o", "a.glb"), "a.glb: a study is a TOML file"),
        (
            ("inspect", "yard.png", "--redraw", "a.jpg"),
            "a.jpg: a sheet is a PNG, SVG or PDF; name it with the ending .png, .svg or .pdf.",
        ),
        (("inspect", "yard.png", "--study", "a.json"), "a.json: a study is a TOML file"),
    ],
    ids=lambda words: words if isinstance(words, str) else " ".join(words),
)
def test_an_ending_that_says_another_format_is_refused(
    words: tuple[str, ...], said: str, tmp_path: Path
) -> None:
    yard(tmp_path, STUDY + '\n[[limit]]\nreading = "targets.*.seen"\nmin = 0.5\n')
    if words[0] == "inspect":
        done("sheet", "yard.study.toml", *SMALL, "--alone", cwd=tmp_path)
    with patch.object(Drawer, "__call__", never):
        assert said in refused(*words, cwd=tmp_path)


def test_an_ending_that_says_nothing_will_do(tmp_path: Path) -> None:
    yard(tmp_path)
    done("measure", "yard.study.toml", "--only", "axes", "--json", "a.rec", "--csv", "b", cwd=tmp_path)
    assert (tmp_path / "a.rec").read_bytes().startswith(b"{")
    assert (tmp_path / "b").read_bytes().startswith(b"variant,")


@pytest.mark.parametrize(
    ("words", "option"),
    [
        (("measure", "yard.study.toml", "--csv"), "--csv"),
        (("measure", "yard.study.toml", "--json"), "--json"),
        (("sheet", "yard.study.toml", "--text"), "--text"),
        (("sheet", "yard.study.toml", "-o"), "-o"),
        (("inspect", "yard.png", "--study"), "--study"),
        (("inspect", "yard.png", "--redraw"), "--redraw"),
    ],
)
def test_the_option_that_cannot_be_written_is_named(
    words: tuple[str, ...], option: str, tmp_path: Path
) -> None:
    yard(tmp_path)
    done("sheet", "yard.study.toml", *SMALL, "--alone", cwd=tmp_path)
    said = refused(*words, "nowhere/a.png", cwd=tmp_path)
    assert said == (
        f"nowhere/a.png cannot be written: its folder does not exist. Name another place with {option}.\n"
    )
