"""The OBJ reader: positions, faces, objects and groups; of materials only the names of their files.

Read here because the general reader counts negative indices from the end of the file instead of from
the face, and fans polygons whether or not they are convex.
"""

from __future__ import annotations

import codecs
import re
import warnings
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.inputs import read_input
from stationpoint.scene.meshes.belongings import note_obj_files
from stationpoint.scene.meshes.part import Imported, MeshPart, Unreadable
from stationpoint.scene.meshes.polygons import part_of

Kind = TypeVar("Kind", np.float64, np.int64)
SLASHED = re.compile(r"/\S*")  # a corner's texture and normal
Section = tuple[str, list[str], list[int]]  # name, face lines, vertices known at each of them


def read_obj(path: Path) -> Imported:
    """One part for each object (`o`), or for each group (`g`) where a file has no objects."""
    text = _text(read_input(path))
    note_obj_files(text, path.parent)
    vertices, sections, others = _lines(text)
    points = points_of(vertices)
    parts = [part for name, lines, known in sections if lines and (part := _part(name, lines, known, points))]
    notes = (f"{others} points, lines or curved pieces are not drawn.",) if others and parts else ()
    return Imported(tuple(parts), notes=notes)


def _text(data: bytes) -> str:
    for mark, encoding in ((codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16")):
        if data.startswith(mark):
            return data.decode(encoding, errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _lines(text: str) -> tuple[list[str], list[Section], int]:
    """Vertex lines, face lines by object and group, and how many other pieces there are."""
    text = text.replace("\\\r\n", " ").replace("\\\n", " ").replace("\t", " ")
    by_object = text.startswith("o ") or "\no " in text
    named = {"o"} if by_object else {"g"}
    vertices: list[str] = []
    section: Section = ("", [], [])
    sections = [section]
    others = 0
    for line in text.splitlines():
        head, _, rest = line.lstrip().partition(" ")
        if head == "v":
            vertices.append(rest)
        elif head == "f":
            section[1].append(rest)
            section[2].append(len(vertices))
        elif head in named:
            section = (rest.strip(), [], [])
            sections.append(section)
        elif head in ("p", "l", "curv", "surf"):
            others += 1
    return vertices, _joined(sections), others


def _joined(sections: list[Section]) -> list[Section]:
    """A name that comes up again goes on with its first section: `g` may return to a group."""
    found: dict[str, Section] = {}
    for name, lines, known in sections:
        first = found.setdefault(name, (name, [], []))
        first[1].extend(lines)
        first[2].extend(known)
    return list(found.values())


def points_of(lines: list[str]) -> NDArray[np.float64]:
    """Positions (n, 3); what follows the third number (a weight, a colour) does not count."""
    fast = in_bulk(lines, np.float64)
    if (
        fast is not None
        and len(fast) == 3 * len(lines)
        and all(len(line.split(None, 3)) == 3 for line in lines)
    ):
        return fast.reshape(-1, 3)
    rows = [line.split(None, 3)[:3] for line in lines]
    if any(len(row) < 3 for row in rows):
        raise Unreadable("is cut off or wrong: a vertex has fewer than three numbers.")
    try:
        return np.array(rows, dtype=np.float64).reshape(-1, 3)
    except ValueError:
        raise Unreadable(f"is wrong: {_first_bad(lines)} is not a vertex.") from None


def in_bulk(lines: list[str], kind: type[Kind]) -> NDArray[Kind] | None:
    """All numbers of all lines, fast; None where one of them is not a number."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")  # it warns, and stops, at what it cannot read
        try:
            return np.fromstring(" ".join(lines), dtype=kind, sep=" ")
        except (DeprecationWarning, ValueError):
            return None


def _first_bad(lines: list[str]) -> str:
    for line in lines:
        try:
            [float(word) for word in line.split()[:3]]
        except ValueError:
            return repr(line.strip()[:40])
    return "a line"


def _part(name: str, lines: list[str], known: list[int], points: NDArray[np.float64]) -> MeshPart | None:
    """The faces of one section with the vertices that they use; None where they have no area at all."""
    if any("/" in line for line in lines):
        lines = SLASHED.sub("", "\n".join(lines)).split("\n")
    counts = np.array([len(line.split()) for line in lines], dtype=np.int64)
    corners = in_bulk(lines, np.int64)
    if corners is None or len(corners) != counts.sum():
        raise Unreadable("is wrong: a face asks for something that is not a vertex number.")
    back = np.repeat(np.array(known, dtype=np.int64), counts)
    corners = np.where(corners < 0, corners + back, corners - 1)
    return part_of(name, points, corners, counts)
