"""Reserved areas on a sheet: hatched where they lie, and what they cover in words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sheet.made import owners, results, study, texts, words
from sheet.test_compose import page
from stationpoint.ink.shapes import Line, Shape, Text
from stationpoint.readings.types import Result
from stationpoint.sheet.caption import caption_lines
from stationpoint.sheet.compose import compose_pages
from stationpoint.sheet.flag import Flag
from stationpoint.sheet.marks import draw_marks
from stationpoint.sheet.marks.drawing import Drawing, drawing
from stationpoint.sheet.reserved import covered_words, tickets_words, wholly_covered
from stationpoint.sheet.scale import scale_for
from stationpoint.study.models import Study

SCALE = scale_for(544)
AREAS = [{"name": "map", "rect": (0.0, 0.75, 0.25, 1.0)}, {"name": "log", "rect": (0.7, 0.0, 1.0, 0.2)}]
STUDY = study(reserved=AREAS)


def covered(cover: float, shares: tuple[float, float], seen: float, name: str = "barge three") -> Result:
    """A made-up result of which the areas cover one target."""
    (result, *_) = results(STUDY)
    path = ("targets", name)
    values = result.reading.values | {(*path, "reserved_cover"): cover, (*path, "seen"): seen}
    extras = result.reading.extras | {("reserved", *path): np.array(shares)[:, None]}
    return replace(result, reading=replace(result.reading, values=values, extras=extras))


def look(those: Study, result: Result | None = None) -> Drawing:
    return drawing(result or results(those)[0], those, SCALE, owners(those))


def said(shapes: list[Shape]) -> list[str]:
    return [shape.words for shape in shapes if isinstance(shape, Text)]


def test_areas_are_hatched_inside_their_rectangles_with_their_names() -> None:
    one = look(STUDY)
    shapes = draw_marks(one, frozenset({"reserved"}))
    width, height = one.size_px
    lines = [shape for shape in shapes if isinstance(shape, Line)]
    frames = [line for line in lines if line.closed]
    assert len(frames) == 2
    for frame, area in zip(frames, AREAS, strict=True):
        corners = np.array(frame.points_px)
        left, top, right, bottom = area["rect"]  # type: ignore[misc]
        assert corners.min(axis=0) == pytest.approx((left * width, top * height))
        assert corners.max(axis=0) == pytest.approx((right * width, bottom * height))
    hatch = np.array([line.points_px for line in lines if not line.closed])
    assert len(hatch) > 20
    within = [
        ((hatch >= np.min(f.points_px, axis=0) - 1e-6) & (hatch <= np.max(f.points_px, axis=0) + 1e-6)).all(
            axis=(1, 2)
        )
        for f in frames
    ]
    assert (within[0] | within[1]).all()
    assert np.abs((hatch[:, 1] - hatch[:, 0]).sum(axis=1)).max() < 1e-6  # at 45 degrees
    assert said(shapes) == ["map", "log"]


def test_clean_sheet_has_no_areas_and_one_with_marks_explains_them() -> None:
    entry = "reserved: the game's interface will cover it"
    assert entry in " ".join(words(page(STUDY), "legend"))
    clean = page(STUDY, mode="clean")
    assert entry not in " ".join(words(clean, "legend"))
    assert "map" not in [one.shape.words for one in texts(clean)]  # type: ignore[attr-defined]


def test_cover_of_a_quarter_is_said_with_the_areas_that_cover() -> None:
    # By hand, a tram depot: half of the plate's width, .905 of its height: 45 %.
    assert covered_words(covered(0.4525, (0.4525, 0.0), 0.5475), STUDY) == {"barge three": "45 % under map"}
    assert covered_words(covered(0.2499, (0.2499, 0.0), 0.75), STUDY) == {}
    both = covered(0.6, (0.3, 0.3), 0.4)
    assert covered_words(both, STUDY) == {"barge three": "60 % under map and log"}
    assert tickets_words(both, STUDY) == "barge three 60 % under map and log"
    assert wholly_covered(both, STUDY) == {}


def test_caption_says_the_cover_in_semibold_and_never_leaves_it_out() -> None:
    for width in (544, 200):
        lines = caption_lines(covered(0.4525, (0.4525, 0.0), 0.5475), STUDY, (), SCALE, width)
        (part,) = [part for part in lines[-1] if "under map" in part.words]
        assert "45 % under map" in part.words
        assert (part.weight, part.rank) == ("semibold", 0)
        assert part.shorter[-1].endswith("45 % under map")


def test_target_wholly_under_an_area_never_looks_as_if_it_held() -> None:
    result = covered(1.0, (1.0, 0.0), 0.0)
    assert wholly_covered(result, STUDY) == {"barge three": "wholly under map"}
    shapes = draw_marks(look(STUDY, result), frozenset({"targets"}))
    assert "barge three, covered" in said(shapes)
    flag = Flag("holds", "nearest limit: hop: verdict sure, never lies")
    made = compose_pages([result], STUDY, verdicts={"A1": flag}, record_hash="0", cell_width=544)[0]
    assert " ".join(words(made, "flag")).startswith(
        "Holds but barge three is wholly under map; nearest limit"
    )
    assert "barge three not seen, wholly under map" in " ".join(words(made, "caption"))
