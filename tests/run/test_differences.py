"""What counts as a change: tolerances of shares, sizes, words and directions; names by settings."""

from __future__ import annotations

import pytest

from stationpoint.readings import field_at
from stationpoint.record import Json
from stationpoint.run.compare.differences import Change, Variant, differs
from stationpoint.run.compare.words import amount_words, value_pair, variant_names

SEEN = ("targets", "crate", "seen")
SIZE = ("targets", "crate", "depth_m")
VERDICT = ("gaps", "hop", "verdict")
DIRECTION = ("axes", "x", "direction_deg")
HIDDEN = ("targets", "crate", "hidden_by")


@pytest.mark.parametrize(
    ("path", "before", "after", "changed"),
    [
        (SEEN, 0.92, 0.91, False),  # a hundredth of a share, however floats say it
        (SEEN, 0.92, 0.909, True),
        (SEEN, 0.0, 0.0099, False),
        (SIZE, 100.0, 101.0, False),  # one in a hundred of the larger
        (SIZE, 100.0, 102.0, True),
        (SIZE, 0.00001, 0.00002, False),  # the last decimal of a record
        (VERDICT, "lies", "lies", False),
        (VERDICT, "needs a cue", "lies", True),
        (SEEN, 0.0, None, True),
        (DIRECTION, -179.9, 179.9, False),  # one direction
        (DIRECTION, 170.0, 175.0, True),
        (HIDDEN, {"barge": 0.3}, {"barge": 0.3, "post": 0.005}, False),
        (HIDDEN, {"barge": 0.3}, {"post": 0.3}, True),
    ],
)
def test_a_value_changes_beyond_its_tolerance(
    path: tuple[str, ...], before: object, after: object, changed: bool
) -> None:
    assert differs(before, after, field_at(path)) is changed  # type: ignore[arg-type]


def test_a_given_tolerance_is_of_a_share_as_such_and_of_a_size_as_a_share_of_it() -> None:
    assert not differs(0.5, 0.55, field_at(SEEN), 0.05)
    assert differs(0.5, 0.56, field_at(SEEN), 0.05)
    assert not differs(100.0, 105.0, field_at(SIZE), 0.05)
    assert differs(100.0, 106.0, field_at(SIZE), 0.05)


def test_a_variant_is_named_by_as_little_as_tells_it_apart() -> None:
    def variant(key: str, **settings: object) -> Variant:
        return Variant(key, key, {"projection": "perspective", "focal_mm": 35.0, **settings})  # type: ignore[dict-item]

    lone = [variant("a", pitch_deg=10.0, distance_m=8.0), variant("b", focal_mm=50.0, pitch_deg=10.0)]
    assert list(variant_names(lone).values()) == ["35 mm in perspective", "50 mm in perspective"]
    pitched = [variant("a", pitch_deg=10.0), variant("b", pitch_deg=30.0), variant("c", focal_mm=50.0)]
    assert list(variant_names(pitched).values()) == [
        "35 mm in perspective, pitch 10° down",
        "35 mm in perspective, pitch 30° down",
        "50 mm in perspective",
    ]
    flat = [variant("a"), variant("b", projection="orthographic", focal_mm=None)]
    assert list(variant_names(flat).values()) == ["35 mm in perspective", "orthographic"]
    assert list(variant_names([variant("a"), variant("b")]).values()) == [
        "35 mm in perspective, a",
        "35 mm in perspective, b",
    ]


def test_two_values_have_as_many_decimals_as_tell_them_apart() -> None:
    assert value_pair(0.92, 0.61, "share") == ("92 %", "61 %")
    assert value_pair(0.9951, 1.0, "share") == ("99.5 %", "100.0 %")
    assert value_pair(None, 0.5, "share") == ("not measured", "50 %")
    assert value_pair(8.0, 9.5, "m") == ("8.0 m", "9.5 m")
    assert value_pair(True, False, "") == ("true", "false")


@pytest.mark.parametrize(
    ("path", "before", "after", "says"),
    [
        ("subject.seen", 0.92, 0.61, "\N{MINUS SIGN}31 points"),
        ("subject.seen", 0.924, 0.606, "\N{MINUS SIGN}31 points"),  # of 92 % and 61 %, as they are said
        (
            "subject.seen",
            0.123,
            0.118,
            "\N{MINUS SIGN}0.5 points",
        ),  # 12.3 % and 11.8 %: both 12 % in whole ones
        ("targets.crate.depth_m", 8.0, 10.5, "+2.5 m"),
        ("axes.x.direction_deg", -179.0, 179.0, "\N{MINUS SIGN}2\N{DEGREE SIGN}"),  # the shorter way round
        ("cues.target:crate.occlusion.value", None, 3, ""),
        ("gaps.hop.verdict", "sure", "lies", ""),
        ("verdict.holds", True, False, ""),
    ],
)
def test_an_amount_is_that_of_the_values_as_they_are_said(
    path: str, before: Json, after: Json, says: str
) -> None:
    variant = Variant("A1", "key", {})
    assert amount_words(Change(variant, "here", "16:9", tuple(path.split(".")), before, after)) == says
