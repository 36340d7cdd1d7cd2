"""The table: read back by the standard reader."""

from __future__ import annotations

import csv
import io

from record.results import FIELDS, result, values
from stationpoint.record.csv import csv_text
from stationpoint.record.record import make_record


def table(*results):
    facts = {"title": "", "study_sha256": "", "renderer": "gl", "version": "0"}
    text = csv_text(make_record(results, **facts, fields=FIELDS), FIELDS)
    return text, list(csv.DictReader(io.StringIO(text, newline="")))


def test_line_for_each_variant_and_place():
    text, lines = table(
        result("A1", 35.0, values()), result("A1", 35.0, values(), "high tide"), result("A2", 50.0, values())
    )
    assert text.count("\r\n") == 4
    assert [(line["variant"], line["place"]) for line in lines] == [
        ("A1", "here"),
        ("A1", "high tide"),
        ("A2", "here"),
    ]
    assert [line["settings.focal_mm"] for line in lines] == ["35.0", "35.0", "50.0"]


def test_header_is_label_key_place_picture_settings_then_paths():
    text, _ = table(result("A1", 35.0, values()))
    header = next(csv.reader(io.StringIO(text)))
    assert header[:5] == ["variant", "key", "place", "picture", "settings.projection"]
    assert len(set(header)) == len(header)
    assert "settings.pixels.0" in header
    at = header.index("targets.barge three.screen_xy.x")
    assert header[at : at + 4] == [
        "targets.barge three.screen_xy.x",
        "targets.barge three.screen_xy.y",
        "targets.barge three.seen",
        "targets.barge three.hidden_by",
    ]


def test_values_are_spread_and_null_is_an_empty_cell():
    _, (line,) = table(result("A1", 35.0, values()))
    assert line["targets.barge three.screen_xy.y"] == "0.2955185"
    assert line["targets.barge three.size_px.couch.0"] == "93.333"
    assert line["targets.barge three.hidden_by"] == '{"crate, left": 0.12346, "hopper": 0.25}'
    assert line["framing.horizon_y"] == ""
    assert line["settings.offset_by"] == ""


def test_null_in_one_line_leaves_the_spread_cells_empty():
    null = values() | {("targets", "barge three", "screen_xy"): None}
    _, lines = table(result("A1", 35.0, null), result("A2", 50.0, values()))
    assert [line["targets.barge three.screen_xy.x"] for line in lines] == ["", "0.5"]
    assert [line["targets.barge three.seen"] for line in lines] == ["0.5", "0.5"]


def test_names_with_commas_quotes_and_newlines_are_safe():
    for name in ("a,b", 'a"b"', "two\nlines", "two\r\nlines", "=1+1"):
        text, lines = table(result("A1", 35.0, values(name), place=name))
        assert len(lines) == 1
        assert lines[0]["place"] == name
        assert lines[0][f"targets.{name}.seen"] == "0.5"
        assert text.startswith("variant,key,place,picture,")


def test_reading_that_one_row_lacks_is_empty_there():
    less = {path: value for path, value in values().items() if path[0] != "gaps"}
    _, lines = table(result("A1", 35.0, less), result("A2", 50.0, values()))
    assert [line["gaps.two to three.verdict"] for line in lines] == ["", "needs a cue"]


def test_half_a_surrogate_pair_in_a_name_becomes_a_question_mark():
    text, _ = table(result("A1", 35.0, values("half \ud800")))
    assert "targets.half ?.seen" in text
    assert text.encode()
