"""The order of mixed directions: examples of UAX #9, and levels by FriBidi 1.0.8 (`fribidi --levels`)."""

from __future__ import annotations

import pytest

from stationpoint.ink.bidi import base_level, has_rtl, in_sight, levels

FSI, LRI, RLI, PDI = "\u2068", "\u2066", "\u2067", "\u2069"


def seen(words: str) -> str:
    return "".join(in_sight(words, levels(words)))


@pytest.mark.parametrize(
    ("words", "by_fribidi"),
    [
        ("زاوية 35 mm", "1 1 1 1 1 1 2 2 1 2 2"),
        ("gap to הקצה 3.2 m", "0 0 0 0 0 0 0 1 1 1 1 1 2 2 2 0 0"),
        (f"gap to {FSI}הקצה{PDI} 3.2 m", "0 0 0 0 0 0 0 0 1 1 1 1 0 0 0 0 0 0 0"),
        ("الحافة 12-3, (x)", "1 1 1 1 1 1 1 2 2 1 2 1 1 1 2 1"),
        ("a (ב) ג", "0 0 0 1 0 0 1"),
        ("אב (a) 1.5 m!", "1 1 1 1 2 1 1 2 2 2 2 2 1"),
        ('he said "אב 12, ג" again', "0 0 0 0 0 0 0 0 0 1 1 1 2 2 1 1 1 0 0 0 0 0 0 0"),
        ("١٢ 34 ا 5% b", "2 2 1 2 2 1 1 1 2 1 1 2"),
    ],
)
def test_levels_are_those_of_fribidi(words: str, by_fribidi: str) -> None:
    assert levels(words) == tuple(map(int, by_fribidi.split()))


def test_hebrew_in_an_english_sentence_is_turned_and_the_rest_stays() -> None:
    # UAX #9, section 3.4, example 1: "car means CAR." is shown as "car means RAC.", capitals for Hebrew.
    assert seen("car means \u05d0\u05d1\u05d2.") == "car means \u05d2\u05d1\u05d0."


def test_english_in_a_hebrew_sentence_keeps_its_order() -> None:
    # UAX #9, section 3.4, example 2: '<car MEANS CAR.=' in a line set from right to left: ".RAC SNAEM car".
    assert seen(RLI + "car \u05d0\u05d1 \u05d2." + PDI).strip(RLI + PDI) == ".\u05d2 \u05d1\u05d0 car"


def test_number_beside_an_isolated_name_keeps_its_place() -> None:
    # Not isolated, the number goes to the name's far side (UAX #9, W2 and N1), where it reads as part of it.
    name = "\u0627\u0644\u062d\u0627\u0641\u0629"
    assert seen(f"at {name} 3.2 m") == f"at 3.2 {name[::-1]} m"
    assert seen(f"at {FSI}{name}{PDI} 3.2 m").replace(FSI, "").replace(PDI, "") == f"at {name[::-1]} 3.2 m"


def test_brackets_go_with_what_they_hold() -> None:
    # UAX #9, N0: "AB(CD[&ef]!)gh" in a line set from right to left: all brackets are R.
    words = "\u05d0\u05d1(\u05d2\u05d3[&ef]!)gh"
    assert [levels(words)[k] for k in (2, 5, 9, 11)] == [1, 1, 1, 1]


def test_first_strong_letter_outside_isolates_gives_the_line_its_direction() -> None:
    assert base_level("12 \u05d0 b") == 1
    assert base_level(f"{FSI}\u05d0{PDI} 12 b") == 0
    assert base_level("1.2, 3") == 0
    assert not has_rtl("A 港 ก é 1.2")
    assert has_rtl("a \u0660")


def test_isolates_that_never_end_or_never_began_harm_nothing() -> None:
    assert seen(f"a {FSI}\u05d0\u05d1") == f"a {FSI}\u05d1\u05d0"
    assert seen(f"a{PDI} \u05d0\u05d1 b") == f"a{PDI} \u05d1\u05d0 b"
    assert len(levels(FSI * 300 + "\u05d0")) == 301
