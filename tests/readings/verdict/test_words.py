"""A limit in words: alone, and beside what was found; rounding never contradicts a verdict."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stationpoint.readings.verdict.judge import Finding
from stationpoint.readings.verdict.words import (
    about_reading,
    bounds_of,
    cause_words,
    finding_words,
    limit_words,
    spoken,
)
from stationpoint.study.models import Limit, Study
from study.samples import QUAY, quay

EXTRA = """
[[target]]
name = "door.seen"
at = [0, 0, 0]
role = "secondary"
"""


@pytest.fixture
def study() -> Study:
    return quay(text=QUAY + EXTRA)


def found(path: str, value: Any, margin: float, place: str = "here", **limit: Any) -> Finding:
    names = tuple(path.split("/"))
    bound = Limit.model_validate({"reading": "*.*.*", **limit})
    viewing = names[3] if names[0] == "targets" and len(names) > 3 else None
    return Finding(".".join(names), names, place, viewing, value, bound, margin)


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        ({"reading": "targets.*.seen", "min": 0.6, "role": "primary"}, "primary targets: seen at least 60 %"),
        ({"reading": "targets.*.seen", "min": 0.7}, "all targets: seen at least 70 %"),
        ({"reading": "*.*.seen", "min": 0.405}, "all targets: seen at least 40.5 %"),
        ({"reading": "targets.door.seen.seen", "max": 0.2}, "door.seen: seen at most 20 %"),
        ({"reading": "targets.*.screen_share", "max": 0.005}, "all targets: screen share at most 0.5 %"),
        (
            {"reading": "targets.*.size_px", "min": 10, "max": 40},
            "all targets: size at least 10 px and at most 40 px",
        ),
        (
            {"reading": "cues.gap:two to three.height_in_field.grade", "not": "misleads"},
            "two to three: height in field never misleads",
        ),
        ({"reading": "gaps.two to three.verdict", "not": "lies"}, "two to three: verdict never lies"),
        (
            {"reading": "gaps.*.verdict", "one_of": ["sure", "needs a cue"]},
            "all gaps: verdict sure or needs a cue",
        ),
        ({"reading": "gaps.*.reachable", "is": True}, "all gaps: reachable"),
        ({"reading": "twins.*.slide.ambiguous", "is": False}, "all twins: not ambiguous (slide)"),
        ({"reading": "twins.*.slide.ambiguous", "not": True}, "all twins: not ambiguous (slide)"),
        ({"reading": "pairs.up-away.apart_deg", "min": 15}, "up and away: apart at least 15°"),
        ({"reading": "axes.x.px_per_m", "min": 47.5}, "x: scale at least 47.5 px a metre"),
        (
            {"reading": "planes.ground.worst_arcmin_per_m", "min": 5},
            "ground: worst scale at least 5 arcmin a metre",
        ),
        ({"reading": "framing.headroom", "min": -0.1}, "headroom at least −0.1"),
        ({"reading": "framing.stick_error_deg.camera", "max": 20}, "camera: stick error at most 20°"),
        ({"reading": "false_contacts", "max": 0}, "false contacts at most 0"),
        ({"reading": "gaps.*.height_m", "min": 2, "max": 2}, "all gaps: height exactly 2 m"),
        ({"reading": "gaps.*.height_m", "is": 2}, "all gaps: height exactly 2 m"),
        (
            {"reading": "targets.*.seen", "min": 0.6, "place": "high tide", "level": "should"},
            "all targets: seen at least 60 % (only at high tide, should)",
        ),
        (
            {"reading": "targets.*.size_px.couch", "min": 10, "place": "here"},
            "all targets: size at least 10 px (only at here, only for couch)",
        ),
        (
            {"reading": "targets.*.seen", "min": 0.6, "viewing": "couch"},
            "all targets: seen at least 60 % (only for couch)",
        ),
    ],
)
def test_limit_is_said_with_its_unit_and_where_alone_it_holds(
    study: Study, limit: dict[str, Any], words: str
) -> None:
    assert limit_words(Limit.model_validate(limit), study) == words


@pytest.mark.parametrize(
    ("finding", "words"),
    [
        (found("targets/crate/seen", 0.31, -0.5, min=0.6), "crate: seen 31 %, needs 60 %"),
        (found("gaps/hop/flat_span_m", 4.25, -0.1, max=4.0), "hop: flat span 4.25 m, at most 4 m"),
        (found("gaps/hop/flat_span_m", 1.0, -0.1, min=2, max=4.0), "hop: flat span 1 m, needs 2 m"),
        (found("gaps/hop/flat_span_m", 5.0, -0.1, min=2, max=4.0), "hop: flat span 5 m, at most 4 m"),
        (found("gaps/hop/flat_span_m", 3.9, 0.1, min=2, max=4.0), "hop: flat span 3.9 m, at most 4 m"),
        (
            found("targets/crate/seen", 0.31, -0.5, "high tide", min=0.6),
            "crate: seen 31 %, needs 60 % (high tide)",
        ),
        (
            found("targets/crate/size_px/couch", (40.0, 8.0), -0.2, "high tide", min=10),
            "crate: size 40 px by 8 px, needs 10 px (high tide, couch)",
        ),
        (
            found("viewing/couch/hfov_deg", 50.0, -0.2, min=60),
            "couch: horizontal angle of view 50°, needs 60°",
        ),
        (found("targets/crate/seen", None, -1.0, min=0.6), "crate: seen could not be measured"),
        (found("framing/headroom", 0.03, -0.7, min=0.1), "headroom 0.03, needs 0.1"),
        (
            found("framing/subject_covers/crate", 0.3, -0.5, max=0.2),
            "crate: subject covers 30 %, at most 20 %",
        ),
        (found("framing/ground_far_m", "horizon", -1.0, max=40), "ground far horizon, at most 40 m"),
        (
            found("twins/crate/slide/ambiguous", True, -1.0, **{"is": False}),
            "crate: ambiguous (slide), not allowed",
        ),
        (found("false_contacts", 2, -2.0, max=0), "false contacts 2, at most 0"),
        (
            found("gaps/hop/verdict", "lies", -1.0, one_of=["sure", "needs a cue"]),
            "hop: verdict lies, must be sure or needs a cue",
        ),
        (
            found("cues/gap:hop/cast_shadow/grade", "misleads", -1.0, **{"not": "misleads"}),
            "hop: cast shadow misleads, not allowed",
        ),
    ],
)
def test_limit_is_told_with_what_was_found_and_what_is_needed(finding: Finding, words: str) -> None:
    assert finding_words(finding) == words


@pytest.mark.parametrize(
    ("path", "value", "limit", "words"),
    [
        ("targets/crate/seen", 0.397, {"min": 0.4}, "crate: seen 39.7 %, needs 40 %"),
        ("targets/crate/seen", 0.39996, {"min": 0.4}, "crate: seen 39.996 %, needs 40 %"),
        ("targets/crate/seen", 0.404, {"max": 0.4}, "crate: seen 40.4 %, at most 40 %"),
        ("targets/crate/seen", 0.2899999, {"min": 0.29}, "crate: seen 28.99999 %, needs 29 %"),
        ("gaps/hop/read_ratio", 0.397, {"min": 0.4}, "hop: read ratio 0.397, needs 0.400"),
        ("gaps/hop/read_ratio", 0.397, {"min": 0.39701}, "hop: read ratio 0.397, needs 0.39701"),
        ("gaps/hop/flat_span_m", 120.4, {"max": 120}, "hop: flat span 120.4 m, at most 120.0 m"),
    ],
)
def test_digits_are_added_where_rounding_would_meet_the_bound(
    path: str, value: float, limit: dict[str, float], words: str
) -> None:
    finding = found(path, value, -0.01, **limit)
    assert finding_words(finding) == words


@given(st.floats(0, 1), st.floats(0, 1), st.sampled_from(["targets/crate/seen", "gaps/hop/read_ratio"]))
def test_printed_numbers_are_never_on_the_other_side_of_a_bound(
    value: float, bound: float, path: str
) -> None:
    value, bound = round(value, 5), round(bound, 3)
    for key in ("min", "max"):
        holds = value >= bound if key == "min" else value <= bound
        said = finding_words(found(path, value, 1.0 if holds else -1.0, **{key: bound}))
        numbers = [word.rstrip(",") for word in said.replace("−", "-").split() if word[0].isdigit()]
        assert len(numbers) == 2
        printed, asked = map(float, numbers)
        assert (printed >= asked if key == "min" else printed <= asked) == holds, said


def test_cause_and_reading_are_said_shortly() -> None:
    assert cause_words(found("targets/crate/piece_arcmin/couch", 4.0, -1.0, min=16)) == "crate (piece)"
    assert cause_words(found("framing/headroom", 0.0, -1.0, min=0.1)) == "headroom"
    assert spoken("worst_arcmin_per_m") == "worst scale"
    assert spoken("flat_span_by_body_m") == "flat span by body"


def test_bounds_are_numbers_with_words() -> None:
    both = bounds_of(Limit(reading="x", min=0.2, max=0.8), "share")
    assert both == [("min", 0.2, "at least 20 %"), ("max", 0.8, "at most 80 %")]
    assert bounds_of(Limit(reading="x", min=2, max=2), "m") == [("is", 2.0, "exactly 2 m")]
    assert bounds_of(Limit.model_validate({"reading": "x", "is": True}), "") == []


def test_readings_of_a_damaged_record_have_words_too() -> None:
    # A record from elsewhere may hold a number where a group has names below: there is no field of that path.
    about = about_reading(("twins", "crate"))
    assert (about.whose, about.reading, about.unit) == ("crate", "crate", "")
