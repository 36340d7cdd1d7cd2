"""Sheets from prepared studies: sizes chosen and refused, close-ups, what a page carries."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from cli_calls import STUDY, yard
from stationpoint.base.errors import StudyWrong
from stationpoint.record.png import read_png_texts
from stationpoint.record.record import record_hash
from stationpoint.run.cases import cell_px, with_height
from stationpoint.run.endings import DRAWING, RECORD
from stationpoint.run.prepare import Prepared, portable, prepare_study
from stationpoint.run.sheet import Drawing, draw_sheet, drawing_from, known_mark_names
from stationpoint.study.file import read_study
from stationpoint.study.models import Subject

SMALL = Drawing(cell_width=96, renderer="rays")


def prepared(folder: Path, study: str = STUDY) -> Prepared:
    return prepare_study(read_study(yard(folder, study)), folder)


def test_page_carries_all_that_it_was_made_from(tmp_path: Path) -> None:
    made = draw_sheet(prepared(tmp_path), SMALL)
    assert len(made.pages) == 1
    (tmp_path / "x.png").write_bytes(made.pages[0])
    texts = read_png_texts(tmp_path / "x.png")
    assert texts[RECORD] == made.record_text
    drawing, page, digest, _ = drawing_from(texts[DRAWING], "x.png")
    assert (drawing, page, len(digest)) == (SMALL, 0, 64)
    assert record_hash(made.record_text) in made.ticket_text


def test_brief_is_answered_on_the_ticket_and_judged_in_the_record(tmp_path: Path) -> None:
    limit = '[[limit]]\nreading = "axes.x.px_per_m"\nmin = 200\n'
    made = draw_sheet(prepared(tmp_path, STUDY + limit), SMALL)
    # 1920 px x 24 / 36 / 8 m = 160 px a metre, with 50 mm 333.
    verdicts = json.loads(made.record_text)["verdicts"]
    assert [verdict["holds"] for verdict in verdicts] == [False, True]
    assert "50 mm holds; in the other a metre along x is drawn too small." in made.ticket_text


def test_brief_is_not_answered_where_not_all_that_it_bounds_was_measured(tmp_path: Path) -> None:
    limits = "".join(
        f'[[limit]]\nreading = "{reading}"\nmin = 0.5\n'
        for reading in ("axes.x.px_per_m", "gaps.*.landing_seen")
    )
    made = draw_sheet(prepared(tmp_path, STUDY + limits), replace(SMALL, only=("axes",)))
    assert json.loads(made.record_text)["verdicts"] == []
    assert "holds" not in made.ticket_text


def test_closed_room_is_lit_without_cast_shadows_and_says_so(tmp_path: Path) -> None:
    assert not [line for line in draw_sheet(prepared(tmp_path), SMALL).warnings if "shadows" in line]
    hall = '[[solid]]\nname = "hall"\nshape = "box"\nsize = [30, 9, 30]\nat = [0, -1, 0]\n'
    study = yard(tmp_path, scene=hall)
    study.write_text(STUDY.replace('name = "crate"\nnode = "crate"', 'name = "hall"\nnode = "hall"'), "utf-8")
    made = draw_sheet(prepare_study(read_study(study), tmp_path), SMALL)
    assert [line for line in made.warnings if "without cast shadows" in line]


def test_subject_called_as_the_room_that_it_is_in_does_not_open_the_room(tmp_path: Path) -> None:
    hall = '[[solid]]\nname = "hall"\nshape = "box"\nsize = [30, 9, 30]\nat = [0, -1, 0]\n'
    hero = '[[solid]]\nname = "hero"\nshape = "box"\nsize = [0.5, 1.7, 0.5]\n'
    study = STUDY.replace('name = "crate"\nnode = "crate"', 'name = "hall"\nnode = "hall"')
    for name in ("hopper", "hall"):
        text = study.replace('name = "hopper"\nat = [0, 0, 0]', f'name = "{name}"\nnode = "hero"')
        made = draw_sheet(prepare_study(read_study(yard(tmp_path, text, hall + hero)), tmp_path), SMALL)
        assert [line for line in made.warnings if "without cast shadows" in line], name


def test_sheet_beyond_the_limit_is_refused_before_it_is_drawn(tmp_path: Path) -> None:
    study = prepared(
        tmp_path, STUDY.replace("[sweep]", "[sweep]\nrows = { pitch_deg = [1, 2, 3, 4, 5, 6, 7, 8] }")
    )
    with pytest.raises(StudyWrong, match="at most 16384 a side are drawn; move an axis to --pages"):
        draw_sheet(study, Drawing(cell_width=4096, renderer="no such renderer"))


def test_unknown_marks_and_variants_are_named(tmp_path: Path) -> None:
    assert known_mark_names(None) is None
    assert known_mark_names(["targets"]) == {"targets"}
    with pytest.raises(StudyWrong, match='no mark "target"; did you mean "targets"'):
        known_mark_names(["target"])
    with pytest.raises(StudyWrong, match='no variant "B1"; the sweep has A1 to A2'):
        draw_sheet(prepared(tmp_path), Drawing(variants=("B1",), renderer="no such renderer"))


def test_study_loses_its_absolute_paths_and_nothing_else(tmp_path: Path) -> None:
    study = read_study(yard(tmp_path))
    assert portable(study) is not None
    assert portable(study) == study
    text = STUDY.replace("yard.toml", f"{tmp_path}/yard.toml").replace(
        "focal_mm = 35", 'from = "/x/y.glb#a b"'
    )
    text = text.replace(
        "columns = { focal_mm = [24, 50] }", 'columns = { from = ["/x/y.glb#a b", "z.glb#c"] }'
    )
    moved = portable(read_study(yard(tmp_path, text)))
    assert moved.scene == "yard.toml"
    assert moved.camera.from_ == "y.glb#a b"
    assert moved.sweep.columns["from"] == ("y.glb#a b", "z.glb#c")
    assert moved.camera.distance_m == 8


def test_pictures_of_several_aspects_have_one_area() -> None:
    # 544 wide at 21:9; 16:9 of that area: 544 sqrt((16 / 9) / (21 / 9)) = 474.9 wide; 9:16: 267.1
    widest = 21 / 9
    sizes = [cell_px(544, aspect, widest) for aspect in (21 / 9, 16 / 9, 9 / 16)]
    assert sizes == [(544, 233), (475, 267), (267, 475)]
    assert [across * down for across, down in sizes] == pytest.approx([544 * 544 * 9 / 21] * 3, rel=0.005)
    assert cell_px(544, 16 / 9, 16 / 9) == (544, 306)


def test_subject_that_is_a_node_is_told_as_high_as_the_node(tmp_path: Path) -> None:
    study = read_study(yard(tmp_path, STUDY))
    node = study.model_copy(update={"subject": Subject.model_validate({"name": "crate", "node": "crate"})})
    ready = prepare_study(node, tmp_path)
    told = with_height(ready)
    assert told.subject is not None
    assert told.subject.high_m == pytest.approx(1.0)  # the crate of the yard is a cube of 1 m
