"""Notes of reviews, from files that the page for review saves, put into the study that they are about."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from pydantic import ValidationError

from stationpoint.base.complaints import sentences
from stationpoint.base.errors import StudyWrong
from stationpoint.study.decision import Decision, Note
from stationpoint.study.file import parsed, read_text
from stationpoint.study.table import Table
from stationpoint.study.toml import toml_value

TABLE = "note"


class Review(Table):
    """What a file of notes says. decision: the variant that its writer would take."""

    decision: Decision | None = None
    note: tuple[Note, ...] = ()


class Merged(NamedTuple):
    """The notes of a study with those of reviews. notes: all of them, in order. added: those that are new.
    replaced: what stood there before of the same person on the same variant -> what does now."""

    notes: tuple[Note, ...]
    added: tuple[Note, ...]
    replaced: tuple[tuple[Note, Note], ...]


def read_review(path: Path) -> Review:
    """A file of notes. Raises StudyWrong."""
    if not path.exists():
        raise StudyWrong(f"{path}: there is no such file.")
    data = parsed(read_text(path), path.name)
    try:
        return Review.model_validate(data, context={"file": True})
    except ValidationError as error:
        raise StudyWrong("\n".join(sentences(error, data, path.name, Review))) from None


def merge_notes(before: Sequence[Note], reviews: Sequence[Review]) -> Merged:
    """A study's notes with those of reviews. One person has one note on a variant, the last one given; of
    notes that nobody signed each stays. What is there already in the same words is not doubled."""
    notes, added = list(before), list[Note]()
    replaced: list[tuple[Note, Note]] = []
    for note in (one for review in reviews for one in review.note):
        if any(_same(note, other) for other in notes):
            continue
        at = next((k for k, other in enumerate(notes) if note.by and _of_one(note, other)), None)
        if at is None:
            notes.append(note)
            added.append(note)
        else:
            if notes[at] in added:
                added[added.index(notes[at])] = note
            else:
                replaced = [pair for pair in replaced if pair[1] is not notes[at]]
                replaced.append((notes[at], note))
            notes[at] = note
    return Merged(tuple(notes), tuple(added), tuple(replaced))


def _of_one(note: Note, other: Note) -> bool:
    return (note.variant, note.by) == (other.variant, other.by)


def _same(note: Note, other: Note) -> bool:
    return _of_one(note, other) and note.text.split() == other.text.split()


def with_notes(text: str, merged: Merged, name: str) -> str:
    """A study's text with these notes; all else stays as it is, comments and the ends of lines included.

    name: what complaints call the file. Raises StudyWrong where the text cannot be changed so that nothing
    else changes, as where its notes stand in a file that it includes.
    """
    before = tomllib.loads(text)
    new = _edited(text, merged) if merged.replaced else text
    end = "\r\n" if "\r\n" in text else "\n"
    for note in merged.added:
        gap = "" if not new else end if new.endswith("\n") else end + end
        lines = [f"[[{TABLE}]]", *(f"{key} = {toml_value(value)}" for key, value in _said(note).items())]
        new += gap + "".join(line + end for line in lines)
    if _data(new) != {**before, TABLE: [_said(note) for note in merged.notes]}:
        raise StudyWrong(
            f"{name}: its notes are written in a way that cannot be added to in place; "
            f"make each a [[{TABLE}]] of its own in this file."
        )
    return new


def _said(note: Note) -> dict[str, str]:
    return {"variant": note.variant} | ({"by": note.by} if note.by else {}) | {"text": note.text}


def _data(text: str) -> Mapping[str, Any] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None


def _edited(text: str, merged: Merged) -> str:
    """The text with other words in notes that it has; as it was where that cannot be done."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        whole = tomlkit.parse(text)
        tables: Any = whole[TABLE]
        for old, new in merged.replaced:
            table = next(one for one in tables if Note.model_validate(dict(one)) == old)
            item = tomlkit.string(new.text)
            for part in ("indent", "comment_ws", "comment", "trail"):
                setattr(item.trivia, part, getattr(table["text"].trivia, part))
            table["text"] = item
        return tomlkit.dumps(whole)
    except (TOMLKitError, KeyError, TypeError, AttributeError, ValueError, StopIteration):
        return text
