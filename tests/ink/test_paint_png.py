"""The painter: where ink lies and how much of it, by hand geometry."""

from __future__ import annotations

import hashlib
import tracemalloc
from itertools import pairwise, zip_longest
from math import pi

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from stationpoint.ink import paint_png as painter
from stationpoint.ink.figures import box
from stationpoint.ink.letters import extent_px, words_set
from stationpoint.ink.paint_png import AT_ONCE, paint, paint_rows
from stationpoint.ink.shapes import Area, Disc, Group, Halo, Line, Page, Picture
from stationpoint.ink.strokes import PIXELS_AT_ONCE
from stationpoint.ink.type import text_shape
from stationpoint.ink.typecase import FILES, FONT_FOLDER

BLACK, WHITE = (0, 0, 0), (255, 255, 255)


def drawn(*shapes, size=(100, 80)):
    """How much ink lies on each pixel (h, w), 0 to 1, of black shapes on white paper."""
    return 1.0 - np.asarray(paint(Page(size, WHITE, shapes)), dtype=float)[:, :, 0] / 255.0


def noise(height, width):
    return np.random.default_rng(7).integers(0, 256, (height, width, 3), dtype=np.uint8)


def test_page_has_its_size_and_paper():
    image = paint(Page((7, 3), (145, 143, 139), ()))
    assert image.size == (7, 3)
    assert image.mode == "RGB"
    assert image.getpixel((6, 2)) == (145, 143, 139)


def test_pictures_keep_every_pixel():
    pixels = noise(20, 30)
    page = np.asarray(paint(Page((100, 80), WHITE, (Picture((10.3, 5.4, 40.3, 25.4), pixels),))))
    assert np.array_equal(page[5:25, 10:40], pixels)
    assert np.all(page[:5] == 255)
    assert np.all(page[:, 40:] == 255)


def test_clip_of_a_group_cuts_pictures_lines_areas_discs_and_text():
    pixels = np.zeros((60, 60, 3), dtype=np.uint8)
    shapes = (
        Picture((-20, -20, 40, 40), pixels),
        Line(((-50, 10), (500, 10)), 4, BLACK),
        Area((box(-50, 20, 500, 30),), BLACK),
        Disc((5, 5), 30, BLACK),
        text_shape((-10, 15), "words that run on and on", 30.0, "bold"),
    )
    ink = drawn(Group("cell", (20, 30), shapes, (0, 0, 25, 20)))
    assert ink[30:50, 20:45].sum() > 100
    ink[30:50, 20:45] = 0.0
    assert ink.sum() == 0.0


def test_groups_move_what_is_in_them():
    one = drawn(Line(((20, 20), (60, 41)), 1.5, BLACK))
    inner = Group("inner", (4, 1), (Line(((10, 10), (50, 31)), 1.5, BLACK),))
    assert np.array_equal(one, drawn(Group("outer", (6, 9), (inner,))))


@pytest.mark.parametrize(("width_px", "end"), [(1.5, (70.0, 20.0)), (2.6, (70.0, 61.0)), (0.5, (20.0, 66.0))])
def test_ink_of_a_blunt_line_is_its_length_times_its_width(width_px, end):
    line = Line(((20.0, 20.0), end), width_px, BLACK, round_ends=False)
    length = np.hypot(end[0] - 20.0, end[1] - 20.0)
    assert drawn(line).sum() == pytest.approx(length * width_px, rel=0.02)


def test_round_ends_add_half_a_disc_each():
    line = ((20.0, 30.0), (70.0, 30.0))
    more = drawn(Line(line, 8.0, BLACK)).sum() - drawn(Line(line, 8.0, BLACK, round_ends=False)).sum()
    assert more == pytest.approx(pi * 4.0**2, rel=0.02)


def test_level_line_of_two_pixels_covers_two_rows_exactly():
    ink = drawn(Line(((10, 20), (90, 20)), 2.0, BLACK, round_ends=False))
    assert np.all(ink[19:21, 11:89] == 1.0)
    assert np.all(ink[[18, 21]] == 0.0)


def test_dashes_leave_gaps_of_their_length():
    ink = drawn(Line(((10, 20), (94, 20)), 2.0, BLACK, dash=(9, 5), round_ends=False))
    along = ink[19, 10:94]
    assert along.sum() == pytest.approx(84 * 9 / 14, abs=0.5)
    assert np.all(along[:9] == 1.0)
    assert np.all(along[9:14] == 0.0)


def test_dashes_go_on_round_corners():
    straight = drawn(Line(((10, 10), (60, 10)), 2.0, BLACK, dash=(7, 6), round_ends=False))
    bent = drawn(Line(((10, 10), (41, 10), (41, 29)), 2.0, BLACK, dash=(7, 6), round_ends=False))
    assert np.allclose(straight[9, 42:60], bent[11:29, 40], atol=0.51)
    assert np.allclose(straight[9, 10:38], bent[9, 10:38])


def test_dots_are_round_and_as_many_as_fit():
    ink = drawn(Line(((10, 20), (50, 20)), 3.0, BLACK, dash=(0, 8)))
    assert ink.sum() == pytest.approx(5 * pi * 1.5**2, rel=0.05)
    assert ink[20, 14] == 0.0


def test_line_of_one_point_is_a_dot():
    assert drawn(Line(((30, 30),), 8.0, BLACK)).sum() == pytest.approx(pi * 16, rel=0.02)


def test_closed_line_has_four_sides():
    ink = drawn(Line(box(10, 10, 60, 50), 2.0, BLACK, closed=True))
    assert ink[30, 10] == ink[30, 59] == ink[10, 30] == ink[49, 30] == 1.0
    assert ink[30, 30] == 0.0


def test_halo_lies_under_the_ink_and_beside_it():
    page = Page((60, 40), (0, 0, 200), (Line(((5, 20), (55, 20)), 2.0, BLACK, Halo(WHITE, 3.0, 0.5)),))
    pixels = np.asarray(paint(page))
    assert tuple(pixels[19, 30]) == (0, 0, 0)
    assert tuple(pixels[17, 30]) == pytest.approx((128, 128, 228), abs=1)
    assert tuple(pixels[14, 30]) == (0, 0, 200)


def test_halo_of_a_neighbour_of_one_style_never_lies_on_ink():
    ticks = [Line(((20 + 3 * k, 10), (20 + 3 * k, 30)), 1.0, BLACK, Halo(WHITE, 2.0, 1.0)) for k in range(6)]
    pixels = np.asarray(paint(Page((60, 40), (0, 0, 200), ticks)))[20, :, :].astype(int)
    depth = pixels.sum(axis=1)
    assert all(depth[19 + 3 * k : 21 + 3 * k].min() <= 3 * 128 for k in range(6))


def test_ink_of_a_stroke_of_very_many_pixels_lies_once_on_each():
    level = [
        Line(((10, 4 * k + 2), (410, 4 * k + 2)), 2.0, BLACK, round_ends=False, opacity=0.5)
        for k in range(200)
    ]
    plumb = [
        Line(((10 + 20 * k, 1), (10 + 20 * k, 799)), 2.0, BLACK, round_ends=False, opacity=0.5)
        for k in range(21)
    ]
    assert PIXELS_AT_ONCE < 200 * 400 * 2  # of the level lines alone
    ink = drawn(*level, *plumb, size=(420, 800))
    expected = np.zeros((800, 420))
    for k in range(200):
        expected[4 * k + 1 : 4 * k + 3, 10:410] = 128 / 255
    for k in range(21):
        expected[1:799, 9 + 20 * k : 11 + 20 * k] = 128 / 255
    assert np.allclose(ink, expected)


def test_memory_for_a_stroke_grows_with_its_pixels_alone():
    width, height, lines = 2000, 1500, 300
    page = Page(
        (width, height), WHITE, [Line(((0, 5 * k), (width, 5 * k)), 2.0, BLACK) for k in range(lines)]
    )
    paint_rows(page, range(10))
    tracemalloc.start()
    paint_rows(page)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # A page's pixel is 3 bytes and 1 to work in. A line reaches 4 rows of pixels at most, in pieces of 16 px
    # that each reach 2 px further at both ends: each of theirs is 8 bytes of place and 1 of coverage.
    reached = lines * width * 4 * 20 / 16
    assert peak < 4 * width * height + 9 * reached + 20e6


def test_opacity_of_a_line_is_not_doubled_where_it_crosses_itself():
    loop = Line(((10, 10), (50, 50), (50, 10), (10, 50)), 6.0, BLACK, opacity=0.5)
    assert drawn(loop).max() == pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize("shift", [0.0, 0.25, 0.6])
def test_area_of_a_rectangle_is_exact_wherever_it_lies(shift):
    ink = drawn(Area((box(10 + shift, 12 + shift, 40.5 + shift, 30.25 + shift),), BLACK))
    assert ink.sum() == pytest.approx(30.5 * 18.25, rel=0.002)


def test_area_of_a_triangle_and_of_a_ring_with_a_hole():
    triangle = drawn(Area((((10, 10), (70, 12), (30, 66)),), BLACK))
    assert triangle.sum() == pytest.approx(abs(60 * 56 - 2 * 20) / 2, rel=0.01)
    outer, inner = ((10, 10), (70, 10), (70, 60), (10, 60.5)), ((20, 20), (40, 20), (40, 40), (20, 40.5))
    hole = Area((outer, inner), BLACK)
    assert drawn(hole).sum() == pytest.approx(60 * 50.25 - 20 * 20.25, rel=0.01)
    assert drawn(hole)[30, 30] == 0.0


def test_translucent_area_and_edge():
    ink = drawn(Area((box(10, 10, 50, 50),), BLACK, opacity=0.34, edge_ink=BLACK, edge_width_px=2.0))
    assert ink[30, 30] == pytest.approx(0.34, abs=0.01)
    assert ink[30, 9] == ink[30, 10] == 1.0


@pytest.mark.parametrize("radius_px", [2.4, 4.4, 20.0])
def test_area_of_a_disc_and_its_ring(radius_px):
    assert drawn(Disc((40.3, 40.6), radius_px, BLACK)).sum() == pytest.approx(pi * radius_px**2, rel=0.02)
    ring = drawn(Disc((40.3, 40.6), radius_px, None, BLACK, 1.5)).sum()
    assert ring == pytest.approx(2 * pi * radius_px * 1.5, rel=0.02)


def test_far_away_points_cost_nothing_and_do_no_harm():
    ink = drawn(
        Line(((-1e12, 20), (1e12, 20)), 2.0, BLACK, dash=(9, 5)),
        Area((((-1e9, 40), (1e9, 40), (1e9, 1e9), (-1e9, 1e9)),), BLACK),
        Disc((1e12, 0), 5.0, BLACK),
        Line(((1e12, 1e12), (2e12, 1e12)), 2.0, BLACK),
    )
    assert 0.5 < ink[19].mean() < 0.8
    assert np.all(ink[40:] == 1.0)
    assert np.all(ink[:18] == 0.0)


def test_words_lie_within_their_measured_box_at_every_anchor_and_turn():
    for word, anchor, share in (("jolly", "left", 0.0), ("AVTo", "middle", 0.5), ("jET,", "right", 1.0)):
        words = text_shape((50, 40), word, 17.0, "bold", BLACK, anchor=anchor)
        start = 50 - share * words.width_px
        columns = np.flatnonzero(drawn(words).any(axis=0))
        assert len(columns)
        assert columns[0] >= np.floor(start + 0.5)
        assert columns[-1] < np.floor(start + 0.5) + words.width_px
        up = text_shape((50, 40), word, 17.0, "bold", BLACK, anchor=anchor, turn_deg=90)
        rows = np.flatnonzero(drawn(up).any(axis=1))
        end = 40 + (50 - start)
        assert rows[-1] < np.floor(end + 0.5)
        assert rows[0] >= np.floor(end + 0.5) - up.width_px


def test_words_set_upwards_are_the_level_ones_turned():
    level = drawn(text_shape((20, 60), "Abc", 20.0, "regular", BLACK))
    up = drawn(text_shape((60, 60), "Abc", 20.0, "regular", BLACK, turn_deg=90))
    rows, columns = np.nonzero(level)
    turned = np.rot90(level[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1])
    rows, columns = np.nonzero(up)
    assert np.array_equal(up[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1], turned)
    assert columns.max() < 60 + 6  # the baseline is the line x = 60, letters stand to its left


@pytest.mark.parametrize("weight", ["light", "regular", "semibold", "bold"])
@pytest.mark.parametrize("size_px", [14.0, 17.4, 46.0])
def test_words_hold_as_much_ink_in_the_same_places_as_pillow_sets(weight, size_px):
    # Pillow has another rasteriser (FreeType), unhinted at sixteen times the size; letter by letter,
    # since it does not place letters between pixels as they are here.
    large = ImageFont.truetype(str(FONT_FOLDER / FILES[weight]), 16 * size_px)
    for letter in "Hgjx4×°åq&":
        canvas = Image.new("L", (1600, 1600))
        ImageDraw.Draw(canvas).text((480, 1120), letter, 255, large, anchor="ls")
        expected = np.asarray(canvas.reduce(16)) / 255.0
        inset = -extent_px(letter, size_px, weight)[0]
        ours = drawn(text_shape((30 - inset, 70), letter, size_px, weight, BLACK), size=(100, 100))
        assert np.abs(ours - expected).max() < 0.1, letter
        assert ours.sum() == pytest.approx(expected.sum(), rel=0.03)


def test_words_without_ink_are_set():
    assert drawn(text_shape((20, 40), "   ", 17.0)).sum() == 0.0


def test_halo_of_words_surrounds_them():
    words = text_shape((20, 40), "O", 30.0, "bold", BLACK, halo=Halo(WHITE, 2.0, 1.0))
    pixels = np.asarray(paint(Page((80, 60), (0, 0, 200), (words,))))
    red = pixels[:, :, 0]
    inside = np.argwhere((pixels == 0).all(axis=2))
    assert len(inside)
    assert red[30, inside[:, 1].min() - 1] > 200
    assert np.all(pixels[5] == (0, 0, 200))


def test_cut_corner_of_a_picture_shows_the_paper():
    pixels = np.zeros((50, 60, 3), dtype=np.uint8)
    ink = drawn(Picture((10, 10, 70, 60), pixels, cut_px=20.0))
    assert ink.sum() == pytest.approx(60 * 50 - 20 * 20 / 2, rel=0.01)
    assert ink[10, 69] == 0.0
    assert ink[59, 69] == ink[10, 10] == 1.0


def test_masked_picture_lays_down_only_its_mask():
    pixels, mask = noise(20, 20), np.zeros((20, 20), dtype=np.uint8)
    mask[5:9, 5:9] = 255
    page = np.asarray(paint(Page((40, 40), WHITE, (Picture((10, 10, 30, 30), pixels, mask=mask),))))
    assert np.array_equal(page[15:19, 15:19], pixels[5:9, 5:9])
    assert np.all(page[10:15] == 255)


def test_later_shapes_lie_on_earlier_ones():
    grey = (100, 100, 100)
    shapes = (Area((box(0, 0, 40, 40),), BLACK), Area((box(10, 10, 30, 30),), grey))
    assert paint(Page((40, 40), WHITE, shapes)).getpixel((20, 20)) == grey


@pytest.mark.parametrize("more", [-1, 0, 1, 2])
def test_later_shapes_lie_on_earlier_ones_however_many_they_are(more):
    inks = [(k % 256, k // 256, 77) for k in range(AT_ONCE + more)]
    lines = [Line(((0, 10), (20, 10)), 4.0, ink) for ink in inks[::2]]
    areas = [Area((box(0, 0, 20, 20),), ink) for ink in inks[1::2]]
    shapes = [each for pair in zip_longest(lines, areas) for each in pair if each is not None]
    assert paint(Page((20, 20), WHITE, shapes)).getpixel((10, 10)) == inks[-1]


def test_dots_and_lines_without_length_outside_of_the_page_are_not_drawn():
    outside = [Line(((500, 30),), 8.0, BLACK), Line(((30, -90), (30, -90)), 8.0, BLACK, dash=(3, 2))]
    with np.errstate(all="raise"):
        assert drawn(*outside).sum() == 0.0


def test_same_page_gives_the_same_pixels():
    shapes = (Line(((3, 3), (80, 70)), 1.5, BLACK, Halo(WHITE, 1, 0.85)), text_shape((5, 40), "same", 17.0))
    one, two = (hashlib.sha256(paint(Page((100, 80), WHITE, shapes)).tobytes()) for _ in range(2))
    assert one.digest() == two.digest()


@pytest.mark.parametrize("edges", [(0, 31, 80), (0, 1, 2, 40, 41, 79, 80), (0, 80)])
def test_rows_painted_apart_are_those_of_the_whole_page(edges):
    busy = (
        Area((box(-5, -5, 200, 200),), (200, 190, 180)),
        Picture((10.3, 5.4, 40.3, 65.4), noise(60, 30), cut_px=17.5),
        Picture((60, 20, 90, 60), noise(40, 30), mask=noise(40, 30)[:, :, 0]),
        Line(((3, 2), (97, 77), (50, 120)), 2.5, BLACK, Halo(WHITE, 2.0, 0.6), dash=(7, 4)),
        Line(((3, 75), (97, 9)), 1.5, BLACK, round_ends=False, dash=(9, 5), closed=True),
        Area((((5, 5), (95, 30), (40, 78)), box(30, 25, 45, 40)), (90, 20, 10), 0.5, BLACK, 1.3),
        Disc((50, 40), 20, None, BLACK, 3.0, Halo(WHITE, 2.0, 0.7)),
        text_shape((4, 44), "words on the way", 19.0, "bold", halo=Halo(WHITE, 2.0, 0.8)),
        text_shape((80, 70), "upwards", 14.0, turn_deg=90),
    )
    page = Page((100, 80), WHITE, (*busy, Group("cell", (11, 7), busy, (2, 3, 70, 60))))
    whole = paint_rows(page)
    parts = [paint_rows(page, range(first, last)) for first, last in pairwise(edges)]
    assert np.array_equal(np.vstack(parts), whole)


def test_every_single_row_is_that_of_the_whole_page():
    """Words with marks stacked far above and below them, wide strokes and their halos among them."""
    stacked = "Z" + "\u0301" * 9 + "g" + "\u0323" * 9
    shapes = [
        text_shape((30, 90), stacked, 22, "bold", halo=Halo(WHITE, 2.0, 0.8)),
        text_shape((90, 100), "\u0e17\u0e35\u0e48 \u0628\u0651", 30, "regular"),
        text_shape((150, 120), "upwards", 14, "bold", turn_deg=90),
        Line(((5, 40.5), (160, 60.25)), 7.0, BLACK, Halo(WHITE, 3.0, 0.8)),
        Line(((20, 150), (140, 150)), 0.4, BLACK, dash=(0, 6)),
        Group("moved", (3.5, 2.25), (Line(((0, 0), (30, 130), (60, 3)), 2.0, BLACK),), (0, 0, 60, 90.5)),
        Area((((100, 10), (150, 20), (120, 50)),), None, edge_ink=BLACK, edge_width_px=3.0),
    ]
    page = Page((170, 180), (200, 210, 220), tuple(shapes))
    whole = paint_rows(page)
    assert (whole[:40, 25:60] != (200, 210, 220)).any()  # the marks do reach up
    for row in range(180):
        assert np.array_equal(paint_rows(page, range(row, row + 1))[0], whole[row]), row


def test_words_that_lie_on_no_painted_row_are_not_set(monkeypatch):
    setting = []
    monkeypatch.setattr(painter, "words_set", lambda *a: setting.append(a[0]) or words_set(*a))
    page = Page((200, 300), WHITE, (text_shape((5, 40), "above", 20), text_shape((5, 240), "below", 20)))
    paint_rows(page, range(0, 150))
    assert setting == ["above"]
