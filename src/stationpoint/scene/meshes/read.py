"""Mesh files of every kind, each by its own reader beside this one."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import numpy as np

from stationpoint.base.errors import MachineLacks, StudyWrong
from stationpoint.scene.meshes.part import Imported, Lacking, Unreadable, check_size, size_of

# By ending, loaded late: most studies read one kind of mesh or none.
READERS: dict[str, str] = {
    ".glb": "stationpoint.scene.meshes.gltf.nodes:read_gltf",
    ".gltf": "stationpoint.scene.meshes.gltf.nodes:read_gltf",
    ".obj": "stationpoint.scene.meshes.obj:read_obj",
    ".stl": "stationpoint.scene.meshes.stl:read_stl",
    ".ply": "stationpoint.scene.meshes.ply:read_ply",
    ".usd": "stationpoint.scene.meshes.usd.read:read_usd",
    ".usda": "stationpoint.scene.meshes.usd.read:read_usd",
    ".usdc": "stationpoint.scene.meshes.usd.read:read_usd",
    ".usdz": "stationpoint.scene.meshes.usd.read:read_usd",
}


@np.errstate(all="ignore")  # the readers look at what came of it
def read_mesh(path: Path, needs_faces: bool = True) -> Imported:
    """A mesh file's parts, cameras and notes, in its own axes and unit.

    needs_faces: whether a file without any is refused; one of cameras alone has none.

    Raises StudyWrong with one sentence; MachineLacks where a package that is not installed would read it.
    """
    kind = path.suffix.lower()
    if kind not in READERS:
        raise StudyWrong(f"{path.name}: is no mesh file; read are {', '.join(sorted(READERS))}.")
    try:
        module, _, function = READERS[kind].partition(":")
        found: Imported = getattr(import_module(module), function)(path)
        check_size(*size_of(found))
    except Lacking as error:
        raise MachineLacks(
            f"{path.name}: {error}", f'Install it with: pip install "stationpoint[{error.extra}]"'
        ) from None
    except Unreadable as error:
        raise StudyWrong(f"{path.name}: {error}") from None
    except OSError as error:
        raise StudyWrong(
            f"{path.name}: cannot be read: {(error.strerror or 'input error').lower()}."
        ) from None
    except MemoryError:
        raise StudyWrong(f"{path.name}: asks for more memory than there is.") from None
    if needs_faces and not found.parts:
        raise StudyWrong(f"{path.name}: has no faces, so there is nothing to draw.")
    return found
