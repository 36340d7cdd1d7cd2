"""Ten seconds to a number: the last name in a field's path is the function that computes it.

What a cue carries (value, share, unit, grade) comes from the function of the cue's name. What a number
means, its unit, its source, a worked value and when it is None stand in that function's docstring.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from stationpoint.readings.kinds import FIELDS
from stationpoint.readings.types import Field

SOURCE = Path(__file__).parents[1] / "src" / "stationpoint"


def _functions() -> dict[str, list[ast.FunctionDef]]:
    """Name -> every definition in camera/ and readings/, methods included."""
    found: dict[str, list[ast.FunctionDef]] = {}
    for room in ("camera", "readings"):
        for file in sorted((SOURCE / room).rglob("*.py")):
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                if isinstance(node, ast.FunctionDef):
                    found.setdefault(node.name, []).append(node)
    return found


FUNCTIONS = _functions()
CARRIED = ("value", "share", "unit", "grade")
UNIT_WORDS = {
    "": "",
    "m": r"\b[Mm]etres\b|\d m\b",
    "m/s": "metres a second",
    "px": "pixels",
    "deg": "degrees",
    "'": "[Aa]rc minutes",
    "sq '": "square arc minutes",
    "'/m": "[Aa]rc minutes.* metre",
    "'/s": "arc minutes a second",
    "px/m": "[Pp]ixels.* metre",
    "%": "per cent",
    "%/m": "per cent .* metre",
    "share": "[Ss]hare|opacity|border pixels / 2|Pixels .* over those",
    "faces": "faces",
}


def _name(field: Field) -> str:
    carried = CARRIED if field.path[0] == "cues" else ()
    return [part for part in field.path if part != "*" and part not in carried][-1]


NAMES = sorted({_name(field) for field in FIELDS})
# Of what a cue carries, the value alone: share, unit and grade are the cue table's.
NUMBERS = [field for field in FIELDS if field.path[0] != "cues" or field.path[-1] not in CARRIED[1:]]


def test_there_are_fields_to_look_for() -> None:
    assert len(NAMES) > 40


@pytest.mark.parametrize("name", NAMES)
def test_each_number_has_one_function_of_its_name(name: str) -> None:
    assert len(FUNCTIONS.get(name, [])) == 1, f"def {name} stands {len(FUNCTIONS.get(name, []))} times"


@pytest.mark.parametrize("name", NAMES)
def test_each_number_is_explained_where_it_is_computed(name: str) -> None:
    said = " ".join((ast.get_docstring(FUNCTIONS[name][0]) or "").split())
    assert len(said.partition("Source:")[0]) > 30, "its meaning"
    assert "Source: " in said, "its source, or definition, geometry, common practice"
    assert "Worked: " in said, "a value that can be checked by hand"


@pytest.mark.parametrize("field", NUMBERS, ids=lambda field: ".".join(field.path))
def test_each_field_says_its_unit_and_when_it_is_null_in_both_places(field: Field) -> None:
    said = " ".join((ast.get_docstring(FUNCTIONS[_name(field)][0]) or "").split())
    assert field.says.endswith("."), "one sentence"
    assert field.source, "its source"
    assert field.unit in UNIT_WORDS, f"no word is known for the unit {field.unit}"
    assert re.search(UNIT_WORDS[field.unit], said), f"its unit: {UNIT_WORDS[field.unit]}"
    assert bool(field.null) == bool(re.search(r"\bNone\b", said)), "when it is None"
    may_be_none = "None" in ast.unparse(FUNCTIONS[_name(field)][0].returns or ast.Constant(""))
    assert field.null or not may_be_none, "when it is null"


def test_what_a_list_of_groups_holds_is_said_too() -> None:
    parts = [part for field in FIELDS for part in field.parts]
    assert len(parts) > 10
    assert all(part.says.endswith(".") and part.source and part.unit in UNIT_WORDS for part in parts)
