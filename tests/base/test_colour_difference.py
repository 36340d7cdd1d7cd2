"""Colour difference against published pairs and against independent libraries."""

from __future__ import annotations

import colour
import cv2
import numpy as np
import pytest
from colour.blindness import matrix_cvd_Machado2009

from stationpoint.base.colour import linear_light, srgb_encoded
from stationpoint.base.colour_difference import DEFICIENCIES, difference_2000, lab, with_deficiency

# Sharma, Wu and Dalal 2005, table 1: pairs of Lab and their CIEDE2000.
PUBLISHED = [
    ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
    ((50, 3.1571, -77.2803), (50, 0, -82.7485), 2.8615),
    ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
    ((50, 0, 0), (50, -1, 2), 2.3669),
    ((50, 2.49, -0.001), (50, -2.49, 0.0009), 7.1792),
    ((50, 2.49, -0.001), (50, -2.49, 0.0011), 7.2195),
    ((50, -0.001, 2.49), (50, 0.0009, -2.49), 4.8045),
    ((50, -0.001, 2.49), (50, 0.0011, -2.49), 4.7461),
    ((50, 2.5, 0), (50, 0, -2.5), 4.3065),
    ((50, 2.5, 0), (73, 25, -18), 27.1492),
    ((50, 2.5, 0), (56, -27, -3), 31.9030),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]
SOME = np.random.default_rng(5).random((400, 3))


@pytest.mark.parametrize(("first", "second", "expected"), PUBLISHED)
def test_ciede2000_is_that_of_the_published_pairs(first: tuple, second: tuple, expected: float) -> None:
    assert difference_2000(first, second) == pytest.approx(expected, abs=5e-5)
    assert difference_2000(second, first) == pytest.approx(expected, abs=5e-5)


def test_ciede2000_is_colour_sciences_for_any_colours() -> None:
    one, other = lab(SOME[:200]), lab(SOME[200:])
    theirs = colour.delta_E(one, other, method="CIE 2000")
    np.testing.assert_allclose(difference_2000(one, other), theirs, atol=1e-6)


def test_ciede2000_is_scikit_images_for_any_colours() -> None:
    theirs = pytest.importorskip("skimage.color")
    one, other = lab(SOME[:200]), lab(SOME[200:])
    np.testing.assert_allclose(difference_2000(one, other), theirs.deltaE_ciede2000(one, other), atol=1e-6)


def test_lab_is_colour_sciences_and_opencvs() -> None:
    srgb = srgb_encoded(SOME)
    theirs = colour.XYZ_to_Lab(colour.sRGB_to_XYZ(srgb))
    # Its matrix has the standard's four digits, and so has its white.
    np.testing.assert_allclose(lab(SOME), theirs, atol=0.03)
    opencv = cv2.cvtColor(srgb[None].astype(np.float32), cv2.COLOR_RGB2Lab)[0]
    np.testing.assert_allclose(lab(SOME), opencv, atol=0.4)  # which works from tables


def test_neighbouring_greys_differ_by_what_the_libraries_say() -> None:
    # #808080 to #818181: .3778 by colour-science and by scikit-image.
    grey, next_grey = (lab(linear_light([level] * 3)) for level in (128, 129))
    assert difference_2000(grey, next_grey) == pytest.approx(0.3778, abs=1e-4)
    assert np.abs(grey[1:]).max() < 1e-9


@pytest.mark.parametrize(
    ("kind", "theirs"), [("protan", "Protanomaly"), ("deutan", "Deuteranomaly"), ("tritan", "Tritanomaly")]
)
def test_deficiencies_are_those_of_machado(kind: str, theirs: str) -> None:
    np.testing.assert_allclose(DEFICIENCIES[kind], matrix_cvd_Machado2009(theirs, 1.0), atol=1e-6)
    np.testing.assert_allclose(with_deficiency([0.3, 0.3, 0.3], kind), 0.3, atol=1e-6)


@pytest.mark.parametrize(
    ("given", "protan", "deutan", "tritan"),
    [  # #e69f00 and #009e73, decoded, through the matrix, cut off, encoded: worked with colour-science
        ((0xE6, 0x9F, 0), (185.05, 162.39, 0), (201.76, 179.71, 16.84), (251.25, 139.61, 135.30)),
        ((0, 0x9E, 0x73), (154.35, 145.63, 112.61), (138.26, 133.91, 117.89), (0, 158.34, 146.24)),
    ],
)
def test_a_deficiency_turns_colours_as_worked(
    given: tuple, protan: tuple, deutan: tuple, tritan: tuple
) -> None:
    for kind, expected in (("protan", protan), ("deutan", deutan), ("tritan", tritan)):
        seen = srgb_encoded(with_deficiency(linear_light(given), kind)) * 255.0
        np.testing.assert_allclose(seen, expected, atol=0.01)
