"""Depth cues on a sheet: the strip, which marks a picture shows, and that none covers what it is about."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from sheet.made import GRADES, LANDING, owners, results, study, with_contacts, with_cues
from stationpoint.base.look import INK, WHITE
from stationpoint.camera.camera import project_points
from stationpoint.ink.shapes import Area, Line, Shape, Text
from stationpoint.readings.cues.rules import CUE_RULES
from stationpoint.sheet.cues import grades_used, pairs_of, strip_shapes
from stationpoint.sheet.legend.legend import Uses, columns_of
from stationpoint.sheet.marks import cue, draw_marks
from stationpoint.sheet.marks.drawing import Drawing, drawing
from stationpoint.sheet.marks.gap import chosen_rail, clearer_sides, own_rail_first, rail_costs, rails
from stationpoint.sheet.marks.occlusion import spaced
from stationpoint.sheet.scale import scale_for

SCALE = scale_for(544)
ABSENT = dict.fromkeys(GRADES, ("absent", 0.0))
Graded = Mapping[str, tuple[str, float]]


def look(grades: Graded = GRADES, label: str = "A1", close_up: bool = False, contacts: int = 0) -> Drawing:
    """The drawing of one made-up result with cues."""
    those = study()
    (result,) = [result for result in results(those) if result.variant.label == label]
    result = with_cues(result, grades)
    if contacts:
        result = with_contacts(result, contacts)
    return drawing(result, those, SCALE, owners(those), close_up)


def only(name: str, grade: str = "reads", value: float = 500.0) -> Graded:
    """All absent but one."""
    return ABSENT | {name: (grade, value)}


def tags(one: Drawing) -> list[str]:
    """The letters that came to be drawn."""
    return [shape.words for shape in one.on_top if isinstance(shape, Text) and len(shape.words) == 1]


def lines(shapes: list[Shape]) -> list[Line]:
    return [shape for shape in shapes if isinstance(shape, Line)]


# ---- the strip ----------------------------------------------------------------------------------


def test_strip_in_which_no_cue_is_there_is_one_line_of_words() -> None:
    result = with_cues(results(study())[0], ABSENT)
    (line,) = strip_shapes(result, study(), 10.0, 544.0, 26.0, SCALE)
    assert isinstance(line, Text)
    assert line.words == "none of the 10 depth cues tells which is farther"
    assert grades_used([result], study()) == ()  # so that the legend explains no letters
    one = with_cues(results(study())[0], only("horizon", "weak", 2.0))
    assert grades_used([result, one], study()) == ("weak", "absent")


def test_strip_has_ten_letters_in_one_order_32_px_apart() -> None:
    result = with_cues(results(study())[0])
    texts = [s for s in strip_shapes(result, study(), 10.0, 544.0, 26.0, SCALE) if isinstance(s, Text)]
    letters = texts[:10]
    assert [one.words for one in letters] == list("OSHDCTVZPL")
    assert np.diff([one.baseline_px[0] for one in letters]) == pytest.approx([32.0] * 9)
    assert letters[0].baseline_px[0] == pytest.approx(14.0)


def test_box_of_a_letter_is_its_grade() -> None:
    grades = ABSENT | {
        "occlusion": ("reads", 40.0),
        "relative_size": ("weak", 4.0),
        "height_in_field": ("misleads", 90.0),
    }
    shapes = strip_shapes(with_cues(results(study())[0], grades), study(), 0.0, 544.0, 26.0, SCALE)
    filled, saw = [shape for shape in shapes if isinstance(shape, Area)]
    dashed, *crossed = lines(shapes)
    assert filled.fill == INK
    assert filled.rings[0] == ((0.0, 0.0), (28.0, 0.0), (28.0, 26.0), (0.0, 26.0))
    assert (dashed.dash, dashed.closed) == ((7.0, 4.0), True)
    assert dashed.points_px[0] == pytest.approx((32.75, 0.75))
    assert saw.fill == WHITE
    assert len(saw.rings[0]) == 2 * (2 * 7 + 1)  # 28 px in teeth of 4 px, above and below
    assert len(crossed) == 7
    assert all(line.dash == () and len(line.points_px) == 2 for line in crossed)
    weights = [shape.weight for shape in shapes if isinstance(shape, Text)][:4]
    assert weights == ["bold", "semibold", "bold", "regular"]


def test_summary_says_what_the_readings_say() -> None:
    result = with_cues(results(study())[0])
    # O S H V read; O gives the order alone
    assert strip_words(result) == ["4 cues tell which is farther,", "3 how far"]
    result.reading.values["cues", "gap:hop", "order"] = 0
    result.reading.values["cues", "gap:hop", "amount"] = 0
    assert strip_words(result) == ["no cue tells", "which is farther"]


def strip_words(result: object) -> list[str]:
    shapes = strip_shapes(result, study(), 0.0, 544.0, 26.0, SCALE)  # type: ignore[arg-type]
    return [s.words for s in shapes if isinstance(s, Text) and s.anchor == "right"]


def test_strip_is_about_the_first_gap_else_the_first_primary_target() -> None:
    those = study()
    result = with_cues(results(those)[0], pair="target:barge three")
    assert pairs_of(result, those) == ("target:barge three",)
    both = with_cues(result)
    assert pairs_of(both, those) == ("gap:hop", "target:barge three")
    assert strip_words(both) == ["hop: 4 cues tell", "which is farther, 3 how far"]
    assert strip_shapes(results(those)[0], those, 0.0, 544.0, 26.0, SCALE) == []


# ---- which marks --------------------------------------------------------------------------------


def test_cell_shows_the_three_strongest_amounts_and_every_misleading_cue() -> None:
    # value over threshold: S 39.3 / 3 = 13.1, H 178.2 / 5 = 35.6, C 410 / 256 = 1.6, T 2.5, V 63.2
    assert set(cue.cues_shown(look())) == {"height_in_field", "convergence", "relative_size"}
    lying = dict(GRADES) | {"cast_shadow": ("misleads", 300.0), "occlusion": ("misleads", 20.0)}
    assert set(cue.cues_shown(look(lying))) == {
        "occlusion",
        "relative_size",
        "height_in_field",
        "cast_shadow",
        "convergence",
    }


def test_close_up_shows_every_cue_that_is_not_absent() -> None:
    found = cue.cues_shown(look(close_up=True))
    assert set(found) == set(GRADES) - {"drop_line", "horizon"}


def test_cues_without_an_amount_show_only_where_nothing_gives_one() -> None:
    few = ABSENT | {"occlusion": ("reads", 40.0), "light_on_form": ("reads", 7.0)}
    assert set(cue.cues_shown(look(few))) == {"occlusion", "light_on_form"}
    assert set(cue.cues_shown(look({**few, "height_in_field": ("weak", 6.0)}))) == {"height_in_field"}


# ---- the marks ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [cue.name for cue in CUE_RULES.values() if cue.name != "horizon"])
def test_mark_of_a_cue_carries_its_letter_and_covers_no_take_off_or_landing(name: str) -> None:
    one = look(only(name), close_up=True)
    shapes = draw_marks(one, frozenset({"gaps", "cues"}))
    assert tags(one) == [CUE_RULES[name].letter]
    assert f"cue {name}" in one.used
    rail = chosen_rail(one, "hop")
    assert rail is not None
    bare = draw_marks(look(ABSENT), frozenset({"gaps", "cues"}))
    own = [line for line in lines(shapes) if line not in lines(bare)]
    assert one.space.feet.any()
    for line in own:
        for p, q in zip(line.points_px[:-1], line.points_px[1:], strict=True):
            if "teeth" not in name:
                assert not one.space.over_feet(p, q), name


def test_grade_of_a_mark_is_its_line_style() -> None:
    styles = {}
    for grade in ("reads", "weak", "misleads"):
        one = look(only("relative_size", grade))
        posts = [
            line
            for line in lines(draw_marks(one, frozenset({"cues"})))
            if len(line.points_px) != 2 or line.dash
        ]
        styles[grade] = posts
        backs = [shape for shape in one.on_top if isinstance(shape, Area)]
        assert len(backs) == 1
        assert backs[0].fill == (INK if grade == "reads" else WHITE)
    assert styles["reads"] == []
    assert {line.dash for line in styles["weak"]} == {(9.0, 5.0)}
    assert all(len(line.points_px) > 8 for line in styles["misleads"])


def test_posts_are_a_metre_high_on_one_of_the_rails() -> None:
    one = look(only("relative_size"))
    at = one.result.reading.extras["cue", "gap:hop", "relative_size"]
    upright = [line for line in lines(draw_marks(one, frozenset({"cues"}))) if abs(_way(line)[1]) > 20]
    assert len(upright) == 2
    feet = [np.array(line.points_px[0]) for line in upright]
    rails = own_rail_first(one, "hop")
    assert any(np.allclose(feet, [rail.start, rail.end]) for rail in rails)
    assert np.array([_way(line) for line in upright]) == pytest.approx(
        np.array([at[1] - at[0], at[3] - at[2]])
    )


def test_posts_hide_no_false_border_and_stand_where_the_subject_hides_neither() -> None:
    one = look(only("relative_size"))
    first, other = own_rail_first(one, "hop")
    feet = [np.array(line.points_px[0]) for line in upright_of(one)]
    taken, free = (first, other) if np.allclose(feet[0], first.start) else (other, first)
    for hide in ("stitched", "subject"):
        again = look(only("relative_size"))
        x, y = taken.start.tolist()
        if hide == "stitched":
            again.space.stitch(np.array([[x - 5, y - 5, x + 5, y + 5]]))
        else:
            again.space.subject[int(y // 4) - 30 : int(y // 4) + 2, int(x // 4) - 2 : int(x // 4) + 3] = True
        moved = [np.array(line.points_px[0]) for line in upright_of(again)]
        assert moved == [] or np.allclose(moved, [free.start, free.end])


def upright_of(one: Drawing) -> list[Line]:
    """The posts that come to be drawn."""
    return [line for line in lines(draw_marks(one, frozenset({"cues"}))) if abs(_way(line)[1]) > 20]


def _way(line: Line) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.array(line.points_px[-1]) - np.array(line.points_px[0])


def test_second_rail_lies_on_the_other_side_of_the_gap() -> None:
    one = look(only("convergence"))
    own = chosen_rail(one, "hop")
    assert own is not None
    (rail,) = lines(draw_marks(one, frozenset({"cues"})))
    sides = one.result.reading.extras["gap", "hop", "sides"]
    other = sides[[0, 2]] if np.allclose(own.start, sides[3], atol=1e-6) else sides[[3, 5]]
    assert np.array(rail.points_px) == pytest.approx(other, abs=1e-6)


def test_bracket_spans_the_rows_of_both_feet_at_the_left_edge() -> None:
    one = look(only("height_in_field"))
    feet = one.result.reading.extras["cue", "gap:hop", "height_in_field"]
    upright, *arms = lines(draw_marks(one, frozenset({"cues"})))
    assert [y for _, y in upright.points_px] == pytest.approx(sorted(feet[:, 1]))
    assert {x for x, _ in upright.points_px} == {16.0}
    assert [abs(_way(arm)[0]) for arm in arms] == [12.0, 12.0]


def test_bracket_changes_edges_for_a_false_contact() -> None:
    one = look(only("height_in_field"), contacts=9)
    one.result.reading.extras["false_contact", "0"] = np.array([[10.0, 5.0], [34.0, 300.0]])
    drawn_lines = lines(draw_marks(one, frozenset({"cues", "contacts"})))
    upright = [
        line for line in drawn_lines if len({x for x, _ in line.points_px}) == 1 and line.width_px < 1.7
    ]
    assert upright
    assert upright[0].points_px[0][0] == pytest.approx(544 - 16)


def test_ticks_lie_three_to_nine_px_off_on_the_covered_side_ten_px_apart() -> None:
    one = look(only("occlusion"))
    at = one.result.reading.extras["cue", "gap:hop", "occlusion"]
    border = at[: len(at) // 2]
    ticks = lines(draw_marks(one, frozenset({"cues"})))
    assert len(ticks) > 3
    for tick in ticks:
        (x, y), (_, far) = tick.points_px
        spot = border[int(np.argmin(np.abs(border[:, 0] - x)))]
        assert (spot[1] - y, spot[1] - far) == pytest.approx((3.0, 9.0))  # covered: up, by one px
    starts = np.array([tick.points_px[0] for tick in ticks])
    gaps = [np.hypot(*(a - b)) for k, a in enumerate(starts) for b in starts[:k]]
    assert min(gaps) >= 10.0
    assert spaced(np.array([[0.0, 0.0], [4.0, 0.0], [11.0, 0.0], [12.0, 0.0]]), 10.0) == [0, 2]


def test_mark_whose_letter_finds_no_room_stays_in_the_strip_unless_it_misleads() -> None:
    one = look(only("cast_shadow"))
    one.space.taken[:] = True
    assert draw_marks(one, frozenset({"cues"})) == []
    lying = look(only("cast_shadow", "misleads"))
    lying.space.taken[:] = True
    found = lines(draw_marks(lying, frozenset({"cues"})))
    assert len(found) == 1
    assert len(found[0].points_px) > 8
    assert tags(lying) == []


def test_arrow_of_a_shadow_starts_clear_of_the_landing() -> None:
    one = look(only("cast_shadow"))
    camera = one.result.setup.camera
    landing, end = project_points(camera, [LANDING, LANDING + np.array([2.6, 0.0, 0.0])])
    one.result.reading.extras["cue", "gap:hop", "cast_shadow"] = np.array([landing, end])
    (shaft,) = [line for line in lines(draw_marks(one, frozenset({"gaps", "cues"}))) if line.width_px == 1.6][
        :1
    ]
    assert np.hypot(*(np.array(shaft.points_px[0]) - landing)) > 5.0


def test_horizon_is_drawn_in_the_style_of_its_grade() -> None:
    found = {}
    for grade in ("reads", "weak"):
        one = look(only("horizon", grade))
        found[grade] = {line.dash for line in lines(draw_marks(one, frozenset({"horizon"}))) if line.dash}
    assert found["reads"] == {(14.0, 3.0, 2.0, 3.0)}
    assert found["weak"] == {(9.0, 5.0)}


def test_gaps_line_and_posts_stand_on_one_side_in_all_cells() -> None:
    those = study()
    cells = [with_cues(result, only("relative_size")) for result in results(those)]
    looks = [drawing(cell, those, SCALE, owners(those)) for cell in cells]
    own = [min(costs, key=lambda k: costs[k]) for one in looks if (costs := rail_costs(one, "hop"))]
    # The subject stands on one side's line in two of the cells: each by itself would choose the other.
    for one in looks[:2]:
        rail = rails(one, "hop")[own[0]]
        one.space.subject[one.space.along(rail.start, rail.end)] = True
    assert len({min(c, key=lambda k: c[k]) for one in looks if (c := rail_costs(one, "hop"))}) == 2
    sides = clearer_sides(looks, those)
    assert set(sides) == {"gaps hop"}
    shared = dict(sides)
    for one in looks:
        one.sides.update(shared)
        chosen = chosen_rail(one, "hop")
        assert chosen is not None
        assert np.allclose(chosen.start, rails(one, "hop")[sides["gaps hop"]].start)
    stands = set()
    for one in looks:
        one.sides.update(shared)
        posts = upright_of(one)
        shared |= one.sides
        if posts:
            foot = np.array(posts[0].points_px[0])
            stands.add([np.allclose(foot, rail.start) for rail in rails(one, "hop")].index(True))
    assert len(stands) == 1


def test_line_of_a_gap_is_nearer_for_shorter_marks() -> None:
    # A gap of 4.1 m level: 0.45 of it is over 1 m, so that the line lies a whole mark beside it.
    those = study()
    (result, *_) = results(those)
    one = drawing(result, those, SCALE, owners(those), mark_m=0.2)
    sides = result.reading.extras["gap", "hop", "sides"]
    assert np.allclose([rail.start for rail in rails(one, "hop")], sides[[0, 3]])


def test_legend_says_how_long_the_marks_of_cues_are() -> None:
    drawn = frozenset({"cue relative_size", "cue texture_gradient"})
    (first, second, *_) = columns_of(Uses(cues_for="hop", marks=drawn, mark_m=0.2), SCALE)
    said = dict(
        zip((*first.names, *second.names), (s for _, s in (*first.entries, *second.entries)), strict=True)
    )
    assert said["relative size"].endswith("posts of 0.2 m")
    assert said["texture gradient"].endswith("ticks every 0.2 m")
    assert said["convergence"] == "degrees: how far"  # not drawn
