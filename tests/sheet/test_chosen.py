"""The chosen variant and notes on a sheet: flag, frame, header, plan, caption."""

from __future__ import annotations

import pytest

from sheet.made import owners, placed, plan, results, study, words
from stationpoint.base.look import INK, WHITE
from stationpoint.ink.shapes import Area, Line, Page, Text
from stationpoint.readings.types import Path
from stationpoint.readings.verdict.judge import Finding, Verdict
from stationpoint.sheet.answer import flags
from stationpoint.sheet.compose import compose_pages
from stationpoint.sheet.flag import Flag, flag_shapes, flag_width, picture_cut_px, picture_frame
from stationpoint.sheet.plan.data import plan_data
from stationpoint.sheet.scale import scale_for
from stationpoint.study.models import Limit, Study
from stationpoint.study.sweep import expand

SCALE = scale_for(544)
SIGNED = {"by": "AK", "because": "the hop reads", "on": "2026-11-12"}


def decided_study(label: str = "A2", note: str = "", **more: object) -> Study:
    key = next(one.key for one in expand(study()) if one.label == label)
    notes = [{"variant": key, "text": note}] if note else []
    return study(decision={"chosen": key, **SIGNED}, note=notes, **more)


def page(those: Study, flagged: dict[str, Flag], label: str | None = "A2", width: int = 544) -> Page:
    made = results(those, width)
    chosen = next((one for one in expand(those) if one.label == label), None)
    (only,) = compose_pages(
        made,
        those,
        verdicts=flagged,
        record_hash="1b5a5ed396",
        cell_width=width,
        plan=plan(those, made),
        owner_by_id=owners(those),
        chosen=chosen,
    )
    return only


def verdict(label: str, holds: bool) -> Verdict:
    path: Path = ("targets", "barge three", "seen")
    limit = Limit(reading=".".join(path), min=0.5)
    value = 0.75 if holds else 0.25
    found = Finding(".".join(path), path, "here", None, value, limit, (value - 0.5) / 0.5)
    return Verdict(label, holds, found.margin, found, () if holds else (found,))


def test_flag_of_the_chosen_says_whether_it_fails_and_has_the_limit_beside_it() -> None:
    verdicts = {"A1": verdict("A1", True), "A2": verdict("A2", False)}
    assert flags(verdicts, "A1")["A1"].kind == "chosen"
    assert flags(verdicts, "A1")["A2"].kind == "fails"
    failing = flags(verdicts, "A2")["A2"]
    assert failing.kind == "chosen-fails"
    assert failing.limit == "seen 25 %, needs 50 %"
    assert failing.wrong == "barge three is mostly out of view"
    assert flags({}, "A2") == {"A2": Flag("chosen")}
    assert [flag.kind for flag in flags(verdicts).values()] == ["holds", "fails"]


def test_chosen_is_a_white_double_frame_with_a_tick_and_a_failing_one_has_a_cut_corner_and_none() -> None:
    held = flag_shapes("chosen", 0.0, 0.0, 36.0, 27, SCALE)
    outer, inner = (shape for shape in held if isinstance(shape, Area))
    assert (outer.fill, inner.fill) == (WHITE, None)
    assert (len(outer.rings[0]), len(inner.rings[0])) == (4, 4)
    assert any(isinstance(shape, Line) for shape in held)
    fails = flag_shapes("chosen-fails", 0.0, 0.0, 36.0, 27, SCALE)
    outer, inner = (shape for shape in fails if isinstance(shape, Area))
    assert (len(outer.rings[0]), len(inner.rings[0])) == (5, 5)
    assert not any(isinstance(shape, Line) for shape in fails)
    assert [shape.words for shape in fails if isinstance(shape, Text)] == ["Chosen, fails"]
    (said,) = (shape for shape in fails if isinstance(shape, Text))
    assert said.baseline_px[0] + said.width_px < flag_width("chosen-fails", 36.0, 27) - 0.2 * 36


def test_frame_of_the_chosen_is_ink_white_ink_within_the_gutter() -> None:
    rings = picture_frame(Flag("chosen"), 0.0, 0.0, 544.0, 306.0, SCALE)
    assert [(ring.edge_ink, ring.edge_width_px) for ring in rings] == [(INK, 2.0), (WHITE, 5.2), (INK, 1.5)]
    outermost = min(x for ring in rings for x, _ in ring.rings[0])
    assert -12 < outermost < -7  # half of the gutter of 24 px is 12
    cut = picture_frame(Flag("chosen-fails"), 0.0, 0.0, 544.0, 306.0, SCALE)
    assert [len(ring.rings[0]) for ring in cut] == [5, 5, 5]
    assert picture_cut_px(Flag("chosen-fails"), SCALE) == 26.0


def test_header_says_what_was_chosen_by_whom_when_and_why() -> None:
    those = decided_study()
    said = " ".join(words(page(those, {"A2": Flag("chosen")})))
    assert "A2, 50 mm, perspective, by AK on 2026-11-12: because the hop reads" in said
    failing = Flag("chosen-fails", "hop: landing seen 11 %, needs 70 %")
    assert "; it fails: hop: landing seen 11 %, needs 70 %" in " ".join(words(page(those, {"A2": failing})))
    assert "no variant of this sweep has that key" in " ".join(words(page(those, {}, None)))
    assert "Chosen" not in words(page(study(), {}, None))


def test_chosen_camera_heads_right_in_the_plan_and_alone_is_white() -> None:
    sweep = {"columns": {"yaw_deg": [0.0, 90.0]}}
    those = study(sweep=sweep)
    setups = [(result.variant.label, result.setup) for result in results(those)]
    data = plan_data((), setups, those, "A2")
    assert [camera.chosen for camera in data.cameras] == [False, True]
    first, second = (camera.ways.mean(axis=0) for camera in data.cameras)
    assert second[0] > 0.5 > abs(second[1])
    assert first[0] < 0.5


@pytest.mark.parametrize("width", [420, 544, 1152])
def test_note_stands_under_its_cells_caption_in_semibold_and_within_the_cell(width: int) -> None:
    those = decided_study(note="best silhouette, " * 12)
    drawn = page(those, {"A2": Flag("chosen")}, width=width)
    notes = [
        one for one in placed(drawn) if isinstance(one.shape, Text) and one.shape.words.startswith("Note: ")
    ]
    assert len(notes) == 1
    assert notes[0].shape.weight == "semibold"
    assert notes[0].shape.width_px <= width
    plain = page(study(), {"A2": Flag("chosen")}, None, width=width)
    assert drawn.size_px[1] > plain.size_px[1]
