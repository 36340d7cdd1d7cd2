"""Mesh files of every kind: glTF and OBJ by the readers beside this one, STL and PLY through trimesh."""

from __future__ import annotations

import contextlib
import io
import logging
import struct
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from stationpoint.errors import StudyWrong
from stationpoint.scene.gltf import read_gltf
from stationpoint.scene.imported import Imported, Part, Unreadable, is_closed
from stationpoint.scene.obj import read_obj

STL_HEAD, STL_FACE = 84, 50  # bytes


def read_mesh(path: Path) -> Imported:
    """A mesh file's parts, cameras and notes, in its own axes and unit; StudyWrong with one sentence."""
    kind = path.suffix.lower()
    if kind not in READERS:
        raise StudyWrong(f"{path.name}: is no mesh file; read are {', '.join(sorted(READERS))}.")
    try:
        found = READERS[kind](path)
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


def _read_through_trimesh(path: Path) -> Imported:
    """An STL or PLY file as one part without a name; nothing but the file itself is opened."""
    kind = path.suffix.lower()[1:]
    data = path.read_bytes()
    if kind == "stl":
        _check_stl(data)
    elif not data.startswith(b"ply"):
        raise Unreadable("is not a PLY file: it does not begin with the word ply.")
    vertices, faces = _through_trimesh(data, kind)
    if not len(faces):
        return Imported(())
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise Unreadable(f"is cut off or wrong: a face asks for a vertex beyond its {len(vertices)}.")
    used = np.zeros(len(vertices), dtype=bool)
    used[faces] = True
    faces = (np.cumsum(used) - 1)[faces].astype(np.int32)
    vertices = vertices[used]
    if not np.isfinite(vertices).all():
        raise Unreadable("has a vertex whose position is not a finite number.")
    return Imported((Part("", vertices, faces, is_closed(vertices, faces)),))


def _through_trimesh(data: bytes, kind: str) -> tuple[np.ndarray, np.ndarray]:
    """Vertices (n, 3) float64 and faces (m, 3) int64 of all meshes in the file."""
    import trimesh  # late: costs 0.7 s

    with _quiet():
        try:
            loaded = trimesh.load_scene(io.BytesIO(data), file_type=kind, process=False, allow_remote=False)
            meshes = [mesh for mesh in loaded.geometry.values() if isinstance(mesh, trimesh.Trimesh)]
            vertices = [np.asarray(mesh.vertices, dtype=np.float64) for mesh in meshes]
            faces = [np.asarray(mesh.faces, dtype=np.int64) for mesh in meshes]
        except MemoryError:
            raise
        except Exception as error:  # whatever a wrong file makes the library stumble over
            reason = " ".join(str(error).split())[:80]
            raise Unreadable(
                f"is not a {kind.upper()} file that can be read ({reason or type(error).__name__})."
            ) from None
    starts = np.cumsum([0, *(len(v) for v in vertices)])
    faces = [f + start for f, start in zip(faces, starts[:-1], strict=True)]
    return np.concatenate([np.zeros((0, 3)), *vertices]), np.concatenate([np.zeros((0, 3), np.int64), *faces])


def _check_stl(data: bytes) -> None:
    """A binary STL must be as long as its header says; an ASCII one must end what it begins."""
    if len(data) >= STL_HEAD:
        count = struct.unpack_from("<I", data, 80)[0]
        if len(data) == STL_HEAD + STL_FACE * count:
            return
    text = data.lower()
    if text.lstrip().startswith(b"solid") and (b"facet" in text or b"endsolid" in text):
        if b"endsolid" not in text[text.rfind(b"endfacet") :]:
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


READERS: dict[str, Callable[[Path], Imported]] = {
    ".glb": read_gltf,
    ".gltf": read_gltf,
    ".obj": read_obj,
    ".stl": _read_through_trimesh,
    ".ply": _read_through_trimesh,
}
