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
TIED = 0.25  # CIELAB: an edge through pixels' centres is a column of pixels, which one engine gives it
TIED_SHARE = 0.01  # of a contrast ratio, and of a loudness
SPOT = 0.02  # of the picture
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
            elif path[-1] == "prominence_rank":  # what is nearly as loud as another may change places with it
                assert value == (None if found is None else pytest.approx(found, abs=1)), where
            elif path[-1] == "outshouted_by":
                assert _nearly_the_same(value, found), where
            elif path[-1] == "first_glance":
                assert _same_spots(value, found), where
            elif path[-2:-1] == ("contrast",) or path[-1] == "prominence":
                step = 0.0 if path[-1] in ("ratio", "prominence") else TIED
                close = None if found is None else pytest.approx(found, rel=TIED_SHARE, abs=step)
                assert value == close, where
            else:
                assert value == found, where
            compared += 1
    assert compared > 300


def _quantum(values: Mapping[Path, Value], target: str) -> float:
    """By how much a target's shares may be off; nothing where nothing of it was counted."""
    quantum = values["targets", target, "quantum"]
    assert quantum is None or isinstance(quantum, float)
    return quantum or 0.0


def _nearly_the_same(names: Value, others: Value) -> bool:
    """Whether at most one name is in one of the two alone."""
    if names is None or others is None:
        return names is others
    assert isinstance(names, tuple)
    assert isinstance(others, tuple)
    return len({str(name) for name in names} ^ {str(name) for name in others}) <= 1


def _same_spots(spots: Value, others: Value) -> bool:
    """Whether the same nodes are seen first, in the same order, at the same places."""
    if spots is None or others is None:
        return spots is others
    assert isinstance(spots, tuple)
    assert isinstance(others, tuple)
    if len(spots) != len(others):
        return False
    for one, other in zip(spots, others, strict=True):
        assert isinstance(one, dict)
        assert isinstance(other, dict)
        if one["node"] != other["node"] or one["role"] != other["role"]:
            return False
        if one["xy"] != pytest.approx(other["xy"], abs=SPOT):
            return False
    return True
