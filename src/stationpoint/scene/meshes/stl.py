"""The STL reader, ASCII and binary: three corners a face, read as they stand. Normals are not used.

Read here because that is all there is to read: the general reader takes half a second to import, and
stumbles over normals that are no numbers.
"""

from __future__ import annotations

import re
import struct
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.inputs import read_input
from stationpoint.scene.meshes.obj import in_bulk, points_of
from stationpoint.scene.meshes.part import Imported, Unreadable
from stationpoint.scene.meshes.polygons import part_of

HEAD = 84  # bytes
FACE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])
LINE = re.compile(r"^[ \t]*(facet|vertex)\b(.*)", re.IGNORECASE | re.MULTILINE)


def read_stl(path: Path) -> Imported:
    """An STL file as one part without a name."""
    data = read_input(path)
    points, normals_are_numbers = _binary(data) if _is_binary(data) else _ascii(data)
    part = part_of("", points, np.arange(len(points)), np.full(len(points) // 3, 3))
    notes = () if normals_are_numbers else ("has normals that are not numbers; they are not needed.",)
    return Imported((part,), notes=notes) if part else Imported(())


def _is_binary(data: bytes) -> bool:
    """A binary file must be as long as its header says; an ASCII one must end what it begins."""
    count = struct.unpack_from("<I", data, HEAD - 4)[0] if len(data) >= HEAD else 0
    wanted = HEAD + FACE.itemsize * count
    if len(data) == wanted:
        return True
    text = data.lower()
    if text.lstrip().startswith(b"solid") and (b"facet" in text or b"endsolid" in text):
        if text.rfind(b"endsolid") < text.rfind(b"facet"):
            raise Unreadable("is cut off: its last solid does not end.")
        return False
    if len(data) < HEAD:
        raise Unreadable(f"is not an STL file, or is cut off after {len(data)} bytes.")
    raise Unreadable(
        f"is cut off or no STL file: its header promises {count} faces, {wanted} bytes, "
        f"and it has {len(data)} bytes."
    )


def _binary(data: bytes) -> tuple[NDArray[np.float64], bool]:
    """The corners of all faces, (3 m, 3), three after three; and whether every normal is a number."""
    table = np.frombuffer(data, FACE, offset=HEAD)
    return table["corners"].reshape(-1, 3).astype(np.float64), bool(np.isfinite(table["normal"]).all())


def _ascii(data: bytes) -> tuple[NDArray[np.float64], bool]:
    """The same of an ASCII file; its solids are one."""
    lines = LINE.findall(data.decode("latin-1").replace("\r", "\n"))
    begins = [number for number, (word, _) in enumerate(lines) if word.lower() == "facet"]
    if len(lines) % 4 or begins != list(range(0, len(lines), 4)):
        raise Unreadable("is wrong: a face has more or fewer corners than three.")
    normals = in_bulk(
        [rest.lower().replace("normal", "") for word, rest in lines if word.lower() == "facet"], np.float64
    )
    points = points_of([rest for word, rest in lines if word.lower() == "vertex"])
    return points, normals is not None and bool(np.isfinite(normals).all())
