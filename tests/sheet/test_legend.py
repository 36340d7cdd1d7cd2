"""The legend: groups in stacks, as low as they come out."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from sheet.made import study
from stationpoint.base.look import CLAY, GROUND, RGB
from stationpoint.ink.shapes import Area, Group, Line, Shape, Text
from stationpoint.readings import bounded_meanings
from stationpoint.sheet.flag import Kind
from stationpoint.sheet.legend.legend import Uses, columns_of, legend_shapes
from stationpoint.sheet.legend.stacks import Block, Spot, stack_lefts, stack_widths, stacked
from stationpoint.sheet.legend.words import said_on
from stationpoint.sheet.scale import scale_for

SCALE = scale_for(1152, 1220)
EVERYTHING = Uses(
    flags=("holds", "fails"),
    marks=frozenset({"horizon", "gap", "off"}),
    roles=(("subject", ("deckhand",)), ("primary", ("barge three",))),
    grid=GROUND,
    said=(
        ("54.4 × 32.3, diagonal 61.1°", "angles of view: across, upright, diagonal"),
        ("looks 1.2 m", "the gap to an eye that takes no depth cue"),
        ("seen 62 %", "how much of its whole outline is in the picture and not hidden"),
        ("45 arcmin high", "sixtieths of a degree at the first viewing's seat"),
    ),
    cues_for="hop",
    grades=("reads", "weak", "absent"),
)


def heads(shapes: list[Shape]) -> dict[str, tuple[float, float]]:
    """Where each group's head stands."""
    groups = [shape for shape in shapes if isinstance(shape, Group)]
    found = [group.shapes[0] for group in groups if isinstance(group.shapes[0], Text)]
    return {one.words: (one.baseline_px[0], one.baseline_px[1]) for one in found}


def test_short_groups_stand_over_each_other() -> None:
    # two stacks of 100 px; heights 1, 3, 1: the third under the first, 2 deep against 3
    blocks = [Block(100, 1), Block(100, 3), Block(100, 1)]
    assert stacked(blocks, 240, 40) == [Spot(0, 0.0), Spot(1, 0.0), Spot(0, 1.0)]
    assert stacked(blocks, 380, 40) == [Spot(0, 0.0), Spot(1, 0.0), Spot(2, 0.0)]
    assert stacked(blocks, 90, 40) == [Spot(0, 0.0), Spot(0, 1.0), Spot(0, 4.0)]


def test_group_that_goes_on_stands_right_of_its_first_part() -> None:
    blocks = [Block(50, 2), Block(50, 5), Block(50, 5, goes_on=True), Block(50, 2)]
    spots = stacked(blocks, 230, 40)
    assert spots[1].top == spots[2].top
    assert spots[2].stack == spots[1].stack + 1
    assert spots[3] == Spot(0, 2.0)


def test_stacks_never_leave_their_room() -> None:
    blocks = [Block(100, 2), Block(120, 5), Block(90, 3), Block(200, 4), Block(60, 1)]
    for room in range(200, 800, 20):
        widths = stack_widths(blocks, stacked(blocks, room, 40))
        assert sum(widths) + 40 * (len(widths) - 1) <= room


def test_stacks_begin_below_the_grids_columns_where_there_are_enough() -> None:
    assert stack_lefts([100, 100], 34, 500, [300], 40) == [34, 300]
    assert stack_lefts([100, 100, 100], 34, 500, [300], 40) == [34, 234, 434]


def test_legend_of_a_close_up_leaves_no_column_empty() -> None:
    shapes, height = legend_shapes(columns_of(EVERYTHING, SCALE), 34, 0, 1152, [], SCALE)
    found = heads(shapes)
    assert len(found) == 6
    groups = [shape for shape in shapes if isinstance(shape, Group)]
    deepest: dict[float, float] = {}
    for group in groups:
        entries = [one.offset_px for one in group.shapes if isinstance(one, Group)]
        left = min(x for x, _ in entries)
        deepest[left] = max(deepest.get(left, 0.0), *(y for _, y in entries))
    assert len(deepest) == 3
    assert all(deep > height / 3 for deep in deepest.values())


def test_groups_of_a_stack_do_not_overlap() -> None:
    shapes, _ = legend_shapes(columns_of(EVERYTHING, SCALE), 34, 0, 1152, [], SCALE)
    found = heads(shapes)
    for left in {x for x, _ in found.values()}:
        tops = sorted(y for x, y in found.values() if x == left)
        assert all(b - a > 60 for a, b in pairwise(tops))


def test_legend_explains_what_the_page_says_with_its_own_words_and_nothing_else() -> None:
    said = dict(
        said_on(["A1", "looks 1.8 m", "yaw 38° right; subject 14 % left", "sure", ", to 0.10 m", "24 mm"])
    )
    assert list(said) == ["yaw 38° right", "looks 1.8 m", "sure, to 0.10 m"]
    assert said_on(["pitch 17° down", "24 mm, perspective", "looks joined, is 3.9 m apart"]) == ()
    assert said_on(["slung load: seen 15 %, needs 60 %"], ["seen"]) == ()  # explained with the brief


def test_legend_explains_each_reading_of_the_brief_in_one_line() -> None:
    limits = [{"reading": "targets.*.seen", "min": 0.6}, {"reading": "targets.load.seen", "min": 0.2}]
    limits += [
        {"reading": "gaps.hop.scale_ratio", "min": 1.1},
        {"reading": "gaps.hop.foreshortening", "min": 1},
    ]
    assert bounded_meanings(study(limit=limits)) == {
        "seen": "how much of its whole outline is in the picture and not hidden",
        "scale ratio": "how many times larger the nearer end is drawn than the farther",
        "foreshortening": "pixels a metre along the gap over frontal ones, at its middle",
    }
    column = columns_of(replace(EVERYTHING, bounded=(("seen", "in view"),)), SCALE)[1]
    assert (column.head, column.names, column.entries[0][1]) == ("The brief's readings", ("seen",), "in view")


def test_captions_are_explained_in_columns_of_about_equal_height() -> None:
    said = tuple((f"sample {k}", "what it means") for k in range(5))
    columns = columns_of(replace(EVERYTHING, said=said), SCALE)
    assert [len(column.entries) for column in columns[-2:]] == [3, 2]


def test_subject_without_a_name_of_its_own_is_named_once() -> None:
    roles = (("subject", ("subject",)), ("primary", ("barge three",)))
    tints = next(each for each in columns_of(Uses(roles=roles), SCALE) if each.head == "Tints and targets")
    assert [words for _, words in tints.entries] == ["subject", "primary: barge three"]


def test_a_flag_grows_with_the_letters_of_the_legend() -> None:
    wide = replace(SCALE, page_t=1.6)
    kinds: tuple[Kind, ...] = ("holds", "fails")
    for kind in kinds:
        column = columns_of(replace(EVERYTHING, flags=(kind,)), wide)[0]
        assert column.head == "Verdict and brief"
        shapes = column.entries[0][0]
        word = next(shape for shape in shapes if isinstance(shape, Text))
        mark = [shape for shape in shapes if isinstance(shape, Line) and not shape.closed]
        assert mark
        assert max(np.asarray(shape.points_px)[:, 0].max() for shape in mark) < word.baseline_px[0]


def test_grid_is_explained_on_the_tint_that_it_is_drawn_on_and_only_where_it_is() -> None:
    def tints(grid: RGB | None) -> dict[str, tuple[int, int, int]]:
        found = columns_of(Uses(roles=(("subject", ("deckhand",)),), grid=grid), SCALE)
        (column,) = [each for each in found if each.head == "Tints and targets"]
        return {words: shapes[0].fill for shapes, words in column.entries if isinstance(shapes[0], Area)}

    assert tints(GROUND)["ground grid, 1 m"] == GROUND
    assert tints(CLAY)["grid on level faces, 1 m"] == CLAY
    assert [words for words in tints(None) if "grid" in words] == []
