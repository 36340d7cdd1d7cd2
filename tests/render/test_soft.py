"""The light of a picture for the eye, in every renderer. Expected numbers: look.py's levels, geometry, a
published formula, stated beside."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from stationpoint.base import look
from stationpoint.base.colour import lightness, linear_light, luminance
from stationpoint.camera.camera import Camera, project_points
from stationpoint.camera.shot import COLOUR, IDS, Frame, Shot
from stationpoint.render import open_renderer
from stationpoint.render.creases import creases_of
from stationpoint.render.finish import smooth_shadow
from stationpoint.render.soft import SIDE, SUNS, levels, soft_sun_offsets, sun_of_pixel
from stationpoint.scene import in_own_colours, read_scene
from stationpoint.scene.types import Scene

from ..scene.painted import Painted
from .made import KINDS, box, camera, ground, moved_by, oklab, square

LIGHT = np.array(look.LIGHT_TOWARDS) / np.linalg.norm(look.LIGHT_TOWARDS)
ABOUT = (0.0, 0.0, 0.0)


def soft(view: Camera, **more: object) -> Shot:
    asked = {"towards_light": tuple(LIGHT), "about_m": ABOUT, **more}
    return Shot(view, frozenset({COLOUR, IDS}), **asked)  # type: ignore[arg-type]


def drawn(engine: str, scene: Scene, shot: Shot) -> NDArray[np.uint8]:
    with open_renderer(engine, scene) as renderer:
        colour = renderer.draw(shot).colour
    assert colour is not None
    return colour


def test_three_levels_of_the_look_hold_in_soft_light() -> None:
    # (-.50, 1, .74) / 1.3409: top .7458; towards a camera at yaw 25 (sin 25, 0, cos 25) .3426; the unlit side
    # (cos 25, 0, -sin 25): (-.50 * .9063 - .74 * .4226) / 1.3409 = -.5712.
    lit, dark = levels(np.array([0.7458, 0.3426, -0.5712]), np.array([1.0, 0.0, 0.0]))
    assert lit == pytest.approx([0.98, 0.78, 0.44], abs=1e-3)
    assert (dark[:2] < [0.60, 0.50]).all()
    assert dark[2] == lit[2]  # nothing casts on what is turned away


def test_light_bends_round_a_ball_without_an_edge() -> None:
    # From facing the light to facing away: no step in brightness, and none in how fast it changes.
    x = np.cos(np.linspace(0.0, np.pi, 361))
    lit, _ = levels(x, np.zeros(361))
    assert (np.diff(lit) < 0.0).all()
    assert (
        np.abs(np.diff(lit, 2)).max() < 0.001
    )  # the plain light's: .025 where it ends, 1.08 / .745 a radian


def test_any_square_of_four_pixels_asks_every_sun_twice_and_any_line_all_of_their_columns() -> None:
    row, column = np.divmod(np.arange(144), 12)
    suns = sun_of_pixel(column, row).reshape(12, 12)
    for top, left in np.ndindex(9, 9):
        assert (np.bincount(suns[top : top + SIDE, left : left + SIDE].ravel(), minlength=SUNS) == 2).all()
        assert len(set(suns[top, left : left + SIDE] % SIDE)) == SIDE
        assert len(set(suns[top : top + SIDE, left] % SIDE)) == SIDE


def test_suns_lie_evenly_on_the_suns_disc() -> None:
    tangents = np.tan(np.radians(look.PENUMBRA_DEG)) * np.array([0.0, 1.0])
    radii = np.linalg.norm(soft_sun_offsets(), axis=1)
    assert radii.max() <= tangents[1] * 1.0001
    assert np.abs(soft_sun_offsets().mean(axis=0)).max() < 0.02 * tangents[1]
    # Of a disc the mean of the squares of the radii is half the radius's square.
    assert np.mean(radii**2) / tangents[1] ** 2 == pytest.approx(0.5, abs=0.06)


def test_shadows_are_averaged_over_their_own_surface_alone() -> None:
    left = np.full((8, 8), 255, dtype=np.uint8)
    which = np.ones((8, 8), dtype=np.uint8)
    left[:, 4:], which[:, 4:] = 101, 2
    for wider in (0, 1, 2):
        assert np.array_equal(smooth_shadow(left, which, wider), left)


def test_a_square_of_four_pixels_gives_the_mean_of_its_directions() -> None:
    # One pixel of any four by four asks a sun that is hidden: 255 x 15 / 16 is 239.06. The four halvings are
    # rounded.
    left = np.full((40, 40), 255, dtype=np.uint8)
    left[::4, ::4] = 0
    found = smooth_shadow(left, np.ones((40, 40), dtype=np.uint8))[4:-4, 4:-4]
    assert found.min() >= 239
    assert found.max() <= 241


def test_shadows_of_a_wide_picture_are_averaged_over_more_squares() -> None:
    # A dark half: over squares of 4 pixels, and those on either side for half of one, the edge is a ramp of
    # 12 pixels: four with 1/16 of all each, four with 1/8, four with 1/16.
    left = np.full((40, 40), 255, dtype=np.uint8)
    left[:, 20:] = 0
    found = smooth_shadow(left, np.ones((40, 40), dtype=np.uint8), wider=1)[20].astype(float)
    expected = 255.0 - 255.0 * np.cumsum([1 / 16] * 4 + [1 / 8] * 4 + [1 / 16] * 4)
    steps = np.flatnonzero(np.diff(found))
    assert np.array_equal(steps, np.arange(steps[0], steps[0] + 12))
    assert np.abs(found[steps + 1] - expected).max() <= 2


def test_a_shadows_edge_is_a_ramp_without_steps(engine: str) -> None:
    # A slab 4 m above the ground, light from straight above: half dark at x 0, 2 x 4 x tan 3 = 0.42 m wide,
    # 21 pixels of 2 cm. A straight ramp falls by 5 % a pixel; four copies of an edge by 25 %.
    slab = box("slab", (0, 4, -30), (30, 4.2, 30))
    view = camera("orthographic", pitch=5, distance=20, height=3.6, pixels=(320, 180), anchor=ABOUT)
    shot = soft(view, towards_light=(0.0, 1.0, 0.0), grid=False)
    scene = Scene((ground(200.0), slab))
    rows = slice(86, 94)
    share = np.mean(
        drawn(engine, scene, shot)[rows].astype(float)
        / drawn(engine, scene, replace(shot, shadow=False))[rows],
        axis=(0, 2),
    )
    share = (share - share.min()) / (1.0 - share.min())
    x_m = (np.arange(320) + 0.5 - 160) * 0.02
    assert np.interp(0.0, x_m, share) == pytest.approx(0.5, abs=0.12)
    assert share[x_m < -0.4].min() > 0.97
    assert share[x_m > 0.4].max() < 0.03
    assert np.abs(np.diff(share)).max() < 0.13


@pytest.mark.usefixtures("needs_gl")
def test_few_directions_of_a_large_mesh_give_nearly_the_same_picture(monkeypatch: pytest.MonkeyPatch) -> None:
    from stationpoint.render.gl import passes

    scene = Scene((ground(), box("a", (-1, 0, -1), (1, 2, 1)), box("b", (2, 3, -1), (3, 4, 1))))
    shot = soft(camera(pixels=(320, 180), pitch=35), grid=False)
    every = drawn("gl", scene, shot).astype(int)
    monkeypatch.setattr(passes, "MANY_TRIANGLES", 1)
    few = drawn("gl", scene, shot).astype(int)
    apart = np.abs(every - few).max(axis=2)
    assert 0 < apart.max() < 40
    assert apart.mean() < 0.5


def test_subject_keeps_its_shadow_however_far_the_scene_reaches(engine: str) -> None:
    # A ground of 20 km with a hill at its far corner. The shadow of a box 1.8 m high at the origin falls by
    # (0.5, 0, -0.74) m a metre of height: at (0.6, 0, -0.89) it lies in it, at (-1, 0, 0.8) nothing does.
    scene = Scene(
        (
            ground(20_000.0),
            box("subject", (-0.25, 0, -0.25), (0.25, 1.8, 0.25)),
            box("hill", (-9000, 0, -9000), (-8000, 300, -8000)),
        )
    )
    view = camera(pixels=(320, 180), pitch=35, distance=9, anchor=ABOUT, far=40_000.0)
    colour = drawn(engine, scene, soft(view, grid=False)).astype(int)
    column, row = project_points(view, [(0.6, 0.0, -0.89), (-1.0, 0.0, 0.8)]).astype(int).T
    shaded, lit = colour[row, column].sum(axis=1)
    assert shaded < 0.87 * lit


@pytest.mark.parametrize("kind", KINDS)
def test_a_plane_alone_has_no_creases(engine: str, kind: str) -> None:
    view = camera(kind, pixels=(640, 360), pitch=35, yaw=30, height=10, offset=(0.1, -0.05))
    with open_renderer(engine, Scene((ground(4000.0),))) as renderer:
        depth = renderer.draw(Shot(view, frozenset({"depth"}))).depth_m
    assert depth is not None
    assert np.isfinite(depth).all()
    assert creases_of(view, depth, ABOUT).left(0, 360).min() > 0.99


@pytest.mark.parametrize("pixels", [(1, 1), (3, 40), (40, 3), (640, 12), (17, 9)])
def test_a_small_picture_of_a_plane_has_no_creases_either(pixels: tuple[int, int]) -> None:
    # A plane that leans away: depths grow along rows and between them, their inverse by even steps.
    column, row = np.meshgrid(np.arange(pixels[0]), np.arange(pixels[1]))
    depth = (1.0 / (0.1 + 2e-5 * column + 1e-4 * row)).astype(np.float32)
    view = camera(pixels=pixels)
    assert creases_of(view, depth, ABOUT).left(0, pixels[1]).min() > 0.99


@pytest.mark.parametrize("kind", KINDS)
def test_ground_is_darker_where_something_stands_on_it_even_without_shadows(engine: str, kind: str) -> None:
    # 6 cm from the front of a box, and 1.4 m before it.
    scene = Scene((ground(), box("box", (-1, 0, -1), (1, 1.5, 1))))
    view = camera(kind, pixels=(640, 360), pitch=25, distance=9, height=6)
    colour = drawn(engine, scene, soft(view, shadow=False, grid=False)).astype(int).sum(axis=2)
    column, row = project_points(view, [(0.0, 0.0, 1.06), (0.0, 0.0, 2.4)]).astype(int).T
    near, far = colour[row, column]
    assert near < 0.93 * far


def test_what_hangs_far_before_a_wall_leaves_no_dark_rim_on_it(engine: str) -> None:
    scene = Scene(
        (square("wall", (-20, 20), (-20, 20), -6.0), box("box", (-0.5, -0.5, -0.5), (0.5, 0.5, 0.5)))
    )
    view = camera(anchor=ABOUT, pitch=0, distance=9, pixels=(640, 360))
    frame = soft(view, shadow=False, grid=False)
    with open_renderer(engine, scene) as renderer:
        with_box = renderer.draw(frame)
        alone = renderer.draw(replace(frame, show=("wall",)))
    assert with_box.colour is not None
    assert alone.colour is not None
    assert with_box.ids is not None
    on_wall = np.pad(with_box.ids == 1, 1, constant_values=True)
    inner = np.all(
        [on_wall[1 + y : 361 + y, 1 + x : 641 + x] for y in (-1, 0, 1) for x in (-1, 0, 1)], axis=0
    )
    assert (~inner).sum() > 1000
    assert np.abs(with_box.colour[inner].astype(int) - alone.colour[inner]).max() <= 4


def test_ground_ends_in_the_skys_own_tint(engine: str) -> None:
    # A ground of 400 m, seen from 3 m over it: its end lies 0.9 degrees under the horizon, some 6 pixels.
    view = camera(pixels=(640, 360), pitch=4, distance=8, anchor=(0, 2.4, 0), far=2000.0)
    colour = drawn(engine, Scene((ground(400.0),)), soft(view)).astype(int)
    assert (colour[0] < np.array(look.HORIZON) - 4).all()  # the sky is darker higher up
    assert (
        np.abs(np.diff(colour[:, 320].astype(int), axis=0)).max() <= 16
    )  # no line from top to bottom: of some 80
    assert np.ptp(colour[:, 320, 1]) > 60


def test_haze_begins_beyond_what_the_picture_is_about(engine: str) -> None:
    near = box("near", (-3, 0, -0.5), (-1, 2, 0.5), tint=look.ROLE_TINT["primary"])
    far = box("far", (60, 0, -180), (90, 30, -170), tint=look.ROLE_TINT["primary"])
    view = camera(pixels=(320, 180), pitch=8, distance=14)
    colour = drawn(engine, Scene((ground(400.0), near, far)), soft(view, shadow=False))
    column, row = project_points(view, [(-2.0, 1.0, 0.5), (75.0, 15.0, -170.0)]).astype(int).T
    here, there = oklab(linear_light(colour[row, column]))
    assert np.hypot(*here[1:]) > 0.13  # the tint's own chroma: .149
    assert np.hypot(*there[1:]) < 0.6 * np.hypot(*here[1:])


def test_looks_do_not_depend_on_the_shot_before(engine: str) -> None:
    scene = Scene((ground(), box("a", (-1, 0, -1), (1, 2, 1)), box("b", (2, 0, -1), (3, 1, 1))))
    first = soft(camera(pixels=(96, 54)))
    shots = [
        first,
        replace(first, about_m=None),
        replace(first, moves=(("b", moved_by(-4.0, 1.0, 0.0)),)),
        replace(first, casters=("a",)),
        replace(first, shadow=False),
        replace(first, about_m=(2.0, 0.0, -3.0)),
    ]
    alone = [drawn(engine, scene, shot) for shot in shots]
    with open_renderer(engine, scene) as renderer:
        after = [renderer.draw(shot).colour for shot in (*shots, *shots[::-1])]
        begun = renderer.begin(first)
        between = renderer.draw(shots[2]).colour
        first_again = begun().colour
    for k, (one, two) in enumerate(zip((*alone, *alone[::-1]), after, strict=True)):
        assert np.array_equal(one, two), k
    assert np.array_equal(alone[0], first_again)
    assert np.array_equal(alone[2], between)
    assert len({picture.tobytes() for picture in alone}) == len(shots)


def test_planes_are_those_asked_for_and_the_same_as_in_plain_light(engine: str) -> None:
    scene = Scene((ground(), box("a", (-1, 0, -1), (1, 2, 1))))
    shot = soft(camera(pixels=(97, 55)))
    with open_renderer(engine, scene) as renderer:
        frame, plain = renderer.draw(shot), renderer.draw(replace(shot, about_m=None))
    assert type(frame) is Frame
    assert frame.depth_m is None
    assert frame.colour is not None
    assert frame.colour.shape == (55, 97, 3)
    assert np.array_equal(frame.ids, plain.ids)


def test_glass_is_laid_over_a_soft_picture_and_darkens_nothing(engine: str, tmp_path: Path) -> None:
    # Codes are mixed by opacity: .7 of the plate, .3 of white, also where what is behind lies in shadow.
    built = Painted()
    built.plate("plate", built.material(), (-4, -4), (4, 4))
    built.plate("pane", built.material((1, 1, 1, 0.3), alphaMode="BLEND"), (-1, -1), (0, 1), 1.0)
    scene = in_own_colours(read_scene(built.glb(tmp_path / "glass.glb")), True)
    view = camera("orthographic", anchor=ABOUT, pitch=0, pixels=(200, 200), height=2.0)
    colour = drawn(engine, scene, soft(view, towards_light=(0.0, 0.0, 1.0))).astype(float)
    plate, pane = colour[100, 150], colour[100, 50]
    assert np.abs(pane - (0.7 * plate + 0.3 * np.array(look.WHITE))).max() <= 3


def test_own_colours_keep_their_hue_in_soft_light(engine: str, tmp_path: Path) -> None:
    built = Painted()
    built.plate("plate", built.material((0.5, 0.2, 0.1, 1)), (-4, -4), (4, 4))
    scene = in_own_colours(read_scene(built.glb(tmp_path / "own.glb")), True)
    view = camera("orthographic", anchor=ABOUT, pitch=0, pixels=(64, 64), height=2.0)
    light = linear_light(drawn(engine, scene, soft(view, own=True))[32, 32])
    assert light / light[0] == pytest.approx([1.0, 0.4, 0.2], rel=0.04)


def lightness_of(colour: NDArray[np.uint8]) -> NDArray[np.float64]:
    """CIE L* of a picture."""
    return lightness(luminance(colour))


def test_a_large_picture_has_no_seams_where_its_tiles_meet(engine: str) -> None:
    # Drawn in tiles of at most 1024 or 2048 pixels: across their seams it changes no more than beside them.
    scene = Scene((ground(), box("a", (-2.2, 0, -1), (2.2, 2, 1))))
    view = camera(pixels=(2056, 64), pitch=12, distance=9, anchor=(0, 1, 0))
    light = lightness_of(drawn(engine, scene, soft(view, grid=False)))
    steps = np.abs(np.diff(light, axis=1)).mean(axis=0)
    for seam in (1024, 2048):
        assert steps[seam - 1] <= max(np.delete(steps[seam - 6 : seam + 5], 5)) + 0.05, seam
