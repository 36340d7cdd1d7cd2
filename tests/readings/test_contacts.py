"""False contacts and breaks: planted by hand calculation among honest borders, and each rule on its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import cos, hypot, radians, sin, tan
from typing import Any

import numpy as np
import pytest

from readings.made import COUCH, block, body, camera, case, drawn, square
from stationpoint.camera.camera import Camera, pixel_rays, project_points, unproject_pixels
from stationpoint.camera.projection import oblique
from stationpoint.readings.contacts.borders import lines, pieces
from stationpoint.readings.contacts.contacts import KIND
from stationpoint.readings.contacts.nearest import nearest
from stationpoint.readings.contacts.reach import Reach, longest_reach_m
from stationpoint.readings.contacts.standing import are_stacked
from stationpoint.readings.contacts.surfaces import surfaces
from stationpoint.readings.contacts.upper import upper_faces
from stationpoint.readings.frames.borders import borders
from stationpoint.readings.types import Case, Reading
from stationpoint.render import open_renderer
from stationpoint.scene.solids import solid
from stationpoint.scene.types import Node
from stationpoint.study.models import Study

CELL = (544, 306)
THICK = 0.3
EDGE_U = (0.0, 0.0, 0.0)  # the hand case: far edge of roof U, near edge of roof V
EDGE_V = (0.0, -3.0, -5.196)


def _reading(made: Case) -> Reading:
    shots = KIND.shots(made)
    if not shots:
        return KIND.read(made, {})
    with open_renderer("rays", made.scene) as renderer:
        return KIND.read(made, {name: renderer.draw(shot) for name, shot in shots.items()})


def _listed(made: Case, group: str = "false_contacts") -> list[Mapping[str, Any]]:
    found = _reading(made).values[group,]
    assert isinstance(found, tuple)
    return list(found)  # type: ignore[arg-type]


def _names(made: Case, group: str = "false_contacts") -> set[frozenset[str]]:
    return {frozenset((one["a"], one["b"])) for one in _listed(made, group)}


def _roof(
    name: str, far_or_near: Sequence[float], behind: bool, wide: float = 6.0, thick: float = THICK
) -> Node:
    """A slab 4 m deep whose near (behind) or far edge is at a point of its top."""
    x, y, z = far_or_near
    return block(name, (x, y - thick, z - 2.0 if behind else z + 2.0), (wide, thick, 4.0))


ROOFS = (_roof("U", EDGE_U, False), _roof("V", EDGE_V, True))
TRAP = camera("orthographic", pitch=30, height=12)  # 90 px a metre at 1920


# ---- the hand case -------------------------------------------------------------------------------


def test_hand_case_has_two_roofs_that_touch_on_the_picture_and_are_six_metres_apart() -> None:
    (one,) = _listed(case(TRAP, *ROOFS, cell=CELL))
    assert (one["a"], one["b"]) == ("U", "V")
    # By hand: 5.196 tan 30 = 3.0, so that both edges lie on one sightline; hypot(5.196, 3) = 6.0.
    assert one["level_m"] == pytest.approx(5.196, abs=1e-4)
    assert one["height_m"] == pytest.approx(-3.0, abs=1e-4)
    assert hypot(one["level_m"], one["height_m"]) == pytest.approx(6.0, abs=1e-3)
    assert one["flat_m"] == pytest.approx(0.0, abs=1e-3)
    # The border is 6 m long, 540 px of the couch's screen across its centre: 2 atan(270 x pitch / 2.7 m).
    pitch_m = 55 * 0.0254 / hypot(1920, 1080)
    whole = 2 * np.degrees(np.arctan(270 * pitch_m / 2.7)) * 60
    assert one["border_arcmin"] == pytest.approx(whole, rel=0.005)
    assert one["at_xy"] == pytest.approx((0.5, 0.5), abs=0.002)


def test_lines_of_several_pairs_end_where_another_surface_begins_and_bridge_short_gaps() -> None:
    # By hand, 64 x 24 pixels: surface 1 over 2 (left) and 3 (right of x = 24), which meet upright.
    ids = np.ones((24, 64), dtype=np.uint32)
    ids[10:, :24], ids[10:, 24:] = 2, 3
    there = pieces(borders(ids), 4, COUCH, np.ones(2))
    assert there.pairs.tolist() == [[1, 2], [1, 3], [2, 3]]
    x = there.pixel[:, 0] % 64
    # Of 1 and 2 a gap of 8 pixels is right; of 1 and 3 one of 16, before which 8 are wrong, and 16 behind.
    gap = ((there.pair == 0) & (x >= 8) & (x < 16)) | ((there.pair == 1) & (x >= 32) & (x < 48))
    first, second, third = lines(there, np.arange(3), ~gap)
    assert first.tolist() == [[0.5, 10.0], [23.5, 10.0]]
    assert second.tolist() == [[48.5, 10.0], [63.5, 10.0]]
    assert third.tolist() == [[24.0, 10.5], [24.0, 23.5]]
    (alone,) = lines(there, np.array([2]), ~gap)
    assert alone.tolist() == third.tolist()


def test_line_of_a_false_contact_runs_along_the_edge_in_order() -> None:
    made = case(TRAP, *ROOFS, cell=CELL)
    line = _reading(made).extras["false_contact", "0"]
    ends = project_points(made.setup.camera, [(-3, 0, 0), (3, 0, 0)])
    assert len(line) >= 2
    assert np.abs(line[:, 1] - ends[0, 1]).max() <= 1.0
    assert np.abs(np.sort(line[[0, -1], 0]) - ends[:, 0]).max() <= 1.0
    assert (np.diff(line[:, 0]) > 0).all() or (np.diff(line[:, 0]) < 0).all()


def test_slanted_border_is_as_long_as_its_edge_and_not_as_its_stairs_of_pixels() -> None:
    turned = camera("orthographic", pitch=30, yaw=30, height=12)
    # Both edges run along x, V's near edge slid along the sightline by 6 m of depth.
    slid = np.array(EDGE_U) + 6.0 * turned.forward
    pair = _roof("U", EDGE_U, False), _roof("V", slid, True, thick=0.01)
    (one,) = _listed(case(turned, *pair, cell=CELL))
    a, b = project_points(turned, [(-3, 0, 0), (3, 0, 0)])
    assert one["border_arcmin"] == pytest.approx(float(np.linalg.norm(a - b)) * COUCH.arcmin_per_px, rel=0.03)
    assert one["level_m"] == pytest.approx(abs(slid[2]), abs=0.01)


@pytest.mark.parametrize(("reach_m", "count"), [(5.1, 1), (5.25, 0)])
def test_contact_is_honest_once_the_longest_reach_spans_it(reach_m: float, count: int) -> None:
    gaps = [
        {"name": str(k), "from": (0, 0, 0), "to": (0, 0, -4), "reach_m": r}
        for k, r in enumerate((1.0, reach_m))
    ]
    assert len(_listed(case(TRAP, *ROOFS, cell=CELL, gap=gaps))) == count


@pytest.mark.parametrize(("wide_m", "count"), [(0.35, 0), (0.45, 1)])
def test_border_under_half_a_degree_is_not_listed(wide_m: float, count: int) -> None:
    # 90 px a metre, .8074' a pixel: 30' are 37.2 px = 0.413 m.
    made = case(TRAP, _roof("U", EDGE_U, False, wide_m), _roof("V", EDGE_V, True, wide_m), cell=(1920, 1080))
    assert len(_listed(made)) == count


def test_surfaces_that_do_not_meet_in_the_picture_are_no_contact() -> None:
    # 1 m farther along z: 1 sin 30 x 90 = 45 px, of which V's side, 0.3 m thick, fills 23.
    apart = _roof("V", (0.0, -3.0, -6.196), True)
    assert _listed(case(TRAP, ROOFS[0], apart, cell=CELL)) == []


def test_side_of_a_slab_counts_as_its_edge() -> None:
    # 0.3 m farther: 0.3 sin 30 = 0.15 m of V's side, 0.26 m high as drawn, are seen over U's edge.
    (one,) = _listed(case(TRAP, ROOFS[0], _roof("V", (0.0, -3.0, -5.496), True), cell=(1920, 1080)))
    assert one["flat_m"] == pytest.approx(0.15, abs=0.015)
    assert one["level_m"] == pytest.approx(5.496, abs=1e-3)


def test_near_surface_may_cover_a_part_of_the_far_one() -> None:
    # V's near edge 1 m nearer: hidden behind U; from U's edge to V it is then 4.196 m.
    made = case(TRAP, ROOFS[0], _roof("V", (0.0, -3.0, -4.196), True), cell=CELL)
    (one,) = _listed(made)
    assert one["level_m"] == pytest.approx(4.196, abs=1e-3)


# ---- planted among honest ones, four cameras ------------------------------------------------------


CAMERAS = {
    "orthographic": camera("orthographic", pitch=30, height=30, distance=40),
    "orthographic, turned": camera("orthographic", pitch=45, yaw=40, height=30, distance=40),
    "perspective, 35 mm": camera(pitch=42, distance=40, focal=35),
    "perspective, 50 mm, turned": camera(pitch=36, yaw=-25, distance=60, focal=50),
}
COLUMNS, ROWS = 7, 6
PLANTED = 12
REACH_M = 2.0  # of a study that names no reach


class _Builder:
    """Slabs, turned with a camera, around one spot of its picture."""

    def __init__(self, view: Camera, at_px: Sequence[float], depth_m: float, yaw_deg: float) -> None:
        self.edge = unproject_pixels(view, at_px, depth_m)[0]
        self.way = pixel_rays(view, at_px)[1][0]  # a metre of depth
        self.grows = 0.0 if view.parallel else 1.0 / depth_m
        self.yaw = yaw_deg
        self.ahead = np.array([-sin(radians(yaw_deg)), 0.0, -cos(radians(yaw_deg))])

    def slab(
        self, name: str, edge: Any, behind: bool, wide: float, thick: float = THICK, deep: float = 2.0
    ) -> Node:
        """A slab whose near or far edge has its middle at `edge`."""
        middle = np.asarray(edge) + self.ahead * (deep / 2 if behind else -deep / 2) - (0.0, thick, 0.0)
        vertices, faces = solid("box", (wide, thick, deep), middle, self.yaw)
        return Node(name, vertices.astype(np.float32), faces, kind="box", walkable=True)

    def slid(self, by_m: float) -> Any:
        """The edge moved along its sightline to a depth that is greater by that."""
        return self.edge + by_m * self.way


def _pair(at: _Builder, name: str, kind: str, k: int) -> Iterator[Node]:
    """Two slabs whose visible regions share a border: planted or honest."""
    wide = 2.4
    yield at.slab(f"{name} u", at.edge, False, wide)
    if kind == "planted":  # 3.5 to 9 m farther along the sightline: as seen, edge on edge
        by = 3.5 + 0.5 * k
        yield at.slab(f"{name} v", at.slid(by), True, wide * (1 + by * at.grows))
    elif kind == "flush":
        yield at.slab(f"{name} v", at.edge, True, wide)
    elif kind == "step":  # half a metre up
        yield at.slab(f"{name} v", at.edge + np.array([0, 0.5, 0]), True, wide, 0.8)
    elif kind == "drop":  # 0.8 m down, hidden behind the first one's edge
        yield at.slab(f"{name} v", at.edge - (0, 0.8, 0), True, wide, deep=4.0)
    elif kind == "near":  # slid, but a jump of at most 2 m level and in height: within reach
        yield at.slab(f"{name} v", at.slid(1.6), True, wide * (1 + 1.6 * at.grows))
    elif kind == "tall":  # a block of 2.6 m that stands on the first one's far half
        yield at.slab(f"{name} v", at.edge + np.array([0, 2.6, 0]) - at.ahead * 0.9, True, wide / 2, 2.6, 0.9)


HONEST = ("flush", "step", "drop", "near", "tall")


def _planted_scene(view: Camera, yaw_deg: float, depth_m: float) -> tuple[list[Node], set[frozenset[str]]]:
    nodes: list[Node] = []
    planted: set[frozenset[str]] = set()
    honest = 0
    for k in range(COLUMNS * ROWS):
        column, row = k % COLUMNS, k // COLUMNS
        px = ((column + 0.5) / COLUMNS * view.pixels[0], (row + 0.6) / ROWS * view.pixels[1])
        at = _Builder(view, px, depth_m, yaw_deg)
        is_planted = (k * PLANTED) % (COLUMNS * ROWS) < PLANTED
        kind = "planted" if is_planted else HONEST[honest % len(HONEST)]
        nodes += _pair(at, f"{k}", kind, len(planted))
        if is_planted:
            planted.add(frozenset((f"{k} u", f"{k} v")))
        else:
            honest += 1
    assert (len(planted), honest) == (12, 30)
    return nodes, planted


@pytest.mark.parametrize("name", CAMERAS)
def test_all_twelve_planted_contacts_and_none_of_thirty_honest_borders_are_found(name: str) -> None:
    view = CAMERAS[name]
    yaw = float(np.degrees(np.arctan2(-view.forward[0], -view.forward[2])))
    nodes, planted = _planted_scene(view, yaw, 66.0 if "50" in name else 50.0)
    made = case(view, *nodes, cell=(1088, 612))
    shared = _borders_in(made)
    pairs = {frozenset((f"{k} u", f"{k} v")) for k in range(COLUMNS * ROWS)}
    assert pairs <= shared  # all 42 borders are there to be seen
    assert shared <= pairs  # and nothing else touches
    assert _names(made) == planted


def _borders_in(made: Case) -> set[frozenset[str]]:
    """Pairs of nodes of which eight pixels and more meet side by side, counted plainly."""
    shot = KIND.shots(made)["main",]
    with open_renderer("rays", made.scene) as renderer:
        ids = renderer.draw(shot).ids
    assert ids is not None
    counts: dict[frozenset[str], int] = {}
    for a, b in ((ids[:, 1:], ids[:, :-1]), (ids[1:], ids[:-1])):
        for first, second in np.column_stack([a[a != b], b[a != b]]).tolist():
            if first and second:
                key = frozenset((made.scene.nodes[first - 1].name, made.scene.nodes[second - 1].name))
                counts[key] = counts.get(key, 0) + 1
    return {pair for pair, count in counts.items() if count >= 8}


# ---- what is no lie -------------------------------------------------------------------------------


def test_block_that_stands_on_the_ground_is_joined_with_it_however_tall() -> None:
    ground = block("floor", (0, -1, 0), (60, 1, 60))
    tower, crate = block("tower", (0, 0, 0), (2, 5, 2)), block("crate", (0, 5, 0), (1, 1, 1))
    made = case(camera("orthographic", pitch=30, height=16), ground, tower, crate, cell=CELL)
    assert _listed(made) == []
    pairs = [("crate", "tower"), ("floor", "crate"), ("tower", "floor"), ("crate", "crate")]
    assert are_stacked(made.scene, pairs) == [True, True, True, False]


def test_slab_that_hangs_over_the_ground_can_be_left_for_it_and_is_no_contact() -> None:
    # 4.3 m straight down: one way is enough, and down a bare reach holds at any height.
    ground = block("floor", (0, -1, 0), (60, 1, 60))
    made = case(TRAP, ground, block("slab", (0, 4, 0), (3, 0.3, 3)), cell=CELL)
    assert {frozenset(("slab", "floor"))} == _borders_in(made)
    assert _listed(made) == []


def test_wall_before_a_floor_is_no_contact_where_its_top_is_not_seen() -> None:
    # Seen from straight ahead: its face, 2.5 m under its top at the border with the far slab.
    wall = block("wall", (0, -3, 0), (4, 3, 0.4))
    far = block("slab", (0, -2.9, -9), (8, 0.3, 6))
    made = case(camera("orthographic", pitch=8, height=10), far, wall, cell=CELL)
    sides = {frozenset(("wall", "slab"))}
    assert _borders_in(made) == sides
    assert _listed(made) == []


def test_nodes_that_cannot_be_stood_on_make_no_contact() -> None:
    dull = Node("V", ROOFS[1].vertices, ROOFS[1].faces, kind="box", walkable=False)
    assert _listed(case(TRAP, ROOFS[0], dull, block("step", (20, 0, 0), (1, 1, 1)), cell=CELL)) == []


def test_subject_on_the_edge_is_no_surface() -> None:
    made = case(TRAP, *ROOFS, body((0, 0, 1)), cell=CELL)
    assert _names(made) == {frozenset(("U", "V"))}


def test_picture_with_fewer_than_two_surfaces_draws_nothing() -> None:
    made = case(TRAP, ROOFS[0], square("sign", (0, 1), (0, 1), 0.0), cell=CELL)
    assert KIND.shots(made) == {}
    assert _reading(made).values == {("false_contacts",): (), ("false_breaks",): ()}


def test_long_walkways_that_meet_at_one_end_are_false_where_they_part() -> None:
    # V slopes away from U: its near edge lies on the sightlines of U's far edge, 0.52 m off level at
    # x = -12 and 5.196 m at x = 12. Within 2 m up to x = -4.4, and within 2 m more on foot.
    corners = [(-12, -0.3, -0.52), (12, -3, -5.196), (12, -3, -9.196), (-12, -0.3, -4.52)]
    faces = np.array([(0, 1, 2), (0, 2, 3)], dtype=np.int32)
    slope = Node("V", np.array(corners, dtype=np.float32), faces, walkable=True, closed=False)
    made = case(
        camera("orthographic", pitch=30, height=16), _roof("U", EDGE_U, False, 24.0), slope, cell=CELL
    )
    (one,) = _listed(made)
    whole_arcmin = 24 * 1080 / 16 * COUCH.arcmin_per_px
    assert one["border_arcmin"] / whole_arcmin == pytest.approx((12 + 4.4 - 1.0) / 24, abs=0.06)
    assert one["at_xy"][0] > 0.5
    assert one["level_m"] > 2.0


# ---- false breaks ---------------------------------------------------------------------------------


def _cavalier(angle_deg: float) -> Camera:
    base = camera("orthographic", pitch=0.01, height=12)
    projection = oblique(12.0, 16 / 9, -100.0, 200.0, 1.0, angle_deg, 8.0)
    return Camera(base.view, projection, base.pixels, "oblique", -100.0, 200.0)


def test_oblique_view_that_draws_a_jump_twice_as_long_is_a_false_break() -> None:
    # Cavalier, depth drawn straight up at full length: 1.8 m farther and 0.8 m higher is drawn 2.6 m up,
    # which is out of the reach of 2 m that a study without gaps has; 1.8 m level and 0.8 m up are within.
    near = block("near", (0, -0.3, 2), (4, 0.3, 4))
    far = block("far", (0, 0.5, -1.8 - 2), (4, 0.3, 4))
    made = case(_cavalier(90.0), near, far, cell=CELL)
    assert _listed(made) == []
    (one,) = _listed(made, "false_breaks")
    assert (one["a"], one["b"], one["border_arcmin"]) == ("near", "far", None)
    assert one["flat_m"] == pytest.approx(2.6, abs=0.01)
    assert one["level_m"] == pytest.approx(1.8, abs=1e-3)
    assert one["height_m"] == pytest.approx(0.8, abs=1e-3)
    line = _reading(made).extras["false_break", "0"]
    assert abs(line[0, 1] - line[1, 1]) == pytest.approx(2.6 * CELL[1] / 12, rel=0.01)


def test_the_same_jump_in_an_orthographic_view_is_none() -> None:
    near, far = block("near", (0, -0.3, 2), (4, 0.3, 4)), block("far", (0, 0.5, -3.8), (4, 0.3, 4))
    # Drawn 1.8 sin 10 + 0.8 cos 10 = 1.10 m up.
    flat = case(camera("orthographic", pitch=10, height=12), near, far, cell=CELL)
    assert _listed(flat, "false_breaks") == []


def test_break_is_looked_for_from_where_the_subject_stands_and_else_both_ways() -> None:
    # Cavalier: 1.6 m farther and 1.5 m down, the far one drawn 1.6 - 1.5 = 0.1 m up; 1.5 m higher 3.1 m up.
    # Reach 2 m: down from "far", which lies 1.5 m higher, but not up to it (half of 1.7 m is 0.85 m).
    near, far = block("near", (0, -0.3, 2), (4, 0.3, 4)), block("far", (0, 1.2, -1.6 - 2), (4, 0.3, 4))
    for foot, count in ((None, 0), ((0, 0, 2), 0), ((0, 1.5, -4), 1)):
        stands = {} if foot is None else {"subject": {"at": foot}}
        nodes = (near, far) if foot is None else (near, far, body(foot))
        made = case(_cavalier(90.0), *nodes, cell=CELL, **stands)
        assert len(_listed(made, "false_breaks")) == count, foot
    gap = {"name": "hop", "from": (0, 1.5, -2), "to": (9, 0, 9), "reach_m": 2.0}
    assert len(_listed(case(_cavalier(90.0), near, far, cell=CELL, gap=[gap]), "false_breaks")) == 1


def test_break_needs_both_ends_in_view() -> None:
    near, far = block("near", (0, -0.3, 2), (4, 0.3, 4)), block("far", (0, 0.5, -3.8), (4, 0.3, 4))
    # A board 6 m nearer, which lowers it by 6 m on the picture: over the far one's edge, drawn 2.6 m up.
    board = square("board", (-3, 3), (2.4 + 6, 2.8 + 6), 6.0)
    assert len(_listed(case(_cavalier(90.0), near, far, cell=CELL), "false_breaks")) == 1
    assert _listed(case(_cavalier(90.0), near, far, board, cell=CELL), "false_breaks") == []


def test_drop_that_is_drawn_as_deep_as_it_is_breaks_nothing() -> None:
    # Seen level from the side: 1 m over and 4 m down looks 4.1 m away, which it is; the reach is 2 m.
    roof, yard = block("roof", (-2, 3, 0), (4, 1, 4)), block("yard", (3, -1, 0), (4, 1, 4))
    made = case(
        camera("orthographic", pitch=4, height=12), roof, yard, body((-2, 4, 0)), cell=CELL,
        subject={"at": (-2, 4, 0)},
    )  # fmt: skip
    assert _listed(made, "false_breaks") == []


# ---- ways up and down -------------------------------------------------------------------------------


@pytest.mark.parametrize(("down_m", "count"), [(1.0, 0), (1.2, 1)])
def test_drop_within_reach_is_no_false_contact_however_deep(down_m: float, count: int) -> None:
    # Along the sightline of pitch 30, down_m down is down_m / tan 30 away: 1.732 m within, 2.078 m not.
    far = _roof("V", (0, -down_m, -down_m / tan(radians(30))), True)
    assert len(_listed(case(TRAP, ROOFS[0], far, cell=CELL))) == count


def test_wide_step_down_from_a_roof_counts_as_a_way_from_either_end() -> None:
    # Pitch 60: 3 m down is 1.732 m away. Up there is none, down there is: one way is enough.
    far = _roof("V", (0, -3.0, -3.0 / tan(radians(60))), True)
    steep = camera("orthographic", pitch=60, height=12)
    made = case(steep, ROOFS[0], far, cell=CELL)
    assert {frozenset(("U", "V"))} == _borders_in(made)
    assert _listed(made) == []


# ---- reach ----------------------------------------------------------------------------------------


def _gaps(*gaps: Mapping[str, Any]) -> Any:
    points = {"from": (0, 0, 0), "to": (0, 0, -4)}
    named = [{"name": str(k), **points, **gap} for k, gap in enumerate(gaps)]
    return Study.model_validate({"scene": "x", "gap": named}).gap


def test_longest_reach_is_the_longest_level_one() -> None:
    jump = {"speed_mps": 4, "apex_m": 1.25, "gravity_mps2": 20}  # 4 x 2 sqrt(2 x 20 x 1.25) / 20 = 2.828
    assert longest_reach_m(_gaps({"jump": jump}, {"reach_m": 2.5})) == pytest.approx(2.828, abs=1e-3)
    assert longest_reach_m(_gaps({"reach": ((-1, 3.6), (0, 3.4), (1, 2.6))})) == 3.4
    assert longest_reach_m(_gaps({"reach": ((1, 2.6), (2, 1.0))})) == 2.6
    assert longest_reach_m(_gaps({})) is None
    assert Reach((), 1.7).level_m == REACH_M


def test_reach_depends_on_the_height_that_the_way_goes_up() -> None:
    table = Reach(_gaps({"reach": ((-1, 3.6), (0, 3.4), (1, 2.6))}), 1.7)
    level, height = [3.4, 3.5, 2.6, 2.7, 3.6, 1.0], [0.0, 0.0, 1.0, 1.0, -1.0, -2.0]
    assert table.within(level, height).tolist() == [True, False, True, False, True, False]
    # 4 m/s, apex 1.25 m, 20 m/s2: R(-5) = 4 (sqrt(50) + sqrt(250)) / 20 = 4.576 m.
    jump = Reach(_gaps({"jump": {"speed_mps": 4, "apex_m": 1.25, "gravity_mps2": 20}}), 1.7)
    assert jump.within([0.5, 0.5, 4.57, 4.58], [1.2, 1.3, -5.0, -5.0]).tolist() == [True, False, True, False]


def test_bare_reach_holds_up_to_half_the_body_and_down_at_any_height() -> None:
    # Half of 1.7 m: 0.85 m.
    for bare in (Reach((), 1.7), Reach(_gaps({"reach_m": 2.0}), 1.7)):
        assert bare.within([2.0, 2.1, 0.0], 0.0).tolist() == [True, False, True]
        assert bare.within(2.0, [0.84, 0.86, -30.0]).tolist() == [True, False, True]
    assert Reach((), 0.4).within(0.0, [0.19, 0.21]).tolist() == [True, False]
    # A study that tells how the player jumps has no 2 m beside it.
    table = Reach(_gaps({"reach": ((0, 1.0), (1, 0.5))}), 1.7)
    assert table.within([1.5, 1.5], [0.0, -1.0]).tolist() == [False, False]


# ---- nearest points -------------------------------------------------------------------------------


def test_nearest_points_of_few_and_many_faces_agree_with_a_plain_search() -> None:
    rng = np.random.default_rng(7)
    # A height field of 24 x 24 squares, gentle enough to be all upper faces, as one node of 1152 faces.
    x, z = np.meshgrid(np.linspace(-6, 6, 25), np.linspace(-6, 6, 25))
    y = 0.5 * np.sin(x) * np.cos(z)
    vertices = np.column_stack([x.ravel(), y.ravel(), z.ravel()])
    k = np.arange(24 * 25).reshape(24, 25)[:, :-1].ravel()
    faces = np.concatenate([np.column_stack([k, k + 25, k + 1]), np.column_stack([k + 1, k + 25, k + 26])])
    field = Node("field", vertices.astype(np.float32), faces.astype(np.int32), walkable=True, closed=False)
    points = rng.uniform(-9, 9, (40, 3))
    both = surfaces(case(TRAP, field, block("box", (10, 0, 0), (2, 1, 2))))
    assert both.counts.tolist() == [1152, 2]
    found = nearest(both, np.zeros(40, dtype=np.intp), points)
    # Plainly: the nearest of 66 spots spread over every face, which can only be a little farther.
    u, v = (part.ravel() for part in np.meshgrid(np.linspace(0, 1, 11), np.linspace(0, 1, 11)))
    inside = u + v <= 1
    weights = np.column_stack([1 - u - v, u, v])[inside]
    spots = np.einsum("ij,fjk->fik", weights, both.faces[0]).reshape(-1, 3)
    for point, at in zip(points, found, strict=True):
        plain = np.sqrt(((spots - point) ** 2).sum(axis=1).min())
        exact = float(np.linalg.norm(at - point))
        assert exact <= plain + 1e-9
        assert plain - exact < 0.05
    on_box = nearest(both, np.ones(2, dtype=np.intp), np.array([(10.3, 5.0, 0.2), (14.0, 1.0, 0.0)]))
    assert on_box == pytest.approx(np.array([(10.3, 1.0, 0.2), (11.0, 1.0, 0.0)]))


def test_steep_faces_are_no_upper_faces() -> None:
    steep = tan(radians(50))
    vertices = np.array([(0, 0, 0), (0, 0, 1), (1, steep, 0), (1, steep, 1)], dtype=np.float32)
    slope = Node(
        "slope", vertices, np.array([(0, 1, 2), (1, 3, 2)], dtype=np.int32), walkable=True, closed=False
    )
    assert len(upper_faces([slope])[0].corners) == 0
    assert surfaces(case(TRAP, slope)).names == ()


def test_upper_faces_of_many_nodes_are_each_nodes_own() -> None:
    # By hand: a box has two upper faces in one piece; of two plates in one node, each is a piece, though a
    # corner of the first is one of the box as well. A wall has none.
    corners = [(0, 1, 0), (0, 1, 1), (1, 1, 0), (1, 1, 1)]
    both = np.array([*corners, *((x + 3, y, z) for x, y, z in corners)], dtype=np.float32)
    faces = np.array([(0, 1, 2), (1, 3, 2), (4, 5, 6), (5, 7, 6)], dtype=np.int32)
    box = Node("box", *solid("box", (1.0, 1.0, 1.0), (-0.5, 0.0, 0.5)))
    wall = Node("wall", both[:, [1, 0, 2]], faces, closed=False)
    found = upper_faces([box, wall, Node("plates", both, faces, closed=False), box])
    assert [one.pieces for one in found] == [1, 0, 2, 1]
    assert [one.piece.tolist() for one in found] == [[0, 0], [], [0, 0, 1, 1], [0, 0]]
    assert [one.area_m2.tolist() for one in found] == [[0.5, 0.5], [], [0.5] * 4, [0.5, 0.5]]
    assert found[2].face.tolist() == [0, 1, 2, 3]
    assert set(found[0].corners.reshape(-1, 3)[:, 1]) == {1.0}


def test_stand_in_renderer_sees_the_same_contact() -> None:
    made = case(TRAP, *ROOFS, cell=(192, 108))
    frames = {name: drawn(made.scene, shot) for name, shot in KIND.shots(made).items()}
    found = KIND.read(made, frames).values["false_contacts",]
    assert isinstance(found, tuple)
    assert len(found) == 1


# ---- what meshes say, and what the study names of them ------------------------------------------------


def test_lamps_and_wall_art_of_a_mesh_touch_nothing_that_is_walked_on() -> None:
    silent = [Node(node.name, node.vertices, node.faces, kind="mesh") for node in ROOFS]
    assert _listed(case(TRAP, *silent, cell=CELL)) == []
    gap = {"name": "leap", "from": (0, 0, 1), "to": (0, -3, -6)}
    assert _names(case(TRAP, *silent, cell=CELL, gap=[gap])) == {frozenset(("U", "V"))}
    told = [Node(node.name, node.vertices, node.faces, kind="mesh", walkable=True) for node in ROOFS]
    assert _names(case(TRAP, *told, cell=CELL)) == {frozenset(("U", "V"))}


def test_wall_of_a_room_over_the_floor_is_no_edge_of_it() -> None:
    # One mesh: a floor, and a wall behind it from the floor up; far off a higher floor over the wall's top.
    # The wall's lowest half metre is near the floor, but it does not lie below it.
    room = _one_mesh(block("floor", (0, -1, 0), (8, 1, 8)), square("wall", (-4, 4), (0, 0.4), -4.0))
    far = Node("shelf", *_shelf(), kind="mesh", walkable=True)
    assert _listed(case(TRAP, room, far, cell=CELL)) == []


def _shelf() -> tuple[Any, Any]:
    # Its near edge on the sightline of the wall's top, 6 m farther.
    node = block("shelf", (0, 0.4 - 3.0 - 0.3, -4.0 - 5.196 - 2), (8, 0.3, 4))
    return node.vertices, node.faces


# ---- a level in one mesh ----------------------------------------------------------------------------


def _one_mesh(*nodes: Node) -> Node:
    """Several things as one walkable node."""
    starts = np.cumsum([0] + [len(node.vertices) for node in nodes])
    vertices = np.concatenate([node.vertices for node in nodes])
    faces = np.concatenate([node.faces + start for node, start in zip(nodes, starts, strict=False)])
    return Node("level", vertices, faces.astype(np.int32), kind="mesh", closed=False, walkable=True)


def test_two_roofs_of_one_mesh_are_found_too() -> None:
    made = case(TRAP, _one_mesh(*ROOFS), cell=CELL)
    (one,) = _listed(made)
    assert (one["a"], one["b"]) == ("level", "level")
    assert one["level_m"] == pytest.approx(5.196, abs=1e-4)
    assert one["height_m"] == pytest.approx(-3.0, abs=1e-4)
    assert one["border_arcmin"] == pytest.approx(
        _listed(case(TRAP, *ROOFS, cell=CELL))[0]["border_arcmin"], rel=0.01
    )


@pytest.mark.parametrize("name", CAMERAS)
def test_planted_contacts_of_one_mesh_are_found_where_they_are(name: str) -> None:
    view = CAMERAS[name]
    yaw = float(np.degrees(np.arctan2(-view.forward[0], -view.forward[2])))
    nodes, planted = _planted_scene(view, yaw, 66.0 if "50" in name else 50.0)
    apart = _listed(case(view, *nodes, cell=(1088, 612)))
    joined = _listed(case(view, _one_mesh(*nodes), cell=(1088, 612)))
    assert len(joined) == len(planted)
    places = [sorted((one["at_xy"], one["height_m"]) for one in found) for found in (apart, joined)]
    for (at, height), (other, other_height) in zip(*places, strict=True):
        assert other == pytest.approx(at, abs=0.01)
        assert other_height == pytest.approx(height, abs=0.01)
