"""Handed cameras as files that other programs open, and cameras of any such file read back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import listed
from stationpoint.scene import Scene, SceneCamera, glb_bytes, gltf_bytes, read_cameras, usda_bytes

if TYPE_CHECKING:
    from stationpoint.record import Handed

JSON = ".json"
WRITERS = {".glb": glb_bytes, ".gltf": gltf_bytes, ".usda": usda_bytes}


class CamerasMade(NamedTuple):
    """A file of cameras, and sentences on what it does not hold."""

    data: bytes
    notes: tuple[str, ...]


def cameras_file(handed: Sequence[Handed], ending: str, level: Scene | None) -> CamerasMade:
    """The cameras as a file of that kind, with the level if there is one; StudyWrong where it can hold none.

    glTF holds no shifted lens and no oblique view; USD shifted lenses, but no oblique view.
    """
    kind = "USD" if ending == ".usda" else "glTF"
    cameras = [scene_camera(one) for one in handed]
    held = [one for one in cameras if one.is_plain or (kind == "USD" and one.oblique is None)]
    lost = [one.name for one in cameras if one not in held]
    what = "no oblique view" if kind == "USD" else "no shifted lens and no oblique view"
    if not held:
        raise StudyWrong(f"{kind} holds {what}, so of {listed(lost)} none is left; write a .json instead.")
    notes = [f"Left out: {listed(lost)}; {kind} holds {what}."] if lost else []
    behind = [one.name for one in held if one.near_m < 0.0] if kind == "glTF" else []
    if behind:
        notes.append(
            f"{listed(behind)}: glTF has no near plane behind the camera, so what stands beside or behind it "
            "is cut off."
        )
        held = [replace(one, near_m=max(one.near_m, 0.0)) for one in held]
    return CamerasMade(WRITERS[ending](level or Scene(()), held), tuple(notes))


def scene_camera(one: Handed) -> SceneCamera:
    """A handed camera as a file holds it, named by its label."""
    setup, camera = one.setup, one.setup.camera
    p = camera.projection
    shift = (p[0, 3], p[1, 3]) if camera.parallel else (-p[0, 2], -p[1, 2])
    oblique = None
    if setup.oblique_ratio is not None and setup.oblique_angle_deg is not None:
        oblique = (setup.oblique_ratio, setup.oblique_angle_deg)
    picture = None
    if setup.focal_mm is not None and setup.focal_over_width is not None:
        width = setup.focal_mm / setup.focal_over_width
        picture = (width, width / setup.aspect)
    return SceneCamera(
        name=one.label,
        view=camera.view,
        vfov_deg=setup.vfov_deg,
        aspect=setup.aspect,
        view_height_m=setup.view_height_m,
        near_m=camera.near_m,
        far_m=camera.far_m,
        shift=(float(shift[0]) / 2.0 + 0.0, float(shift[1]) / 2.0 + 0.0),
        oblique=oblique,
        picture_mm=picture,
    )


def cameras_of(path: Path) -> tuple[SceneCamera, ...]:
    """The cameras of a hand-off, a mesh file or a scene; a hand-off's variants by label, then by key."""
    if path.suffix.lower() != JSON:
        return read_cameras(path)
    if not path.is_file():
        raise StudyWrong(f"{path}: there is no such file.")
    from stationpoint.record import read_handoff  # late: few studies name one

    handed = [
        SceneCamera(
            name=one.label,
            view=one.camera.view,
            vfov_deg=one.vfov_deg,
            aspect=one.aspect,
            view_height_m=one.view_height_m,
            near_m=one.camera.near_m,
            far_m=one.camera.far_m,
            file=path.name,
            shift=one.shift,
            oblique=one.oblique,
        )
        for one in read_handoff(path)
    ]
    keys = [one.key for one in read_handoff(path)]
    return (*handed, *(replace(one, name=key) for one, key in zip(handed, keys, strict=True)))
