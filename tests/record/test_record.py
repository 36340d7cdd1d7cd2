"""The record: nested from flat readings and back, rounded, and described by its schema."""

from __future__ import annotations

import json
from hashlib import sha256

import jsonschema
import numpy as np
import pytest

from record.results import FIELDS, result, values
from stationpoint.base.errors import StudyWrong
from stationpoint.readings.types import Field
from stationpoint.readings.verdict.judge import judge_all
from stationpoint.record.record import (
    Fields,
    flat,
    make_record,
    nested,
    plain,
    read_record,
    record_hash,
    record_text,
)
from stationpoint.record.schema import record_schema, schema_text
from stationpoint.study.models import Limit, Study, Target


def whole(results=None, **more):
    results = results or [result("A1", 35.0, values()), result("A1", 35.0, values(), "high tide")]
    facts = {"title": "Which?", "study_sha256": "ab" * 32, "renderer": "rays", "version": "0.1.0"}
    return make_record(results, **facts, fields=FIELDS, **more)


def test_record_has_one_variant_and_a_row_for_each_place():
    found = whole()
    assert list(found) == ["tool", "study", "renderer", "variants", "notes", "cameras", "rows", "verdicts"]
    assert found["tool"] == {"name": "stationpoint", "version": "0.1.0"}
    assert [(one["id"], one["key"]) for one in found["variants"]] == [("A1", "000023")]
    assert [(row["variant"], row["place"], row["picture"]) for row in found["rows"]] == [
        ("A1", "here", "16:9"),
        ("A1", "high tide", "16:9"),
    ]
    assert found["verdicts"] == []


def test_settings_are_those_of_the_contract_and_null_where_none_applies():
    settings = whole()["variants"][0]["settings"]
    contract = (
        "projection, focal_mm, hfov_deg, vfov_deg, dfov_deg, view_height_m, distance_m, pitch_deg, yaw_deg, "
        "roll_deg, offset, offset_by, aspect, pixels"
    )
    assert ", ".join(settings).startswith(contract)
    assert settings["hfov_deg"] == 54.4322
    assert settings["view_height_m"] is None
    assert settings["aspect"] == "16:9"
    assert settings["pixels"] == [1920, 1080]


def test_readings_are_nested_and_rounded_to_their_fields_decimals():
    row = whole()["rows"][0]
    target = row["targets"]["barge three"]
    assert target["screen_xy"] == [0.5, 0.2955185]
    assert target["hidden_by"] == {"crate, left": 0.12346, "hopper": 0.25}
    assert target["size_px"]["couch"] == [93.333, 120.0]
    assert row["gaps"]["two to three"]["flat_span_m"] == 0.94654
    assert row["framing"] == {"horizon_y": None}
    assert row["viewing"]["couch"]["picture_pixels"] == [1920, 1080]
    assert row["false_contacts"] == [{"a": "roof U", "b": "roof V", "flat_m": 0.0}]


def test_numbers_of_numpy_are_numbers_and_other_things_are_refused():
    assert plain(np.float32(0.5), 3) == 0.5
    assert plain(np.int64(7), 3) == 7
    assert plain(np.bool_(True), 3) is True
    assert plain(np.array([[1.23456, np.nan]]), 3) == [[1.235, None]]
    with pytest.raises(TypeError, match="no value for a record"):
        plain({1, 2}, 3)


def test_matrices_have_nine_significant_digits():
    matrices = whole()["rows"][0]["matrices"]
    assert matrices["view"][0] == [1.0, 0.0, 0.0, 0.333333333]
    assert matrices["projection"][0][0] == 1.94444444  # 2 x 35 / 36


def test_text_has_no_minus_zero_and_no_nan_and_ends_in_one_newline():
    odd = values() | {
        ("framing", "horizon_y"): float("nan"),
        ("gaps", "two to three", "true_span_m"): np.inf,
        ("gaps", "two to three", "flat_span_m"): -1e-9,
    }
    text = record_text(whole([result("A1", 35.0, odd)]))
    assert "-0.0" not in text
    assert "NaN" not in text
    assert "Infinity" not in text
    assert text.endswith("}\n")
    assert not text.endswith("\n\n")
    row = json.loads(text)["rows"][0]
    assert row["framing"]["horizon_y"] is None
    assert row["gaps"]["two to three"]["flat_span_m"] == 0.0


@pytest.mark.parametrize("name", ['a"b', "two\nlines", "a.b/c", "中", "half \ud800", "*", ""])
def test_any_name_is_written_and_read_back(name):
    found = whole([result("A1", 35.0, values(name))])
    text = record_text(found)
    again = read_record(text)
    shown = name.replace("\ud800", "?")
    assert again["rows"][0]["targets"][shown] == found["rows"][0]["targets"][name]
    assert record_text(again) == text


def test_flat_readings_come_back_from_a_record():
    row = read_record(record_text(whole()))["rows"][0]
    found = flat(row, Fields(FIELDS))
    assert set(found) == set(values())
    assert found["targets", "barge three", "hidden_by"] == {"crate, left": 0.12346, "hopper": 0.25}
    assert found["targets", "barge three", "screen_xy"] == [0.5, 0.2955185]
    assert nested(found, Fields(FIELDS)) == {k: row[k] for k in row if k in ("targets", *_groups())}


def _groups():
    return {path[0] for path in values()}


def test_literal_field_goes_before_a_wildcard():
    from stationpoint.readings.types import Field

    fields = Fields([Field(("a", "*"), "m", 1, "any"), Field(("a", "b"), "m", 3, "this one")])
    assert nested({("a", "b"): 0.12345, ("a", "c"): 0.12345}, fields) == {"a": {"b": 0.123, "c": 0.1}}
    assert fields.at(("a", "b", "c")) is None


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ({("nothing", "known"): 1.0}, "no field describes"),
        ({("a",): 1.0, ("a", "b"): 1.0}, "lies within"),
        ({("a", "b"): 1.0, ("a",): 1.0}, "lies around"),
    ],
)
def test_readings_that_clash_are_refused(readings, words):
    from stationpoint.readings.types import Field

    fields = Fields([Field(("a",), "", 1, ""), Field(("a", "*"), "", 1, "")])
    with pytest.raises(ValueError, match=words):
        nested(readings, fields)


def test_hash_is_the_start_of_the_texts_sha256():
    # SHA-256 of "abc": FIPS 180-4, example 1.
    assert record_hash("abc") == "ba7816bf8f"
    text = record_text(whole())
    assert record_hash(text) == sha256(text.encode()).hexdigest()[:10]


def test_verdicts_name_what_binds_and_what_fails():
    study = Study(
        scene="quay.toml",
        target=(Target(name="barge three", at=(0, 0, 0)),),
        limit=(Limit(reading="targets.*.seen", min=0.8), Limit(reading="gaps.*.verdict", **{"not": "lies"})),
    )
    results = [result("A1", 35.0, values())]
    (verdict,) = whole(results, verdicts=judge_all(results, study))["verdicts"]
    # (0.5 - 0.8) / 0.8 = -0.375
    failed = {
        "reading": "targets.barge three.seen",
        "place": "here",
        "viewing": None,
        "value": 0.5,
        "limit": {"min": 0.8},
    }
    assert verdict == {
        "variant": "A1",
        "holds": False,
        "score": -0.375,
        "binds": failed,
        "failed": [failed],
        "told": [],
    }


def test_record_holds_against_its_schema_and_a_broken_one_does_not():
    schema = record_schema(FIELDS)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    found = json.loads(record_text(whole()))
    assert list(validator.iter_errors(found)) == []
    for spoil in (
        lambda one: one.pop("renderer"),
        lambda one: one["variants"][0]["settings"].pop("distance_m"),
        lambda one: one["variants"][0]["settings"].update(focal_mm="35"),
        lambda one: one["rows"][0]["targets"]["barge three"].update(screen_xy=[0.5]),
        lambda one: one["rows"][0]["gaps"]["two to three"].update(true_span_m="far"),
        lambda one: one["rows"][0]["matrices"]["view"].pop(),
        lambda one: one["rows"][0]["viewing"]["couch"].update(picture_pixels=True),
        lambda one: one["tool"].update(name="another"),
    ):
        broken = json.loads(json.dumps(found))
        spoil(broken)
        assert list(validator.iter_errors(broken)), spoil


def test_schema_says_meaning_unit_and_null_of_every_reading():
    entry = record_schema(FIELDS)["properties"]["rows"]["items"]["properties"]["framing"]
    assert entry["properties"]["horizon_y"]["description"] == (
        "The horizon's row. Null: a parallel view has none."
    )
    gap = record_schema(FIELDS)["properties"]["rows"]["items"]["properties"]["gaps"]["additionalProperties"]
    assert gap["properties"]["flat_span_m"]["unit"] == "m"
    assert json.loads(schema_text(FIELDS)) == record_schema(FIELDS)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not JSON"),
        ("{", "not JSON"),
        ('{"tool": NaN}', "not JSON"),
        ("[" * 100000, "not JSON"),
        ("[]", "no record"),
        ("3", "no record"),
        ('{"tool": {"name": "stationpoint"}, "variants": [], "rows": [1]}', "no record"),
        ('{"tool": {"name": "another"}, "variants": [], "rows": []}', "no record"),
    ],
)
def test_text_that_is_no_record_is_told(text, words):
    with pytest.raises(StudyWrong, match=words):
        read_record(text, "before.json")


PARTS = (
    Field(("a",), "", 0, "Who."),
    Field(("level_m",), "m", 5, "How far."),
    Field(("border_arcmin",), "'", 3, "How long.", null="a break"),
    Field(("at_xy",), "", 7, "Where."),
)
LISTED = Field(("false_contacts",), "", 0, "Pairs.", parts=PARTS)


def test_a_list_of_groups_is_rounded_by_its_parts_and_fits_the_schema():
    group = {"a": "U", "level_m": 5.1960000991, "border_arcmin": 435.4342294, "at_xy": (0.12345678, 0.5)}
    found = nested({("false_contacts",): (group, {**group, "border_arcmin": None})}, Fields([LISTED]))
    first, second = found["false_contacts"]
    assert first == {"a": "U", "level_m": 5.196, "border_arcmin": 435.434, "at_xy": [0.1234568, 0.5]}
    assert second["border_arcmin"] is None
    assert nested({("false_contacts",): ()}, Fields([LISTED])) == {"false_contacts": []}
    schema = record_schema([LISTED])["properties"]["rows"]["items"]["properties"]["false_contacts"]
    jsonschema.validate([first, second], schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate([{**first, "at_xy": "there"}], schema)
    assert flat(found, Fields([LISTED])) == {("false_contacts",): [first, second]}
