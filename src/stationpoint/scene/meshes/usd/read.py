"""What stage.py found in a USD stage, made into parts and cameras in metres, Y up."""

from __future__ import annotations

import io
import json
import subprocess
import sys
import zipfile
from collections.abc import Iterable, Mapping
from math import atan, degrees, isfinite
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.inputs import note, open_input
from stationpoint.base.words import listed
from stationpoint.scene.meshes.part import (
    MOST_PARTS,
    Imported,
    Lacking,
    Matrix,
    MeshPart,
    Unreadable,
    check_size,
    flipped,
    mirrors,
    placed,
    rigid_view,
    transformed,
)
from stationpoint.scene.meshes.polygons import part_of
from stationpoint.scene.types import SceneCamera

READER = Path(__file__).with_name("stage.py")
MOST_NAMED = 3  # names in a note
TENTH = 0.1  # apertures are in tenths of the stage's unit
Arrays = Mapping[str, NDArray[Any]]


def read_usd(path: Path) -> Imported:
    """The meshes and cameras of a .usd, .usda, .usdc or .usdz file at its first frame.

    Lacking where usd-core is not installed, Unreadable where it cannot be drawn right.
    """
    with open_input(path) as file:  # what cannot be opened is told as for any other file
        if not file.read(1):
            raise Unreadable("is empty.")
    arrays, tables = _opened(path)
    for name in tables["files"]:
        note(Path(name))
    parts = _parts(arrays, tables["draws"])
    notes = _notes(tables)
    cameras = [camera for entry in tables["cameras"] for camera in _cameras(entry, path.name, notes)]
    unit = tables["metres_per_unit"]
    if not (isfinite(unit) and unit > 0):
        raise Unreadable(f"says that its unit is {unit} m; that must be above 0.")
    up: Literal["y", "z"] = "z" if tables["up"] == "z" else "y"
    return placed(Imported(tuple(parts), tuple(cameras), tuple(notes)), up, unit, (0.0, 0.0, 0.0))


def _opened(path: Path) -> tuple[Arrays, dict[str, Any]]:
    """The arrays and tables of a stage, read in another process: usd-core's threads survive no fork."""
    done = subprocess.run(
        [sys.executable, "-P", str(READER), str(path.resolve()), str(MOST_PARTS)],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=False,
    )
    try:
        if done.returncode != 0:
            raise ValueError
        with np.load(io.BytesIO(done.stdout), allow_pickle=False) as found:
            arrays = {name: found[name] for name in found.files}
        tables = json.loads(bytes(arrays.pop("tables")))
    except (ValueError, KeyError, EOFError, zipfile.BadZipFile):
        raise Unreadable("cannot be read as USD: it is cut off or wrong.") from None
    if tables.get("lacks"):
        raise Lacking("is a USD file, and usd-core, which reads that, is not installed.", "usd")
    if "wrong" in tables:
        raise Unreadable(tables["wrong"])
    return arrays, tables


def _parts(arrays: Arrays, draws: list[dict[str, Any]]) -> Iterable[MeshPart]:
    """A part for each mesh at each place where it is drawn."""
    size = {number: _size(arrays, number) for number in {draw["mesh"] for draw in draws}}
    points, triangles = (sum(size[draw["mesh"]][k] for draw in draws) for k in range(2))
    check_size(len(draws), points, triangles)
    read: dict[int, MeshPart | None] = {}
    for draw in draws:
        number = draw["mesh"]
        if number not in read:
            read[number] = _mesh(arrays, number, draw["name"])
        part = read[number]
        if part is None:
            continue
        world = _matrix(draw["matrix"])
        vertices = transformed(part.vertices, world)
        if not np.isfinite(vertices.astype(np.float32)).all():
            raise Unreadable(f"{draw['name']!r} is moved or scaled beyond all numbers.")
        flat = not world[:3, :3].any(axis=0).all() or not world[:3, :3].any(axis=1).all()
        faces = flipped(part.faces) if mirrors(world) != draw["left_handed"] else part.faces
        yield MeshPart(draw["name"], vertices, faces, part.closed and not flat)


def _size(arrays: Arrays, number: int) -> tuple[int, int]:
    """How many vertices and triangles a mesh promises."""
    sides = arrays[f"counts {number}"].astype(np.int64)
    return len(arrays[f"points {number}"]), int(np.maximum(sides - 2, 0).sum())


def _mesh(arrays: Arrays, number: int, name: str) -> MeshPart | None:
    """A mesh in its own space; None where it has no face."""
    points = arrays[f"points {number}"].astype(np.float64).reshape(-1, 3)
    counts = arrays[f"counts {number}"].astype(np.int64)
    corners = arrays[f"corners {number}"].astype(np.int64)
    if (counts < 0).any() or counts.sum() != len(corners):
        raise Unreadable(f"{name!r} promises {counts.sum()} corners of faces and has {len(corners)}.")
    keep = np.ones(len(counts), dtype=bool)
    holes = arrays[f"holes {number}"].astype(np.int64)
    keep[holes[(holes >= 0) & (holes < len(counts))]] = False
    return part_of(name, points, corners[np.repeat(keep, counts)], counts[keep])


def _matrix(values: list[float]) -> Matrix:
    """A matrix for points as columns, of one for points as rows."""
    return np.array(values, dtype=np.float64).reshape(4, 4).T.copy()


def _cameras(entry: dict[str, Any], file: str, notes: list[str]) -> Iterable[SceneCamera]:
    """The camera of an entry, if it can be used; its lengths still in the stage's unit."""
    view = rigid_view(_matrix(entry["matrix"]))
    near, far, focal = entry["near"], entry["far"], entry["focal"]
    width, height = abs(entry["width"]), abs(entry["height"])
    lens = width > 0 and height > 0 and (entry["orthographic"] or (focal > 0 and near > 0)) and far > near
    if view is None or not lens:
        what = "direction" if view is None else "lens"
        notes.append(f"camera {entry['name']} has no usable {what}; left out.")
        return
    vfov_deg = None if entry["orthographic"] else degrees(2 * atan(height / 2 / focal))
    high = height * TENTH if entry["orthographic"] else None
    shift = (0.0 - entry["right"] / width, 0.0 - entry["up"] / height)  # the aperture moves, not the axis
    yield SceneCamera(
        str(entry["said"] or entry["name"]),
        view,
        vfov_deg,
        width / height,
        high,
        near,
        far,
        file=file,
        shift=shift,
    )


def _notes(tables: dict[str, Any]) -> list[str]:
    notes = []
    for what, names in tables["odd"].items():
        more = [f"{len(names) - MOST_NAMED} more"] if len(names) > MOST_NAMED else []
        notes.append(f"{what}: {listed([*(repr(name) for name in names[:MOST_NAMED]), *more])}.")
    if not tables["unit_is_said"]:
        notes.append("says no unit, which in USD means centimetres; if it is in metres, give it scale = 100.")
    if tables["moves"]:
        notes.append("its animations are not played.")
    return notes
