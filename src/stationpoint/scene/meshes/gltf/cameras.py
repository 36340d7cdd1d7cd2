"""Cameras of a glTF file: the node's pose as a rigid view, and the lens."""

from __future__ import annotations

from collections.abc import Iterable
from math import degrees, pi

from stationpoint.scene.meshes.gltf.file import Gltf
from stationpoint.scene.meshes.gltf.tables import Json, name_of
from stationpoint.scene.meshes.part import Matrix, rigid_view
from stationpoint.scene.types import SceneCamera


def cameras_of(gltf: Gltf, node: int, world: Matrix, file: str, notes: list[str]) -> Iterable[SceneCamera]:
    """The camera of a node, if it has one that can be used."""
    table = gltf.item("nodes", node, "the file")
    if "camera" not in table:
        return
    where = f"node {node}"
    camera = gltf.item("cameras", table["camera"], where)
    name = name_of(table, where) or name_of(camera, f"camera {table['camera']}")
    view = rigid_view(world)
    lens = _lens(camera)
    if view is None or lens is None:
        notes.append(
            f"camera {name or node!r} has no usable {'lens' if lens is None else 'direction'}; left out."
        )
        return
    yield SceneCamera(name, view, *lens, file=file)


def _lens(camera: Json) -> tuple[float | None, float | None, float | None, float, float | None] | None:
    """vfov_deg, aspect, view_height_m, near_m, far_m; None where they break glTF 2.0, section 5.12 ff."""
    kind = camera.get("type")
    table = camera.get(str(kind))
    if kind not in ("perspective", "orthographic") or not isinstance(table, dict):
        return None
    value = {key: float(n) for key, n in table.items() if isinstance(n, int | float) and abs(n) < 1e30}
    near, far = value.get("znear", -1.0), value.get("zfar")
    if far is not None and far <= near:
        return None
    if kind == "orthographic":
        x, y = abs(value.get("xmag", 0.0)), abs(value.get("ymag", 0.0))
        return (None, x / y, 2 * y, near, far) if x > 0 and y > 0 and near >= 0 and far is not None else None
    angle, aspect = value.get("yfov", 0.0), value.get("aspectRatio")
    good = 0 < angle < pi and near > 0 and (aspect is None or aspect > 0)
    return (degrees(angle), aspect, None, near, far) if good else None
