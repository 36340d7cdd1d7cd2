"""Modes: what pictures are turned into, and that all sheets of a study flip."""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import numpy as np
import pytest

from sheet.made import DESK, owners, plan, results, study
from stationpoint.base.colour import luminance
from stationpoint.ink.shapes import Group, Line, Page, Picture, Text
from stationpoint.readings import Result
from stationpoint.readings.colours.saliency import glance_blurred
from stationpoint.sheet.compose import compose_pages
from stationpoint.sheet.flag import Flag
from stationpoint.sheet.marks import draw_marks, edges
from stationpoint.sheet.marks.drawing import drawing
from stationpoint.sheet.marks.outline import double_line, grown, loops
from stationpoint.sheet.modes.depth import EDGES, band_ladder, band_numbers, bands_for
from stationpoint.sheet.modes.ladder import step_inks
from stationpoint.sheet.modes.modes import BY_NAME, MODES, Common, mode_words, picture_in_mode
from stationpoint.sheet.modes.values import step_bounds, three_values, value_steps
from stationpoint.sheet.roles import Owner
from stationpoint.sheet.scale import scale_for
from stationpoint.study import Study

SCALE = scale_for(544)
VERMILION = (0xD5, 0x5E, 0x00)


def plate(*rgb: int, size: tuple[int, int] = (4, 6)) -> np.ndarray:
    return np.full((*size, 3), rgb, dtype=np.uint8)


def every_result(those: Study, width: int = 544) -> list[Result]:
    """Results with all that any mode asks for."""
    made = []
    for one in results(those, width):
        assert one.picture is not None
        assert one.ids is not None
        hidden = np.where(one.ids == 1, 2, 0).astype(np.uint32)  # the wall hides the barge
        spots = ((0.3, 0.4), (0.6, 0.5))
        made.append(replace(one, hidden=hidden, own_picture=one.picture, glances=spots))
    return made


def sheet(those: Study, mode: str, width: int = 544, answer: str = "", own: bool = True) -> Page:
    made = every_result(those, width)
    who = owners(those)
    flags = {made[0].variant.label: Flag("fails", "barge three: seen 0 %, needs 60 %")}
    (page,) = compose_pages(
        made,
        those,
        record_hash="0123456789ab",
        cell_width=width,
        mode=mode,
        verdicts=flags if answer else None,
        plan=plan(those, made),
        owner_by_id=who,
        answer=answer,
        own_ids=frozenset(who) if own and BY_NAME[mode].own else frozenset(),
    )
    return page


def boxes(page: Page) -> list[tuple[float, ...]]:
    """Where each cell begins, and where its first picture lies on the page."""
    found = []
    for group in page.shapes:
        if isinstance(group, Group) and group.name == "cell":
            picture = next(shape for shape in group.shapes if isinstance(shape, Picture))
            left, top = group.offset_px
            a, b, c, d = picture.box_px
            found.append((left, top, left + a, top + b, left + c, top + d))
    return found


def heads(page: Page) -> list[tuple[str, float, float]]:
    """Words of the headings with their places."""
    groups = [
        shape for shape in page.shapes if isinstance(shape, Group) and shape.name in ("header", "heads")
    ]
    found = [shape for group in groups for shape in group.shapes if isinstance(shape, Text)]
    size = max(shape.size_px for shape in found)
    return [
        (shape.words, *shape.baseline_px)
        for shape in found
        if shape.size_px == size or shape.words.endswith(" mm")
    ]


def words(page: Page) -> list[str]:
    def within(shapes: tuple[object, ...]) -> list[str]:
        found = []
        for shape in shapes:
            if isinstance(shape, Text):
                found.append(shape.words)
            if isinstance(shape, Group):
                found += within(shape.shapes)
        return found

    return within(page.shapes)


@pytest.mark.parametrize("width", [300, 544, 1152])
@pytest.mark.parametrize(
    "answer",
    ["", "A2 holds.", "A1 and B2 hold; most of the others fail by the limb scale of barge three (x)."],
)
def test_all_modes_have_the_same_width_heads_and_cell_boxes(width: int, answer: str) -> None:
    those = study()
    first = sheet(those, "marks", width, answer)
    assert len(boxes(first)) == 4
    assert len(heads(first)) >= 3
    for mode in MODES:
        for own in (True, False):
            page = sheet(those, mode, width, answer, own)
            assert page.size_px[0] == first.size_px[0], mode
            if BY_NAME[mode].paired and own:
                assert boxes(page)[:2] == boxes(first)[:2]  # the first line; lines are higher
                assert [box[0] for box in boxes(page)] == [box[0] for box in boxes(first)]
                assert heads(page)[:3] == heads(first)[:3]
            else:
                assert boxes(page) == boxes(first), mode
                assert heads(page) == heads(first), mode


def test_clay_over_own_has_two_pictures_of_one_size_in_each_cell() -> None:
    page = sheet(study(), "clay-over-own")
    cells = [shape for shape in page.shapes if isinstance(shape, Group) and shape.name == "cell"]
    assert len(cells) == 4
    for cell in cells:
        (first,) = (shape for shape in cell.shapes if isinstance(shape, Picture))
        (under,) = (shape for shape in cell.shapes if isinstance(shape, Group) and shape.name == "under")
        (second,) = (shape for shape in under.shapes if isinstance(shape, Picture))
        assert first.pixels.shape == second.pixels.shape
        assert under.offset_px[1] == first.pixels.shape[0] + 10  # one gap of 10 px at 544 px
    assert "primary below: barge three" in words(page)
    assert "primary: barge three" in words(page)


def test_pair_of_a_level_without_colours_is_one_picture_and_says_so() -> None:
    page = sheet(study(), "clay-over-own", own=False)
    assert boxes(page) == boxes(sheet(study(), "marks"))
    assert any("No own colours here" in said for said in words(page))


@pytest.mark.parametrize(
    ("grey", "step"),
    # L* of #404040 is 27.1, of #777777 50.0, of #C8C8C8 80.6 (CIE 15); black beside white: 33 and 67
    [(0x40, 0), (0x77, 1), (0xC8, 2)],
)
def test_plate_of_a_known_grey_is_in_the_right_step(grey: int, step: int) -> None:
    bounds = step_bounds([plate(0, 0, 0), plate(255, 255, 255)])
    assert bounds == (33.0, 67.0)
    assert np.unique(value_steps(plate(grey, grey, grey), bounds)).tolist() == [step]
    shown = three_values(plate(grey, grey, grey), bounds)
    assert tuple(shown[0, 0]) == step_inks(3)[2 - step]


def test_three_values_have_one_exposure_for_all_cells() -> None:
    those = study()
    dark, light, *rest = every_result(those)
    shape = dark.picture.shape[:2] if dark.picture is not None else (1, 1)
    made = [
        replace(dark, picture=plate(10, 10, 10, size=shape)),
        replace(light, picture=plate(240, 240, 240, size=shape)),
        *rest,
    ]
    (page,) = compose_pages(made, those, record_hash="0", mode="three-values", owner_by_id=owners(those))
    cells = [shape for shape in page.shapes if isinstance(shape, Group) and shape.name == "cell"]
    shown = [next(s for s in cell.shapes if isinstance(s, Picture)).pixels for cell in cells]
    assert [len(np.unique(pixels)) for pixels in shown[:2]] == [3, 3]  # one colour each
    assert shown[0][0, 0].sum() < 200 < 600 < shown[1][0, 0].sum()
    assert any("light: L* " in said for said in words(page))


def test_grey_of_own_vermilion_has_its_luminance() -> None:
    # #D55E00, linear .66539 and .11193 (IEC 61966-2-1): .2126 x .66539 + .7152 x .11193 = .22151
    one = replace(results(study())[0], picture=plate(*VERMILION))
    shown = picture_in_mode(one, "own-grey", {}, Common())
    assert float(luminance(shown)[0, 0]) == pytest.approx(0.22151, abs=0.002)  # half a code is .0018
    assert shown[0, 0, 0] == shown[0, 0, 1] == shown[0, 0, 2]


def test_blur_of_a_point_is_one_degree_wide_at_half_its_height() -> None:
    # 24 in of 1920 x 1080: a pixel of .27673 mm, at .6 m 1.5856'; 60' are 37.84 px
    pitch_m = 24 * 0.0254 / hypot(1920, 1080)
    degree_px = 60.0 / (np.degrees(2 * np.arctan(pitch_m / 1.2)) * 60.0)
    assert degree_px == pytest.approx(37.84, abs=0.01)
    point = np.zeros((201, 1920))
    point[100, 960] = 1.0
    for line in (glance_blurred(point, DESK)[100], glance_blurred(point, DESK)[:, 960]):
        high = line / line.max()
        (over,) = np.nonzero(high >= 0.5)
        left, right = over[0], over[-1]
        width = (right - left) + (high[left] - 0.5) / (high[left] - high[left - 1])
        width += (high[right] - 0.5) / (high[right] - high[right + 1])
        assert width == pytest.approx(degree_px, rel=0.02)
    assert glance_blurred(point, DESK).sum() == pytest.approx(1.0)


def test_blur_is_as_wide_on_a_smaller_drawing_of_the_picture() -> None:
    # drawn 480 px wide, a degree is a quarter of 37.84 px: 9.46; a Gaussian's height is .9394 / 9.46 a side
    point = np.zeros((121, 480))
    point[60, 240] = 1.0
    assert glance_blurred(point, DESK).max() == pytest.approx((0.9394 / 9.46) ** 2, rel=0.02)


def deep(depth_m: float) -> Result:
    """The 35 mm of 8 m, everything at one depth, but for its upper half: nothing."""
    those = study(sweep={})
    one = results(those)[0]
    plane = np.full((10, 10), depth_m, dtype=np.float32)
    plane[:5] = np.inf
    return replace(one, depth_m=plane)


@pytest.mark.parametrize(
    ("away_m", "band", "said"),
    # the subject is 8 m away, its reach 3.4 m: 13.1 m is 1.5 reaches farther, 6.3 m half of one nearer
    [
        (13.1, 5, "farther by 1 to 2 reaches"),
        (6.3, 3, "nearer by under 1 reach"),
        (8.5, 4, "farther by under 1 reach"),
        (1.0, 1, "nearer by 2 to 4 reaches"),
        (40.0, 8, "farther by over 8 reaches"),
    ],
)
def test_depth_band_at_a_known_distance(away_m: float, band: int, said: str) -> None:
    one = deep(away_m)
    bands = bands_for([one], study(sweep={}))
    assert bands.in_reaches
    assert bands.unit_m == 3.4
    found = band_numbers(one, bands.edges_m)
    assert np.unique(found[5:]).tolist() == [band]
    assert np.unique(found[:5]).tolist() == [len(EDGES) + 1]
    ladder = band_ladder(bands)
    assert ladder.head == "Distance from the subject, reaches of 3.4 m"
    assert [words for _, words in ladder.steps] == [said, "nothing there: sky"]


def test_depth_without_a_reach_is_in_round_metres() -> None:
    # everything 8 m and 16 m farther than the subject: 8 steps of 2 m reach it
    one, other = deep(24.0), deep(16.0)
    bands = bands_for([one, other], study(sweep={}, gap=[]))
    assert not bands.in_reaches
    assert bands.unit_m == 2.0
    assert band_ladder(bands).head == "Distance from the subject, metres"
    assert next(said for _, said in band_ladder(bands).steps) == "farther by 8 to 16 m"


def test_near_bands_are_lighter_than_far_ones() -> None:
    inks = [sum(ink) for ink in step_inks(len(EDGES) + 1)]
    assert inks == sorted(inks, reverse=True)


def test_outline_runs_round_what_is_seen_and_not_along_the_picture() -> None:
    shown = np.zeros((40, 60), dtype=bool)
    shown[10:30, :20] = True  # cut by the picture's left edge
    ((points, closed),) = loops(shown)
    assert not closed
    assert points[:, 0].min() > 0
    assert points[:, 0].max() == 20.0
    assert {points[:, 1].min(), points[:, 1].max()} == {10.0, 30.0}
    # three sides 3 px out, and round two corners the 4 pixels within 3 px of it
    assert grown(shown, 3).sum() == 20 * 20 + 3 * 20 * 3 + 2 * 4
    lines = double_line(shown, SCALE)
    assert len(lines) == 2
    assert all(isinstance(line, Line) and line.width_px == 1.75 for line in lines)


def test_targets_in_own_colours_are_outlined_and_clay_ones_are_not() -> None:
    those = study()
    one = every_result(those)[0]
    who = owners(those)
    barge = frozenset(number for number, owner in who.items() if owner.target == "barge three")
    look = drawing(one, those, SCALE, who, outlined=barge)
    assert draw_marks(look, frozenset({"outlines"}))
    assert look.used == {"outline primary"}
    look = drawing(one, those, SCALE, who)
    assert draw_marks(look, frozenset({"outlines"})) == []


def test_legend_of_own_colours_has_outlines_in_place_of_tints() -> None:
    said = words(sheet(study(), "own"))
    assert "primary: barge three" in said
    assert "subject: hopper" in said
    assert not any(one.startswith("gap") for one in said)
    for mode in ("grey", "own-grey", "three-values", "first-glance"):
        assert "Tints and targets" not in words(sheet(study(), mode)), mode


def test_silhouette_draws_sky_line_and_what_hides() -> None:
    those = study()
    one = every_result(those)[0]
    look = drawing(one, those, SCALE, owners(those))
    lines = edges.draw(look)
    assert look.used == {"sky line", "occluder"}
    assert {line.width_px for line in lines if isinstance(line, Line)} == {1.25, 2.25}
    nothing = drawing(replace(one, hidden=np.zeros_like(one.ids)), those, SCALE, owners(those))
    edges.draw(nothing)
    assert nothing.used == {"sky line"}


def test_legend_of_a_silhouette_has_stripes_only_where_something_is_hidden() -> None:
    those = study()
    assert "striped: hidden there" in words(sheet(those, "silhouette"))
    (page,) = compose_pages(
        results(those), those, record_hash="0", mode="silhouette", owner_by_id=owners(those)
    )
    assert "striped: hidden there" not in words(page)
    assert "sky" in words(page)


def test_glances_are_numbered_at_their_spots() -> None:
    those = study()
    one = every_result(those)[0]
    look = drawing(one, those, SCALE, {1: Owner("subject")})
    shapes = draw_marks(look, frozenset({"glances"}))
    numbers = [shape.words for shape in shapes if isinstance(shape, Text)]
    assert numbers == ["1", "2"]
    starts = [tuple(shape.points_px[0]) for shape in shapes if isinstance(shape, Line)]
    assert starts == [(0.3 * 544, 0.4 * 306), (0.6 * 544, 0.5 * 306)]


def test_grey_of_clay_says_that_it_is_not_of_the_level() -> None:
    assert mode_words("grey", False, study()) == "Grey of clay and tints, not of your level."
    assert "of clay and tints, not of your level" in mode_words("three-values", False, study())
    assert "not of your level" not in mode_words("grey", True, study())
