"""The map of a margin over two fields: which limit leads where, and the picture."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from stationpoint.base.look import SHADE, WHITE
from stationpoint.sheet.chart.margin_map import MarginMap, draw_margin_map, leading

XS = np.linspace(0.0, 10.0, 21)
RIGHT = np.tile((5.0 - XS) / 5.0, (21, 1))  # fails right of 5
ABOVE = RIGHT.T  # fails above 5


def made(*limits: tuple[str, np.ndarray]) -> MarginMap:
    xs = tuple(XS.tolist())
    return MarginMap("Which?", ("pitch_deg", "distance_m"), xs, xs, limits, (("A1", 2.0, 2.0),), "study 0")


def test_limit_that_fails_by_most_leads() -> None:
    right, above = leading([RIGHT, ABOVE])
    assert right[2, 18] > 0 > above[2, 18]  # row 2: up 1; column 18: across 9
    assert above[18, 2] > 0 > right[18, 2]
    assert max(right[2, 2], above[2, 2]) <= 0  # all holds


def test_what_holds_is_light_and_what_fails_is_dark() -> None:
    drawn = draw_margin_map(made(("right", RIGHT), ("above", ABOVE)), ".png")
    pixels = np.asarray(Image.open(BytesIO(drawn)).convert("RGB"), dtype=float)
    height, width = pixels.shape[:2]

    def at(x: float, y: float) -> np.ndarray:
        """The commonest of a patch's colours, by the place of the axes in the figure."""
        across, up = 0.09 + 0.56 * x / 10, 0.15 + 0.64 * y / 10
        row, column = round((1 - up) * height), round(across * width)
        return np.median(pixels[row - 12 : row + 12, column - 12 : column + 12].reshape(-1, 3), axis=0)

    assert at(1.0, 0.6) == pytest.approx(np.array(WHITE), abs=3)
    for x, y in ((8.5, 1.5), (1.5, 8.5)):
        assert at(x, y) == pytest.approx(np.array(SHADE), abs=3)


@pytest.mark.parametrize("ending", [".png", ".svg"])
def test_same_map_gives_the_same_bytes(ending: str) -> None:
    one = made(("right", RIGHT), ("above", np.full((21, 21), np.nan)))
    assert draw_margin_map(one, ending) == draw_margin_map(one, ending)


def test_map_is_drawn_where_all_holds_and_where_nothing_does() -> None:
    for margins in (np.full((21, 21), 0.5), np.full((21, 21), -0.5), np.zeros((21, 21))):
        assert draw_margin_map(made(("all", margins)), ".png")[:4] == b"\x89PNG"


def test_map_says_what_its_greys_and_circles_are() -> None:
    drawn = draw_margin_map(made(("right", RIGHT), ("above", ABOVE)), ".svg").decode()
    for words in ("every must holds, barely", "by more", "by most", "a set-up that is proposed"):
        assert words in drawn
