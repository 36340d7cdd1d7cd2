"""What is wrong where a limit fails, in words of the level."""

from __future__ import annotations

from typing import Any

import pytest

from stationpoint.readings import told_words, wrong_words
from stationpoint.readings.verdict.judge import Finding
from stationpoint.study.models import Limit


def found(path: str, value: Any, because: str = "", margin: float = -1.0, **limit: Any) -> Finding:
    parts = tuple(path.split("/"))
    return Finding(path, parts, "here", None, value, Limit(reading=path, **limit), margin, because)


@pytest.mark.parametrize(
    ("finding", "words"),
    [
        (found("targets/slung load/seen", 0.0, min=0.6), "slung load is out of view"),
        (found("targets/slung load/seen", 0.15, min=0.6), "slung load is mostly out of view"),
        (found("targets/slung load/seen", 0.55, min=0.6), "too little of slung load is in view"),
        (found("subject/seen", 0.0, min=0.25), "subject is out of view"),
        (found("targets/barge/edge_stretch", 1.35, max=1.3), "barge is drawn stretched"),
        (found("targets/can/size_arcmin/desk", (9.0, 4.0), min=16), "can is drawn too small"),
        (found("pairs/up-away/apart_deg", 0.0, min=15), "up and away are drawn alike"),
        (found("pairs/up-away/swap_m", 2.75, max=1), "up and away are drawn alike"),
        (found("axes/z/arcmin_per_m", 9.0, min=15), "a metre along z is drawn too small"),
        (found("viewing/desk/dfov_deg", 112.5, max=102.6), "the view is too wide"),
        (found("framing/limb_spread", 1.22, max=1.2), "near limbs are drawn too large"),
        (found("gaps/step/verdict", "lies", **{"not": "lies"}), "step lies to the eye"),
        (
            found("twins/lantern/slide/ambiguous", True, **{"is": False}),
            "lantern could stand elsewhere and look the same",
        ),
        (
            found("cues/target:can/light_on_form/grade", "absent", **{"not": "absent"}),
            "light on form tells nothing of can",
        ),
        (
            found("targets/near table/prominence_rank", 3, "stool.1 and stool.4 out-shout near table", max=1),
            "near table is out-shouted by stools",
        ),
        (
            found("targets/near table/prominence_rank", 2, "lamp out-shouts near table", max=1),
            "near table is out-shouted by lamp",
        ),
        (found("viewing/couch/depth_stretch", 3.0, max=2), ""),  # no words of the level
        (found("targets/slung load/seen", None, min=0.6), ""),
        (found("targets/slung load/seen", 0.7, margin=0.1, min=0.6), ""),
    ],
)
def test_what_is_wrong_is_said_of_the_thing(finding: Finding, words: str) -> None:
    assert wrong_words(finding) == words


def test_thing_is_called_as_a_sentence_needs_it() -> None:
    assert wrong_words(found("targets/crate/seen", 0.0, min=0.6), "the crate") == "the crate is out of view"


def test_cues_are_counted_in_words_that_need_no_key() -> None:
    assert told_words(5, 4) == "5 cues tell which is farther, 4 how far"
    assert told_words(1, 0) == "1 cue tells which is farther, none how far"
    assert told_words(0, 0) == "no cue tells which is farther"
