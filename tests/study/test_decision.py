"""A decision in a study: what it may say, how it finds its variant, and a text changed in nothing else."""

from __future__ import annotations

import tomllib
from datetime import date

import pytest

from stationpoint.base.errors import StudyWrong
from stationpoint.study.decision import (
    decided,
    key_complaints,
    note_on,
    unknown_keys,
    with_decision,
)
from stationpoint.study.file import study_from_text
from stationpoint.study.sweep import expand

STUDY = 'scene = "quay.toml"\n[sweep]\ncolumns = { focal_mm = [24, 35, 50] }\n'
SAID = {"chosen": "9f31c2", "by": "", "because": 'it "holds"', "on": "2026-11-12"}
KEPT = {"chosen": "9f31c2", "because": 'it "holds"', "on": "2026-11-12"}


def swept(more: str = "", columns: str = "[24, 35, 50]"):
    study = study_from_text(STUDY.replace("[24, 35, 50]", columns) + more, "s.toml")
    return study, expand(study)


def key_of(focal_mm: float) -> str:
    return next(one.key for one in swept()[1] if one.camera.focal_mm == focal_mm)


def test_decision_finds_its_variant_though_the_sweep_has_grown_and_its_label_moved() -> None:
    more = f'[decision]\nchosen = "{key_of(35)}"\n'
    study, variants = swept(more)
    assert decided(study, variants).label == "A2"
    study, variants = swept(more, "[20, 24, 28, 35]")
    assert decided(study, variants).label == "A4"
    assert decided(*swept()) is None


def test_decision_stands_on_one_line_too_and_a_date_is_a_date_or_text() -> None:
    line = 'decision = { chosen = "9f31c2", by = "AK", because = "it holds", on = 2026-11-12 }\n'
    study = study_from_text(line + STUDY, "s.toml")
    assert study.decision.on == date(2026, 11, 12).isoformat() == "2026-11-12"
    text = study_from_text(line.replace("2026-11-12", '"mid November"') + STUDY, "s.toml")
    assert text.decision.on == "mid November"
    with pytest.raises(StudyWrong, match=r"decision.*chosen.*missing"):
        study_from_text('decision = { by = "AK" }\n' + STUDY, "s.toml")


@pytest.mark.parametrize("label", ["A2", "a2"])
def test_label_in_place_of_a_key_is_refused_with_the_key_that_is_meant(label: str) -> None:
    (line,) = key_complaints(*swept(f'[decision]\nchosen = "{label}"\n'))
    assert line == (
        f'decision: chosen = "{label}" is a label, which moves as the sweep changes; '
        f'write its key: chosen = "{key_of(35)}".'
    )
    (line,) = key_complaints(*swept(f'[[note]]\nvariant = "{label}"\ntext = "x"\n'))
    assert f'variant = "{key_of(35)}"' in line
    assert list(key_complaints(*swept(f'[decision]\nchosen = "{key_of(35)}"\n'))) == []


def test_keys_that_the_sweep_has_not_are_told() -> None:
    notes = '[[note]]\nvariant = "abcdef"\ntext = "x"\n'
    lines = list(unknown_keys(*swept('[decision]\nchosen = "000000"\n' + notes)))
    assert [line.partition(":")[0] for line in lines] == ["decision", "note 1"]
    assert 'the key "000000"' in lines[0]
    assert 'the key "abcdef"' in lines[1]


def test_notes_on_one_variant_stand_in_one_line_and_a_blank_one_is_refused() -> None:
    notes = "".join(f'[[note]]\nvariant = "{key_of(50)}"\ntext = "{text}"\n' for text in ("a  b", "c"))
    study, variants = swept(notes)
    assert [note_on(study, one) for one in variants] == ["", "", "a b; c"]
    with pytest.raises(StudyWrong, match="blank"):
        swept(f'[[note]]\nvariant = "{key_of(50)}"\ntext = " "\n')


TEXTS = {
    "none before": "a = 1 # one\n",
    "no newline at the end": "a = 1",
    "windows": 'a = 1 # one\r\n# c\r\n[[limit]]\r\nreading = "x"\r\n',
    "windows, replaced": (
        'a=1\r\n[decision] # head\r\nchosen = "aaa" # key\r\nby = "X"\r\n# c\r\n\r\n[y]\r\nz=1\r\n'
    ),
    "one line": '# top\ndecision = { chosen = "aaa", by = "X" } # keep\n[x]\n',
    "comments": (
        '# top\n[decision] # head\n# in\nchosen = "aaa" # key\non = 2026-01-01 # then\nby = "X"\n\n'
        '# after\n[[limit]]\nreading="q"\n'
    ),
    "between entries of one list": '[[l]]\nr=1\n\n[decision]\nchosen = "a"\n\n[[l]] # two\nr=2\n',
    "dotted": 'decision.chosen = "a"\ndecision.by = "q"\nz = 2\n',
    "no newline, replaced": 'a = 1\n[decision]\nchosen = "a"',
    "heading within a text": 'm = """\n[decision]\nchosen = "a"\n"""\n[decision]\nchosen = "b"\n[z]\n',
    "long reason": '[decision]\nchosen = "a"\nbecause = """\n[x]\n"""\n[z]\na = 1\n',
}


def comments(text: str) -> list[str]:
    return [line.partition("#")[2] for line in text.splitlines() if "#" in line]


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
def test_text_gets_the_decision_and_keeps_all_else(text: str) -> None:
    new = with_decision(text, SAID, "s.toml")
    before, after = tomllib.loads(text), tomllib.loads(new)
    assert after.pop("decision") == KEPT
    before.pop("decision", None)
    assert after == before
    assert comments(new) == comments(text)
    assert ("\r\n" in text) == ("\r\n" in new)
    assert "\r\n" not in text or new.count("\n") == new.count("\r\n")
    assert with_decision(new, SAID, "s.toml") == new


def test_lines_outside_the_decision_stay_in_their_order() -> None:
    text = TEXTS["between entries of one list"]
    own = {"[decision]", 'chosen = "a"'}
    kept = [line for line in text.splitlines() if line not in own]
    new = with_decision(text, SAID, "s.toml").splitlines()
    assert [line for line in new if line in kept] == kept
    assert new.index("[decision]") < new.index("[[l]] # two")


def test_words_that_toml_must_escape_come_back_as_they_were() -> None:
    words = {"chosen": "9f31c2", "by": 'Ä \\ "', "because": "two\nlines\tand \x7f \u2028 end", "on": "#"}
    for text in ("a = 1\n", 'a = 1\n[decision]\nchosen = "x"\n'):
        assert tomllib.loads(with_decision(text, words, "s.toml"))["decision"] == words
