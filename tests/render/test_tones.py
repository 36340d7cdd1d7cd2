"""How many tones a drawn cell has: of the demo's first cell, and of a furnished room's.

Entropy: of the histogram of sRGB luma, .2126 R + .7152 G + .0722 B of the codes, rounded to 256 levels, over
all pixels of the cell's picture as the sheet has it in clean mode at 640 pixels, in bits. Share: of the five
commonest levels. Flat greys gave 3.4 bits and 79 % for the demo, 1.2 bits and 99 % for a room.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from cli_calls import DATA, done
from stationpoint.base.colour import WEIGHTS
from stationpoint.run import Drawing, Wants, prepare_study, sweep_variants
from stationpoint.run.sheet import aids_drawn
from stationpoint.study import read_study

SCENES = Path(__file__).parents[2] / "scenes"


def first_cell(study: Path, engine: str) -> NDArray[np.uint8]:
    """The picture of a study's first cell."""
    prepared = prepare_study(read_study(study), study.parent)
    prepared = replace(prepared, variants=prepared.variants[:1])
    grid, shadow = aids_drawn(prepared, Drawing())
    wants = Wants(cell_width=640, grid=grid, shadow=shadow, only=frozenset())
    picture = sweep_variants(prepared, wants, engine)[0].picture
    assert picture is not None
    return picture


def luma_entropy_bits(picture: NDArray[np.uint8]) -> tuple[float, float]:
    """Entropy in bits, and the share of the five commonest levels, 0..1."""
    shares = np.bincount(np.rint(picture @ np.array(WEIGHTS)).astype(np.intp).ravel(), minlength=256)
    shares = shares / shares.sum()
    some = shares[shares > 0]
    return float(-(some * np.log2(some)).sum()), float(np.sort(shares)[-5:].sum())


def test_entropy_of_even_greys_is_the_logarithm_of_their_number() -> None:
    # 16 greys, each as often as the others: log2 16 = 4 bits; the five commonest fill 5 of 16.
    picture = np.repeat(np.arange(0, 256, 16, dtype=np.uint8)[:, None, None], 3, axis=2)
    assert luma_entropy_bits(picture) == pytest.approx((4.0, 5 / 16))


def test_a_demos_cell_has_the_tones_of_a_lit_scene(engine: str) -> None:
    bits, commonest = luma_entropy_bits(first_cell(SCENES / "quay.study.toml", engine))
    assert bits >= 5.0
    assert commonest < 0.45


@pytest.mark.parametrize("room", ["office", "meeting_room"])
def test_a_furnished_rooms_cell_has_many_tones_though_nothing_casts_there(
    engine: str, room: str, tmp_path: Path
) -> None:
    if not (DATA / f"{room}.glb").is_file():
        pytest.skip(f"{room}.glb is not at hand")
    (tmp_path / f"{room}.glb").write_bytes((DATA / f"{room}.glb").read_bytes())
    done("start", f"{room}.glb", cwd=tmp_path)
    bits, commonest = luma_entropy_bits(first_cell(tmp_path / f"{room}.study.toml", engine))
    assert bits >= 4.0
    assert commonest < 0.65
