"""A record as a table: one line for each variant, place and picture shape (RFC 4180).

Names are written as they are: a program that takes a cell beginning with "=" for a formula must be
told to take the table as text (docs/reading-a-sheet.md says so).
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterable, Mapping
from typing import BinaryIO, TypeAlias, cast

from stationpoint.readings import Field, Fields, Path
from stationpoint.record.record import NO_READINGS, Json, Record, writable

Line: TypeAlias = tuple[Mapping[str, Json], Mapping[str, Json]]
FIRST = ("variant", "key", "place", "picture")
Cell: TypeAlias = str | float | None
OPTION = "option"  # after those, where the study has options


def csv_text(whole: Record, fields: Iterable[Field]) -> str:
    """The record's rows as CSV: label, key, place, picture, settings, then readings by path.

    Paths are joined by dots. Lists of numbers or words are spread over columns .0, .1, ... (.x, .y
    for what is named _xy); other lists and groups are JSON in one column. Null is an empty cell.
    """
    variants = {str(one["id"]): one for one in cast(list[dict[str, Json]], whole["variants"])}
    rows = cast(list[dict[str, Json]], whole["rows"])
    out = io.BytesIO()
    write_csv(lambda: ((variants[str(row["variant"])], row) for row in rows), Fields(fields), out)
    return out.getvalue().decode()


def write_csv(lines: Callable[[], Iterable[Line]], known: Fields, file: BinaryIO) -> None:
    """Write the table of `lines`: each a record's variant and one of its rows. They are gone through twice,
    since every line has the columns of all."""
    whole, found = _Node((), known), list[_Node]()
    for variant, row in lines():
        whole.learn(_line(variant, row), found)
    headings: list[Cell] = []
    for node in found:
        node.start = len(headings)
        headings += _headings(node.path, node.width)
    file.write(_written(headings))
    for variant, row in lines():
        cells: list[Cell] = [None] * len(headings)
        whole.fill(_line(variant, row), cells)
        file.write(_written(cells))


class _Node:
    """What lines have at a path: columns, or groups of them. width: of its longest list that is spread, 0 for
    a single column, -1 for none as yet. start: its first column."""

    __slots__ = ("_inner", "_is_field", "_known", "path", "start", "width")

    def __init__(self, path: Path, known: Fields) -> None:
        self.path, self._known = path, known
        self._is_field = bool(path) and known.at(path) is not None
        self._inner: dict[str, _Node] = {}
        self.width, self.start = -1, 0

    def learn(self, group: Mapping[str, Json], found: list[_Node]) -> None:
        """Take into account what a line has here. found: gets each with columns, the first time."""
        for name, value in group.items():
            node = self._inner.get(name)
            if node is None:
                node = self._inner[name] = _Node((*self.path, name), self._known)
            if isinstance(value, dict) and not node._is_field:
                node.learn(value, found)
                continue
            width = len(value) if isinstance(value, list) and _spreads(value) else 0
            if width > node.width:
                if node.width < 0:
                    found.append(node)
                node.width = width

    def fill(self, group: Mapping[str, Json], cells: list[Cell]) -> None:
        """Put what a line has here into its cells."""
        for name, value in group.items():
            node = self._inner[name]
            if value is None or type(value) is float:
                cells[node.start] = value
            elif isinstance(value, dict) and not node._is_field:
                node.fill(value, cells)
            elif isinstance(value, list) and _spreads(value):
                cells[node.start : node.start + len(value)] = map(_cell, value)
            else:
                cells[node.start] = _cell(value)


def _line(variant: Mapping[str, Json], row: Mapping[str, Json]) -> dict[str, Json]:
    """All that a line of the table has, in groups."""
    line = {name: variant["key"] if name == "key" else row[name] for name in FIRST}
    if OPTION in row:
        line[OPTION] = row[OPTION]
    line["settings"] = variant["settings"]
    return line | {name: value for name, value in row.items() if name not in NO_READINGS}


def _written(cells: Iterable[Cell]) -> bytes:
    """A line: numbers as JSON has them, null as an empty cell."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerow(list(cells))
    return writable(out.getvalue()).encode()


def _spreads(value: list[Json]) -> bool:
    return bool(value) and not any(isinstance(one, (list, dict)) for one in value)


def _headings(path: Path, width: int) -> list[Cell]:
    name = ".".join(path)
    if not width:
        return [name]
    ends = ("x", "y") if width == 2 and path[-1].endswith("_xy") else range(width)
    return [f"{name}.{end}" for end in ends]


def _cell(value: Json) -> Cell:
    is_plain = value is None or (isinstance(value, (str, int, float)) and not isinstance(value, bool))
    return cast(Cell, value) if is_plain else json.dumps(value, ensure_ascii=False)
