"""Names in any script and further fonts, from the command line to sheet, chart, record and back."""

from __future__ import annotations

import hashlib
import io
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from cli_calls import SCENE, STUDY, done, process, refused, yard
from tiny_font import tiny_font

SMALL = ("--renderer", "rays", "--cell-width", "320", "--columns", "focal_mm=35")
CHART = ("--renderer", "rays", "--reading", "targets.*.seen", "--columns", "focal_mm=24,50")
NAMES = {
    "Japanese": ("三番目の木箱", "どの焦点距離か"),
    "Arabic": ("الصندوق الثالث 35 mm", "أي عدسة تتيح الحكم؟"),
    "Hindi": ("तीसरी पेटी", "कौन-सा लेंस?"),
}
SIGN = "\U00012000"


def named(folder: Path, name: str, title: str, top: str = "") -> None:
    study = STUDY.replace("Does the crate show?", title).replace('"crate"', f'"{name}"')
    study = study.replace("targets.crate.", f"targets.{name}.")
    hanging = SCENE.replace("at = [2, 0, -2]", "at = [2, 2, -2]")
    yard(folder, top + study.lstrip(), hanging.replace('"crate"', f'"{name}"'))


@pytest.mark.parametrize(("name", "title"), NAMES.values(), ids=NAMES)
def test_names_in_other_scripts_are_drawn_with_no_word_of_complaint(
    name: str, title: str, tmp_path: Path
) -> None:
    pictures = []
    for k, called in enumerate((name, name + name[0])):
        folder = tmp_path / str(k)
        named(folder, called, title)
        told = done("sheet", "yard.study.toml", *SMALL, "-o", "a.png", cwd=folder).err
        assert "No font" not in told
        assert called in (folder / "a.txt").read_text()
        chart = process("chart", "yard.study.toml", *CHART, "-o", "c.png", cwd=folder)
        assert (chart.code, "Glyph" in chart.err, "Warning" in chart.err) == (0, False, False), chart.err
        pictures.append([np.asarray(Image.open(folder / file)) for file in ("a.png", "c.png")])
    for one, other in zip(*pictures, strict=True):  # another name is another picture: no row of boxes
        assert one.shape == other.shape
        assert not np.array_equal(one, other)


def test_font_that_a_study_names_is_used_and_its_digest_is_in_the_record(tmp_path: Path) -> None:
    font = tiny_font(SIGN)
    named(tmp_path, SIGN, "Which?", 'fonts = ["sub/tiny.ttf"]\n')
    (tmp_path / "sub").mkdir()
    (tmp_path / "sub" / "tiny.ttf").write_bytes(font)
    assert "No font" not in done("sheet", "yard.study.toml", *SMALL, "-o", "a.png", cwd=tmp_path).err
    study = json.loads((tmp_path / "a.json").read_bytes())["study"]
    assert study["fonts"] == [{"file": "tiny.ttf", "sha256": hashlib.sha256(font).hexdigest()}]
    done("inspect", "a.png", "--redraw", "b.png", cwd=tmp_path)
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()


@pytest.mark.parametrize("words", [("sheet", *SMALL), ("twins", *SMALL, "--shift", "1"), ("chart", *CHART)])
def test_font_of_the_command_line_counts_from_here_and_leaves_no_folder(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    named(tmp_path / "study", SIGN, "Which?")
    (tmp_path / "tiny.otf").write_bytes(tiny_font(SIGN))
    command, *rest = words
    pictures = []
    for to, font in (("a.png", ()), ("b.png", ("--font", "tiny.otf"))):
        told = done(command, "study/yard.study.toml", *rest, *font, "-o", to, cwd=tmp_path).err
        assert ("No font" in told) == (not font)
        pictures.append((tmp_path / to).read_bytes())
    assert not np.array_equal(*(np.asarray(Image.open(io.BytesIO(data))) for data in pictures))
    for file in tmp_path.glob("b.*"):
        assert str(tmp_path).encode() not in file.read_bytes()


def test_study_without_fonts_says_nothing_of_them_in_its_record(tmp_path: Path) -> None:
    yard(tmp_path)
    done("measure", "yard.study.toml", *SMALL[:2], "--only", "axes", "--json", "a.json", cwd=tmp_path)
    assert set(json.loads((tmp_path / "a.json").read_bytes())["study"]) == {"title", "sha256"}


def test_bad_fonts_are_one_sentence_each_and_nothing_is_written(tmp_path: Path) -> None:
    named(tmp_path, "crate", "Which?", 'fonts = ["yard.toml", "lost.ttf"]\n')
    said = refused("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    assert 'font "yard.toml" is no font file (TrueType or OpenType); name a .ttf or .otf' in said
    assert 'font "lost.ttf" was not found; its path counts from the study\'s own folder.' in said
    assert not list(tmp_path.glob("*.png"))
    yard(tmp_path)
    said = refused("sheet", "yard.study.toml", *SMALL, "--font", "lost.ttf", cwd=tmp_path)
    assert '--font: there is no file "lost.ttf".' in said


def test_font_outside_the_folder_of_a_sheet_is_not_read_again(tmp_path: Path) -> None:
    named(tmp_path / "study", SIGN, "Which?", 'fonts = ["../tiny.ttf"]\n')
    (tmp_path / "tiny.ttf").write_bytes(tiny_font(SIGN))
    done("sheet", "yard.study.toml", *SMALL, "-o", "a.png", cwd=tmp_path / "study")
    said = refused("inspect", "a.png", "--redraw", "b.png", cwd=tmp_path / "study")
    assert 'font "../tiny.ttf" lies outside' in said


def test_columns_of_a_table_line_up_beside_wide_letters(tmp_path: Path) -> None:
    named(tmp_path, "木箱", "Which?")
    head, *rows = done("check", "yard.toml", "--nodes", "*", cwd=tmp_path).text.splitlines()
    at = head.index("bottom")
    box = next(row for row in rows if row.startswith("木箱"))
    wall = next(row for row in rows if row.startswith("wall"))
    assert wall[at - 1] == " "
    assert box[at - 2 - 1] == " "  # two letters of two columns each
    assert (box[at - 2], wall[at]) == ("2", "0")
