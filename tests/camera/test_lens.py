"""Lens: angles of view from gates and focal lengths, and back, against published tables."""

from __future__ import annotations

from math import atan, degrees, hypot, isclose, radians, tan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from published import (
    ANGLES_24_9_DEG,
    ANGLES_36_24_DEG,
    FROM_HORIZONTAL_DEG,
    FROM_VERTICAL_DEG,
    GATE_ANGLES_DEG,
    LENS_36_MM,
    REAL_21_9_V_DEG,
)
from stationpoint.camera.lens import (
    angle_of_view_deg,
    angles_of_view_deg,
    focal_for_angle_mm,
    other_aspect_focal,
    picture_on_gate_mm,
)

FULL = (36.0, 24.0)


@pytest.mark.parametrize("focal_mm", ANGLES_36_24_DEG)
def test_angles_on_36_by_24_match_the_published_table(focal_mm: float) -> None:
    h, v, d, v_16_9, d_16_9, v_21_9, v_4_3 = ANGLES_36_24_DEG[focal_mm]
    assert angles_of_view_deg(focal_mm, FULL, 3 / 2) == pytest.approx((h, v, d), abs=6e-4)
    assert angles_of_view_deg(focal_mm, FULL, 16 / 9) == pytest.approx((h, v_16_9, d_16_9), abs=6e-4)
    assert angles_of_view_deg(focal_mm, FULL, 7 / 3)[:2] == pytest.approx((h, v_21_9), abs=6e-4)
    assert angles_of_view_deg(focal_mm, FULL, 4 / 3)[:2] == pytest.approx((h, v_4_3), abs=6e-4)


def test_wide_picture_on_the_width_never_has_the_tables_3_to_2_columns() -> None:
    _, v, d, *_ = ANGLES_36_24_DEG[35]
    _, v_16_9, d_16_9 = angles_of_view_deg(35, FULL, 16 / 9)
    assert v - v_16_9 > 5
    assert d - d_16_9 > 2


@pytest.mark.parametrize(
    ("gate_mm", "focal_mm"), [(gate, focal) for gate, row in GATE_ANGLES_DEG.items() for focal in row]
)
def test_angles_on_other_gates_match_the_table(gate_mm: tuple[float, float], focal_mm: float) -> None:
    expected = GATE_ANGLES_DEG[gate_mm][focal_mm]
    assert angles_of_view_deg(focal_mm, gate_mm, gate_mm[0] / gate_mm[1]) == pytest.approx(expected, abs=6e-3)


@pytest.mark.parametrize("focal_mm", ANGLES_24_9_DEG)
def test_a_hundredth_of_a_millimetre_of_gate_shows(focal_mm: float) -> None:
    assert angle_of_view_deg(focal_mm, 24.9) == pytest.approx(ANGLES_24_9_DEG[focal_mm], abs=6e-4)
    assert abs(angle_of_view_deg(focal_mm, 24.89) - ANGLES_24_9_DEG[focal_mm]) > 5e-3


@pytest.mark.parametrize(
    ("h", "aspect"), [(h, aspect) for h, row in FROM_HORIZONTAL_DEG.items() for aspect in row]
)
def test_horizontal_angle_gives_the_others(h: float, aspect: float) -> None:
    focal = focal_for_angle_mm(h, 36)
    expected = (h, *FROM_HORIZONTAL_DEG[h][aspect])
    assert angles_of_view_deg(focal, FULL, aspect) == pytest.approx(expected, abs=6e-4)


@pytest.mark.parametrize(
    ("v", "aspect"), [(v, aspect) for v, row in FROM_VERTICAL_DEG.items() for aspect in row]
)
def test_vertical_angle_gives_the_horizontal(v: float, aspect: float) -> None:
    focal = focal_for_angle_mm(v, 36 / aspect)
    assert angle_of_view_deg(focal, 36) == pytest.approx(FROM_VERTICAL_DEG[v][aspect], abs=6e-4)


@pytest.mark.parametrize("aspect", REAL_21_9_V_DEG)
def test_screens_sold_as_21_to_9_differ_from_7_to_3(aspect: float) -> None:
    assert angles_of_view_deg(18, FULL, aspect)[1] == pytest.approx(REAL_21_9_V_DEG[aspect], abs=6e-4)


@pytest.mark.parametrize("h", LENS_36_MM)
def test_lens_for_an_angle(h: float) -> None:
    assert focal_for_angle_mm(h, 36) == pytest.approx(LENS_36_MM[h], abs=6e-4)


def test_docstrings_worked_values() -> None:
    assert angle_of_view_deg(35, 36) == pytest.approx(54.432, abs=6e-4)
    assert focal_for_angle_mm(90, 36) == pytest.approx(18)
    assert picture_on_gate_mm(FULL, 16 / 9, "width") == pytest.approx((36, 20.25))
    assert angles_of_view_deg(35, FULL, 16 / 9) == pytest.approx((54.43, 32.27, 61.09), abs=6e-3)


def test_picture_matched_on_height_and_diagonal_by_hand() -> None:
    assert picture_on_gate_mm(FULL, 16 / 9, "height") == pytest.approx((24 * 16 / 9, 24))
    width, height = picture_on_gate_mm(FULL, 4 / 3, "diagonal")  # 4:3 is a 3-4-5 triangle
    assert (width, height) == pytest.approx((43.26661531 * 0.8, 43.26661531 * 0.6))
    for fit in ("width", "height", "diagonal"):  # a 3:2 picture fills the gate by every rule
        assert picture_on_gate_mm(FULL, 1.5, fit) == pytest.approx(FULL)


def test_unknown_fit_and_policy_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match="width, height or diagonal, not 'crop'"):
        picture_on_gate_mm(FULL, 1.5, "crop")
    with pytest.raises(ValueError, match="height, width or diagonal, not 'crop'"):
        other_aspect_focal(1.0, 16 / 9, 4 / 3, "crop")


def angles(focal_over_width: float, aspect: float) -> dict[str, float]:
    """Angles of a picture of width 1, written out once more for the policies."""
    sides = {"width": 1.0, "height": 1 / aspect, "diagonal": hypot(1, 1 / aspect)}
    return {side: degrees(2 * atan(length / 2 / focal_over_width)) for side, length in sides.items()}


@pytest.mark.parametrize("policy", ["width", "height", "diagonal"])
@pytest.mark.parametrize("new_aspect", [4 / 3, 7 / 3, 8 / 9, 9 / 16])
def test_aspect_policy_keeps_its_own_angle_and_no_other(policy: str, new_aspect: float) -> None:
    before = angles(0.9, 16 / 9)
    after = angles(other_aspect_focal(0.9, 16 / 9, new_aspect, policy), new_aspect)
    kept = {side for side in before if isclose(before[side], after[side], abs_tol=1e-9)}
    assert kept == {policy}


def test_aspect_policies_against_the_tables() -> None:
    focal = 0.5 / tan(radians(35))  # 70 degrees wide at 16:9: 42.996 high, 77.556 across
    taller = FROM_HORIZONTAL_DEG[70][4 / 3]
    assert angles(other_aspect_focal(focal, 16 / 9, 4 / 3, "width"), 4 / 3)["height"] == pytest.approx(
        taller[0], abs=6e-4
    )
    # kept height 45: 72.734 wide at 16:9 becomes 57.822 at 4:3
    focal = 0.5 / tan(radians(72.734) / 2)
    assert angles(other_aspect_focal(focal, 16 / 9, 4 / 3, "height"), 4 / 3)["width"] == pytest.approx(
        57.822, abs=1e-3
    )
    # kept diagonal 97.851: 90 wide at 16:9; at 4:3 tan(h/2) = .8 tan(d/2)
    focal = other_aspect_focal(0.5, 16 / 9, 4 / 3, "diagonal")
    by_hand = degrees(2 * atan(0.8 * tan(radians(97.851) / 2)))
    assert angles(focal, 4 / 3)["width"] == pytest.approx(by_hand, abs=1e-3)


def test_seventy_degrees_on_a_screen_twice_or_half_as_wide() -> None:
    focal = 0.5 / tan(radians(35))
    twice = other_aspect_focal(focal, 16 / 9, 32 / 9, "height")
    assert angles(twice, 32 / 9)["width"] == pytest.approx(degrees(2 * atan(2 * tan(radians(35)))))
    assert angles(twice, 32 / 9)["width"] == pytest.approx(108.94, abs=6e-3)
    half = other_aspect_focal(focal, 16 / 9, 8 / 9, "width")
    assert angles(half, 8 / 9)["width"] == pytest.approx(70)
    assert angles(half, 8 / 9)["height"] == pytest.approx(76.46, abs=6e-3)


@settings(derandomize=True, database=None, deadline=None)
@given(st.floats(1, 2000), st.floats(1, 100))
def test_focal_length_and_angle_invert_each_other(focal_mm: float, side_mm: float) -> None:
    assert focal_for_angle_mm(angle_of_view_deg(focal_mm, side_mm), side_mm) == pytest.approx(focal_mm)


@settings(derandomize=True, database=None, deadline=None)
@given(st.floats(5, 500), st.floats(0.3, 4), st.sampled_from(["width", "height", "diagonal"]))
def test_three_angles_obey_pythagoras(focal_mm: float, aspect: float, fit: str) -> None:
    h, v, d = (tan(radians(angle) / 2) for angle in angles_of_view_deg(focal_mm, FULL, aspect, fit))
    assert h == pytest.approx(aspect * v)
    assert d * d == pytest.approx(h * h + v * v)
