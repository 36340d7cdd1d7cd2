"""Contrast and prominence through the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli_calls import call, done, refused
from scene.painted import Painted
from stationpoint.run import Wants, prepare_study, sweep_variants
from stationpoint.sheet.settings import common_settings
from stationpoint.study import study_from_text

SCENE = """\
[ground]
size = [40, 40]
colour = "#808080"
[[solid]]
name = "table"
shape = "box"
size = [2, 0.8, 1.2]
at = [0, 0, -2]
colour = "#777777"
[[solid]]
name = "stool"
shape = "cylinder"
size = [0.6, 0.6, 0.6]
at = [-2, 0, -3]
colour = "#E02010"
repeat = { count = 3, step = [2.0, 0, 0] }
"""
STUDY = """\
title = "Does the table stand out?"
scene = "scene.toml"
[subject]
name = "hopper"
at = [2, 0, 0]
[[target]]
name = "near table"
node = "table"
[camera]
pitch_deg = 40
distance_m = 8
"""
LIMIT = '[[limit]]\nreading = "{}"\n{}\n'
SMALL = ("--quiet", "--renderer", "rays")


def study(folder: Path, *limits: str, scene: str = SCENE) -> str:
    """A study whose only viewing is small, so that it is soon drawn."""
    viewing = '[[viewing]]\nname = "small"\ndiagonal_in = 7\npixels = [320, 180]\neye_distance_m = 0.35\n'
    (folder / "scene.toml").write_text(scene)
    (folder / "table.toml").write_text("\n".join([STUDY, viewing, *limits]))
    return str(folder / "table.toml")


def test_failing_limits_say_who_outshouts_whom(tmp_path: Path) -> None:
    limits = [
        LIMIT.format("targets.*.contrast.ratio", "min = 3"),
        LIMIT.format("targets.*.prominence_rank", "max = 1"),
        LIMIT.format("framing.role_order_holds", "is = true"),
        LIMIT.format("framing.outshouted_by", "max = 0"),
    ]
    judged = call("judge", study(tmp_path, *limits), *SMALL, cwd=tmp_path)
    assert judged.code == 1
    assert "near table: contrast ratio 1." in judged.text
    assert "outshouted by " in judged.text
    assert "out-shout near table)" in judged.text


def test_the_record_of_coloured_solids_holds_contrast_twice_alike(tmp_path: Path) -> None:
    path = study(tmp_path)
    first, second = (call("measure", path, "--json", "-", *SMALL, cwd=tmp_path).out for _ in range(2))
    assert first == second
    row = json.loads(first)["rows"][0]
    assert set(row["targets"]["near table"]["contrast"]) == {
        "ratio", "delta_l", "delta_e", "protan", "deutan", "tritan",
    }  # fmt: skip
    assert 1.0 < row["targets"]["near table"]["contrast"]["ratio"] < 2.0
    assert 1.0 < row["subject"]["contrast"]["ratio"] < 21.0
    assert row["framing"]["outshouted_by"][0].startswith("stool")
    assert row["framing"]["first_glance"][0].keys() == {"xy", "node", "role"}


def test_a_level_without_colours_has_nulls_and_a_limit_says_why(tmp_path: Path) -> None:
    bare = "\n".join(line for line in SCENE.splitlines() if not line.startswith("colour"))
    path = study(tmp_path, LIMIT.format("targets.*.contrast.ratio", "min = 3"), scene=bare)
    row = done("measure", path, "--json", "-", *SMALL, cwd=tmp_path).record["rows"][0]
    assert set(row["targets"]["near table"]["contrast"].values()) == {None}
    assert row["framing"]["role_order_holds"] is None
    judged = call("judge", path, *SMALL, cwd=tmp_path)
    assert judged.code == 1
    assert "contrast ratio could not be measured (the level has no colours of its own)" in judged.text


@pytest.mark.parametrize("colour", ["grey", "#12345", "808080", "#12345g"])
def test_a_colour_that_is_none_is_refused_with_what_one_is(tmp_path: Path, colour: str) -> None:
    said = refused("check", study(tmp_path, scene=SCENE.replace("#777777", colour)), cwd=tmp_path)
    assert f'colour is "{colour}", must be a colour in sRGB such as "#D55E00"' in said


def test_a_stand_in_can_be_given_a_colour(tmp_path: Path) -> None:
    """White on mid grey, unlike clay, in the light: its contrast grows."""
    path = study(tmp_path)
    rows = [
        done("measure", path, "--json", "-", *more, *SMALL, cwd=tmp_path).record["rows"][0]
        for more in ((), ("--set", "subject.colour=#FFFFFF"))
    ]
    ratios = [row["subject"]["contrast"]["ratio"] for row in rows]
    assert ratios[1] > 1.5 * ratios[0]


def test_the_sheet_says_that_a_ranking_is_no_model_of_attention(tmp_path: Path) -> None:
    said = []
    for limits in ((), (LIMIT.format("framing.role_order_holds", "is = true"),)):
        path = Path(study(tmp_path, *limits))
        prepared = prepare_study(study_from_text(path.read_text(), path.name), tmp_path)
        results = sweep_variants(prepared, Wants(cell_width=96, picture=False), "rays")
        said.append(dict(common_settings(results, prepared.study, frozenset())).get("Prominence"))
    assert said[0] is None
    assert said[1] == "a ranking by colour and size, on the level's own colours; no model of attention"


def mesh_study(folder: Path, materials: bool) -> str:
    """A study of a GLB whose plates have materials, or none; nothing asks for their colours."""
    built = Painted()
    for name, low, high, colour in (
        ("sign", (-1.0, 0.0), (0.0, 1.5), (0.665, 0.112, 0.0, 1.0)),
        ("wall", (-4.0, 0.0), (4.0, 3.0), (0.5, 0.5, 0.5, 1.0)),
    ):
        material = built.material(colour) if materials else None
        built.plate(name, material, low, high, z=-2.0 if name == "sign" else -3.0)
    built.glb(folder / "plates.glb")
    viewing = '[[viewing]]\nname = "small"\ndiagonal_in = 7\npixels = [320, 180]\neye_distance_m = 0.35\n'
    target = '[[target]]\nname = "sign"\nnode = "sign"\n'
    subject = '[subject]\nname = "hopper"\nat = [1, 0, -1]\n'
    (folder / "plates.study.toml").write_text(f'scene = "plates.glb"\n{subject}{target}{viewing}')
    return str(folder / "plates.study.toml")


MODES_OF_OWN = ("own", "clay-over-own", "own-grey", "three-values", "first-glance")


@pytest.mark.parametrize("mode", MODES_OF_OWN)
def test_modes_of_own_colours_keep_the_record_of_a_level_that_does_not_ask_for_them(
    mode: str, tmp_path: Path
) -> None:
    path = mesh_study(tmp_path, materials=True)
    drawn = ("--cell-width", "320", "--quiet", "--renderer", "rays", "--force")
    done("sheet", path, *drawn, "-o", "marks.png", cwd=tmp_path)
    said = done("sheet", path, *drawn, "--mode", mode, "-o", "other.png", cwd=tmp_path)
    assert "no colours" not in said.err
    assert (tmp_path / "marks.json").read_bytes() == (tmp_path / "other.json").read_bytes()


@pytest.mark.parametrize("mode", MODES_OF_OWN)
def test_modes_of_own_colours_draw_clay_without_any_and_say_so_in_one_line(mode: str, tmp_path: Path) -> None:
    path = mesh_study(tmp_path, materials=False)
    drawn = ("--cell-width", "320", "--quiet", "--renderer", "rays", "--alone")
    said = done("sheet", path, *drawn, "--mode", mode, cwd=tmp_path).err
    lines = [line for line in said.splitlines() if "no" in line.lower() and "colours" in line]
    assert lines == ["Nothing in the scene has colours of its own, so it is drawn in clay."]


def test_own_mode_with_clay_is_refused_and_three_values_of_clay_is_not(tmp_path: Path) -> None:
    path = mesh_study(tmp_path, materials=True)
    said = refused("sheet", path, "--mode", "own", "--materials", "clay", cwd=tmp_path)
    assert said == "--mode own is of the level's own colours; leave out --materials clay.\n"
    drawn = ("--cell-width", "320", "--quiet", "--renderer", "rays", "--alone")
    done("sheet", path, *drawn, "--mode", "three-values", "--materials", "clay", cwd=tmp_path)
