"""Who may import whom: the one-way rule between the rooms of the package, third parties included.

A room may import itself, the standard library, and what its row names; `late` only inside a function
or under TYPE_CHECKING (which never runs). Rooms that do not exist yet are fine; unnamed ones are not.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

PACKAGE = "stationpoint"
SOURCE = Path(__file__).parents[1] / "src" / PACKAGE


class Row(NamedTuple):
    """What a room may import: rooms or modules of this package, then third parties; late ones."""

    rooms: str = ""
    third: str = ""
    late: str = ""


BOTTOM = "errors words look"
PYDANTIC = "pydantic pydantic_core"  # the second comes with the first: its errors are made there
LOWER = (
    f"{BOTTOM} optics ink scene study shot aim follow render measure limits judge limit_words sheet output"
)
MIDDLE = f"{LOWER} prepare cases notes"
TOP = f"{MIDDLE} run executors brief drawing charting chart_plot twin_sheet solve compare"
WORK = Row(f"{TOP} cli", "click numpy")  # loaded by the commands' bodies alone: test_help_is_light.py
ROOMS = {
    "__init__": Row(),
    "__main__": Row("cli"),
    "errors": Row(),
    "words": Row(),
    "look": Row(),
    "inputs": Row(),
    "allowed": Row(BOTTOM, PYDANTIC),
    "complaints": Row(f"{BOTTOM} allowed", PYDANTIC),
    "optics": Row(BOTTOM, "numpy"),
    "ink": Row(BOTTOM, "numpy PIL"),
    "scene": Row(f"{BOTTOM} inputs allowed complaints optics", f"numpy {PYDANTIC}", late="manifold3d"),
    "study": Row(f"{BOTTOM} inputs allowed complaints scene.types", PYDANTIC),
    "shot": Row(f"{BOTTOM} optics scene", "numpy"),
    "placing": Row(f"{BOTTOM} optics study", "numpy"),
    "hold": Row(f"{BOTTOM} optics study placing", "numpy"),
    "from_file": Row(f"{BOTTOM} optics scene study placing"),
    "aim": Row(f"{BOTTOM} optics scene study shot placing from_file hold", "numpy"),
    "follow": Row(f"{BOTTOM} optics scene study shot", "numpy"),
    "render": Row(f"{BOTTOM} optics scene shot", "numpy pyrender OpenGL embreex"),
    "measure": Row(f"{BOTTOM} optics scene study shot", "numpy"),
    "measure.paths": Row("complaints"),
    "limits": Row(f"{BOTTOM} complaints scene study measure.paths measure.types"),
    "judge": Row(f"{BOTTOM} study measure.paths measure.types limits"),
    "limit_words": Row(f"{BOTTOM} study measure.paths measure.types judge"),
    "sheet": Row(
        f"{BOTTOM} study shot measure.types measure.shapes2d judge limit_words "
        "ink.shapes ink.figures ink.type",
        "numpy",
    ),
    "output": Row(f"{BOTTOM} inputs shot measure.paths measure.types judge", "numpy"),
    "output.png": Row(third="PIL"),
    "output.handoff": Row("optics"),
    "prepare": Row(f"{BOTTOM} scene study measure limits"),
    "odd": Row(f"{BOTTOM} optics scene measure", "numpy"),
    "cases": Row(f"{BOTTOM} optics scene study shot aim measure.types odd prepare", "numpy"),
    "notes": Row(f"{BOTTOM} allowed ink.type scene study measure.types"),
    "run": Row(f"{MIDDLE} executors", "numpy"),
    "shared": Row(),
    "executors": Row(f"{BOTTOM} shared", late="dask distributed mpi4py"),
    "brief": Row(f"{BOTTOM} judge limit_words sheet.flag"),
    "solve": Row(f"{MIDDLE} run", "numpy"),
    "compare": Row(f"{MIDDLE} run", "numpy"),
    "drawing": Row(f"{MIDDLE} run executors brief", "numpy"),
    "charting": Row(MIDDLE),
    "chart_plot": Row(f"{MIDDLE} charting", late="matplotlib"),
    "twin_sheet": Row(f"{MIDDLE} prepare cases run executors brief drawing notes", "numpy"),
    "cli": Row(f"{BOTTOM} inputs", "click", late=TOP),
    "cli.work": WORK,
    "cli.outputs": WORK,
    "cli.work_sheet": WORK,
    "cli.work_measure": WORK,
    "cli.work_check": WORK,
    "cli.work_inspect": WORK,
    "cli.work_files": WORK,
    "cli.work_chart": WORK,
    "cli.work_judge": WORK,
    "cli.work_twins": WORK,
}


class Import(NamedTuple):
    """An import: the dotted names that it may mean, and whether it is late."""

    names: tuple[str, ...]
    late: bool
    line: int


def imports(source: str, module: str, is_package: bool) -> Iterator[Import]:
    """Every import of a module's source, wherever it stands."""

    def visit(node: ast.AST, late: bool) -> Iterator[Import]:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.Import):
                for alias in child.names:
                    yield Import((alias.name,), late, child.lineno)
            elif isinstance(child, ast.ImportFrom):
                base = child.module or ""
                if child.level:
                    here = [PACKAGE, *module.split(".")] if module else [PACKAGE]
                    kept = here[: len(here) - child.level + is_package]
                    base = ".".join([*kept, *([base] if base else [])])
                for alias in child.names:  # a name may be a module or something in one
                    yield Import((base, f"{base}.{alias.name}"), late, child.lineno)
            else:
                checking = isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test)
                inside = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
                yield from visit(child, late or checking or inside)

    yield from visit(ast.parse(source), False)


def wrong_imports(source: str, module: str, is_package: bool = False) -> list[str]:
    """Sentences about what `module` ("scene.types", "aim") must not import; none if all is well."""
    parts = module.split(".")
    rows = [ROOMS[key] for key in (parts[0], ".".join(parts[:2])) if key in ROOMS][: len(parts)]
    if not rows:
        return [f"{module}: no row in ROOMS names this room"]
    now = {name for row in rows for name in f"{row.rooms} {row.third}".split()} | {parts[0]}
    late = now | {name for row in rows for name in row.late.split()}
    found = []
    for name_of in imports(source, module, is_package):
        names = [name.removeprefix(PACKAGE + ".") for name in name_of.names]
        if names[0].split(".")[0] in sys.stdlib_module_names or names[-1] == "__version__":
            continue
        allowed = late if name_of.late else now
        if not any(f"{name}.".startswith(f"{entry}.") for name in names for entry in allowed):
            found.append(f"{module}:{name_of.line} imports {names[-1]}{' late' if name_of.late else ''}")
    return found


FILES = sorted(SOURCE.rglob("*.py"))


def module_of(path: Path) -> str:
    parts = path.relative_to(SOURCE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" and len(parts) > 1 else parts)


def test_there_are_files_to_look_at() -> None:
    assert {"errors", "optics", "optics.camera", "scene.types"} <= {module_of(path) for path in FILES}


@pytest.mark.parametrize("path", FILES, ids=[module_of(path) for path in FILES])
def test_room_imports_only_what_its_row_names(path: Path) -> None:
    is_package = path.name == "__init__.py"
    assert wrong_imports(path.read_text("utf-8"), module_of(path), is_package) == []


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("optics.lens", "from stationpoint.scene.types import Node"),
        ("optics.lens", "import stationpoint.camera.shot"),
        ("optics.lens", "import scipy.optimize"),
        ("optics.lens", "from ..render import gl"),
        ("measure.size", "from stationpoint.render.gl.open import draw"),
        ("measure.size", "def f():\n    from stationpoint import render"),
        ("render.gl", "import stationpoint.readings.types"),
        ("study.models", "from stationpoint.scene.file import read_scene"),
        ("scene.polygons", "import manifold3d"),
        ("sheet.cell", "from stationpoint.readings.targets.size import read"),
        (
            "sheet.cell",
            "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from stationpoint.camera.aim.aim import aim",
        ),
        ("output.csv", "from PIL import Image"),
        ("output.record", "import stationpoint.camera.camera"),
        ("cli.make", "import numpy as np"),
        ("cli.make", "try:\n    from stationpoint.run.sweep import sweep\nexcept ImportError:\n    pass"),
        ("errors", "from stationpoint.base.words import number"),
        ("cellar.wine", "import math"),
    ],
)
def test_wrong_import_is_noticed(module: str, source: str) -> None:
    assert len(wrong_imports(source, module)) == 1


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("optics.lens", "import math\nfrom collections.abc import Sequence\nimport numpy as np"),
        ("optics.lens", "from .pose import turned\nfrom stationpoint.camera import camera"),
        ("scene.polygons", "def cut():\n    import manifold3d"),
        ("sheet.cell", "from stationpoint.readings import types\nfrom stationpoint.ink.shapes import Line"),
        ("cli.make", "import click\ndef sheet():\n    from stationpoint.run.sweep import sweep"),
        ("output.png", "from PIL import Image"),
        ("output.handoff.table", "from stationpoint.camera.camera import Camera"),
        ("cli.make", "from stationpoint import __version__"),
    ],
)
def test_right_import_passes(module: str, source: str) -> None:
    assert wrong_imports(source, module) == []
