"""Solids against hand volumes and an independent library's look at their surface."""

from __future__ import annotations

from math import pi, sin

import numpy as np
import pytest
import trimesh

from stationpoint.scene.solids import MOST_STEPS, RINGS, SHAPES, SIDES, default_steps, solid

SIZE = (2.0, 3.0, 4.0)
ROUND = SIDES / 2 * sin(2 * pi / SIDES) / pi  # a polygon of SIDES corners over its circle, in area
FULL = {
    "box": 24.0,
    "ramp": 12.0,
    "cylinder": pi * 1 * 2 * 3 * ROUND,
    "cone": pi * 1 * 2 * 3 / 3 * ROUND,
    "stairs": 2 * 4 * 3 * (1 + 1 / 15) / 2,  # 15 steps of 0.2 m: sum of k / n over n
}


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("turn_deg", [0.0, 30.0, -90.0])
def test_every_solid_is_closed_and_faces_outward(shape: str, turn_deg: float) -> None:
    vertices, faces = solid(shape, SIZE, (1, 2, 3), turn_deg)
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0
    assert len(np.unique(vertices, axis=0)) == len(vertices)
    assert (mesh.area_faces > 0).all()


@pytest.mark.parametrize("shape", FULL)
def test_volume_is_what_the_formula_says(shape: str) -> None:
    vertices, faces = solid(shape, SIZE, (10, -5, 7), 33)
    assert trimesh.Trimesh(vertices, faces, process=False).volume == pytest.approx(FULL[shape], rel=1e-9)


@pytest.mark.parametrize(("shape", "true_volume"), [("sphere", 4 / 3 * pi * 1 * 1.5 * 2), ("capsule", 0.0)])
def test_round_volume_is_just_under_the_true_one(shape: str, true_volume: float) -> None:
    # capsule 2 x 3 x 4: caps 1 m high, middle 1 m: ellipse 1 x 2, two half ellipsoids 1 x 1 x 2
    true_volume = true_volume or pi * 1 * 2 * 1 + 4 / 3 * pi * 1 * 1 * 2
    vertices, faces = solid(shape, SIZE)
    found = trimesh.Trimesh(vertices, faces, process=False).volume
    assert true_volume * 0.98 < found < true_volume
    assert RINGS >= 8


@pytest.mark.parametrize("shape", SHAPES)
def test_size_is_met_exactly_and_at_is_the_base_centre(shape: str) -> None:
    vertices, _ = solid(shape, SIZE, (10, 20, 30))
    assert vertices.min(axis=0) == pytest.approx([9, 20, 28], abs=1e-12)
    assert vertices.max(axis=0) == pytest.approx([11, 23, 32], abs=1e-12)


def test_turn_is_counterclockwise_from_above() -> None:
    # From above with x to the right and z downwards, a quarter turn takes +z (down) to +x (right).
    vertices, _ = solid("ramp", (1, 1, 4), turn_deg=90)
    high = vertices[vertices[:, 1] == 1]
    assert len(high) == 2
    assert high[:, 0] == pytest.approx([-2, -2])  # its high end, at -z before, is at -x now
    assert vertices.max(axis=0) == pytest.approx([2, 1, 0.5])


@pytest.mark.parametrize("shape", ["ramp", "stairs"])
def test_ramp_and_stairs_rise_along_minus_z(shape: str) -> None:
    vertices, _ = solid(shape, (1, 2, 4), steps=4 if shape == "stairs" else None)
    assert vertices[vertices[:, 1] == 2][:, 2].min() == -2
    assert vertices[vertices[:, 2] == 2][:, 1].max() == (0.5 if shape == "stairs" else 0.0)


def test_steps_are_about_a_fifth_of_a_metre_unless_given() -> None:
    assert [default_steps(h) for h in (0.05, 0.2, 1.0, 1.7)] == [1, 1, 5, 8]
    assert default_steps(1e6) == MOST_STEPS
    tops = np.unique(solid("stairs", (1, 3, 3), steps=3)[0][:, 1])
    assert tops.tolist() == [0, 1, 2, 3]


def test_capsule_wider_than_high_keeps_its_extents() -> None:
    vertices, faces = solid("capsule", (4, 1, 4))
    assert (vertices.max(axis=0) - vertices.min(axis=0)) == pytest.approx([4, 1, 4])
    assert trimesh.Trimesh(vertices, faces).is_watertight


def test_a_quarter_turn_is_exact() -> None:
    vertices, _ = solid("box", (2, 1, 4), turn_deg=90)
    assert set(np.abs(vertices[:, 0])) == {2.0}
    assert set(np.abs(vertices[:, 2])) == {1.0}
