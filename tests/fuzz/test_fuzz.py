"""Some random inputs of every kind in each run of the suite; `python -m tests.fuzz` tries more."""

from __future__ import annotations

import signal
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuzz.inputs import KINDS, Case
from fuzz.kills import OUTPUTS, ended_well, wrong
from fuzz.mutate import broken_bytes, broken_text, broken_tree
from fuzz.tried import complaint
from stationpoint.base.errors import StudyWrong


@pytest.mark.parametrize("kind", list(KINDS))
@given(chance=st.randoms(use_true_random=False))
@settings(max_examples=60)
def test_a_broken_input_is_read_or_refused_in_words(kind: str, chance: Random) -> None:
    case = KINDS[kind](chance)
    assert complaint(case) == "", case.words


def test_the_same_chance_breaks_alike() -> None:
    for kind in KINDS.values():
        assert kind(Random(7)) == kind(Random(7))


def test_an_input_is_the_same_whatever_was_broken_before() -> None:
    tree = {"a": [1, {"b": None}], "c": {"d": 2}}
    first = [repr(broken_tree(Random(n), tree)) for n in range(2000)]
    assert [repr(broken_tree(Random(n), tree)) for n in reversed(range(2000))] == first[::-1]


def test_what_is_broken_differs() -> None:
    text, tree = 'a = 1\nb = "x"\n', {"a": [1, 2, {"b": None}]}
    assert sum(broken_text(Random(n), text) != text for n in range(50)) > 40
    assert sum(broken_bytes(Random(n), text.encode()) != text.encode() for n in range(50)) > 40
    assert sum(broken_tree(Random(n), tree) != tree for n in range(50)) > 40


@pytest.mark.parametrize(
    ("ends", "told"),
    [
        (ZeroDivisionError("x"), "exit code 70"),
        (SystemExit(5), "exit code 5"),
        (SystemExit(2), "exit code 2 without a word"),
    ],
)
def test_a_planted_fault_is_found(monkeypatch: pytest.MonkeyPatch, ends: BaseException, told: str) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ends

    monkeypatch.setattr("stationpoint.cli.actions.check.check", broken)
    assert complaint(Case({}, ("check", "x.toml"), "words")).startswith(told)


def test_an_input_that_is_lost_and_a_file_beside_a_refusal_are_found(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def over(*_: object, **__: object) -> None:
        Path("x.toml").write_bytes(b"new")

    def beside(*_: object, **__: object) -> None:
        Path("y.toml").write_bytes(b"new")
        raise StudyWrong("Refused.")

    case = Case({"x.toml": b"old"}, ("check", "x.toml"), "words")
    monkeypatch.setattr("stationpoint.cli.actions.check.check", over)
    assert complaint(case) == "an input was written over"
    monkeypatch.setattr("stationpoint.cli.actions.check.check", beside)
    assert complaint(case) == "exit code 2, and written: ['y.toml']"


def test_files_after_a_kill_are_told_apart(tmp_path: Path) -> None:
    old, new = (dict.fromkeys(OUTPUTS, data) for data in (b"old", b"new"))
    for name in OUTPUTS[1:]:
        (tmp_path / name).write_bytes(b"old")
    assert wrong(tmp_path, old, new, whole=False).startswith("lost: ")
    (tmp_path / OUTPUTS[0]).write_bytes(b"half")
    assert wrong(tmp_path, old, new, whole=False).startswith("neither old nor new: ")
    (tmp_path / OUTPUTS[0]).write_bytes(b"new")
    assert wrong(tmp_path, old, new, whole=False) == ""
    assert wrong(tmp_path, old, new, whole=True) == "some old, some new"


def test_an_end_before_the_program_is_read_is_told_from_one_of_its_own() -> None:
    early = "Could not import runpy module\nTraceback (most recent call last):\nKeyboardInterrupt"
    late = 'File "src/stationpoint/cli/__init__.py"\nKeyboardInterrupt'
    ends = [(130, ""), (-2, ""), (1, early), (1, late), (1, "")]
    assert [ended_well(signal.SIGINT, *end) for end in ends] == [True, True, True, False, False]
