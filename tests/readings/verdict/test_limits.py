"""What a limit may bound: readings that the study has, by what they can be; and what nothing can fail."""

from __future__ import annotations

import pytest

from stationpoint.readings.verdict.limits import limit_complaints, limit_notes
from study.samples import QUAY, quay


def said(extra: str, *overrides: str, **axes: str) -> list[str]:
    return list(limit_complaints(quay(*overrides, text=QUAY + extra, **axes)))


def said_of(reading: str, *words: str) -> list[str]:
    """What is said of a limit on one reading, without its own name."""
    test = "\n".join(words or ("if_absent = 'skip'", "min = 0.5"))
    found = said(f"[[limit]]\nreading = '{reading}'\n{test}\n")
    start = f'limit "{reading}": '
    assert all(line.startswith(start) for line in found)
    return [line.removeprefix(start) for line in found]


WORD = ('is = "reads"',)
FLAG = ("is = false",)


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ("targets.*.seen", ()),
        ("targets.barge three.seen", ()),
        ("*.barge three.seen", ()),
        ("*.*.seen", ()),
        ("targets.*.size_px", ()),
        ("targets.*.size_px.couch", ()),
        ("targets.barge two.size_px.*", ()),
        ("gaps.two to three.verdict", ('not = "lies"',)),
        ("axes.x.px_per_m", ()),
        ("axes.*.px_per_m", ()),
        ("cues.gap:two to three.occlusion.grade", WORD),
        ("cues.*.occlusion.grade", WORD),
        ("cues.*.*.grade", WORD),
        ("framing.horizon_y", ()),
        ("framing.stick_error_deg.camera", ()),
        ("framing.stick_error_deg.*", ()),
        ("framing.subject_covers.barge three", ()),
        ("false_contacts", ("max = 0",)),
        ("twins.*.slide.ambiguous", FLAG),
        ("twins.*.*.ambiguous", FLAG),
        ("twins.barge two.mirror.ambiguous", FLAG),
        ("framing.ground_far_m", ('is = "horizon"',)),
    ],
)
def test_limit_on_a_known_reading_is_accepted(reading: str, words: tuple[str, ...]) -> None:
    assert said_of(reading, *words) == []


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ("targets.*.sean", "that is not a reading; did you mean `targets.*.seen`?"),
        ("seen", "that is not a reading; did you mean `targets.*.seen`?"),
        ("*.sean", "that is not a reading; did you mean `targets.*.seen`?"),
        ("targets.*.s*n", "that is not a reading; did you mean `targets.*.seen`?"),
        ("qqq", "that is not a reading; docs/readings.md lists them."),
        (
            "targets.barge thre.seen",
            "`barge thre` is not a name under targets in this study; did you mean `barge three`?",
        ),
        (
            "targets.barge*.seen",
            "`barge*` is no name, and * stands for a whole one only; did you mean `targets.*.seen`?",
        ),
        (
            "targets.barge thre?.seen",
            "`barge thre?` is no name, and * stands for a whole one only; "
            "did you mean `targets.barge three.seen`?",
        ),
        (
            "twins.*.sl*.ambiguous",
            "`sl*` is no name, and * stands for a whole one only; did you mean `twins.*.slide.ambiguous`?",
        ),
        (
            "targets.*.size_px.coach",
            "`coach` is not a name under viewing in this study; did you mean `couch`?",
        ),
        ("framing.stick_error_deg", "that is not a reading; did you mean `framing.stick_error_deg.*`?"),
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
    assert said_of(reading) == [words]


def test_limit_on_all_targets_of_a_study_without_targets_is_refused() -> None:
    study = quay(text='scene = "quay.toml"\n[[limit]]\nreading = "targets.*.seen"\nmin = 1\n')
    assert list(limit_complaints(study)) == [
        'limit "targets.*.seen": the study has no [[target]], so there is no such reading; add one, or take '
        "this out."
    ]


def test_role_that_leaves_nothing_to_judge_is_said() -> None:
    assert said_of("targets.*.seen", "min = 0.5", 'role = "primary"') == []
    assert said_of("axes.x.px_per_m", "min = 0.5", 'role = "primary"') == [
        "role narrows a limit on targets, and this reading is about none; take it out."
    ]
    assert said_of("targets.barge three.seen", "min = 0.5", 'role = "tertiary"') == [
        "it is about no tertiary target; give it another role, or leave role out."
    ]


def test_places_and_viewings_of_limits_exist_and_are_drawn() -> None:
    assert said_of("gaps.*.verdict", 'not = "lies"', 'place = "low tide"', 'viewing = "couhc"') == [
        "`couhc` is not a viewing of the study; did you mean `couch`?",
        "`low tide` is not a place of the study; known: `here` and `high tide`.",
    ]
    at_high = '[[limit]]\nreading = "axes.x.px_per_m"\nmin = 1\nplace = "high tide"\n'
    assert said(at_high) == []
    assert said(at_high, rows="place=here,here") == [
        'limit "axes.x.px_per_m": `high tide` is not a place of the study; known: `here`.'
    ]


def test_viewing_beside_a_path_that_names_another_is_said() -> None:
    desk = '[[viewing]]\nname = "desk"\ndiagonal_in = 24\npixels = [1920, 1080]\neye_distance_m = 0.6\n'
    limit = '[[limit]]\nreading = "targets.*.size_px.desk"\nmin = 9\nviewing = "couch"\n'
    assert said(desk + limit) == [
        'limit "targets.*.size_px.desk": it names another viewing than "couch"; leave viewing out.'
    ]


@pytest.mark.parametrize(
    ("bound", "words"),
    [
        ("min = 90", "and min is 90; did you mean 0.9, which is 90 %?"),
        ("max = 2", "and max is 2; did you mean 0.02, which is 2 %?"),
        ("is = 100", "and is is 100; did you mean 1, which is 100 %?"),
        ("min = -0.1", "and min is -0.1; give a fraction, such as 0.9 for 90 %."),
        ("max = 250", "and max is 250; give a fraction, such as 0.9 for 90 %."),
    ],
)
def test_bound_that_no_share_reaches_is_refused_with_the_one_that_is_meant(bound: str, words: str) -> None:
    assert said_of("targets.*.seen", bound) == [
        f"`targets.*.seen` is a share, which lies between 0 and 1, {words}"
    ]


@pytest.mark.parametrize("bound", ["min = 0", "max = 1", "min = 0\nmax = 1"])
def test_bound_that_every_share_meets_is_told_and_no_mistake(bound: str) -> None:
    extra = f'[[limit]]\nreading = "targets.*.seen"\n{bound}\n'
    assert said(extra) == []
    (note,) = limit_notes(quay(text=QUAY + extra))
    assert note.startswith('limit "targets.*.seen": every share is at ')
    assert "holds whatever is measured" in note


@pytest.mark.parametrize(
    "limit",
    [
        'reading = "targets.*.seen"\nmin = 0.01',
        'reading = "targets.*.seen"\nmin = 0\nmax = 0.5',
        'reading = "framing.headroom"\nmin = 0',
        'reading = "gaps.*.scale_ratio"\nmax = 1',
    ],
)
def test_bound_that_a_value_can_miss_is_not_told(limit: str) -> None:
    assert list(limit_notes(quay(text=f"{QUAY}[[limit]]\n{limit}\n"))) == []


@pytest.mark.parametrize(
    ("reading", "test", "words"),
    [
        ("gaps.*.verdict", "min = 1", "is a word; use is, not or one_of with text."),
        ("gaps.*.verdict", "is = true", "is a word; use is, not or one_of with text."),
        ("gaps.*.reachable", 'is = "yes"', "is true or false; use is or not with true or false."),
        ("targets.*.seen", "is = true", "is a number; use min, max, is, not or one_of with numbers."),
        ("targets.*.size_px", "is = 3", "is several numbers; use min and max, which bind the worst of them."),
        ("targets.*.hidden_by", "max = 0.5", "is a list of nodes; no limit can bound it; bound `seen`."),
        ("false_contacts", "is = 0", "is a list; use min and max, which bind how many there are."),
    ],
)
def test_test_that_a_reading_cannot_meet_or_miss_is_refused(reading: str, test: str, words: str) -> None:
    (line,) = said_of(reading, test)
    assert line.endswith(words)


def test_word_that_a_reading_never_is_is_refused_with_the_nearest() -> None:
    assert said_of("gaps.*.verdict", 'not = "lie"') == [
        "`lie` is not a word that gaps.*.verdict can be; did you mean `lies`?"
    ]
