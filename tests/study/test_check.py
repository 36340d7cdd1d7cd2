"""What a study names must exist: in its scene, in itself, among the readings."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from stationpoint.study.check import check
from study.samples import QUAY, quay
from study.scenes import quay_scene


@dataclass(frozen=True)
class Known:
    path: tuple[str, ...]


FIELDS = [
    Known(("targets", "*", "seen")),
    Known(("targets", "*", "size_px", "*")),
    Known(("gaps", "*", "verdict")),
    Known(("axes", "*", "px_per_m")),
    Known(("cues", "*", "occlusion", "grade")),
    Known(("framing", "horizon_y")),
    Known(("framing", "stick_error_deg", "*")),
    Known(("framing", "subject_covers", "*")),
    Known(("twins", "*", "*", "ambiguous")),
]


def said(extra: str = "", *overrides: str, **axes: str) -> list[str]:
    return check(quay(*overrides, text=QUAY + extra, **axes), quay_scene(), FIELDS)


def test_study_whose_names_all_exist_has_no_complaints() -> None:
    assert said() == []


def test_names_that_the_scene_lacks_are_said_with_the_nearest_node() -> None:
    assert said(
        "",
        "target.barge three.node=barge-33",
        "target.barge two.nodes=boats-*",
        'target.barge three.with=["plint-3"]',
        'target.barge three.like=["barge four", "barge three"]',
        "gap.two to three.landing=barg-3",
        'place.high tide.move={ "bridge-*" = [0, 1, 0] }',
    ) == [
        'target "barge three": node: `barge-33` is not a node of the scene; did you mean `barge-3`?',
        'target "barge three": with: `plint-3` is not a node of the scene; did you mean `plinth-3`?',
        'target "barge three": like: `barge four` is not another target, nor a node of the scene; '
        "did you mean `barge two`?",
        'target "barge three": like names the target itself; name another one.',
        'target "barge two": nodes: "boats-*" matches no node of the scene.',
        'gap "two to three": landing: `barg-3` is not a node of the scene; did you mean `barge-3`?',
        'place "high tide": move: "bridge-*" matches no node of the scene.',
    ]


def test_subject_is_a_node_or_has_a_name_of_its_own() -> None:
    assert said("", "subject.node=barge-9") == [
        "subject: node: `barge-9` is not a node of the scene; did you mean `barge-3`?"
    ]
    assert said("", "subject.name=barge-1") == [
        'subject: the scene has a node that is called "barge-1" too; say node = "barge-1" if that is the '
        "subject, or give the subject another name."
    ]
    assert said("", "subject.node=barge-1", "subject.name=barge-1") == []


def test_places_and_viewings_on_axes_and_in_limits_exist() -> None:
    assert said(
        'place = "low tide"\nviewing = "couhc"\n', rows="place=here,hihg tide", columns="viewing=desk"
    ) == [
        "sweep: rows: `hihg tide` is not a place of the study; did you mean `high tide`?",
        "sweep: columns: `desk` is not a viewing of the study; known: `couch`.",
        'limit "gaps.*.verdict": `low tide` is not a place of the study; known: `here` and `high tide`.',
        'limit "gaps.*.verdict": `couhc` is not a viewing of the study; did you mean `couch`?',
    ]


@pytest.mark.parametrize(
    "reading",
    [
        "targets.*.seen",
        "targets.barge three.seen",
        "targets.barge*.seen",
        "*.seen",
        "targets.*.size_px",
        "targets.*.size_px.couch",
        "targets.barge two.size_px.*",
        "gaps.two to three.verdict",
        "axes.x.px_per_m",
        "axes.*.px_per_m",
        "cues.gap:two to three.occlusion.grade",
        "cues.*.occlusion.grade",
        "framing.horizon_y",
        "framing.stick_error_deg",
        "framing.stick_error_deg.camera",
        "framing.stick_error_deg.*",
        "framing.subject_covers.barge three",
        "framing.subject_covers.gap:two to three",
        "twins.*.slide.ambiguous",
        "twins.barge two.mirror.ambiguous",
    ],
)
def test_limit_on_a_known_reading_is_accepted(reading: str) -> None:
    assert said(f'[[limit]]\nreading = "{reading}"\nmin = 1\n') == []


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ("targets.*.sean", "that is not a reading; did you mean `targets.*.seen`?"),
        ("seen", "that is not a reading; did you mean `targets.*.seen`?"),
        ("qqq", "that is not a reading; docs/readings.md lists them."),
        (
            "targets.barge thre.seen",
            "`barge thre` is not a name under targets in this study; did you mean `barge three`?",
        ),
        (
            "targets.*.size_px.coach",
            "`coach` is not a name under viewing in this study; did you mean `couch`?",
        ),
        (
            "framing.stick_error_deg.couch",
            "`couch` is not a name under framing.stick_error_deg in this study; known: `camera` and `world`.",
        ),
        (
            "framing.subject_covers.barge thre",
            "`barge thre` is not a name under framing.subject_covers in this study; "
            "did you mean `barge three`?",
        ),
        (
            "twins.barge thre.slide.ambiguous",
            "`barge thre` is not a name under twins in this study; did you mean `barge three`?",
        ),
        (
            "twins.*.glide.ambiguous",
            "`glide` is not a name under twins.* in this study; did you mean `slide`?",
        ),
        (
            "cues.gap:two to thre.occlusion.grade",
            "`gap:two to thre` is not a name under cues in this study; did you mean `gap:two to three`?",
        ),
        ("axes.w.px_per_m", "`w` is not a name under axes in this study; known: `x`, `y` and `z`."),
    ],
)
def test_limit_on_an_unknown_reading_is_said_with_the_nearest(reading: str, words: str) -> None:
    assert said(f'[[limit]]\nreading = "{reading}"\nmin = 1\n') == [f'limit "{reading}": {words}']


def test_role_on_a_reading_that_is_about_no_target_is_said() -> None:
    limit = '[[limit]]\nreading = "{}"\nmin = 1\nrole = "primary"\n'
    assert said(limit.format("targets.*.seen")) == []
    assert said(limit.format("axes.x.px_per_m")) == [
        'limit "axes.x.px_per_m": role narrows a limit on targets, and this reading is about none; '
        "take it out."
    ]


def test_limit_on_all_targets_of_a_study_without_targets_is_no_mistake() -> None:
    study = quay(text='scene = "quay.toml"\n[[limit]]\nreading = "targets.*.seen"\nmin = 1\n')
    assert check(study, quay_scene(), FIELDS) == []
