"""The decision that a study keeps, and notes on its variants: both by key, since labels move."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BeforeValidator

from stationpoint.base.allowed import quoted_value
from stationpoint.base.errors import StudyWrong
from stationpoint.study.table import Given, Name, Table

if TYPE_CHECKING:
    from stationpoint.study.models import Study
    from stationpoint.study.sweep import Variant

TABLE = "decision"
UNMARKED = "nothing is marked as chosen; choose one of this sweep, or sweep what was chosen"


def _as_written(value: object) -> object:
    """A date as TOML writes it, or as text."""
    return value.isoformat() if isinstance(value, date) else value


class Decision(Table):
    """Which variant was taken, by whom, why and when. chosen: a variant's key. on: a date, as written."""

    chosen: Name
    by: str = ""
    because: str = ""
    on: Annotated[str, BeforeValidator(_as_written)] = ""


class Note(Table):
    """A remark on one variant, named by its key. by: who made it."""

    variant: Name
    by: str = ""
    text: Name

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        text = given.get("text")
        if isinstance(text, str) and text and not text.strip():
            yield "text is blank; say something of the variant, or take the note out"


def decided(study: Study, variants: Sequence[Variant]) -> Variant | None:
    """The variant that the study's decision is for; None without a decision, or where the sweep has none
    of that key."""
    if study.decision is None:
        return None
    return next((one for one in variants if one.key == study.decision.chosen), None)


def note_on(study: Study, variant: Variant) -> str:
    """What the study's notes say of a variant, in one line; "" where they say nothing."""
    those = [note for note in study.note if note.variant == variant.key]
    said = (f"{note.by}: {note.text}" if note.by else note.text for note in those)
    return "; ".join(" ".join(words.split()) for words in said)


def key_complaints(study: Study, variants: Sequence[Variant]) -> Iterator[str]:
    """Complaints about labels where keys are asked for, each with the key that is meant."""
    keys = {one.key for one in variants}
    by_label = {one.label: one.key for one in variants}
    for where, key, word in _keys(study):
        if key not in keys and key.upper() in by_label:
            yield (
                f"{where}: {word} = {quoted_value(key)} is a label, which moves as the sweep changes; write "
                f"its key: {word} = {quoted_value(by_label[key.upper()])}."
            )


def unknown_keys(study: Study, variants: Sequence[Variant]) -> Iterator[str]:
    """A sentence for each key that no variant of the sweep has."""
    keys = {one.key for one in variants}
    for where, key, _ in _keys(study):
        if key not in keys:
            what = UNMARKED if where == TABLE else "it stands nowhere"
            yield f"{where}: no variant of the sweep has the key {quoted_value(key)}, so {what}."


def _keys(study: Study) -> Iterator[tuple[str, str, str]]:
    """Where a key is written, the key, and the word for it."""
    if study.decision is not None:
        yield TABLE, study.decision.chosen, "chosen"
    for number, note in enumerate(study.note, 1):
        yield f"note {number}", note.variant, "variant"


def with_decision(text: str, decision: Mapping[str, str], name: str) -> str:
    """A study's text with this decision in place of the one that it has, else at its end; all else stays as
    it is, comments and the ends of lines included.

    decision: by the keys of [decision]; what is empty is left out. name: what complaints call the file.
    Raises StudyWrong where the text cannot be changed so that nothing else changes.
    """
    said = {key: value for key, value in decision.items() if value}
    before = tomllib.loads(text)
    end = "\r\n" if "\r\n" in text else "\n"
    new = _replaced(text, before, said, end) if TABLE in before else _appended(text, said, end)
    if _data(new) != {**before, TABLE: said}:
        raise StudyWrong(
            f"{name}: its decision is written in a way that cannot be changed in place; "
            "make it a [decision] of its own, or take it out."
        )
    return new


def _data(text: str) -> dict[str, Any] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None


def _appended(text: str, said: Mapping[str, str], end: str) -> str:
    from stationpoint.study.toml import toml_value

    lines = [f"[{TABLE}]", *(f"{key} = {toml_value(value)}" for key, value in said.items())]
    gap = "" if not text else end if text.endswith("\n") else end + end
    return text + gap + "".join(line + end for line in lines)


def _replaced(text: str, before: Mapping[str, Any], said: Mapping[str, str], end: str) -> str:
    """The text with its decision changed; as it was where that cannot be done."""
    lines = text.splitlines(keepends=True)
    span = _lines_of_table(lines, before)
    if span is None:
        new = _edited(text, said, end)
        return text if new is None else new
    own = "".join(lines[span])
    new = _edited(own if own.endswith("\n") else own + end, said, end)
    return text if new is None else "".join((*lines[: span.start], new, *lines[span.stop :]))


def _lines_of_table(lines: Sequence[str], before: Mapping[str, Any]) -> slice | None:
    """The lines of a [decision] of its own, from its heading to its last key; None for one written
    otherwise. What looks like a heading may lie within a text of several lines, so both parts are read."""
    rest = {key: value for key, value in before.items() if key != TABLE}
    heads = [k for k, line in enumerate(lines) if line.lstrip().startswith("[")]
    for start in heads:
        for stop in (*(k for k in heads if k > start), len(lines)):
            is_own = _data("".join(lines[start:stop])) == {TABLE: before[TABLE]}
            if is_own and _data("".join((*lines[:start], *lines[stop:]))) == rest:
                while not (lines[stop - 1].strip() and lines[stop - 1].lstrip()[0] != "#"):
                    stop -= 1  # blank lines and comments before the next heading are the next one's
                return slice(start, stop)
    return None


def _edited(text: str, said: Mapping[str, str], end: str) -> str | None:
    """The text with other values in its decision, whose comments stay; None where that cannot be done."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError
    from tomlkit.items import InlineTable

    try:
        whole = tomlkit.parse(text)
        if tomlkit.dumps(whole) != text:
            return None
        table: Any = whole[TABLE]
        if isinstance(table, InlineTable):
            line = tomlkit.inline_table()
            line.update(said)
            whole[TABLE] = _in_place_of(table, line)
            return tomlkit.dumps(whole)
        for key in [key for key in table if key not in said]:
            del table[key]
        for key, value in said.items():
            item = tomlkit.string(value)
            if key in table:
                item = _in_place_of(table[key], item)
            else:
                item.trivia.trail = end
            table[key] = item
        return tomlkit.dumps(whole)
    except (TOMLKitError, KeyError, TypeError, AttributeError, ValueError):
        return None


def _in_place_of(old: Any, new: Any) -> Any:
    """An item with another one's comment and end of line."""
    for name in ("indent", "comment_ws", "comment", "trail"):
        setattr(new.trivia, name, getattr(old.trivia, name))
    return new
