"""Spots as a game or an editor writes them: a CSV of name, x, y, z and heading_deg, a line a spot."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from math import isfinite
from pathlib import Path
from typing import NamedTuple

from pydantic import TypeAdapter, ValidationError

from stationpoint.base.allowed import quoted_value
from stationpoint.base.complaints import unknown_word
from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import listed
from stationpoint.study.file import read_text
from stationpoint.study.table import FLOOR, TOP, Coordinate, Number, Vec3

__all__ = ["FLOOR", "TOP", "Spot", "read_spots"]

NEEDED, KNOWN = ("name", "x", "y", "z"), ("name", "x", "y", "z", "heading_deg")
LEVELS = (FLOOR, TOP)


class Spot(NamedTuple):
    """A line of the file. at: x, y, z in metres, y possibly "floor" or "top"; heading_deg: None if unsaid."""

    name: str
    at: Vec3
    heading_deg: float | None


def read_spots(path: Path, said: str) -> list[Spot]:
    """The spots of a CSV file, in its order. said: what complaints call it. Raises StudyWrong with every
    complaint."""
    if not path.is_file():
        raise StudyWrong(f"{said} was not found; its path counts from the study's own folder.")
    reader = csv.DictReader(io.StringIO(read_text(path), newline=""), skipinitialspace=True, strict=True)
    try:
        heads = [head.strip() for head in reader.fieldnames or ()]
        reader.fieldnames = heads
        lacking = [head for head in NEEDED if head not in heads]
        if lacking:
            raise StudyWrong(
                f"{said}: its first line lacks {listed(lacking)}; it must name the columns, parted by "
                f"commas: {','.join(KNOWN)}."
            )
        unknown = [head for head in heads if head not in KNOWN]
        if unknown:
            raise StudyWrong(f"{said}: {unknown_word(unknown[0], KNOWN, 'a column of spots')}")
        lines = [(reader.line_num, line) for line in reader]
    except csv.Error as error:
        raise StudyWrong(f"{said}, line {reader.line_num}: it is not valid CSV: {error}.") from None
    wrong: list[str] = []
    found = [_spot(line, f"{said}, line {number}", wrong) for number, line in lines]
    if not lines:
        wrong.append(f"{said} holds no spots; give one a line: {','.join(KNOWN)}.")
    if wrong:
        raise StudyWrong("\n".join(wrong))
    return found


def _spot(line: Mapping[str | None, str | None], where: str, wrong: list[str]) -> Spot:
    cells = {key: (cell or "").strip() for key, cell in line.items() if key is not None}
    if None in line or None in line.values():
        wrong.append(f"{where}: it has other columns than the first line; part them by commas.")
    elif not cells["name"]:
        wrong.append(f"{where}: name is empty; give each spot its own name.")
    x, y, z = (_number(cells, key, Coordinate, where, wrong) for key in ("x", "y", "z"))
    turned = cells.get("heading_deg")
    return Spot(
        cells["name"], (x, y, z), _number(cells, "heading_deg", Number, where, wrong) if turned else None
    )


def _number(cells: Mapping[str, str], key: str, kind: type[float], where: str, wrong: list[str]) -> float:
    words = cells[key]
    if key == "y" and words in LEVELS:
        return words  # type: ignore[return-value]  # as in Spot of the study: the scene says how high
    try:
        value = float(words)
        if not isfinite(value):
            raise ValueError
        return TypeAdapter(kind).validate_python(value)
    except (ValueError, ValidationError):
        or_level = ', "floor" or "top"' if key == "y" else ""
        wrong.append(f"{where}: {key} is {quoted_value(words)}, must be a number{or_level}.")
        return 0.0
