"""Verdicts on gaps that rest on cues: the harbour quay and its tides."""

from __future__ import annotations

import pytest

from readings.cues.shown import CELL, DECKS, EVERY_AID, FROM, HOP, QUAY, QUAY_FLAT, TO, cues, lit, reads
from readings.made import COUCH, block, body, case, values
from stationpoint.readings.gaps import lengths as gaps
from stationpoint.readings.kinds import wanted
from stationpoint.readings.types import Case

TIDE = {"name": "hop", "from": FROM, "to": TO, "reach": [(-1, 3.6), (0, 3.4), (1, 2.6)]}
YES = "needs a cue"
BED = block("bed", (0, -3, 0), (60, 1, 60))  # its top at -2


def _tide(up: float, *aids: str, **more: object) -> Case:
    return case(
        QUAY, *DECKS, BED, gap=[TIDE], at=[COUCH], cell=CELL, aids=aids, moves={"barge-3": (0, up, 0)}, **more
    )  # type: ignore[arg-type]


def test_quay_needs_a_cue_and_five_tell_it_in_perspective() -> None:
    said = {"gap": [HOP], "at": [COUCH], "cell": CELL, "subject": {"at": FROM}, "aids": ["ground-texture"]}
    made = case(QUAY, *DECKS, body(FROM), **said)  # type: ignore[arg-type]
    assert values(made, ["gap-lengths"])["gaps", "hop", "verdict"] == "needs a cue"
    named = {"relative_size", "height_in_field", "texture_gradient", "convergence", "parallax"}
    assert reads(cues(made)) == named
    flat = case(QUAY_FLAT, *DECKS, body(FROM), **said)  # type: ignore[arg-type]
    assert values(flat, ["gap-lengths"])["gaps", "hop", "verdict"] == "needs a cue"
    assert reads(cues(flat)) == {"height_in_field"}


@pytest.mark.parametrize(
    ("up", "aids", "verdict"),
    [(1.0, (), YES), (-1.0, (), "lies"), (-1.0, ("drop-marker",), YES), (-1.0, EVERY_AID, YES)],
    ids=["high", "low", "low with a marker", "low with all"],
)  # fmt: skip
def test_tides_are_judged_with_the_aids_that_the_game_ships(
    up: float, aids: tuple[str, ...], verdict: str
) -> None:
    found = values(_tide(up, *aids), ["gaps", "cues"])
    assert found["gaps", "hop", "verdict"] == verdict
    assert found["cues", "gap:hop", "height_in_field", "grade"] == "misleads"
    marked = found["cues", "gap:hop", "drop_line", "grade"] == "reads"
    assert marked is ("drop-marker" in aids)
    # From the deck's top at -0.2 to the bed at -2.
    assert found["cues", "gap:hop", "drop_line", "floor_m"] == pytest.approx(1.8 + 1.0 + up, abs=1e-6)


@pytest.mark.parametrize(
    ("light", "grade", "verdict"),
    [
        ((0.0, 1.0, 0.0), "absent", "lies"),  # right under the deck, which hides it
        ((0.45, 1.0, 0.0), "reads", "needs a cue"),  # 1 m under the deck's base, 0.45 m aside
        ((0.9, 1.0, 0.0), "misleads", "lies"),  # 0.9 m aside
    ],
)
def test_shadow_that_reads_tells_the_landings_height(
    light: tuple[float, float, float], grade: str, verdict: str
) -> None:
    found = values(lit(_tide(-1.0, "cast-shadow"), *light), ["gaps", "cues"])
    assert found["cues", "gap:hop", "cast_shadow", "grade"] == grade
    assert found["cues", "gap:hop", "cast_shadow", "off_m"] == pytest.approx(light[0], abs=1e-6)
    assert found["gaps", "hop", "verdict"] == verdict


def test_verdict_draws_shadows_only_where_it_rests_on_them() -> None:
    assert set(wanted(_tide(-1.0, "cast-shadow"), ["gap-lengths"])) == {
        ("main",),
        ("plain",),
        ("uncast",),
        ("top", "hop"),
    }
    # A marker tells the height already; without an aid nothing does; on one level there is none.
    top = {("top", "hop")}  # what shows whether the landing is seen
    assert gaps.KIND.shots(_tide(-1.0, "cast-shadow", "drop-marker")).keys() == top
    assert gaps.KIND.shots(_tide(-1.0, "ground-texture")).keys() == top
    assert gaps.KIND.shots(_tide(0.0, "cast-shadow")).keys() == top
