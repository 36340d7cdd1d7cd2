"""One home for each question: a telltale of its answer stands in one file of the package."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "src" / "stationpoint"

# The question, a pattern of what only its answer says, and the one file that says it, once (and the shader
# that must say it in its own language).
HOMES = (
    ("sRGB decoded", r"0?\.04045\b", "base/colour.py"),
    ("sRGB encoded", r"0?\.0031308\b", "base/colour.py", "render/shaders/veil.frag"),
    ("convex hull", r"\bdef \w*hull\(points", "base/geometry/plane.py"),
    ("point in polygon", r"turns >= 0", "base/geometry/plane.py"),
    ("a line cut to a box", r"\bdef clipped\(", "base/geometry/plane.py"),
    ("height of a triangle over a point", r"\bdef height_over\(", "base/geometry/triangles.py"),
    ("ray against triangle", r"Trumbore", "base/geometry/triangles.py"),
    ("what lies under a point", r"\bdef under\(", "scene/under.py"),
    ("the nodes of a target", r"isinstance\(target\.nodes", "study/naming.py"),
    ("names that match a pattern", r"\bfnmatchcase\(", "base/words.py"),
    ("weights of luminance", r"0?\.7152\b", "base/colour.py"),
)


def places(pattern: str) -> list[str]:
    """The files of the package, shaders among them, in which a pattern is found: once for each time."""
    return [
        path.relative_to(SOURCE).as_posix()
        for path in sorted(SOURCE.rglob("*"))
        if path.suffix in (".py", ".frag", ".vert")
        for _ in re.finditer(pattern, path.read_text("utf-8"), re.MULTILINE)
    ]


@pytest.mark.parametrize(("pattern", "homes"), [(p, h) for _, p, *h in HOMES], ids=[one[0] for one in HOMES])
def test_each_question_is_answered_in_one_place(pattern: str, homes: list[str]) -> None:
    assert places(pattern) == homes
