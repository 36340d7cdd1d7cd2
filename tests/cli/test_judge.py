"""`judge` end to end: exit codes, what its lines name, and a hop at two tides by hand."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli_calls import call

RAYS = ("--renderer", "rays", "--quiet")

SCENE = """
[ground]
size = [60, 60]
height_m = -3.0

[[solid]]
name = "near deck"
shape = "box"
size = [3, 0.8, 6]
at = [4.2, 0, 0]

[[solid]]
name = "far deck"
shape = "box"
size = [3, 0.8, 6]
at = [4.2, 0, -10.1]
"""
STUDY = """
title = "Does the hop lie at any tide?"
scene = "tide.toml"
here = false

[subject]
name = "hopper"
at = [4.2, 0.8, -3.0]
height_m = 1.7

[[gap]]
name = "hop"
from = [4.2, 0.8, -3.0]
to = [4.2, 0.8, -7.1]
reach = [[-1, 3.6], [0, 3.4], [1, 2.6]]
landing = "far deck"

[[place]]
name = "high tide"
move = { "far deck" = [0, 1, 0] }

[[place]]
name = "low tide"
move = { "far deck" = [0, -1, 0] }

[camera]
focal_mm = 35
distance_m = 8
pitch_deg = 20
aspect = "16:9"

[[viewing]]
name = "couch"
diagonal_in = 55
pixels = [1920, 1080]
eye_distance_m = 2.7

[[limit]]
reading = "gaps.*.verdict"
not = "lies"
why = "nobody may be sure of a jump that fails"
"""


@pytest.fixture
def tide(tmp_path: Path) -> Path:
    (tmp_path / "tide.toml").write_text(SCENE, "utf-8")
    (tmp_path / "tide.study.toml").write_text(STUDY, "utf-8")
    return tmp_path


def test_low_tide_lies_and_the_line_names_variant_place_gap_and_limit(tide: Path) -> None:
    done = call("judge", "tide.study.toml", *RAYS, "--json", "tide.json", cwd=tide)
    assert done.code == 1
    line = next(line for line in done.text.splitlines() if "fails" in line)
    for words in ("A1", "low tide", "hop", "lies", "gaps.hop.verdict", "nobody may be sure"):
        assert words in line
    assert "high tide" not in line
    # By hand: z = 8 + 4.1 cos 20 -+ sin 20, up = 4.1 sin 20 +- cos 20; flat = 8 up / z; ground is where
    # the ray through the landing meets the deck's level.
    rows = {row["place"]: row["gaps"]["hop"] for row in json.loads((tide / "tide.json").read_text())["rows"]}
    high, low = rows["high tide"], rows["low tide"]
    assert (high["flat_span_m"], high["ground_span_m"]) == pytest.approx((1.628, 10.79), rel=5e-3)
    assert (low["flat_span_m"], low["ground_span_m"]) == pytest.approx((0.303, 0.991), rel=5e-3)
    assert (high["reach_m"], low["reach_m"], high["reach_level_m"]) == (2.6, 3.6, 3.4)
    assert (high["verdict"], low["verdict"]) == ("needs a cue", "lies")
    assert (high["reachable"], low["reachable"]) == (False, False)


def test_a_drop_marker_that_the_game_ships_turns_the_lie_into_a_need(tide: Path) -> None:
    words = ("--set", 'aids=["drop-marker"]', "--json", "tide.json")
    done = call("judge", "tide.study.toml", *RAYS, *words, cwd=tide)
    assert done.code == 0, done.text
    rows = json.loads((tide / "tide.json").read_text())["rows"]
    assert {row["gaps"]["hop"]["verdict"] for row in rows} == {"needs a cue"}
    assert done.text.endswith("Camera A1 holds at 2 places.\n1 of 1 camera holds.\n")


def test_a_camera_that_holds_at_one_of_two_places_does_not_hold(tide: Path) -> None:
    sweep = ("--columns", "place=high tide,low tide", *RAYS)
    told = call("judge", "tide.study.toml", *sweep, cwd=tide)
    assert told.code == 1
    assert told.text.endswith("Camera A fails at 1 of 2 places, worst: low tide.\n0 of 1 camera holds.\n")
    assert call("judge", "tide.study.toml", *sweep, "--variant", "A1", cwd=tide).code == 0
    assert call("judge", "tide.study.toml", *sweep, "--variant", "A2", cwd=tide).code == 1


def test_a_study_without_limits_has_nothing_to_judge_by(tide: Path) -> None:
    plain = STUDY.partition("[[limit]]")[0]
    (tide / "plain.study.toml").write_text(plain, "utf-8")
    done = call("judge", "plain.study.toml", *RAYS, cwd=tide)
    assert done.code == 2
    assert "has no [[limit]]" in done.err


PHONE = """
[[viewing]]
name = "phone"
diagonal_in = 6
pixels = [2400, 1080]
eye_distance_m = 0.3
"""


def test_one_failure_is_told_once_however_many_viewings_see_it(tide: Path) -> None:
    # 4.1 m is no viewing's own; the phone's picture of 20:9 is a row of its own
    limit = '[[limit]]\nreading = "gaps.hop.level_span_m"\nmax = 3\nplace = "high tide"\n'
    (tide / "two.study.toml").write_text(STUDY.partition("[[limit]]")[0] + PHONE + limit, "utf-8")
    done = call("judge", "two.study.toml", *RAYS, cwd=tide)
    assert done.text.splitlines() == [
        "A1 fails: hop: level span 4.1 m, at most 3 m (high tide) [gaps.hop.level_span_m].",
        "Camera A1 fails at 2 of 4 places × seats, worst: high tide.",
        "0 of 1 camera holds.",
    ]


def test_failures_that_differ_by_the_picture_name_its_viewing(tide: Path) -> None:
    limit = '[[limit]]\nreading = "viewing.*.hfov_deg"\nmin = 90\nplace = "high tide"\n'
    (tide / "two.study.toml").write_text(STUDY.partition("[[limit]]")[0] + PHONE + limit, "utf-8")
    lines = call("judge", "two.study.toml", *RAYS, cwd=tide).text.splitlines()
    # 2 atan(18 / 35) = 54.4 deg; 20:9 of the same height: 2 atan(18 / 35 x 20 / 16) = 65.5 deg
    assert lines[:2] == [
        "A1 fails: couch: horizontal angle of view 54.4°, needs 90° (high tide) [viewing.couch.hfov_deg].",
        "A1 fails: phone: horizontal angle of view 65.5°, needs 90° (high tide) [viewing.phone.hfov_deg].",
    ]


def test_no_must_about_the_variants_that_are_judged_is_an_error(tide: Path) -> None:
    limit = 'place = "low tide"\n'
    may_hide = STUDY.replace("height_m = 1.7", "height_m = 1.7\nmay_hide = true")
    (tide / "low.study.toml").write_text(may_hide + limit, "utf-8")
    sweep = ("--columns", "place=high tide,low tide", *RAYS)
    assert call("judge", "low.study.toml", *sweep, "--variant", "A2", cwd=tide).code == 1
    high = call("judge", "low.study.toml", *sweep, "--variant", "A1", cwd=tide)
    assert high.code == 2
    assert "No must is about the places and viewings of these variants" in high.err
    assert high.text == ""


def test_a_bound_that_every_value_meets_is_told(tide: Path) -> None:
    limit = '[[limit]]\nreading = "gaps.*.landing_seen"\nmin = 0\n'
    (tide / "idle.study.toml").write_text(STUDY.partition("[[limit]]")[0] + limit, "utf-8")
    words = "every share is at least 0, so min = 0 holds whatever is measured"
    assert words in call("judge", "idle.study.toml", *RAYS, cwd=tide).err
    assert words in call("check", "idle.study.toml", cwd=tide).text
