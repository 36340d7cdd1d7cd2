"""The order of a ranked sheet, and what it says of itself."""

from __future__ import annotations

from dataclasses import dataclass

from sheet.made import study
from stationpoint.readings.verdict.judge import Verdict
from stationpoint.run.ranked import rank
from stationpoint.study.sweep import Variant, expand


@dataclass
class Ready:
    """What of a prepared study the order rests on."""

    variants: tuple[Variant, ...]
    chosen: Variant | None = None


def ready(chosen: str = "") -> Ready:
    variants = expand(study())  # A1, A2, B1, B2
    return Ready(variants, next((one for one in variants if one.label == chosen), None))


def verdicts(*scores: float) -> dict[str, Verdict]:
    labels = ("A1", "A2", "B1", "B2")
    return {label: Verdict(label, s >= 0, s, None) for label, s in zip(labels, scores, strict=True)}


SCORES = verdicts(-0.5, 0.2, 0.1, -0.1)


def test_best_worst_margin_comes_first_and_equal_ones_keep_the_sweeps_order() -> None:
    found = rank(ready(), SCORES, "grid", 3)
    assert found.labels == ("A2", "B1", "B2")
    assert found.shown == "the 3 best of 4 by worst margin; 1 more variant in the record"
    assert rank(ready(), verdicts(0.1, 0.2, 0.1, 0.2), "grid", 9).labels == ("A2", "B2", "A1", "B1")


def test_chosen_one_is_large_and_the_best_of_the_others_is_the_runner_up() -> None:
    found = rank(ready("B2"), SCORES, "hero", None)
    assert found.labels == ("B2", "A2", "B1", "A1")
    assert found.says == {"B2": "chosen", "A2": "runner-up"}
    none_holds = rank(ready("B2"), verdicts(-0.5, -0.2, -0.3, -0.4), "hero", None)
    assert none_holds.labels[:2] == ("B2", "A2")


def test_without_a_decision_the_large_one_is_called_best_by_margin() -> None:
    found = rank(ready(), SCORES, "hero", None)
    assert found.says == {"A2": "best by margin", "B1": "runner-up"}
    assert found.shown == "A2 large, then the others by worst margin"


def test_chosen_one_stays_among_the_best_few_of_a_heros_sheet_and_says_so() -> None:
    found = rank(ready("A1"), SCORES, "hero", 2)
    assert found.labels == ("A1", "A2")
    words = "A1, which is chosen, and the best other by worst margin; 2 more variants in the record"
    assert found.shown == words


def test_without_a_brief_the_chosen_one_is_large_and_none_is_a_runner_up() -> None:
    found = rank(ready("B1"), {}, "hero", None)
    assert found.labels == ("B1", "A1", "A2", "B2")
    assert found.says == {"B1": "chosen"}
    assert found.shown == "B1 large, then the others in the sweep's order"
