"""What soft light costs: processor time of a cell of 640 pixels more than in plain light, 12 ms at most.

STATIONPOINT_BENCH=1 python -m pytest tests/bench -s
"""

from __future__ import annotations

import os
import statistics
import time
from dataclasses import replace
from pathlib import Path

import pytest

from stationpoint.camera import Shot
from stationpoint.readings import MAIN
from stationpoint.render import Renderer, open_renderer
from stationpoint.run import Wants, prepare_study
from stationpoint.run.cases import cases
from stationpoint.run.sweep import shots_of
from stationpoint.study import read_study

SCENES = Path(__file__).parents[2] / "scenes"
RUNS = 20


def took_ms(renderer: Renderer, shot: Shot) -> float:
    """Processor time of a picture, all threads of this process together."""
    start = time.process_time()
    renderer.draw(shot)
    return (time.process_time() - start) * 1e3


@pytest.mark.bench
@pytest.mark.skipif("STATIONPOINT_BENCH" not in os.environ, reason="a timing: set STATIONPOINT_BENCH=1")
def test_soft_light_costs_a_cell_at_most_12_ms() -> None:
    prepared = prepare_study(read_study(SCENES / "quay.study.toml"), SCENES)
    shot = shots_of(next(cases(prepared, 640)), Wants(ids=True), True)[MAIN]
    plain = replace(shot, about_m=None)
    with open_renderer("gl", prepared.scene) as renderer:
        for one in (shot, plain, shot, plain):
            renderer.draw(one)
        pairs = [(took_ms(renderer, shot), took_ms(renderer, plain)) for _ in range(RUNS)]
    soft_ms, plain_ms = (statistics.median(times) for times in zip(*pairs, strict=True))
    print(f"\nsoft {soft_ms:.1f} ms, plain {plain_ms:.1f} ms, {soft_ms - plain_ms:.1f} ms more")
    assert soft_ms - plain_ms <= 12.0
