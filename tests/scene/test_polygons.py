"""Polygons into triangles: every outline covered once, however it is bent, touched or doubled."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import ArrayLike
from shapely import Polygon
from shapely.ops import unary_union

from stationpoint.base.errors import StudyWrong
from stationpoint.scene.file import read_scene
from stationpoint.scene.meshes.polygons import MOST_CORNERS, triangles

SQUARE = [(0, 0), (4, 0), (4, 4), (0, 4)]
ODD = {  # counterclockwise outlines, with their areas by hand
    "points along the edges": (
        [(0, 0), (1, 0), (2, 0), (2, 0.5), (2, 1), (1.5, 1), (1, 1), (1, 1.5), (1, 2), (0, 2), (0, 1)],
        3.0,
    ),
    "doubled points": ([(0, 0), (0, 0), (2, 0), (2, 1), (2, 1), (1, 1), (1, 1), (1, 2), (0, 2)], 3.0),
    "a hole behind a bridge": ([*SQUARE, (0, 0), (1, 1), (1, 3), (3, 3), (3, 1), (1, 1)], 12.0),
    "two holes on one bridge": (
        [(0, 0), (9, 0), (9, 4), (0, 4), (0, 0), (1, 1), (1, 3), (3, 3), (3, 1),
         (5, 1), (5, 3), (7, 3), (7, 1), (5, 1), (3, 1), (1, 1)],
        28.0,
    ),
    "a corner on an edge": ([(0, 0), (2, 0), (2, 2), (1, 0), (0, 2)], 2.0),
    "squares that meet at a corner": (
        [(0, 0), (1, 0), (1, 1), (2, 1), (2, 2), (1, 2), (1, 1), (0, 1)],
        2.0,
    ),
    "a spike": ([(0, 0), (4, 0), (6, 0), (4, 0), (4, 4), (2, 1), (0, 4)], 10.0),
    "an arrow head": ([(0, 0), (2, -1), (0, 3), (-2, -1)], 6.0),
}  # fmt: skip


def cut(outline: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """The triangles of a flat outline, and their areas, above 0 where they go round as it does."""
    flat = np.asarray(outline, dtype=float)
    points = np.column_stack([flat, np.zeros(len(flat))])
    found = triangles(points, np.arange(len(points)), np.array([len(points)]))
    a, b, c = (flat[found[:, k]] for k in range(3))
    across = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    return found, across / 2


def comb(teeth: int) -> list[tuple[float, float]]:
    """A bar half a metre longer than its last tooth begins, 1 m high, with teeth of 0.5 x 4 m."""
    ends = [(k + along, high) for k in range(teeth) for along, high in ((0, 1), (0, 5), (0.5, 5), (0.5, 1))]
    return [(0, 0), (teeth - 0.5, 0), *ends[::-1]]


def test_bent_polygons_are_cut_without_leaving_their_outline() -> None:
    """An L, an arrow head (a quad) and a comb: areas by hand (shoelace)."""
    shapes = [
        ([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)], 3.0),
        ([(0, 0), (2, -1), (0, 3), (-2, -1)], 6.0),
        (
            [(0, 0), (5, 0), (5, 3), (4, 3), (4, 1), (3, 1), (3, 3), (2, 3), (2, 1), (1, 1), (1, 3), (0, 3)],
            11.0,
        ),
    ]
    for outline, wanted in shapes:
        for start in range(len(outline)):
            for flip in (1, -1):
                turned = (outline[start:] + outline[:start])[::flip]
                points = np.array([(x, 0.5 * y, y) for x, y in turned])  # leaning: areas grow by sqrt(1.25)
                count = len(points)
                cut = triangles(points, np.arange(count), np.array([count]))
                assert len(cut) == count - 2
                a, b, c = (points[cut[:, k]] for k in range(3))
                normals = np.cross(b - a, c - a)
                assert np.linalg.norm(normals, axis=1).sum() / 2 == pytest.approx(wanted * 1.25**0.5)
                assert (np.sign(normals[:, 1]) == np.sign(normals[0, 1])).all()


def test_faces_of_mixed_size_keep_their_order() -> None:
    points = np.array([(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0)], dtype=float)
    cut = triangles(points, np.array([0, 1, 2, 3, 0, 1, 2, 3, 2, 0]), np.array([4, 3, 0, 1, 2]))
    assert cut.tolist() == [[0, 1, 2], [0, 2, 3], [0, 1, 2]]


@pytest.mark.parametrize("name", ODD)
def test_odd_outlines_are_covered_once(name: str) -> None:
    """No triangle turned over, their areas add up, and every corner of the outline is one of theirs."""
    outline, wanted = ODD[name]
    for start in range(len(outline)):
        found, areas = cut(outline[start:] + outline[:start])
        assert len(found) == len(outline) - 2
        assert areas.min() >= 0
        assert areas.sum() == pytest.approx(wanted)
        assert len(np.unique(found)) == len(outline)


def test_random_outlines_are_covered_as_shapely_says() -> None:
    for seed in range(30):
        rng = np.random.default_rng(seed)
        turns = np.sort(rng.uniform(0, 2 * np.pi, 40))
        out = rng.uniform(0.2, 1, 40)
        outline = np.column_stack([out * np.cos(turns), out * np.sin(turns)])
        whole = Polygon(outline)
        assert whole.is_valid
        found, areas = cut(outline)
        assert areas.min() >= 0
        covered = unary_union([Polygon(outline[corner]) for corner in found])
        assert covered.symmetric_difference(whole).area == pytest.approx(0, abs=1e-9)
        assert areas.sum() == pytest.approx(whole.area)


def test_a_comb_of_two_thousand_corners_is_cut_at_once() -> None:
    """500 teeth of 2 square metres and a bar of 499.5."""
    begun = time.process_time()
    found, areas = cut(comb(500))
    assert time.process_time() - begun < 1
    assert len(found) == 2000
    assert areas.min() >= 0
    assert areas.sum() == pytest.approx(1499.5)


def test_a_polygon_of_too_many_corners_is_refused_with_their_number(tmp_path: Path) -> None:
    path = tmp_path / "a.obj"
    for teeth, most in ((2499, MOST_CORNERS - 2), (2500, MOST_CORNERS + 2)):
        outline = comb(teeth)
        rows = [f"v {x} {y} 0" for x, y in outline]
        path.write_text("\n".join([*rows, "f " + " ".join(str(k + 1) for k in range(len(rows)))]))
        assert len(outline) == most
        if most > MOST_CORNERS:
            with pytest.raises(StudyWrong, match="has a polygon of 10002 corners; at most 10000 are read"):
                read_scene(path)
        else:
            assert len(read_scene(path).nodes[0].faces) == most - 2


def test_a_hundred_thousand_quads_bent_in_are_cut_at_once() -> None:
    """Arrow heads of area 6, each on corners of its own."""
    outline = np.column_stack([np.array(ODD["an arrow head"][0], dtype=float), np.zeros(4)])
    points = np.tile(outline, (100_000, 1))
    begun = time.process_time()
    found = triangles(points, np.arange(400_000), np.full(100_000, 4))
    assert time.process_time() - begun < 1
    a, b, c = (points[found[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)[:, 2] / 2
    assert normals.min() > 0
    assert normals.sum() == pytest.approx(600_000)
