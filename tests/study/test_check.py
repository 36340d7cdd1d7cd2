"""What a study names must exist: in its scene, in itself."""

from __future__ import annotations

from stationpoint.study.check import check_study
from study.samples import QUAY, quay
from study.scenes import quay_scene


def said(extra: str = "", *overrides: str, **axes: str) -> list[str]:
    return check_study(quay(*overrides, text=QUAY + extra, **axes), quay_scene())


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


def test_places_and_viewings_on_axes_exist() -> None:
    assert said(rows="place=here,hihg tide", columns="viewing=desk") == [
        "sweep: rows: `hihg tide` is not a place of the study; did you mean `high tide`?",
        "sweep: columns: `desk` is not a viewing of the study; known: `couch`.",
    ]
