"""The one grammar of a reading's path, against what is read of studies whose names are odd."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readings.made import block, body, camera, case, values
from stationpoint.camera.seat import seat_at
from stationpoint.camera.shot import Frame, Shot
from stationpoint.readings.kinds import FIELDS, read, wanted
from stationpoint.readings.paths import complaint, field_at, kinds_of, meant, paths_of, spelling
from stationpoint.readings.types import Case, Path, Reading, Result, Value
from stationpoint.readings.verdict.judge import judge_all
from stationpoint.study.models import Limit

# Names that a path could be confused by: dots, stars, names of readings and groups, of the other things.
ODD = (
    "crate",
    "door.seen",
    "door",
    "seen",
    "a.size_px",
    "a",
    "*",
    "s*",
    "x.*",
    "gap:a",
    "targets",
    ".",
    "cra?e",
)
VIEWINGS = ("couch", "seen", "size_px", "a.b")


@lru_cache(maxsize=64)
def made(targets: tuple[str, ...], gaps: tuple[str, ...], viewings: tuple[str, ...]) -> Case:
    """A study with these names, one target of each role in turn, in a picture of few pixels."""
    roles = ("primary", "secondary", "tertiary")
    nodes = (block("floor", (0, -1, 0), (30, 1, 30)), block("box", (1, 0, -2), (1, 1, 1)))
    look: dict[str, Any] = {"diagonal_in": 24, "pixels": [1920, 1080], "eye_distance_m": 0.6}
    return case(
        camera(anchor=(0, 1, 0)), *nodes, body((0, 0, 0), "me"),
        subject={"name": "me", "at": (0, 0, 0)},
        target=[{"name": name, "node": "box", "role": roles[k % 3]} for k, name in enumerate(targets)],
        gap=[{"name": name, "from": (0, 0, 0), "to": (0, 0, -4), "landing": "floor"} for name in gaps],
        viewing=[{"name": name, **look} for name in viewings],
        at=[seat_at(name, 24, (1920, 1080), 0.6) for name in viewings],
        cell=(16, 9),
    )  # fmt: skip


@lru_cache(maxsize=64)
def read_of(of: Case) -> dict[Path, Value]:
    """All readings, of frames in which nothing is to be seen: which there are depends on no frame."""
    return read(of, {name: empty(shot) for name, shot in wanted(of).items()}).values


def empty(shot: Shot) -> Frame:
    wide, high = shot.camera.pixels
    none = np.zeros((high, wide), np.uint32)
    return Frame(np.zeros((high, wide, 3), np.uint8), np.full((high, wide), np.inf, np.float32), none, none)


NAMES = st.lists(st.sampled_from(ODD), max_size=3, unique=True).map(tuple)
CASES = st.builds(
    made, NAMES, NAMES, st.lists(st.sampled_from(VIEWINGS), min_size=1, max_size=2, unique=True).map(tuple)
)
WORDS = st.sampled_from(
    [
        *(
            "targets",
            "gaps",
            "twins",
            "cues",
            "framing",
            "viewing",
            "axes",
            "x",
            "slide",
            "*",
            "seen",
            "role",
        ),
        *("grade", "size_px", "occlusion", "level", "verdict", "subject_covers", "headroom", "cr*", "", "?"),
        *ODD,
        *VIEWINGS,
    ]
)


@st.composite
def patterns(draw: st.DrawFn, of: Case) -> str:
    """A path of the study with names put in place of others, or left out, or words in any order."""
    parts = list(draw(st.sampled_from(sorted(read_of(of)))))
    for k in range(len(parts)):
        if draw(st.integers(0, 3)) == 0:
            parts[k] = draw(st.one_of(st.just("*"), WORDS))
    if draw(st.booleans()):
        parts = parts[:-1] if draw(st.booleans()) else parts
    if draw(st.integers(0, 5)) == 0:
        parts = draw(st.lists(WORDS, min_size=1, max_size=4))
    return ".".join(parts) or "*"


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_check_accepts_a_pattern_if_and_only_if_judge_finds_something(data: st.DataObject) -> None:
    of = data.draw(CASES)
    pattern = data.draw(patterns(of))
    # a test that any value meets but a null, which fails it: whatever is found is a finding
    limit = Limit.model_validate({"reading": pattern, "not": "no such word", "level": "should"})
    study = of.study.model_copy(update={"limit": (limit.model_copy(update={"level": "must"}),)})
    result = Result(of.variant, of.place, of.setup, Reading(read_of(of)), of.seats, of.picture)
    said = complaint(pattern, study)
    if said is None:
        assert judge_all([result], study)["A1"].binds is not None
    else:
        assert said.endswith((".", "?"))
        told = study.model_copy(update={"limit": (limit,)})
        verdict = judge_all([result], told)["A1"]
        assert (verdict.binds, verdict.failed, verdict.told) == (None, (), ())
        assert meant(pattern, read_of(of)) == {}


@settings(max_examples=30, deadline=None)
@given(CASES)
def test_the_paths_that_a_study_has_are_those_that_are_read(of: Case) -> None:
    assert set(paths_of(of.study)) == set(read_of(of))


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_a_path_joined_by_dots_means_itself_or_is_refused_for_two_ways_to_read_it(
    data: st.DataObject,
) -> None:
    of = data.draw(CASES)
    path = data.draw(st.sampled_from(sorted(read_of(of))))
    found, said = meant(".".join(path), read_of(of)), complaint(".".join(path), of.study)
    if said is None:
        assert path in found
        assert "*" in ".".join(path) or set(found) == {path}
    else:
        assert "it can be read as " in said


@pytest.mark.parametrize(
    ("pattern", "path", "names"),
    [
        ("targets.crate.seen", ("targets", "crate", "seen"), ("targets", "crate", "seen")),
        ("*.*.seen", ("targets", "crate", "seen"), ("*", "*", "seen")),
        ("targets.*.seen", ("targets", "door.seen", "seen"), ("targets", "*", "seen")),
        ("targets.*.seen", ("targets", "door.seen", "role"), None),
        ("targets.door.seen", ("targets", "door.seen", "seen"), None),
        ("targets.door.seen", ("targets", "door", "seen"), ("targets", "door", "seen")),
        ("targets.door.seen.*", ("targets", "door.seen", "role"), ("targets", "door.seen", "*")),
        ("targets.*.size_px", ("targets", "crate", "size_px", "couch"), ("targets", "*", "size_px")),
        ("targets.*.size_px.c*", ("targets", "crate", "size_px", "couch"), None),
        ("targets.crat?.seen", ("targets", "crate", "seen"), None),
        ("framing.stick_error_deg", ("framing", "stick_error_deg", "camera"), None),
        ("viewing.couch", ("viewing", "couch", "hfov_deg"), None),
        ("targets", ("targets", "crate", "seen"), None),
        ("*", ("false_contacts",), ("*",)),
    ],
)
def test_a_star_is_one_whole_name_and_a_name_may_hold_dots(
    pattern: str, path: Path, names: Path | None
) -> None:
    assert spelling(pattern, path) == names


def test_a_pattern_that_can_be_divided_in_two_ways_means_neither_and_says_so() -> None:
    of = made(("a", "a.size_px"), (), ("seen",))
    assert meant("targets.a.size_px.seen", read_of(of)) == {}
    assert complaint("targets.a.size_px.seen", of.study) == (
        "it can be read as targets > a > size_px > seen and as targets > a.size_px > seen; "
        "give what has a dot in its name another one."
    )
    assert set(meant("targets.*.seen", read_of(of))) == {
        ("targets", "a", "seen"),
        ("targets", "a.size_px", "seen"),
    }


def test_only_the_families_that_hold_a_reading_are_measured_for_it() -> None:
    assert kinds_of([("targets", "a", "seen"), ("targets", "a", "size_px", "couch")]) == {
        "visibility",
        "size",
    }
    assert kinds_of([("framing", "subject_covers", "a")]) == {"covers"}


def test_each_field_says_what_its_values_are() -> None:
    of = made(("crate", "door"), ("hop",), ("couch",))
    seen = set()
    for path, value in values(of).items():
        field = field_at(path)
        assert field is not None, path
        seen.add(field.path)
        if value is None:
            continue
        kinds = {
            "number": type(value) in (int, float) or (isinstance(value, str) and value in field.words),
            "numbers": isinstance(value, tuple),
            "word": isinstance(value, str) and (not field.words or value in field.words),
            "flag": isinstance(value, bool),
            "word or false": isinstance(value, str) or value is False,
            "groups": isinstance(value, tuple),
            "shares by node": isinstance(value, dict),
        }
        assert kinds[field.holds], (path, value, field.holds)
        if field.unit == "share" and isinstance(value, float):
            assert 0.0 <= value <= 1.0, path
    # with one subject there are no subjects.NAME
    assert seen == {field.path for field in FIELDS if field.path[0] != "subjects"}
