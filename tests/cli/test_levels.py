"""Ten made levels under one camera: rows, exit codes, what is kept of them, and their sheet."""

from __future__ import annotations

import json
import re
import time
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest
from PIL import Image

from cli_calls import call, listing, refused
from stationpoint.cli.actions import levels
from stationpoint.cli.actions import work as action
from stationpoint.record import read_kept_texts

RAYS = ("--renderer", "rays", "--quiet")
# The crate stands 6 m away, seen level with its middle: with a wall of `high` m of 2 m before it, the share
# of it that is hidden goes by `high` alone, so that levels with higher walls are worse.
SCENE = """
[[solid]]
name = "crate"
shape = "box"
size = [2, 2, 0.2]
at = [0, 0, 0]

[[solid]]
name = "wall"
shape = "box"
size = [4, {high}, 0.002]
at = [0, 0, 0.102]
"""
STUDY = """
title = "Is the crate seen on every level?"
include = "brief.toml"
scene = "{name}.toml"
"""
BRIEF = """
[[target]]
name = "crate"
node = "crate"

[[limit]]
reading = "targets.crate.seen"
min = 0.5
why = "a crate is cover"
"""
CAMERA = """
[camera]
projection = "orthographic"
view_height_m = 4
distance_m = 6
pitch_deg = 0
"""
HIGH_M = {f"level-{k}": 0.2 * k - 0.05 for k in range(1, 10)}  # level-0 is broken


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "brief.toml").write_text(BRIEF, "utf-8")
    (tmp_path / "follow.camera.toml").write_text(CAMERA, "utf-8")
    for name, high in HIGH_M.items():
        (tmp_path / f"{name}.toml").write_text(SCENE.format(high=high), "utf-8")
        (tmp_path / f"{name}.study.toml").write_text(STUDY.format(name=name), "utf-8")
    (tmp_path / "level-0.study.toml").write_text(STUDY.format(name="gone"), "utf-8")
    return tmp_path


def judge(folder: Path, *more: str, which: str = "level-*.study.toml") -> tuple[int, list[str], str]:
    files = sorted(path.name for path in folder.glob(which))
    result = call("judge", *files, "--camera", "follow.camera.toml", *RAYS, *more, cwd=folder)
    return result.code, result.text.splitlines(), result.err


def draws() -> object:
    """Counts how often a study is swept."""
    return patch.object(action, "sweep_batches", wraps=action.sweep_batches)


def test_one_row_a_study_worst_first_and_a_broken_one_stops_none(folder: Path) -> None:
    code, lines, _ = judge(folder, "--json", "all.json")
    assert code == 2
    names = [line.split()[0] for line in lines[:-1]]
    # the broken one; then those whose wall hides most; behind 0.95 m more than half of 2 m is seen
    assert names == ["level-0", *(f"level-{k}" for k in range(9, 0, -1))]
    assert lines[0].startswith('level-0 could not be judged: the study\'s scene = "gone.toml" was not found')
    assert [line.split()[1].rstrip(",;") for line in lines[1:-1]] == ["fails"] * 4 + ["holds"] * 5
    assert lines[-1] == "5 of 10 studies hold; 1 could not be judged."
    told = json.loads((folder / "all.json").read_text("utf-8"))["studies"]
    assert [one["name"] for one in told] == names
    for one in told[1:]:
        # the margin is (seen - min) / min, seen = 1 - high / 2, to a row of the 153 that the crate takes
        assert one["score"] == pytest.approx((1 - HIGH_M[one["name"]] / 2 - 0.5) / 0.5, abs=0.02)
    assert told[1]["reading"] == "targets.crate.seen"
    assert [one["holds"] for one in told] == [None] + [False] * 4 + [True] * 5


@pytest.mark.parametrize(("which", "code"), [("level-[1-4].study.toml", 0), ("level-[1-9].study.toml", 1)])
def test_the_exit_code_is_one_for_all(which: str, code: int, folder: Path) -> None:
    assert judge(folder, which=which)[0] == code


def test_a_level_that_has_not_changed_is_not_drawn_again(folder: Path) -> None:
    plain = judge(folder)
    with draws() as swept:
        first = judge(folder, "--cache", "kept")
        assert swept.call_count == 9
        second = judge(folder, "--cache", "kept")
        assert swept.call_count == 9
        assert plain == first == second
        (folder / "level-9.toml").write_text(SCENE.format(high=0.1), "utf-8")
        changed = judge(folder, "--cache", "kept")
        assert swept.call_count == 10
    assert changed[1][-1] == "6 of 10 studies hold; 1 could not be judged."
    assert changed[2] == ""
    assert len(list((folder / "kept").iterdir())) == 10


def test_a_level_that_changed_is_told_by_its_baseline_and_the_nine_others_come_from_the_cache(
    folder: Path,
) -> None:
    # ten sound levels and the broken one: the tenth has no wall to speak of, 0.01 m of 2 m is hidden
    (folder / "level-x.toml").write_text(SCENE.format(high=0.01), "utf-8")
    (folder / "level-x.study.toml").write_text(STUDY.format(name="level-x"), "utf-8")
    more = ("--baseline", "base", "--cache", "kept")
    assert "there is no such folder; make it with --accept" in judge(folder, *more)[2]
    with draws() as swept:
        first = judge(folder, *more, "--accept", "-o", "levels.png")
        assert (first[0], swept.call_count) == (2, 10)
        assert sorted(path.name for path in (folder / "base").iterdir()) == [
            *(f"level-{k}.json" for k in range(1, 10)),
            "level-x.json",
        ]
        accepted = listing(folder)
        again = judge(folder, *more, "--accept", "-o", "levels.png")
        assert (again, swept.call_count) == (first, 10)
        assert listing(folder) == accepted
        (folder / "level-x.toml").write_text(SCENE.format(high=0.8), "utf-8")
        code, lines, _ = judge(folder, *more, "--json", "all.json", "-o", "levels.png")
        assert swept.call_count == 11
    assert code == 2  # the broken one's
    # 0.8 m of 2 m is hidden: it still holds 0.5, with the least margin of those that hold but for level-4 and
    # level-5 (0.75 and 0.95 m); 0.995 and 0.6 of it, to a row of the 153, are 99 or 100 and 60 %
    worse = [line for line in lines if "Worse" in line]
    assert len(worse) == 1
    assert re.fullmatch(r"level-x: Worse: .*: crate seen (99|100) % -> 60 %, hidden by wall", worse[0])
    assert lines[-1] == "6 of 11 studies hold; 1 could not be judged; 1 got worse."
    told = {one["name"]: one for one in json.loads((folder / "all.json").read_text("utf-8"))["studies"]}
    assert [name for name, one in told.items() if one.get("worse")] == ["level-x"]
    assert told["level-1"]["worse"] == []
    (folder / "level-0.study.toml").unlink()
    for k in range(6, 10):  # those that fail
        (folder / f"level-{k}.study.toml").unlink()
    assert judge(folder, *more)[0] == 1  # all hold, one got worse
    assert judge(folder, *more, "--accept")[0] == 0
    assert judge(folder, *more)[0] == 0


def test_a_level_without_a_baseline_is_told_and_none_is_made_of_a_file(folder: Path) -> None:
    judge(folder, "--baseline", "base", "--accept", which="level-[12].study.toml")
    code, lines, err = judge(folder, "--baseline", "base", which="level-[123].study.toml")
    assert code == 0
    assert err.strip() == (
        "level-3: base/level-3.json is not there, so nothing is compared; make it with --accept."
    )
    assert lines[-1] == "3 of 3 studies hold."
    said = judge(folder, "--baseline", "base.json", "--accept", which="level-[12].study.toml")
    assert said[0] == 2
    assert said[2].strip() == ("--baseline: base.json is one file, and 2 studies are named; name a folder.")
    # what is kept with a baseline is read with more than what the brief bounds
    alone = judge(folder, "--baseline", "one.json", "--accept", "--cache", "kept", which="level-1.study.toml")
    assert alone[0] == 0
    assert (folder / "one.json").read_bytes() == (folder / "base" / "level-1.json").read_bytes()


@pytest.mark.parametrize(
    "more",
    [("--set", "limit.1.min=0.6"), ("--set", "camera.view_height_m=5"), ("--every",), ("--variant", "A1")],
)
def test_another_question_is_not_answered_from_the_cache(more: tuple[str, ...], folder: Path) -> None:
    judge(folder, "--cache", "kept", which="level-1.study.toml")
    with draws() as swept:
        judge(folder, "--cache", "kept", *more, which="level-1.study.toml")
    assert swept.call_count == 1


def test_another_version_is_not_answered_from_the_cache(folder: Path) -> None:
    judge(folder, "--cache", "kept", which="level-1.study.toml")
    with patch("stationpoint.run.cache.__version__", "0.0.1"), draws() as swept:
        judge(folder, "--cache", "kept", which="level-1.study.toml")
    assert swept.call_count == 1


@pytest.mark.parametrize("harm", ["cut", "changed", "another's", "empty"])
def test_a_kept_file_that_is_damaged_is_told_and_written_anew(harm: str, folder: Path) -> None:
    plain = judge(folder, "--cache", "kept", which="level-[12].study.toml")
    one, other = sorted((folder / "kept").iterdir())
    whole = one.read_bytes()
    texts = {
        "cut": whole[:-40],
        "changed": re.sub(rb'"holds": \w+', b'"holds": null', whole),
        "another's": other.read_bytes(),
        "empty": b"",
    }
    one.write_bytes(texts[harm])
    with draws() as swept:
        again = judge(folder, "--cache", "kept", which="level-[12].study.toml")
    assert swept.call_count == 1
    assert again[:2] == plain[:2]
    assert again[2].strip() == f"kept/{one.name} does not hold what its name says; it is written anew."
    assert one.read_bytes() == whole


def test_a_kept_record_reads_as_a_record(folder: Path) -> None:
    judge(folder, "--cache", "kept", which="level-1.study.toml")
    (kept,) = (folder / "kept").iterdir()
    call(
        *("measure", "level-1.study.toml", "--camera", "follow.camera.toml", "--only", "targets", *RAYS),
        *("--json", "one.json"),
        cwd=folder,
    )
    whole, measured = (json.loads(path.read_text("utf-8")) for path in (kept, folder / "one.json"))
    assert set(whole) - set(measured) == {"kept"}
    assert {key: whole[key] for key in measured} == measured


def test_a_second_call_is_ten_times_faster_where_drawing_takes_long(folder: Path) -> None:
    sweep = "pitch_deg=" + ",".join(str(k) for k in range(80))
    more = ("--rows", sweep, "--cache", "kept", "--workers", "1")
    taken = []
    for _ in range(2):
        before = time.process_time()
        judge(folder, *more, which="level-[1-3].study.toml")
        taken.append(time.process_time() - before)
    assert taken[1] < taken[0] / 10, taken


def test_the_sheet_has_a_row_a_study_and_carries_what_was_judged(folder: Path) -> None:
    code, lines, _ = judge(folder, "-o", "levels.png", "--cache", "kept")
    assert code == 2
    with Image.open(folder / "levels.png") as image:
        assert image.width == 1600
        pixels = np.asarray(image.convert("L"))
    text = read_kept_texts(folder / "levels.png")["stationpoint record"]
    assert [one["name"] for one in json.loads(text)["studies"]] == [line.split()[0] for line in lines[:-1]]
    assert len(np.unique(pixels)) > 50
    first = (folder / "levels.png").read_bytes()
    with draws() as swept, patch.object(levels, "worst_picture") as drawn:
        judge(folder, "-o", "levels.png", "--cache", "kept")
    assert (swept.call_count, drawn.call_count) == (0, 0)
    assert (folder / "levels.png").read_bytes() == first
    told = call("inspect", "levels.png", cwd=folder)
    assert (told.code, told.text.splitlines()[0]) == (
        0,
        "A sheet of 10 studies, judged by stationpoint 0.1.0.",
    )


def test_a_damaged_picture_is_drawn_anew(folder: Path) -> None:
    more = ("-o", "levels.png", "--cache", "kept")
    judge(folder, *more, which="level-[12].study.toml")
    before = listing(folder)
    picture = next((folder / "kept").glob("*.png"))
    picture.write_bytes(picture.read_bytes()[:-30])
    _, _, err = judge(folder, *more, which="level-[12].study.toml")
    assert err.strip() == f"kept/{picture.name} does not hold what its name says; it is written anew."
    assert listing(folder) == before


def test_one_study_alone_is_judged_as_ever(folder: Path) -> None:
    _, lines, _ = judge(folder, which="level-9.study.toml")
    assert lines[-1] == "0 of 1 variant holds."


def test_what_cannot_be_asked_is_refused(folder: Path) -> None:
    twice = call("judge", "level-1.study.toml", "level-1.study.toml", *RAYS, cwd=folder)
    assert (twice.code, twice.err.strip()) == (2, "level-1.study.toml is named twice; name each study once.")
    assert (
        judge(folder, "--cache", "brief.toml")[2].strip() == "--cache: brief.toml is a file; name a folder."
    )
    (folder / "follow.camera.toml").write_text(CAMERA + "[rig]\n", "utf-8")
    assert judge(folder, which="level-[12].study.toml")[2].count("[rig]") == 1
    (folder / "follow.camera.toml").write_text("[camera]\npitch = 3\n", "utf-8")
    code, lines, err = judge(folder)
    assert (code, lines, err.count("\n")) == (2, [], 1)
    assert err.startswith("follow.camera.toml: camera: `pitch` is not a key here")
    (folder / "follow.camera.toml").write_text(CAMERA, "utf-8")
    said = judge(folder, "-o", "level-1.toml")
    assert said[0] == 2
    assert "a sheet is a PNG, SVG or PDF" in said[2]


def test_one_study_alone_that_is_wrong_is_refused_and_nothing_is_drawn(folder: Path) -> None:
    for words in (("-o", "one.svg"), ("--every", "-o", ".")):
        assert ". is a folder; name a study" in refused(
            "judge", ".", *words, "--renderer", "rays", cwd=folder
        )
