"""`choose` end to end, and what judge, check, sheet and ticket say of a decision."""

from __future__ import annotations

import errno
import json
import os
import tomllib
from pathlib import Path
from unittest.mock import patch

import jsonschema
import pytest

from cli_calls import SMALL, STUDY, call, done, refused, yard
from stationpoint.readings import FIELDS
from stationpoint.record.schema import record_schema

BRIEF = """
# the brief
[[limit]]  # how much of it
reading = "targets.crate.seen"
min = 0.5

[[limit]]
reading = "targets.crate.size_arcmin"
min = 1
"""
HARD = (
    BRIEF + '\n[[limit]]\nreading = "viewing.desk.hfov_deg"\nmax = 50\n'
)  # 2 atan(18 / f): 24 mm 73.7, 50 mm 39.6
WHY = ("--because", "the crate shows", "--by", "AK", "--on", "2026-11-12")
RAYS = ("--renderer", "rays", "--quiet")


@pytest.fixture
def hard(tmp_path: Path) -> Path:
    yard(tmp_path, STUDY + HARD)
    return tmp_path


def key_of(folder: Path, label: str) -> str:
    record = done("measure", "yard.study.toml", "--only", "axes", "--json", "-", *RAYS, cwd=folder).record
    return next(one["key"] for one in record["variants"] if one["id"] == label)


def test_choose_writes_the_key_of_a_label_and_changes_nothing_else(tmp_path: Path) -> None:
    path = yard(tmp_path, STUDY + BRIEF)
    key = key_of(tmp_path, "A2")
    said = done("choose", "yard.study.toml", "A2", *WHY, cwd=tmp_path).text
    assert said == f"yard.study.toml: chosen is A2 ({key}), by AK on 2026-11-12: because the crate shows.\n"
    text = path.read_text("utf-8")
    assert text.startswith(STUDY + BRIEF)
    assert tomllib.loads(text)["decision"] == {
        "chosen": key,
        "by": "AK",
        "because": "the crate shows",
        "on": "2026-11-12",
    }
    by_key = done("choose", "yard.study.toml", key, *WHY, cwd=tmp_path).text
    assert by_key == said
    assert path.read_text("utf-8") == text


def test_decision_that_is_replaced_is_told(tmp_path: Path) -> None:
    path = yard(tmp_path, STUDY + BRIEF)
    done("choose", "yard.study.toml", "A2", *WHY, cwd=tmp_path)
    said = done("choose", "yard.study.toml", "a1", "--because", "because it is wider", cwd=tmp_path).text
    first, second = said.splitlines()
    assert first.endswith(": because it is wider.")
    assert second.startswith("It was A2 (")
    assert second.endswith("by AK on 2026-11-12: because the crate shows.")
    assert set(tomllib.loads(path.read_text("utf-8"))["decision"]) == {"chosen", "because"}


def test_file_of_windows_keeps_its_ends_of_lines_its_mark_and_its_rights(tmp_path: Path) -> None:
    path = yard(tmp_path)
    path.write_bytes(b"\xef\xbb\xbf" + STUDY.replace("\n", "\r\n").encode())
    path.chmod(0o640)
    done("choose", "yard.study.toml", "A1", *WHY, cwd=tmp_path)
    whole = path.read_bytes()
    assert whole.startswith(b"\xef\xbb\xbf" + STUDY.replace("\n", "\r\n").encode())
    assert whole.count(b"\n") == whole.count(b"\r\n")
    assert path.stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("yard.study.toml", "B3", "--because", "x"), 'there is no variant "B3"; the sweep has A1 to A2'),
        (("yard.study.toml", "abcdef", "--because", "x"), 'there is no variant "abcdef"'),
        (("yard.study.toml", "A1", "--because", " "), "--because is empty"),
        (("yard.study.toml", "A1"), "Missing option '--because'"),
        (("yard.toml", "A1", "--because", "x"), "is a scene file, not a study"),
        (("yard.study.tom", "A1", "--because", "x"), "there is no such file"),
        (("yard.study.toml", "A1", "--because", "x\udcff"), "--because: the words are not text"),
    ],
    ids=["label", "key", "blank", "no reason", "scene", "no file", "no text"],
)
def test_mistakes_are_one_sentence_and_the_study_stays(
    words: tuple[str, ...], says: str, tmp_path: Path
) -> None:
    yard(tmp_path)
    assert says in refused("choose", *words, cwd=tmp_path)


def test_study_stays_whole_where_its_folder_takes_no_file(tmp_path: Path) -> None:
    yard(tmp_path)
    lacking = OSError(errno.EROFS, os.strerror(errno.EROFS))
    with patch("stationpoint.base.files.os.replace", side_effect=lacking):
        said = refused("choose", "yard.study.toml", "A1", *WHY, cwd=tmp_path)
    assert said == "yard.study.toml cannot be written: it is read-only.\n"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_read_only_folder_is_told(tmp_path: Path) -> None:
    yard(tmp_path)
    tmp_path.chmod(0o500)
    try:
        assert "may not write there" in refused("choose", "yard.study.toml", "A1", *WHY, cwd=tmp_path)
    finally:
        tmp_path.chmod(0o700)


def test_judge_asks_the_chosen_one_where_there_is_a_decision(hard: Path) -> None:
    assert call("judge", "yard.study.toml", *RAYS, cwd=hard).code == 0  # A2 holds, any is enough
    done("choose", "yard.study.toml", "A1", *WHY, cwd=hard)
    judged = call("judge", "yard.study.toml", *RAYS, cwd=hard)
    assert judged.code == 1
    assert judged.text.splitlines()[-1] == "The chosen one, A1, fails."
    assert call("judge", "yard.study.toml", "--variant", "A2", *RAYS, cwd=hard).code == 0
    done("choose", "yard.study.toml", "A2", *WHY, cwd=hard)
    assert call("judge", "yard.study.toml", *RAYS, cwd=hard).code == 0
    assert call("judge", "yard.study.toml", "--every", *RAYS, cwd=hard).code == 1


def test_key_that_the_sweep_has_not_ends_judge_and_is_told_by_the_rest(tmp_path: Path) -> None:
    yard(tmp_path, STUDY + BRIEF + '[decision]\nchosen = "abcdef"\n')
    words = 'decision: no variant of the sweep has the key "abcdef"'
    assert words in refused("judge", "yard.study.toml", *RAYS, cwd=tmp_path)
    assert words in done("check", "yard.study.toml", cwd=tmp_path).text
    drawn = done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    assert words in drawn.err
    assert "no variant of the sweep has that key" in (tmp_path / "yard.txt").read_text("utf-8")
    record = json.loads((tmp_path / "yard.json").read_text("utf-8"))
    assert record["study"]["decision"]["variant"] is None
    assert any(note.startswith(words) for note in record["notes"])
    said = done("choose", "yard.study.toml", "A1", *WHY, cwd=tmp_path).text
    assert "It was abcdef, which the sweep has not." in said


def test_label_in_a_study_is_refused_and_choose_mends_it(tmp_path: Path) -> None:
    yard(tmp_path, STUDY + '[decision]\nchosen = "A2"\n')
    said = refused("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    done("choose", "yard.study.toml", "A2", *WHY, cwd=tmp_path)
    assert f'write its key: chosen = "{key_of(tmp_path, "A2")}".' in said


def test_record_and_ticket_have_decision_and_notes_and_the_record_its_schema(hard: Path) -> None:
    done("choose", "yard.study.toml", "A1", *WHY, cwd=hard)
    path = hard / "yard.study.toml"
    note = f'\n[[note]]\nvariant = "{key_of(hard, "A2")}"\ntext = "calm"\n'
    path.write_text(path.read_text("utf-8") + note, "utf-8")
    done("sheet", "yard.study.toml", *SMALL, cwd=hard)
    record = json.loads((hard / "yard.json").read_text("utf-8"))
    assert record["study"]["decision"] == {
        "chosen": key_of(hard, "A1"),
        "variant": "A1",
        "by": "AK",
        "because": "the crate shows",
        "on": "2026-11-12",
    }
    assert [one.get("note") for one in record["variants"]] == [None, "calm"]
    jsonschema.validate(record, record_schema(FIELDS))
    ticket = (hard / "yard.txt").read_text("utf-8").splitlines()
    line = next(line for line in ticket if line.startswith("Chosen: A1, 24 mm"))
    assert ", by AK on 2026-11-12: because the crate shows; it fails: " in line
    assert next(line for line in ticket if line.startswith("A2: ")).endswith("note: calm.")
