"""Aspects: the study's own is drawn as written; swept ones and other viewings' follow its policy.

By hand: a lens of h degrees across has F / W = 1 / (2 tan(h / 2)); with its height kept, F / W of another
aspect is that times the aspects' ratio.
"""

from __future__ import annotations

from dataclasses import replace
from math import atan, degrees, hypot, radians, tan
from pathlib import Path

import pytest

from cli_calls import STUDY, done, yard
from stationpoint.camera.camera import project_points
from stationpoint.readings.types import Case, Reading, Result
from stationpoint.run.cases import cases
from stationpoint.run.prepare import prepare_study
from stationpoint.sheet.chart.series import chart_of
from stationpoint.sheet.settings import held_words, picture_words, viewing_words
from stationpoint.sheet.wording import swept_fields
from stationpoint.study.file import read_study

LENS = STUDY.replace("focal_mm = 35", "hfov_deg = 70").partition("[sweep]")[0]
TALL = LENS.replace('"16:9"', '"9:16"')
VIEWING = '[[viewing]]\nname = "{}"\ndiagonal_in = 55\npixels = {}\neye_distance_m = 2.7\n'
COUCH, PHONE = VIEWING.format("couch", [1920, 1080]), VIEWING.format("phone", [1080, 1920])


def cases_of(folder: Path, study: str) -> list[Case]:
    return list(cases(prepare_study(read_study(yard(folder, study)), folder), 480))


def header(folder: Path, study: str) -> tuple[str, str]:
    """What the header says of picture and viewing."""
    prepared = prepare_study(read_study(yard(folder, study)), folder)
    first: dict[str, Result] = {}
    for case in cases(prepared, 480):
        made = Result(case.variant, case.place, case.setup, Reading({}), case.seats, case.picture)
        first.setdefault(case.variant.label, made)
    results = list(first.values())
    swept = swept_fields(prepared.study, prepared.variants)
    return picture_words(results, prepared.study, swept), viewing_words(prepared.study, results, swept)


@pytest.mark.parametrize(
    ("policy", "hfov_deg"),
    [
        # 16:9, 32:9, 8:9 of 70 degrees at 16:9: tan 35 times 1, 2, 1/2 where the height stays.
        ("height", (70, 108.94, 38.59)),
        ("width", (70, 70, 70)),
        # The diagonal's half is tan 35 hypot(1, 9 / 16); across it is that over hypot(1, 1 / aspect).
        (
            "diagonal",
            tuple(
                2 * degrees(atan(tan(radians(35)) * hypot(1, 9 / 16) / hypot(1, 1 / aspect)))
                for aspect in (16 / 9, 32 / 9, 8 / 9)
            ),
        ),
    ],
)
def test_a_swept_aspect_follows_the_policy_from_the_studys_own(
    policy: str, hfov_deg: tuple[float, ...], tmp_path: Path
) -> None:
    sweep = '[sweep]\ncolumns = { aspect = ["16:9", "32:9", "8:9"] }\n'
    study = LENS.replace('"16:9"', f'"16:9"\naspect_policy = "{policy}"') + sweep
    setups = [case.setup for case in cases_of(tmp_path, study)]
    assert [setup.aspect_words for setup in setups] == ["16:9", "32:9", "8:9"]
    assert [setup.hfov_deg for setup in setups] == pytest.approx(hfov_deg, abs=0.005)


def test_a_swept_policy_shows_what_each_keeps(tmp_path: Path) -> None:
    sweep = '[sweep]\nrows = { aspect_policy = ["height", "width"] }\ncolumns = { aspect = ["32:9"] }\n'
    found = [case.setup.hfov_deg for case in cases_of(tmp_path, LENS + sweep)]
    assert found == pytest.approx([108.94, 70], abs=0.005)


def test_the_studys_own_aspect_is_drawn_whatever_its_viewing_is(tmp_path: Path) -> None:
    own, whole = cases_of(tmp_path, TALL + COUCH)
    assert (own.picture, own.setup.camera.pixels) == ("9:16", (480, 853))
    # The largest 9:16 picture on 1920 x 1080: 1080 x 9 / 16 = 607.5 wide.
    assert own.seats[0].picture_px == pytest.approx((607.5, 1080))
    assert own.setup.hfov_deg == pytest.approx(70)
    # The couch's own picture is a further one: 16:9, the height kept, (16 / 9)^2 times as wide.
    assert (whole.picture, [seat.name for seat in whole.seats]) == ("16:9", ["couch"])
    assert whole.setup.vfov_deg == pytest.approx(own.setup.vfov_deg)
    assert whole.setup.hfov_deg == pytest.approx(2 * degrees(atan(tan(radians(35)) * (16 / 9) ** 2)))


def test_a_viewing_that_has_the_studys_aspect_shows_it_whole(tmp_path: Path) -> None:
    own, whole = cases_of(tmp_path, TALL + COUCH + PHONE)
    assert [seat.name for seat in own.seats] == ["phone"]
    assert own.seats[0].picture_px == (1080, 1920)
    assert [seat.name for seat in whole.seats] == ["couch"]


def test_a_swept_viewing_is_drawn_in_its_own_shape(tmp_path: Path) -> None:
    sweep = '[sweep]\ncolumns = { viewing = ["couch", "phone"] }\n'
    found = cases_of(tmp_path, TALL + sweep + COUCH + PHONE)
    assert [case.picture for case in found] == ["16:9", "9:16"]


def test_an_offset_is_told_where_the_anchor_falls_in_the_picture_that_is_drawn(tmp_path: Path) -> None:
    sweep = '[sweep]\ncolumns = { aspect = ["16:9", "32:9"] }\n'
    for by in ("slide", "turn"):
        moved = LENS.replace('"16:9"', f'"16:9"\noffset = [0.2, -0.1]\noffset_by = "{by}"')
        own, wide = (case.setup for case in cases_of(tmp_path, moved + sweep))
        assert own.offset == pytest.approx((0.2, -0.1))
        assert wide.offset == pytest.approx((0.1, -0.1))  # twice as wide, as high
        x, y = project_points(wide.camera, wide.anchor_m)[0] / wide.camera.pixels
        assert (x - 0.5, 0.5 - y) == pytest.approx(wide.offset)


def test_the_header_says_what_is_drawn_and_what_is_measured_besides(tmp_path: Path) -> None:
    picture, viewing = header(tmp_path, TALL + COUCH)
    assert picture.startswith("9:16 between bars, ")
    assert picture.endswith("on other shapes the height stays")
    assert viewing.endswith("; measured in its own shape, too: couch")
    picture, viewing = header(tmp_path, TALL + COUCH + PHONE)
    assert picture.startswith("9:16, ")
    assert viewing.startswith("phone: 55 in, 1080 × 1920")
    assert viewing.endswith("; measured in its own shape, too: couch")
    picture, viewing = header(tmp_path, LENS + COUCH)
    assert picture == "16:9, gate 36 × 24 mm matched on the width"
    assert viewing == "couch: 55 in, 1920 × 1080, at 2.7 m; 0.81 arcmin a pixel"
    sweep = '[sweep]\ncolumns = { aspect = ["16:9", "9:16"] }\n'
    picture, viewing = header(tmp_path, LENS + sweep + COUCH)
    assert picture == "gate 36 × 24 mm matched on the width, on other shapes the height stays"
    assert "measured in" not in viewing


def test_one_scale_is_claimed_only_where_it_is_one(tmp_path: Path) -> None:
    sweep = '[sweep]\nhold = "subject-scale"\ncolumns = {{ focal_mm = [24, 50] }}\nrows = {{ {} }}\n'
    said = []
    for rows in ("pitch_deg = [10, 40]", 'aspect = ["16:9", "32:9"]'):
        study = read_study(yard(tmp_path, STUDY.partition("[sweep]")[0] + sweep.format(rows)))
        prepared = prepare_study(study, tmp_path)
        results = [
            Result(case.variant, case.place, case.setup, Reading({}), case.seats, case.picture)
            for case in cases(prepared, 480)
        ]
        said.append(held_words(results, study, swept_fields(study, prepared.variants)))
    assert said == ["drawn at one scale in every cell", "drawn at one scale whatever the lens"]
    near = [replace(one, setup=replace(one.setup, asked_eye_m=(0.0, 0.0, 99.0))) for one in results]
    assert held_words(near, study, swept_fields(study, prepared.variants)).endswith(
        ", but where the camera is pulled in"
    )


def test_a_sheet_of_a_tall_picture_on_a_wide_screen_is_drawn_and_judged_in_both_shapes(
    tmp_path: Path,
) -> None:
    limit = '[[limit]]\nreading = "targets.crate.in_frame"\nmin = 0.5\n'
    yard(tmp_path, TALL + COUCH + limit)
    record = done("measure", "yard.study.toml", "--renderer", "rays", "--json", "-", cwd=tmp_path).record
    assert [row["picture"] for row in record["rows"]] == ["9:16", "16:9"]
    assert record["variants"][0]["settings"]["aspect"] == "9:16"
    assert [list(row["viewing"]) for row in record["rows"]] == [["couch"], ["couch"]]


def test_a_chart_shows_the_studys_own_picture(tmp_path: Path) -> None:
    # 38.6 degrees wide at 8:9 is 70 at 16:9: the crate's middle, 2 m right of the anchor's line and 10 m
    # away, falls 2 / (2 x 10 tan 35) of the width right of the centre in the one, twice that in the other.
    sweep = "[sweep]\ncolumns = { distance_m = [8, 9] }\n"
    study = LENS.replace('"16:9"', '"16:9"\npitch_deg = 0') + sweep + VIEWING.format("half", [960, 1080])
    prepared = prepare_study(read_study(yard(tmp_path, study)), tmp_path)
    path = ("targets", "crate", "screen_xy", "x")
    results = []
    for case in cases(prepared, 480):
        x = float(project_points(case.setup.camera, [(2, 0.5, -2)])[0, 0] / case.setup.camera.pixels[0])
        reading = Reading({path: x})
        results.append(Result(case.variant, case.place, case.setup, reading, case.seats, case.picture))
    assert [result.picture_shape for result in results] == ["16:9", "8:9"] * 2
    (line,) = chart_of(results, prepared.study, ".".join(path), None, "").lines
    across = [2 * depth * tan(radians(35)) for depth in (10, 11)]
    assert line.values == pytest.approx([0.5 + 2 / metres for metres in across])
