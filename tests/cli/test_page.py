"""`page` end to end: one file, whole or not at all, the same bytes again."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from cli_calls import STUDY, call, done, refused, yard

BRIEF = '\n[[limit]]\nreading = "targets.crate.seen"\nmin = 0.5\nwhy = "it must show"\n'
PLACES = '\n[[place]]\nname = "shut"\nmove = { crate = [0, 0, -4] }\n'  # behind the wall, 2 m high
FAST = ("--renderer", "rays", "--quiet", "--cell-width", "320", "--workers", "1")


def data_of(path: Path) -> dict[str, Any]:
    text = re.search(r'id="data">(.*?)</script>', path.read_text("utf-8"), re.DOTALL)
    assert text is not None
    found: dict[str, Any] = json.loads(text[1])
    return found


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("page")
    yard(made, STUDY + BRIEF + PLACES)
    done("page", "yard.study.toml", "-o", "review.html", *FAST, cwd=made)
    return made


def test_every_variant_is_there_at_every_place(folder: Path) -> None:
    cells = data_of(folder / "review.html")["cells"]
    assert [(cell["id"], cell["place"]) for cell in cells] == [
        *(("A1", "here"), ("A1", "shut"), ("A2", "here"), ("A2", "shut"))
    ]
    assert all(
        {"clay", "silhouette", "glance", "three-values", "depth"} <= set(cell["pictures"]) for cell in cells
    )


def test_values_are_those_of_the_record(folder: Path) -> None:
    data = data_of(folder / "review.html")
    rows = done("measure", "yard.study.toml", "--json", "-", *FAST[:3], cwd=folder).record["rows"]
    column = [one["path"] for one in data["paths"]].index(["targets", "crate", "seen"])
    assert [cell["values"][column] for cell in data["cells"]] == [r["targets"]["crate"]["seen"] for r in rows]


def test_what_the_brief_finds_is_said_where_it_is_so(folder: Path) -> None:
    cells = data_of(folder / "review.html")["cells"]
    about = [next(one for one in cell["brief"] if "seen" in one["path"]) for cell in cells]
    assert [one["margin"] >= 0 for one in about] == [True, False, True, False]  # behind the wall at "shut"
    assert about[1]["words"].startswith("crate: seen ")
    assert about[1]["bounds"] == [[0.5, "at least 50 %"]]
    assert {cell["flag"]["kind"] for cell in cells} == {"fails"}


def test_each_place_has_the_sheet_and_its_cells(folder: Path) -> None:
    sheets = data_of(folder / "review.html")["sheets"]
    assert [sheet["place"] for sheet in sheets] == ["here", "shut"]
    for sheet in sheets:
        (page,) = sheet["pages"]
        assert [about["class"] for _, about, _ in page["tree"]].count("cell") == len(page["cells"]) == 2
        assert "Does the crate show?" in json.dumps(page["tree"])


def test_the_same_call_gives_the_same_bytes_whatever_the_workers(folder: Path) -> None:
    first = (folder / "review.html").read_bytes()
    done("page", "yard.study.toml", "-o", "again.html", *FAST[:-1], "2", cwd=folder)
    assert (folder / "again.html").read_bytes() == first
    assert str(folder).encode() not in first


def test_a_page_of_ours_is_written_over_and_another_is_not(tmp_path: Path) -> None:
    yard(tmp_path)
    done("page", "yard.study.toml", "-o", "review.html", *FAST, cwd=tmp_path)
    done("page", "yard.study.toml", "-o", "review.html", *FAST, cwd=tmp_path)
    (tmp_path / "other.html").write_text("<!doctype html>\n<p>mine</p>\n", "utf-8")
    said = refused("page", "yard.study.toml", "-o", "other.html", *FAST, cwd=tmp_path)
    assert "is there already and would be lost" in said


def test_another_ending_is_refused_before_anything_is_drawn(tmp_path: Path) -> None:
    yard(tmp_path)
    said = refused("page", "yard.study.toml", "-o", "review.png", *FAST, cwd=tmp_path)
    assert said == "review.png: a page for review is HTML; name it with the ending .html or .htm.\n"


def test_more_cells_than_a_page_has_are_refused(tmp_path: Path) -> None:
    yard(tmp_path)
    words = ("--rows", "pitch_deg=1:50:1", "--columns", "focal_mm=20:44:1")  # 50 x 25
    said = refused("page", "yard.study.toml", *words, *FAST, cwd=tmp_path)
    assert said.startswith("The page would have 1250 cells, at most 1000 are drawn; take values off an axis")


def test_a_page_goes_to_standard_output_where_it_is_asked_for(tmp_path: Path) -> None:
    yard(tmp_path)
    out = done("page", "yard.study.toml", "-o", "-", *FAST, cwd=tmp_path).out
    assert out.startswith(b"<!doctype html>")
    assert not list(tmp_path.glob("*.html"))


def test_without_a_name_it_is_named_after_the_study(tmp_path: Path) -> None:
    yard(tmp_path)
    done("page", "yard.study.toml", *FAST, cwd=tmp_path)
    assert (tmp_path / "yard.html").stat().st_size < 1_000_000


def test_swept_places_stand_on_one_sheet(tmp_path: Path) -> None:
    yard(tmp_path, STUDY + PLACES)
    words = ("--rows", "place=here,shut", "-o", "review.html")
    done("page", "yard.study.toml", *words, *FAST, cwd=tmp_path)
    data = data_of(tmp_path / "review.html")
    assert [cell["place"] for cell in data["cells"]] == ["here", "here", "shut", "shut"]
    assert len(data["sheets"]) == 1


def test_notes_and_the_decision_of_the_study_are_there(tmp_path: Path) -> None:
    yard(tmp_path)
    record = done(
        "measure", "yard.study.toml", "--only", "axes", "--json", "-", *FAST[:3], cwd=tmp_path
    ).record
    key = record["variants"][0]["key"]
    yard(tmp_path, STUDY + f'\n[[note]]\nvariant = "{key}"\nby = "AK"\ntext = "calm"\n')
    done("choose", "yard.study.toml", "A1", "--because", "calm", cwd=tmp_path)
    done("page", "yard.study.toml", *FAST, cwd=tmp_path)
    data = data_of(tmp_path / "yard.html")
    assert data["notes"] == [{"variant": key, "by": "AK", "text": "calm"}]
    assert data["decision"]["chosen"] == key
    assert data["cells"][0]["flag"]["word"] == "Chosen"


def test_a_caption_names_no_place_since_each_has_a_cell_of_its_own(folder: Path) -> None:
    words = json.dumps([cell["caption"] for cell in data_of(folder / "review.html")["cells"]])
    assert "judged" not in words


def test_a_sheet_and_a_verdict_write_the_page_too(folder: Path, tmp_path: Path) -> None:
    # the command's own page is 960 px wide, which is what these write
    yard(tmp_path, STUDY + BRIEF + PLACES)
    fast = ("--renderer", "rays", "--quiet", "--workers", "1")
    done("page", "yard.study.toml", "-o", "alone.html", *fast, cwd=tmp_path)
    small = ("--cell-width", "320", "--alone", "-o", "sheet.png")
    done("sheet", "yard.study.toml", *small, "--page", "sheet.html", *fast, cwd=tmp_path)
    call("judge", "yard.study.toml", "--page", "judge.html", *fast, cwd=tmp_path)
    alone = (tmp_path / "alone.html").read_bytes()
    assert (tmp_path / "sheet.html").read_bytes() == alone
    assert (tmp_path / "judge.html").read_bytes() == alone


def test_a_page_beside_whole_levels_or_under_another_ending_is_refused(tmp_path: Path) -> None:
    yard(tmp_path, STUDY + BRIEF)
    both = ("judge", "yard.study.toml", "yard.study.toml", "--page", "x.html")
    assert "--page is of one study" in refused(*both, cwd=tmp_path)
    rows = ("judge", "yard.study.toml", "-o", "rows.png", "--page", "x.html")
    assert "--page is of each variant" in refused(*rows, cwd=tmp_path)
    assert "a page for review is HTML" in refused(
        "sheet", "yard.study.toml", *FAST[:4], "320", "--page", "x.png", cwd=tmp_path
    )
