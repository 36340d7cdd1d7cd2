"""A study -> TOML text that reads back as the same study, with comments where they are wanted.

Written here rather than by a library: tables that belong together stay on one line (a jump, an
axis), comments can stand beside keys, and nothing more has to be installed.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from stationpoint.study.models import FURTHER, Study

BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
WIDEST = 44  # a comment stands beside a line of up to so many characters, else above it


def study_text(study: Study, comments: Mapping[str, str] | None = None) -> str:
    """The study as TOML, in the order of the file's model; what was not written is left out.

    comments: "camera.pitch_deg" or "camera" -> a few words to stand beside the key or the heading,
    the first time that it is there; "limit.2" -> above the second [[limit]].
    """
    notes = dict(comments or {})
    said = study.model_dump(by_alias=True, exclude_unset=True, exclude_none=True)
    if said.pop(FURTHER, None):
        several = (study.subject, *study.others)
        said["subject"] = tuple(
            one.model_dump(by_alias=True, exclude_unset=True, exclude_none=True) for one in several if one
        )
    lines: list[str] = []
    for key, value in said.items():
        if not _is_table(value) and not _is_tables(value):
            lines += _line(key, value, notes.pop(key, ""))
    for key, value in said.items():
        if _is_table(value):
            lines += _table(f"[{key}]", key, value, notes)
        elif _is_tables(value):
            for number, entry in enumerate(value, 1):
                above = notes.pop(f"{key}.{number}", "")
                blank, *rest = _table(f"[[{key}]]", key, entry, notes)
                lines += [blank, *([f"# {above}"] if above else []), *rest]
    return "\n".join(lines).lstrip("\n") + "\n"


def _is_table(value: object) -> bool:
    return isinstance(value, dict)


def _is_tables(value: object) -> bool:
    return isinstance(value, tuple) and bool(value) and isinstance(value[0], dict)


def _table(heading: str, table: str, entry: Mapping[str, Any], notes: dict[str, str]) -> Iterator[str]:
    yield ""
    yield from _beside(heading, notes.pop(table, ""))
    for key, value in entry.items():
        yield from _line(key, value, notes.pop(f"{table}.{key}", ""))


def _line(key: str, value: object, note: str) -> Iterator[str]:
    yield from _beside(f"{_key(key)} = {toml_value(value)}", note)


def _beside(line: str, note: str) -> Iterator[str]:
    if note and len(line) > WIDEST:
        yield f"# {note}"
        yield line
    else:
        yield f"{line:<{WIDEST}} # {note}" if note else line


def toml_value(value: object) -> str:
    """One value as TOML: toml_value((1.0, "a")) is `[1, "a"]`; whole numbers lose their ".0"."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, dict):
        pairs = [f"{_key(key)} = {toml_value(item)}" for key, item in value.items()]
        return f"{{ {', '.join(pairs)} }}" if pairs else "{}"
    if isinstance(value, tuple | list):
        return f"[{', '.join(toml_value(item) for item in value)}]"
    return str(value)


def _key(key: str) -> str:
    return key if BARE_KEY.fullmatch(key) else toml_value(key)
