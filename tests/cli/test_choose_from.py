"""`choose --from`: notes of reviews put into a study, two people's merged, a conflict told in a sentence."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from cli_calls import STUDY, done, refused, yard
from stationpoint.study.decision import Note
from stationpoint.study.notes import Review, merge_notes

RAYS = ("--renderer", "rays", "--quiet")


def keys(folder: Path) -> dict[str, str]:
    record = done("measure", "yard.study.toml", "--only", "axes", "--json", "-", *RAYS, cwd=folder).record
    return {one["id"]: one["key"] for one in record["variants"]}


def review(folder: Path, name: str, *notes: tuple[str, str, str], chosen: str = "", by: str = "") -> str:
    lines = [f'[decision]\nchosen = "{chosen}"\nby = "{by}"\n'] if chosen else []
    lines += [f'[[note]]\nvariant = "{key}"\nby = "{who}"\ntext = "{text}"\n' for key, who, text in notes]
    (folder / name).write_text("\n".join(lines), "utf-8")
    return name


def notes_in(folder: Path) -> list[dict[str, str]]:
    return tomllib.loads((folder / "yard.study.toml").read_text("utf-8")).get("note", [])


def test_notes_and_choice_of_a_review_come_into_the_study_and_all_else_stays(tmp_path: Path) -> None:
    path = yard(tmp_path)
    before, key = path.read_text("utf-8"), keys(tmp_path)
    review(tmp_path, "ak.toml", (key["A1"], "AK", "too wide"), chosen=key["A2"], by="AK")
    said = done("choose", "yard.study.toml", "--from", "ak.toml", cwd=tmp_path).text
    assert said == f"yard.study.toml: chosen is A2 ({key['A2']}), by AK.\nyard.study.toml: 1 note added.\n"
    text = path.read_text("utf-8")
    assert text.startswith(before)
    assert tomllib.loads(text)["decision"] == {"chosen": key["A2"], "by": "AK"}
    assert notes_in(tmp_path) == [{"variant": key["A1"], "by": "AK", "text": "too wide"}]


def test_the_same_file_twice_changes_nothing(tmp_path: Path) -> None:
    path, key = yard(tmp_path), keys(tmp_path)
    review(tmp_path, "ak.toml", (key["A1"], "AK", "too wide"), chosen=key["A2"], by="AK")
    done("choose", "yard.study.toml", "--from", "ak.toml", cwd=tmp_path)
    text = path.read_text("utf-8")
    said = done("choose", "yard.study.toml", "--from", "ak.toml", cwd=tmp_path).text
    assert said == "yard.study.toml: no note is new.\n"
    assert path.read_text("utf-8") == text


def test_notes_of_two_people_stand_side_by_side(tmp_path: Path) -> None:
    yard(tmp_path)
    key = keys(tmp_path)
    one = review(tmp_path, "ak.toml", (key["A1"], "AK", "too wide"))
    other = review(tmp_path, "bl.toml", (key["A1"], "BL", "too wide"), (key["A2"], "BL", "calm"))
    done("choose", "yard.study.toml", "--from", one, "--from", other, cwd=tmp_path)
    assert [(n["by"], n["text"]) for n in notes_in(tmp_path)] == [
        ("AK", "too wide"),
        ("BL", "too wide"),
        ("BL", "calm"),
    ]


def test_a_person_who_notes_again_replaces_the_own_note_and_its_comment_stays(tmp_path: Path) -> None:
    key = keys_of_fresh(tmp_path)
    path = tmp_path / "yard.study.toml"
    own = f'\n[[note]]  # at first\nvariant = "{key["A1"]}"\nby = "AK"\ntext = "too wide"  # said twice\n'
    path.write_text(STUDY + own, "utf-8")
    review(tmp_path, "ak.toml", (key["A1"], "AK", "wide, but it works"))
    said = done("choose", "yard.study.toml", "--from", "ak.toml", cwd=tmp_path).text
    assert said == "yard.study.toml: 1 replaced.\nAK noted before on A1: too wide\n"
    assert path.read_text("utf-8") == STUDY + own.replace("too wide", "wide, but it works")


def keys_of_fresh(folder: Path) -> dict[str, str]:
    yard(folder)
    return keys(folder)


def test_choices_that_differ_are_one_sentence_and_nothing_is_written(tmp_path: Path) -> None:
    path, key = yard(tmp_path), keys(tmp_path)
    before = path.read_bytes()
    one = review(tmp_path, "ak.toml", (key["A1"], "AK", "x"), chosen=key["A1"], by="AK")
    other = review(tmp_path, "bl.toml", chosen=key["A2"], by="BL")
    said = refused("choose", "yard.study.toml", "--from", one, "--from", other, cwd=tmp_path)
    assert said == (
        "ak.toml has chosen A1 (by AK), and bl.toml has chosen A2 (by BL); agree on one and name it: "
        "stationpoint choose yard.study.toml VARIANT --because WORDS --from bl.toml\n"
    )
    assert path.read_bytes() == before
    words = ("--because", "agreed", "--from", one, "--from", other)
    done("choose", "yard.study.toml", "A2", *words, cwd=tmp_path)
    assert tomllib.loads(path.read_text("utf-8"))["decision"] == {"chosen": key["A2"], "because": "agreed"}
    assert len(notes_in(tmp_path)) == 1


def test_a_review_that_differs_from_the_studys_own_decision_is_told(tmp_path: Path) -> None:
    key = keys_of_fresh(tmp_path)
    done("choose", "yard.study.toml", "A1", "--because", "it shows", "--by", "AK", cwd=tmp_path)
    review(tmp_path, "bl.toml", chosen=key["A2"], by="BL")
    said = refused("choose", "yard.study.toml", "--from", "bl.toml", cwd=tmp_path)
    assert said.startswith("yard.study.toml has chosen A1 (by AK), and bl.toml has chosen A2 (by BL); agree")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[decision]\nchosen = "abcdef"\n', 'no variant of the sweep has the key "abcdef"'),
        ('[[note]]\nvariant = "abcdef"\n', "note 1: text is missing"),
        ('[[note]]\nvarient = "abcdef"\ntext = "x"\n', "varient"),
        ("[[note]\n", "is not valid TOML"),
        ('title = "x"\n', "title"),
    ],
    ids=["unknown key", "no text", "slip", "no TOML", "not ours"],
)
def test_a_file_that_is_no_review_is_refused(text: str, says: str, tmp_path: Path) -> None:
    path = yard(tmp_path)
    before = path.read_bytes()
    (tmp_path / "notes.toml").write_text(text, "utf-8")
    assert says in refused("choose", "yard.study.toml", "--from", "notes.toml", cwd=tmp_path)
    assert path.read_bytes() == before


def test_a_note_on_what_the_sweep_has_not_is_kept_and_told(tmp_path: Path) -> None:
    yard(tmp_path)
    review(tmp_path, "ak.toml", ("abcdef", "AK", "was fine"))
    said = done("choose", "yard.study.toml", "--from", "ak.toml", cwd=tmp_path).text
    assert 'no variant of the sweep has the key "abcdef"' in said
    assert len(notes_in(tmp_path)) == 1


def test_notes_that_cannot_be_added_to_in_place_are_left(tmp_path: Path) -> None:
    key = keys_of_fresh(tmp_path)
    path = tmp_path / "yard.study.toml"
    text = f'note = [{{ variant = "{key["A1"]}", text = "x" }}]\n' + STUDY
    path.write_text(text, "utf-8")
    review(tmp_path, "ak.toml", (key["A1"], "AK", "too wide"))
    said = refused("choose", "yard.study.toml", "--from", "ak.toml", cwd=tmp_path)
    assert "cannot be added to in place" in said
    assert path.read_text("utf-8") == text


def test_a_signed_note_says_who_made_it_on_the_sheet(tmp_path: Path) -> None:
    key = keys_of_fresh(tmp_path)
    review(tmp_path, "ak.toml", (key["A1"], "AK", "too wide"))
    done("choose", "yard.study.toml", "--from", "ak.toml", cwd=tmp_path)
    record = done("measure", "yard.study.toml", "--only", "axes", "--json", "-", *RAYS, cwd=tmp_path).record
    assert record["variants"][0]["note"] == "AK: too wide"


def note(by: str, text: str) -> Note:
    return Note(variant="9f31c2", by=by, text=text)


def test_notes_merge_by_variant_and_author() -> None:
    mine, again, other = note("AK", "too wide"), note("AK", "wide"), note("BL", "too  wide")
    nobodys = note("", "too wide"), note("", "calm")
    merged = merge_notes((mine,), [Review(note=(again, other)), Review(note=nobodys)])
    assert merged.notes == (again, other, *nobodys)
    assert merged.added == (other, *nobodys)
    assert merged.replaced == ((mine, again),)
    assert merge_notes(merged.notes, [Review(note=(again, note("BL", "too wide")))]).added == ()
