"""Worked values of docstrings that no other test has: each by hand geometry, said beside it."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from readings.made import camera, case, numbers, square, values
from stationpoint.camera.seat import seat_at

GAP = {"name": "g", "from": (0, 0, 0), "to": (2, 1, -2)}


def test_target_for_which_the_study_says_no_role_is_primary() -> None:
    assert numbers(case("C1", target=[{"name": "t", "at": (0, 0, 0)}]), "targets", "t")["role"] == "primary"


def test_take_off_at_the_anchor_is_drawn_in_the_middle() -> None:
    made = case(camera(anchor=(4.2, 0.8, -3.0)), gap=[{**GAP, "from": (4.2, 0.8, -3.0)}])
    assert numbers(made, "gaps", "g")["from_xy"] == pytest.approx((0.5, 0.5))


def test_spans_of_a_gap_are_those_of_pythagoras() -> None:
    # 2, 1 and 2 m along the axes: sqrt(4 + 1 + 4) straight, sqrt(4 + 4) level.
    found = numbers(case("C1", gap=[GAP]), "gaps", "g")
    assert found["true_span_m"] == pytest.approx(3.0)
    assert found["level_span_m"] == pytest.approx(sqrt(8)) == pytest.approx(2.828, abs=1e-3)
    assert found["height_m"] == pytest.approx(1.0)


def test_frontal_scales_are_as_the_depths() -> None:
    # Level camera 8 m from the take-off, the landing 4 m behind it: 12 / 8.
    made = case(camera(pitch=0), gap=[{"name": "g", "from": (0, 0, 0), "to": (0, 0, -4)}])
    assert numbers(made, "gaps", "g")["scale_ratio"] == pytest.approx(1.5)


def test_flat_reading_is_a_share_of_the_truth() -> None:
    # Level camera 8 m off, a gap 4 m across the picture at the anchor: read as it is.
    made = case(camera(pitch=0), gap=[{"name": "g", "from": (-2, 0, 0), "to": (2, 0, 0)}])
    assert numbers(made, "gaps", "g")["read_ratio"] == pytest.approx(1.0)


def test_a_metre_nearer_draws_an_eighth_larger_from_8_m() -> None:
    # d ln(F / z) / dz at z = 8 is 1 / 8: 12.5 % a metre, straight towards a level camera, which is +z.
    found = numbers(case(camera(pitch=0)), "axes", "z")
    assert found["size_pct_per_m"] == pytest.approx(12.5, abs=1e-3)


def test_picture_on_the_right_half_of_a_screen_has_half_its_columns() -> None:
    right = seat_at("right", 55, (1920, 1080), 2.7, (0.5, 0.0, 1.0, 1.0))
    assert numbers(case("C1", at=[right]), "viewing", "right")["picture_pixels"] == (960, 1080)


def test_quantum_of_a_square_counts_its_border() -> None:
    # 100 x 100 px have 4 x 100 - 4 = 396 border pixels: (396 / 2 + 1) / 10000.
    view = camera("orthographic", pitch=0, height=10.8)  # 1080 px over 10.8 m: 100 px a metre
    half = 0.5
    node = square("plate", (-half, half), (-half, half), 0.0)
    found = values(case(view, node, target=[{"name": "t", "node": "plate"}]), ["visibility"])
    assert found["targets", "t", "quantum"] == pytest.approx((396 / 2 + 1) / 10000) == pytest.approx(0.0199)
    assert np.isclose(found["targets", "t", "seen"], 1.0)
