"""Several subjects: readings by name, limbs of all together, and what is the player's own."""

from __future__ import annotations

from typing import Any

import pytest

from readings.made import block, camera, case, values
from stationpoint.readings.paths import complaint, paths_of
from stationpoint.readings.types import Case
from stationpoint.readings.verdict.limits import ASSUMED, with_assumed
from stationpoint.study.models import Study

FENCERS: dict[str, Any] = {
    "subject": {"name": "fencer", "node": "one"},
    "others": [{"name": "fencer two", "node": "two"}],
}


def _duel(**more: Any) -> Case:
    # Level, 9 m high, 16 m wide: the second one reaches out of the picture by half its 0.6 m.
    view = camera("orthographic", pitch=0, height=9, anchor=(0, 0.9, 0))
    nodes = (block("one", (-2, 0, 0), (0.6, 1.8, 1.2)), block("two", (8, 0, 0), (0.6, 1.8, 1.2)))
    return case(view, *nodes, cell=(320, 180), **FENCERS, **more)


def test_each_subject_is_read_by_its_name_and_the_first_as_the_players_own_too() -> None:
    found = values(_duel(), ["subject", "subjects"])
    assert found["subjects", "fencer two", "in_frame"] == pytest.approx(0.5, abs=0.02)
    assert found["subjects", "fencer", "in_frame"] == 1.0
    own = {path[1:]: value for path, value in found.items() if path[0] == "subject"}
    assert own == {path[2:]: value for path, value in found.items() if path[:2] == ("subjects", "fencer")}
    second = {path[2:] for path in found if path[:2] == ("subjects", "fencer two")}
    assert second == set(own)


def test_a_target_of_the_same_name_is_another_thing() -> None:
    found = values(_duel(target=[{"name": "fencer two", "node": "one"}]), ["targets", "subjects"])
    assert found["targets", "fencer two", "in_frame"] == 1.0
    assert found["subjects", "fencer two", "in_frame"] == pytest.approx(0.5, abs=0.02)


def test_one_hides_the_other_by_name() -> None:
    view = camera("orthographic", pitch=0, height=9, anchor=(0, 0.9, 0))
    nodes = (block("one", (0, 0, -3), (0.6, 1.8, 0.6)), block("two", (0.3, 0, 0), (0.6, 1.8, 0.6)))
    found = values(case(view, *nodes, cell=(320, 180), **FENCERS), ["visibility"])
    assert found["subject", "hidden_by"]["two"] == pytest.approx(0.5, abs=0.03)  # type: ignore[index, call-overload]
    assert found["subjects", "fencer two", "seen"] == 1.0


def test_limb_spread_is_that_of_all_together() -> None:
    # 5 m away level; boxes 1.2 m deep at z 0 and -2: from 4.4 to 7.6 m
    view = camera(pitch=0, distance=5, anchor=(0, 0.9, 0))
    nodes = (block("one", (-1, 0, 0), (0.6, 1.8, 1.2)), block("two", (1, 0, -2), (0.6, 1.8, 1.2)))
    found = values(case(view, *nodes, cell=(160, 90), **FENCERS), ["framing-geometry"])
    assert found["framing", "limb_spread"] == pytest.approx(7.6 / 4.4)
    parts = [{"name": "tip", "at": (0, 1, -1)}]  # facing left, its tip is at its left, no nearer
    told = {**FENCERS, "others": [{**FENCERS["others"][0], "heading_deg": 90.0, "part": parts}]}
    found = values(case(view, *nodes, cell=(160, 90), **told), ["framing-geometry"])
    assert found["framing", "limb_spread"] == pytest.approx(7.0 / 4.4)


def test_patterns_know_the_subjects_where_there_are_several() -> None:
    study = Study.model_validate({"scene": "made.toml", **FENCERS})
    assert ("subjects", "fencer", "seen") in paths_of(study)
    assert ("subjects", "fencer two", "size_px", "desk") in paths_of(study)
    assert complaint("subjects.*.seen", study) is None
    assert "fencer two" in str(complaint("subjects.fencer tow.seen", study))
    alone = Study.model_validate({"scene": "made.toml", "subject": {"name": "fencer"}})
    assert not any(path[0] == "subjects" for path in paths_of(alone))
    assert "no second [[subject]]" in str(complaint("subjects.fencer.seen", alone))


@pytest.mark.parametrize(
    ("reading", "assumed"), [("subjects.*.seen", False), ("subjects.fencer two.seen", True)]
)
def test_a_limit_on_all_subjects_is_one_on_the_players_own(reading: str, assumed: bool) -> None:
    limit = [{"reading": reading, "min": 0.5}]
    study = Study.model_validate({"scene": "made.toml", **FENCERS, "limit": limit})
    assert (ASSUMED in with_assumed(study).limit) == assumed
