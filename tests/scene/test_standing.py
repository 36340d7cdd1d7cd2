"""Where a stand-in stands in a scene that says nothing of it: by hand geometry."""

from __future__ import annotations

from math import inf
from pathlib import Path

import pytest

from stationpoint.scene.file import read_scene
from stationpoint.scene.floors import standing_place
from stationpoint.scene.rays import free_distance_m, is_indoors, share_in_sight, turned_to
from stationpoint.scene.types import Scene

UP = (0.0, 1.0, 0.0)


def box(name: str, size: str, at: str) -> str:
    return f'[[solid]]\nname = "{name}"\nshape = "box"\nsize = {size}\nat = {at}\n'


GROUND = "[ground]\nsize = [60, 60]\n"
# A room 6 x 3 x 5 m with walls, floor slab and ceiling 0.2 m thick; its floor's top is at 0.
ROOM = (
    box("floor", "[6, 0.2, 5]", "[0, -0.2, 0]")
    + box("ceiling", "[6, 0.2, 5]", "[0, 3, 0]")
    + box("wall-left", "[0.2, 3, 5]", "[-2.9, 0, 0]")
    + box("wall-right", "[0.2, 3, 5]", "[2.9, 0, 0]")
    + box("wall-back", "[6, 3, 0.2]", "[0, 0, -2.4]")
    + box("wall-front", "[6, 3, 0.2]", "[0, 0, 2.4]")
)


def scene(folder: Path, text: str) -> Scene:
    (folder / "s.toml").write_text(text, "utf-8")
    return read_scene(folder / "s.toml")


def test_middle_of_an_open_scene_is_where_one_stands(tmp_path: Path) -> None:
    text = GROUND + box("a", "[1, 1, 1]", "[-4, 0, 0]") + box("b", "[1, 1, 1]", "[8, 0, 2]")
    spot = standing_place(scene(tmp_path, text), 1.7)
    # The middle of all but the ground: x (-4.5 + 8.5) / 2, z (-0.5 + 2.5) / 2.
    assert spot == pytest.approx((2, 0, 1))


def test_one_stands_in_a_room_on_its_floor_and_not_on_its_roof(tmp_path: Path) -> None:
    assert standing_place(scene(tmp_path, ROOM), 1.7) == pytest.approx((0, 0, 0))


def test_one_stands_beside_a_table_and_not_on_it(tmp_path: Path) -> None:
    spot = standing_place(scene(tmp_path, ROOM + box("table", "[2, 0.8, 1]", "[0, 0, 0]")), 1.7)
    assert spot is not None
    x, y, z = spot
    assert y == pytest.approx(0)
    assert abs(z) > 0.5 or abs(x) > 1.0
    assert abs(x) < 2.8 - 0.2
    assert abs(z) < 2.3 - 0.2


def test_one_stands_where_there_is_height_enough(tmp_path: Path) -> None:
    low = ROOM.replace("[0, 3, 0]", "[0, 1.5, 0]")
    spot = standing_place(scene(tmp_path, low), 1.7)
    assert spot is not None
    assert spot[1] >= 1.7 - 1e-6  # on the slab: under it are 1.5 m
    small = standing_place(scene(tmp_path, low), 1.0)
    assert small is not None
    assert small[1] == pytest.approx(0)


def test_nobody_stands_inside_a_solid_or_on_a_slope(tmp_path: Path) -> None:
    deep = scene(tmp_path, box("rock", "[9, 20, 9]", "[0, -20, 0]"))
    assert standing_place(deep, 1.7) == pytest.approx((0, 0, 0))  # its top, not its bottom from within
    # The ground runs on under a block that fills most of the scene: one stands beside it or on it.
    terrace = GROUND + box("terrace", "[20, 4, 20]", "[0, 0, 0]") + box("post", "[1, 1, 1]", "[14, 0, 0]")
    spot = standing_place(scene(tmp_path, terrace), 1.7)
    assert spot is not None
    assert spot[1] == pytest.approx(4) or abs(spot[0]) > 10
    steep = '[[solid]]\nname = "roof"\nshape = "cone"\nsize = [2, 9, 2]\n'
    assert standing_place(scene(tmp_path, steep), 1.7) is None


def test_way_to_the_next_surface_is_that_of_the_hand_calculation(tmp_path: Path) -> None:
    room = scene(tmp_path, ROOM)
    assert free_distance_m(room, (0, 1, 0), (1, 0, 0)) == pytest.approx(2.8)
    assert free_distance_m(room, (0, 1, 0), (0, 0, -2)) == pytest.approx(2.3)
    assert free_distance_m(room, (0, 1, 0), (0, 3, 0)) == pytest.approx(2.0)
    assert free_distance_m(room, (0, 1, 0), (1, 0, 1)) == pytest.approx(2.3 * 2**0.5)
    assert free_distance_m(room, (0, 1, 0), (1, 0, 0), {"wall-right"}) == inf
    assert free_distance_m(room, (0, 9, 0), UP) == inf


def test_room_is_indoors_and_a_yard_is_not(tmp_path: Path) -> None:
    room = scene(tmp_path, ROOM)
    light = (-0.5, 1.0, 0.7)
    assert is_indoors(room, (0, 1, 0), light)
    assert not is_indoors(room, (0, 1, 0), light, {"ceiling"})
    assert not is_indoors(room, (0, 1, 0), light, {"wall-back"})
    assert not is_indoors(scene(tmp_path, GROUND), (0, 1, 0), light)


def test_an_eye_that_looks_in_sees_past_what_is_turned_away_and_what_is_not_there(tmp_path: Path) -> None:
    # From above a board of 1 m at 2 m hides the left half of a crate, its top at 1 m: rays from (0, 11, 0)
    # to x = -0.4 pass 2 m at -0.36, on the board, and those to 0.4 at 0.36, off it.
    text = box("crate", "[1, 1, 1]", "[0, 0, 0]") + box("board", "[1, 0.1, 1]", "[-0.5, 1.9, 0]")
    made, eye = scene(tmp_path, text), (0.0, 11.0, 0.0)
    points = [(x, 1.0, z) for x in (-0.4, 0.4) for z in (-0.2, 0.2)]
    above = turned_to(made, eye)
    assert share_in_sight(above, eye, points, "crate") == 0.5
    assert share_in_sight(turned_to(made, eye, ("board",)), eye, points, "crate") == 1.0
    assert share_in_sight(above, eye, [(5.0, 1.0, 5.0)], "crate") == 0.0  # no ray meets it
    # of each box the top alone is turned to the eye: two triangles
    assert [len(one.faces) for one in above.nodes] == [2, 2]
    # the ceiling's underside is turned to one below it, 2 m up
    room = scene(tmp_path, ROOM)
    inside = turned_to(room, (0.0, 1.0, 0.0))
    assert free_distance_m(inside, (0.0, 1.0, 0.0), UP) == pytest.approx(2.0)
