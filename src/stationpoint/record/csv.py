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
from stationpoint.record.record import Json, Record, flat, writable

FIRST = ("variant", "key", "place", "picture")
Line: TypeAlias = tuple[Mapping[str, Json], Mapping[str, Json]]
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
    columns = _columns(_line(variant, row, known) for variant, row in lines())
    file.write(_written(name for headings in columns.values() for name in headings))
    for variant, row in lines():
        cells = _line(variant, row, known)
        file.write(
            _written(cell for path, heads in columns.items() for cell in _cells(cells.get(path), heads))
        )


def _line(variant: Mapping[str, Json], row: Mapping[str, Json], known: Fields) -> dict[Path, Json]:
    """All that a line of the table has, by path."""
    cells: dict[Path, Json] = {
        ("variant",): row["variant"],
        ("key",): variant["key"],
        ("place",): row["place"],
        ("picture",): row["picture"],
        **({(OPTION,): row[OPTION]} if OPTION in row else {}),
    }
    for name, value in cast(dict[str, Json], variant["settings"]).items():
        cells["settings", name] = value
    return cells | flat(row, known)


def _written(cells: Iterable[str]) -> bytes:
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerow(list(cells))
    return writable(out.getvalue()).encode()


def _columns(lines: Iterable[dict[Path, Json]]) -> dict[Path, list[str]]:
    """The columns of every path, paths in order of first appearance."""
    widths: dict[Path, int] = {}
    for cells in lines:
        for path, value in cells.items():
            width = len(value) if isinstance(value, list) and _spreads(value) else 0
            widths[path] = max(width, widths.get(path, 0))
    return {path: _headings(path, width) for path, width in widths.items()}


def _spreads(value: list[Json]) -> bool:
    return bool(value) and not any(isinstance(one, (list, dict)) for one in value)


def _headings(path: Path, width: int) -> list[str]:
    name = path[0] if path[0] in (*FIRST, OPTION) else ".".join(path)
    if not width:
        return [name]
    ends = ("x", "y") if width == 2 and path[-1].endswith("_xy") else range(width)
    return [f"{name}.{end}" for end in ends]


def _cells(value: Json, headings: list[str]) -> list[str]:
    """The cells of one value under its headings."""
    parts = value if isinstance(value, list) and _spreads(value) else [value]
    cells = [_cell(part) for part in parts]
    return cells + [""] * (len(headings) - len(cells))


def _cell(value: Json) -> str:
    if value is None:
        return ""
    if type(value) is float or type(value) is int:
        return repr(value)  # as JSON has it
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
