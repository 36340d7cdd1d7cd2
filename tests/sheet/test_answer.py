"""What a verdict says in words: the flag of a cell, the answer under a title."""

from __future__ import annotations

from typing import Any

from stationpoint.readings.verdict.judge import Finding, Verdict
from stationpoint.sheet.answer import answer_words, flags
from stationpoint.study.models import Limit


def finding(path: str, value: Any, margin: float, place: str = "here", **limit: Any) -> Finding:
    parts = tuple(path.split("."))
    return Finding(path, parts, place, None, value, Limit(reading=path, **limit), margin)


def verdict(label: str, margin: float, path: str = "targets.crate.seen", **limit: Any) -> Verdict:
    found = finding(path, 0.3, margin, **(limit or {"min": 0.6}))
    failed = (found,) if margin < 0 else ()
    return Verdict(label, margin >= 0, margin, found, failed)


def test_flags_say_holds_or_fails_with_the_binding_limit() -> None:
    made = flags({"A1": verdict("A1", 0.2), "A2": verdict("A2", -0.5)})
    assert made["A1"].kind == "holds"
    assert made["A2"].kind == "fails"
    assert made["A2"].limit == "crate: seen 30 %, needs 60 %"
    assert made["A2"].value == "30 %"


def test_answer_names_what_holds_and_what_fails_the_rest() -> None:
    good, bad, worse = verdict("A1", 0.2), verdict("A2", -0.5), verdict("A3", -0.6)
    assert answer_words({}) == ""
    assert answer_words({"A1": good}) == "A1 holds the brief."
    assert answer_words({"A1": good, "B1": verdict("B1", 0.1)}) == "Every variant holds the brief."
    said = answer_words({"A1": good, "A2": bad, "A3": worse})
    assert said.startswith("A1 holds;")
    assert "crate" in said
    assert answer_words({"A2": bad, "A3": worse}).startswith("None holds the brief;")


def test_answer_says_most_only_of_more_than_half() -> None:
    def failing(*names: str) -> dict[str, Verdict]:
        return {f"A{k}": verdict(f"A{k}", -0.5, f"targets.{name}.seen") for k, name in enumerate(names)}

    good = {"B1": verdict("B1", 0.2)}
    assert answer_words(failing("crate", "crate")) == "None holds the brief; all fail by crate (seen)."
    assert answer_words(failing("crate", "crate") | good) == "B1 holds; the others fail by crate (seen)."
    assert answer_words(failing("crate") | good) == "B1 holds; the other fails by crate (seen)."
    assert answer_words(failing("crate", "crate", "sign") | good) == "B1 holds; most fail by crate (seen)."
    mixed = answer_words(failing("crate", "crate", "sign", "lamp"))
    assert mixed == "None holds the brief; the commonest cause is crate (seen)."
