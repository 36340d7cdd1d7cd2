"""Up axis and unit of a bare mesh file, from boxes made by hand."""

from __future__ import annotations

import warnings
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scene.built import CUBE, CUBE_FACES
from scene.test_floors import terrain
from stationpoint.base.errors import StudyWrong
from stationpoint.scene.guess import guess_mesh, read_bare
from stationpoint.scene.meshes.part import Imported, MeshPart
from stationpoint.scene.types import SceneCamera


def part(name: str, low: tuple[float, float, float], high: tuple[float, float, float]) -> MeshPart:
    """A box with these corners."""
    corners = np.array([low, high], dtype=float)
    at = corners.mean(axis=0) + CUBE * np.ptp(corners, axis=0) / 2
    return MeshPart(name, at, CUBE_FACES.astype(np.int32), True)


ROOM = Imported((part("shell", (-5, -5, 0), (5, 5, 3)),))  # 10 x 10 x 3, Z up


def scaled(found: Imported, by: float) -> Imported:
    return Imported(tuple(MeshPart(p.name, p.vertices * by, p.faces, p.closed) for p in found.parts))


def turned(found: Imported) -> Imported:
    """Z up to Y up."""
    order = [0, 2, 1]
    return Imported(
        tuple(MeshPart(p.name, p.vertices[:, order] * (1, 1, -1), p.faces, p.closed) for p in found.parts)
    )


@pytest.mark.parametrize(
    ("by", "scale", "unit"), [(1, 1.0, "metres"), (100, 0.01, "centimetres"), (1000, 0.001, "millimetres")]
)
def test_room_of_ten_by_ten_by_three_is_taken_as_what_it_is_and_said(
    by: float, scale: float, unit: str
) -> None:
    guess = guess_mesh(scaled(ROOM, by), "room.obj", {})
    assert guess.keys.get("up") == "z"
    assert guess.keys.get("scale", 1.0) == scale
    assert guess.says.startswith(f"room.obj: {10 * by} × {10 * by} × {3 * by}: taken as Z up, {unit}")
    assert "say up = or scale = under [mesh] to change" in guess.says


def test_room_with_y_up_is_taken_with_y_up() -> None:
    for name in ("room.obj", "room.stl", "room.ply"):
        assert guess_mesh(turned(ROOM), name, {}).keys == {}


@pytest.mark.parametrize(
    ("height", "scale"), [(2.1, 1.0), (210.0, 0.01), (2100.0, 0.001), (82.7, 0.0254), (6.9, 0.3048)]
)
def test_door_tells_the_unit(height: float, scale: float) -> None:
    # A door of 2.1 m: 210 cm, 2100 mm, 82.7 in, 6.9 ft; as wide as a half of that.
    door = part("Door_01", (0, 0, 0), (height / 2, height / 20, height))
    hall = part("hall", (0, 0, 0), (9 * height, 9 * height, 2 * height))
    guess = guess_mesh(Imported((hall, door)), "hall.stl", {})
    assert guess.keys == {"up": "z"} | ({} if scale == 1 else {"scale": scale})


def test_gltf_is_y_up_and_metres_and_a_room_of_three_hundred_metres_is_told_of() -> None:
    assert guess_mesh(turned(ROOM), "room.glb", {}) == ({}, "")
    keys, says = guess_mesh(turned(scaled(ROOM, 100)), "room.glb", {})
    assert keys == {}
    # 1000 x 300 x 1000: a hall in centimetres, a table in millimetres
    assert (
        "as glTF says, but it looks like centimetres (10 × 3 × 10 m) or millimetres (1 × 0.3 × 1 m)" in says
    )
    assert "say scale = 0.01 or 0.001 under [mesh] if it is, as --set mesh.scale=0.01." in says


def test_what_a_person_has_said_is_not_guessed() -> None:
    keys, says = guess_mesh(scaled(ROOM, 100), "room.obj", {"up": "y", "scale": 0.02})
    assert keys == {"up": "y", "scale": 0.02} or keys == {"scale": 0.02}
    assert "Y up" in says


def test_figure_that_stands_on_zero_is_taken_as_standing() -> None:
    # 0.8 m wide, 0.4 m deep, 1.8 m high: its feet at zero, the rest about the axis.
    tall = Imported((part("figure", (-0.4, 0, -0.2), (0.4, 1.8, 0.2)),))
    assert guess_mesh(tall, "figure.obj", {}).keys == {}


def test_terrain_of_a_map_is_in_metres_and_brought_to_the_origin() -> None:
    (hills,) = terrain(400.0, 41).nodes
    x, y, z = hills.vertices.astype(float).T
    at = np.stack([465_210 + x, 5_430_140 - z, y], axis=1)  # east, north, height
    found = Imported((MeshPart("hills", at, hills.faces, False),))
    keys, says = guess_mesh(found, "hills.ply", {})
    # The middle (465210, 340, -5430140) to the nearest hundred, but its height stays.
    assert keys == {"up": "z", "at": (-465_200.0, 0.0, 5_430_100.0)}
    assert "metres" in says
    assert "moved by" in says


def test_scene_of_a_bare_file_is_read_as_it_was_guessed(tmp_path: Path) -> None:
    lines = [f"v {x} {y} {z}" for x, y, z in scaled(ROOM, 100).parts[0].vertices.tolist()]
    lines += [f"f {a + 1} {b + 1} {c + 1}" for a, b, c in CUBE_FACES.tolist()]
    (tmp_path / "room.obj").write_text("\n".join(lines), "utf-8")
    scene, guess = read_bare(tmp_path / "room.obj")
    assert guess.keys == {"up": "z", "scale": 0.01}
    assert scene.bounds() == pytest.approx(np.array([(-5, 0, -5), (5, 3, 5)]))


def test_gltf_that_its_own_camera_shows_no_person_in_is_in_another_unit() -> None:
    # a hall 300 units high seen from 1600: 1.7 m of 2 * 1600 * tan 9 degrees = 507 m is a third of a per cent
    big = turned(scaled(ROOM, 100))
    low = np.min([part.vertices.min(axis=0) for part in big.parts], axis=0)
    high = np.max([part.vertices.max(axis=0) for part in big.parts], axis=0)
    view = np.eye(4)
    view[:3, 3] = -((low + high) / 2 + (0.0, 0.0, 1600.0))
    far = SceneCamera("eye", view, 18.0, 1.0, None, 0.1, None)
    keys, says = guess_mesh(replace(big, cameras=(far,)), "room.glb", {})
    assert keys == {"scale": 0.01}
    assert "would show a person less than a hundredth of a picture high in metres" in says
    near = replace(
        far, view=np.block([[np.eye(3), -((low + high) / 2 + (0, 0, 160.0))[:, None]], [0, 0, 0, 1]])
    )
    assert guess_mesh(replace(big, cameras=(far, near)), "room.glb", {}).keys == {}


def test_mesh_beyond_all_numbers_is_refused_without_a_librarys_words(tmp_path: Path) -> None:
    # Corners whose products are beyond the largest number, 1.8e308 (IEEE 754).
    (tmp_path / "far.obj").write_text("v 0 0 0\nv 1e200 0 0\nv 0 1e200 1e200\nf 1 2 3\n", "utf-8")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(StudyWrong, match="from the origin"):
            read_bare(tmp_path / "far.obj")
