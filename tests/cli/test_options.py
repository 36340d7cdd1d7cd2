"""What players may change is judged at both ends: distances, angles and sides by hand geometry."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
import pytest

from cli_calls import SMALL, STUDY, call, done, refused, yard
from stationpoint.run import pages as run_pages

# The camera stands on +z of the subject, level: the crate, its middle at z = -2, lies as deep as the
# distance and 2 m.
LEVEL = STUDY.replace("distance_m = 8", "distance_m = 8\npitch_deg = 0").partition("[sweep]")[0]
FAR = "\n[options]\ndistance_m = [4, 14]\n"
DEPTH = '\n[[limit]]\nreading = "targets.crate.depth_m"\nmax = 12\n'
ONLY = ("--renderer", "rays", "--only", "targets,subject,viewing,framing")


def drawn(path: Path, *words: str) -> Any:
    """The picture of the one cell of a study's sheet: (h, w, 3)."""
    with patch.object(run_pages, "compose_pages", wraps=run_pages.compose_pages) as composed:
        only = ("--renderer", "rays", "--only", "targets,subject,viewing", "--cell-width", "544")
        done("sheet", path.name, *only, *words, "--force", cwd=path.parent)
    return composed.call_args.args[0][0].picture


def record(folder: Path, study: str, *words: str) -> Any:
    path = yard(folder, study)
    return done("measure", path.name, *ONLY, "--json", "-", *words, cwd=folder).record


def test_each_end_is_a_row_of_the_same_variant_and_the_worst_decides(tmp_path: Path) -> None:
    whole = record(tmp_path, LEVEL + FAR + DEPTH)
    rows = [(row["option"], row["targets"]["crate"]["depth_m"]) for row in whole["rows"]]
    assert rows == [(None, 10.0), ("distance_m=4", 6.0), ("distance_m=14", 16.0)]
    (camera,) = whole["cameras"]
    assert (camera["holds"], camera["failed_at"], camera["of"]) == (False, 1, 3)
    assert (camera["binds"]["option"], camera["binds"]["value"]) == ("distance_m=14", 16.0)
    assert whole["variants"][0]["settings"]["distance_m"] == 8.0


def test_words_name_the_end_that_fails(tmp_path: Path) -> None:
    limit = '\n[[limit]]\nreading = "viewing.desk.hfov_deg"\nmax = 100\n'
    path = yard(tmp_path, LEVEL + "\n[options]\nhfov_deg = [60, 110]\n" + limit)
    told = call("judge", path.name, "--renderer", "rays", cwd=tmp_path)
    assert told.code == 1
    assert "(at 110° wide) [viewing.desk.hfov_deg]" in told.text
    assert told.text.endswith(
        "Camera A1 fails at 1 of 3 settings, worst: at 110° wide.\n0 of 1 camera holds.\n"
    )
    done("sheet", path.name, *SMALL, "-o", "s.svg", cwd=tmp_path)
    assert "judged also at 60° wide" in (tmp_path / "s.svg").read_text("utf-8")
    assert (
        (tmp_path / "s.csv")
        .read_text("utf-8")
        .splitlines()[0]
        .startswith("variant,key,place,picture,option,")
    )
    done("sheet", path.name, *SMALL, "-o", "s.svg", cwd=tmp_path)  # writes over its own


def test_a_wider_view_moves_no_camera_whatever_the_sweep_holds(tmp_path: Path) -> None:
    sweep = '\n[sweep]\ncolumns = { focal_mm = [35, 70] }\nhold = "subject-scale"\n'
    rows = record(tmp_path, LEVEL + "\n[options]\nhfov_deg = [60, 110]\n" + sweep)["rows"]
    # 70 mm holds the scale of 35 mm at 8 m from 16 m: the crate lies 2 m behind that
    depths = [row["targets"]["crate"]["depth_m"] for row in rows]
    assert depths == pytest.approx([10.0] * 3 + [18.0] * 3)
    angles = [row["viewing"]["desk"]["hfov_deg"] for row in rows]
    # 2 atan(18 / 35) and 2 atan(18 / 70)
    assert angles == pytest.approx([54.4322, 60.0, 110.0, 28.8415, 60.0, 110.0], abs=1e-3)


def test_the_other_shoulder_mirrors_the_offset(tmp_path: Path) -> None:
    shifted = LEVEL.rstrip() + '\noffset = [-0.2, 0]\noffset_by = "slide"\n'
    rows = record(tmp_path, shifted + '\n[options]\nshoulder = ["left", "right"]\n')["rows"]
    # over the right shoulder the subject stands left of the middle: as the study has it
    assert [row["option"] for row in rows] == [None, "shoulder=left"]
    assert [row["subject"]["screen_xy"][0] for row in rows] == pytest.approx([0.3, 0.7], abs=1e-6)


def test_limits_of_a_place_hold_at_the_ends_there_too(tmp_path: Path) -> None:
    places = '\n[[place]]\nname = "back"\nat = [0, 0, 3]\n'
    (camera,) = record(tmp_path, LEVEL + places + FAR + DEPTH + 'place = "back"\n')["cameras"]
    # at "back" 13, 9 and 19 m: two of three fail, of six in all
    assert (camera["failed_at"], camera["of"]) == (2, 6)


def test_a_chart_is_of_the_cameras_as_the_study_has_them(tmp_path: Path) -> None:
    path = yard(tmp_path, LEVEL + FAR + DEPTH + "\n[sweep]\ncolumns = { focal_mm = [24, 50] }\n")
    words = ("--reading", "targets.crate.depth_m", "--renderer", "rays")
    done("chart", path.name, *words, "-o", "a.svg", cwd=tmp_path)
    plain = yard(tmp_path / "plain", path.read_text("utf-8").replace(FAR, ""))
    done("chart", plain.name, *words, "-o", "a.svg", cwd=plain.parent)
    charts = [(folder / "a.svg").read_text("utf-8").count("<path") for folder in (tmp_path, plain.parent)]
    assert charts[0] == charts[1]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ("hfov_deg = [110, 60]", "least must be below most"),
        ('shoulder = ["left", "left"]', "twice"),
        ('shoulder = ["left", "right"]', "give [camera] an offset"),
        ("fov = [60, 110]", "fov"),
    ],
)
def test_odd_options_are_refused_in_one_sentence(tmp_path: Path, options: str, says: str) -> None:
    path = yard(tmp_path, f"{LEVEL}\n[options]\n{options}\n")
    assert says in refused("check", path.name, cwd=tmp_path)


def test_show_worst_draws_the_end_where_a_must_has_its_worst_margin(tmp_path: Path) -> None:
    # the crate's middle lies 2 m behind the anchor: 10 m deep from 8 m, 6 from 4, 16 from 14; 16 is over 12
    path = yard(tmp_path, LEVEL + FAR + DEPTH)
    own = drawn(path, "-o", "own.png")
    far = drawn(path, "-o", "far.png", "--show", "worst")
    # the same picture as of a camera that stands 14 m away by itself
    alone = yard(tmp_path / "alone", LEVEL.replace("distance_m = 8", "distance_m = 14") + DEPTH)
    assert np.array_equal(far, drawn(alone, "-o", "far.png"))
    assert not np.array_equal(far, own)
    assert (tmp_path / "far.json").read_bytes() == (tmp_path / "own.json").read_bytes()
    drawn(path, "-o", "far.svg", "--show", "worst")
    svg = (tmp_path / "far.svg").read_text("utf-8")
    assert "14 m away: fails at 1 of 3" in svg
    said = " ".join(re.sub("<[^>]*>", " ", svg).split())  # over two lines
    assert "judged also 4 m away and 14 m away; drawn: 14 m away" in said
    done("inspect", "far.png", "--redraw", "again.png", cwd=tmp_path)
    assert (tmp_path / "again.png").read_bytes() == (tmp_path / "far.png").read_bytes()


def test_show_worst_draws_the_nearer_end_or_the_studys_own_where_that_is_the_worst(tmp_path: Path) -> None:
    near = yard(tmp_path / "near", LEVEL + FAR + DEPTH.replace("max = 12", "min = 7"))  # 6 is under 7
    drawn(near, "-o", "near.svg", "--show", "worst")
    assert "drawn: 4 m away" in (near.parent / "near.svg").read_text("utf-8")
    # 110 degrees wide a crate as deep as ever: all margins are alike, and the study's own comes first
    wide = yard(tmp_path / "wide", LEVEL + "\n[options]\nhfov_deg = [60, 110]\n" + DEPTH)
    drawn(wide, "-o", "wide.svg", "--show", "worst")
    assert "drawn: as the study has it" in (wide.parent / "wide.svg").read_text("utf-8")


def test_show_worst_of_a_held_sweep_draws_the_camera_where_the_lens_has_put_it(tmp_path: Path) -> None:
    # 70 mm holds the scale of 35 mm at 8 m from 16 m; 110 degrees wide it stays there
    sweep = '\n[sweep]\ncolumns = { focal_mm = [70] }\nhold = "subject-scale"\n'
    limit = '\n[[limit]]\nreading = "viewing.desk.hfov_deg"\nmax = 100\n'
    options = "\n[options]\nhfov_deg = [60, 110]\n"
    path = yard(tmp_path, LEVEL + options + limit + sweep)
    alone = LEVEL.replace("distance_m = 8", "distance_m = 16").replace("focal_mm = 35", "hfov_deg = 110")
    itself = yard(tmp_path / "alone", alone + limit)
    assert np.array_equal(drawn(path, "-o", "a.png", "--show", "worst"), drawn(itself, "-o", "a.png"))


def test_show_worst_with_options_alone_needs_a_must(tmp_path: Path) -> None:
    path = yard(tmp_path, LEVEL + FAR)
    said = refused("sheet", path.name, *SMALL, "--show", "worst", cwd=tmp_path)
    assert "no [[limit]] that is a must" in said


def test_a_level_shows_the_end_that_decides(tmp_path: Path) -> None:
    yard(tmp_path, LEVEL + FAR + DEPTH)
    (tmp_path / "alone.study.toml").write_text(
        LEVEL.replace("distance_m = 8", "distance_m = 14") + DEPTH, "utf-8"
    )
    words = ("yard.study.toml", "alone.study.toml", "--renderer", "rays", "--cache", "kept")
    told = call("judge", *words, "-o", "levels.png", cwd=tmp_path)
    assert told.code == 1
    one, other = sorted((tmp_path / "kept").glob("*.png"))
    assert one.read_bytes() == other.read_bytes()
