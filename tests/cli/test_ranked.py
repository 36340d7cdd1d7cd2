"""`--layout hero` and `--best N` end to end: order, what the record holds, the same bytes again, refusals."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PIL import Image

from cli_calls import STUDY, done, refused, yard
from stationpoint.record.png import read_png_texts

LENSES = STUDY.replace("[24, 50]", "[24, 28, 35, 50]")
# 2 atan(18 / f): 73.7, 65.5, 54.4, 39.6 degrees; of at least 45 by margin 24, 28, 35, 50 mm.
BRIEF = '\n[[limit]]\nreading = "viewing.desk.hfov_deg"\nmin = 45\n'
MUCH = BRIEF + '\n[[limit]]\nreading = "subject.seen"\nmin = 0.01\nlevel = "should"\n'
SMALL = ("--renderer", "rays", "--cell-width", "320", "--quiet", "--alone", "--json", "x.json")
SHEET = ("sheet", "yard.study.toml", "-o", "x.png")


def scores(folder: Path) -> dict[str, float]:
    record = json.loads((folder / "x.json").read_text("utf-8"))
    return {one["variant"]: one["score"] for one in record["verdicts"]}


def test_best_few_are_drawn_and_the_record_holds_them_all(tmp_path: Path) -> None:
    yard(tmp_path, LENSES + MUCH)
    done(*SHEET, *SMALL, "--best", "2", cwd=tmp_path)
    record = json.loads((tmp_path / "x.json").read_text("utf-8"))
    assert [row["variant"] for row in record["rows"]] == ["A1", "A2", "A3", "A4"]
    assert scores(tmp_path)["A4"] < 0 < scores(tmp_path)["A3"]
    with Image.open(tmp_path / "x.png") as picture:
        assert picture.width == 34 + 2 * 320 + 24 + 34
    done("measure", "yard.study.toml", "--renderer", "rays", "--json", "m.json", cwd=tmp_path)
    measured = json.loads((tmp_path / "m.json").read_text("utf-8"))
    assert [one["key"] for one in measured["variants"]] == [one["key"] for one in record["variants"]]


def test_all_pages_of_a_sweep_stand_on_one_in_order_of_margin(tmp_path: Path) -> None:
    yard(tmp_path, LENSES + MUCH)
    done(*SHEET, *SMALL, "--best", "3", "--pages", "pitch_deg=10,20", cwd=tmp_path)
    assert (tmp_path / "x.png").exists()
    assert not (tmp_path / "x-1.png").exists()


@pytest.mark.parametrize(
    "words",
    [("--layout", "hero"), ("--best", "2"), ("--layout", "hero", "--best", "3", "--mode", "silhouette")],
    ids=["hero", "best", "both"],
)
def test_sheet_is_drawn_again_to_the_byte_by_any_number_of_workers(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    yard(tmp_path, LENSES + MUCH)
    done("choose", "yard.study.toml", "A3", "--because", "calm", cwd=tmp_path)
    done(*SHEET, *SMALL, *words, "--workers", "1", cwd=tmp_path)
    first = (tmp_path / "x.png").read_bytes()
    done(*SHEET, *SMALL, *words, "--workers", "3", cwd=tmp_path)
    assert (tmp_path / "x.png").read_bytes() == first
    done("inspect", "x.png", "--redraw", "y.png", cwd=tmp_path)
    assert (tmp_path / "y.png").read_bytes() == first


def test_plain_sheet_says_nothing_of_layouts_in_how_it_was_drawn(tmp_path: Path) -> None:
    yard(tmp_path, LENSES + MUCH)
    done(*SHEET, *SMALL, cwd=tmp_path)
    how = json.loads(read_png_texts(tmp_path / "x.png", ("stationpoint drawing",))["stationpoint drawing"])
    assert {"layout", "best"}.isdisjoint(how)


@pytest.mark.parametrize(
    ("study", "words", "says"),
    [
        (LENSES, ("--best", "2"), "no [[limit]] that is a must"),
        (LENSES, ("--layout", "hero"), "neither a decision for one of these variants nor a [[limit]]"),
        (LENSES + BRIEF, ("--best", "0"), "--best"),
        (LENSES + BRIEF, ("--best", "2", "--only", "axes"), "no variant has a margin to go by"),
    ],
    ids=["no brief", "no hero", "none", "not measured"],
)
def test_nothing_to_rank_by_is_one_sentence(
    study: str, words: tuple[str, ...], says: str, tmp_path: Path
) -> None:
    yard(tmp_path, study)
    assert says in refused(*SHEET, *SMALL, *words, cwd=tmp_path)
