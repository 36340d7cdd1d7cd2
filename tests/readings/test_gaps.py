"""Gaps: the harbour quay, the tides, reach, verdicts, ends that move with their nodes."""

from __future__ import annotations

from itertools import product
from math import sqrt

import numpy as np
import pytest

from readings.made import COUCH, block, body, camera, case, numbers
from stationpoint.camera.camera import project_points
from stationpoint.readings.gaps import lengths as gaps
from stationpoint.readings.things.reach import reach_m, verdict
from stationpoint.study.models import Gap

FROM, TO = (4.2, 0.8, -3.0), (4.2, 0.8, -7.1)
HOP = {"name": "hop", "from": FROM, "to": TO, "reach_m": 3.4}
QUAY = camera(anchor=FROM)
TIDE = {"name": "hop", "from": FROM, "to": TO, "reach": [(-1, 3.6), (0, 3.4), (1, 2.6)]}
DECKS = (block("barge-2", (4.2, 0.0, -3.0), (2, 0.8, 1.2)), block("barge-3", (4.2, 0.0, -7.1), (2, 0.8, 1.2)))


def _gap(**given: object) -> Gap:
    return Gap.model_validate({"name": "g", "from": (0, 0, 0), "to": (0, 0, -3), **given})


def test_quay_in_perspective_reads_as_calculated_by_hand() -> None:
    # z_B = 8 + 4.1 cos 20; up = 4.1 sin 20; d(extent)/dL = F sin 20 x 8 / z_B^2.
    sin20, cos20, f = np.sin(np.radians(20)), np.cos(np.radians(20)), 1920 * 35 / 36
    z = 8 + 4.1 * cos20
    extent = f * 4.1 * sin20 / z
    found = numbers(case(QUAY, *DECKS, body(FROM), at=[COUCH], gap=[HOP]), "gaps", "hop")
    assert found["to_xy"] == pytest.approx((0.5, (540 - extent) / 1080), abs=1e-7)
    assert (found["to_xy"][1] * 1080) == pytest.approx(319.16, abs=0.01)
    assert found["flat_span_m"] == pytest.approx(extent / (f / 8)) == pytest.approx(0.9465, abs=1e-4)
    assert found["ground_span_m"] == pytest.approx(4.1)
    assert found["scale_ratio"] == pytest.approx(z / 8) == pytest.approx(1.4816, abs=1e-4)
    # 36.36 px/m at the landing, 220.84 px off the screen's centre, 0.8074' a pixel there.
    off = extent * COUCH.pixel_m / COUCH.eye_distance_m
    turn = f * sin20 * 8 / z**2 * COUCH.pixel_m / COUCH.eye_distance_m / (1 + off**2) * 180 * 60 / np.pi
    assert found["arcmin_per_m"] == pytest.approx(turn) == pytest.approx(29.28, abs=0.01)
    assert found["tell_m"] == pytest.approx(0.183, abs=5e-4)
    assert found["decidable"] is True
    assert found["reachable"] is False
    assert found["misleading"] is True
    assert found["verdict"] == "needs a cue"


def test_quay_in_a_parallel_view_reads_as_calculated_by_hand() -> None:
    view = camera("orthographic", anchor=FROM, height=1080 / (1920 * 35 / 36 / 8))  # 233.33 px/m
    found = numbers(case(view, gap=[HOP], at=[COUCH]), "gaps", "hop")
    assert (
        found["flat_span_m"] == pytest.approx(4.1 * np.sin(np.radians(20))) == pytest.approx(1.4023, abs=1e-4)
    )
    assert (0.5 - found["to_xy"][1]) * 1080 == pytest.approx(327.2, abs=0.1)
    assert found["scale_ratio"] == pytest.approx(1.0)
    assert found["foreshortening"] == pytest.approx(np.sin(np.radians(20)))
    assert found["verdict"] == "needs a cue"


@pytest.mark.parametrize(
    ("up", "flat", "ground", "reach", "said"),
    [(1.0, 1.628, 10.79, 2.6, "needs a cue"), (-1.0, 0.303, 0.991, 3.6, "lies")],
    ids=["high tide", "low tide"],
)
def test_tides_move_the_landing_and_turn_the_verdict(
    up: float, flat: float, ground: float, reach: float, said: str
) -> None:
    made = case(QUAY, *DECKS, body(FROM), gap=[TIDE], moves={"barge-3": (0, up, 0)}, at=[COUCH])
    found = numbers(made, "gaps", "hop")
    assert found["height_m"] == pytest.approx(up, abs=1e-6)
    assert found["level_span_m"] == pytest.approx(4.1)
    assert found["flat_span_m"] == pytest.approx(flat, abs=1e-3)
    assert found["ground_span_m"] == pytest.approx(ground, rel=1e-3)
    assert found["reach_m"] == pytest.approx(reach)
    assert found["reach_level_m"] == pytest.approx(3.4)
    assert found["reachable"] is False
    assert found["verdict"] == said


def test_take_off_moves_with_the_node_under_it_and_not_with_the_subject() -> None:
    made = case(QUAY, *DECKS, body(FROM), gap=[HOP], moves={"barge-2": (0, -0.5, 0)}, subject={"at": FROM})
    assert numbers(made, "gaps", "hop")["height_m"] == pytest.approx(0.5, abs=1e-6)
    made = case(QUAY, *DECKS, body(FROM), gap=[HOP], moves={"subject": (0, -0.5, 0)}, subject={"at": FROM})
    assert numbers(made, "gaps", "hop")["height_m"] == pytest.approx(0.0, abs=1e-6)


def test_landing_named_by_the_study_carries_a_point_that_it_does_not_lie_under() -> None:
    gap = {**HOP, "to": (4.2, 0.8, -9.0), "landing": "barge-3"}
    made = case(QUAY, *DECKS, gap=[gap], moves={"barge-3": (0, 1, 0)})
    assert numbers(made, "gaps", "hop")["height_m"] == pytest.approx(1.0)


def test_drop_marker_in_view_lets_the_ground_reader_know_the_height() -> None:
    # Low tide: reach 3.6 at 1 m down, 4.1 m away. Flat .303 says yes, ground .991 says yes: "lies". Who
    # knows the level span and the height says no: "needs a cue".
    low = {"moves": {"barge-3": (0, -1, 0)}, "gap": [TIDE], "at": [COUCH]}
    floor = block("bed", (0, -3, 0), (60, 1, 60))  # its top 1.8 m under the low deck
    marked = case(QUAY, *DECKS, floor, aids=["drop-marker"], **low)
    assert numbers(marked, "gaps", "hop")["verdict"] == "needs a cue"
    assert numbers(case(QUAY, *DECKS, floor, **low), "gaps", "hop")["verdict"] == "lies"
    # Over a void there is no floor to draw it to; no other aid tells a height.
    assert numbers(case(QUAY, *DECKS, aids=["drop-marker"], **low), "gaps", "hop")["verdict"] == "lies"
    textured = case(QUAY, *DECKS, floor, aids=["ground-texture"], **low)
    assert numbers(textured, "gaps", "hop")["verdict"] == "lies"


def test_drop_marker_whose_floor_is_out_of_the_picture_tells_nothing() -> None:
    # 30 m down at 12 m: 2.5 picture heights below the landing.
    low = {"moves": {"barge-3": (0, -1, 0)}, "gap": [TIDE], "at": [COUCH]}
    floor = block("bed", (0, -31, 0), (60, 1, 60))
    found = numbers(case(QUAY, *DECKS, floor, aids=["drop-marker"], **low), "gaps", "hop")
    assert found["verdict"] == "lies"


def test_on_one_level_no_verdict_wants_a_shadow() -> None:
    level = case(QUAY, *DECKS, aids=["cast-shadow"], gap=[HOP], at=[COUCH])
    assert gaps.KIND.shots(level).keys() == {("main",)}
    assert numbers(level, "gaps", "hop")["verdict"] == "needs a cue"


def test_ballistic_reach_is_flight_time_times_speed() -> None:
    jump = {"speed_mps": 4, "apex_m": 1.25, "gravity_mps2": 20}
    gap = _gap(jump=jump)
    # Up to 1.25 m takes sqrt(2 x 1.25 / 20) s; down again from there to the landing's height.
    for height in (-2.0, 0.0, 0.7, 1.25):
        flight = sqrt(2 * 1.25 / 20) + sqrt(2 * (1.25 - height) / 20)
        assert reach_m(gap, height) == pytest.approx(4 * flight)
    assert reach_m(gap, 0.0) == pytest.approx(2.828, abs=1e-3)
    assert reach_m(gap, 1.2501) is None


def test_reach_table_is_linear_between_its_rows_and_none_outside() -> None:
    gap = _gap(reach=[(-1, 3.6), (0, 3.4), (1, 2.6)])
    assert reach_m(gap, 0.25) == pytest.approx(3.2)
    assert reach_m(gap, -1.0) == pytest.approx(3.6)
    assert reach_m(gap, 1.1) is None
    assert reach_m(gap, -1.1) is None


def test_bare_reach_counts_at_every_height() -> None:
    assert [reach_m(_gap(reach_m=3.0), height) for height in (-5.0, 0.0, 5.0)] == [3.0, 3.0, 3.0]


def test_gap_without_a_reach_has_lengths_and_no_verdict() -> None:
    found = numbers(case(QUAY, gap=[{"name": "hop", "from": FROM, "to": TO}]), "gaps", "hop")
    assert found["true_span_m"] == pytest.approx(4.1)
    for name in ("reach_m", "reach_level_m", "reachable", "decidable", "misleading", "verdict"):
        assert found[name] is None


def test_landing_over_the_apex_is_decidably_out_of_reach() -> None:
    jump = {"speed_mps": 4, "apex_m": 0.5, "gravity_mps2": 20}
    found = numbers(
        case(QUAY, gap=[{**TIDE, "reach": None, "to": (4.2, 1.8, -7.1), "jump": jump}]), "gaps", "hop"
    )
    assert found["reach_m"] is None
    assert (found["reachable"], found["decidable"]) == (False, True)


def test_gap_near_its_limit_is_a_close_call() -> None:
    found = numbers(case(QUAY, gap=[{**HOP, "reach_m": 3.9}], at=[COUCH]), "gaps", "hop")
    assert found["decidable"] is False  # |3.9 - 4.1| = 0.2 < 3 x 0.183
    assert found["verdict"] == "close call"


@pytest.mark.parametrize(("flat_ok", "ground_ok", "truth"), [*product((True, False), repeat=3)])
def test_verdict_follows_what_the_two_readers_say(flat_ok: bool, ground_ok: bool, truth: bool) -> None:
    gap = _gap(reach_m=3.0)
    said = verdict(gap, 2.0 if flat_ok else 4.0, 2.0 if ground_ok else None, truth, True, False)
    if flat_ok != ground_ok:
        assert said == "needs a cue"
    else:
        assert said == ("sure" if flat_ok == truth else "lies")


def test_marks_of_a_gap_are_points_of_the_world_in_the_cell() -> None:
    made = case(QUAY, gap=[HOP], at=[COUCH], cell=(544, 306))
    extras = gaps.KIND.read(made, {}).extras
    flat = np.array(FROM) - (0, 0, numbers(made, "gaps", "hop")["flat_span_m"])  # the gap runs along -Z
    ends = [FROM, TO, flat, TO]
    np.testing.assert_allclose(extras["gap", "hop"], project_points(made.setup.camera, ends), atol=1e-6)
    ticks = [(3.7, 0.8, -3.0), (4.7, 0.8, -3.0), (3.7, 0.8, -7.1), (4.7, 0.8, -7.1)]  # left, right of -Z
    np.testing.assert_allclose(
        extras["gap", "hop", "ticks"], project_points(made.setup.camera, ticks), atol=1e-6
    )
    sides = np.array([np.add(p, (x, 0, 0)) for x in (-1, 1) for p in (FROM, flat, TO)])
    np.testing.assert_allclose(
        extras["gap", "hop", "sides"], project_points(made.setup.camera, sides), atol=1e-6
    )


def test_end_behind_the_eye_leaves_what_is_drawn_null_and_what_is_true_known() -> None:
    found = numbers(case(camera(pitch=0), gap=[{**HOP, "from": (0, 0, 0), "to": (0, 0, 10)}]), "gaps", "hop")
    assert found["level_span_m"] == pytest.approx(10.0)
    assert found["reachable"] is False
    drawn = ("to_xy", "flat_span_m", "flat_span_by_body_m", "read_ratio", "ground_span_m", "scale_ratio")
    for name in (*drawn, "arcmin_per_m", "tell_m", "decidable", "misleading"):
        assert found[name] is None, name
    assert found["verdict"] == "unseen"


def test_vertical_gap_has_no_level_direction() -> None:
    found = numbers(case(QUAY, gap=[{**HOP, "to": (4.2, 3.0, -3.0)}]), "gaps", "hop")
    assert found["level_span_m"] == 0.0
    assert found["arcmin_per_m"] is None
    assert found["flat_span_m"] == pytest.approx(2.2, rel=0.1)


def test_view_straight_down_has_no_body_for_a_yardstick() -> None:
    found = numbers(case(camera(pitch=90), gap=[{**HOP, "from": (1, 0, 0), "to": (1, 0, -3)}]), "gaps", "hop")
    assert found["flat_span_by_body_m"] is None
    assert found["flat_span_m"] == pytest.approx(3.0)


def test_sightline_that_misses_the_take_offs_level_has_no_ground_span() -> None:
    # Eye 1 m over the take-off, landing 2 m over it: the sightline climbs.
    view = camera(anchor=(0, 1, 0), pitch=0)
    found = numbers(case(view, gap=[{**HOP, "from": (0, 0, 0), "to": (0, 2, -4)}]), "gaps", "hop")
    assert found["ground_span_m"] is None
    assert found["verdict"] is not None


def test_lines_beside_a_gap_come_nearer_for_a_small_body() -> None:
    # 0.35 m high: marks of 0.2 m, so the sides lie 0.2 m off (x, along -Z), ticks reach 0.1 m.
    made = case(camera(anchor=FROM), gap=[HOP], subject={"height_m": 0.35})
    extras = gaps.KIND.read(made, {}).extras
    ends = [np.add(FROM, (-0.2, 0, 0)), np.add(FROM, (0.2, 0, 0))]
    sides = project_points(made.setup.camera, ends)
    np.testing.assert_allclose(extras["gap", "hop", "sides"][[0, 3]], sides, atol=1e-6)
    ticks = project_points(made.setup.camera, [np.add(FROM, (-0.1, 0, 0)), np.add(FROM, (0.1, 0, 0))])
    np.testing.assert_allclose(extras["gap", "hop", "ticks"][:2], ticks, atol=1e-6)
