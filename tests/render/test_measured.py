"""The measured plane: own colours in linear light, the same in every renderer. Numbers by hand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from stationpoint.base import look
from stationpoint.base.colour import linear_light
from stationpoint.camera.shot import COLOUR, IDS, MEASURED, Frame, Shot
from stationpoint.render import open_renderer
from stationpoint.scene import Scene, read_scene

from ..scene.painted import Painted
from .made import box, camera, ground, square

UNLIT = {"extensions": {"KHR_materials_unlit": {}}}
SQUARELY, SLANTED = (0.0, 0.0, 1.0), (0.0, 3.0**0.5, 1.0)  # onto a plate that faces +Z: cosines 1 and .5
RED, GREY = (0.5, 0.1, 0.02), (0.2, 0.2, 0.2)


def drawn(engine: str, scene: Scene, light: tuple = SQUARELY, **more: object) -> Frame:
    """A square picture of x, y within +-1, straight on, 200 pixels a side."""
    view = camera("orthographic", anchor=(0, 0, 0), pitch=0, pixels=(200, 200), height=2.0)
    planes = more.pop("planes", frozenset({MEASURED, IDS}))
    shot = Shot(view, planes, towards_light=light, **{"shadow": False, **more})  # type: ignore[arg-type]
    with open_renderer(engine, scene) as renderer:
        return renderer.draw(shot)


def two_plates(folder: Path, **red: object) -> Scene:
    """Red on the left half, grey on the right one."""
    built = Painted()
    built.plate("red", built.material((*RED, 1), **red), (-1, -1), (0, 1))
    built.plate("grey", built.material((*GREY, 1)), (0, -1), (1, 1))
    return read_scene(built.glb(folder / "plates.glb"))


def test_a_plate_that_the_light_meets_squarely_is_as_bright_as_its_colour(
    engine: str, tmp_path: Path
) -> None:
    frame = drawn(engine, two_plates(tmp_path))
    assert frame.measured is not None
    assert frame.measured.dtype == np.float32
    np.testing.assert_allclose(frame.measured[:, :100], np.broadcast_to(RED, (200, 100, 3)), rtol=1e-3)
    np.testing.assert_allclose(frame.measured[:, 100:], np.broadcast_to(GREY, (200, 100, 3)), rtol=1e-3)


def test_light_that_meets_a_plate_at_60_degrees_leaves_a_known_share(engine: str, tmp_path: Path) -> None:
    frame = drawn(engine, two_plates(tmp_path), SLANTED)
    assert frame.measured is not None
    np.testing.assert_allclose(frame.measured[100, 50], np.array(RED) * (0.45 + 0.55 * 0.5), rtol=2e-3)


def test_what_is_unlit_is_as_bright_as_it_is_whatever_the_light(engine: str, tmp_path: Path) -> None:
    frame = drawn(engine, two_plates(tmp_path, **UNLIT), SLANTED)
    assert frame.measured is not None
    np.testing.assert_allclose(frame.measured[100, 50], RED, rtol=1e-3)
    np.testing.assert_allclose(frame.measured[100, 150], np.array(GREY) * 0.725, rtol=2e-3)


def test_no_pixel_is_a_mixture_of_two_things(engine: str, tmp_path: Path) -> None:
    frame = drawn(engine, two_plates(tmp_path))
    assert frame.measured is not None
    assert frame.ids is not None
    colours = np.array([RED, GREY])[frame.ids - 1]
    assert np.abs(frame.measured - colours).max() < 1e-3


def test_what_has_no_colours_is_clay_and_nothing_is_the_sky_whatever_the_tint(engine: str) -> None:
    scene = Scene((square("tinted", (-1, 0), (-1, 1), 0.0, tint=(250, 10, 10), gridded=True),))
    frame = drawn(engine, scene)
    assert frame.measured is not None
    np.testing.assert_allclose(frame.measured[100, 50], linear_light(look.CLAY), rtol=1e-3)
    np.testing.assert_allclose(frame.measured[100, 150], linear_light(look.SKY), rtol=1e-3)


@pytest.mark.parametrize("shadow", [True, False])
def test_a_shadow_leaves_the_ambient_light_where_it_is_cast_at_all(engine: str, shadow: bool) -> None:
    """A block over the middle of a floor, sun overhead: under it .45 of the floor's colour."""
    view = camera("orthographic", anchor=(0, 0, 0), pitch=20, pixels=(200, 200), height=4.0)
    scene = Scene((ground(40.0), box("block", (-0.5, 1.5, -0.5), (0.5, 2.0, 0.5))))
    shot = Shot(view, frozenset({MEASURED}), towards_light=(0.0, 1.0, 0.0), shadow=shadow)
    with open_renderer(engine, scene) as renderer:
        frame = renderer.draw(shot)
    assert frame.measured is not None
    floor = linear_light(look.GROUND)
    np.testing.assert_allclose(frame.measured[100, 100], floor * (0.45 if shadow else 1.0), rtol=2e-3)
    np.testing.assert_allclose(frame.measured[190, 20], floor, rtol=2e-3)


def test_a_shadow_is_as_long_as_its_block_is_high_however_large_the_level(engine: str) -> None:
    """Light at 45 degrees: 1 m of shadow from a block of 1 m, seen from above on a level of 200 m; a floor
    lit by .45 + .55 / sqrt 2. A pixel is 10 mm."""
    view = camera("orthographic", anchor=(0, 0, 0), pitch=90, pixels=(400, 400), height=4.0)
    floor = box("floor", (-100, -1, -100), (100, 0, 100), kind="mesh")
    block = box("block", (-0.5, 0.0, -0.5), (0.5, 1.0, 0.5), kind="mesh")
    shot = Shot(view, frozenset({MEASURED, IDS}), towards_light=(-1.0, 1.0, 0.0), shadow=True)
    with open_renderer(engine, Scene((floor, block))) as renderer:
        frame = renderer.draw(shot)
    assert frame.measured is not None
    assert frame.ids is not None
    lit = 0.45 + 0.55 * 0.5**0.5
    light = frame.measured[170:230, :, 0] / linear_light(look.CLAY)[0]
    dark = np.where(frame.ids[170:230] == 1, (lit - light) / (lit - 0.45), 0.0)
    assert dark[:, :150].max() < 0.02
    assert dark.sum(axis=1).mean() * 0.01 == pytest.approx(1.0, abs=0.02)
    np.testing.assert_allclose(dark[:, 252:335], 1.0, atol=0.02)  # from the block's foot on


def test_glass_is_laid_over_what_is_behind_it_in_linear_light(engine: str, tmp_path: Path) -> None:
    built = Painted()
    built.plate("behind", built.material((*RED, 1)), (-1, -1), (1, 1))
    glass = built.material((0.8, 0.8, 0.8, 0.25), alphaMode="BLEND", **UNLIT)
    built.plate("glass", glass, (-1, -1), (0, 1), z=0.5)
    frame = drawn(engine, read_scene(built.glb(tmp_path / "glass.glb")))
    assert frame.measured is not None
    assert frame.ids is not None
    assert (frame.ids == 1).all()
    np.testing.assert_allclose(frame.measured[100, 50], 0.75 * np.array(RED) + 0.25 * 0.8, rtol=2e-3)
    np.testing.assert_allclose(frame.measured[100, 150], RED, rtol=1e-3)


def test_the_measured_plane_leaves_the_picture_as_it_is(engine: str, tmp_path: Path) -> None:
    scene = two_plates(tmp_path)
    alone = drawn(engine, scene, planes=frozenset({COLOUR}), shadow=True)
    beside = drawn(engine, scene, planes=frozenset({COLOUR, MEASURED, IDS}), shadow=True)
    np.testing.assert_array_equal(alone.colour, beside.colour)  # type: ignore[arg-type]


def test_its_ids_are_its_own_whatever_was_drawn_before(engine: str, tmp_path: Path) -> None:
    # Two plates in one place, on the left: what shares a texture is drawn together in own colours.
    built = Painted()
    white = built.texture(np.full((2, 2, 3), 255, dtype=np.uint8))
    red, grey = built.material((*RED, 1), white), built.material((*GREY, 1))
    built.plate("right", red, (0, -1), (1, 1))
    built.plate("grey", grey, (-1, -1), (0, 1))
    built.plate("red", red, (-1, -1), (0, 1))
    scene = read_scene(built.glb(tmp_path / "plates.glb"))
    view = camera("orthographic", anchor=(0, 0, 0), pitch=0, pixels=(200, 200), height=2.0)
    more = {"towards_light": SQUARELY, "shadow": False}
    alone = Shot(view, frozenset({MEASURED, IDS}), **more)  # type: ignore[arg-type]
    before = Shot(view, frozenset({COLOUR, IDS}), own=True, about_m=(0.0, 0.0, 0.0), **more)  # type: ignore[arg-type]
    with open_renderer(engine, scene) as renderer:
        renderer.draw(before)
        frame = renderer.draw(alone)
    assert frame.ids is not None
    assert frame.measured is not None
    np.testing.assert_allclose(frame.measured, np.array([RED, GREY, RED])[frame.ids - 1], atol=1e-3)
