"""A blocked boom from the command line: shown and pulled in, in record, words and limits."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli_calls import SMALL, call, done, refused, yard
from stationpoint.record.png import read_png_texts

ALLEY = """
[ground]
size = [40, 40]

[[solid]]
name = "wall-back"
shape = "box"
size = [6, 5, 3]
at = [0, 0, 4.5]

[[solid]]
name = "glass-1"
shape = "box"
size = [6, 5, 0.1]
at = [0, 0, 2.05]
"""
STUDY = """
title = "Does the camera fit into the alley?"
scene = "yard.toml"

[subject]
name = "hopper"
at = [0, 0, 0]

[camera]
hfov_deg = 70
distance_m = 5
pitch_deg = 20
anchor_height_m = 1.2
passes = ["glass*"]
aspect = "16:9"
"""
BOTH = ("--rows", "blocked=show,pull-in")


def test_blocked_boom_is_shown_and_pulled_in_as_hand_geometry_has_it(tmp_path: Path) -> None:
    # Near .1 m, 70 degrees at 16:9: radius .1283. A wall 3 m behind: (3 - .1283) / cos 20 = 3.056 m,
    # of 5 m .611. What is drawn at the anchor is 5 / 3.056 = 1.636 times larger.
    yard(tmp_path, STUDY, ALLEY)
    done("sheet", "yard.study.toml", *BOTH, *SMALL, cwd=tmp_path)
    record = call("measure", "yard.study.toml", *BOTH, "--json", "-", cwd=tmp_path).record
    shown, pulled = (row["boom"] for row in record["rows"])
    for found in (shown, pulled):
        assert found["clear_m"] == pytest.approx(3.056, abs=5e-4)
        assert found["clear_share"] == pytest.approx(0.611, abs=5e-4)
        assert found["blocked_by"] == "wall-back"
    assert (shown["inside"], shown["pulled_to_m"]) == ("wall-back", None)
    assert (pulled["inside"], pulled["pulled_to_m"]) == (False, pulled["clear_m"])
    scales = [row["axes"]["x"]["px_per_m"] for row in record["rows"]]
    assert scales[1] / scales[0] == pytest.approx(1.636, abs=1e-3)
    assert [one["settings"]["distance_m"] for one in record["variants"]] == [5.0, 5.0]
    assert [row["framing"]["camera_inside"] for row in record["rows"]] == ["wall-back", None]
    ticket = (tmp_path / "yard.txt").read_text("utf-8")
    assert "A1: camera inside wall-back" in ticket
    assert "B1: pulled to 3.06 m" in ticket
    assert "stationpoint record" in read_png_texts(tmp_path / "yard.png")


def test_set_pulls_in_too_and_a_pane_that_does_not_pass_blocks_first(tmp_path: Path) -> None:
    yard(tmp_path, STUDY, ALLEY)
    words = ("--set", "camera.blocked=pull-in", "--set", "camera.passes=[]", "--only", "boom", "--json", "-")
    (row,) = done("measure", "yard.study.toml", *words, cwd=tmp_path).record["rows"]
    assert row["boom"]["blocked_by"] == "glass-1"
    assert row["boom"]["pulled_to_m"] == pytest.approx((2 - 0.1283) / 0.9397, abs=5e-4)


def test_a_clear_boom_is_not_pulled_and_a_parallel_view_has_none(tmp_path: Path) -> None:
    yard(tmp_path, STUDY, ALLEY)
    words = ("--set", "camera.blocked=pull-in", "--columns", "projection=perspective,orthographic")
    nearer = ("--set", "camera.distance_m=2.5", "--only", "boom", "--json", "-")
    first, second = done("measure", "yard.study.toml", *words, *nearer, cwd=tmp_path).record["rows"]
    assert first["boom"]["clear_share"] == 1.0
    assert first["boom"]["pulled_to_m"] is None
    assert second["boom"] == {
        "clear_m": None, "clear_share": None, "blocked_by": None, "inside": None, "near_cuts": False,
        "pulled_to_m": None,
    }  # fmt: skip


def test_limits_bound_the_boom_and_say_so_in_words(tmp_path: Path) -> None:
    limits = """
[[limit]]
reading = "boom.clear_share"
min = 0.9

[[limit]]
reading = "boom.inside"
is = false

[[limit]]
reading = "boom.near_cuts"
is = false
"""
    yard(tmp_path, STUDY + limits, ALLEY)
    result = call("judge", "yard.study.toml", *BOTH, cwd=tmp_path)
    assert result.code == 1
    said = result.text + result.err
    assert "boom: clear share 61 %, needs 90 %" in said
    assert "camera: inside wall-back, must be false" in said


def test_what_passes_must_be_in_the_scene_and_blocked_is_one_of_two(tmp_path: Path) -> None:
    yard(tmp_path, STUDY, ALLEY)
    said = refused("measure", "yard.study.toml", "--set", 'camera.passes=["pane*"]', cwd=tmp_path)
    assert 'camera: passes: "pane*" matches no node of the scene.' in said
    said = refused("measure", "yard.study.toml", "--rows", "blocked=hide", cwd=tmp_path)
    assert '"show" or "pull-in"' in said
