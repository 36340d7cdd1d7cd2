"""Flags at a glance: what holds stands out from the paper, what fails is quiet, in grey and when small."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from sheet.made import owners, results, study
from stationpoint.base.look import PAPER
from stationpoint.ink import Page, Text, paint_rows
from stationpoint.sheet.compose import compose_pages
from stationpoint.sheet.flag import HEIGHT, Flag, flag_row, flag_width
from stationpoint.sheet.scale import scale_for

from .made import placed

SMALL_PX = 400  # width of a whole sheet in a chat or a slide
LUMA = np.array([0.299, 0.587, 0.114])  # ITU-R BT.601
FLAGS = {
    "A1": Flag("fails", "seen 15 %, needs 60 %", ("targets", "load", "seen"), "load is mostly out of view"),
    "A2": Flag("holds", "nearest limit: hop: scale ratio 1.16, needs 1.1"),
    "B1": Flag("fails", "seen 0 %, needs 60 %", ("targets", "load", "seen"), "load is out of view"),
    "B2": Flag("chosen", "nearest limit: hop: scale ratio 1.16, needs 1.1"),
}


def sheet() -> Page:
    """Four columns of cells, as a page of 2400 px is; a flag of each kind."""
    those = study(sweep={"columns": {"focal_mm": [24, 35, 50, 85]}, "rows": {"pitch_deg": [10, 20]}})
    made = results(those, 544)
    (only,) = compose_pages(made, those, record_hash="x", verdicts=FLAGS, owner_by_id=owners(those))
    return only


def small_grey(page: Page) -> NDArray[np.float64]:
    """(h, 400) grey values of the page, reduced."""
    whole = Image.fromarray(paint_rows(page, range(page.size_px[1])))
    size = SMALL_PX, round(page.size_px[1] * SMALL_PX / page.size_px[0])
    return np.asarray(whole.resize(size, Image.Resampling.BOX), dtype=float) @ LUMA


def contrast_of_flags(page: Page) -> dict[str, float]:
    """Word of a flag -> mean difference from the paper, in grey values, over the widest flag's box."""
    grey, paper = small_grey(page), float(np.array(PAPER) @ LUMA)
    factor = SMALL_PX / page.size_px[0]
    width = max(flag_width(kind, HEIGHT, 27) for kind in ("chosen", "holds", "fails"))
    found = {}
    for one in placed(page):
        words = getattr(one.shape, "words", "")
        if "flag" in one.groups and words in ("Chosen", "Holds", "Fails"):
            left, top = (round(part * factor) for part in one.offset)
            box = grey[top : top + round(HEIGHT * factor), left : left + round(width * factor)]
            found.setdefault(words, float(np.abs(box - paper).mean()))
    return found


def test_what_holds_stands_out_more_than_what_fails_in_grey_at_400_px() -> None:
    found = contrast_of_flags(sheet())
    assert set(found) == {"Chosen", "Holds", "Fails"}
    assert found["Holds"] > 1.5 * found["Fails"]
    assert found["Chosen"] > 1.5 * found["Fails"]
    assert found["Fails"] > 5.0  # quiet, but there


def test_why_stands_beside_a_flag_that_has_room_for_it_and_else_the_numbers() -> None:
    flag = Flag(
        "fails", "seen 0 %, needs 60 %", ("targets", "load", "seen"), "load is out of view", "it falls"
    )

    def lines(width: float) -> list[str]:
        shapes = flag_row(flag, width, 36.0, scale_for(544))
        return [one.words for one in shapes if isinstance(one, Text)][1:]

    assert lines(544.0) == ["load is out of view: seen 0 %, needs 60 %", "it falls"]
    assert lines(360.0) == ["load is out of view", "seen 0 %, needs 60 %"]
