"""Legal oddities of a level, from the file to the sheet: drawn right, and told by their true names."""

from __future__ import annotations

import csv
import io
import json
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cli_calls import SMALL, done, yard
from scene.built import CUBE, CUBE_FACES, Built
from stationpoint.record.png import read_png_texts

ODD = [
    "wall/left",
    'the "big" one',
    "two\nlines",
    "it's",
    "a, b; c",
    "tab\there",
    "Kürbis \U0001f383",
    "[x]*?",
    "=1+1",
    "<b>&amp;</b>",
    "back\\slash",
    "#hash = 1",
    "..",
]
CAMERA = """
[camera]
focal_mm = 20
distance_m = 30
pitch_deg = 0
aspect = "16:9"
"""


def sheet_of(folder: Path, study: str) -> dict[str, Any]:
    (folder / "odd.study.toml").write_text(study, "utf-8", newline="")
    done("sheet", "odd.study.toml", *SMALL, cwd=folder)
    record: dict[str, Any] = json.loads((folder / "odd.json").read_bytes())
    return record


def target(name: str, node: str) -> str:
    return f"[[target]]\nname = {quoted(name)}\nnode = {quoted(node)}\n"


def quoted(words: str) -> str:
    """A text as TOML writes it."""
    return json.dumps(words, ensure_ascii=False)


def test_odd_names_reach_record_table_ticket_and_picture_unharmed(tmp_path: Path) -> None:
    built = Built()
    mesh = built.mesh(CUBE * 0.4, CUBE_FACES)
    for k, name in enumerate(ODD):
        built.node(name=name, mesh=mesh, translation=[2.0 * k - 12, 0, 0])
    built.glb(tmp_path / "odd.glb")
    study = 'title = "Odd?"\nscene = "odd.glb"\n' + "".join(target(name, name) for name in ODD) + CAMERA
    record = sheet_of(tmp_path, study)
    targets = record["rows"][0]["targets"]
    assert list(targets) == ODD
    assert [one["seen"] for one in targets.values()] == pytest.approx([1.0] * len(ODD))
    texts = read_png_texts(tmp_path / "odd.png")
    assert texts["stationpoint record"] == (tmp_path / "odd.json").read_bytes().decode()
    table = list(csv.reader(io.StringIO((tmp_path / "odd.csv").read_bytes().decode(), newline="")))
    assert {f"targets.{name}.seen" for name in ODD} <= set(table[0])
    assert len({len(row) for row in table}) == 1
    assert "wall/left" in (tmp_path / "odd.txt").read_text("utf-8")
    assert len((tmp_path / "odd.txt").read_text("utf-8").splitlines()) <= 10
    done("inspect", "odd.png", "--redraw", "again.png", cwd=tmp_path)
    assert (tmp_path / "again.png").read_bytes() == (tmp_path / "odd.png").read_bytes()
    said = done("check", "odd.study.toml", cwd=tmp_path).text
    assert r"two\nlines (primary)" in said


def test_odd_names_of_places_gaps_viewings_and_subject_are_kept(tmp_path: Path) -> None:
    odd = 'a/"b"\nc'
    study = f"""
title = "Odd?"
scene = "yard.toml"
subject = {{ name = {quoted(odd)}, at = [0, 0, 0] }}
[[gap]]
name = {quoted(odd)}
from = [0, 0, 0]
to = [2, 0, -2]
reach_m = 3
[[place]]
name = {quoted(odd)}
at = [0, 0, 1]
[[viewing]]
name = {quoted(odd)}
diagonal_in = 24
pixels = [1920, 1080]
eye_distance_m = 0.6
[[limit]]
reading = "gaps.*.scale_ratio"
min = 1
{CAMERA}"""
    yard(tmp_path)
    record = sheet_of(tmp_path, study)
    assert [row["place"] for row in record["rows"]] == ["here", odd]
    assert list(record["rows"][0]["gaps"]) == [odd]
    assert list(record["rows"][0]["viewing"]) == [odd]
    assert len((tmp_path / "odd.txt").read_text("utf-8").splitlines()) <= 10


def test_four_hundred_instances_of_one_name_get_names_of_their_own(tmp_path: Path) -> None:
    built = Built()
    mesh = built.mesh(CUBE * 0.2, CUBE_FACES)
    for k in range(400):
        built.node(name="lamp", mesh=mesh, translation=[k % 20 - 10, k // 20 - 10, 0])
    built.glb(tmp_path / "odd.glb")
    study = 'scene = "odd.glb"\nsubject = { name = "me", at = [0, 0, 0] }\n'
    study += target("first", "lamp") + target("last", "lamp.400")
    study += '[[target]]\nname = "all"\nnodes = ["lamp", "lamp.*"]\n' + CAMERA
    targets = sheet_of(tmp_path, study)["rows"][0]["targets"]
    assert [targets[name]["seen"] for name in ("first", "last")] == [1.0, 1.0]
    assert targets["all"]["seen"] == pytest.approx(1.0, abs=0.02)  # the subject stands before four of them
    # 19 steps of a metre across and up: F / W = 20 / 36.
    (x0, y0), (x1, y1) = targets["first"]["screen_xy"], targets["last"]["screen_xy"]
    depth = targets["first"]["depth_m"]
    assert (x1 - x0) * depth * 36 / 20 == pytest.approx(19, rel=1e-5)
    assert (y0 - y1) * depth * 36 / 20 / (16 / 9) == pytest.approx(19, rel=1e-5)


def test_fifteen_hundred_nested_nodes_stand_where_they_add_up_to(tmp_path: Path) -> None:
    built = Built()
    mesh = built.mesh(CUBE * 0.2, CUBE_FACES)
    count = 1500
    for k in range(count):
        node: dict[str, Any] = {"name": f"joint {k}", "translation": [0.002, 0, 0]}
        if k + 1 < count:
            node["children"] = [k + 1]
        else:
            node["mesh"] = mesh
        built.node(root=k == 0, **node)
    built.node(name="origin", mesh=mesh)
    built.glb(tmp_path / "odd.glb")
    study = 'scene = "odd.glb"\n' + target("end", f"joint {count - 1}") + target("start", "origin") + CAMERA
    targets = sheet_of(tmp_path, study)["rows"][0]["targets"]
    across = targets["end"]["screen_xy"][0] - targets["start"]["screen_xy"][0]
    assert across * targets["end"]["depth_m"] * 36 / 20 == pytest.approx(3.0, rel=1e-5)


def test_mirrored_and_flat_scales_are_drawn(tmp_path: Path) -> None:
    built = Built()
    mesh = built.mesh(CUBE * 0.4, CUBE_FACES)
    built.node(name="plain", mesh=mesh, translation=[-3, 0, 0])
    built.node(name="mirrored", mesh=mesh, translation=[3, 0, 0], scale=[-1, 1, 1])
    built.node(name="flat", mesh=mesh, translation=[0, 0, 0], scale=[1, 1, 0])
    built.node(name="nothing", mesh=mesh, translation=[5, 0, 0], scale=[0, 0, 0])
    built.glb(tmp_path / "odd.glb")
    names = ("plain", "mirrored", "flat")
    study = 'scene = "odd.glb"\nsubject = { name = "me", at = [0, -3, 2] }\n'
    study += "".join(target(name, name) for name in names)
    study += CAMERA.replace("30", "8")
    targets = sheet_of(tmp_path, study)["rows"][0]["targets"]
    shares = [targets[name]["screen_share"] for name in names]
    assert targets["mirrored"]["seen"] == 1.0
    assert shares[1] == pytest.approx(shares[0], rel=0.05)
    # A square of 0.8 m at 10 m, lens 20 on 36 mm, 16:9: (0.8 / 10 x 20 / 36)^2 x 16 / 9.
    assert shares[2] == pytest.approx(0.0035117, rel=0.05)
    said = done("check", "odd.glb", cwd=tmp_path).text
    assert "nothing" in said


def test_huge_coordinates_draw_the_same_picture_as_small_ones(tmp_path: Path) -> None:
    seen = {}
    for name, far in (("near", 0.0), ("far", 100_000.0)):
        folder = tmp_path / name
        folder.mkdir()
        scene = "".join(
            f'[[solid]]\nname = "box {k}"\nshape = "box"\nsize = [1, 1, 1]\nat = [{far + 3 * k}, 0, {-far}]\n'
            for k in (-1, 0, 1)
        )
        (folder / "yard.toml").write_text(scene, "utf-8")
        study = f'scene = "yard.toml"\nsubject = {{ name = "me", at = [{far}, 0, {3 - far}] }}\n'
        study += "".join(target(f"box {k}", f"box {k}") for k in (-1, 0, 1)) + CAMERA
        seen[name] = sheet_of(folder, study)["rows"][0]["targets"]
    for box in ("box -1", "box 0", "box 1"):
        near, far_off = (seen[name][box] for name in ("near", "far"))
        assert far_off["screen_xy"] == pytest.approx(near["screen_xy"], abs=1e-5)  # float32: 8 mm at 100 km
        assert far_off["seen"] == pytest.approx(near["seen"], abs=0.03)


SOLIDS = """
[ground]
size = [40, 40]
[[solid]]
name = "tower"
shape = "box"
size = [2, 9, 2]
at = [0, 0, 8]
"""


@pytest.mark.parametrize(
    ("camera", "words"),
    [
        ("distance_m = 8\npitch_deg = 0\nanchor_height_m = 1", 'A1: the camera is inside "tower".'),
        ("distance_m = 8\npitch_deg = -30\nanchor_height_m = 1", "A1: the camera is under the ground."),
        ("distance_m = 4\npitch_deg = 10\nanchor_height_m = 1", 'A1: "behind" is behind the camera.'),
        ("distance_m = 4\npitch_deg = 10\nanchor_height_m = 1", 'A1: "aside" is off the picture.'),
        (
            "distance_m = 4\npitch_deg = 10\nanchor_height_m = 1\noffset = [0.7, 0]\noffset_by = 'shift'",
            "A1: the subject is off the picture.",
        ),
    ],
    ids=["inside", "under the ground", "behind", "aside", "subject"],
)
def test_odd_cameras_are_facts_with_a_line_of_warning(camera: str, words: str, tmp_path: Path) -> None:
    study = f"""
scene = "yard.toml"
subject = {{ name = "me", at = [0, 0, 0] }}
[[target]]
name = "behind"
at = [0, 1, 12]
[[target]]
name = "aside"
at = [30, 1, -3]
[camera]
{camera}
"""
    yard(tmp_path, study, SOLIDS)
    drawn = done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    assert words in drawn.err.splitlines()
    assert words in done("measure", "yard.study.toml", "--renderer", "rays", cwd=tmp_path).err
    if "aside" not in words:  # `check` draws nothing, and what is off the picture needs the outline
        assert words in done("check", "yard.study.toml", cwd=tmp_path).text
    row = json.loads((tmp_path / "yard.json").read_bytes())["rows"][0]
    behind = row["targets"]["behind"]
    if "behind" in words:
        assert behind["screen_xy"] is None
        assert behind["seen"] == 0
        # 12 m along +Z, level with the anchor; the camera is 4 m from it, 10 degrees up.
        assert behind["depth_m"] == pytest.approx(4 - 12 * cos(radians(10)), abs=1e-5)
    if "inside" in words:
        assert row["framing"]["camera_inside"] == "tower"


def test_view_straight_down_and_straight_up_are_drawn(tmp_path: Path) -> None:
    study = 'scene = "yard.toml"\nsubject = { name = "me", at = [0, 0, 0] }\n[camera]\ndistance_m = 9\n'
    yard(tmp_path, study, SOLIDS)
    words = ("--rows", "pitch_deg=90,-90", "--columns", "projection=perspective,orthographic,oblique")
    done("sheet", "yard.study.toml", *SMALL, *words, cwd=tmp_path)
    rows = json.loads((tmp_path / "yard.json").read_bytes())["rows"]
    assert len(rows) == 6
    assert all(row["framing"]["subject_xy"] == pytest.approx([0.5, 0.5]) for row in rows)
    assert rows[0]["axes"]["x"]["direction_deg"] == pytest.approx(0, abs=1e-4)
    assert np.isclose(sin(radians(rows[0]["axes"]["z"]["direction_deg"])), -1)  # +Z lies at the lower edge
