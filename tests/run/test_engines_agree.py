"""Readings through both engines: shares within their quantum, positions to the digit."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path as File

import pytest

from stationpoint.base.errors import MachineLacks
from stationpoint.readings.types import Path, Result, Value
from stationpoint.render.gl import open as gl
from stationpoint.run.prepare import prepare_study
from stationpoint.run.sweep import Wants, sweep_variants
from stationpoint.study.file import read_study

SCENES = File(__file__).parents[2] / "scenes"
ONLY = frozenset({"targets", "gaps", "axes", "framing"})
SHARES = ("seen", "in_frame", "screen_share", "action_safe", "title_safe", "reserved_cover")
COUNTED = 1 / 2000  # of a silhouette of some thousand pixels, few lie on another side in the other engine
RANKED = ("prominence_rank", "outshouted_by", "role_order_holds", "first_glance")
COARSE_SHADOW = 1.3  # CIELAB: the edge of a shadow map's shadow lies off by a part of its texels
SAMPLED = 1 / 400  # a landing by about 400 samples


def results(demo: str, engine: str) -> list[Result]:
    study = read_study(SCENES / f"{demo}.study.toml")
    return sweep_variants(prepare_study(study, SCENES), Wants(picture=False, only=ONLY), engine)


@pytest.mark.parametrize("demo", ["quay", "greenhouse", "quarry", "rooftop"])
def test_shares_agree_within_their_quantum_and_the_rest_to_the_digit(demo: str) -> None:
    try:
        gl.works()
    except MachineLacks as lack:
        pytest.skip(f"OpenGL is lacking: {lack.message}")
    compared = 0
    for one, other in zip(results(demo, "gl"), results(demo, "rays"), strict=True):
        ours, theirs = one.reading.values, other.reading.values
        assert ours.keys() == theirs.keys()
        for path, value in ours.items():
            where, found = (one.variant.label, path), theirs[path]
            if path[0] == "targets" and path[-1] == "quantum":
                assert value == (None if found is None else pytest.approx(found, rel=0.01)), where
            elif path[0] == "targets" and value is not None and path[-1] in (*SHARES, "hidden_by"):
                assert value == pytest.approx(found, abs=_quantum(ours, path[1])), where
            elif path[-2:-1] == ("piece_arcmin",):
                assert value == (None if found is None else pytest.approx(found, rel=0.02)), where
            elif path[-1] == "landing_seen" or path[:2] == ("framing", "subject_covers"):
                step = SAMPLED if path[0] == "gaps" else COUNTED
                assert value == (None if found is None else pytest.approx(found, abs=step)), where
            elif path[-1] in RANKED:
                continue  # what is nearly as loud as another may change places with it
            elif path[-2:-1] == ("contrast",) or path[-1] == "prominence":
                step = COARSE_SHADOW if path[-1] != "ratio" else COARSE_SHADOW / 20
                assert value == (None if found is None else pytest.approx(found, abs=step)), where
            else:
                assert value == found, where
            compared += 1
    assert compared > 300


def _quantum(values: Mapping[Path, Value], target: str) -> float:
    """By how much a target's shares may be off; nothing where nothing of it was counted."""
    quantum = values["targets", target, "quantum"]
    assert quantum is None or isinstance(quantum, float)
    return quantum or 0.0
