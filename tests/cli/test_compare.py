"""`compare` end to end: a crate that moved, by hand geometry; what is silent, gone, new, refused."""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from junitparser import Failure, JUnitXml
from PIL import Image

from cli_calls import STUDY as YARD
from cli_calls import call, done, refused, yard
from pier import LINE, SCENE, STUDY, pier

RAYS = ("--renderer", "rays", "--quiet")
STUDIES = ("pier.study.toml", *RAYS)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Records of the pier: before the crate moved, after, and with another lens in the sweep."""
    folder = tmp_path_factory.mktemp("kept")
    records = {}
    sweeps = {"before": (0.0, ()), "now": (0.62, ()), "lens": (0.0, ("--columns", "focal_mm=24,28"))}
    for name, (x, words) in sweeps.items():
        pier(folder, x)
        records[name] = done("measure", *STUDIES, *words, "--json", "-", cwd=folder).text
    return records


@pytest.fixture
def folder(tmp_path: Path, kept: dict[str, str]) -> Path:
    for name, text in kept.items():
        (tmp_path / f"{name}.json").write_text(text, "utf-8")
    pier(tmp_path)
    return tmp_path


def test_a_crate_that_moved_is_told_by_settings_place_target_and_what_hides_it(folder: Path) -> None:
    seen = [
        [row["targets"]["crate"]["seen"] for row in json.loads((folder / f"{name}.json").read_text())["rows"]]
        for name in ("before", "now")
    ]
    # by hand in tests/pier.py, within two columns of pixels on the crate (its quantum)
    assert seen[0] == pytest.approx([0.92, 0.92], abs=0.02)
    assert seen[1] == pytest.approx([0.61, 0.61], abs=0.02)
    found = call("compare", "before.json", "now.json", "--json", "changes.json", cwd=folder)
    assert found.code == 1
    assert LINE in found.text.splitlines()
    data = json.loads((folder / "changes.json").read_text())
    assert (data["gone"], data["new"]) == ([], [])
    # what the brief bounds comes first, then all else that moved with the crate, and nothing but that
    readings = [change["reading"] for change in data["changed"]]
    assert readings[:2] == ["targets.crate.seen"] * 2
    assert "targets.crate.screen_xy" in readings[2:]
    assert "targets.crate.depth_m" not in readings  # it moved across alone
    change = data["changed"][1]
    assert (change["place"], change["reading"]) == ("high tide", "targets.crate.seen")
    assert (change["before"], change["after"]) == (seen[0][1], seen[1][1])
    assert change["hidden_by"]["name"] == "barge-2"
    assert change["settings"] == "24 mm in perspective"


def test_a_record_and_a_study_are_compared_as_two_records_are(folder: Path) -> None:
    pier(folder, 0.62)
    found = call("compare", "before.json", *STUDIES, "--all", cwd=folder)
    assert (found.code, found.text) == (1, call("compare", "before.json", "now.json", cwd=folder).text)
    # of a study, whose brief is known, only what that bounds and what is always compared
    bounded = call("compare", "before.json", *STUDIES, cwd=folder)
    assert bounded.text.splitlines() == found.text.splitlines()[:2]


def test_two_builds_of_a_level_are_measured_by_one_study(folder: Path) -> None:
    (folder / "old.toml").write_text(SCENE.format(x=0.0), "utf-8")
    (folder / "new.toml").write_text(SCENE.format(x=0.62), "utf-8")
    found = call("compare", "old.toml", "new.toml", "--study", *STUDIES, cwd=folder)
    assert found.code == 1
    assert LINE in found.text.splitlines()


def test_what_changed_is_drawn_before_after_and_where_they_differ(folder: Path) -> None:
    (folder / "old.toml").write_text(SCENE.format(x=0.0), "utf-8")
    (folder / "new.toml").write_text(SCENE.format(x=0.62), "utf-8")
    words = ("--study", *STUDIES, "--cell-width", "320", "-o", "changes.png")
    assert call("compare", "old.toml", "new.toml", *words, cwd=folder).code == 1
    first = (folder / "changes.png").read_bytes()
    with Image.open(folder / "changes.png") as image:
        assert image.size[0] == 3 * 320 + 2 * 24 + 2 * 34
        page = np.asarray(image.convert("RGB")).astype(int)
    # the crate is ochre: red well above blue. 24 mm: F = 320 x 24 / 36 = 213.3 px, so that its face of 2 m at
    # 10 m is 42.7 px wide; seen are 0.92 and 0.61 of it, in a square, at the last row of pictures
    ochre = (page[..., 0] - page[..., 2]) > 60
    lefts = (34, 34 + 344, 34 + 688)
    half = page.shape[0] // 2
    seen = [ochre[half:, left : left + 320].any(axis=0).sum() for left in lefts[:2]]
    assert seen == pytest.approx([0.92 * 42.67, 0.61 * 42.67], abs=1.5)
    again = call("compare", "old.toml", "new.toml", *words, cwd=folder)
    assert again.code == 1
    assert (folder / "changes.png").read_bytes() == first
    assert call("compare", "changes.png", "now.json", cwd=folder).code == 0  # it carries the later record


def test_what_changed_is_drawn_as_svg_and_pdf_that_keep_the_later_record(folder: Path) -> None:
    (folder / "old.toml").write_text(SCENE.format(x=0.0), "utf-8")
    (folder / "new.toml").write_text(SCENE.format(x=0.62), "utf-8")
    words = ("--study", *STUDIES, "--cell-width", "320")
    for name, begins in (("changes.svg", b"<?xml"), ("changes.pdf", b"%PDF-"), ("changes.png", b"\x89PNG")):
        assert call("compare", "old.toml", "new.toml", *words, "-o", name, cwd=folder).code == 1
        assert (folder / name).read_bytes().startswith(begins)
        found = call("compare", name, "changes.svg", cwd=folder)
        assert (found.code, found.out, found.err) == (0, b"", "")
        assert call("compare", "before.json", name, cwd=folder).code == 1
    root = ElementTree.parse(folder / "changes.svg").getroot()
    assert root.get("width") == str(3 * 320 + 2 * 24 + 2 * 34)
    said = refused("compare", "old.toml", "new.toml", *words, "-o", "changes.jpg", cwd=folder)
    assert "PNG, SVG or PDF" in said


def test_of_a_record_only_the_places_that_a_call_keeps_are_compared(folder: Path) -> None:
    low = '[[place]]\nname = "low tide"\nmove = { "barge-2" = [0, -0.2, 0] }\n\n[camera]'
    for x, name in ((0.0, "both.json"), (0.62, "later.json")):
        pier(folder, x, STUDY.replace("[camera]", low))
        done("measure", *STUDIES, "--columns", "focal_mm=24", "--json", name, cwd=folder)
    words = (*STUDIES, "--columns", "focal_mm=24", "--place", "high tide")
    same = call("compare", "later.json", *words, cwd=folder)
    assert (same.code, same.out, same.err) == (0, b"", "")
    found = call("compare", "both.json", *words, cwd=folder)
    assert (found.code, found.text.splitlines()) == (1, [LINE])


def test_no_sheet_is_drawn_of_records_nor_where_nothing_changed(folder: Path) -> None:
    assert "no pictures" in refused("compare", "before.json", "now.json", "-o", "x.png", cwd=folder)
    assert "-o" in refused("compare", "before.json", "now.json", "--cell-width", "320", cwd=folder)
    same = call("compare", "pier.study.toml", *STUDIES, "-o", "x.png", cwd=folder)
    assert (same.code, same.out) == (0, b"")
    assert not (folder / "x.png").exists()


def test_a_sheet_of_changes_has_what_is_gone_and_what_is_new(folder: Path) -> None:
    (folder / "two.study.toml").write_text(STUDY.replace("[20, 24]", "[24, 28]"), "utf-8")
    words = ("--cell-width", "320", "-o", "changes.png")
    found = call("compare", "pier.study.toml", "two.study.toml", *RAYS, *words, cwd=folder)
    assert found.code == 1
    assert found.text.splitlines() == ["20 mm in perspective: gone", "28 mm in perspective: new"]
    assert (folder / "changes.png").stat().st_size > 0


def crate_px(away_m: float) -> float:
    """How wide the yard's crate is drawn by 35 mm in a cell of 320 px, level with it and so far from the
    hopper: F = 320 x 35 / 36 px; its box is from 1.5 to 2.5 m across, its front 0.5 m before its middle; one
    sees from its back's left edge to its front's right one."""
    return 320 * 35 / 36 * (2.5 / (away_m + 1.5) - 1.5 / (away_m + 2.5))


def moved_yard(folder: Path, study: str = "") -> tuple[str, ...]:
    """A yard whose crate moves a metre away, at three distances that players may have; the call for it."""
    level = YARD.replace("distance_m = 8", "distance_m = 8\npitch_deg = 0").partition("[sweep]")[0]
    yard(folder, f"{level}\n[options]\ndistance_m = [4, 14]\n{study}")
    farther = (folder / "yard.toml").read_text("utf-8").replace("[2, 0, -2]", "[2, 0, -3]")
    (folder / "far.toml").write_text(farther, "utf-8")
    drawn = ("--cell-width", "320", "-o", "far.png")
    return ("compare", "yard.toml", "far.toml", "--study", "yard.study.toml", *RAYS, *drawn)


def crates_px(path: Path, rows: int) -> list[list[int]]:
    """Row by row of a sheet, how wide the crate is before and after."""
    with Image.open(path) as image:
        page = np.asarray(image.convert("RGB")).astype(int)
    ochre = (page[..., 0] - page[..., 2]) > 60
    bands = np.array_split(ochre, rows)
    return [[int(band[:, left : left + 320].any(axis=0).sum()) for left in (34, 378)] for band in bands]


def test_each_setting_of_players_is_drawn_with_what_changed_there(tmp_path: Path) -> None:
    words = moved_yard(tmp_path)
    found = call(*words, "--reading", "targets.crate.depth_m", cwd=tmp_path)
    assert (found.code, found.err) == (1, "")
    # the crate's middle is 2 m, and then 3 m, behind the hopper
    assert found.text.splitlines() == [
        "35 mm in perspective, here: crate depth 10.0 m -> 11.0 m",
        "35 mm in perspective, here, distance_m=4: crate depth 6.0 m -> 7.0 m",
        "35 mm in perspective, here, distance_m=14: crate depth 16.0 m -> 17.0 m",
    ]
    for row, away_m in zip(crates_px(tmp_path / "far.png", 3), (8, 4, 14), strict=True):
        assert row == pytest.approx([crate_px(away_m), crate_px(away_m + 1)], abs=2)


def test_a_verdict_that_falls_by_a_setting_of_players_is_drawn_there(tmp_path: Path) -> None:
    words = moved_yard(tmp_path, '[[limit]]\nreading = "targets.crate.depth_m"\nmax = 16.5\n')
    found = call(*words, "--tolerance", "targets.crate.depth_m=0.5", cwd=tmp_path)
    assert (found.code, found.err) == (1, "")
    assert found.text == "35 mm in perspective: holds -> fails, by crate depth, here, distance_m=14\n"
    (row,) = crates_px(tmp_path / "far.png", 1)
    assert row == pytest.approx([crate_px(14), crate_px(15)], abs=2)


def test_what_is_unchanged_is_silent_and_measured_in_the_same_bytes(folder: Path) -> None:
    again = done("measure", *STUDIES, "--json", "-", cwd=folder)
    assert again.out == (folder / "before.json").read_bytes()
    for words in (("before.json", "before.json"), ("before.json", "pier.study.toml", *RAYS)):
        for more in ((), ("--all",)):
            found = call("compare", *words, *more, cwd=folder)
            assert (found.code, found.out, found.err) == (0, b"", "")


def test_a_record_is_the_same_after_a_way_through_every_format_of_a_sheet(folder: Path) -> None:
    small = ("--renderer", "rays", "--cell-width", "320", "--alone", "--quiet")
    files = ["before.json"]
    for ending in (".png", ".svg", ".pdf"):
        done("sheet", "pier.study.toml", *small, "-o", f"pier{ending}", cwd=folder)
        done("inspect", f"pier{ending}", "--json", f"again{ending}.json", "--quiet", cwd=folder)
        assert (folder / f"again{ending}.json").read_bytes() == (folder / "before.json").read_bytes()
        files += [f"pier{ending}", f"again{ending}.json"]
    for one, other in product(files, files):
        found = call("compare", one, other, cwd=folder)
        assert (found.code, found.out, found.err) == (0, b"", ""), (one, other)
    for name in files[1:]:
        assert call("compare", name, "now.json", cwd=folder).code == 1


def test_a_table_is_no_record(folder: Path) -> None:
    done("measure", *STUDIES, "--csv", "pier.csv", cwd=folder)
    said = refused("compare", "pier.csv", "before.json", cwd=folder)
    assert "pier.csv is nothing that can be compared" in said


def test_two_records_are_compared_in_all_that_both_hold(folder: Path) -> None:
    whole = json.loads((folder / "before.json").read_text())
    # 5 % of a size that no verdict names and the brief does not bound
    whole["rows"][0]["targets"]["crate"]["size_px"]["desk"][0] *= 1.05
    (folder / "larger.json").write_text(json.dumps(whole), "utf-8")
    found = call("compare", "before.json", "larger.json", cwd=folder)
    assert found.code == 1
    (line,) = found.text.splitlines()
    assert line.startswith("20 mm in perspective, at high tide: crate size")
    wider = ("--tolerance", "targets.*.size_px.*=0.06")
    assert call("compare", "before.json", "larger.json", *wider, cwd=folder).out == b""
    # what one of the two has not measured is passed over
    done("measure", *STUDIES, "--only", "targets", "--json", "less.json", cwd=folder)
    less = call("compare", "before.json", "less.json", cwd=folder)
    assert (less.code, less.out) == (0, b"")
    assert less.err.startswith("Only one of the two has readings of ")


def test_studies_are_changed_from_the_command_line_as_in_the_other_commands(folder: Path) -> None:
    pier(folder)
    (folder / "moved.study.toml").write_text(STUDY.replace("pier.toml", "moved.toml"), "utf-8")
    (folder / "moved.toml").write_text(SCENE.format(x=0.62), "utf-8")
    two = ("compare", "pier.study.toml", "moved.study.toml", *RAYS)
    assert len(call(*two, cwd=folder).text.splitlines()) == 2
    found = call(*two, "--columns", "focal_mm=24", "--place", "high tide", cwd=folder)
    assert (found.code, found.text.splitlines()) == (1, [LINE])
    # from x = -5 the barge hides what is right of -5 + 2 x 5.42 = 5.84 on the crate's face: nothing of it
    assert call(*two, "--set", "subject.at=[-5, 0, 0]", cwd=folder).out == b""
    down = call(*two, "--rows", "pitch_deg=0,2", "--columns", "", cwd=folder)
    assert len(down.text.splitlines()) == 2
    assert "pitch" in down.text
    (folder / "old.toml").write_text(SCENE.format(x=0.0), "utf-8")
    builds = ("compare", "old.toml", "moved.toml", "--study", *STUDIES, "--columns", "focal_mm=24")
    assert call(*builds, cwd=folder).text.splitlines() == [LINE]
    for words in (("--set", "camera.pitch_deg=3"), ("--rows", "pitch_deg=1,2"), ("--place", "high tide")):
        said = refused("compare", "before.json", "now.json", *words, cwd=folder)
        assert said.startswith(f"{words[0]} changes a study, and before.json and now.json are records")


def test_a_wider_tolerance_lets_the_crate_move(folder: Path) -> None:
    words = ("compare", "before.json", "now.json", "--reading", "targets.*.seen", "--tolerance")
    assert call(*words, "targets.*.seen=0.4", cwd=folder).code == 0
    assert call(*words, "targets.*.seen=0.2", cwd=folder).code == 1
    assert "--tolerance" in refused(*words, "targets.*.seen", cwd=folder)
    assert "targets.crate.seen" in refused(*words, "targets.crate.sene=0.1", cwd=folder)


def test_only_the_readings_that_are_named_are_compared(folder: Path) -> None:
    words = ("compare", "before.json", "now.json")
    found = call(*words, "--reading", "targets.*.screen_xy", cwd=folder)
    assert found.code == 1
    assert "screen" in found.text
    assert "seen" not in found.text
    # its size stays: 1 % of a size is allowed, and the crate moved across alone
    assert call(*words, "--reading", "targets.*.size_px", cwd=folder).code == 0
    assert "did you mean targets.crate.seen" in refused(*words, "--reading", "targets.crate.sen", cwd=folder)


def test_a_variant_gone_is_a_change_and_a_new_one_is_told(folder: Path) -> None:
    found = call("compare", "before.json", "lens.json", cwd=folder)
    assert found.code == 1
    assert found.text.splitlines() == ["20 mm in perspective: gone", "28 mm in perspective: new"]
    whole = json.loads((folder / "before.json").read_text())
    whole["variants"].pop()
    whole["rows"].pop()
    whole["verdicts"].pop()
    (folder / "less.json").write_text(json.dumps(whole), "utf-8")
    more = call("compare", "less.json", "before.json", cwd=folder)
    assert (more.code, more.text) == (0, "24 mm in perspective: new\n")


def test_a_place_that_is_gone_is_a_change(folder: Path) -> None:
    whole = json.loads((folder / "before.json").read_text())
    whole["rows"][1]["place"] = "low tide"
    (folder / "low.json").write_text(json.dumps(whole), "utf-8")
    found = call("compare", "before.json", "low.json", cwd=folder)
    assert found.code == 1
    assert found.text.splitlines() == [
        "24 mm in perspective, at high tide: gone",
        "24 mm in perspective, at low tide: new",
    ]


def test_a_verdict_that_falls_says_by_what(folder: Path) -> None:
    strict = STUDY.replace("min = 0.5", "min = 0.8")
    for name, x in (("one.json", 0.0), ("two.json", 0.62)):
        pier(folder, x, strict)
        done("measure", *STUDIES, "--json", name, cwd=folder)
    lines = call("compare", "one.json", "two.json", cwd=folder).text.splitlines()
    assert "24 mm in perspective: holds -> fails, by crate seen, at high tide" in lines


def test_junit_holds_a_test_for_each_variant(folder: Path) -> None:
    words = ("--junit", "changes.xml", "--markdown", "changes.md", "--quiet")
    for _ in range(2):  # ours may be written over
        assert call("compare", "before.json", "now.json", *words, cwd=folder).code == 1
    (suite,) = list(JUnitXml.fromfile(str(folder / "changes.xml")))
    assert [case.name for case in suite] == ["20 mm in perspective", "24 mm in perspective"]
    (failure,) = list(suite)[1].result
    assert isinstance(failure, Failure)
    assert failure.message == LINE
    told = call("compare", "before.json", "now.json", cwd=folder).text.splitlines()
    assert f"{len(told)} readings changed" in (folder / "changes.md").read_text("utf-8")


def test_standard_output_is_the_data_alone_where_it_is_asked_for(folder: Path) -> None:
    found = call("compare", "before.json", "now.json", "--json", "-", cwd=folder)
    assert len(found.record["changed"]) == len(found.err.splitlines())
    assert LINE in found.err.splitlines()


def test_a_setting_that_is_none_is_told_as_it_stands(folder: Path) -> None:
    whole = json.loads((folder / "before.json").read_text())
    for variant in whole["variants"]:
        variant["settings"] |= {
            "offset": [[None], 0.0],
            "gate_mm": ["x", 1],
            "passes": 3,
            "oblique_ratio": [],
        }
    (folder / "odd.json").write_text(json.dumps(whole), "utf-8")
    told = call("compare", "before.json", "odd.json", cwd=folder)
    assert (told.code, told.out, told.err) == (0, b"", "")  # every reading is the same


def test_records_of_unrelated_studies_have_nothing_to_compare(folder: Path) -> None:
    whole = json.loads((folder / "before.json").read_text())
    for number, variant in enumerate(whole["variants"]):
        variant["key"] = f"00000{number}"
    (folder / "other.json").write_text(json.dumps(whole), "utf-8")
    said = refused("compare", "before.json", "other.json", cwd=folder)
    assert said.startswith("before.json and other.json have no variant in common")
    assert len(said.splitlines()) == 1


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("before.json", "absent.json"), "there is no such file"),
        (("before.json", "."), "is a folder"),
        (("before.json", "foreign.json"), "no record"),
        (("before.json", "broken.json"), "not JSON"),
        (("before.json", "damaged.json"), "damaged"),
        (("before.json", "notes.txt"), "nothing that can be compared"),
        (("before.json", "pier.toml"), "--study"),
        (("before.json", "now.json", "--study", "pier.study.toml"), "--study"),
        (("before.json", "now.json", "--all", "--reading", "targets.*.seen"), "--all"),
        (("before.json", "now.json", "--json", "now.json"), "what this call reads"),
    ],
)
def test_what_cannot_be_compared_is_refused(folder: Path, words: tuple[str, ...], says: str) -> None:
    (folder / "foreign.json").write_text('{"a": 1}', "utf-8")
    (folder / "broken.json").write_text("{", "utf-8")
    (folder / "notes.txt").write_text("notes", "utf-8")
    whole = json.loads((folder / "before.json").read_text())
    whole["variants"] = [{"id": "A1"}]
    (folder / "damaged.json").write_text(json.dumps(whole), "utf-8")
    said = refused("compare", *words, cwd=folder)
    assert says in said
    assert len(said.splitlines()) == 1
