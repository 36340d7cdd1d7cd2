"""What `solve` is given as words: ranges to vary, and what must hold, as data."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from math import isfinite
from typing import Any, NamedTuple

from pydantic import ValidationError

from stationpoint.base.complaints import quoted_value, unknown_word
from stationpoint.base.errors import StudyWrong
from stationpoint.study.axes import (
    AXES,
    LIGHT,
    NAMED,
    SWEPT,
    TEXT_FIELDS,
    settled_axis,
    sweep_rules,
    unknown_field,
)
from stationpoint.study.models import Limit, Study, Sweep

NO_NUMBER = (*TEXT_FIELDS, "offset", "gate_mm", "passes")
NUMBERED = tuple(field for field in SWEPT if field not in NO_NUMBER)
RANGE = "a range is LOW:HIGH, as in {}=4:12"
TEST = re.compile(
    r"^(?P<path>\S.*?)\s*(?P<test><=|>=|≤|≥|<|>|==|=|\bis\s+not\b|\bis\b|\bnot\b)\s*(?P<value>.+)$"
)
TESTS = {">=": "min", "≥": "min", "<=": "max", "≤": "max", "is": "is", "not": "not", "is not": "not"}
UNTIL_HELP = (
    "write a reading, then >= or <= with a number, or is (or not) with a word, as in "
    '"targets.crate.seen >= 0.6"'
)


class Varied(NamedTuple):
    """A field of the camera or the light that may lie anywhere from `low` to `high`."""

    field: str
    low: float
    high: float


def ranges_to_vary(words: Sequence[str], study: Study) -> tuple[Varied, ...]:
    """The ranges of `--vary FIELD=LOW:HIGH`; StudyWrong with every complaint."""
    found: dict[str, Varied] = {}
    wrong: list[str] = []
    for one in words:
        try:
            varied = _range(one)
            settled_axis("--vary", {varied.field: [varied.low, varied.high]})
            if varied.field in found:
                raise ValueError(f"{varied.field} is given twice")
            found[varied.field] = varied
        except ValueError as error:
            wrong += [f"--vary: {line.removeprefix('--vary: ')}" for line in str(error).splitlines()]
    ranges = {one.field: (one.low, one.high) for one in found.values()}
    wrong += [f"--vary: {line}" for line in sweep_rules({"--vary": ranges}, study.sweep.hold)]
    if study.camera.first_person and "distance_m" in found:
        wrong.append("--vary: first_person = true puts the eye at the subject's, so distance_m means nothing")
    if wrong:
        raise StudyWrong("\n".join(line if line.endswith((".", "?")) else f"{line}." for line in wrong))
    return tuple(found.values())


def _range(words: str) -> Varied:
    field, equals, ends = (piece.strip() for piece in words.partition("="))
    if not equals or not field:
        raise ValueError(f"{quoted_value(words)} must be FIELD=LOW:HIGH, as in hfov_deg=50:100")
    if field not in SWEPT:
        meant = unknown_field(field)
        raise ValueError(
            meant if "known:" not in meant else unknown_word(field, NUMBERED, "a field that can be varied")
        )
    if field not in NUMBERED:
        raise ValueError(f"{field} is no single number, so it has no range; set it with --set, or sweep it")
    pieces = [piece.strip() for piece in ends.split(":")]
    try:
        numbers = [float(piece) for piece in pieces]
    except ValueError:
        raise ValueError(f"{field}={ends}: {RANGE.format(field)}, in plain numbers without units") from None
    home = f"light.{LIGHT[field]}" if field in LIGHT else f"camera.{field}"
    if len(numbers) == 1:
        raise ValueError(
            f"{field}={ends} is one value; {RANGE.format(field)}, and --set {home}={ends} sets one"
        )
    if len(numbers) != 2 or not all(map(isfinite, numbers)):
        raise ValueError(f"{field}={ends}: {RANGE.format(field)}, without a step")
    low, high = numbers
    if low == high:
        raise ValueError(f"{field}={ends} is one value twice; --set {home}={pieces[0]} sets one")
    if low > high:
        raise ValueError(
            f"{field}={ends} runs from high to low; did you mean {field}={pieces[1]}:{pieces[0]}?"
        )
    return Varied(field, low, high)


def limit_from_words(words: str) -> Limit:
    """A must of `--until`: "targets.crate.seen >= 0.6", "gaps.hop.verdict is sure". StudyWrong for others."""
    said = f"--until {quoted_value(words)}:"
    found = TEST.match(words.strip())
    if found is None:
        raise StudyWrong(f"{said} {UNTIL_HELP}.")
    test = " ".join(found["test"].split())
    if test in ("<", ">", "=", "=="):
        raise StudyWrong(f'{said} "{test}" is no test here; {UNTIL_HELP}.')
    key, value = TESTS[test], _value(found["value"].strip())
    if key in ("min", "max") and (isinstance(value, bool) or not isinstance(value, int | float)):
        raise StudyWrong(f"{said} {quoted_value(value)} is no number; {UNTIL_HELP}, without a unit.")
    try:
        return Limit.model_validate({"reading": found["path"], key: value})
    except ValidationError:
        raise StudyWrong(f"{said} {UNTIL_HELP}.") from None


def _value(words: str) -> str | bool | int | float:
    if words in ("true", "false"):
        return words == "true"
    for kind in (int, float):
        try:
            return kind(words)
        except ValueError:
            continue
    return words.strip("\"'")


def with_settings(study: Study, settings: Sequence[Mapping[str, float]]) -> Study:
    """The study whose columns are these settings (each the same fields, with their values).

    Its other axes sweep places, viewings and lights as before; camera fields that it sweeps stand as its
    [camera] says. StudyWrong where it sweeps those on three axes.
    """
    kept = [axis for name in AXES if (axis := _kept(getattr(study.sweep, name), settings[0]))]
    if len(kept) > 2:
        raise StudyWrong("sweep: places, viewings and lights are on three axes; solve needs one, clear one.")
    rows, pages = [*kept, {}, {}][:2]
    columns = {field: tuple(one[field] for one in settings) for field in settings[0]}
    sweep = Sweep(rows=rows, columns=columns, pages=pages, hold=study.sweep.hold)
    return study.model_copy(update={"sweep": sweep})


def _kept(axis: Mapping[str, tuple[Any, ...]], varied: Mapping[str, float]) -> dict[str, tuple[Any, ...]]:
    """What an axis sweeps of places, viewings and lights."""
    return {
        field: values for field, values in axis.items() if field in (*NAMED, *LIGHT) and field not in varied
    }
