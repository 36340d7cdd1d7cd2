"""The look's formulas against look.md's levels, the sRGB standard and plain integration."""

from __future__ import annotations

import numpy as np
import pytest

from stationpoint.base import look
from stationpoint.base.colour import srgb_encoded
from stationpoint.render.shading import (
    CODED,
    SUNS,
    grid_share,
    light_axes,
    light_curve,
    sun_directions,
)


@pytest.mark.parametrize(("normal_light", "level"), [(0.7458, 0.98), (0.3426, 0.78), (0.0, 0.44)])
def test_light_curve_gives_the_three_levels_of_the_look(normal_light: float, level: float) -> None:
    # (-.50, 1, .74) / 1.3409: top .7458; a face towards a camera at yaw 25 (sin 25, 0, cos 25): .3426
    unlit, gain, knee = light_curve()
    assert unlit + gain * normal_light / (normal_light + knee) == pytest.approx(level, abs=1e-3)


def test_coded_roots_are_within_a_tenth_of_a_level_of_the_standard() -> None:
    root = np.linspace(0.05, 1.0, 2000)
    assert np.abs(np.polyval(CODED, root) - srgb_encoded(root**2)).max() * 255.0 < 0.1
    assert 0.0 < np.polyval(CODED, 0.03) < np.polyval(CODED, 0.05)  # darker than any surface, and still dark
    assert np.polyval(CODED, 0.0) < 0.0  # cut to 0


def test_light_axes_are_square_to_each_other() -> None:
    for towards in ((0, 1, 0), (-0.5, 1.0, 0.74), (1, 0, 0), (0.2, 0.1, -3)):
        axes = light_axes(towards)
        assert np.allclose(axes @ axes.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(axes) == pytest.approx(1.0)


def test_sun_directions_fill_a_cone_of_the_penumbra() -> None:
    towards = np.array([-0.5, 1.0, 0.74]) / np.linalg.norm([-0.5, 1.0, 0.74])
    suns = sun_directions(towards)
    assert suns.shape == (SUNS, 3)
    angles = np.degrees(np.arccos(suns @ towards / np.linalg.norm(suns, axis=1)))
    assert angles.max() <= look.PENUMBRA_DEG
    assert angles.max() > 0.9 * look.PENUMBRA_DEG
    mean = suns.mean(axis=0)
    assert np.degrees(np.arccos(mean @ towards / np.linalg.norm(mean))) < 0.4


def test_grid_share_is_the_mean_of_the_lines_over_the_pixel() -> None:
    rng = np.random.default_rng(5)
    at, wide = rng.uniform(-3, 3, (40, 2)), rng.uniform(0.005, 0.09, (40, 2))
    found = grid_share(at, wide)
    for (x, z), (wx, wz), share in zip(at, wide, found, strict=True):
        steps = (np.arange(400) + 0.5) / 400 - 0.5
        on_x = np.abs((x + wx * steps + 0.5) % 1.0 - 0.5) < look.GRID_LINE_M / 2
        on_z = np.abs((z + wz * steps + 0.5) % 1.0 - 0.5) < look.GRID_LINE_M / 2
        plain = np.mean(on_x[:, None] | on_z[None, :])
        assert share == pytest.approx(plain, abs=0.02)


def test_grid_is_gone_where_a_pixel_is_wider_than_its_limit() -> None:
    at = np.random.default_rng(6).uniform(-9, 9, (100, 2))
    assert (grid_share(at, np.full((100, 2), look.GRID_FADE_M)) == 0.0).all()
    assert grid_share(np.zeros((1, 2)), np.full((1, 2), 0.01))[0] == pytest.approx(1.0)
