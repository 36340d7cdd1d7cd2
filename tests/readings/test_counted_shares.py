"""Shares are counted: the exact ones, from shapely's areas, lie within the quantum beside them."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from readings.made import camera, case, square
from stationpoint.base.errors import MachineLacks
from stationpoint.camera.camera import Camera, depths, project_points, unproject_pixels
from stationpoint.readings.frames.masks import measured_masks
from stationpoint.readings.kinds import read, wanted
from stationpoint.readings.types import Case, Value
from stationpoint.render import open_renderer
from stationpoint.render.gl import open as gl
from stationpoint.scene.solids import SHAPES, solid
from stationpoint.scene.types import Node

CELL = (480, 270)
DEPTHS_M = (4.0, 7.0, 10.0, 15.0)  # of three covers and the target: boxes of 1.6 m and less lie apart
SCENES = 250
EXACT = 1e-9


def drawn(made: Case, engine: str) -> dict[str, Value]:
    """The target's readings, by name."""
    with open_renderer(engine, made.scene) as renderer:
        frames = {name: renderer.draw(shot) for name, shot in wanted(made, ["targets"]).items()}
    values = read(made, frames, ["targets"]).values
    return {path[2]: value for path, value in values.items() if path[:2] == ("targets", "t")}


def skip_without(engine: str) -> None:
    if engine == "gl":
        try:
            gl.works()
        except MachineLacks as lack:
            pytest.skip(f"OpenGL is lacking: {lack.message}")


def silhouette(view: Camera, node: Node) -> shapely.Geometry:
    """Of a convex solid: the hull of its corners."""
    return shapely.convex_hull(shapely.MultiPoint(project_points(view, node.vertices.astype(np.float64))))


def exact(view: Camera, target: Node, covers: list[Node]) -> dict[str, float | dict[str, float]]:
    """The shares of a target's silhouette from areas alone. covers: before it, the nearest first."""
    whole = silhouette(view, target)
    width, height = view.pixels
    inside = shapely.intersection(whole, shapely.box(0, 0, width, height))
    free, hidden = inside, {}
    for cover in covers:
        shape = silhouette(view, cover)
        hidden[cover.name] = shapely.intersection(free, shape).area / whole.area
        free = shapely.difference(free, shape)
    found: dict[str, float | dict[str, float]] = {
        "in_frame": inside.area / whole.area,
        "seen": free.area / whole.area,
        "hidden_by": hidden,
    }
    for name, share in (("action_safe", 0.93), ("title_safe", 0.90)):  # SMPTE ST 2046-1
        x, y = width * (1 - share) / 2, height * (1 - share) / 2
        safe = shapely.intersection(whole, shapely.box(x, y, width - x, height - y))
        found[name] = safe.area / whole.area
    return found


def assert_within(found: Mapping[str, Value], truth: Mapping[str, float | dict[str, float]]) -> None:
    quantum = found["quantum"]
    assert isinstance(quantum, float)
    for name, share in truth.items():
        if isinstance(share, dict):
            hidden = found[name]
            assert isinstance(hidden, dict)
            for cover, part in share.items():
                assert abs(hidden.get(cover, 0.0) - part) <= quantum, (name, cover)
        else:
            assert abs(found[name] - share) <= quantum + EXACT, name  # type: ignore[operator]


@st.composite
def boxes(draw: st.DrawFn) -> tuple[Camera, Node, list[Node]]:
    """A camera, a box in its picture or over its edge, and boxes before it; often all square to the
    picture, so that edges lie along columns and rows of pixels."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    is_square = draw(st.booleans())
    way = (
        {"pitch": 0.0, "yaw": 0.0}
        if is_square
        else {"pitch": rng.uniform(-50, 70), "yaw": rng.uniform(0, 360)}
    )
    kind = draw(st.sampled_from(["perspective", "orthographic"]))
    view = camera(kind, distance=12.0, focal=rng.uniform(18, 85), height=rng.uniform(3, 9), **way)
    nodes = []
    middle = rng.uniform(-0.1, 1.1, 2) * view.pixels
    for k, depth_m in enumerate(DEPTHS_M):
        beside = rng.normal(0.0, 60.0, 2) if k < 3 else (0.0, 0.0)
        centre = unproject_pixels(view, middle + beside, depth_m)[0]
        size = rng.uniform(0.03, 0.9, 3) * (1.0 if k < 3 else 1.6)
        vertices, faces = solid(
            "box", size, centre - (0, size[1] / 2, 0), 0.0 if is_square else rng.uniform(0, 90)
        )
        nodes.append(Node(f"box {k}", vertices.astype(np.float32), faces, kind="box"))
    count = draw(st.integers(0, 3))
    return view, nodes[3], nodes[3 - count : 3]


@pytest.mark.parametrize("engine", ["gl", "rays"])
def test_exact_shares_of_random_boxes_lie_within_the_quantum(engine: str) -> None:
    skip_without(engine)
    partly = []

    @given(boxes())
    @settings(max_examples=SCENES, deadline=None, derandomize=True, database=None)
    def check(made: tuple[Camera, Node, list[Node]]) -> None:
        view, target, covers = made
        ends = [depths(view, node.vertices.astype(np.float64)) for node in (*covers, target)]
        assume(all(one.max() < other.min() for one, other in pairwise(ends)))
        truth = exact(view, target, covers)
        assume(truth["in_frame"] > 0)  # type: ignore[operator]
        found = drawn(
            case(view, target, *covers, target=[{"name": "t", "node": target.name}], cell=CELL), engine
        )
        assert_within(found, truth)
        partly.append(0 < truth["seen"] < 1)  # type: ignore[operator]

    check()
    assert sum(partly) > SCENES / 3


FRONT = camera(pitch=0, distance=10, focal=36, pixels=(1280, 720))
PLATE = square("plate", (-1, 1), (-1, 1), 0)  # 256 px of the picture wide, 100 of a cell 500 px wide


def counted(found: Mapping[str, Value], border_px: int) -> float:
    """Pixels of a silhouette, from its quantum and the pixels of its border."""
    assert isinstance(found["quantum"], float)
    return (border_px / 2 + 1) / found["quantum"]


@pytest.mark.parametrize(
    ("covers", "border_px"),
    [
        ([], 396),
        ([square("right half", (0, 2), (-2, 2), 5)], 396 + 2 * 98),
        # Between x -.5 and .5 of the plate, all its height: two edges, two columns of 98 each.
        ([square("band", (-0.25, 0.25), (-2, 2), 5)], 396 + 4 * 98),
        # What hides it changes from the one to the other in its middle: no gap shows between them.
        ([square("left", (-2, 0), (-2, 2), 5), square("right", (0, 2), (-2, 2), 5)], 396 + 2 * 98),
    ],
    ids=["alone", "half hidden", "a band before it", "two covers"],
)
def test_quantum_counts_the_pixels_along_the_outline_and_on_both_sides_of_covers(
    covers: list[Node], border_px: int
) -> None:
    # 100 x 100 pixels in the cell: 4 x 99 lie along its outline, of a column 98 that do not.
    made = case(FRONT, PLATE, *covers, target=[{"name": "t", "node": "plate"}], cell=(500, 282))
    assert counted(drawn(made, "rays"), border_px) == pytest.approx(100 * 100, rel=1e-9)


def test_bare_point_is_seen_or_not_and_has_no_quantum() -> None:
    found = drawn(case(FRONT, PLATE, target=[{"name": "t", "at": (0, 0, 1)}], cell=CELL), "rays")
    assert (found["seen"], found["quantum"]) == (1.0, None)


def bar(name: str, start: tuple[float, float], end: tuple[float, float], thick: float = 0.04) -> Node:
    """A bar of square section between two places of the plane z = 0."""
    way = np.subtract(end, start)
    length = float(np.hypot(*way))
    vertices, faces = solid("box", (thick, length, thick))
    up = np.array([*(way / length), 0.0])
    side = np.array([up[1], -up[0], 0.0])
    placed = vertices @ np.array([side, up, (0.0, 0.0, 1.0)]) + (*start, 0.0)
    return Node(name, placed.astype(np.float32), faces, kind="box")


def lump(name: str, shape: str, at: tuple[float, float, float] = (0, 0, 0)) -> Node:
    vertices, faces = solid(shape, (0.8, 0.6, 0.8), at, 30)
    return Node(name, vertices.astype(np.float32), faces, kind=shape)


THINGS = {
    **{shape: [lump("t", shape)] for shape in SHAPES},
    "slanting bar": [bar("t", (-0.5, -0.4), (0.5, 0.4))],
    "upright bar": [bar("t", (0, -0.5), (0, 0.5), 0.03)],
    "ladder": [bar(f"t.{k}", (-0.5, k / 6), (0.5, k / 6)) for k in range(5)],
    "two far apart": [lump("t.0", "box", (-3, 0, 0)), lump("t.1", "sphere", (3, -1.5, 0))],
}


@pytest.mark.parametrize("name", THINGS)
def test_silhouette_is_counted_in_8000_pixels_and_more_however_small_it_is_drawn(name: str) -> None:
    for distance in (5, 8, 14, 30, 90):
        nodes = THINGS[name]
        view = camera(pitch=10, distance=distance, focal=20)
        target = [{"name": "t", "nodes": [node.name for node in nodes]}]
        made = case(view, *nodes, target=target, cell=CELL)
        with open_renderer("rays", made.scene) as renderer:
            frames = {name: renderer.draw(shot) for name, shot in wanted(made, ["targets"]).items()}
        mask = measured_masks(made, frames).found["targets", "t"]
        assert mask is not None
        assert mask.count >= 8000, distance
