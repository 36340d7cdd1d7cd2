"""Sheets as SVG and PDF: chosen by the name's ending, read back, drawn again, refused."""

from __future__ import annotations

import json
from pathlib import Path
from unittest.mock import patch
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from cli_calls import SCENE, SMALL, STUDY, done, refused, yard
from ink.page_of_all import ARABIC, HINDI, JAPANESE, apart, browser_picture, printed_pictures, printed_words
from stationpoint.ink.paint_svg import SVG
from stationpoint.record.kept import read_kept_texts

PAGES = ("--pages", "pitch_deg=10,30")
KEPT = ("stationpoint record", "stationpoint study", "stationpoint drawing")
WIDE = ("--renderer", "rays", "--cell-width", "420")


def texts_of(file: Path) -> list[str]:
    return [one.text or "" for one in ElementTree.parse(file).iter(f"{{{SVG}}}text")]


def test_an_svg_has_the_parts_of_a_sheet_as_classes(tmp_path: Path) -> None:
    yard(tmp_path)
    done("sheet", "yard.study.toml", *WIDE, "-o", "yard.svg", cwd=tmp_path)
    root = ElementTree.parse(tmp_path / "yard.svg").getroot()
    found = {word for one in root.iter(f"{{{SVG}}}g") for word in one.get("class", "").split()}
    assert found >= {"header", "plans", "plan", "side", "heads", "cell", "caption", "legend", "foot"}
    assert found >= {"mark", "gaps", "targets", "horizon"}
    assert root.findtext(f"{{{SVG}}}title") == "Does the crate show?"
    assert (root.findtext(f"{{{SVG}}}desc") or "") == (tmp_path / "yard.txt").read_text("utf-8")
    assert texts_of(tmp_path / "yard.svg")[0] == "Does the crate show?"


def test_pages_are_files_as_svg_and_one_file_as_pdf(tmp_path: Path) -> None:
    pytest.importorskip("reportlab", reason="reportlab is not installed")
    yard(tmp_path)
    done("sheet", "yard.study.toml", *SMALL, *PAGES, "-o", "p.svg", "--alone", cwd=tmp_path)
    done("sheet", "yard.study.toml", *SMALL, *PAGES, "-o", "p.pdf", "--alone", cwd=tmp_path)
    assert sorted(file.name for file in tmp_path.glob("p*")) == ["p-1.svg", "p-2.svg", "p.pdf"]
    assert len(printed_pictures((tmp_path / "p.pdf").read_bytes(), tmp_path)) == 2


@pytest.mark.parametrize("ending", ["svg", "pdf"])
def test_all_that_a_sheet_was_made_from_is_read_back_and_drawn_again(ending: str, tmp_path: Path) -> None:
    if ending == "pdf":
        pytest.importorskip("reportlab", reason="reportlab is not installed")
    yard(tmp_path)
    file = f"yard.{ending}"
    done("sheet", "yard.study.toml", *SMALL, "-o", file, cwd=tmp_path)
    texts = read_kept_texts(tmp_path / file, KEPT)
    assert texts[KEPT[0]] == (tmp_path / "yard.json").read_bytes().decode()
    assert json.loads(texts[KEPT[2]])["cell_width"] == 320
    assert "2 variants" in done("inspect", file, cwd=tmp_path).text
    done("inspect", file, "--redraw", f"again.{ending}", "--study", "s.study.toml", cwd=tmp_path)
    assert (tmp_path / f"again.{ending}").read_bytes() == (tmp_path / file).read_bytes()
    done("inspect", file, "--redraw", "again.png", cwd=tmp_path)
    done("sheet", "yard.study.toml", *SMALL, "-o", "yard.png", cwd=tmp_path)
    assert (tmp_path / "again.png").read_bytes() == (tmp_path / "yard.png").read_bytes()


@pytest.mark.parametrize("ending", ["svg", "pdf"])
def test_a_sheet_is_written_over_and_a_file_of_another_is_not(ending: str, tmp_path: Path) -> None:
    if ending == "pdf":
        pytest.importorskip("reportlab", reason="reportlab is not installed")
    yard(tmp_path)
    for _ in range(2):
        done("sheet", "yard.study.toml", *SMALL, "-o", f"yard.{ending}", cwd=tmp_path)
    (tmp_path / f"yard.{ending}").write_bytes(
        b"%PDF-1.4 mine" if ending == "pdf" else b"<?xml?><svg>mine</svg>"
    )
    said = refused("sheet", "yard.study.toml", *SMALL, "-o", f"yard.{ending}", cwd=tmp_path)
    assert f"yard.{ending} is there already and would be lost" in said


def test_a_damaged_or_foreign_file_is_told(tmp_path: Path) -> None:
    yard(tmp_path)
    done("sheet", "yard.study.toml", *SMALL, "-o", "yard.svg", cwd=tmp_path)
    whole = (tmp_path / "yard.svg").read_bytes()
    (tmp_path / "half.svg").write_bytes(whole[:600].replace(b"</title>", b"</wrong>"))
    (tmp_path / "other.svg").write_bytes(b"<?xml version='1.0'?><svg xmlns='http://www.w3.org/2000/svg'/>")
    bomb = b"<?xml version='1.0'?><!DOCTYPE svg [<!ENTITY a 'aaaa'>]><svg>&a;</svg>"
    (tmp_path / "bomb.svg").write_bytes(bomb)
    (tmp_path / "other.pdf").write_bytes(b"%PDF-1.4\n%%EOF")
    assert "half.svg is damaged" in refused("inspect", "half.svg", cwd=tmp_path)
    for name in ("other.svg", "bomb.svg", "other.pdf"):
        assert f"{name} carries no stationpoint record" in refused("inspect", name, cwd=tmp_path)


def test_without_reportlab_a_pdf_is_refused_at_once_and_nothing_is_written(tmp_path: Path) -> None:
    yard(tmp_path)
    with patch("stationpoint.ink.paint_pdf.find_spec", return_value=None):
        said = refused("sheet", "yard.study.toml", *SMALL, "-o", "yard.pdf", cwd=tmp_path, code=3)
    assert 'pip install "stationpoint[pdf]"' in said
    assert sorted(file.name for file in tmp_path.iterdir()) == ["yard.study.toml", "yard.toml"]


def test_names_in_every_script_are_found_in_both(tmp_path: Path) -> None:
    pytest.importorskip("reportlab", reason="reportlab is not installed")
    names = (JAPANESE, ARABIC, HINDI)
    targets = "".join(f'[[target]]\nname = "{name}"\nnode = "crate"\n' for name in names)
    (tmp_path / "yard.toml").write_text(SCENE, "utf-8")
    (tmp_path / "yard.study.toml").write_text(STUDY.replace("[camera]", targets + "[camera]"), "utf-8")
    done("sheet", "yard.study.toml", *WIDE, "-o", "a.svg", "--alone", cwd=tmp_path)
    done("sheet", "yard.study.toml", *WIDE, "-o", "a.pdf", "--alone", cwd=tmp_path)
    shown = texts_of(tmp_path / "a.svg")
    printed = printed_words((tmp_path / "a.pdf").read_bytes())
    for name in names:
        assert any(name in words for words in shown)
        assert name in printed


def test_a_browser_and_a_printer_show_the_sheet_that_the_png_shows(tmp_path: Path) -> None:
    pytest.importorskip("reportlab", reason="reportlab is not installed")
    yard(tmp_path)
    for ending in ("png", "svg", "pdf"):
        done("sheet", "yard.study.toml", *WIDE, "-o", f"a.{ending}", "--alone", cwd=tmp_path)
    wanted = np.asarray(Image.open(tmp_path / "a.png").convert("RGB"))
    (printed,) = printed_pictures((tmp_path / "a.pdf").read_bytes(), tmp_path)
    mean, far = apart(printed[: len(wanted)], wanted)
    assert mean < 4.0
    assert far < 0.01
    size = (wanted.shape[1], wanted.shape[0])
    mean, far = apart(browser_picture((tmp_path / "a.svg").read_bytes(), size, tmp_path), wanted)
    assert mean < 2.0
    assert far < 0.001
