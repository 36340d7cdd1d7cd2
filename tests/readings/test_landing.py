"""Landings: what of the top is seen, what the lip hides, by hand geometry."""

from __future__ import annotations

import numpy as np
import pytest

from readings.made import block, camera, case, numbers, square, values
from stationpoint.readings.gaps import landing
from stationpoint.readings.gaps.landing import landing_top, lip_hides
from stationpoint.readings.kinds import wanted
from stationpoint.readings.things.ends import ends
from stationpoint.readings.types import Case
from stationpoint.scene.types import Node

DECK = block("deck", (0, -0.5, 0), (2, 0.5, 4))
GAP = {"name": "g", "from": (0, 0, 6), "to": (0, 0, 0)}
CELL = (320, 180)


def _seen(made: Case) -> object:
    return values(made, ["landing"])["gaps", "g", "landing_seen"]


def _points(made: Case) -> np.ndarray:  # type: ignore[type-arg]
    found = landing_top(made.scene, ends(made, made.study.gap[0]))
    assert found is not None
    return found.points_m


def test_landing_in_the_open_is_seen_whole() -> None:
    made = case(camera(distance=12, pitch=30), DECK, gap=[GAP], cell=CELL)
    assert set(wanted(made, ["landing"])) == {("top", "g")}
    assert _seen(made) == 1.0


def test_large_landing_is_read_from_the_picture_itself() -> None:
    made = case(camera(distance=7, pitch=40), DECK, gap=[GAP], cell=(480, 270))
    assert set(wanted(made, ["landing"])) == {("main",)}
    assert _seen(made) == 1.0


def test_upright_wall_hides_the_share_that_similar_triangles_give() -> None:
    # Eye (0, 6, 10.392); a wall at z 3 whose top is at y: the sightline over it meets y 0 at z_0.
    made_camera = camera(distance=12, pitch=30)
    eye_y, eye_z = 6.0, 12 * np.cos(np.radians(30))
    for hidden_to in (1.0, 0.0, -1.0):  # the deck runs from z 2 to z -2
        top = eye_y * (3 - hidden_to) / (eye_z - hidden_to)
        made = case(made_camera, DECK, square("wall", (-5, 5), (-3, top), 3), gap=[GAP], cell=CELL)
        assert _seen(made) == pytest.approx((hidden_to + 2) / 4, abs=0.02)


def test_landing_half_out_of_the_action_safe_area_is_half_seen() -> None:
    # Straight down from 10 m, 36 mm: half the width is 5 m, action-safe 4.65; a deck from 3.65 to 5.65.
    deck = block("deck", (4.65, -0.5, 0), (2, 0.5, 2))
    made = case(camera(distance=10, pitch=90, focal=36), deck, gap=[{**GAP, "to": (4.65, 0, 0)}], cell=CELL)
    assert _seen(made) == pytest.approx(0.5, abs=0.01)


def test_opaque_interface_hides_a_landing_and_thin_one_does_not() -> None:
    view = camera(distance=10, pitch=90)
    for opacity, seen in ((1.0, 0.5), (0.49, 1.0)):
        panel = {"name": "p", "rect": (0.5, 0, 1, 1), "opacity": opacity}
        assert _seen(case(view, DECK, gap=[GAP], reserved=[panel], cell=CELL)) == pytest.approx(
            seen, abs=0.01
        )


def test_landing_out_of_the_picture_is_not_seen_and_needs_no_shot() -> None:
    made = case(camera(distance=12, pitch=30, yaw=180, anchor=(0, 0, 20)), DECK, gap=[GAP], cell=CELL)
    assert wanted(made, ["landing"]) == {}
    assert _seen(made) == 0.0


def test_landing_over_a_void_is_null() -> None:
    made = case(camera(), DECK, gap=[{**GAP, "to": (9, 0, 0)}], cell=CELL)
    assert _seen(made) is None


def test_samples_lie_on_the_top_every_tenth_of_a_metre() -> None:
    points = _points(case(camera(), block("deck", (0, -0.5, 0), (1, 0.5, 2)), gap=[GAP]))
    assert len(points) == 10 * 20
    np.testing.assert_allclose(points[:, 1], 0.0, atol=1e-6)
    assert sorted({round(float(x), 3) for x in points[:, 0]}) == pytest.approx(np.arange(-0.45, 0.5, 0.1))


def test_samples_of_a_wide_floor_lie_within_two_metres_of_the_landing() -> None:
    points = _points(case(camera(), block("floor", (0, -1, 0), (60, 1, 60)), gap=[GAP]))
    far = np.linalg.norm(points - (0, 0, 0), axis=1)
    assert 250 < len(points) < 450
    assert far.max() <= 2.0
    assert far.max() > 1.8


def test_slope_counts_by_its_own_area_not_by_its_plan() -> None:
    # Straight down on a landing half of whose plan is level, half slopes at 40 degrees; the interface
    # covers the level half. The slope has 1 / cos 40 of its plan: 1.3054 / 2.3054 of the whole.
    rise = 2 * np.tan(np.radians(40))
    corners = [(-2, 0, -1), (-2, 0, 1), (0, 0, -1), (0, 0, 1), (2, -rise, -1), (2, -rise, 1)]
    faces = [(0, 1, 3), (0, 3, 2), (2, 3, 5), (2, 5, 4)]
    ledge = Node("ledge", np.float32(corners), np.int32(faces), closed=False)
    panel = {"name": "p", "rect": (0, 0, 0.5, 1), "opacity": 1.0}
    view = camera("orthographic", distance=20, pitch=90, height=6)
    gap = {**GAP, "to": (-1, 0, 0), "landing": "ledge"}
    slope = 1 / np.cos(np.radians(40))
    assert _seen(case(view, ledge, gap=[gap], reserved=[panel], cell=CELL)) == pytest.approx(
        slope / (1 + slope), abs=1e-3
    )


def test_steep_faces_are_no_landing() -> None:
    # A roof: one side rises at 40 degrees, the other at 50.
    rise = 2 * np.tan(np.radians(40))
    run = rise / np.tan(np.radians(50))
    corners = [(-2, 0, -1), (-2, 0, 1), (0, rise, -1), (0, rise, 1), (run, 0, -1), (run, 0, 1)]
    faces = [(0, 1, 3), (0, 3, 2), (2, 3, 5), (2, 5, 4)]
    roof = Node("roof", np.float32(corners), np.int32(faces), closed=False)
    points = _points(case(camera(), roof, gap=[{**GAP, "to": (-1, rise / 2, 0), "landing": "roof"}]))
    assert len(points) > 100
    assert points[:, 0].max() < 0
    np.testing.assert_allclose(points[:, 1], (points[:, 0] + 2) * rise / 2, atol=1e-6)


def test_lip_hides_what_a_sightline_over_it_hides() -> None:
    # Eye 2 m over the deck, 4 m behind its lip at z 0; landing 2 m lower, 8 m past the lip: the
    # sightline over the lip comes down to it 4 m past the lip. The line begins at the lip.
    deck = block("roof", (0, -1, 5), (4, 1, 10))
    view = camera(distance=4, pitch=0, anchor=(0, 2, 0))
    made = case(view, deck, gap=[{"name": "g", "from": (0, 0, 0), "to": (0, -2, -8)}])
    assert lip_hides(view, made.scene, ends(made, made.study.gap[0])) == pytest.approx(0.5, abs=0.01)


def test_lip_hides_nothing_on_one_level_seen_from_above_and_all_from_below() -> None:
    deck = block("roof", (0, -1, 5), (4, 1, 10))
    gap = [{"name": "g", "from": (0, 0, 1), "to": (0, 0, -4)}]
    for pitch, share in ((20, 0.0), (-20, 1.0)):
        made = case(camera(pitch=pitch), deck, gap=gap)
        found = lip_hides(made.setup.camera, made.scene, ends(made, made.study.gap[0]))
        assert found == pytest.approx(share, abs=0.2 if share else 0.0)


def test_lip_in_a_parallel_view_hides_by_the_slant_of_the_sightlines() -> None:
    # Pitch 45: the sightline over the lip at z 0 comes down 2 m lower 2 m past it, of 8 m.
    deck = block("roof", (0, -1, 5), (4, 1, 10))
    made = case(
        camera("orthographic", pitch=45), deck, gap=[{"name": "g", "from": (0, 0, 0), "to": (0, -2, -8)}]
    )
    found = lip_hides(made.setup.camera, made.scene, ends(made, made.study.gap[0]))
    assert found == pytest.approx(0.25, abs=0.01)


def test_lip_without_a_take_off_node_is_null() -> None:
    made = case(camera(), DECK, gap=[{**GAP, "from": (0, 0, 9)}], cell=CELL)
    assert values(made, ["landing"])["gaps", "g", "lip_hides"] is None
    assert numbers(made, "gaps", "g")["true_span_m"] == pytest.approx(9.0)
    assert {field.path[-1] for field in landing.FIELDS} == {"landing_seen", "lip_hides"}
