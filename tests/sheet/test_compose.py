"""Whole pages as data: what is on them, and that nothing lies on anything else."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray

from sheet.made import (
    overlap,
    owners,
    placed,
    plan,
    results,
    study,
    texts,
    with_contacts,
    with_cues,
    words,
)
from stationpoint.ink.shapes import Group, Line, Page, Picture, Text
from stationpoint.readings.types import Result
from stationpoint.sheet.caption import verdict_words
from stationpoint.sheet.compose import Cell, compose_pages
from stationpoint.sheet.flag import Flag, Stated
from stationpoint.sheet.marks import known_marks
from stationpoint.sheet.wording import alike_words, confused_words
from stationpoint.study.models import Study

Pixels = NDArray[np.uint8]
NASTY = [
    "Donaudampfschifffahrtsgesellschaftskapitänsmütze und noch ein sehr langer Name, den niemand je tippt",
    "a\nb\tc → “d” ☃ \u202e e",
    "W" * 200,
]


def page(those: Study | None = None, width: int = 544, cues: bool = False, **more: object) -> Page:
    """The only page of a made-up sheet."""
    those = those or study()
    made = results(those, width)
    if cues:
        made = [full(result) for result in made]
    (only,) = compose_pages(
        made,
        those,
        record_hash="1b5a5ed396",
        cell_width=width,
        plan=plan(those, made),
        owner_by_id=owners(those),
        **more,  # type: ignore[arg-type]
    )
    return only


def full(result: Result) -> Result:
    """The result with all that the sheet has marks for: cues of two pairs, false contacts and breaks, a
    verdict, confused directions, an ambiguous target."""
    both = with_cues(with_cues(result), pair="target:barge three")
    found = with_contacts(both, 3, 2)
    return with_cues(
        found,
        gaps__hop__verdict="sure",
        gaps__hop__tell_m=0.183,
        gaps__hop__ground_span_m=9.3,
        gaps__hop__scale_ratio=1.4816,
        **{"pairs__up-away__swap_m": 1.732 if result.setup.camera.parallel else None},
        **{"twins__barge three__slide__ambiguous": True, "twins__barge three__slide__shift_m": 3.0},
    )


def every_kind_of_page() -> list[Page]:
    """Pages that differ in whatever moves the layout."""
    flags = {
        "A1": Flag("fails", "barge three: seen 62 %, needs 80 %", ("targets", "barge three", "seen")),
        "A2": Flag("chosen", "nearest limit: a rather long sentence about what it is that binds " * 2),
        "B1": Flag("none", "no lens"),
        "B2": Flag("holds", others=(Stated("hop: scale ratio 1.16, needs 1.1", True),)),
    }
    targets = [
        {"name": name, "node": f"n{k}", "role": ("primary", "secondary", "tertiary")[k]}
        for k, name in enumerate(NASTY)
    ]
    long = study(title=" ".join(NASTY), target=targets)
    one = {"columns": {"focal_mm": [18, 24, 35, 50, 70, 85, 100]}}
    return [
        page(),
        page(width=420),
        page(width=1152, marks=frozenset(known_marks())),
        page(verdicts=flags, answer="A2; short lenses fail.", renderer_note="rays: no OpenGL here"),
        page(long),
        page(study(sweep=one)),
        page(study(title="", subject=None, target=[], gap=[], sweep={})),
        page(mode="depth"),
        page(cues=True, verdicts=flags),
        page(study(aids=["cast-shadow"]), width=420, cues=True),
        page(study(sweep={"rows": {"projection": ["perspective", "orthographic"]}}), width=1152, cues=True),
    ]


@pytest.fixture(scope="module")
def pages() -> list[Page]:
    """Every kind of page, composed once."""
    return every_kind_of_page()


def test_no_text_leaves_the_page_or_is_under_14_px(pages: list[Page]) -> None:
    for those in pages:
        found = texts(those)
        assert len(found) > 8
        width, height = those.size_px
        for one in found:
            left, top, right, bottom = one.box
            assert isinstance(one.shape, Text)
            assert min(left, top, width - right, height - bottom) >= 0, one.shape.words
            assert one.shape.size_px >= 14


def test_no_text_overlaps_another(pages: list[Page]) -> None:
    for those in pages:
        found = texts(those)
        assert len(found) > 8
        for one, other in combinations(found, 2):
            assert not overlap(one.box, other.box), (one.shape, other.shape)


def test_text_in_a_cell_stays_within_the_cell_and_on_its_picture(pages: list[Page]) -> None:
    for those in pages:
        pictures = [one for one in placed(those) if isinstance(one.shape, Picture) and "cell" in one.groups]
        pictures = [one for one in pictures if "marks" not in one.groups]
        assert pictures
        by_cell = {one.offset: one.box for one in pictures}
        for one in texts(those, "caption"):
            left, _, right, _ = by_cell[one.offset]
            assert left - 1 <= one.box[0]
            assert one.box[2] <= right + 1
        for one in texts(those, "marks"):
            assert any(
                a <= one.box[0] and b <= one.box[1] and one.box[2] <= c and one.box[3] <= d
                for a, b, c, d in by_cell.values()
            ), one.shape


def test_no_label_lies_on_a_take_off_or_landing() -> None:
    those = study()
    made = results(those)
    (only,) = compose_pages(made, those, record_hash="x", owner_by_id=owners(those))
    cells = {one.offset for one in placed(only) if isinstance(one.shape, Picture) and one.groups == ("cell",)}
    assert len(cells) == 4
    checked = 0
    labels = texts(only, "marks")
    assert len(labels) > 8
    for label in labels:
        x, y = label.offset
        for result in made:
            for spot in result.reading.extras["gap", "hop"][:2]:
                a, b, c, d = label.box
                if (x, y) == _cell_of(only, result.variant.label):
                    checked += 1
                    assert not (a - x < spot[0] < c - x and b - y < spot[1] < d - y)
    assert checked > 8


def _cell_of(those: Page, label: str) -> tuple[float, float]:
    """Where the picture of the cell with that label begins: all four have the same height."""
    captions = [one for one in texts(those, "caption") if isinstance(one.shape, Text)]
    (own,) = [one for one in captions if one.shape.words == label]  # type: ignore[union-attr]
    return own.offset


def test_table_says_once_what_all_cells_share_and_heads_what_is_swept() -> None:
    said = words(page())
    assert said.count("Viewing") == 1
    assert any(line.startswith("desk (assumed): 24 in, 1920 × 1080, at 0.6 m;") for line in said)
    assert any("1.59 arcmin a pixel" in line for line in said)
    assert "hop, 4.1 m level; level reach 3.4 m" in said
    assert "hopper, 1.7 m, drawn at one scale in every cell" in said
    assert (
        "no cast shadow, ground pattern or drop marker; "
        "the grid and shadows here are for reading this sheet only" in " ".join(said)
    )
    assert [line for line in said if line in ("24 mm", "50 mm", "perspective", "orthographic")] == [
        "24 mm",
        "50 mm",
        "perspective",
        "orthographic",
    ]
    assert "record 1b5a5ed396" in said


def test_equal_cells_say_whose_picture_they_show_and_why() -> None:
    said = words(page(), "caption")
    assert "same picture as B1" in said
    assert said.count("A parallel view has no lens; only the distance moves.") == 1
    assert not any("same picture as A" in line for line in said)


def test_row_of_equal_pictures_leads_back_to_the_first_one() -> None:
    sweep = {"rows": {"projection": ["orthographic", "perspective"]}, "columns": {"focal_mm": [24, 35, 50]}}
    said = words(page(study(sweep=sweep)), "caption")
    assert said.count("same picture as A1") == 2
    assert "same picture as A2" not in said


def test_pages_axis_makes_a_page_a_value_and_says_which() -> None:
    sweep = {"columns": {"focal_mm": [24, 50]}, "pages": {"pitch_deg": [10, 35, 60]}}
    those = study(sweep=sweep)
    made = results(those)
    found = compose_pages(made, those, record_hash="x", plan=plan(those, made), owner_by_id=owners(those))
    assert len(found) == 3
    assert len({one.size_px for one in found}) == 1
    assert "pitch 35° down" in words(found[1])
    assert "page 2 of 3" in words(found[1])
    assert "2-A1" in words(found[1], "caption")
    assert "1-A1" not in words(found[1])


def test_another_aspect_in_a_line_is_letterboxed_in_the_same_height() -> None:
    sweep = {"columns": {"aspect": ["16:9", "21:9", "4:3"]}, "rows": {"focal_mm": [24, 50]}}
    found = [
        one
        for one in placed(page(study(sweep=sweep)))
        if isinstance(one.shape, Picture) and one.groups == ("cell",)
    ]
    assert len(found) == 6
    # 544 px wide: 306, 233 and 408 px high, centred in 408
    tops = [one.shape.box_px[1] for one in found if isinstance(one.shape, Picture)]
    assert tops == [51, 87, 0, 51, 87, 0]


def test_aspects_swept_down_leave_no_line_empty_room() -> None:
    sweep = {"rows": {"aspect": ["16:9", "21:9", "4:3"]}, "columns": {"focal_mm": [24, 50]}}
    found = [one for one in placed(page(study(sweep=sweep))) if one.groups == ("cell",)]
    pictures = [one for one in found if isinstance(one.shape, Picture)]
    assert [one.shape.box_px[1] for one in pictures if isinstance(one.shape, Picture)] == [0] * 6
    tops = [one.box[1] for one in pictures][::2]
    # lines of 306 and 233 px: from the second to the third it is 73 px less than from the first
    assert (tops[1] - tops[0]) - (tops[2] - tops[1]) == 306 - 233


def test_flag_row_is_left_out_without_verdicts_and_its_legend_too() -> None:
    bare, flagged = page(), page(verdicts={"A1": Flag("fails", "hop: landing seen 0.11 s, needs 0.7")})
    assert "Fails" not in words(bare)
    assert words(flagged).count("Fails") == 2  # one in its cell, one in the legend
    assert "Holds" not in words(flagged)
    assert flagged.size_px[1] > bare.size_px[1]
    cut = [one.shape.cut_px for one in placed(flagged) if isinstance(one.shape, Picture)]
    assert sorted(cut)[-1] == 26.0
    assert sorted(cut)[-2] == 0.0


def test_caption_does_not_say_again_what_stands_beside_the_flag() -> None:
    flag = Flag("fails", "barge three: seen 61.9 %, needs 62 %", ("targets", "barge three", "seen"))
    (bare, *_), (flagged, *_) = (
        [line for line in words(one, "caption") if line.startswith("barge three")]
        for one in (page(), page(verdicts={"A1": flag}))
    )
    assert bare == "barge three seen 62 %, 45 arcmin high"
    assert flagged == "barge three 45 arcmin high"


def test_caption_gives_two_readings_of_the_brief_the_failing_one_semibold_with_a_cross() -> None:
    others = (
        Stated("load: seen 9 %, needs 60 %", False),
        Stated("hop: scale ratio 1.2, needs 1.1", True),
        Stated("lamp post: seen 90 %, needs 10 %", True),
    )
    flag = Flag(
        "fails", "barge three: seen 62 %, needs 80 %", ("targets", "barge three", "seen"), others=others
    )
    found = [one for one in placed(page(verdicts={"A1": flag})) if "caption" in one.groups]
    said = [one.shape for one in found if isinstance(one.shape, Text)]
    weights = {text.words: text.weight for text in said}
    assert weights["load: seen 9 %, needs 60 %"] == "semibold"
    assert weights["hop: scale ratio 1.2, needs 1.1"] == "regular"
    assert "lamp post: seen 90 %, needs 10 %" not in weights
    marks = [len(one.shape.points_px) for one in found if isinstance(one.shape, Line)]
    assert marks == [2, 2, 3]  # a cross is two lines, a tick one with a bend


def test_caption_leaves_out_whose_a_reading_is_before_it_leaves_out_its_numbers() -> None:
    others = tuple(
        Stated(f"a crate: {short}", True, short)
        for short in ("seen 70 %, needs 60 %", "edge stretch 1.1, at most 1.3")
    )
    flag = Flag("holds", "nearest limit: hop: scale ratio 1.2, needs 1.1", others=others)
    said = words(page(verdicts={"A1": flag}), "caption")
    assert "a crate: seen 70 %, needs 60 %" in said
    assert "edge stretch 1.1, at most 1.3" in said


def test_legend_names_what_is_drawn_and_nothing_else() -> None:
    calm, all_marks = words(page(), "legend"), words(page(marks=frozenset(known_marks())), "legend")
    assert any(line.startswith("horizon") for line in calm)
    assert any(line.startswith("gap, m") for line in calm)
    assert "off the picture, that way" in calm
    assert not any("safe" in line or "axis" in line or "floor" in line for line in calm)
    for part in ("safe", "axis vanishes", "1 m at the subject", "floor", "drawn height"):
        assert any(part in line for line in all_marks), part
    clean = words(page(mode="clean"), "legend")
    assert not any(line.startswith(("gap, m", "horizon")) for line in clean)


def test_legend_explains_every_cue_of_the_strips_and_says_what_the_game_lacks() -> None:
    assert not any(line.startswith("Depth cues") for line in words(page(), "legend"))
    said = words(page(study(aids=["cast-shadow", "ground-texture"]), cues=True), "legend")
    assert "Depth cues, hop" in said
    for name in ("occlusion", "relative size", "height in field", "cast shadow", "convergence", "parallax"):
        assert said.count(name) == 1, name
    assert said.count("not in the game") == 1  # the drop line
    assert [line for line in said if line.startswith(("reads:", "weak:", "misleads:", "absent"))] == [
        "reads: from 3 thresholds",
        "weak: 1 to 3 thresholds",
        "absent, or not in the game",
    ]
    slower = words(page(study(glance_factor=2.5), cues=True), "legend")
    assert "reads: from 2.5 thresholds" in slower


def test_legend_order_is_verdict_cues_grades_marks_tints() -> None:
    said = words(page(cues=True, verdicts={"A1": Flag("holds")}), "legend")
    heads = ["Verdict and brief", "Depth cues, hop", "How strongly it tells", "On the picture"]
    at = [said.index(head) for head in [*heads, "Tints and targets", "In the captions"]]
    assert at == sorted(at)


def test_gap_is_told_with_its_verdict_in_bold_and_what_could_be_told() -> None:
    found = [one.shape for one in texts(page(cues=True), "caption") if isinstance(one.shape, Text)]
    said = [(text.words, text.weight) for text in found]
    at = said.index(("sure", "bold"))
    assert said[at - 1] == ("hop 4.1 m looks 1.2 m, if level 9.3 m: ", "regular")
    assert said[at + 1] == (", to 0.18 m", "regular")


def test_verdict_that_needs_a_cue_names_those_that_read() -> None:
    result = with_cues(results(study())[0], gaps__hop__verdict="needs a cue")
    # O S H V read; O gives the order, L the form alone
    assert verdict_words(result, "hop") == (("needs a cue", "bold"), (": O S H V", "regular"))
    none = with_cues(result, {"occlusion": ("weak", 12.0)})
    none.reading.values.update({path: "weak" for path in none.reading.values if path[-1] == "grade"})
    assert verdict_words(none, "hop")[1] == (": none reads", "regular")


def test_confused_pair_is_said_in_its_captions_or_once_at_the_top_if_all_cells_have_it() -> None:
    here = "1 m up looks like 1.7 m away"
    mixed = page(cues=True)  # parallel views alone confuse it; B2 shows the same picture as B1
    assert words(mixed, "caption").count(here) == 1
    assert "Drawn alike" not in words(mixed)
    flat = study(sweep={"columns": {"pitch_deg": [20, 30]}}, camera={"projection": "orthographic"})
    every = page(flat, cues=True)
    assert words(every).count(f"up and away: {here}") == 1
    assert here not in words(every, "caption")
    assert "Drawn alike" in words(every)
    # two digits: what is confused is no measurement
    assert confused_words("up-away", 1.04, 4.7) == "1 m up looks like 1 to 4.7 m away"
    assert alike_words("up-away", 2.14, 11.43) == "up and away: 1 m up looks like 2.1 to 11 m away"


def test_strips_are_drawn_in_every_mode_once_cues_are_measured() -> None:
    for mode in ("marks", "clean", "grey"):
        found = words(page(cues=True, mode=mode), "strip")
        assert len(found) == 4 * 12, mode  # ten letters and two lines of words in each of four cells
    assert words(page(), "strip") == []


def test_narrow_cells_have_strips_without_a_summary() -> None:
    assert len(words(page(cues=True, width=420), "strip")) == 4 * 10


def test_cell_without_a_picture_says_so_and_composes() -> None:
    those = study()
    made = [replace(result, picture=None, ids=None, depth_m=None) for result in results(those)]
    (only,) = compose_pages(made, those, record_hash="x")
    assert words(only).count("No picture was drawn.") == 4


def test_first_take_with_a_picture_is_drawn_for_a_variant_at_many_places() -> None:
    those = study()
    made = results(those)
    blind = [replace(result, picture=None, ids=None) for result in made]
    (both,) = compose_pages([*blind, *made], those, record_hash="x", owner_by_id=owners(those))
    (once,) = compose_pages(made, those, record_hash="x", owner_by_id=owners(those))
    assert words(both) == words(once)


def test_same_takes_make_the_same_shapes() -> None:
    one, other = page(), page()
    assert [(a.box, a.groups) for a in placed(one)] == [(b.box, b.groups) for b in placed(other)]
    assert words(one) == words(other)


def test_unknown_mode_or_mark_is_refused() -> None:
    with pytest.raises(ValueError, match="sepia"):
        page(mode="sepia")
    with pytest.raises(ValueError, match="sparkles"):
        page(marks=frozenset({"sparkles"}))


def test_pictures_are_laid_down_as_they_came() -> None:
    those = study()
    made = results(those)
    (only,) = compose_pages(made, those, record_hash="x", owner_by_id=owners(those))
    laid = [one.shape for one in placed(only) if isinstance(one.shape, Picture) and one.groups == ("cell",)]
    assert len(laid) == 4
    assert all(np.array_equal(shape.pixels, result.picture) for shape, result in zip(laid, made, strict=True))


def test_cell_made_before_another_settled_its_sides_is_made_again() -> None:
    made: list[int] = []

    def hasty(make: Callable[[int], Cell], count: int, pictures: Sequence[Pixels]) -> Iterator[Cell]:
        cells = [make(k) for k in range(count)]  # none knows what another settles
        settled = next(cell.sides["relative_size"] for cell in cells[:3] if "relative_size" in cell.sides)
        yield from cells[:3]
        yield Cell(Group("cell", (0.0, 0.0), ()), set(), {"relative_size": 1 - settled})
        made.append(count)

    assert words(page(cues=True, share=hasty)) == words(page(cues=True))
    assert made == [4]


def test_pictures_that_cells_hold_are_at_hand_for_whoever_composes_them() -> None:
    those = study()
    made = results(those)
    given: list[Pixels] = []

    def noting(make: Callable[[int], Cell], count: int, pictures: Sequence[Pixels]) -> Iterator[Cell]:
        given.extend(pictures)
        return map(make, range(count))

    (only,) = compose_pages(made, those, record_hash="x", owner_by_id=owners(those), share=noting)
    laid = [one.shape for one in placed(only) if isinstance(one.shape, Picture) and one.groups == ("cell",)]
    assert len(laid) == 4
    assert {id(shape.pixels) for shape in laid} <= {id(picture) for picture in given}
