"""Twins by hand calculation: what stays the same, what tells, what cannot be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import cos, log, radians, sin
from typing import Any

import numpy as np
import pytest

from readings.made import COUCH, block, body, camera, case
from stationpoint.camera.camera import Camera, depths, project_points
from stationpoint.camera.projection import oblique
from stationpoint.camera.shot import IDS, WHOLE, Shot
from stationpoint.readings.twins.changes import area_arcmin2
from stationpoint.readings.twins.cut import cut_by
from stationpoint.readings.twins.place import default_shift_m, twin_matrix
from stationpoint.readings.twins.twins import KIND, twin_moves
from stationpoint.readings.types import Case, Reading, Value
from stationpoint.render import open_renderer
from stationpoint.scene.edit import moved_scene
from stationpoint.scene.solids import solid
from stationpoint.scene.types import Node, Scene

CELL = (544, 306)
KEYS = {"shift_m", "level", "told_by", "ambiguous", "changed_arcmin2", "silhouette_changed_share", "why"}
PLINTH = block("plinth", (0, -2, 0), (1.6, 2, 1.6))
PLANTER = block("planter", (0, 0, 0), (1, 1, 1))
LIKE = block("other", (3, 0, 0), (1, 1, 1))
TARGET: dict[str, Any] = {"name": "t", "node": "planter", "with": ["plinth"]}


def _case(view: Camera, *nodes: Node, **study: Any) -> Case:
    study = {"cell": CELL, "target": [TARGET], **study}
    return case(view, *nodes, **study)


def _reading(made: Case, still: Scene | None = None) -> Reading:
    """The readings of a case. still: the scene before the place's moves."""
    shots = KIND.shots(made)
    if not shots:
        return KIND.read(made, {})
    with open_renderer("rays", still or made.scene) as renderer:
        return KIND.read(made, {name: renderer.draw(shot) for name, shot in shots.items()})


def _twin(made: Case, kind: str = "slide", still: Scene | None = None) -> dict[str, Value]:
    found = {
        path[3]: value for path, value in _reading(made, still).values.items() if path[1:3] == ("t", kind)
    }
    assert found.keys() == KEYS
    return found


def _silhouettes(made: Case, kind: str, shift_m: float | None, pixels: tuple[int, int] = CELL) -> Any:
    """The target's whole silhouette as it is and of its twin, (h, w) each, drawn by rays."""
    view = replace(made.setup.camera, pixels=pixels)
    target = made.study.target[0]
    planes, group = frozenset({WHOLE, IDS}), (("planter",),)
    shots = [
        Shot(view, planes, moves=m, whole=group)
        for m in (made.moves, twin_moves(made, target, kind, shift_m))
    ]
    with open_renderer("rays", made.scene) as renderer:
        frames = [renderer.draw(shot) for shot in shots]
    here, there = (frame.whole != 0 for frame in frames if frame.whole is not None)
    return here, there


# ---- story 3: the planter ---------------------------------------------------------------------------


def _story(view: Camera, *more: Node, **study: Any) -> dict[str, Value]:
    return _twin(_case(view, PLINTH, PLANTER, *more, twin_shift_m=3.0, **study))


ORTHOGRAPHIC = camera("orthographic", pitch=30, height=12)
AT_15_M = camera(pitch=30, distance=15)  # F 1866.67: 124.4 px a metre at the foot, 103.7 three metres on
LONG = camera(pitch=30, distance=57.857, focal=135)


@pytest.mark.parametrize("like", [(), ("other",)])
def test_planter_with_its_plinth_is_the_same_in_an_orthographic_view(like: Sequence[str]) -> None:
    found = _story(ORTHOGRAPHIC, LIKE, target=[{**TARGET, "like": like}])
    assert found["level"] == "same"
    assert found["ambiguous"] is True
    assert (found["silhouette_changed_share"], found["changed_arcmin2"]) == (0.0, 0.0)
    assert abs(found["shift_m"]) == 3.0  # type: ignore[arg-type]


def test_scale_of_the_planter_falls_from_124_to_104_px_a_metre() -> None:
    made = _case(AT_15_M, PLINTH, PLANTER)
    matrix = twin_matrix(made, made.study.target[0], "slide", 3.0)
    assert matrix is not None
    z = depths(AT_15_M, [(0, 0, 0), matrix[:3, 3]])
    assert z == pytest.approx([15.0, 18.0])
    assert 1866.667 / z == pytest.approx([124.44, 103.70], abs=0.01)
    assert 100 * log(18 / 15) == pytest.approx(18.2, abs=0.05)


def test_like_planter_beside_it_tells_by_relative_size() -> None:
    # 18.2 % is 6.1 thresholds of 3 %.
    found = _story(AT_15_M, LIKE, target=[{**TARGET, "like": ["other"]}])
    assert (found["level"], found["told_by"], found["ambiguous"]) == ("told", "relative_size", False)
    assert found["shift_m"] == 3.0  # ln(15 / 12) = 22.3 %: the nearer twin is told more


def test_without_a_like_planter_and_with_the_subject_out_of_the_picture_it_is_unanchored() -> None:
    alone = _story(AT_15_M)
    assert (alone["level"], alone["told_by"], alone["ambiguous"]) == ("unanchored", None, True)
    gone = _story(AT_15_M, body((40, 0, 0)), subject={"at": (40, 0, 0)})
    assert (gone["level"], gone["told_by"]) == ("unanchored", None)
    unlike = _story(AT_15_M, LIKE)  # it is there, but nothing says that it is as large
    assert unlike["level"] == "unanchored"


def test_like_planter_that_something_hides_does_not_tell() -> None:
    wall = block("wall", (3.2, -2, 1.5), (3, 5, 0.2))
    found = _story(AT_15_M, LIKE, wall, target=[{**TARGET, "like": ["other"]}])
    assert found["level"] == "unanchored"


def test_subject_in_the_picture_tells_weakly_at_most() -> None:
    # 18.2 % would be told, but the subject is of no known size beside a planter.
    found = _story(AT_15_M, body((2.5, 0, 1)), subject={"at": (2.5, 0, 1)})
    assert (found["level"], found["told_by"], found["ambiguous"]) == ("weakly told", "relative_size", False)


def test_long_lens_at_the_same_scale_tells_weakly() -> None:
    assert pytest.approx(124.44, abs=0.01) == 1920 * 135 / 36 / 57.857
    assert 100 * log(60.857 / 57.857) == pytest.approx(5.06, abs=0.01)
    found = _story(LONG, LIKE, target=[{**TARGET, "like": ["other"]}])
    assert (found["level"], found["told_by"]) == ("weakly told", "relative_size")


@pytest.mark.parametrize(("factor", "level"), [(1.5, "told"), (1.8, "weakly told")])
def test_glance_factor_of_the_study_decides_what_is_told(factor: float, level: str) -> None:
    found = _story(LONG, LIKE, target=[{**TARGET, "like": ["other"]}], glance_factor=factor)
    assert found["level"] == level  # 5.06 % is 1.69 thresholds


def test_changed_silhouette_of_a_plate_is_what_its_scale_leaves() -> None:
    # A plate that faces the camera, seen from 8 m with 35 mm: 1 m more draws it 8/9 as large about its
    # foot, so that (8/9)^2 of it stays and the rest shows what is behind.
    plate = Node("planter", *_plate(1.0), kind="mesh", closed=False)
    made = _case(
        camera(pitch=0, distance=8), plate, target=[{"name": "t", "node": "planter"}], twin_shift_m=1.0
    )
    found = _twin(made)
    assert found["shift_m"] == 1.0
    assert found["silhouette_changed_share"] == pytest.approx(1 - 64 / 81, abs=0.01)
    px2 = (1866.667 / 8) ** 2 * (1 - 64 / 81)
    assert found["changed_arcmin2"] == pytest.approx(px2 * COUCH.arcmin_per_px**2, rel=0.03)


def _plate(side: float) -> tuple[Any, Any]:
    x = side / 2
    corners = [(-x, 0, 0), (x, 0, 0), (x, side, 0), (-x, side, 0)]
    return np.array(corners, dtype=np.float32), np.array([(0, 1, 2), (0, 2, 3)], dtype=np.int32)


# ---- fifty random scenes ----------------------------------------------------------------------------


def _random_scene(k: int, kind: str) -> tuple[Case, float]:
    """A turned box on a plinth that hangs in the void, seen from anywhere above; and a shift."""
    rng = np.random.default_rng(1000 + k)
    at = rng.uniform(-1.5, 1.5, 3)
    size, turn = rng.uniform(0.4, 2.0, 3), rng.uniform(0, 90)
    nodes = []
    for name, base, extent in (
        ("planter", at, size),
        ("plinth", at - (0, 1, 0), np.array([1.2, 1, 1.2]) * size.max()),
    ):
        vertices, faces = solid("box", extent, base, turn)
        nodes.append(Node(name, vertices.astype(np.float32), faces, kind="box"))
    pitch, yaw, shift = rng.uniform(8, 70), rng.uniform(-180, 180), rng.uniform(0.5, 5) * rng.choice([-1, 1])
    view = camera(
        "orthographic" if kind != "perspective" else kind,
        pitch=pitch, yaw=yaw, height=rng.uniform(7, 12), distance=14, focal=rng.uniform(20, 60),
    )  # fmt: skip
    if kind == "oblique":
        projection = oblique(10.0, 16 / 9, -100.0, 200.0, rng.uniform(0.3, 1), rng.uniform(0, 90), 14.0)
        view = Camera(view.view, projection, view.pixels, "oblique", -100.0, 200.0)
    return _case(view, *nodes, twin_shift_m=abs(shift)), float(shift)


@pytest.mark.parametrize("kind", ["orthographic", "oblique"])
def test_slide_twins_of_fifty_random_scenes_change_no_pixel_in_parallel_views(kind: str) -> None:
    for k in range(50):
        made, shift = _random_scene(k, kind)
        here, there = _silhouettes(made, "slide", shift, (272, 153))
        assert here.sum() > 100
        assert (here != there).sum() == 0
        found = _twin(made)
        assert (found["level"], found["silhouette_changed_share"]) == ("same", 0.0)
        assert not [name for name in KIND.shots(made) if "slide farther" in name or "slide nearer" in name]


def test_slide_twins_of_fifty_random_scenes_are_drawn_z_over_z_plus_shift_in_perspective() -> None:
    for k in range(50):
        made, shift = _random_scene(k, "perspective")
        view, target = made.setup.camera, made.study.target[0]
        twin = moved_scene(made.scene, dict(twin_moves(made, target, "slide", shift)))
        node, other = made.scene.node("planter"), twin.node("planter")
        z = float(depths(view, node.foot)[0])
        # A metre to the right of the foot, drawn: 35 mm style scale F / z by projection.
        lengths = [
            float(np.linalg.norm(np.diff(project_points(view, [foot, foot + view.right]), axis=0)))
            for foot in (node.foot, other.foot)
        ]
        assert lengths[1] / lengths[0] == pytest.approx(z / (z + shift), rel=0.005)
        # And its foot stays at its place in the picture.
        assert project_points(view, other.foot) == pytest.approx(project_points(view, node.foot), abs=0.05)


@pytest.mark.parametrize("shift", [-2.0, 1.0, 3.0])
def test_silhouette_of_a_plate_in_perspective_scales_by_pixels_too(shift: float) -> None:
    vertices, faces = _plate(2.0)
    made = _case(
        camera(pitch=0, distance=9, anchor=(0.7, 0.4, 0)), Node("planter", vertices, faces, closed=False)
    )
    made = replace(
        made,
        study=made.study.model_copy(
            update={"target": (made.study.target[0].model_copy(update={"with_": ()}),)}
        ),
    )
    here, there = _silhouettes(made, "slide", shift, (1280, 720))
    assert np.sqrt(there.sum() / here.sum()) == pytest.approx(9 / (9 + shift), rel=0.005)


# ---- what moves, and how far ------------------------------------------------------------------------


def test_support_and_contents_move_along_and_nothing_else() -> None:
    made = _case(ORTHOGRAPHIC, PLINTH, PLANTER, LIKE, moves={"planter": (0, 0, 0), "other": (1, 0, 0)})
    moves = dict(twin_moves(made, made.study.target[0], "slide", 2.0))
    assert moves.keys() == {"planter", "plinth", "other"}
    assert moves["planter"][:3, 3] == pytest.approx((0, -2 * sin(radians(30)), -2 * cos(radians(30))))
    assert moves["plinth"] == pytest.approx(moves["planter"])
    assert moves["other"][:3, 3] == pytest.approx((1, 0, 0))


def test_place_and_twin_move_one_after_the_other() -> None:
    still = Scene((PLINTH, PLANTER, LIKE))
    study = {"twin_shift_m": 3.0, "target": [{**TARGET, "like": ["other"]}]}
    lifted = {"planter": (-2, 1, 0), "plinth": (-2, 1, 0)}
    made = _case(AT_15_M, *still.nodes, moves=lifted, **study)
    moves = dict(twin_moves(made, made.study.target[0], "slide", 3.0))
    assert depths(AT_15_M, moves["planter"][:3, 3]) == pytest.approx(depths(AT_15_M, (-2, 1, 0)) + 3.0)
    found = _twin(made, still=still)
    built = _case(AT_15_M, *made.scene.nodes, **study)
    again = _twin(built)
    words = {"level", "told_by", "ambiguous", "why"}
    assert {key: found[key] for key in words} == {key: again[key] for key in words}
    for key in KEYS - words:
        assert found[key] == pytest.approx(again[key], rel=1e-4)


def test_shift_is_the_studys_then_the_longest_reach_then_a_body() -> None:
    gap = {"name": "g", "from": (0, 0, 0), "to": (0, 0, -4), "reach_m": 3.4}
    assert default_shift_m(_case(AT_15_M, PLANTER, PLINTH, gap=[gap], twin_shift_m=2.5)) == 2.5
    assert default_shift_m(_case(AT_15_M, PLANTER, PLINTH, gap=[gap])) == 3.4
    assert default_shift_m(_case(AT_15_M, PLANTER, PLINTH)) == 1.7


def test_oblique_twin_goes_along_the_projector() -> None:
    base = camera("orthographic", pitch=0.0, height=12)
    projection = oblique(12.0, 16 / 9, -100.0, 200.0, 1.0, 45.0, 8.0)
    view = Camera(base.view, projection, base.pixels, "oblique", -100.0, 200.0)
    made = _case(view, PLINTH, PLANTER)
    matrix = twin_matrix(made, made.study.target[0], "slide", 2.0)
    assert matrix is not None
    # Cavalier at 45 degrees: a metre of depth is drawn .7071 right and up, so the sightline falls as much.
    assert matrix[:3, 3] == pytest.approx((-2 * 0.70711, -2 * 0.70711, -2.0), abs=1e-4)


# ---- what is no plausible twin ----------------------------------------------------------------------


FLOOR = Node(
    "floor", block("floor", (0, -1, 0), (60, 1, 60)).vertices, PLINTH.faces, kind="ground", walkable=True
)
ON_FLOOR: dict[str, Any] = {"target": [{"name": "t", "node": "planter"}]}
ROOF = block("roof", (0, -3, 0), (20, 1, 20))  # under the plinth


def _none(found: dict[str, Value], why: str) -> None:
    assert (found["level"], found["ambiguous"], found["why"]) == ("no plausible twin", False, why)
    assert {found[key] for key in KEYS - {"level", "ambiguous", "why"}} == {None}


@pytest.mark.parametrize("view", [ORTHOGRAPHIC, AT_15_M])
def test_crate_on_the_ground_has_no_plausible_twin(view: Camera) -> None:
    made = _case(view, FLOOR, PLANTER, **ON_FLOOR)
    assert KIND.shots(made) == {}
    _none(_twin(made), "it stands on floor")
    _none(_twin(made, "mirror"), "it stands on floor")


def test_plinth_on_a_wide_roof_that_stays_has_no_plausible_twin() -> None:
    _none(_twin(_case(ORTHOGRAPHIC, ROOF, PLINTH, PLANTER)), "it stands on roof")
    along = [{**TARGET, "with": ["plinth", "roof"]}]
    assert _twin(_case(ORTHOGRAPHIC, ROOF, PLINTH, PLANTER, target=along))["level"] == "same"


def test_roof_that_ends_between_the_two_places_pins_nothing() -> None:
    # 1.7 cos 30 = 1.47 m off: the nearer twin hangs before a roof of 2 x 2 m, the farther one behind it.
    small = block("roof", (0, -2.3, 0), (2, 0.3, 2))
    found = _twin(_case(ORTHOGRAPHIC, small, PLINTH, PLANTER))
    assert found["level"] != "no plausible twin"


def test_in_a_view_from_the_side_a_thing_can_stand_elsewhere_on_its_floor() -> None:
    made = _case(camera("orthographic", pitch=0, height=8), FLOOR, PLANTER, **ON_FLOOR)
    assert _twin(made)["level"] == "same"
    assert _twin(made, "mirror")["level"] == "same"


def test_twin_that_would_cut_a_wall_is_skipped_for_the_other_one() -> None:
    # 3 m farther: the planter's middle (0, .5, 0) comes to z -2.6, y -1.
    wall = block("wall", (0, -4, -2.6), (6, 4, 0.3))
    made = _case(ORTHOGRAPHIC, PLINTH, PLANTER, wall, twin_shift_m=3.0)
    found = _twin(made)
    assert (found["level"], found["shift_m"]) == ("same", -3.0)
    _none(
        _twin(
            _case(
                ORTHOGRAPHIC, PLINTH, PLANTER, wall, block("beam", (0, 0.5, 2.6), (6, 1, 1)), twin_shift_m=3.0
            )
        ),
        "farther it would cut wall, nearer it would cut beam",
    )


def test_twin_beyond_the_eye_is_skipped() -> None:
    made = _case(camera(pitch=30, distance=5), PLINTH, PLANTER, twin_shift_m=6.0)
    assert _twin(made)["shift_m"] == 6.0


def test_cuts_are_told_from_touches() -> None:
    still = np.eye(4)
    crate, post = block("crate", (0, 0, 0), (1, 1, 1)), block("post", (1, 0, 0), (1, 3, 1))
    lower, inner, ball = (
        block("lower", (0, -1, 0), (1, 1, 1)),
        block("inner", (0, 0.4, 0), (0.1, 0.1, 0.1)),
        None,
    )
    assert cut_by(Scene((crate, post, lower)), ("crate",), still) is None  # side by side, and on top
    assert cut_by(Scene((crate, inner)), ("crate",), still) == "inner"  # wholly within
    assert cut_by(Scene((inner, crate)), ("inner",), still) == "crate"
    aside = np.eye(4)
    aside[0, 3] = 0.02
    assert cut_by(Scene((crate, post)), ("crate",), aside) == "post"
    turned = solid("box", (1, 1, 1), (0.9, 0, 0.9), 45.0)
    ball = Node("turned", turned[0].astype(np.float32), turned[1], kind="box")
    assert cut_by(Scene((crate, ball)), ("crate",), still) is None  # bounds overlap, solids do not
    sunk = np.eye(4)
    sunk[1, 3] = -5.0
    assert cut_by(Scene((FLOOR, crate)), ("crate",), sunk) == "floor"  # under the ground altogether


# ---- mirrors ----------------------------------------------------------------------------------------


def test_mirror_goes_through_the_plane_of_the_centre_parallel_to_the_picture() -> None:
    made = _case(camera("orthographic", pitch=30), PLANTER, target=[{"name": "t", "node": "planter"}])
    matrix = twin_matrix(made, made.study.target[0], "mirror")
    assert matrix is not None
    centre, forward = np.array([0, 0.5, 0]), np.array([0, -sin(radians(30)), -cos(radians(30))])
    for point in ((0.5, 0, 0.5), (0, 1, -0.5)):
        there = matrix[:3, :3] @ point + matrix[:3, 3]
        assert there == pytest.approx(point - 2 * ((point - centre) @ forward) * forward)
    assert np.linalg.det(matrix[:3, :3]) == pytest.approx(-1.0)


def test_mirror_of_a_hanging_ramp_keeps_its_outline_and_turns_its_light() -> None:
    vertices, faces = solid("ramp", (1.5, 1, 1.5), (0, 0, 0), 30.0)
    ramp = Node("planter", vertices.astype(np.float32), faces, kind="ramp")
    made = _case(camera("orthographic", pitch=30, height=8), ramp, target=[{"name": "t", "node": "planter"}])
    here, there = _silhouettes(made, "mirror", None)
    assert here.sum() > 500
    assert (here != there).mean() < 1e-4
    found = _twin(made, "mirror")
    assert (found["level"], found["told_by"], found["shift_m"]) == ("unanchored", None, None)
    assert found["silhouette_changed_share"] == pytest.approx(0.0, abs=0.002)
    assert found["changed_arcmin2"] > 1000  # type: ignore[operator]


def test_mirror_of_a_plate_that_faces_the_camera_is_the_plate() -> None:
    plate = Node("planter", *_plate(1.0), closed=False)
    made = _case(camera(pitch=0, distance=9), plate, target=[{"name": "t", "node": "planter"}])
    assert _twin(made, "mirror")["level"] == "same"


# ---- what else can tell -----------------------------------------------------------------------------


def test_drop_marker_tells_a_hanging_planter_in_an_orthographic_view() -> None:
    # The floor is 4 m under its foot; 1 m farther along the sightline .5 m less: the line shortens by
    # .5 cos 30 x 90 px = 39 px = 31', six thresholds of 5'.
    deep = block("floor", (0, -5, 0), (60, 1, 60))
    hanging = {"target": [{"name": "t", "node": "planter"}], "twin_shift_m": 1.0}
    bare = _twin(_case(ORTHOGRAPHIC, deep, PLANTER, **hanging))
    assert bare["level"] == "same"
    told = _twin(_case(ORTHOGRAPHIC, deep, PLANTER, aids=["drop-marker"], **hanging))
    assert (told["level"], told["told_by"]) == ("told", "drop_line")
    small = _twin(
        _case(ORTHOGRAPHIC, deep, PLANTER, aids=["drop-marker"], **{**hanging, "twin_shift_m": 0.3})
    )
    assert (small["level"], small["told_by"]) == ("weakly told", "drop_line")  # 9.4'
    less = _twin(_case(ORTHOGRAPHIC, deep, PLANTER, aids=["drop-marker"], **{**hanging, "twin_shift_m": 0.1}))
    assert less["ambiguous"] is True  # 3.1'


def test_cast_shadow_tells_where_the_game_ships_it() -> None:
    deep = block("floor", (0, -2.5, 0), (60, 1, 60))
    study = {"target": [{"name": "t", "node": "planter"}], "twin_shift_m": 2.0}
    made = _case(ORTHOGRAPHIC, deep, PLANTER, aids=["cast-shadow"], **study)
    light = (0.3, 1.0, 0.5)
    lit = replace(made, setup=replace(made.setup, towards_light=light))
    found = _twin(lit)
    assert (found["level"], found["told_by"]) == ("told", "cast_shadow")
    assert found["silhouette_changed_share"] == 0.0
    assert found["changed_arcmin2"] > 256  # type: ignore[operator]
    assert _twin(_case(ORTHOGRAPHIC, deep, PLANTER, **study))["level"] == "same"


def test_who_covers_whom_tells_in_an_orthographic_view() -> None:
    # A pole 1 m farther than the planter, across its middle; 2 m of slide take the planter behind it.
    # The nearer twin stays before it, and is the less told one.
    pole = block("pole", (0, -6, -1.2), (0.2, 12, 0.2))
    target = [{"name": "t", "node": "planter", "like": ["pole"]}]
    plain = _case(ORTHOGRAPHIC, pole, PLANTER, target=target, twin_shift_m=3.0)
    found = _twin(plain)
    assert (found["level"], found["shift_m"]) == ("same", -3.0)
    # With the nearer place taken only the farther twin is left: the pole now runs across it.
    beam = block("beam", (0, 1.5, 2.6), (4, 0.3, 1))
    only = _twin(_case(ORTHOGRAPHIC, pole, PLANTER, beam, target=target, twin_shift_m=3.0))
    assert only["shift_m"] == 3.0
    assert (only["level"], only["told_by"]) == ("told", "occlusion")
    assert only["silhouette_changed_share"] == pytest.approx(_covered_by_the_pole(), abs=0.03)


def _covered_by_the_pole() -> float:
    """Share of a 1 m cube's outline, seen 30 degrees from above, that a pole .2 m wide across it covers."""
    tall = cos(radians(30)) + sin(radians(30))
    return 0.2 * tall / tall


# ---- what has none, and the numbers' units ------------------------------------------------------------


def test_points_boxes_that_are_not_drawn_and_things_out_of_view_have_nulls() -> None:
    targets = [
        {"name": "t", "at": (0, 0, 0)},
        {"name": "box", "at": (0, 0, 0), "size": (1, 1, 1)},
        {"name": "aside", "node": "aside"},
        {"name": "behind", "node": "behind"},
    ]
    nodes = block("aside", (40, 0, 0), (1, 1, 1)), block("behind", (0, 0, 30), (1, 1, 1))
    made = _case(AT_15_M, *nodes, target=targets)
    assert KIND.shots(made) == {}
    values = _reading(made).values
    assert len(values) == 4 * 2 * len(KEYS)
    assert set(values.values()) == {None}


def test_outline_of_the_twin_is_given_for_marks() -> None:
    made = _case(AT_15_M, PLINTH, PLANTER, twin_shift_m=3.0)
    extras = _reading(made).extras
    assert set(extras) == {("twin", "t", "slide"), ("twin", "t", "mirror")}
    outline = extras["twin", "t", "slide"]
    corners = PLANTER.vertices + 3.0 * np.array([0, -0.5, -cos(radians(30))])
    at = project_points(made.setup.camera, corners)
    assert outline.min(axis=0) == pytest.approx(at.min(axis=0), abs=0.01)
    assert outline.max(axis=0) == pytest.approx(at.max(axis=0), abs=0.01)
    assert outline[0] == pytest.approx(outline[-1])


def test_area_at_the_seat_is_that_of_its_pixels_and_shrinks_aside() -> None:
    made = case(AT_15_M, PLANTER, at=[COUCH])
    full = np.ones((100, 100), dtype=bool)
    middle = area_arcmin2(made, COUCH, full, (910.0, 490.0, 1010.0, 590.0))
    assert middle == pytest.approx(0.80735**2 * 1e4, rel=0.001)
    aside = area_arcmin2(made, COUCH, full, (1820.0, 490.0, 1920.0, 590.0))
    angle = np.arctan(910 * COUCH.pixel_m / COUCH.eye_distance_m)
    assert aside == pytest.approx(middle * np.cos(angle) ** 3, rel=0.001)


def test_one_arc_minute_is_where_a_change_begins_to_count() -> None:
    # A plate of 1 m at 8 m is 233.3 px = 188.4' high; its top falls by h s / (z + s). .02 m of shift:
    # .58 px = .47', under 1'; .1 m: 2.88 px = 2.3'.
    plate = Node("planter", *_plate(1.0), closed=False)
    for shift, level in ((0.02, "same"), (0.1, "unanchored")):
        made = _case(
            camera(pitch=0, distance=8), plate, target=[{"name": "t", "node": "planter"}], twin_shift_m=shift
        )
        assert _twin(made)["level"] == level
    assert 188.4 * 0.02 / 8.02 < 1.0 < 188.4 * 0.1 / 8.1
