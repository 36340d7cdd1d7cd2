"""Who may import whom: the one-way rule between the rooms of the package, third parties and doors included.

A room may import itself, the standard library, and what its row names; `late` only inside a function
or under TYPE_CHECKING (which never runs). From another room it takes what that room's door lists (its
`__init__.py`, by hand in `__all__`) and nothing behind it; `base` has no door and is used by module.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import NamedTuple

import pytest

PACKAGE = "stationpoint"
SOURCE = Path(__file__).parents[1] / "src" / PACKAGE
BY_MODULE = "base"


class Row(NamedTuple):
    """What a room may import: rooms of this package, then third parties; late ones."""

    rooms: str = ""
    third: str = ""
    late: str = ""


PYDANTIC = "pydantic pydantic_core"  # the second comes with the first: its errors are made there
ROOMS = {
    "base": Row(third=f"numpy {PYDANTIC}"),
    "ink": Row("base", "numpy uharfbuzz", late="reportlab PIL"),
    "scene": Row("base", f"numpy {PYDANTIC}", late="manifold3d DracoPy pxr PIL"),
    "study": Row("base scene", PYDANTIC, late="tomlkit"),
    "camera": Row("base scene study", "numpy"),
    "render": Row("base scene camera", "numpy pyrender OpenGL embreex"),
    "readings": Row("base scene study camera", "numpy"),
    "sheet": Row("base ink study camera readings", "numpy", late="matplotlib"),
    "record": Row("base study camera readings", "numpy zlib_ng", late="PIL"),
    "run": Row("base ink scene study camera render readings sheet record", "numpy", late="distributed"),
    "cli": Row("base", "click", late="ink scene study camera render readings sheet record run watchfiles"),
}
LATE_FILES = {"cli": "actions"}  # a folder that is itself imported late
OUTSIDE = {"__init__": Row(), "__main__": Row("cli")}


class Import(NamedTuple):
    """An import: from where, which name (None for a whole module), and whether it is late."""

    source: str
    name: str | None
    late: bool
    line: int


def imports(source: str, module: str, is_package: bool) -> Iterator[Import]:
    """Every import of a module's source, wherever it stands."""

    def visit(node: ast.AST, late: bool) -> Iterator[Import]:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.Import):
                for alias in child.names:
                    yield Import(alias.name, None, late, child.lineno)
            elif isinstance(child, ast.ImportFrom):
                base = child.module or ""
                if child.level:
                    here = [PACKAGE, *module.split(".")] if module else [PACKAGE]
                    kept = here[: len(here) - child.level + is_package]
                    base = ".".join([*kept, *([base] if base else [])])
                for alias in child.names:
                    yield Import(base, alias.name, late, child.lineno)
            else:
                checking = isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test)
                inside = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
                yield from visit(child, late or checking or inside)

    yield from visit(ast.parse(source), False)


def door_of(room: str) -> frozenset[str]:
    """What a room's door lists in `__all__`, by hand; nothing where there is no such list."""
    file = SOURCE / room / "__init__.py"
    for node in ast.parse(file.read_text("utf-8")).body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
            return frozenset(ast.literal_eval(node.value))
    return frozenset()


def wrong_imports(source: str, module: str, is_package: bool = False) -> list[str]:
    """Sentences about what `module`, such as "scene.types", must not import; none if all is well."""
    parts = module.split(".")
    own = parts[0]
    row = ROOMS.get(own) or OUTSIDE.get(own)
    if row is None:
        return [f"{module}: no row in ROOMS names this room"]
    is_late_file = len(parts) > 1 and LATE_FILES.get(own) == parts[1]
    now = set(f"{row.rooms} {row.third}".split())
    late = now | set(row.late.split())
    found = []
    for one in imports(source, module, is_package):
        top, _, below = one.source.partition(".")
        allowed = late | {"numpy"} if is_late_file else late if one.late else now
        if top != PACKAGE:
            if top not in sys.stdlib_module_names and top not in allowed:
                found.append(f"{module}:{one.line} imports {top}{' late' if one.late else ''}")
            continue
        below = below or one.name or ""
        if below == "__version__" or below.split(".")[0] == own:
            continue
        room, _, behind = below.partition(".")
        if room not in allowed:
            found.append(f"{module}:{one.line} imports {room}{' late' if one.late else ''}")
        elif room != BY_MODULE and behind:
            found.append(f"{module}:{one.line} goes past the door of {room}: {one.source}")
        elif room != BY_MODULE and one.name not in door_of(room):
            found.append(f"{module}:{one.line} takes {one.name}, which the door of {room} does not list")
    return found


FILES = sorted(SOURCE.rglob("*.py"))


def module_of(path: Path) -> str:
    parts = path.relative_to(SOURCE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" and len(parts) > 1 else parts)


def test_there_are_eleven_rooms_and_no_loose_module() -> None:
    assert len(ROOMS) == 11
    assert {path.name for path in SOURCE.iterdir() if path.is_dir() and any(path.glob("*.py"))} == set(ROOMS)
    assert {path.stem for path in SOURCE.glob("*.py")} == set(OUTSIDE)


def test_a_room_imports_only_rooms_above_it_in_the_table() -> None:
    above: set[str] = set()
    for name, row in ROOMS.items():
        assert set(f"{row.rooms} {row.late}".split()) & set(ROOMS) <= above, name
        above.add(name)


@pytest.mark.parametrize("path", FILES, ids=[module_of(path) for path in FILES])
def test_room_imports_only_what_its_row_names(path: Path) -> None:
    is_package = path.name == "__init__.py"
    assert wrong_imports(path.read_text("utf-8"), module_of(path), is_package) == []


@pytest.mark.parametrize("room", [room for room in ROOMS if room not in (BY_MODULE, "cli")])
def test_every_name_of_a_door_is_used_by_another_room(room: str) -> None:
    taken = set()
    for path in FILES:
        if module_of(path).split(".")[0] != room:
            for one in imports(path.read_text("utf-8"), module_of(path), path.name == "__init__.py"):
                if one.source == f"{PACKAGE}.{room}":
                    taken.add(one.name)
    assert door_of(room) - taken == set()
    assert door_of(room), f"{room} has no door"


@pytest.mark.parametrize("room", [room for room in ROOMS if room not in (BY_MODULE, "cli")])
def test_every_name_of_a_door_is_there_and_no_other_opens_late(room: str) -> None:
    door = import_module(f"{PACKAGE}.{room}")
    assert [name for name in door_of(room) if not hasattr(door, name)] == []
    late = {name for names in getattr(door, "LATE", {}).values() for name in names.split()}
    assert late - door_of(room) == set()
    modules = {path.stem for path in (SOURCE / room).iterdir()}
    assert late & modules == set()  # once loaded, a module of that name would stand in the door
    assert not hasattr(door, "no_such_name")


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("camera.lens", "from stationpoint.readings import FIELDS"),
        ("camera.lens", "import scipy.optimize"),
        ("camera.lens", "from ..render import open_renderer"),
        ("readings.targets.size", "from stationpoint.render import open_renderer"),
        ("readings.targets.size", "def f():\n    from stationpoint.render import open_renderer"),
        ("readings.targets.size", "from stationpoint.camera.camera import Camera"),
        ("readings.targets.size", "from stationpoint.camera import NoSuchName"),
        ("render.gl.open", "from stationpoint.study import Study"),
        ("study.models", "from stationpoint.scene.file import read_scene"),
        ("scene.meshes.read", "import trimesh"),
        ("sheet.cell", "from stationpoint.readings.targets.size import read"),
        (
            "sheet.cell",
            "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from stationpoint.run import Prepared",
        ),
        ("cli.commands.drawn", "import numpy as np"),
        (
            "cli.commands.drawn",
            "try:\n    from stationpoint.run import Prepared\nexcept ImportError:\n    pass",
        ),
        ("base.errors", "from stationpoint.scene import Node"),
        ("cellar.wine", "import math"),
    ],
)
def test_wrong_import_is_noticed(module: str, source: str) -> None:
    assert len(wrong_imports(source, module)) == 1


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("camera.lens", "import math\nfrom collections.abc import Sequence\nimport numpy as np"),
        ("camera.lens", "from .pose import turned\nfrom stationpoint.camera import camera"),
        ("scene.meshes.read", "def load():\n    import manifold3d"),
        ("sheet.cell", "from stationpoint.camera import Frame\nfrom stationpoint.base.words import listed"),
        ("cli.commands.drawn", "import click\ndef sheet():\n    from stationpoint.run import Prepared"),
        ("cli.actions.sheet", "from stationpoint.run import Prepared"),
        ("record.png", "from zlib_ng import zlib_ng\ndef texts():\n    from PIL import PngImagePlugin"),
        ("cli.commands.drawn", "from stationpoint import __version__"),
    ],
)
def test_right_import_passes(module: str, source: str) -> None:
    assert wrong_imports(source, module) == []
