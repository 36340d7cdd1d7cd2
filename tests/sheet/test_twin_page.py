"""The twins close-up: question, answer, both pictures, and two views of how unlike the layouts are."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import Any

import numpy as np
import pytest

from sheet.made import nodes, overlap, owners, placed, plan, results, study, texts, with_cues, words
from stationpoint.base.look import INK
from stationpoint.ink.shapes import Area, Line, Page, Picture, Shape, Text
from stationpoint.ink.type import cap_height_px
from stationpoint.readings.types import Result
from stationpoint.scene.edit import moved_node
from stationpoint.sheet.plan.data import axes_of, plan_objects
from stationpoint.sheet.twin.difference import changed, difference_picture
from stationpoint.sheet.twin.page import Pictures, _picture_head, twin_page
from stationpoint.sheet.twin.plan import (
    Layouts,
    TwinLayout,
    _bounds,
    _framed,
    twin_plan,
    twin_side,
    twin_views,
    way_words,
)
from stationpoint.sheet.twin.words import changed_words, difference, twin_answer, twin_title

TARGET = "load"
WAY = np.array([0.0, -1.1, -3.7])  # world: yaw 0 heads along -Z, so 3.7 m farther and 1.1 m lower


def layouts(way: np.ndarray[Any, Any] = WAY) -> Layouts:
    """The made-up scene, its load moved by a world vector."""
    those = study()
    made = results(those)
    axes = axes_of(made[0].setup)
    matrix = np.eye(4)
    matrix[:3, 3] = way
    every = nodes(those)
    foot = next(node for node in every if node.name == TARGET).foot
    elsewhere = [moved_node(node, matrix) if node.name == TARGET else node for node in every]
    things = [thing for thing in plan_objects(elsewhere, axes, those) if thing.name == TARGET]

    def stand(at: np.ndarray[Any, Any], floor: str) -> TwinLayout:
        along, across, up = (axes @ at).tolist()
        return TwinLayout((along, across, up), 0.0, floor)

    return Layouts(
        plan(those, made),
        frozenset({TARGET}),
        tuple(things),
        stand(foot, "water"),
        stand(foot + way, "barge four"),
    )


def told(level: str = "same", told_by: str | None = None, share: float | None = 0.0) -> Result:
    """The first result with what was found of its load's twin."""
    at = f"twins__{TARGET}__slide__"
    return with_cues(
        results(study(), 1152)[0],
        pair=f"target:{TARGET}",
        **{f"{at}level": level, f"{at}told_by": told_by, f"{at}silhouette_changed_share": share},
    )


@pytest.fixture(scope="module")
def page() -> Page:
    """A close-up whose twin draws the same picture."""
    built = told()
    those = study()
    return twin_page(
        Pictures(built, built),
        those,
        TARGET,
        "slide",
        layouts(),
        owner_by_id=owners(those),
        record_hash="1b5a5ed396",
    )


def test_title_is_a_question_from_the_name() -> None:
    assert twin_title("load", "slide") == "Could the load be somewhere else?"
    assert twin_title("The Old Crane", "slide") == "Could The Old Crane be somewhere else?"
    assert twin_title("load", "mirror") == "Could the load be its own mirror image?"


def test_way_is_said_level_and_up() -> None:
    assert way_words(layouts()) == "3.7 m farther and 1.1 m lower"
    assert way_words(layouts(-WAY)) == "3.7 m nearer and 1.1 m higher"
    assert way_words(layouts(np.array([0.0, 2.0, 0.0]))) == "2.0 m higher"
    assert way_words(layouts(np.zeros(3))) == ""


@pytest.mark.parametrize(
    ("level", "told_by", "begins", "ends"),
    [
        ("same", None, "In A1, yes: ", "it draws the same picture."),
        ("unanchored", None, "In A1, yes: ", "but nothing in view tells which is true."),
        ("weakly told", "relative_size", "In A1, perhaps: ", "its size would tell, but weakly."),
        ("told", "cast_shadow", "In A1, no: ", "its shadow would tell."),
    ],
)
def test_answer_follows_from_level_and_cue(level: str, told_by: str | None, begins: str, ends: str) -> None:
    said = twin_answer(told(level, told_by), TARGET, "slide", layouts())
    assert said.startswith(f"{begins}3.7 m farther and 1.1 m lower, over barge four, ")
    assert said.endswith(ends)


def test_difference_is_said_in_the_silhouette() -> None:
    assert difference(told("same"), TARGET, "slide") == "same: 0 % of the silhouette differs"
    told_words = difference(told("told", "relative_size", 0.284), TARGET, "slide")
    assert told_words == "told by its size: 28 % of the silhouette differs"
    assert difference(told("same", None, None), TARGET, "slide") == "same"


def test_page_has_both_pictures_side_by_side_and_both_views_under_them(page: Page) -> None:
    found = [one for one in placed(page) if isinstance(one.shape, Picture) and one.groups == ("cell",)]
    one, other = (picture.box for picture in found)
    assert (one[0], other[0]) == (34.0, 34.0 + 1152 + 24)
    assert (one[1], one[2] - one[0]) == (other[1], 1152.0)
    said = words(page)
    assert {"A1", "as built", "A1 twin", "moved 3.9 m along the sightline"} <= set(said)  # hypot(3.7, 1.1)
    assert "Plan" in words(page, "plan")
    assert "Side" in words(page, "side")
    assert len(words(page, "strip")) == 2 * 11
    assert "graded alike, the same values" in words(page, "strip")


def test_twin_is_named_as_what_it_is_and_has_the_marks_of_the_picture(page: Page) -> None:
    cells = sorted({one.offset[0] for one in texts(page, "marks")})
    assert len(cells) == 2
    said = [
        [
            one.shape.words
            for one in texts(page, "marks")
            if one.offset[0] == cell and isinstance(one.shape, Text)
        ]
        for cell in cells
    ]
    assert {"load", "barge three", "lamp post"} <= set(said[0])
    assert sorted(said[1]) == sorted("load, elsewhere" if name == "load" else name for name in said[0])


def test_what_differs_is_hatched_and_dotted_and_the_rest_pale() -> None:
    built = results(study(), 1152)[0]
    assert built.picture is not None
    assert built.ids is not None
    picture, ids = built.picture.copy(), built.ids.copy()
    ids[100:200, 100:300] = 99  # another thing
    picture[300:400, 100:300] = np.where(picture[300:400, 100:300] > 127, 0, 255)  # the same, in other light
    twin = replace(built, picture=picture, ids=ids)
    things, shades = changed(built, twin)
    assert things.sum() == shades.sum() == 100 * 200
    drawn = difference_picture(built, twin, 1.0)
    inked = (drawn == INK).all(axis=2)
    # stripes of 3 in 10 px; dots of 4 x 4 in 10 x 10 px: 16 %
    assert inked[100:200, 100:300].mean() == pytest.approx(0.3, abs=0.01)
    assert inked[300:400, 100:300].mean() == pytest.approx(0.16, abs=0.01)
    inked[100:200, 100:300] = inked[300:400, 100:300] = False
    assert not inked.any()
    assert not (difference_picture(built, built, 1.0) == INK).all(axis=2).any()


def test_plan_and_side_of_a_twin_share_one_axis_and_one_scale() -> None:
    shapes = _flat(twin_views(layouts(), 1152.0, 648.0, _scale()))
    rulers = [s for s in shapes if isinstance(s, Text) and s.words.endswith(" m") and s.words[:-2].isdigit()]
    assert len(rulers) == 2
    assert rulers[0].words == rulers[1].words
    dashed = [np.array(s.points_px) for s in shapes if isinstance(s, Line) and s.closed and s.dash]
    assert len(dashed) == 2  # the moved load in plan and in side view, straight below itself
    assert dashed[0][:, 0].min() == pytest.approx(dashed[1][:, 0].min())
    assert dashed[0][:, 0].max() == pytest.approx(dashed[1][:, 0].max())


def test_area_that_differs_is_said_in_square_arc_minutes() -> None:
    def said(area: float | None) -> str:
        at = f"twins__{TARGET}__slide__changed_arcmin2"
        return changed_words(with_cues(told(), pair=f"target:{TARGET}", **{at: area}), TARGET, "slide")

    assert [said(area) for area in (0.0, 6.52, 6519.4, None)] == [
        "0 sq arcmin",
        "6.5 sq arcmin",
        "6519 sq arcmin",
        "",
    ]


def test_another_target_called_as_the_twins_label_lends_it_no_place() -> None:
    # The lamp post stands left of every picture; called so, it must not drag the twin's name there.
    other = f"{TARGET}, elsewhere"
    those = study()
    renamed = study(
        target=[
            {"name": other if one.role == "tertiary" else one.name, "node": one.node, "role": one.role}
            for one in those.target
        ]
    )
    pages = []
    for one in (those, renamed):
        result = with_cues(results(one, 1152)[0], pair=f"target:{TARGET}")
        pictures = Pictures(result, result)
        pages.append(
            twin_page(
                pictures,
                one,
                TARGET,
                "slide",
                layouts(),
                owner_by_id=owners(one),
                record_hash="1b5a5ed396",
            )
        )
    cells = [[one.box for one in texts(made, "marks") if _is_twins_label(one.shape)] for made in pages]
    assert len(cells[0]) == 1
    assert cells[0][0] in cells[1]


def _is_twins_label(shape: Shape) -> bool:
    return isinstance(shape, Text) and shape.words == f"{TARGET}, elsewhere"


def test_gaps_are_drawn_only_where_the_cues_are_about_one(page: Page) -> None:
    assert not [said for said in words(page, "cell") if said.startswith("looks ")]
    those, result = study(), with_cues(results(study(), 1152)[0])  # cues of the gap, none of the target
    about = twin_page(
        Pictures(result, result),
        those,
        TARGET,
        "slide",
        layouts(),
        owner_by_id=owners(those),
        record_hash="1b5a5ed396",
    )
    assert [said for said in words(about, "cell") if said.startswith("looks ")]


def test_no_text_of_the_page_leaves_it_or_overlaps_another(page: Page) -> None:
    found = texts(page)
    assert len(found) > 30
    width, height = page.size_px
    for one in found:
        left, top, right, bottom = one.box
        assert min(left, top, width - right, height - bottom) >= 0, one.shape
    for one, other in combinations(found, 2):
        assert not overlap(one.box, other.box), (one.shape, other.shape)


def test_plan_shows_it_solid_as_built_dashed_moved_with_an_arrow_of_its_metres() -> None:
    shapes = _flat(twin_plan(layouts(), 1152.0, 448.0, _scale()))
    dashed = [s for s in shapes if isinstance(s, Line) and s.closed and s.dash]
    assert len(dashed) == 1
    lows = np.array(dashed[0].points_px).min(axis=0)
    heads = [s for s in shapes if isinstance(s, Area) and len(s.rings[0]) == 3]
    tips = [s.rings[0][0] for s in heads]
    middle = np.mean(dashed[0].points_px, axis=0)
    assert any(np.hypot(*(np.array(tip) - middle)) < 2.0 for tip in tips)
    assert "3.7 m farther" in [s.words for s in shapes if isinstance(s, Text)]
    assert 0 < lows[0] < 1152


def test_side_view_has_one_sightline_through_both_feet_and_what_lies_under_each() -> None:
    shapes = _flat(twin_side(layouts(), 1152.0, 448.0, _scale()))
    (line,) = [s for s in shapes if isinstance(s, Line) and len(s.dash) == 4]
    way = np.array(line.points_px[1]) - np.array(line.points_px[0])
    # 1.1 m down in 3.7 m along: the picture's y points down
    assert way[1] / way[0] == pytest.approx(1.1 / 3.7, rel=1e-6)
    said = [s.words for s in shapes if isinstance(s, Text)]
    assert "2.0 m over water" in said
    assert "0.9 m over barge four" in said
    assert "one sightline" in said


def test_height_is_written_over_no_other_thing_than_what_lies_under_it() -> None:
    those = layouts()
    frame = _framed(those, 1152.0, 448.0, above=False)
    said = "0.9 m over barge four"
    (words_at,) = [
        shape
        for shape in _flat(twin_side(those, 1152.0, 448.0, _scale()))
        if isinstance(shape, Text) and shape.words == said
    ]
    x, y = words_at.baseline_px
    box = (x, y - cap_height_px(words_at.size_px), x + words_at.width_px, y)
    others = [thing for thing in those.data.objects if thing.role != "ground" and thing.name != "barge four"]
    assert others
    assert not [one.name for one, at in zip(others, _bounds(others, frame), strict=True) if overlap(box, at)]


def test_what_differs_is_cut_to_its_share_where_it_is_too_long() -> None:
    whole = "told by how it slides as the eye moves: 33 % of the silhouette differs"
    for width, said in ((1700, whole), (1152, "33 % of the silhouette differs")):
        shapes: list[Shape] = []
        _picture_head(shapes, "A1 twin", "moved 3.1 m along the sightline", whole, 0, 0, width, _scale())
        assert [one.words for one in shapes if isinstance(one, Text) and one.anchor == "right"] == [said]


def test_mirror_twin_has_no_sightline_and_no_way() -> None:
    shapes = _flat(twin_side(layouts(np.zeros(3)), 1152.0, 448.0, _scale()))
    assert not [s for s in shapes if isinstance(s, Line) and len(s.dash) == 4]
    built = told()
    values = {
        ("twins", TARGET, "mirror", path[-1]): value
        for path, value in built.reading.values.items()
        if path[0] == "twins"
    }
    built = replace(built, reading=replace(built.reading, values=built.reading.values | values))
    said = twin_answer(built, TARGET, "mirror", layouts(np.zeros(3)))
    assert said == "In A1, yes: mirrored in depth, it draws the same picture."


def test_strip_of_the_twin_names_the_cues_that_grade_otherwise() -> None:
    built = told()
    twin = replace(built, reading=replace(built.reading, values=dict(built.reading.values)))
    twin.reading.values["cues", f"target:{TARGET}", "relative_size", "grade"] = "weak"
    those = study()
    found = twin_page(
        Pictures(built, twin),
        those,
        TARGET,
        "slide",
        layouts(),
        owner_by_id=owners(those),
        record_hash="x",
    )
    assert "not shown by the picture: S" in words(found, "strip")  # the level says that it is the same
    told_apart = told("told", "relative_size")
    values = told_apart.reading.values | {("cues", f"target:{TARGET}", "relative_size", "grade"): "weak"}
    twin = replace(told_apart, reading=replace(told_apart.reading, values=values))
    apart = twin_page(
        Pictures(told_apart, twin),
        those,
        TARGET,
        "slide",
        layouts(),
        owner_by_id=owners(those),
        record_hash="x",
    )
    assert "graded otherwise: S" in words(apart, "strip")


def _scale() -> Any:
    from stationpoint.sheet.scale import scale_for

    return scale_for(1152, 2396)


def _flat(shapes: list[Any]) -> list[Any]:
    """Every shape but groups."""
    parts: list[Any] = []
    for shape in shapes:
        parts += _flat(list(shape.shapes)) if hasattr(shape, "shapes") else [shape]
    return parts
