"""Only the picture for the eye is drawn in soft light; what readings see is plain."""

from __future__ import annotations

from pathlib import Path

import pytest

from stationpoint.readings import MAIN
from stationpoint.run import Wants, prepare_study
from stationpoint.run.cases import cases
from stationpoint.run.sweep import shots_of
from stationpoint.study import read_study

SCENES = Path(__file__).parents[2] / "scenes"


@pytest.mark.parametrize("name", ["quay", "quarry"])
def test_every_shot_but_the_picture_is_in_plain_light(name: str) -> None:
    path = SCENES / f"{name}.study.toml"
    case = next(cases(prepare_study(read_study(path), SCENES), 544))
    shots = shots_of(case, Wants(), True)
    assert len(shots) > 3
    assert shots[MAIN].about_m == case.setup.anchor_m
    assert all(shot.about_m is None for key, shot in shots.items() if key != MAIN)
