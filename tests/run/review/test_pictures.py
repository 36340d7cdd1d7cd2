"""The pictures of a page: each kept once, glances as small as they are blurred."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from stationpoint.run.review.draw import suited_width
from stationpoint.run.review.pictures import Pictures, reduced


def test_a_picture_is_reduced_by_its_light() -> None:
    # half the light of white is 188 of 255 in sRGB (IEC 61966-2-1: 1.055 x 0.5^(1 / 2.4) - 0.055 = 0.7354)
    chequered = np.zeros((4, 6, 3), np.uint8)
    chequered[::2, ::2] = chequered[1::2, 1::2] = 255
    assert np.array_equal(reduced(chequered, 2), np.full((2, 3, 3), 188, np.uint8))


def test_what_does_not_divide_is_left_out_and_one_is_the_picture_itself() -> None:
    picture = np.full((5, 7, 3), 90, np.uint8)
    assert reduced(picture, 3).shape == (1, 2, 3)
    assert reduced(picture, 1) is picture
    assert reduced(picture, 9) is picture  # smaller than one pixel of it


def test_the_same_picture_is_kept_once_and_found_by_its_number() -> None:
    one, other = np.zeros((8, 8, 3), np.uint8), np.full((8, 8, 3), 255, np.uint8)
    with ThreadPoolExecutor(2) as threads:
        pictures = Pictures(threads, {})
        assert [pictures.add(one), pictures.add(other), pictures.add(one.copy())] == [0, 1, 0]
        assert pictures.address(other) == "#2"  # a sample stays as it is, so without loss
        assert len(pictures.files) == 3
        assert all(file[8:12] == b"WEBP" for file in pictures.files)


def test_many_pictures_are_drawn_narrower() -> None:
    widths = [suited_width(count) for count in (1, 72, 81, 200, 201, 600, 601)]
    assert widths == [960, 960, 640, 640, 480, 480, 400]
