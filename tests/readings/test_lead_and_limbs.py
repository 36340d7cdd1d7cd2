"""Lead room, limbs and awareness: where the subject looks, how deep it is, who nears it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from readings.made import block, body, camera, case, numbers, values
from stationpoint.camera.camera import Camera
from stationpoint.study.models import Place

LEVEL = camera("orthographic", pitch=0, height=9, anchor=(0, 0.9, 0))  # 120 px a metre, 16 m wide
PERSPECTIVE = camera(pitch=0, anchor=(0, 0.9, 0))  # 35 mm: 1866.67 px; at 8 m 233.33 px a metre
LIMBS = [{"name": "hand", "at": (0, 1.2, -0.6)}, {"name": "heel", "at": (0, 1.2, 0.6)}]
NEAR = camera(pitch=0, distance=3.2, focal=24, anchor=(0, 1.2, 0))
OVER = camera("orthographic", pitch=90, height=12)
TO_RIGHT, TO_LEFT = -90.0, 90.0


def _hero(view: Camera, x: float, heading_deg: float, place: Place | None = None, **subject: Any) -> Any:
    told = {"node": "hero", "heading_deg": heading_deg, **subject}
    made = case(view, block("hero", (x, 0, 0), (0.6, 1.8, 0.6)), subject=told)
    return numbers(made if place is None else replace(made, place=place), "framing")


# ---- lead room ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("view", "x"),
    [(LEVEL, -0.15 * 16), (PERSPECTIVE, -0.15 * 1920 / (1866.6667 / 8))],
    ids=["parallel", "perspective"],
)
def test_lead_room_is_the_share_of_the_picture_ahead_less_that_behind(view: Camera, x: float) -> None:
    # x = 0.35: 0.65 of the width lies to the right, 0.35 to the left
    assert _hero(view, x, TO_RIGHT)["lead_room"] == pytest.approx(0.30, abs=1e-5)
    assert _hero(view, x, TO_LEFT)["lead_room"] == pytest.approx(-0.30, abs=1e-5)


def test_lead_room_goes_by_the_heading_at_the_place() -> None:
    place = Place(name="back", at=(0, 0, 0), heading_deg=TO_LEFT)
    assert _hero(LEVEL, -2.4, TO_RIGHT, place)["lead_room"] == pytest.approx(-0.30)


def test_lead_room_ends_at_the_nearer_edge_of_a_slanted_heading() -> None:
    # Straight down, 9 m high; heading up and right, 540 px to the top, 540 px to the bottom: as much.
    # At x = 0.9 (1728 px) the right edge is nearer, 192 px; behind, the bottom, 540 px: -348 / 732.
    down = camera("orthographic", pitch=90, height=9)
    assert _hero(down, -2.4, -45.0)["lead_room"] == pytest.approx(0.0, abs=1e-9)
    assert _hero(down, 6.4, -45.0)["lead_room"] == pytest.approx(-348 / 732)


@pytest.mark.parametrize(("pitch", "drawn"), [(2.3, False), (2.5, True)])
def test_heading_drawn_shorter_than_5_px_a_metre_has_no_lead_room(pitch: float, drawn: bool) -> None:
    # 120 px a metre: along the sightline 120 sin(pitch) = 5 px at 2.388 degrees
    view = camera("orthographic", pitch=pitch, height=9)
    assert (_hero(view, 0.0, 0.0)["lead_room"] is not None) == drawn


def test_the_5_px_are_the_players_and_not_the_sheets() -> None:
    view = camera("orthographic", pitch=2.5, height=9)
    hero = block("hero", (0, 0, 0), (0.6, 1.8, 0.6))
    small = case(view, hero, subject={"node": "hero"}, cell=(96, 54))
    found = values(small, ["framing-geometry"])["framing", "lead_room"]
    assert found == pytest.approx(_hero(view, 0.0, 0.0)["lead_room"])


def test_subject_off_the_picture_has_no_lead_room_nor_has_a_picture_without_one() -> None:
    assert _hero(LEVEL, -8.5, TO_RIGHT)["lead_room"] is None
    found = numbers(case(LEVEL, block("wall", (0, 0, 0), (1, 1, 1))), "framing")
    assert found["lead_room"] is None
    assert found["limb_spread"] is None


# ---- limb spread --------------------------------------------------------------------------------


def test_limb_spread_is_the_depth_of_the_farthest_part_over_that_of_the_nearest() -> None:
    # 3.2 m away, limbs 0.6 m before and behind: 3.8 / 2.6 = 1.4615
    assert _hero(NEAR, 0.0, 0.0, part=LIMBS)["limb_spread"] == pytest.approx(1.461538, abs=1e-6)


def test_parts_turn_with_the_subject() -> None:
    # Turned a quarter, both limbs are as deep as the body; turned half a quarter, 0.6 / sqrt 2 off.
    assert _hero(NEAR, 0.0, 90.0, part=LIMBS)["limb_spread"] == pytest.approx(1.0)
    off = 0.6 / 2**0.5
    at = Place(name="turned", at=(0, 0, 0), heading_deg=45.0)
    assert _hero(NEAR, 0.0, 0.0, at, part=LIMBS)["limb_spread"] == pytest.approx((3.2 + off) / (3.2 - off))
    side = [{"name": "left hand", "at": (-0.5, 1, 0)}, {"name": "foot", "at": (0, 0, 0)}]
    # Facing left (-X), its left hand is at +Z, nearer to a camera that looks along -Z: 3.2 / 2.7.
    assert _hero(NEAR, 0.0, TO_LEFT, part=side)["limb_spread"] == pytest.approx(3.2 / 2.7)


def test_limb_spread_without_parts_is_that_of_the_bounds() -> None:
    made = case(NEAR, block("hero", (0, 0, 0), (0.6, 1.8, 1.2)), subject={"node": "hero"})
    assert numbers(made, "framing")["limb_spread"] == pytest.approx(3.8 / 2.6)


def test_limb_spread_is_1_in_parallel_views_and_null_of_a_limb_behind_the_eye() -> None:
    level = camera("orthographic", pitch=0, distance=3.2, height=9)
    assert _hero(level, 0.0, 0.0, part=LIMBS)["limb_spread"] == 1.0
    behind = [{"name": "tail", "at": (0, 1, 3.3)}, {"name": "foot", "at": (0, 0, 0)}]
    assert _hero(NEAR, 0.0, 0.0, part=behind)["limb_spread"] is None


def test_parts_of_one_that_crouches_are_lower_in_proportion() -> None:
    # Straight down from 10 m: the head of 1.7 m is 8.3 m deep, crouched to 0.85 m it is 9.15 m.
    down = camera(pitch=90, distance=10)
    parts = [{"name": "head", "at": (0, 1.7, 0)}, {"name": "foot", "at": (0, 0, 0)}]
    made = case(down, body((0, 0, 0)), subject={"at": (0, 0, 0), "part": parts})
    assert numbers(made, "framing")["limb_spread"] == pytest.approx(10 / 8.3)
    low = replace(made, place=Place(name="duct", at=(0, 0, 0), height_m=0.85))
    assert numbers(low, "framing")["limb_spread"] == pytest.approx(10 / 9.15)


# ---- awareness ----------------------------------------------------------------------------------


def _ring(view: Camera, *nodes: Any, **study: Any) -> Any:
    made = case(view, body((0, 0, 0)), *nodes, cell=(320, 180), subject={"at": (0, 0, 0)}, **study)
    return values(made, ["awareness"])["framing", "awareness_ring"]


# Action-safe is 93 % of 12 m: what of a ring of 6 m lies within 5.58 m, 4 asin(.93) of 360 degrees.
WHOLE_RING = 0.760
ONE = 1 / 360
# In perspective 36 mm sees 9 / 16 of the distance across in height: 12 m from 21.333 m.
LENS_OVER = camera(pitch=90, distance=12 * 16 / 9, focal=36, anchor=(0, 0.9, 0))


@pytest.mark.parametrize("view", [OVER, LENS_OVER], ids=["parallel", "perspective"])
def test_awareness_ring_is_the_share_of_it_in_the_action_safe_area(view: Camera) -> None:
    assert _ring(view, awareness_m=6.0) == pytest.approx(WHOLE_RING, abs=ONE)
    assert _ring(view, awareness_m=5.5) == 1.0
    assert _ring(view, awareness_m=60.0) == 0.0


def test_what_hides_the_ring_and_what_the_interface_covers_does_not_count() -> None:
    roof = block("roof", (10, 3, 0), (20, 0.2, 40))  # over all that lies to the right
    assert _ring(OVER, roof, awareness_m=6.0) == pytest.approx(WHOLE_RING / 2, abs=ONE)
    half = [{"name": "map", "rect": (0, 0, 0.5, 1)}]
    assert _ring(OVER, awareness_m=6.0, reserved=half) == pytest.approx(WHOLE_RING / 2, abs=ONE)
    thin = [{"name": "map", "rect": (0, 0, 0.5, 1), "opacity": 0.4}]
    assert _ring(OVER, awareness_m=6.0, reserved=thin) == pytest.approx(WHOLE_RING, abs=ONE)


def test_awareness_of_a_study_that_names_no_distance_is_null() -> None:
    assert _ring(OVER) is None
