"""Own colours, cut-outs and glass, the same in every renderer. Expected numbers by hand, stated beside."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from stationpoint.base import look
from stationpoint.base.colour import linear_light, srgb_encoded
from stationpoint.camera.shot import COLOUR, DEPTH, IDS, WHOLE, Frame, Shot
from stationpoint.render import open_renderer
from stationpoint.scene import Scene, in_own_colours, read_scene

from ..scene.painted import UV, Painted
from .made import camera

LIGHT = (0.0, 0.0, 1.0)  # straight onto a plate that faces +Z: n . l = 1
SIDE = 200


def scene_of(built: Painted, folder: Path) -> Scene:
    return in_own_colours(read_scene(built.glb(folder / "own.glb")), True)


def drawn(engine: str, scene: Scene, height: float = 2.0, own: bool = True, **more: object) -> Frame:
    """A square picture of x, y within +-height / 2, straight on, 200 pixels a side."""
    view = camera("orthographic", anchor=(0, 0, 0), pitch=0, pixels=(SIDE, SIDE), height=height)
    planes = frozenset({COLOUR, IDS, DEPTH, WHOLE})
    shot = Shot(view, planes, towards_light=LIGHT, own=own, shadow=False, **more)  # type: ignore[arg-type]
    with open_renderer(engine, scene) as renderer:
        return renderer.draw(shot)


def lit(linear: object) -> np.ndarray:
    """8-bit sRGB of a linear colour under light that meets it squarely.

    The light is unlit + gain x / (x + knee); its knee follows from the three levels of look.py: with
    x_top = .7458, x_facing = .3426 (worked in shading.py) and the share (.78 - .44) / (.98 - .44) = .6296,
    knee = .7458 * .3426 * .3704 / (.6296 * .7458 - .3426) = .745; at x = 1: .44 + .54 * (.7458 + .745)
    / .7458 / 1.745 = 1.0586.
    """
    return srgb_encoded(np.minimum(np.asarray(linear) * 1.0586, 1.0)) * 255.0


def test_a_plates_factor_is_drawn_times_the_light(engine: str, tmp_path: Path) -> None:
    built = Painted()
    built.plate("plate", built.material((0.5, 0.1, 0.02, 1)), (-1, -1), (1, 1))
    frame = drawn(engine, scene_of(built, tmp_path))
    assert frame.colour is not None
    assert np.abs(frame.colour[100, 100] - lit((0.5, 0.1, 0.02))).max() <= 2


def test_in_clay_the_same_plate_is_clay(engine: str, tmp_path: Path) -> None:
    built = Painted()
    built.plate("plate", built.material((0.5, 0.1, 0.02, 1)), (-1, -1), (1, 1))
    frame = drawn(engine, scene_of(built, tmp_path), own=False, grid=False)
    assert frame.colour is not None
    assert np.abs(frame.colour[100, 100] - lit(linear_light(look.CLAY))).max() <= 2


def test_a_texture_of_four_texels_lies_the_right_way_up(engine: str, tmp_path: Path) -> None:
    built = Painted()
    texels = np.array([[(200, 40, 40), (40, 200, 40)], [(40, 40, 200), (120, 120, 120)]])
    built.plate(
        "plate", built.material((1, 1, 1, 1), built.texture(texels, magFilter=9728)), (-1, -1), (1, 1)
    )
    frame = drawn(engine, scene_of(built, tmp_path))
    assert frame.colour is not None
    for row, column in np.ndindex(2, 2):
        there = frame.colour[50 + 100 * row, 50 + 100 * column]
        assert np.abs(there - lit(linear_light(texels[row, column]))).max() <= 2, (row, column)


def test_a_far_texture_is_its_mean_in_linear_light(engine: str, tmp_path: Path) -> None:
    """A chequer of black and white, 8 texels a pixel: half the light."""
    built = Painted()
    chequer = np.indices((64, 64)).sum(axis=0)[..., None] % 2 * np.full(3, 255)
    uv = np.array(UV) * 25.0
    built.plate("plate", built.material((0.5, 0.5, 0.5, 1), built.texture(chequer)), (-1, -1), (1, 1), uv=uv)
    frame = drawn(engine, scene_of(built, tmp_path))
    assert frame.colour is not None
    assert np.abs(frame.colour[100, 100] - lit((0.25, 0.25, 0.25))).max() <= 2


def test_vertex_colours_are_mixed_in_linear_light(engine: str, tmp_path: Path) -> None:
    """Black at the left, white at the right, factor .8: in the middle .4."""
    built = Painted()
    colours = [(0, 0, 0), (1, 1, 1), (1, 1, 1), (0, 0, 0)]
    built.plate("plate", built.material((0.8, 0.8, 0.8, 1)), (-1, -1), (1, 1), colours=colours)
    frame = drawn(engine, scene_of(built, tmp_path))
    assert frame.colour is not None
    assert np.abs(frame.colour[60, 99:101].mean(axis=0) - lit((0.4, 0.4, 0.4))).max() <= 2


def fence(built: Painted, repeats: float, holes: int = 40) -> None:
    """A fence before a plate, `holes` in 100 texels of it open, so often across."""
    bars = np.full((4, 100, 4), 255)
    bars[:, :holes, 3] = 0
    texture = built.texture(bars)
    uv = np.array(UV) * (repeats, 1)
    built.plate("plate", built.material(), (-1, -1), (1, 1))
    built.plate("fence", built.material(texture=texture, alphaMode="MASK"), (-1, -1), (1, 1), 1.0, uv)


@pytest.mark.parametrize("repeats", [3.0, 10.0, 50.0, 200.0, 411.3])
@pytest.mark.parametrize("own", [False, True])
def test_a_fence_hides_what_it_covers_however_far_it_is(
    engine: str, tmp_path: Path, repeats: float, own: bool
) -> None:
    """40 of 100 texels are holes: the plate behind shows .400, at 67 pixels a hole and at half a pixel."""
    built = Painted()
    fence(built, repeats)
    frame = drawn(engine, scene_of(built, tmp_path), own=own, whole=(("fence",), ("plate",)))
    assert frame.ids is not None
    assert frame.whole is not None
    assert frame.depth_m is not None
    assert (frame.ids == 1).mean() == pytest.approx(0.4, abs=0.01)
    assert (frame.ids == 2).mean() == pytest.approx(0.6, abs=0.01)
    assert np.array_equal(frame.whole & 1 == 1, frame.ids == 2)
    assert (frame.whole & 2 == 2).all()
    assert np.allclose(frame.depth_m[frame.ids == 1], 10.0, atol=1e-3)


def test_glass_under_half_lets_sight_through_and_above_hides(engine: str, tmp_path: Path) -> None:
    for opacity, hides in ((0.3, False), (0.7, True)):
        built = Painted()
        built.plate("plate", built.material(), (-1, -1), (1, 1))
        built.plate("pane", built.material((1, 1, 1, opacity), alphaMode="BLEND"), (-1, -1), (0, 1), 1.0)
        frame = drawn(engine, scene_of(built, tmp_path))
        assert frame.ids is not None
        assert (frame.ids == 1).mean() == pytest.approx(0.5 if hides else 1.0, abs=0.005)


def test_glass_is_a_veil_in_its_own_colour(engine: str, tmp_path: Path) -> None:
    """Codes are mixed by opacity, .3 of red glass (.78 of full light) over a plate under 1.0586."""
    built = Painted()
    built.plate("plate", built.material((0.2, 0.2, 0.2, 1)), (-1, -1), (1, 1))
    built.plate("pane", built.material((0.8, 0, 0, 0.3), alphaMode="BLEND"), (-1, -1), (0, 1), 1.0)
    scene = scene_of(built, tmp_path)
    frame, clay = drawn(engine, scene), drawn(engine, scene, own=False)
    assert frame.colour is not None
    assert clay.colour is not None
    pane = srgb_encoded(np.array((0.8, 0.0, 0.0)) * 0.78) * 255
    assert np.abs(frame.colour[100, 50] - (0.7 * lit((0.2, 0.2, 0.2)) + 0.3 * pane)).max() <= 2
    assert (clay.colour[100, 50].astype(int) > clay.colour[100, 150]).all()


def test_glass_behind_a_wall_is_not_seen(engine: str, tmp_path: Path) -> None:
    built = Painted()
    built.plate("plate", built.material((0.2, 0.2, 0.2, 1)), (-1, -1), (1, 1))
    built.plate("pane", built.material((0.8, 0, 0, 0.3), alphaMode="BLEND"), (-1, -1), (0, 1), -1.0)
    frame = drawn(engine, scene_of(built, tmp_path))
    assert frame.colour is not None
    assert np.abs(frame.colour[100, 50].astype(int) - frame.colour[100, 150]).max() == 0


def test_a_fence_casts_the_shadow_of_its_bars(engine: str, tmp_path: Path) -> None:
    """Two bars: light through the holes, shadow behind the bars, seen past the fence's edge."""
    built = Painted()
    bars = np.full((4, 4, 4), 255)
    bars[:, :2, 3] = 0
    material = built.material(texture=built.texture(bars, magFilter=9728), alphaMode="MASK")
    built.plate("plate", built.material(), (-4, -4), (4, 4))
    built.plate("fence", material, (-3, -1), (-1, 1), 1.0)
    view = camera("orthographic", anchor=(0, 0, 0), pitch=0, pixels=(SIDE, SIDE), height=8.0)
    slanted = np.array((-2.0, 0.0, 1.0)) / 5**0.5  # a shadow lies 2 m to the right of what casts it
    shot = Shot(view, frozenset({COLOUR}), towards_light=tuple(slanted), own=True)
    with open_renderer(engine, scene_of(built, tmp_path)) as renderer:
        colour = renderer.draw(shot).colour
    assert colour is not None
    through, behind = colour[100, 100 - 12], colour[100, 100 + 12]  # x = -.5 and .5
    assert through[0] > behind[0] + 20
