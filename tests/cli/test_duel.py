"""A duel in a glasshouse: limbs that a short lens draws too unlike, from the command line."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from cli_calls import call

RAYS = ("--renderer", "rays", "--quiet")

SCENE = """
[ground]
size = [40, 40]
"""
STUDY = """
title = "Which lens keeps the fencer's limbs alike?"
scene = "glasshouse.toml"

[subject]
name = "fencer"
at = [0, 0, 0]
height_m = 1.8
part = [{ name = "hand", at = [0, 1.2, -0.6] }, { name = "heel", at = [0, 0, 0.6] }]

[camera]
focal_mm = 24
distance_m = 3.2
pitch_deg = 0
anchor_height_m = 0.9
aspect = "16:9"

[[limit]]
reading = "framing.limb_spread"
max = 1.2
why = "limbs of one body must look alike"
"""
BOTH = """
scene = "glasshouse.toml"

[[subject]]
name = "fencer"
at = [-2, 0, 0]
height_m = 1.8
shape = "capsule"
part = [{ name = "hand", at = [0, 1.2, -0.6] }, { name = "heel", at = [0, 0, 0.6] }]

[[subject]]
name = "fencer two"
at = [2, 0, 0]
height_m = 1.8
shape = "capsule"
part = [{ name = "hand", at = [0, 1.2, -0.6] }, { name = "heel", at = [0, 0, 0.6] }]

[camera]
focal_mm = 50
pitch_deg = 0
margin_m = 0.5
aspect = "16:9"

[sweep]
hold = "all-in-frame"

[[limit]]
reading = "subjects.*.seen"
min = 0.9
"""
LENSES = ("--columns", "focal_mm=24,35,50,85", "--hold", "subject-scale")


@pytest.fixture
def duel(tmp_path: Path) -> Path:
    (tmp_path / "glasshouse.toml").write_text(SCENE)
    study = tmp_path / "duel.toml"
    study.write_text(STUDY)
    return study


def test_short_lenses_fail_by_limbs_at_the_same_scale(duel: Path, tmp_path: Path) -> None:
    # 3.2 m x f / 24 mm: 3.2, 4.6667, 6.6667, 11.3333 m; limbs 0.6 m before and behind: (d + .6) / (d - .6)
    to = tmp_path / "record.json"
    sheet = tmp_path / "duel.png"
    done = call("sheet", duel, *LENSES, *RAYS, "-o", sheet, "--json", to, cwd=tmp_path)
    assert done.code == 0, done.err
    record = json.loads(to.read_text("utf-8"))
    distances = [variant["settings"]["distance_m"] for variant in record["variants"]]
    assert distances == pytest.approx([3.2, 4.66667, 6.66667, 11.33333], abs=1e-4)
    spread = [row["framing"]["limb_spread"] for row in record["rows"]]
    assert spread == pytest.approx([1.462, 1.295, 1.198, 1.112], abs=5e-4)
    assert [verdict["holds"] for verdict in record["verdicts"]] == [False, False, True, True]


def test_the_brief_is_told_in_words(duel: Path) -> None:
    done = call("judge", duel, *LENSES, *RAYS, cwd=duel.parent)
    assert done.code == 0, done.err
    assert "limb spread 1.46, at most 1.2" in done.text
    assert "limb spread 1.3, at most 1.2" in done.text


def test_both_fencers_are_held_in_frame(duel: Path) -> None:
    # 4 m apart and 0.5 m of margin either side: 5 m in 93 % of the 0.72 m that 50 mm see across at 1 m.
    # 1.8 m there: 1.8 x 50 / 36 x 1920 / 7.467 px; limbs 0.6 m before and behind: 8.067 / 6.867
    duel.write_text(BOTH)
    done = call("measure", duel, *RAYS, "--json", "-", cwd=duel.parent)
    assert done.code == 0, done.err
    (variant,), (row,) = done.record["variants"], done.record["rows"]
    assert variant["settings"]["distance_m"] == pytest.approx(7.467, abs=5e-4)
    assert row["framing"]["limb_spread"] == pytest.approx(1.175, abs=5e-4)
    assert list(row["subjects"]) == ["fencer", "fencer two"]
    for name in ("fencer", "fencer two"):
        assert row["subjects"][name]["seen"] == 1.0
        assert row["subjects"][name]["action_safe"] == 1.0
    assert row["subject"] == row["subjects"]["fencer"]
    # the axis itself, of a capsule 0.5 m deep, would be 642.8 px: its round ends are drawn a little higher
    assert row["subject"]["size_px"]["desk"][1] == pytest.approx(642.8, rel=0.01)


def test_a_place_moves_a_further_subject_by_its_name(duel: Path) -> None:
    # 3 m apart the height binds: 1.8 m and twice 0.5 m in 93 % of 9 / 16 of 0.72 m
    closer = '[[place]]\nname = "closer"\nmove = { "fencer two" = [-1, 0, 0] }\n'
    duel.write_text(BOTH + closer)
    done = call("measure", duel, *RAYS, "--place", "closer", "--json", "-", cwd=duel.parent)
    assert done.code == 0, done.err
    (row,) = done.record["rows"]
    depth = row["subjects"]["fencer two"]["depth_m"]
    assert depth == pytest.approx(2.8 / (0.93 * 0.72 * 9 / 16), abs=1e-4)
    assert depth == pytest.approx(row["subjects"]["fencer"]["depth_m"])


def test_a_limit_on_all_subjects_counts_each(duel: Path) -> None:
    duel.write_text(BOTH)
    done = call("judge", duel, *RAYS, cwd=duel.parent)
    assert done.code == 0, done.err
    near = (*RAYS, "--hold", "nothing", "--set", "camera.distance_m=3")
    done = call("judge", duel, *near, cwd=duel.parent)
    assert done.code == 1, done.text
    assert "fencer two: seen" in done.text or "fencer: seen" in done.text


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"fencer two"', '"fencer"', '2 entries of [[subject]] are named "fencer"; give each its own name.'),
        ("at = [2, 0, 0]\n", "", 'subject "fencer two": needs at or node, to say where it stands.'),
        ("at = [2, 0, 0]", "att = [2, 0, 0]", 'further subject "fencer two": `att` is not a key'),
        ("margin_m = 0.5", "first_person = true", "first_person = true is for one subject"),
    ],
)
def test_subjects_that_cannot_be_are_refused(duel: Path, old: str, new: str, says: str) -> None:
    duel.write_text(BOTH.replace(old, new))
    done = call("check", duel, cwd=duel.parent)
    assert done.code == 2
    assert says in done.err


def test_two_parts_of_one_name_are_refused(duel: Path) -> None:
    duel.write_text(STUDY.replace('"heel"', '"hand"'))
    done = call("check", duel, cwd=duel.parent)
    assert done.code == 2
    assert '2 entries of [[subject.part]] are named "hand"; give each its own name.' in done.err


def test_further_subject_that_is_hidden_is_told_on_the_picture_as_the_first_one_is(tmp_path: Path) -> None:
    # The eye stands 8 m before both, 0.9 m up; the bookcase's front 5.9 m before it, its top at 1.3794 m: its
    # line meets the second fencer at 0.9 + 0.4794 x 8 / 5.9 = 1.55 m, where the capsule's upper half sphere
    # begins. Hidden is all below: 1 - (pi 0.25^2 / 2) / (0.5 x 1.3 + pi 0.25^2) = 88.4 %.
    bookcase = """
[[solid]]
name = "bookcase"
shape = "box"
size = [1, 1.3794, 0.2]
at = [1.5, 0, 2]
"""
    far = BOTH.partition("margin_m")[0].replace("focal_mm = 50", "focal_mm = 35\ndistance_m = 8")
    far += "anchor_height_m = 0.9\n"
    (tmp_path / "glasshouse.toml").write_text(SCENE + bookcase, "utf-8")
    (tmp_path / "two.study.toml").write_text(far, "utf-8")
    first = far.replace("at = [-2, 0, 0]", "at = [9, 0, 0]").replace("at = [2, 0, 0]", "at = [-2, 0, 0]")
    first = first.replace("at = [9, 0, 0]", "at = [2, 0, 0]")
    (tmp_path / "one.study.toml").write_text(first, "utf-8")
    for name, who in (("two", "fencer two"), ("one", "fencer")):
        made = call("sheet", f"{name}.study.toml", *RAYS, "-o", f"{name}.svg", cwd=tmp_path)
        assert made.code == 0, made.err
        told = re.findall(r">([^<]*% hidden[^<]*)<", (tmp_path / f"{name}.svg").read_text("utf-8"))
        assert len(told) == 1, told
        assert re.fullmatch(rf"{who} (88|89) % hidden by bookcase", told[0]), told
