"""Words: numbers, lists and near misses as a person reads them."""

from __future__ import annotations

import pytest

from stationpoint.base.words import (
    angles,
    counted,
    degrees,
    listed,
    matching_names,
    metres,
    nearest,
    number,
    pitch_words,
    plain,
    title_name,
    yaw_words,
)


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (54.432, 1, "54.4"),
        (-3.04, 1, "\u22123.0"),
        (-0.04, 1, "0.0"),
        (0.0, 1, "0.0"),
        (-0.0, 2, "0.00"),
        (7.96, 1, "8.0"),
        (2.5000001, 0, "3"),
        (1866.6667, 2, "1866.67"),
        (-120, 0, "\u2212120"),
    ],
)
def test_number_is_rounded_with_a_real_minus_and_no_minus_zero(
    value: float, decimals: int, text: str
) -> None:
    assert number(value, decimals) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(35.0, "35"), (0.25, "0.25"), (-1.5, "\u22121.5"), (100.0, "100"), (0.0004, "0"), (1200.0, "1200")],
)
def test_plain_has_no_trailing_zeros_and_keeps_whole_hundreds(value: float, text: str) -> None:
    assert plain(value) == text


def test_plain_without_decimals_keeps_zeros_of_the_number() -> None:
    assert plain(100.4, 0) == "100"


def test_lengths_and_angles_carry_their_unit() -> None:
    assert metres(8) == "8.0 m"
    assert metres(12) == "12.0 m"
    assert metres(-0.25 - 1e-9) == "\u22120.3 m"
    assert degrees(20.0) == "20\u00b0"
    assert degrees(35.2644) == "35.3\u00b0"
    assert degrees(-20) == "\u221220\u00b0"
    assert angles(54.432, 32.269) == "54.4 \u00d7 32.3"


@pytest.mark.parametrize(
    ("names", "text"),
    [
        ([], ""),
        (["a"], "a"),
        (["a", "b"], "a and b"),
        (["a", "b", "c"], "a, b and c"),
        (["a", "b", "c", "d"], "a, b, c and d"),
    ],
)
def test_listed_names_read_as_a_sentence(names: list[str], text: str) -> None:
    assert listed(names) == text
    assert listed(iter(names)) == text


def test_listed_choices_drop_none() -> None:
    assert listed(["width", "height", "diagonal"], last="or") == "width, height or diagonal"


def test_counted_things_agree_with_their_number() -> None:
    assert counted(1, "variant") == "1 variant"
    assert counted(0, "variant") == "0 variants"
    assert counted(2, "variant") == "2 variants"
    assert counted(2, "study", "studies") == "2 studies"
    assert counted(1, "study", "studies") == "1 study"


def test_nearest_word_is_offered_for_a_near_miss_only() -> None:
    known = ["focal_mm", "distance_m", "pitch_deg"]
    assert nearest("focal", known) == "focal_mm"
    assert nearest("Pitch_Deg", known) == "pitch_deg"
    assert nearest("distence_m", known) == "distance_m"
    assert nearest("zzz", known) is None
    assert nearest("focal", []) is None


def test_nearest_word_keeps_the_case_of_the_known_one() -> None:
    assert nearest("barge", ["Barge-3", "Quay"]) == "Barge-3"


def test_names_match_as_they_stand_before_any_wildcard() -> None:
    names = ["crate-2", "crate-1", "crate-[12]", "lid"]
    assert matching_names("crate-*", names) == ("crate-2", "crate-1", "crate-[12]")
    assert matching_names("crate-[12]", names) == ("crate-[12]",)  # it is a name itself
    assert matching_names("crate-[1]", names) == ()  # a bracket is a letter
    assert matching_names("*-[12]", names) == ("crate-[12]",)
    assert matching_names("Lid", names) == ()  # case counts


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (pitch_words(20), "pitch 20° down"),
        (pitch_words(-5.25), "pitch 5.2° up"),
        (pitch_words(0.01), "pitch 0°"),
        (yaw_words(25), "yaw 25° left"),
        (yaw_words(-30), "yaw 30° right"),
        (yaw_words(-180), "yaw 180°"),
    ],
)
def test_angles_of_a_camera_say_which_way(said: str, words: str) -> None:
    assert said == words


def test_title_says_a_files_name_without_its_folder_ending_and_underscores() -> None:
    assert title_name("levels/meeting_room.glb") == "meeting room"
    assert title_name("___") == "___"
