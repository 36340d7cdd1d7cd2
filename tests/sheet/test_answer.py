"""What a verdict says in words: the flag of a cell, the answer under a title."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from stationpoint.readings.verdict.judge import Finding, Verdict
from stationpoint.sheet.answer import MOST_LETTERS, NO_BRIEF, answer_words, flags
from stationpoint.sheet.cameras import cameras_words
from stationpoint.study.models import Limit, Study
from stationpoint.study.sweep import Variant, expand

from .made import study


def finding(path: str, value: Any, margin: float, place: str = "here", **limit: Any) -> Finding:
    parts = tuple(path.split("."))
    return Finding(path, parts, place, None, value, Limit(reading=path, **limit), margin)


def verdict(label: str, margin: float, path: str = "targets.crate.seen", value: Any = 0.3) -> Verdict:
    found = finding(path, value, margin, min=0.6)
    failed = (found,) if margin < 0 else ()
    return Verdict(label, margin >= 0, margin, found, failed)


def answer(those: Study, holds: Callable[[Variant], bool], path: str = "targets.crate.seen") -> str:
    """The answer where these variants hold, and the others fail by a reading that is 0."""
    variants = expand(those)
    judged = {one.label: verdict(one.label, 0.2 if holds(one) else -1.0, path, 0.0) for one in variants}
    return answer_words(judged, variants, those)


def swept(**axes: Any) -> Study:
    """The made-up study with another sweep."""
    return study(sweep=axes)


def of(variant: Variant) -> dict[str, Any]:
    return dict(variant.changes)


def test_flags_say_what_is_wrong_in_words_of_the_level_then_the_limit() -> None:
    made = flags({"A1": verdict("A1", 0.2), "A2": verdict("A2", -0.5), "A3": verdict("A3", -1.0, value=0.0)})
    assert made["A1"].kind == "holds"
    assert made["A1"].limit == "nearest limit: crate: seen 30 %, needs 60 %"
    assert made["A2"].kind == "fails"
    assert made["A2"].words == "crate is mostly out of view: seen 30 %, needs 60 %"
    assert made["A3"].wrong == "crate is out of view"


def test_flag_carries_the_other_limits_for_the_caption_and_never_its_own() -> None:
    bound = finding("targets.crate.seen", 0.3, -0.5, min=0.6)
    other = finding("gaps.hop.scale_ratio", 1.2, 0.1, min=1.1)
    flag = flags({"A1": Verdict("A1", False, -0.5, bound, (bound,), (), (bound, other))})["A1"]
    assert [(one.words, one.holds) for one in flag.others] == [("hop: scale ratio 1.2, needs 1.1", True)]


def test_answer_names_cameras_by_what_sets_them_apart() -> None:
    by_two = swept(
        rows={"projection": ["perspective", "orthographic"]}, columns={"focal_mm": [24, 35, 50, 85]}
    )
    assert answer_words({}, expand(by_two), by_two) == NO_BRIEF
    said = answer(
        by_two, lambda one: of(one) in ({"projection": "perspective", "focal_mm": f} for f in (35, 50))
    )
    assert said == "35 and 50 mm in perspective hold; elsewhere the crate is out of view."
    # a whole row has one name, and so has a whole column
    said = answer(by_two, lambda one: of(one)["projection"] == "perspective")
    assert said == "Perspective holds; elsewhere the crate is out of view."
    said = answer(by_two, lambda one: of(one)["focal_mm"] == 85)
    assert said == "85 mm holds; elsewhere the crate is out of view."


def test_answer_says_at_what_distance_and_pitch() -> None:
    three = swept(rows={"distance_m": [8, 10]}, columns={"focal_mm": [24, 35]}, pages={"pitch_deg": [10, 20]})
    said = answer(three, lambda one: (of(one)["focal_mm"], of(one)["distance_m"]) == (35, 8))
    assert said == "35 mm at 8 m holds; elsewhere the crate is out of view."
    said = answer(three, lambda one: list(of(one).values()) == [10, 35, 20] or one.label == "never")
    assert said.startswith(("35 mm at 10 m at pitch 20° down holds", "1 of 8 cameras holds"))


def test_answer_counts_cameras_where_their_names_are_too_long() -> None:
    many = swept(rows={"distance_m": [4, 6, 8, 10]}, columns={"focal_mm": [24, 28, 35, 50]})
    odd = {(4, 24), (6, 28), (8, 35), (10, 50), (4, 50)}
    said = answer(many, lambda one: (of(one)["distance_m"], of(one)["focal_mm"]) in odd)
    assert said == "5 of 16 cameras hold; elsewhere the crate is out of view."


def test_answer_says_most_only_of_more_than_half() -> None:
    those = swept(columns={"focal_mm": [24, 28, 35, 50, 85]})
    variants = expand(those)
    good = {"A1": verdict("A1", 0.2)}

    def failing(*names: str) -> dict[str, Verdict]:
        return {
            f"A{k}": verdict(f"A{k}", -1.0, f"targets.{name}.seen", 0.0)
            for k, name in enumerate(names, start=2)
        }

    assert answer_words(good | failing("crate", "crate"), variants, those) == (
        "24 mm holds; elsewhere the crate is out of view."
    )
    assert answer_words(good | failing("crate"), variants, those) == (
        "24 mm holds; in the other the crate is out of view."
    )
    assert answer_words(good | failing("crate", "crate", "sign"), variants, those) == (
        "24 mm holds; in most others the crate is out of view."
    )
    assert answer_words(good | failing("crate", "crate", "sign", "lamp"), variants, those) == (
        "24 mm holds; elsewhere most often the crate is out of view."
    )
    assert answer_words(failing("crate", "crate"), variants, those) == (
        "No camera holds the brief: everywhere the crate is out of view."
    )
    assert answer_words(good, variants, those) == "The camera holds the brief."


def test_answer_counts_cameras_not_cells_where_places_are_swept() -> None:
    places = [{"name": name, "move": {"wall": (0, 0, k)}} for k, name in enumerate(("near", "far"))]
    those = study(
        place=places,
        here=False,
        sweep={"rows": {"focal_mm": [24, 50]}, "columns": {"place": ["near", "far"]}},
    )
    assert answer(those, lambda one: of(one)["focal_mm"] == 24).startswith("24 mm holds; in the other ")
    said = answer(those, lambda one: of(one) == {"focal_mm": 24, "place": "near"})
    assert said == "No camera holds at every place; 24 mm does at 1 of 2, else the crate is out of view."


@pytest.mark.parametrize("name", ["a crate whose name is much longer than names of crates are", "c" * 120])
def test_answer_is_never_longer_than_a_line(name: str) -> None:
    those = swept(columns={"focal_mm": [24, 28, 35, 50, 85]})
    said = answer(those, lambda one: of(one)["focal_mm"] == 24, f"targets.{name}.seen")
    assert len(said) <= MOST_LETTERS
    assert said.startswith("24 mm holds")


def test_oblique_view_is_named_with_its_ratio() -> None:
    views = [("orthographic", "cabinet"), ("oblique", "cavalier"), ("oblique", "cabinet")]
    every = [
        {"projection": one, "oblique_ratio": ratio, "yaw_deg": yaw} for one, ratio in views for yaw in (0, 30)
    ]
    assert cameras_words(every[4:], every[:4]) == "cabinet oblique"


def test_answer_says_both_of_two_cameras_and_all_of_more() -> None:
    two, three = (swept(columns={"pitch_deg": list(those)}) for those in ((10, 20), (10, 20, 30)))
    assert answer(two, lambda _: True) == "Both cameras hold the brief."
    assert answer(three, lambda _: True) == "All 3 cameras hold the brief."
