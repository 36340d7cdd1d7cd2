"""Visibility: exact areas of half-hidden and half-outside squares, boxes against shapely, oddities."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from camera.cameras import worked
from readings.made import block, body, camera, case, numbers, reading, square, values
from stationpoint.camera.camera import Camera, project_points
from stationpoint.readings.kinds import wanted
from stationpoint.readings.types import Case
from stationpoint.scene.types import Node

# reference "Visibility": eye (0, 0, 10) to the origin, 36 mm on 36 mm, 16:9.
EYE = camera(pitch=0, distance=10, focal=36, pixels=(1280, 720))
PLATE = square("plate", (-1, 1), (-1, 1), 0)
TARGET = [{"name": "t", "node": "plate"}]
CELL = (320, 180)


def _target(made: Case, name: str = "t") -> dict[str, object]:
    return {path[2]: value for path, value in values(made, ["targets"]).items() if path[1] == name}


def _on(node: Node, x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Node:
    """The node, moved."""
    return Node(
        node.name, node.vertices + np.float32([x, y, z]), node.faces, closed=node.closed, kind=node.kind
    )


OCCLUDERS = {
    "half": ([("a", (0, 2), (-2, 2), 5)], 0.5),
    "a quarter and an eighth free": ([("a", (0.25, 2), (-2, 2), 5)], 0.75),
    "behind": ([("a", (0, 2), (-2, 2), -5)], 1.0),
    "band": ([("a", (-2, 2), (-0.25, 0.25), 5)], 0.5),
    "corner": ([("a", (0, 1), (0, 1), 5)], 0.75),
    "union": ([("a", (0, 1), (-1, 1), 5), ("b", (-1, 1), (0, 1), 4)], 0.25),
    "all": ([("a", (-1, 1), (-1, 1), 5)], 0.0),
}


@pytest.mark.parametrize("name", OCCLUDERS)
def test_share_seen_is_the_area_left_free(name: str) -> None:
    # Published areas, exact with 1280 x 720 rays; a square at z 5 covers twice its size at z 0. The
    # last one covers the plate exactly twice over; the band at z 5 covers y -.5 to .5.
    squares, free = OCCLUDERS[name]
    made = case(EYE, PLATE, *(square(*one) for one in squares), target=TARGET, cell=CELL)
    found = _target(made)
    # Counted in 8000 pixels and more, a square is 89 and more across; a cover's edge is half a pixel off.
    assert found["seen"] == pytest.approx(free, abs=0.51 / 89)
    assert found["in_frame"] == 1.0
    hidden = found["hidden_by"]
    assert isinstance(hidden, dict)
    assert sum(hidden.values()) + found["seen"] == pytest.approx(1.0)  # type: ignore[operator]


def test_hidden_by_names_the_nearest_cover_the_largest_first() -> None:
    near, far = square("near", (0, 1), (-2, 2), 6), square("far", (-0.25, 2), (-2, 2), 5)
    made = case(EYE, PLATE, near, far, target=TARGET, cell=CELL)
    hidden = _target(made)["hidden_by"]
    # At z 0: near covers x 0 to 2.5, far x -.5 to 4: the near one takes its half, the far one a quarter.
    assert list(hidden) == ["near", "far"]  # type: ignore[call-overload]
    assert hidden == {"near": pytest.approx(0.5, abs=0.01), "far": pytest.approx(0.25, abs=0.01)}


IN_FRAME = {
    "right": ((4, 6), (-1, 1), 0.5),
    "top": ((-1, 1), (2, 4), 0.40625),
    "both": ((4, 6), (2, 4), 0.203125),
}


@pytest.mark.parametrize("name", IN_FRAME)
def test_in_frame_is_the_exact_area_of_an_upright_square_in_the_picture(name: str) -> None:
    x, y, share = IN_FRAME[name]
    found = _target(case(EYE, square("plate", x, y, 0), target=TARGET, cell=CELL))
    assert found["in_frame"] == pytest.approx(share, abs=1e-5)
    assert found["seen"] == pytest.approx(share, abs=1e-5)
    assert found["screen_share"] == pytest.approx(share * 0.0711111, abs=1e-5)
    assert found["off_picture"] is None


def test_zoomed_square_half_hidden_and_half_outside_counts_both() -> None:
    # x 4 to 6, edge at 5; the occluder at z 5 covers y > 0 of it.
    made = case(
        EYE, square("plate", (4, 6), (-1, 1), 0), square("a", (1, 4), (0, 2), 5), target=TARGET, cell=CELL
    )
    found = _target(made)
    assert found["seen"] == pytest.approx(0.25, abs=1e-5)
    assert found["hidden_by"] == {"a": pytest.approx(0.25, abs=1e-5)}


def test_large_target_is_counted_in_the_picture_and_small_one_on_a_zoom() -> None:
    far = square("far", (-3, -2.5), (2, 2.5), -10)
    made = case(EYE, PLATE, far, target=[*TARGET, {"name": "small", "node": "far"}], cell=(480, 270))
    assert set(wanted(made, ["visibility"])) == {("main",), ("zoom", "target", "small")}
    assert _target(made)["seen"] == 1.0
    small = _target(made, "small")
    assert small["seen"] == 1.0
    # A square of 8000 pixels and more: (4 x 89 / 2 + 1) / 8000 at most.
    assert 0 < small["quantum"] < 0.0225  # type: ignore[operator]
    # 0.5 m at 20 m: (0.5 / 20)^2 of F^2, over 1280 x 720 px with F 1280.
    assert small["screen_share"] == pytest.approx((0.025 * 1280) ** 2 / (1280 * 720), rel=1e-3)


def _hull(view: Camera, low: tuple[float, ...], high: tuple[float, ...]) -> shapely.Geometry:
    corners = np.array(np.meshgrid(*zip(low, high, strict=True))).reshape(3, -1).T
    return shapely.convex_hull(shapely.MultiPoint(project_points(view, corners)))


BOXES = (block("target", (0, 0, 0), (0.6, 1.8, 0.6)), block("before", (-0.35, 0, 2.2), (0.7, 1.2, 0.5)))


def test_boxes_hide_each_other_as_their_exact_silhouettes_do() -> None:
    # Worked camera C2: visible .88817, silhouette 64339.3 px, share .0310278 (shapely, exact).
    view = worked("C2")
    whole = _hull(view, (-0.3, 0, -0.3), (0.3, 1.8, 0.3))
    free = shapely.difference(whole, _hull(view, (-0.7, 0, 1.95), (0, 1.2, 2.45)))
    assert whole.area == pytest.approx(64339.3, abs=0.1)
    assert free.area / whole.area == pytest.approx(0.88817, abs=1e-5)
    made = case(view, *BOXES, target=[{"name": "t", "node": "target"}], cell=(480, 270))
    found = _target(made)
    assert found["seen"] == pytest.approx(free.area / whole.area, abs=3e-3)
    assert found["screen_share"] == pytest.approx(free.area / (1920 * 1080), rel=5e-3)
    assert numbers(made, "targets", "t", "size_px")["couch"] == pytest.approx((151.142, 442.558), abs=1e-3)


@pytest.mark.parametrize("seed", range(6))
def test_silhouette_of_a_random_box_is_the_hull_of_its_corners(seed: int) -> None:
    rng = np.random.default_rng(seed)
    view = camera(pitch=rng.uniform(-60, 60), yaw=rng.uniform(-180, 180), focal=rng.uniform(18, 60))
    size, at = rng.uniform(0.3, 1.5, 3), rng.uniform(-1, 1, 3)
    made = case(view, block("b", at, size), target=[{"name": "t", "node": "b"}], cell=(240, 135))
    low = at - size * (0.5, 0, 0.5)
    high = low + size
    inside = shapely.intersection(_hull(view, low, high), shapely.box(0, 0, *view.pixels))
    found = _target(made)
    assert found["screen_share"] == pytest.approx(inside.area / (1920 * 1080), rel=0.02)
    assert found["in_frame"] == pytest.approx(inside.area / _hull(view, low, high).area, abs=0.01)


def test_target_of_several_nodes_does_not_hide_itself() -> None:
    parts = (square("p.1", (-1, 0), (-1, 1), 0), square("p.2", (-0.5, 1), (-1, 1), 1), PLATE)
    made = case(EYE, *parts, target=[{"name": "t", "nodes": "p.*"}], cell=CELL)
    found = _target(made)
    assert (found["seen"], found["hidden_by"]) == (1.0, {})


@pytest.mark.parametrize(
    ("at", "share"),
    [((-0.5, 0, 0), 1.0), ((0.5, 0, 0), 0.0), ((4.9, 0, 0), 1.0), ((5.1, 0, 0), 0.0)],
    ids=["free", "hidden", "inside", "outside"],
)
def test_point_target_is_seen_or_not(at: tuple[float, ...], share: float) -> None:
    made = case(EYE, PLATE, square("a", (0, 2), (-2, 2), 5), target=[{"name": "t", "at": at}], cell=CELL)
    found = _target(made)
    assert found["seen"] == share
    assert found["in_frame"] == (1.0 if at[0] < 5 else 0.0)
    assert found["hidden_by"] == ({"a": 1.0} if at[0] == 0.5 else {})
    assert found["size_px"] is None
    assert found["screen_share"] is None


def test_virtual_box_is_neither_drawn_nor_hides() -> None:
    crate = {"name": "t", "at": (0, -1, 0), "size": (2, 2, 0)}
    behind = {"name": "u", "node": "plate"}
    made = case(EYE, _on(PLATE, z=-2), square("a", (0, 2), (-2, 2), 5), target=[crate, behind], cell=CELL)
    assert _target(made)["seen"] == pytest.approx(0.5, abs=1e-3)
    assert _target(made)["hidden_by"] == {"a": pytest.approx(0.5, abs=1e-3)}
    assert _target(made, "u")["hidden_by"].keys() == {"a"}  # type: ignore[attr-defined]


def test_virtual_box_on_the_thing_that_it_stands_for_is_seen() -> None:
    made = case(
        EYE,
        block("crate", (0, -1, 0), (2, 2, 2)),
        target=[{"name": "t", "at": (0, -1, 0), "size": (2, 2, 2)}],
    )
    assert _target(made)["seen"] == 1.0


OFF = {
    # 36 mm on 36 mm: half of the width spans atan(1/2) = 26.565 deg, of the height atan(.28125) = 15.709.
    "left": (square("plate", (-12, -10), (-1, 1), 0), ("left", 45.0 - 26.5651)),
    "right": (square("plate", (10, 12), (-1, 1), 0), ("right", 45.0 - 26.5651)),
    "above": (square("plate", (-1, 1), (10, 11), 0), ("above", 45.0 - 15.7086)),
    "below": (square("plate", (-1, 1), (-11, -10), 0), ("below", 45.0 - 15.7086)),
    "behind": (square("plate", (-1, 1), (-1, 1), 20), ("behind", 180.0 - 26.5651)),
}


@pytest.mark.parametrize("name", OFF)
def test_target_off_the_picture_says_which_way_and_how_far(name: str) -> None:
    node, (side, angle) = OFF[name]
    made = case(EYE, node, target=TARGET, cell=CELL)
    assert wanted(made, ["targets"]) == {}
    found = _target(made)
    assert found["off_picture"] == (side, pytest.approx(angle, abs=1e-3))
    assert (found["seen"], found["in_frame"], found["hidden_by"], found["screen_share"]) == (
        0.0,
        0.0,
        {},
        0.0,
    )
    assert found["piece_arcmin"] == 0.0
    assert (found["screen_xy"] is None) == (name == "behind")


# Plates at 10 m whose nearer edges stand 50 degrees to the left and 60 to the right, 35 above; half of the
# width spans 26.565 degrees, of the height 15.709.
LEFT, RIGHT, ABOVE = (10 * np.tan(np.radians(angle)) for angle in (50, 60, 35))
APART = (
    square("one", (-LEFT - 2, -LEFT), (-1, 1), 0),
    square("two", (RIGHT, RIGHT + 2), (-1, 1), 0),
    square("three", (-LEFT - 9, LEFT + 9), (ABOVE, ABOVE + 1), 0),
)


def _joined(*nodes: Node) -> Node:
    """Several nodes as one."""
    starts = np.cumsum([0, *(len(node.vertices) for node in nodes)])[:-1]
    faces = np.concatenate([node.faces + start for node, start in zip(nodes, starts, strict=True)])
    return Node("one", np.concatenate([node.vertices for node in nodes]), faces, closed=False)


@pytest.mark.parametrize(
    ("parts", "side", "angle"),
    [
        ((0, 1), "left", 50 - 26.56505),
        ((1, 0), "left", 50 - 26.56505),
        ((0, 1, 2), "above", 35 - 15.70864),
    ],
)
@pytest.mark.parametrize("is_one_node", [False, True])
def test_target_with_parts_off_several_sides_names_the_nearest(
    parts: tuple[int, ...], side: str, angle: float, is_one_node: bool
) -> None:
    those = [APART[k] for k in parts]
    target = [{"name": "t", "nodes": ["one"] if is_one_node else [node.name for node in those]}]
    nodes = [_joined(*those)] if is_one_node else those
    found = _target(case(EYE, *nodes, target=target, cell=CELL))
    assert (found["seen"], found["in_frame"]) == (0.0, 0.0)
    assert found["off_picture"] == (side, pytest.approx(angle, abs=1e-3))


def test_parallel_view_names_the_nearest_side_too() -> None:
    one, two = square("one", (-12, -11), (0, 1), 0), square("two", (9, 10), (0, 1), 0)
    view = camera("orthographic", pitch=0, height=8)  # 14.2 m wide: 3.9 m off to the left, 1.9 to the right
    made = case(view, one, two, target=[{"name": "t", "nodes": ["one", "two"]}], cell=CELL)
    assert _target(made)["off_picture"] == ("right", None)


def test_parallel_view_misses_by_no_angle() -> None:
    made = case(camera("orthographic", pitch=0), square("plate", (20, 21), (0, 1), 0), target=TARGET)
    assert _target(made)["off_picture"] == ("right", None)


def test_target_that_reaches_behind_the_camera_has_no_whole_silhouette() -> None:
    floor = block("floor", (0, -2, 0), (40, 0.5, 40))
    found = _target(case(EYE, floor, target=[{"name": "t", "node": "floor"}], cell=CELL))
    for name in ("in_frame", "seen", "quantum", "hidden_by", "piece_arcmin", "size_px", "action_safe"):
        assert found[name] is None, name
    # Its top at y -1.5 fills all rows from its far edge, 30 m deep and wider than the picture, down.
    assert found["screen_share"] == pytest.approx(0.5 - 1.5 / 30 * 1280 / 720, abs=0.01)
    assert found["screen_xy"] is not None


def test_plate_seen_edge_on_is_not_seen_and_has_no_silhouette_to_share() -> None:
    edge = Node("plate", np.float32([(0, -1, -1), (0, 1, -1), (0, 1, 1), (0, -1, 1)]), [(0, 1, 2), (0, 2, 3)])
    found = _target(case(EYE, edge, target=TARGET, cell=CELL))
    assert (found["seen"], found["in_frame"], found["off_picture"]) == (0.0, None, None)


def test_more_targets_than_bits_are_all_counted() -> None:
    plates = [square(f"p{k}", (-0.9, 0.9), (-0.9, 0.9), 2 - 0.02 * k) for k in range(35)]
    targets = [{"name": f"t{k}", "node": f"p{k}"} for k in range(35)]
    made = case(EYE, *plates, target=targets, cell=(480, 270))
    assert set(wanted(made, ["visibility"])) == {("main",), ("main", "2")}
    found = values(made, ["visibility"])
    assert found["targets", "t0", "seen"] == 1.0
    assert found["targets", "t34", "seen"] == 0.0
    assert found["targets", "t34", "hidden_by"] == {"p0": 1.0}


def test_subject_hides_under_its_own_name_and_covers_landings_too() -> None:
    deck, figure = block("deck", (0, -1.2, -2), (1, 0.2, 1)), body((0, -1.0, 4))
    gap = {"name": "hop", "from": (0, -1, 4), "to": (0, -1, -2)}
    made = case(
        EYE, PLATE, deck, figure, target=TARGET, gap=[gap], subject={"at": (0, -1, 4)}, cell=(160, 90)
    )
    found = values(made, ["covers", "visibility"])
    hidden = found["targets", "t", "hidden_by"]
    assert hidden == {"subject": pytest.approx(found["framing", "subject_covers", "t"])}
    # A capsule .5 m wide at 6 m before a square at 10 m: .5 / 6 x 10 / 2 = .417 of its width, over all
    # its height but for the dome's corners at the top.
    assert 0.37 < hidden["subject"] < 0.43  # type: ignore[index]
    assert 0.2 < found["framing", "subject_covers", "gap:hop"] <= 1.0  # type: ignore[operator]
    assert ("framing", "subject_covers", "subject") not in found


def test_without_a_subject_nothing_is_covered_by_it() -> None:
    assert values(case(EYE, PLATE, target=TARGET, cell=CELL), ["covers"]) == {
        ("framing", "subject_covers", "t"): None
    }


def test_outline_of_a_convex_target_is_its_hull_and_of_a_cut_one_what_is_seen() -> None:
    def area(outline: NDArray[np.float64]) -> float:
        return shapely.Polygon(outline).area

    free = reading(case(EYE, block("plate", (0, -1, 0), (2, 2, 0.01)), target=TARGET, cell=CELL))
    assert area(free.outlines["t"]) == pytest.approx((2 / 9.995 * 320) ** 2, rel=1e-3)
    half = reading(case(EYE, PLATE, square("a", (0, 2), (-2, 2), 5), target=TARGET, cell=CELL))
    assert area(half.outlines["t"]) == pytest.approx(64 * 32, rel=0.02)
    spot = half.extras["target", "t"][2]
    assert 128 < spot[0] < 160  # in the left half, which is free
    assert half.extras["target", "t"][0] == pytest.approx((160, 90))


def test_drop_line_ends_on_the_floor_under_a_hanging_target() -> None:
    floor, lamp = block("floor", (0, -2, 0), (8, 0.5, 8)), block("lamp", (1, 0.5, 0), (0.5, 0.5, 0.5))
    made = case(EYE, floor, lamp, target=[{"name": "t", "node": "lamp"}], cell=CELL)
    expected = project_points(made.setup.camera, [(1, 0.5, 0), (1, -1.5, 0)])
    np.testing.assert_allclose(reading(made).extras["drop", "t"], expected, atol=1e-4)


def test_piece_is_the_largest_one_left_by_a_post() -> None:
    # A packet .3 m at 25 m, F 960: 11.52 px. A post before it leaves 2/3 of its width on one side.
    view = camera(pitch=0, distance=25, focal=18)
    packet = square("packet", (-0.15, 0.15), (-0.15, 0.15), 0)
    target = [{"name": "t", "node": "packet"}]
    arcmin = values(case(view, packet, target=target, cell=CELL))["targets", "t", "piece_arcmin", "couch"]
    assert arcmin == pytest.approx(11.52 * 0.80744, rel=1e-3)
    post = square("post", (-0.05, -0.025), (-1, 1), 0.01)
    arcmin = values(case(view, packet, post, target=target, cell=CELL))[
        "targets", "t", "piece_arcmin", "couch"
    ]
    assert arcmin == pytest.approx(11.52 * 0.80744 * 0.175 / 0.3, rel=0.02)
