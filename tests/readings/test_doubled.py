"""Meshes whose vertices are doubled at seams, as exporters write them: read as the same shape without.

Every solid from a GLB, rooms that were scanned, and models of Debian's assimp-testmodels, from the side,
from above and from the front; sizes and pieces against shapely's union of the drawn triangles.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from pathlib import Path as File

import numpy as np
import pytest
import shapely
import trimesh
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from readings.made import block, body, camera, case
from stationpoint.base.errors import StudyWrong
from stationpoint.readings.kinds import read, wanted
from stationpoint.readings.types import Case, Path, Value
from stationpoint.render import open_renderer
from stationpoint.scene.assemble import scene_of
from stationpoint.scene.export import glb_bytes
from stationpoint.scene.file import read_scene
from stationpoint.scene.solids import SHAPES, solid
from stationpoint.scene.types import Node, Scene

MODELS = File("/usr/share/assimp/models")
ROOMS = File(__file__).parents[2] / ".." / "shared" / "data"
SUFFIXES = {".gltf", ".glb", ".obj", ".stl", ".ply"}
MOST_NODES, MOST_FACES = 6, 2500  # of a file, of a node
VIEWS = {"side": (90.0, 0.0), "top": (0.0, 90.0), "front": (0.0, 0.0)}  # yaw, pitch
HEIGHT_M, WIDE = 2.0, (1920, 1080)
PX_PER_M = 1080 / HEIGHT_M
PITCH_M, EYE_M = 55 * 0.0254 / np.hypot(1920, 1080), 2.7  # of the seat in measure.made

Points = NDArray[np.float64]


def doubled(node: Node) -> Node:
    """Every face with vertices of its own."""
    faces = np.arange(3 * len(node.faces)).reshape(-1, 3)
    return replace(node, vertices=node.vertices[node.faces].reshape(-1, 3), faces=faces)


def readings(made: Case, only: Collection[str] | None = None) -> dict[Path, Value]:
    with open_renderer("rays", made.scene) as renderer:
        return read(
            made, {name: renderer.draw(shot) for name, shot in wanted(made, only).items()}, only
        ).values


def assert_same(found: dict[Path, Value], expected: dict[Path, Value]) -> None:
    assert found.keys() == expected.keys()
    assert len(found) > 5
    for path, value in expected.items():
        if isinstance(value, (float, tuple)) and None not in np.atleast_1d(np.array(value, dtype=object)):
            assert found[path] == pytest.approx(value, rel=1e-9, abs=1e-12), path
        else:
            assert found[path] == value, path


def through_a_glb(folder: File, nodes: list[Node]) -> Scene:
    (folder / "made.glb").write_bytes(glb_bytes(scene_of(nodes)))
    return read_scene(folder / "made.glb")


@pytest.mark.parametrize("kind", ["perspective", "orthographic"])
@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("shape", SHAPES)
def test_every_reading_of_a_solid_is_the_same_with_doubled_vertices(
    shape: str, view: str, kind: str, tmp_path: File
) -> None:
    vertices, faces = solid(shape, (1.2, 1.6, 0.9))
    nodes = [
        block("floor", (0, -0.2, 0), (6, 0.2, 6)),
        block("deck", (2.5, 0, 0), (1, 0.5, 1)),
        Node("thing", vertices.astype(np.float32), faces),
        body((-2, 0, 0), "hopper"),
    ]
    yaw, pitch = VIEWS[view]
    found = [
        readings(
            case(
                camera(kind, anchor=(0, 0.8, 0), yaw=yaw, pitch=pitch),
                *through_a_glb(tmp_path, written).nodes,
                cell=(240, 136),
                aids=["cast-shadow", "ground-texture", "drop-marker"],
                subject={"node": "hopper"},
                target=[{"name": "t", "node": "thing", "role": "primary"}, {"name": "d", "node": "deck"}],
                gap=[{"name": "hop", "from": (-0.5, 1.6, 0), "to": (2.1, 0.5, 0), "reach_m": 3.0}],
            )
        )
        for written in (nodes, [doubled(node) for node in nodes])
    ]
    assert found[0]["targets", "t", "piece_arcmin", "couch"] > 40  # type: ignore[operator]
    assert_same(found[1], found[0])


def drawn_px(node: Node, view: str) -> Points:
    """Where trimesh's own welded copy of a mesh is drawn, (m, 3, 2) pixels, by the axes alone."""
    mesh = trimesh.Trimesh(node.vertices.astype(np.float64), node.faces)  # it merges what is doubled
    x, y, z = np.moveaxis(mesh.triangles, 2, 0)
    right, down = {"side": (-z, -y), "top": (x, z), "front": (x, -y)}[view]
    return np.stack([right, down], axis=2) * PX_PER_M + np.array(WIDE) / 2


def smaller_side_arcmin(px: Points) -> float:
    """Of the smallest-area rectangle round points, at the seat; each side of scipy's hull is tried."""
    corners = px[ConvexHull(px).vertices]
    best = (np.inf, 0.0)
    for k in range(len(corners)):
        way = corners[k] - corners[k - 1]
        way = way / np.linalg.norm(way)
        axes = np.array([way, (-way[1], way[0])])
        low, high = (corners @ axes.T).min(axis=0), (corners @ axes.T).max(axis=0)
        middle, half = (low + high) / 2, (high - low) / 2
        angles = []
        for axis in (0, 1):
            ends = np.array([middle, middle])
            ends[:, axis] += (-half[axis], half[axis])
            rays = np.column_stack([(ends @ axes - np.array(WIDE) / 2) * PITCH_M, (EYE_M, EYE_M)])
            angles.append(np.arctan2(np.linalg.norm(np.cross(*rays)), rays[0] @ rays[1]))
        best = min(best, (float(np.prod(half)), float(np.degrees(min(angles)) * 60)))
    return best[1]


def check_alone(node: Node, view: str) -> bool:
    """Size, share and piece of one mesh, twice its vertices, before nothing; whether it shows an area."""
    low, high = node.bounds
    scale = 1.0 / float((high - low).max())  # within the picture, and far from the near plane
    moved = replace(node, vertices=((node.vertices - (low + high) / 2) * scale).astype(np.float32), own=None)
    yaw, pitch = VIEWS[view]
    view_of = camera("orthographic", yaw=yaw, pitch=pitch, height=HEIGHT_M)
    target = [{"name": "t", "node": node.name}]
    cases = [case(view_of, one, target=target, cell=(480, 270)) for one in (moved, doubled(moved))]
    found = [readings(made, ["size", "visibility"]) for made in cases]
    assert_same(found[1], found[0])
    px = drawn_px(moved, view)
    assert found[1]["targets", "t", "size_px", "couch"] == pytest.approx(
        np.ptp(px.reshape(-1, 2), axis=0), abs=2e-3
    )
    whole = shapely.union_all(shapely.polygons(px), grid_size=1e-6)
    parts = sorted(shapely.get_parts(whole), key=lambda part: -part.area)
    if whole.area < 30:  # edge-on
        return False
    shown = found[1]["targets", "t", "screen_share"] * WIDE[0] * WIDE[1]  # type: ignore[operator]
    assert shown == pytest.approx(whole.area, rel=1.02 * found[1]["targets", "t", "quantum"])  # type: ignore[operator]
    if all(shapely.distance(part, parts[0]) > 8 for part in parts[1:]):  # 2 px of the cell: apart in pixels
        expected = smaller_side_arcmin(shapely.get_coordinates(parts[0]))
        # To 1e-3 by its geometry, unless a tip's pixels lie apart from the rest: then by the pixels.
        assert found[1]["targets", "t", "piece_arcmin", "couch"] == pytest.approx(expected, rel=0.05)
    return True


def check_file(path: File, view: str) -> int:
    """How many of a file's largest meshes show an area; each is checked."""
    nodes = [node for node in read_scene(path).nodes if 0 < len(node.faces) <= MOST_FACES]
    nodes = sorted(nodes, key=lambda node: -float(np.prod(np.sort(np.ptp(node.bounds, axis=0))[1:])))
    return sum(check_alone(node, view) for node in nodes[:MOST_NODES] if np.ptp(node.bounds) > 0)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("room", ["office.glb", "meeting_room.glb"])
def test_parts_of_a_scanned_room_read_as_their_triangles_lie(room: str, view: str) -> None:
    if not (ROOMS / room).is_file():
        pytest.skip(f"{room} is not there: the scanned rooms lie beside the checkout")
    assert check_file(ROOMS / room, view) >= 2


@pytest.mark.parametrize("view", VIEWS)
def test_real_models_with_doubled_vertices_read_as_their_triangles_lie(view: str) -> None:
    if not MODELS.is_dir():
        pytest.skip("the models of Debian's package assimp-testmodels are not installed")
    checked = 0
    for path in sorted(path for path in MODELS.rglob("*") if path.suffix.lower() in SUFFIXES):
        try:
            nodes = read_scene(path).nodes
        except StudyWrong:
            continue
        vertices = np.concatenate([node.vertices for node in nodes])
        if len(np.unique(vertices, axis=0)) < len(vertices):
            checked += check_file(path, view)
    assert checked > 25
