"""PDF: what poppler draws of it is the PNG, what it reads are the page's words, in every script."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path
from unicodedata import normalize
from unittest.mock import patch

import numpy as np
import pytest

from ink.page_of_all import (
    INK,
    MARKUP,
    PAPER,
    SCRIPTS,
    apart,
    page_of_all,
    printed_pictures,
    printed_words,
    shown_by,
)
from stationpoint.base.errors import MachineLacks
from stationpoint.ink.paint_pdf import pdf_file
from stationpoint.ink.paint_png import paint_rows
from stationpoint.ink.shapes import Page
from stationpoint.ink.type import missing, text_shape, use_type


@pytest.fixture(autouse=True)
def _usual_type() -> Iterator[None]:
    pytest.importorskip("reportlab", reason="reportlab is not installed")
    use_type((), SCRIPTS)
    yield
    use_type()


def test_every_page_is_drawn_as_in_the_png(tmp_path: Path) -> None:
    pages = [page_of_all(), page_of_all(SCRIPTS[:2])]
    drawn = printed_pictures(pdf_file(pages, "t", "d"), tmp_path)
    assert len(drawn) == 2
    for page, picture in zip(pages, drawn, strict=True):
        mean, far = apart(picture, paint_rows(page))
        assert mean < 4.0  # poppler puts such letters on whole pixels, the PNG on half ones
        assert far < 0.01
        one, other = (np.ascontiguousarray(those[20:120, 20:450]) for those in (picture, paint_rows(page)))
        assert apart(one, other)[1] < 0.01  # without words


def test_names_are_found_as_they_were_typed() -> None:
    words = normalize("NFC", printed_words(pdf_file([page_of_all()], "t", "d")))
    assert [words.count(name) for name in SCRIPTS] == [2] * len(SCRIPTS)


def test_names_with_markup_are_words_alone() -> None:
    words = printed_words(pdf_file([page_of_all(MARKUP)], "(t) \\ <b>", "d"))
    assert all(name in words for name in MARKUP[:4])


def test_more_letters_than_one_font_holds_are_all_found() -> None:
    every = [c for c in map(chr, range(0x4E00, 0x9FFF)) if not missing(c)][:400]  # of the Han block
    lines = ["".join(every[k : k + 20]) for k in range(0, 400, 20)]
    shapes = tuple(text_shape((10, 40 + 30 * k), line, 20) for k, line in enumerate(lines))
    words = printed_words(pdf_file([Page((450, 660), PAPER, shapes)], "t", "d"))
    assert words.split() == lines


def test_a_letter_is_as_wide_as_the_font_says() -> None:
    # Open Sans Regular's advances, of 2048 (hmtx): T 1133, less 143 of the pair with o (GPOS)
    data = pdf_file([Page((90, 60), PAPER, (text_shape((5, 40), "To", 20, ink=INK),))], "t", "d")
    (widths,) = re.findall(rb"/Widths \[ ([\d ]+) \]", data)
    assert widths.split()[1:] == [b"990", b"1237"]


def test_texts_are_attached_whole(tmp_path: Path) -> None:
    program = shown_by("pdfdetach", "poppler-utils")
    kept = {"a record.json": '{"(a)": "é\\r\\n"}\n' * 500, "b.toml": ""}
    (tmp_path / "a.pdf").write_bytes(pdf_file([page_of_all()], "t", "d", kept))
    subprocess.run([program, "-saveall", "a.pdf"], cwd=tmp_path, check=True, capture_output=True)
    assert {name: (tmp_path / name).read_bytes().decode() for name in kept} == kept


def test_the_same_pages_give_the_same_bytes_and_no_date() -> None:
    once, again = (pdf_file([page_of_all()], "t", "d", {"a": "b"}) for _ in range(2))
    assert once == again
    assert b"Date" not in once


def test_a_title_in_any_script_is_told() -> None:
    program = shown_by("pdfinfo", "poppler-utils")
    data = pdf_file([page_of_all()], SCRIPTS[1], "d")
    said = subprocess.run([program, "-"], input=data, capture_output=True, check=True).stdout.decode()
    assert re.search(rf"Title: +{SCRIPTS[1]}\n", said)


def test_without_reportlab_the_line_that_installs_it_is_said() -> None:
    with (
        patch("stationpoint.ink.paint_pdf.find_spec", return_value=None),
        pytest.raises(MachineLacks) as said,
    ):
        pdf_file([page_of_all()], "t", "d")
    assert 'pip install "stationpoint[pdf]"' in str(said.value)
