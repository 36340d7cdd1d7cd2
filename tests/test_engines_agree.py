"""Readings through both engines: shares within their quantum, positions to the digit."""

from __future__ import annotations

from pathlib import Path

import pytest

from stationpoint.errors import MachineLacks
from stationpoint.measure.types import Take
from stationpoint.prepare import prepare
from stationpoint.render import gl
from stationpoint.run import Wants, sweep
from stationpoint.study.file import read_study

SCENES = Path(__file__).parents[1] / "scenes"
ONLY = frozenset({"targets", "gaps", "axes", "framing"})
SHARES = ("seen", "in_frame", "screen_share")


def takes(demo: str, engine: str) -> list[Take]:
    study = read_study(SCENES / f"{demo}.study.toml")
    return sweep(prepare(study, SCENES), Wants(picture=False, only=ONLY), engine)


@pytest.mark.parametrize("demo", ["quay", "greenhouse", "quarry", "rooftop"])
def test_shares_agree_within_their_quantum_and_the_rest_to_the_digit(demo: str) -> None:
    try:
        gl.works()
    except MachineLacks as lack:
        pytest.skip(f"OpenGL is lacking: {lack.message}")
    compared = 0
    for one, other in zip(takes(demo, "gl"), takes(demo, "rays"), strict=True):
        ours, theirs = one.reading.values, other.reading.values
        assert ours.keys() == theirs.keys()
        for path, value in ours.items():
            if path[0] == "targets" and path[-1] in SHARES:
                quantum = ours["targets", path[1], "quantum"]
                if isinstance(value, float) and isinstance(quantum, float):
                    assert value == pytest.approx(theirs[path], abs=quantum), (one.variant.label, path)
                    compared += 1
            elif path[0] == "axes" or path[-1] in ("flat_span_m", "screen_xy", "depth_m", "ground_span_m"):
                assert value == theirs[path], path
                compared += 1
    assert compared > 50
