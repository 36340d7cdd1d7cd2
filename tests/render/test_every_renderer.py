"""What every renderer must draw. Expected numbers: hand geometry and reference cases, stated beside."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stationpoint.base import look
from stationpoint.base.errors import StudyWrong
from stationpoint.camera.camera import Camera, project_points, unproject_pixels
from stationpoint.camera.projection import orthographic, perspective
from stationpoint.camera.shot import COLOUR, DEPTH, IDS, WHOLE, Frame, Shot
from stationpoint.render import RENDERERS, open_renderer
from stationpoint.scene.types import Node, Scene

from .made import KINDS, box, camera, ground, moved_by, square

ALL = frozenset({"colour", "depth", "ids"})


def drawn(engine: str, scene: Scene, shot: Shot) -> Frame:
    with open_renderer(engine, scene) as renderer:
        assert renderer.name == engine
        return renderer.draw(shot)


def at(plane: np.ndarray, view: Camera, point: tuple[float, float, float]) -> np.generic:
    """The plane's value at the pixel that shows a world point."""
    x, y = project_points(view, [point])[0]
    return plane[int(y), int(x)]


def front(eye_z: float = 10.0, pixels: tuple[int, int] = (1280, 720), **more: float) -> Camera:
    """Eye at (0, 0, eye_z), looking along -Z, 36 mm lens: reference section 12, visibility."""
    return camera(anchor=(0, 0, 0), distance=eye_z, pitch=0, focal=36, pixels=pixels, **more)


@pytest.mark.parametrize("kind", KINDS)
def test_ids_lie_where_geometry_puts_them(engine: str, kind: str) -> None:
    scene = Scene((ground(), box("left", (-3, 0, -1), (-1, 2, 1)), box("right", (1, 0, -1), (3, 2, 1))))
    view = camera(kind, pixels=(320, 180))
    ids = drawn(engine, scene, Shot(view, ALL)).ids
    assert ids is not None
    assert ids.dtype == np.uint32
    for point, wanted in (((-2, 1, 1), 2), ((2, 1, 1), 3), ((0, 0, 0), 1), ((-2, 2, 0), 2)):
        assert at(ids, view, point) == wanted, point
    assert set(np.unique(ids)) <= {0, 1, 2, 3}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("offset", [(0.0, 0.0), (0.18, -0.11)])
def test_depth_lands_on_the_surface_for_every_projection(
    engine: str, kind: str, offset: tuple[float, float]
) -> None:
    view = camera(kind, pixels=(96, 54), pitch=35, yaw=30, offset=offset, height=10)
    depth = drawn(engine, Scene((ground(400.0),)), Shot(view, ALL)).depth_m
    assert depth is not None
    assert depth.dtype == np.float32
    rows, columns = np.nonzero(np.isfinite(depth))
    assert len(rows) > 4000
    points = unproject_pixels(view, np.column_stack([columns + 0.5, rows + 0.5]), depth[rows, columns])
    # The ground is the plane y = 0: each pixel's depth must put it there (1e-4 of the depth).
    assert np.abs(points[:, 1] / depth[rows, columns]).max() < 1e-4


def test_depth_of_a_facing_plane_is_its_distance_everywhere(engine: str) -> None:
    # Depth runs along the axis, not along the ray: a plane at z = 0 seen from z = 10 is 10 m away.
    scene = Scene((square("wall", (-50, 50), (-50, 50), 0.0),))
    depth = drawn(engine, scene, Shot(front(pixels=(64, 36)), ALL)).depth_m
    assert depth is not None
    assert np.abs(depth - 10.0).max() < 1e-4


def test_far_planes_are_told_apart(engine: str) -> None:
    # Two squares 2 cm apart, 400 m away, near plane 0.1 m.
    scene = Scene(
        (
            square("near", (-999, 999), (-999, 999), -390.0),
            square("behind", (-999, 999), (-999, 999), -390.02),
        )
    )
    ids = drawn(engine, scene, Shot(front(pixels=(64, 36), far=1000.0), ALL)).ids
    assert ids is not None
    assert set(np.unique(ids)) == {1}


def test_near_and_far_planes_cut(engine: str) -> None:
    scene = Scene(tuple(square(f"s{z}", (-99, 99), (-99, 99), float(z)) for z in (9, 0, -60)))
    view = front(pixels=(32, 18), near=2.0, far=50.0)  # squares at depths 1, 10 and 70
    frame = drawn(engine, scene, Shot(view, ALL, show=("s9", "s0")))
    assert frame.ids is not None
    assert set(np.unique(frame.ids)) == {2}
    frame = drawn(engine, scene, Shot(view, ALL, show=("s9", "s-60")))
    assert frame.ids is not None
    assert frame.depth_m is not None
    assert not frame.ids.any()
    assert np.isposinf(frame.depth_m).all()


@pytest.mark.parametrize("kind", ["orthographic", "oblique"])
def test_parallel_view_that_dips_under_the_ground_loses_nothing(engine: str, kind: str) -> None:
    # Pitch 10, distance 2, view height 12: the lower part of the camera's plane lies under the ground.
    view = camera(kind, distance=2.0, pitch=10, height=12, pixels=(96, 54), near=-300.0)
    lowest = view.eye_m - 6.0 * view.up
    assert lowest[1] < 0.0
    frame = drawn(engine, Scene((ground(400.0),)), Shot(view, ALL))
    assert frame.ids is not None
    assert frame.depth_m is not None
    assert frame.ids[-1].all()
    assert frame.depth_m[-1].max() < 0.0  # signed: it lies behind the camera's plane


def test_hidden_nodes_are_not_there(engine: str) -> None:
    scene = Scene((ground(), box("a", (-1, 0, -1), (1, 2, 1)), box("b", (-1, 0, -4), (1, 2, -3))))
    view = camera(pixels=(160, 90), pitch=0)
    with open_renderer(engine, scene) as renderer:
        for show, wanted in ((None, 2), (("b", "ground"), 3), (("ground",), 0), ((), 0)):
            ids = renderer.draw(Shot(view, ALL, show=show)).ids
            assert ids is not None
            assert at(ids, view, (0, 1.5, 1)) == wanted, show


def test_moved_node_keeps_its_id_and_leaves_its_old_place(engine: str) -> None:
    scene = Scene((ground(), box("a", (-1, 0, -1), (1, 2, 1)), box("b", (4, 0, -1), (5, 1, 1))))
    view = camera(pixels=(320, 180), distance=14)
    shot = Shot(view, ALL, moves=(("a", moved_by(-4.0, 1.0, 0.0)),), whole=(("a",), ("b",)))
    frame = drawn(engine, scene, replace(shot, planes=ALL | {"whole"}))
    assert frame.ids is not None
    assert frame.whole is not None
    assert at(frame.ids, view, (-4, 2, 1)) == 2
    assert at(frame.ids, view, (0, 0.2, 1)) == 1
    assert at(frame.ids, view, (4.5, 0.5, 1)) == 3
    assert at(frame.whole, view, (-4, 2, 1)) == 0b01
    assert at(frame.whole, view, (4.5, 0.5, 1)) == 0b10


def test_mirrored_node_is_drawn_whole_with_outward_faces(engine: str) -> None:
    # An open box (no -x side) with open backs, mirrored in x: its hole must now be at +x.
    whole = box("bin", (1, 0, -1), (3, 2, 1), backs_open=True)
    opened = replace(whole, faces=whole.faces[2:], closed=False, kind="mesh")
    mirror = np.diag([-1.0, 1.0, 1.0, 1.0])
    view = camera(anchor=(-2, 1, 0), distance=6, pitch=0, pixels=(160, 90))
    frame = drawn(engine, Scene((opened,)), Shot(view, ALL, moves=(("bin", mirror),)))
    assert frame.depth_m is not None
    # Its +z side faces the camera and is its nearest: 6 - 1 m. Had the faces stayed as they were
    # wound, that side would be a back, and open: the depth would be 7.
    assert at(frame.depth_m, view, (-2, 1, 1)) == pytest.approx(5.0, abs=1e-4)


def test_later_shots_see_the_scene_as_it_stands_again(engine: str) -> None:
    scene = Scene((ground(), box("a", (-1, 0, -1), (1, 2, 1))))
    shot = Shot(camera(pixels=(96, 54)), ALL)
    with open_renderer(engine, scene) as renderer:
        before = renderer.draw(shot)
        for k in range(12):  # more stages than a renderer keeps
            renderer.draw(replace(shot, moves=(("a", moved_by(0.1 * k, 0.0, 0.0)),)))
        after = renderer.draw(shot)
    for name in ("colour", "depth_m", "ids"):
        assert np.array_equal(getattr(before, name), getattr(after, name)), name


def test_extra_nodes_get_the_ids_after_the_scenes(engine: str) -> None:
    scene = Scene((ground(), box("a", (-3, 0, -1), (-1, 2, 1))))
    extra = (box("one", (1, 0, -1), (2, 2, 1)), box("two", (3, 0, -1), (4, 2, 1)))
    view = camera(pixels=(320, 180), distance=14)
    shot = Shot(view, ALL | {"whole"}, extra=extra, whole=(("one", "a"), ("two",)))
    with open_renderer(engine, scene) as renderer:
        frame = renderer.draw(shot)
        without = renderer.draw(Shot(view, ALL)).ids
    assert frame.ids is not None
    assert frame.whole is not None
    assert without is not None
    assert [at(frame.ids, view, p) for p in ((-2, 1, 1), (1.5, 1, 1), (3.5, 1, 1))] == [2, 3, 4]
    assert [at(frame.whole, view, p) for p in ((-2, 1, 1), (1.5, 1, 1), (3.5, 1, 1))] == [1, 1, 2]
    assert without.max() == 2


def test_open_backs_are_seen_through_and_closed_ones_are_not(engine: str) -> None:
    # A square that faces +Z, in front of another, seen from behind (from -Z).
    view = camera(anchor=(0, 0, 0), pitch=0, yaw=180, focal=36, pixels=(64, 36))
    for backs_open, wanted in ((False, 1), (True, 2)):
        scene = Scene(
            (
                square("near", (-9, 9), (-9, 9), -2.0, backs_open=backs_open),
                square("far", (-9, 9), (-9, 9), 2.0),
            )
        )
        frame = drawn(engine, scene, Shot(view, ALL | {"whole"}, whole=(("near",), ("far",))))
        assert frame.ids is not None
        assert frame.whole is not None
        assert set(np.unique(frame.ids)) == {wanted}
        assert set(np.unique(frame.whole)) == {0b10 if backs_open else 0b11}


def test_open_backs_let_the_light_through(engine: str) -> None:
    # A ceiling that faces down: from above it is a back. The light comes straight down.
    down = np.array([(0, 1, 2), (0, 2, 3)])
    corners = np.array([(-3, 3, -3), (3, 3, -3), (3, 3, 3), (-3, 3, 3)])
    view = camera(distance=10, pitch=10, pixels=(160, 90))
    lit = []
    for backs_open in (True, False):
        roof = Node("roof", corners, down, backs_open=backs_open, closed=False)
        shot = Shot(view, ALL, towards_light=(0.0, 1.0, 0.0), grid=False)
        colour = drawn(engine, Scene((ground(), roof)), shot).colour
        assert colour is not None
        lit.append(int(at(colour, view, (0, 0, 0)).sum()))
    assert lit[0] > lit[1] + 60


# Occluder squares (x, y, z) before a target square x, y in [-1, 1] at z 0, and the share that stays
# visible. Reference section 12: eye (0, 0, 10), 36 mm, 1280 x 720; exact.
VISIBLE = [
    ([((0, 2), (-2, 2), 5.0)], 0.5),
    ([((0.25, 2), (-2, 2), 5.0)], 0.75),
    ([((0, 2), (-2, 2), -5.0)], 1.0),
    ([((-2, 2), (-0.25, 0.25), 5.0)], 0.5),
    ([((0, 1), (0, 1), 5.0)], 0.75),
    ([((0, 1), (-1, 1), 5.0), ((-1, 1), (0, 1), 4.0)], 0.25),
    ([((-1, 1), (-1, 1), 5.0)], 0.0),
]


@pytest.mark.parametrize(("occluders", "share"), VISIBLE)
def test_half_hidden_squares_have_their_exact_visible_share(
    engine: str, occluders: list[tuple[tuple[float, float], tuple[float, float], float]], share: float
) -> None:
    nodes = [square("target", (-1, 1), (-1, 1), 0.0)]
    nodes += [square(f"before-{k}", *place) for k, place in enumerate(occluders)]
    frame = drawn(
        engine, Scene(tuple(nodes)), Shot(front(), frozenset({"ids", "whole"}), whole=(("target",),))
    )
    assert frame.ids is not None
    assert frame.whole is not None
    whole = frame.whole == 1
    assert whole.sum() / whole.size == pytest.approx(0.0711111, abs=1e-6)  # its share of the picture
    assert (frame.ids[whole] == 1).sum() / whole.sum() == pytest.approx(share, abs=1e-9)


def test_half_hidden_box_has_its_published_share(engine: str) -> None:
    # Reference section 12, camera C2: visible .88817 (shapely, exact), silhouette 64339.3 px.
    scene = Scene(
        (box("target", (-0.3, 0, -0.3), (0.3, 1.8, 0.3)), box("before", (-0.7, 0, 1.95), (0, 1.2, 2.45)))
    )
    view = camera(anchor=(0, 0.9, 0), distance=8, pitch=20, pixels=(1920, 1080), far=100.0)
    frame = drawn(engine, scene, Shot(view, frozenset({"ids", "whole"}), whole=(("target",),)))
    assert frame.ids is not None
    assert frame.whole is not None
    whole = frame.whole == 1
    assert whole.sum() == pytest.approx(64339.3, rel=1e-3)
    assert (frame.ids[whole] == 1).sum() / whole.sum() == pytest.approx(0.88817, abs=5e-4)


def test_whole_has_a_bit_for_each_of_32_groups(engine: str) -> None:
    # 32 squares side by side, all behind one wall; group k is square k.
    squares = [square(f"s{k}", (k - 16, k - 15), (-1, 1), 0.0) for k in range(32)]
    scene = Scene((*squares, square("wall", (-40, 40), (-40, 40), 1.0)))
    view = front(eye_z=40.0, pixels=(640, 360))
    groups = tuple((f"s{k}",) for k in range(32))
    frame = drawn(engine, scene, Shot(view, frozenset({"ids", "whole"}), whole=groups))
    assert frame.ids is not None
    assert frame.whole is not None
    assert frame.whole.dtype == np.uint32
    assert set(np.unique(frame.ids)) == {33}
    for k in range(32):
        assert at(frame.whole, view, (k - 15.5, 0, 0)) == 1 << k
    assert at(frame.whole, view, (0, 5, 0)) == 0


def test_whole_of_overlapping_groups_has_both_bits(engine: str) -> None:
    scene = Scene((square("a", (-1, 1), (-1, 1), 0.0), square("b", (0, 2), (-1, 1), 3.0)))
    view = front(pixels=(320, 180))
    shot = Shot(view, frozenset({"whole"}), whole=(("a",), ("b",), ("a", "b"), ()))
    whole = drawn(engine, scene, shot).whole
    assert whole is not None
    assert at(whole, view, (-0.5, 0, 0)) == 0b101
    assert at(whole, view, (0.5, 0, 0)) == 0b111
    assert at(whole, view, (1.9, 0, 3)) == 0b110


def test_planes_not_asked_for_are_none(engine: str) -> None:
    scene = Scene((ground(),))
    with open_renderer(engine, scene) as renderer:
        for plane, name in (("colour", "colour"), ("depth", "depth_m"), ("ids", "ids"), ("whole", "whole")):
            frame = renderer.draw(Shot(camera(), frozenset({plane})))
            there = [n for n in ("colour", "depth_m", "ids", "whole") if getattr(frame, n) is not None]
            assert there == [name]


def test_planes_have_the_cameras_size(engine: str) -> None:
    scene = Scene((ground(), box("a", (-1, 0, -1), (1, 2, 1))))
    with open_renderer(engine, scene) as renderer:
        for width, height in ((160, 90), (37, 211), (1, 1), (161, 89)):
            frame = renderer.draw(Shot(camera(pixels=(width, height)), ALL | {"whole"}))
            assert frame.colour is not None
            assert frame.colour.shape == (height, width, 3)
            for plane in (frame.depth_m, frame.ids, frame.whole):
                assert plane is not None
                assert plane.shape == (height, width)


def test_picture_larger_than_a_tile_has_no_seam(engine: str) -> None:
    # Ground alone, seen at an angle: depth must change evenly along every row and column.
    view = camera("orthographic", pixels=(2200, 24), pitch=40, yaw=20, height=0.5)
    depth = drawn(engine, Scene((ground(200.0),)), Shot(view, frozenset({"depth"}))).depth_m
    assert depth is not None
    step = np.diff(depth[12].astype(float))
    assert np.abs(step - step.mean()).max() < 1e-4


@pytest.mark.parametrize("kind", KINDS)
def test_a_part_has_the_colours_of_the_whole_picture(engine: str, kind: str) -> None:
    # Soft shadows and the grid among them: the four pixels of a square ask for the sun together, so that the
    # sides lie within such squares. 1101 columns are more than a tile of rays, whose seam one part crosses.
    scene = Scene((ground(), box("a", (-1, 0, -1), (1, 2, 1)), box("b", (2, 0.5, -4), (3, 3, -3))))
    view = camera(kind, pixels=(1101, 61), pitch=25, distance=9)
    parts = ((401, 3, 560, 40), (515, 20, 611, 61), (1001, 11, 1101, 48), (-5, -5, 3, 3), (9, 9, 9, 30))
    only = Shot(view, frozenset({COLOUR}), tinted=False)
    with open_renderer(engine, scene) as renderer:
        whole, some = (renderer.draw(replace(only, parts_px=asked)).colour for asked in (None, parts))
        none = renderer.draw(replace(only, parts_px=())).colour
    assert whole is not None
    assert some is not None
    assert none is not None
    assert none.shape == whole.shape
    for left, top, right, bottom in np.maximum(parts, 0):
        assert np.array_equal(some[top:bottom, left:right], whole[top:bottom, left:right])
    assert not some[:, 620:1000].any()
    assert not none.any()


def test_unknown_plane_is_named(engine: str) -> None:
    with open_renderer(engine, Scene((ground(),))) as renderer, pytest.raises(StudyWrong, match="'warmth'"):
        renderer.draw(Shot(camera(), frozenset({"colour", "warmth"})))


@pytest.mark.parametrize(
    "shot",
    [
        Shot(camera(), ALL, show=("grund",)),
        Shot(camera(), ALL, moves=(("grund", np.eye(4)),)),
        Shot(camera(), ALL | {"whole"}, whole=(("grund",),)),
    ],
)
def test_unknown_node_is_named_with_the_nearest(engine: str, shot: Shot) -> None:
    with (
        open_renderer(engine, Scene((ground(),))) as renderer,
        pytest.raises(StudyWrong, match=r"'grund'.*\n.*'ground'"),
    ):
        renderer.draw(shot)


def test_empty_view_is_sky_with_no_ids(engine: str) -> None:
    scene = Scene((box("behind", (-1, -1, 20), (1, 1, 22)),))
    for scene_drawn, show in ((scene, None), (scene, ()), (Scene(()), None)):
        frame = drawn(engine, scene_drawn, Shot(front(pixels=(32, 18)), ALL | {"whole"}, show=show))
        assert frame.colour is not None
        assert frame.depth_m is not None
        assert (frame.colour == look.SKY).all()
        assert np.isposinf(frame.depth_m).all()
        assert not np.any(frame.ids)
        assert not np.any(frame.whole)


def test_node_without_faces_or_vertices_draws_nothing(engine: str) -> None:
    none = np.zeros((0, 3))
    scene = Scene(
        (Node("empty", none, none), Node("points", np.ones((4, 3)), none), box("a", (-1, -1, -1), (1, 1, 1)))
    )
    ids = drawn(engine, scene, Shot(front(pixels=(64, 36)), ALL)).ids
    assert ids is not None
    assert set(np.unique(ids)) == {0, 3}


def test_renderers_open_one_after_another_and_nested(engine: str) -> None:
    one, two = (
        Scene((box("a", (-1, -1, -1), (1, 1, 1)),)),
        Scene((ground(), box("b", (-1, -1, -1), (1, 1, 1)))),
    )
    shot = Shot(front(pixels=(64, 36)), ALL)
    first = drawn(engine, one, shot)
    with open_renderer(engine, one) as outer:
        with open_renderer(engine, two) as inner:
            assert at(inner.draw(shot).ids, shot.camera, (0, 0, 1)) == 2
            assert at(outer.draw(shot).ids, shot.camera, (0, 0, 1)) == 1
        again = outer.draw(shot)
    assert np.array_equal(first.colour, again.colour)
    with open_renderer(engine, two) as later:
        assert at(later.draw(shot).ids, shot.camera, (0, 0, 1)) == 2


def test_same_shot_gives_the_same_bytes(engine: str) -> None:
    scene = Scene(
        (ground(), *(box(f"b{k}", (k, 0, -k), (k + 0.7, 1 + k / 3, 0.5 - k)) for k in range(-4, 4)))
    )
    shot = Shot(
        camera(pixels=(200, 113)), ALL | {"whole"}, whole=(("b1",),), towards_light=(-0.4, 0.75, 0.55)
    )
    one = drawn(engine, scene, shot)
    with open_renderer(engine, scene) as renderer:
        renderer.draw(replace(shot, camera=camera("oblique", pixels=(333, 100))))
        two = renderer.draw(shot)
    for name in ("colour", "depth_m", "ids", "whole"):
        assert getattr(one, name).tobytes() == getattr(two, name).tobytes(), name


def test_ids_of_seventy_thousand_nodes_are_right(engine: str) -> None:
    # Squares on a lattice of 280 x 250, one pixel each: node k in column k % 280, row k // 280 from below.
    x, y = np.arange(70_000) % 280, np.arange(70_000) // 280
    faces = np.array([(0, 1, 2), (0, 2, 3)])
    corners = np.array([(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0)], dtype=np.float32)
    nodes = tuple(
        Node(f"n{k}", corners + np.array([x[k], y[k], 0], dtype=np.float32), faces, closed=False)
        for k in range(70_000)
    )
    view = np.eye(4)
    view[:3, 3] = (-140, -125, -5)
    camera = Camera(view, orthographic(250.0, 280 / 250, 0.1, 10.0), (280, 250), "orthographic", 0.1, 10.0)
    ids = drawn(engine, Scene(nodes), Shot(camera, frozenset({"ids"}))).ids
    assert ids is not None
    wanted = (np.arange(70_000).reshape(250, 280) + 1)[::-1]
    assert np.array_equal(ids, wanted)


def test_scene_far_from_the_origin_is_drawn_as_well(engine: str) -> None:
    far = np.array([4e5, 0.0, -3e5])
    near_box = box("a", (-1, 0, -1), (1, 2, 1))
    scene = Scene((replace(near_box, vertices=near_box.vertices + far.astype(np.float32)),))
    view = camera(anchor=(4e5, 1, -3e5), pitch=0, pixels=(320, 180))
    depth = drawn(engine, scene, Shot(view, ALL)).depth_m
    assert depth is not None
    # float32 vertices keep 1/32 m at 400 km; these corners are exact.
    assert at(depth, view, (4e5, 1, -3e5 + 1)) == pytest.approx(9.0, abs=1e-3)


def test_infinite_far_plane_is_drawn(engine: str) -> None:
    view = front(pixels=(64, 36))
    view = replace(view, projection=perspective(1.0, 64 / 36, 0.1, None), far_m=float("inf"))
    depth = drawn(engine, Scene((square("s", (-9e4, 9e4), (-9e4, 9e4), -5e4),)), Shot(view, ALL)).depth_m
    assert depth is not None
    assert np.abs(depth / 50010.0 - 1.0).max() < 1e-5


def test_lit_levels_are_those_of_the_look(engine: str) -> None:
    # look.md: lit level top .98, upright face towards the camera .78, unlit side .44 of the tint's light.
    scene = Scene((box("a", (-1, 0, -1), (1, 2, 1)),))
    yaw = look.LIGHT_YAW_DEG
    turn = np.radians(yaw)
    c, s = np.cos(turn), np.sin(turn)
    matrix = np.eye(4)
    matrix[:3, :3] = [[c, 0, s], [0, 1, 0], [-s, 0, c]]
    light = np.array(look.LIGHT_TOWARDS) / np.linalg.norm(look.LIGHT_TOWARDS)
    for away, height, point, share in (
        (0, 30, (0, 2, 0), 0.98),
        (0, 0, (0, 1, 1), 0.78),
        (90, 0, (1, 1, 0), 0.44),
    ):
        view = camera(yaw=yaw + away, pitch=height, pixels=(160, 90))
        shot = Shot(view, ALL, moves=(("a", matrix),), towards_light=tuple(light), tinted=False)
        colour = drawn(engine, scene, shot).colour
        assert colour is not None
        there = (matrix @ [*point, 1])[:3]
        linear = ((at(colour, view, tuple(there)) / 255.0 + 0.055) / 1.055) ** 2.4  # IEC 61966-2-1
        clay = ((np.array(look.CLAY) / 255.0 + 0.055) / 1.055) ** 2.4
        assert linear == pytest.approx(share * clay, rel=0.02)


def test_untinted_shot_keeps_clay_and_ground_only(engine: str) -> None:
    scene = Scene((ground(), box("a", (-1, 0, -1), (1, 2, 1), tint=look.ROLE_TINT["primary"])))
    view = camera(pixels=(160, 90))
    tinted = drawn(engine, scene, Shot(view, ALL, shadow=False, grid=False)).colour
    plain = drawn(engine, scene, Shot(view, ALL, shadow=False, grid=False, tinted=False)).colour
    assert tinted is not None
    assert plain is not None
    red, _, blue = (int(c) for c in at(tinted, view, (0, 2, 0)))
    assert red - blue > 100
    red, _, blue = (int(c) for c in at(plain, view, (0, 2, 0)))
    assert abs(red - blue) < 20
    assert (at(plain, view, (4, 0, 2)) == at(tinted, view, (4, 0, 2))).all()


def test_looks_do_not_depend_on_the_shot_before(engine: str) -> None:
    scene = Scene((ground(), box("a", (-1, 0, -1), (1, 2, 1), tint=look.ROLE_TINT["primary"])))
    tinted = Shot(camera(pixels=(96, 54)), ALL, towards_light=(-0.4, 0.75, 0.55))
    shots = [
        tinted,
        replace(tinted, tinted=False, grid=False, shadow=False),
        replace(tinted, casters=()),
        replace(tinted, towards_light=(0.4, 0.75, 0.55)),
        replace(tinted, camera=camera(pixels=(96, 54), pitch=21)),
    ]
    alone = [drawn(engine, scene, shot).colour for shot in shots]
    with open_renderer(engine, scene) as renderer:
        after = [renderer.draw(shot).colour for shot in (*shots, *shots[::-1])]
    for k, (one, two) in enumerate(zip((*alone, *alone[::-1]), after, strict=True)):
        assert np.array_equal(one, two), k
    assert len({np.asarray(picture).tobytes() for picture in alone}) == len(shots)


def test_shadow_falls_where_the_light_is_blocked_with_a_soft_edge(engine: str) -> None:
    # A slab 4 m above the ground, its edge at x 0, light from straight above: the shadow's edge lies at
    # x 0, half dark there, and is 2 x 4 x tan 3 = 0.42 m wide.
    slab = box("slab", (0, 4, -30), (30, 4.2, 30))
    view = camera("orthographic", anchor=(0, 0, 0), pitch=5, distance=20, height=3.6, pixels=(320, 180))
    shot = Shot(view, ALL, towards_light=(0.0, 1.0, 0.0), grid=False)
    with open_renderer(engine, Scene((ground(200.0), slab))) as renderer:
        with_shadow = renderer.draw(shot)
        without = renderer.draw(replace(shot, shadow=False))
    assert with_shadow.colour is not None
    assert without.colour is not None
    row = int(project_points(view, [(0, 0, 0)])[0][1])
    lit, plain = with_shadow.colour[row].astype(float), without.colour[row].astype(float)
    dark = lit.min()
    share = (lit[:, 0] - lit[:, 0].min()) / (plain[:, 0] - lit[:, 0].min())  # 1 lit, 0 dark
    x_m = (np.arange(320) + 0.5 - 160) * 3.6 / 180
    assert dark < plain.min() - 30
    assert share[x_m < -0.35].min() > 0.98
    assert share[x_m > 0.35].max() < 0.02
    assert 0.3 < np.interp(0.0, x_m, share) < 0.7
    assert ((share > 0.05) & (share < 0.95)).sum() * 3.6 / 180 == pytest.approx(0.42, abs=0.2)


def test_grid_lines_lie_on_whole_metres_and_fade_far_away(engine: str) -> None:
    view = camera("orthographic", anchor=(0, 0, 0), pitch=90, distance=20, height=3.6, pixels=(320, 180))
    shot = Shot(view, ALL, shadow=False, towards_light=(0.0, 1.0, 0.0))
    with open_renderer(engine, Scene((ground(4000.0),))) as renderer:
        near = renderer.draw(shot).colour
        plain = renderer.draw(replace(shot, grid=False)).colour
        far = renderer.draw(
            replace(shot, camera=camera("orthographic", pitch=90, height=90.0, pixels=(320, 180)))
        ).colour
    assert near is not None
    assert plain is not None
    assert far is not None
    assert len(np.unique(plain.reshape(-1, 3), axis=0)) == 1
    row = near[int(project_points(view, [(0, 0, 0.5)])[0][1])].astype(int)
    lines = np.flatnonzero(row[:, 0] < plain[0, 0, 0] - 10)
    # Pixels are 2 cm; lines 3.5 cm wide on x = -3 .. 3: seven, within a pixel of their metre.
    metres = (lines + 0.5 - 160) * 0.02
    assert np.abs(metres - np.rint(metres)).max() < 0.03
    assert set(np.rint(metres)) == {-3, -2, -1, 0, 1, 2, 3}
    assert row.min() >= int(plain.min() * 0.76**0.42) - 4  # tint x .76 in linear light, and no darker
    assert np.ptp(far.reshape(-1, 3).astype(int), axis=0).max() <= 1  # a pixel of 0.5 m: no line left


def test_a_picture_for_the_eye_is_antialiased_and_what_is_read_is_not(engine: str) -> None:
    scene = Scene((square("s", (-2, 2), (-2, 2), 0.0),))
    view = camera(anchor=(0, 0, 0), pitch=0, focal=36, pixels=(160, 90))
    turned = np.eye(4)
    turned[:2, :2] = [[0.8, -0.6], [0.6, 0.8]]
    shot = Shot(view, ALL, moves=(("s", turned),), shadow=False, towards_light=(0.0, 0.0, 1.0), own=True)
    frame = drawn(engine, scene, shot)
    assert frame.colour is not None
    assert frame.ids is not None
    square_rgb, sky_rgb = frame.colour[45, 80].astype(float), frame.colour[0, 0].astype(float)
    seen = np.unique(frame.colour.reshape(-1, 3), axis=0).astype(float)
    mixes = [sky_rgb + (square_rgb - sky_rgb) * samples / 4 for samples in range(5)]  # 0 to 4 samples of 4
    off = np.abs(seen[:, None, :] - np.array(mixes)).max(axis=2)
    assert (off.min(axis=1) <= 1.0).all()  # halves are rounded either way
    assert (off.min(axis=0) <= 1.0).all()
    assert set(np.unique(frame.ids)) == {0, 1}
    read = drawn(engine, scene, replace(shot, own=False))
    assert read.colour is not None
    assert read.ids is not None
    assert np.array_equal(read.ids, frame.ids)
    assert np.array_equal((read.colour != read.colour[0, 0]).any(axis=2), read.ids > 0)


def test_every_line_of_the_table_is_a_file() -> None:
    folder = Path(__file__).parents[2] / "src" / "stationpoint" / "render"
    assert set(RENDERERS) == {"gl", "rays"}
    for place in RENDERERS.values():
        module, _, function = place.partition(":")
        assert folder.joinpath(*module.split(".")[2:]).with_suffix(".py").is_file()
        assert function == "open_renderer"


def test_unknown_renderer_is_named() -> None:
    with pytest.raises(StudyWrong, match=r"'vulkan'.*gl and rays"):
        open_renderer("vulkan", Scene(()))


def test_only_the_named_casters_cast(engine: str) -> None:
    scene = Scene((ground(), box("a", (-4, 3, -1), (-2, 4, 1)), box("b", (2, 3, -1), (4, 4, 1))))
    view = camera(pixels=(160, 90), distance=12, pitch=10)
    shot = Shot(view, frozenset({"colour"}), towards_light=(0.0, 1.0, 0.0), grid=False)
    with open_renderer(engine, scene) as renderer:
        for casters, dark in ((None, (True, True)), (("a",), (True, False)), ((), (False, False))):
            colour = renderer.draw(replace(shot, casters=casters)).colour
            assert colour is not None
            lit = at(colour, view, (0, 0, 0))
            for x, is_dark in zip((-3, 3), dark, strict=True):
                assert (at(colour, view, (x, 0, 0)) < lit - 15).all() == is_dark, (casters, x)
        with pytest.raises(StudyWrong, match="'c'"):
            renderer.draw(replace(shot, casters=("c",)))


def test_begun_shot_is_the_drawn_shot_whatever_is_drawn_in_between(engine: str) -> None:
    scene = Scene((ground(), box("box", (-1, 0, -1), (1, 2, 1))))
    shot = Shot(front(pixels=(320, 180)), frozenset({COLOUR, DEPTH, IDS, WHOLE}), whole=(("box",),))
    other = Shot(front(pixels=(64, 36)), frozenset({IDS, COLOUR}))
    with open_renderer(engine, scene) as renderer:
        wanted = renderer.draw(shot)
        begun = renderer.begin(shot)
        between = renderer.draw(other)
        frame = begun()
        again = renderer.begin(other)()
    for plane in ("colour", "depth_m", "ids", "whole"):
        assert np.array_equal(getattr(frame, plane), getattr(wanted, plane)), plane
    assert np.array_equal(between.ids, again.ids)
    assert len(np.unique(between.ids)) > 1


@pytest.mark.parametrize("kind", ["orthographic", "oblique"])
def test_near_plane_of_a_parallel_view_cuts_what_stands_before_it(engine: str, kind: str) -> None:
    # A box 2 m deep whose middle is 10 m away: its front is at 9 m, its back at 11 m.
    scene = Scene((box("box", (-3, -3, -1), (3, 3, 1)),))
    view = camera(kind, anchor=(0.0, 0.0, 0.0), pitch=0, near=9.5)
    frame = drawn(engine, scene, Shot(view, ALL))
    assert frame.depth_m is not None
    assert frame.depth_m[45, 80] == pytest.approx(11.0, abs=1e-4)


@pytest.mark.parametrize(
    "by", [(1.5, 0.5, -1.0), (0.0, 0.0, 7.0), (-3.0, 8.0, 2.0)], ids=["among", "off", "above"]
)
def test_moved_node_casts_as_if_it_had_always_stood_there(
    engine: str, by: tuple[float, float, float]
) -> None:
    # The others' shadows stand before; what is moved among them, beside them or far above them joins in.
    others = [ground(), box("l", (-4, 0, -4), (-3, 3, -3)), box("r", (3, 0, 3), (4, 3, 4))]
    low, high = np.array((-0.5, 0.0, -0.5)), np.array((0.5, 2.0, 0.5))
    view = camera(pixels=(192, 108), distance=18, pitch=50)
    shot = Shot(view, frozenset({"colour"}), towards_light=(-0.4, 0.8, 0.3), grid=False)
    there = Scene((*others, box("a", tuple(low + by), tuple(high + by))))
    with open_renderer(engine, Scene((*others, box("a", tuple(low), tuple(high))))) as renderer:
        before = renderer.draw(shot).colour
        moved = renderer.draw(replace(shot, moves=(("a", moved_by(*by)),))).colour
        again = renderer.draw(shot).colour
    built = drawn(engine, there, shot).colour
    assert before is not None
    assert moved is not None
    assert built is not None
    assert np.array_equal(before, again)
    assert (np.abs(moved.astype(int) - before.astype(int)).max(axis=2) > 20).sum() > 30
    apart = np.abs(moved.astype(int) - built.astype(int)).max(axis=2)
    assert (apart > 24).mean() < 0.002  # shadows' edges, by a texel of the map


def test_several_shots_at_once_are_the_same_as_one_by_one(engine: str) -> None:
    scene = Scene((ground(), box("left", (-3, 0, -1), (-1, 2, 1)), box("right", (1, 0, -1), (3, 2, 1))))
    away = np.eye(4)
    away[2, 3] = -4.0
    facts = frozenset({"ids", "depth", "whole"})
    shots = [Shot(camera(pixels=(320, 180)), frozenset({"colour"}))]
    shots += [
        Shot(camera(pixels=(w, 90), yaw=3 * w), facts, whole=(("left",), ("right",)), moves=moves)
        for w in range(40, 140, 5)
        for moves in ((), (("left", away),))
    ]
    with open_renderer(engine, scene) as renderer:
        together = renderer.draw_all([*shots, *shots[3:5], shots[0]])
        apart = [renderer.draw(shot) for shot in [*shots, *shots[3:5], shots[0]]]
    for one, other in zip(together, apart, strict=True):
        for name in ("colour", "ids", "depth_m", "whole"):
            a, b = getattr(one, name), getattr(other, name)
            assert (a is None) == (b is None), name
            assert a is None or np.array_equal(a, b), name
