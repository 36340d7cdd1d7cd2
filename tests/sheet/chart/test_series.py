"""Charts: which line has which value where, and that the same chart is the same bytes."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from PIL import Image

from stationpoint.base.errors import StudyWrong
from stationpoint.run.prepare import prepare_study
from stationpoint.run.sweep import Wants, sweep_variants
from stationpoint.sheet.chart.panels import ladder, panels_of, same_lines
from stationpoint.sheet.chart.plot import draw_chart
from stationpoint.sheet.chart.series import Chart, Series, chart_of, check_chart
from stationpoint.study.file import study_from_text
from stationpoint.study.models import Study

SVG = "{http://www.w3.org/2000/svg}"
SCENE = (
    '[ground]\nsize = [40, 40]\n[[solid]]\nname = "crate"\nshape = "box"\nsize = [1, 1, 1]\nat = [0, 0, -6]\n'
)
STUDY = """
title = "How far?"
scene = "yard.toml"
[subject]
at = [0, 0, 0]
[[target]]
name = "crate"
node = "crate"
[[gap]]
name = "hop"
from = [0, 0, 0]
to = [0, 0, -4]
[camera]
focal_mm = 35
distance_m = 8
[sweep]
rows = { projection = ["perspective", "orthographic"] }
columns = { focal_mm = [24, 48] }
hold = "subject-scale"
[[limit]]
reading = "gaps.*.scale_ratio"
min = 1.1
"""


@pytest.fixture
def results_and_study(tmp_path):
    (tmp_path / "yard.toml").write_text(SCENE)
    study = study_from_text(STUDY, "made")
    only = frozenset({"gaps", "axes"})
    return sweep_variants(prepare_study(study, tmp_path), Wants(picture=False, only=only), "rays"), study


def test_a_line_a_row_with_the_readings_that_geometry_gives(results_and_study):
    results, study = results_and_study
    chart = chart_of(results, study, "gaps.hop.scale_ratio", None, "")
    assert chart.field == "focal_mm"
    assert chart.settings == (24, 48)
    assert [line.label for line in chart.lines] == ["perspective", "orthographic"]
    # Pitch 20: the landing lies 4 cos 20 = 3.75877 m deeper; the distance is 8 f / 35.
    expected = [(d + 3.758770) / d for d in (8 * 24 / 35, 8 * 48 / 35)]
    assert chart.lines[0].values == pytest.approx(expected, abs=1e-5)  # five decimals, as the record
    assert chart.lines[1].values == pytest.approx((1.0, 1.0))
    assert [(limit.min, whose) for limit, whose in chart.limits] == [(1.1, "all gaps")]


def test_the_other_axis_can_be_charted_against(results_and_study):
    results, study = results_and_study
    chart = chart_of(results, study, "axes.x.reads", "projection", "")
    assert chart.settings == ("perspective", "orthographic")
    assert [line.label for line in chart.lines] == ["24 mm", "48 mm"]


@pytest.mark.parametrize(
    ("reading", "against", "says"),
    [
        ("gaps.hop.scale_ration", None, "not a reading; did you mean `gaps.*.scale_ratio`"),
        ("gaps.hop.scale_ratio", "focal", "did you mean focal_mm"),
        ("gaps.hop.from_xy", None, "no single number or word"),
    ],
)
def test_what_cannot_be_charted_is_said(tmp_path, reading: str, against: str | None, says: str):
    (tmp_path / "yard.toml").write_text(SCENE)
    prepared = prepare_study(study_from_text(STUDY, "made"), tmp_path)
    with pytest.raises(StudyWrong, match=re.escape(says)):
        check_chart(prepared.study, reading, against)


def test_nothing_swept_is_nothing_to_chart(results_and_study):
    results, _ = results_and_study
    still = Study(scene="yard.toml")
    with pytest.raises(StudyWrong, match="sweeps nothing"):
        chart_of(results, still, "gaps.hop.scale_ratio", None, "")


MADE = Chart(
    "Made",
    "focal_mm",
    (24, 48),
    (Series("a", (1.0, None)), Series("b", (0.5, 0.7))),
    "seen",
    "",
    (),
    "study x",
)


def test_the_same_chart_is_the_same_bytes_as_png_and_as_svg():
    png, svg = draw_chart(MADE, ".png"), draw_chart(MADE, ".svg")
    assert png == draw_chart(MADE, ".png")
    assert svg == draw_chart(MADE, ".svg")
    picture = Image.open(io.BytesIO(png))
    assert (picture.size, picture.format) == ((1500, 900), "PNG")
    assert ET.fromstring(svg).tag.endswith("svg")
    assert b"<dc:date>" not in svg


def said(svg: bytes) -> list[str]:
    """The words of an SVG."""
    return [one.text or "" for one in ET.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize(
    ("title", "words"),
    [
        ("Is it worth $5 or $10?", "Is it worth $5 or $10?"),
        ("Do the $$ signs read?", "Do the $$ signs read?"),
        ("$x_1^2$ \\alpha {here}", "$x_1^2$ \\alpha {here}"),
        ("ring\x07the bell", "ring the bell"),
        ("two\nlines", "two lines"),
        ("a \u8239 b", "a \u8239 b"),
        ("a \U00012000 b", "a \ufffd b"),  # a cuneiform sign, which no font here has
    ],
)
def test_words_are_set_as_they_are_written_and_what_cannot_be_set_as_a_mark(title: str, words: str, recwarn):
    # A formula would take out its dollar signs, and its letters from another font.
    named = replace(MADE, title=title, lines=(Series(title, (1.0, 0.5)),), says="seen")
    assert said(draw_chart(named, ".svg")).count(words) == 2  # as the title and at the line
    assert draw_chart(named, ".png").startswith(b"\x89PNG")
    assert not recwarn.list


def test_words_stand_on_a_ladder_from_worst_to_best():
    words = Chart("Made", "focal_mm", (24, 48), (Series("a", ("sure", "lies")),), "verdict", "", (), "")
    assert ladder(words) == ("lies", "unseen", "close call", "needs a cue", "sure")
    assert ladder(MADE) == ()
    assert draw_chart(words, ".svg").startswith(b"<?xml")


def test_fields_that_move_together_are_one_step_each(tmp_path):
    (tmp_path / "yard.toml").write_text(SCENE)
    columns = "columns = { focal_mm = [24, 24, 48], pitch_deg = [10, 30, 30] }"
    study = study_from_text(STUDY.replace("columns = { focal_mm = [24, 48] }", columns), "made")
    results = sweep_variants(
        prepare_study(study, tmp_path), Wants(picture=False, only=frozenset({"gaps"})), "rays"
    )
    chart = chart_of(results, study, "gaps.hop.true_span_m", None, "")
    assert chart.settings == ("24 mm, pitch 10° down", "24 mm, pitch 30° down", "48 mm, pitch 30° down")
    assert [line.values for line in chart.lines] == [(4.0, 4.0, 4.0)] * 2


def test_lines_that_meet_at_the_end_are_told_apart_and_equal_ones_named_together():
    lines = (
        Series("a", (1.0, 0.5)),
        Series("b", (0.2, 0.5)),
        Series("c", (1.0, 0.5)),
        Series("d", (None, 0.5)),
        Series("e", (None, None)),
    )
    ((panel,), _) = panels_of(replace(MADE, lines=lines))
    named = [(number, names) for number, names in same_lines(panel.lines)]
    assert named == [(0, [("a and c", "")]), (1, [("b", "")]), (3, [("d", "")])]


def test_a_limit_is_drawn_where_it_is_about_what_is_charted(tmp_path):
    (tmp_path / "yard.toml").write_text(SCENE)
    more = (
        '[[limit]]\nreading = "targets.*.depth_m"\nmin = 1\nrole = "primary"\n'
        '[[target]]\nname = "far"\nat = [0, 0, -9]\nrole = "secondary"\n'
        '[[limit]]\nreading = "targets.*.depth_m"\nmin = 2\nrole = "secondary"\n'
        '[[place]]\nname = "aside"\n'
        '[[limit]]\nreading = "*.*.depth_m"\nmin = 3\nplace = "aside"\n'
    )
    prepared = prepare_study(study_from_text(STUDY + more, "made"), tmp_path)
    results = sweep_variants(prepared, Wants(picture=False, only=frozenset({"positions"})), "rays")
    chart = chart_of(results, prepared.study, "targets.crate.depth_m", None, "")
    drawn_limits = [(limit.min, whose) for limit, whose in chart.limits]
    assert drawn_limits == [(1.0, "primary targets"), (3.0, "all targets (only at aside)")]
    both = chart_of(results, prepared.study, "targets.*.depth_m", None, "")
    assert [limit.min for limit, _ in both.limits] == [1.0, 2.0, 3.0]
    assert both.lines[0].label == "perspective, here, crate"


def test_lines_of_one_target_for_two_viewings_are_told_apart(tmp_path):
    (tmp_path / "yard.toml").write_text(SCENE)
    look = "diagonal_in = 24\npixels = [1920, 1080]\neye_distance_m = 0.6\n"
    seats = "".join(f'[[viewing]]\nname = "{name}"\n{look}' for name in ("near", "far"))
    prepared = prepare_study(study_from_text(STUDY + seats, "made"), tmp_path)
    results = sweep_variants(
        prepared, Wants(64, picture=False, only=frozenset({"seat", "visibility"})), "rays"
    )
    for reading in ("viewing.*.arcmin_per_px", "targets.crate.piece_arcmin"):
        chart = chart_of(results, prepared.study, reading, None, "")
        assert [line.label for line in chart.lines[:2]] == ["perspective, near", "perspective, far"]


def test_shares_stand_on_the_axis_in_per_cent():
    for unit, label, mark in (("share", "seen, %", "80 %"), ("", "seen", "0.8")):
        words = said(draw_chart(replace(MADE, unit=unit), ".svg"))
        assert label in words
        assert mark in words
