"""The floor that people would stand on: by hand geometry."""

from __future__ import annotations

from math import cos
from pathlib import Path

import numpy as np
import pytest

from scene.test_standing import GROUND, box, scene
from stationpoint.scene.floors import standing_place, standing_spots
from stationpoint.scene.types import Node, Scene

# A house of two storeys, 8 x 6 m: slabs 0.2 m thick with their tops at 0 and 3, its roof's at 6, and that
# roof reaches 2 m over the walls on every side.
HOUSE = (
    box("floor", "[8, 0.2, 6]", "[0, -0.2, 0]")
    + box("storey", "[8, 0.2, 6]", "[0, 2.8, 0]")
    + box("roof", "[12, 0.2, 10]", "[0, 5.8, 0]")
    + box("wall-left", "[0.2, 5.8, 6]", "[-3.9, 0, 0]")
    + box("wall-right", "[0.2, 5.8, 6]", "[3.9, 0, 0]")
    + box("wall-back", "[8, 5.8, 0.2]", "[0, 0, -2.9]")
    + box("wall-front", "[8, 5.8, 0.2]", "[0, 0, 2.9]")
)


def heights_m(xs: np.ndarray, zs: np.ndarray) -> np.ndarray:
    return 300 + 12 * np.sin(xs / 90) * np.cos(zs / 70)


def terrain(size_m: float, count: int) -> Scene:
    """Hills of 24 m over a square, as one open mesh; y = 300 + 12 sin(x / 90) cos(z / 70)."""
    line = np.linspace(-size_m / 2, size_m / 2, count)
    x, z = np.meshgrid(line, line, indexing="ij")
    points = np.stack([x, heights_m(x, z), z], axis=-1).reshape(-1, 3)
    k = np.arange(count * count).reshape(count, count)
    a, b, c, d = (part.ravel() for part in (k[:-1, :-1], k[:-1, 1:], k[1:, 1:], k[1:, :-1]))
    faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    return Scene((Node("hills", points.astype(np.float32), faces.astype(np.int32), closed=False),))


def test_one_stands_in_a_house_and_never_on_its_roof(tmp_path: Path) -> None:
    spot = standing_place(scene(tmp_path, HOUSE), 1.7)
    assert spot == pytest.approx((0, 0, 0))


def test_one_stands_in_a_house_that_is_full_of_furniture(tmp_path: Path) -> None:
    # Shelves leave a strip of 1.6 m on either floor: the roof is far larger than any of them.
    shelves = "".join(
        box(f"shelf {k}{y}", "[7.4, 1.2, 1.8]", f"[0, {y}, {z}]")
        for k, z in enumerate((-1.8, 1.8))
        for y in (0, 3)
    )
    spot = standing_place(scene(tmp_path, HOUSE + shelves), 1.7)
    assert spot is not None
    assert spot[1] == pytest.approx(0)
    assert abs(spot[2]) < 0.9


def test_one_stands_near_the_middle_of_a_terrain_and_on_it() -> None:
    hills = terrain(400.0, 81)
    spot = standing_place(hills, 1.7)
    assert spot is not None
    x, y, z = spot
    assert np.hypot(x, z) < 400 / 4
    # Its triangles are 5 m wide; between their corners the hills bend by at most 12 / 90**2 * 5**2 / 4 m.
    assert y == pytest.approx(300 + 12 * np.sin(x / 90) * cos(z / 70), abs=0.05)


def test_one_stands_on_open_ground_that_is_larger_than_a_house(tmp_path: Path) -> None:
    yard = box("yard", "[40, 0.2, 40]", "[0, -0.4, 0]")
    spot = standing_place(scene(tmp_path, yard + HOUSE), 1.7)
    assert spot is not None
    assert spot[1] == pytest.approx(-0.2)


def test_best_spots_have_room_around_them(tmp_path: Path) -> None:
    spots = standing_spots(scene(tmp_path, HOUSE), 1.7)
    # Inside the walls x is within 3.8, z within 2.8; 1.2 m of room are to be had.
    assert len(spots) > 10
    assert all(abs(x) < 3.8 - 0.9 and abs(z) < 2.8 - 0.9 for x, _, z in spots)


def test_sky_over_all_changes_nothing(tmp_path: Path) -> None:
    sky = box("sky", "[60, 1, 60]", "[0, 80, 0]")
    spot = standing_place(scene(tmp_path, GROUND + HOUSE + sky), 1.7)
    assert spot is not None
    assert spot[1] in (pytest.approx(0), pytest.approx(-0.2))
