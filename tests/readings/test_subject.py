"""The subject read as a target is, the must that a silent brief is given, and gaps that nobody sees."""

from __future__ import annotations

import pytest

from readings.made import COUCH, block, body, camera, case, square, values
from stationpoint.readings.types import Case, Result
from stationpoint.readings.verdict.judge import judge
from stationpoint.readings.verdict.limits import ASSUMED, limit_complaints, with_assumed
from stationpoint.readings.verdict.words import brief_words
from stationpoint.scene.edit import stand_in
from stationpoint.study import Study

# Eye (0, 0, 10) to the origin: a square at z 5 covers twice its size at z 0.
EYE = camera(pitch=0, distance=10, focal=36, pixels=(1280, 720))
PLATE = square("plate", (-1, 1), (-1, 1), 0)
SUBJECT = {"name": "hopper", "node": "plate"}
CELL = (320, 180)


def _subject(made: Case) -> dict[str, object]:
    return {path[1]: value for path, value in values(made).items() if path[0] == "subject" and len(path) > 1}


def test_subject_is_read_like_a_target_of_the_same_node() -> None:
    wall = square("wall", (0, 2), (-2, 2), 5)
    made = case(EYE, PLATE, wall, subject=SUBJECT, target=[{"name": "t", "node": "plate"}], cell=CELL)
    found = values(made)
    of_target = {path[2:]: value for path, value in found.items() if path[:2] == ("targets", "t")}
    of_subject = {path[1:]: value for path, value in found.items() if path[0] == "subject"}
    kept = of_target.keys() - {("role",)}
    assert of_subject.keys() == kept
    assert {key: of_subject[key] for key in kept} == {key: of_target[key] for key in kept}


def test_half_hidden_subject_is_half_seen_and_says_by_what() -> None:
    # By hand: the wall covers x from 0 at z 0, half of the plate; quantum as for targets.
    found = _subject(case(EYE, PLATE, square("wall", (0, 2), (-2, 2), 5), subject=SUBJECT, cell=CELL))
    assert found["seen"] == pytest.approx(0.5, abs=0.51 / 89)
    hidden = found["hidden_by"]
    assert isinstance(hidden, dict)
    assert hidden == {"wall": pytest.approx(0.5, abs=0.51 / 89)}


def test_stand_in_has_the_same_readings() -> None:
    made = case(
        EYE, body((0, -0.85, 0), "hopper"), subject={"name": "hopper", "at": (0, -0.85, 0)}, cell=CELL
    )
    found = _subject(made)
    assert found["seen"] == 1.0
    assert found["depth_m"] == pytest.approx(10.0)
    assert found["hidden_by"] == {}


@pytest.mark.parametrize(("heading", "across_m"), [(0, 0.32 * 1.7), (90, (0.152 + 2 * 0.02) * 1.7)])
def test_a_figure_is_drawn_as_wide_as_its_shoulders_and_stance_make_it(
    heading: float, across_m: float
) -> None:
    # By hand: 8 m over 1080 px are 135 px a metre, from the front and from the side; 1.7 m high.
    front = camera("orthographic", pitch=0, height=8)
    figure = stand_in("hopper", (1, 0, 0), 1.7, heading)
    subject = {"name": "hopper", "at": (1, 0, 0), "heading_deg": heading}
    found = values(case(front, figure, subject=subject))["subject", "size_px", "couch"]
    assert found == pytest.approx((across_m * 135, 1.7 * 135), rel=1e-5)


def test_study_without_a_subject_has_null_for_the_group() -> None:
    found = values(case(EYE, PLATE, target=[{"name": "t", "node": "plate"}], cell=CELL))
    assert found["subject",] is None
    assert not any(path[0] == "subject" and len(path) > 1 for path in found)


def _study(*limits: dict[str, object], subject: dict[str, object] | None = SUBJECT) -> Study:
    given = {"scene": "made.toml", "target": [{"name": "t", "node": "plate"}], "limit": list(limits)}
    return Study.model_validate(given | ({"subject": subject} if subject else {}))


OTHER = {"reading": "targets.t.seen", "min": 0.5}


def test_brief_that_says_nothing_of_the_subject_is_given_a_must() -> None:
    study = with_assumed(_study(OTHER))
    assert study.limit[-1] == ASSUMED
    assert brief_words(study)[-1] == "subject: seen at least 25 % (assumed)"


@pytest.mark.parametrize(
    "study",
    [
        _study(),  # no brief
        _study(OTHER, {"reading": "subject.in_frame", "min": 0.5}),
        _study(OTHER, {"reading": "*.seen", "min": 0.1}),
        _study(OTHER, subject=SUBJECT | {"may_hide": True}),
        _study(OTHER, subject=None),
    ],
    ids=["no brief", "a limit of its own", "a limit of all groups", "may hide", "no subject"],
)
def test_nothing_is_assumed_otherwise(study: Study) -> None:
    assert with_assumed(study) == study


def test_limit_on_a_subject_that_is_not_there_is_refused_with_the_cure() -> None:
    (said,) = limit_complaints(_study({"reading": "subject.seen", "min": 0.5}, subject=None))
    assert "the study shows no subject" in said
    assert "add a [subject]" in said


def test_camera_that_hides_the_subject_fails_the_assumed_must() -> None:
    wall = square("wall", (-2, 2), (-2, 2), 5)
    made = case(EYE, PLATE, wall, subject=SUBJECT, target=[{"name": "w", "node": "wall"}], cell=CELL)
    limits = Study.model_validate(
        {
            "scene": "s.toml",
            "target": [{"name": "w", "node": "wall"}],
            "limit": [{**OTHER, "reading": "targets.w.seen"}],
        }
    ).limit
    verdict = judge([_result(made)], with_assumed(made.study.model_copy(update={"limit": limits})))
    assert verdict is not None
    assert not verdict.holds
    assert [found.reading for found in verdict.failed] == ["subject.seen"]


FROM, TO = (4.2, 0.8, -3.0), (4.2, 0.8, -7.1)
HOP = {"name": "hop", "from": FROM, "to": TO, "reach_m": 3.4}
DECKS = (block("barge-2", (4.2, 0, -3.0), (2, 0.8, 1.2)), block("barge-3", (4.2, 0, -7.1), (2, 0.8, 1.2)))
BEHIND_DECK_TWO = block("screen", (4.2, 0.0, -5.0), (12, 3.0, 0.2))  # stands between the decks, 3 m high


def _gap_case(*nodes: object, **camera_words: object) -> Case:
    view = camera(**({"anchor": FROM} | camera_words))  # type: ignore[arg-type]
    return case(view, *DECKS, *nodes, gap=[HOP], at=[COUCH], subject={"at": FROM}, cell=CELL)  # type: ignore[arg-type]


def _result(made: Case) -> Result:
    from stationpoint.readings.types import Reading

    return Result(made.variant, made.place, made.setup, Reading(values(made)), made.seats, made.picture)


def test_gap_whose_landing_is_hidden_is_unseen_and_no_cue_of_it_counts() -> None:
    # Eye 2.7 m over the deck at 7.5 m from the take-off; a screen of 3 m hides all behind it at pitch 20.
    assert values(_gap_case())["gaps", "hop", "verdict"] != "unseen"
    found = values(_gap_case(BEHIND_DECK_TWO, body(FROM)))
    assert found["gaps", "hop", "landing_seen"] == 0.0
    assert found["gaps", "hop", "verdict"] == "unseen"
    grades = {path[2]: value for path, value in found.items() if path[0] == "cues" and path[-1] == "grade"}
    assert len(grades) == 10
    assert set(grades.values()) == {"absent"}


def test_gap_whose_take_off_is_off_the_picture_is_unseen() -> None:
    # Aimed at a spot 40 m aside, of which 8 m away a picture 8.2 m wide is seen.
    made = _gap_case(anchor=(44.2, 0.8, -3.0))
    assert values(made)["gaps", "hop", "verdict"] == "unseen"


@pytest.mark.parametrize(
    ("limit", "holds"),
    [
        ({"not": "lies"}, False),
        ({"not": "lies", "if_absent": "skip"}, True),
        ({"one_of": ["sure", "needs a cue"]}, False),
        ({"one_of": ["sure", "unseen"]}, True),
        ({"not": "unseen"}, False),
        ({"is": "unseen"}, True),
    ],
)
def test_limit_on_a_verdict_fails_by_unseen_unless_it_says_otherwise(
    limit: dict[str, object], holds: bool
) -> None:
    made = _gap_case(BEHIND_DECK_TWO, body(FROM))
    limits = Study.model_validate(
        {"scene": "s.toml", "gap": [HOP], "limit": [{"reading": "gaps.hop.verdict", **limit}]}
    ).limit
    verdict = judge([_result(made)], made.study.model_copy(update={"limit": limits}))
    assert verdict is not None
    assert verdict.holds is holds
