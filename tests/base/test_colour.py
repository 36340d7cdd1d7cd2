"""Luminance, contrast and lightness against published pairs and colour-science."""

from __future__ import annotations

import colour
import numpy as np
import pytest

from stationpoint.base.colour import contrast_ratio, lightness, linear_light, luminance, srgb_encoded

# WCAG 2 pairs: hex, hex, luminance of the first, ratio. Reference values, checked by colour-science.
PAIRS = (
    ("000000", "ffffff", 0.0, 21.0),
    ("777777", "ffffff", 0.184475, 4.47809),
    ("767676", "ffffff", 0.181164, 4.54222),
    ("949494", "ffffff", 0.296138, 3.03347),
    ("ff0000", "ffffff", 0.2126, 3.99848),
    ("00ff00", "ffffff", 0.7152, 1.37219),
    ("0000ff", "ffffff", 0.0722, 8.59247),
    ("0000ff", "000000", 0.0722, 2.444),
    ("e69f00", "56b4e9", 0.416193, 1.02451),
    ("d55e00", "0072b2", 0.221515, 1.34088),
)


def _rgb(text: str) -> list[int]:
    return [int(text[k : k + 2], 16) for k in (0, 2, 4)]


@pytest.mark.parametrize(("first", "second", "light", "ratio"), PAIRS)
def test_contrast_of_published_pairs(first: str, second: str, light: float, ratio: float) -> None:
    a, b = luminance(_rgb(first)), luminance(_rgb(second))
    assert a == pytest.approx(light, abs=1e-6)
    assert contrast_ratio(a, b) == pytest.approx(ratio, abs=2e-5)
    assert contrast_ratio(b, a) == contrast_ratio(a, b)


@pytest.mark.parametrize(("srgb", "light"), [(0, 0.0), (10, 0.003035), (128, 0.215861), (255, 1.0)])
def test_linear_light_is_that_of_the_standard(srgb: int, light: float) -> None:
    # IEC 61966-2-1: 10/255/12.92; ((128/255 + .055)/1.055)^2.4
    assert linear_light(srgb) == pytest.approx(light, abs=1e-6)
    assert srgb_encoded(np.array(light)) * 255 == pytest.approx(srgb, abs=1e-3)


def test_srgb_keeps_its_precision_and_is_cut_off_outside_its_range() -> None:
    light = np.array([-1.0, 0.0, 1.0, 2.0], dtype=np.float32)
    assert srgb_encoded(light).dtype == np.float32
    assert srgb_encoded(light).tolist() == pytest.approx([0.0, 0.0, 1.0, 1.0], abs=1e-6)


def test_every_level_comes_back_from_linear_light_as_colour_science_has_it() -> None:
    levels = np.arange(256)
    assert linear_light(levels) == pytest.approx(colour.models.eotf_sRGB(levels / 255.0), abs=1e-12)
    assert (np.rint(srgb_encoded(linear_light(levels)) * 255.0) == levels).all()


def test_every_grey_has_the_luminance_and_lightness_of_colour_science() -> None:
    greys = np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
    theirs = colour.sRGB_to_XYZ(greys / 255.0)[:, 1]
    assert luminance(greys) == pytest.approx(theirs, abs=1e-6)
    assert lightness(luminance(greys)) == pytest.approx(colour.lightness(100.0 * theirs), abs=1e-3)


def test_colours_keep_their_shape_and_agree_with_colour_science() -> None:
    picture = np.random.default_rng(7).integers(0, 256, (9, 16, 3)).astype(np.uint8)
    found = luminance(picture)
    assert found.shape == (9, 16)
    # Both lists of primaries are rounded: 1e-4 apart at most.
    assert found == pytest.approx(colour.sRGB_to_XYZ(picture / 255.0)[..., 1], abs=1e-4)


def test_lightness_runs_from_black_to_white_and_is_linear_near_black() -> None:
    assert lightness([0.0, 1.0]) == pytest.approx([0.0, 100.0])
    assert lightness(0.18) == pytest.approx(49.496, abs=1e-3)
    assert lightness(0.004) == pytest.approx(0.004 * 903.2963, abs=1e-4)  # 24389 / 27, kappa of CIE 15
