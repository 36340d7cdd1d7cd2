"""Ten seconds to a number: the last name in a field's path is the function that computes it.

What a cue carries (value, share, unit, grade) comes from the function of the cue's name.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from stationpoint.readings.kinds import FIELDS

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
NAMES = sorted(
    {[p for p in f.path if p != "*" and (f.path[0] != "cues" or p not in CARRIED)][-1] for f in FIELDS}
)


def test_there_are_fields_to_look_for() -> None:
    assert len(NAMES) > 40


@pytest.mark.parametrize("name", NAMES)
def test_each_number_has_one_function_of_its_name(name: str) -> None:
    assert len(FUNCTIONS.get(name, [])) == 1, f"def {name} stands {len(FUNCTIONS.get(name, []))} times"


@pytest.mark.parametrize("name", NAMES)
def test_each_number_is_explained_where_it_is_computed(name: str) -> None:
    assert len(ast.get_docstring(FUNCTIONS[name][0]) or "") > 30
