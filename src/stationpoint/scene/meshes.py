"""Mesh files of every kind: glTF, OBJ and PLY by the readers beside this one, STL through trimesh."""

from __future__ import annotations

import contextlib
import io
import logging
import struct
import warnings
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stationpoint.errors import StudyWrong
from stationpoint.scene.imported import Imported, Unreadable
from stationpoint.scene.polygons import part_of

STL_HEAD, STL_FACE = 84, 50  # bytes
# By ending, loaded late: most studies read one kind of mesh or none.
READERS: dict[str, str] = {
    ".glb": "stationpoint.scene.gltf:read_gltf",
    ".gltf": "stationpoint.scene.gltf:read_gltf",
    ".obj": "stationpoint.scene.obj:read_obj",
    ".stl": "stationpoint.scene.meshes:read_stl",
    ".ply": "stationpoint.scene.ply:read_ply",
}


def read_mesh(path: Path) -> Imported:
    """A mesh file's parts, cameras and notes, in its own axes and unit; StudyWrong with one sentence."""
    kind = path.suffix.lower()
    if kind not in READERS:
        raise StudyWrong(f"{path.name}: is no mesh file; read are {', '.join(sorted(READERS))}.")
    try:
        module, _, function = READERS[kind].partition(":")
        found: Imported = getattr(import_module(module), function)(path)
    except Unreadable as error:
        raise StudyWrong(f"{path.name}: {error}") from None
    except OSError as error:
        raise StudyWrong(
            f"{path.name}: cannot be read: {(error.strerror or 'input error').lower()}."
        ) from None
    except MemoryError:
        raise StudyWrong(f"{path.name}: asks for more memory than there is.") from None
    if not found.parts:
        raise StudyWrong(f"{path.name}: has no faces, so there is nothing to draw.")
    return found


def read_stl(path: Path) -> Imported:
    """An STL file as one part without a name."""
    data = path.read_bytes()
    _check_stl(data)
    points = _through_trimesh(data)
    corners = np.arange(len(points))
    part = part_of("", points, corners, np.full(len(points) // 3, 3))
    return Imported((part,) if part else ())


def _through_trimesh(data: bytes) -> NDArray[np.float64]:
    """The corners of all faces in the file, (3 m, 3), three after three."""
    import trimesh  # late: costs 0.7 s

    with _quiet():
        try:
            loaded = trimesh.load_scene(io.BytesIO(data), file_type="stl", process=False, allow_remote=False)
            meshes = [mesh for mesh in loaded.geometry.values() if isinstance(mesh, trimesh.Trimesh)]
            corners = [np.asarray(mesh.vertices, dtype=np.float64)[mesh.faces] for mesh in meshes]
        except MemoryError:
            raise
        except Exception as error:  # whatever a wrong file makes the library stumble over
            why = " ".join(str(error).split())[:80] or type(error).__name__
            raise Unreadable(f"is not an STL file that can be read ({why}).") from None
    return np.concatenate([np.zeros((0, 3)), *(found.reshape(-1, 3) for found in corners)])


def _check_stl(data: bytes) -> None:
    """A binary STL must be as long as its header says; an ASCII one must end what it begins."""
    if len(data) >= STL_HEAD:
        count = struct.unpack_from("<I", data, 80)[0]
        if len(data) == STL_HEAD + STL_FACE * count:
            return
    text = data.lower()
    if text.lstrip().startswith(b"solid") and (b"facet" in text or b"endsolid" in text):
        if text.rfind(b"endsolid") < text.rfind(b"facet"):
            raise Unreadable("is cut off: its last solid does not end.")
        return
    if len(data) < STL_HEAD:
        raise Unreadable(f"is not an STL file, or is cut off after {len(data)} bytes.")
    raise Unreadable(
        f"is cut off or no STL file: its header promises {count} faces, {STL_HEAD + STL_FACE * count} bytes, "
        f"and it has {len(data)} bytes."
    )


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Nothing of the library's log or warnings reaches a person; the log is put back afterwards."""
    log = logging.getLogger("trimesh")
    was = log.disabled
    log.disabled = True
    try:
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            yield
    finally:
        log.disabled = was
