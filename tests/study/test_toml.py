"""A study written as TOML reads back as the same study."""

from __future__ import annotations

import tomllib

from hypothesis import given, settings
from hypothesis import strategies as st

from stationpoint.study.file import study_from_text
from stationpoint.study.models import (
    CameraFields,
    Gap,
    Jump,
    Limit,
    Place,
    Study,
    Subject,
    Sweep,
    Target,
    Viewing,
)
from stationpoint.study.toml import study_text, toml_value
from study.samples import QUAY, quay

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=12)
NUMBERS = st.floats(-1e5, 1e5)
POINTS = st.tuples(NUMBERS, NUMBERS, NUMBERS)
LENGTHS = st.floats(1e-3, 1e4)
CAMERAS = st.one_of(
    st.builds(CameraFields),
    st.builds(
        CameraFields, focal_mm=LENGTHS, pitch_deg=st.floats(-90, 90), aspect=st.sampled_from(["16:9", "2.39"])
    ),
    st.builds(
        CameraFields,
        projection=st.just("oblique"),
        oblique_ratio=st.sampled_from(["cavalier", 0.3]),
        offset=st.tuples(NUMBERS, NUMBERS),
        offset_by=st.sampled_from(["slide", "turn", "shift"]),
    ),
    st.builds(CameraFields, from_=st.just("level.glb#A b")),
)
GAPS = st.builds(
    Gap,
    name=TEXTS,
    from_=st.just((0, 0, 0)),
    to=st.tuples(NUMBERS, NUMBERS, LENGTHS),
    jump=st.builds(Jump, speed_mps=LENGTHS, apex_m=LENGTHS) | st.none(),
)
LIMITS = st.builds(
    Limit, reading=TEXTS, is_=TEXTS | st.booleans() | NUMBERS, why=TEXTS, place=TEXTS | st.none()
)
PLACES = st.builds(
    Place, name=TEXTS.filter(lambda name: name != "here"), move=st.dictionaries(TEXTS, POINTS, max_size=3)
)
SWEEPS = st.builds(
    Sweep,
    rows=st.just({"offset": ((0, 0), (0.1, 0)), "offset_by": ("slide", "turn")}),
    columns=st.dictionaries(st.sampled_from(["yaw_deg", "place"]), st.just(()), max_size=0),
    pages=st.builds(lambda values: {"yaw_deg": tuple(values)}, st.lists(NUMBERS, min_size=1, max_size=4)),
    hold=st.sampled_from(["nothing", "subject-height"]),
)


def by_name(entries: st.SearchStrategy[object]) -> st.SearchStrategy[tuple[object, ...]]:
    return st.lists(entries, max_size=3, unique_by=lambda entry: entry.name).map(tuple)  # type: ignore[attr-defined]


STUDIES = st.builds(
    Study,
    title=st.just("") | TEXTS,
    scene=TEXTS,
    aids=st.lists(st.sampled_from(["ground-texture", "cast-shadow"]), max_size=2).map(tuple),
    subject=st.none() | st.builds(Subject, name=TEXTS, at=POINTS) | st.just(Subject()),
    target=by_name(st.builds(Target, name=TEXTS, nodes=st.tuples(TEXTS, TEXTS), with_=st.tuples(TEXTS))),
    gap=by_name(GAPS),
    place=by_name(PLACES),
    camera=CAMERAS,
    sweep=SWEEPS,
    viewing=by_name(
        st.builds(
            Viewing,
            name=TEXTS,
            diagonal_in=st.floats(1, 100),
            pixels=st.tuples(st.integers(1, 16384), st.integers(1, 16384)),
            eye_distance_m=st.floats(0.1, 10),
        )
    ),
    limit=st.lists(LIMITS, max_size=2).map(tuple),
)


@settings(max_examples=80, deadline=None)
@given(STUDIES)
def test_text_of_any_study_reads_back_as_the_same_study(study: Study) -> None:
    again = study_from_text(study_text(study), "again")
    assert again == study
    assert study_text(again) == study_text(study)


def test_quay_is_written_as_a_person_would_write_it() -> None:
    text = study_text(quay())
    assert tomllib.loads(text) == tomllib.loads(QUAY)
    assert '\n[[gap]]\nname = "two to three"\nfrom = [4.2, 0.8, -3]\n' in text
    assert "\nmove = { barge-3 = [0, 1, 0] }\n" in text
    assert "\ncolumns = { focal_mm = [24, 35, 50, 85] }\n" in text


def test_what_was_written_as_by_default_is_still_written() -> None:
    study = quay("camera.near_m=0.1")
    assert "near_m = 0.1" in study_text(study)
    again = study_from_text(study_text(study), "again")
    assert "near_m" in again.camera.model_fields_set


def test_values_are_valid_toml() -> None:
    odd = {"a b": 'say "x"\n\t\x7f\x01\\', "c": [1.0, 1e-7, 1e300, -0.5, True], "d": {}}
    assert tomllib.loads(f"v = {toml_value(odd)}") == {"v": odd}


def test_comments_stand_beside_a_key_once_and_change_nothing() -> None:
    text = study_text(quay(), {"camera": "the base", "target.name": "as you like", "title": "a question"})
    assert text.count("# as you like") == text.count("# the base") == text.count("# a question") == 1
    assert study_from_text(text, "again") == quay()
