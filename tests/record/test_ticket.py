"""The plain text for tickets."""

from __future__ import annotations

from record.results import FIELDS, result, values
from stationpoint.readings.verdict.judge import judge_all
from stationpoint.record.record import make_record
from stationpoint.record.ticket import CAUTION, ticket_text
from stationpoint.study.models import Limit, Study


def whole(results, title="Which lens?", limits=()):
    facts = {"title": title, "study_sha256": "", "renderer": "gl", "version": "0"}
    verdicts = judge_all(results, Study(scene="quay.toml", limit=limits))
    return make_record(results, **facts, fields=FIELDS, verdicts=verdicts)


def test_ticket_says_title_answer_shared_variants_hash_and_caution():
    found = whole([result("A1", 35.0, values()), result("A2", 50.0, values())])
    lines = ticket_text(found, "0a1b2c3d4e", "A2, since it is longer.").splitlines()
    assert lines == [
        "Which lens?",
        "A2, since it is longer.",
        "All 2 variants: perspective, 8.0 m away, pitch 20° down, yaw 0°, 16:9.",
        "A1: 35 mm (54.4 × 32.3°); two to three 4.1 m looks 0.9 m (needs a cue); barge three 50 % seen.",
        "A2: 50 mm (54.4 × 32.3°); two to three 4.1 m looks 0.9 m (needs a cue); barge three 50 % seen.",
        "Record 0a1b2c3d4e.",
        CAUTION,
    ]


def test_many_variants_still_make_ten_lines_and_say_how_many_more():
    found = whole([result(f"A{k}", 20.0 + k, values()) for k in range(24)])
    lines = ticket_text(found, "", "None.").splitlines()
    assert len(lines) == 10
    assert lines[-2].endswith("19 more variants in it.")


def test_best_by_worst_margin_comes_first_and_failures_name_their_limit():
    worse = values() | {("targets", "barge three", "seen"): 0.2}
    results = [result("A1", 35.0, worse), result("A2", 50.0, values())]
    found = whole(results, limits=(Limit(reading="targets.*.seen", min=0.4),))
    lines = ticket_text(found, "", binds={"A1": "barge three: seen 20 %, needs 40 %"}).splitlines()
    assert lines[2].startswith("A2: 50 mm (54.4 × 32.3°); holds;")
    assert "; fails: barge three: seen 20 %, needs 40 %;" in lines[3]


def test_names_with_newlines_stay_on_their_line():
    lines = ticket_text(
        whole([result("A1", 35.0, values("two\nlines"))], title="One\ntitle"), ""
    ).splitlines()
    assert lines[0] == "One title"
    assert len(lines) == 5
    assert "two lines 50 % seen" in lines[2]


def test_record_without_readings_or_title_still_makes_a_ticket():
    lines = ticket_text(whole([result("A1", 35.0, {})], title=""), "").splitlines()
    assert lines[0] == "Untitled study"
    assert lines[-1] == CAUTION
