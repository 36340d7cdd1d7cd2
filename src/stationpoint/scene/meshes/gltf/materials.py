"""A glTF file's materials: base colour, its texture and vertex colours, and what lets sight through.

What is wrong in them never keeps a file from being read: a fault is kept as a sentence, and the surface
is drawn without what could not be read. Specification: Khronos glTF 2.0, sections 3.8 and 3.9;
KHR_texture_transform, KHR_materials_pbrSpecularGlossiness, KHR_materials_unlit, EXT_texture_webp.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import cos, sin
from pathlib import Path
from urllib.parse import unquote

import numpy as np
from numpy.typing import NDArray

from stationpoint.scene.materials import Material, OwnColours, Texture, Wrap
from stationpoint.scene.meshes.gltf.file import Gltf
from stationpoint.scene.meshes.gltf.tables import Json, bad, inner, integer, number, numbers
from stationpoint.scene.meshes.part import Unreadable

WRAPS: dict[int, Wrap] = {33071: "clamp", 33648: "mirror", 10497: "repeat"}
NEAREST = 9728
BLENDS = {"OPAQUE": "opaque", "MASK": "mask", "BLEND": "blend"}
WHITE = Material()
WHOLE = {"|u1": 255.0, "<u2": 65535.0}

Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Read:
    """A material read. coordinates: the set of its texture's, and (2, 3) what is done to them."""

    material: Material
    coordinates: int = 0
    transform: NDArray[np.float64] | None = None
    fault: str = ""


class Materials:
    """Materials and textures of a file, read once each."""

    def __init__(self, gltf: Gltf) -> None:
        self.gltf = gltf
        self._read: dict[int, Read] = {}
        self._textures: dict[int, Texture] = {}

    def of_mesh(self) -> MeshColours:
        """An empty account of a mesh's colours."""
        return MeshColours(self)

    def read(self, index: object, where: str) -> Read:
        """A material by its number; the plain white one where it cannot be read."""
        try:
            table = self.gltf.item("materials", index, where)
        except Unreadable as error:
            return Read(WHITE, fault=str(error))
        place = int(str(index))
        if place not in self._read:
            try:
                self._read[place] = self._material(table, f"material {place}")
            except Unreadable as error:
                self._read[place] = Read(WHITE, fault=f"{error} It is drawn white.")
        return self._read[place]

    def _material(self, table: Json, where: str) -> Read:
        base = inner(table, "pbrMetallicRoughness", where, {})
        factor_key, texture_key = "baseColorFactor", "baseColorTexture"
        extensions = inner(table, "extensions", where, {})
        glossy = extensions.get("KHR_materials_pbrSpecularGlossiness")
        if isinstance(glossy, dict):
            base, factor_key, texture_key = glossy, "diffuseFactor", "diffuseTexture"
        red, green, blue, opacity = numbers(base, factor_key, where, 4, [1, 1, 1, 1]).clip(0.0, 1.0).tolist()
        mode = str(table.get("alphaMode", "OPAQUE"))
        if mode not in BLENDS:
            bad(where, "alphaMode", mode, '"OPAQUE", "MASK" or "BLEND"')
        cutoff = number(table, "alphaCutoff", where, 0.5)
        texture, coordinates, transform = None, 0, None
        if texture_key in base:
            said = inner(base, texture_key, where)
            texture = self._texture(said.get("index"), where)
            coordinates = integer(said, "texCoord", where, 0)
            moved = inner(said, "extensions", where, {}).get("KHR_texture_transform")
            if isinstance(moved, dict):
                coordinates = integer(moved, "texCoord", where, coordinates)
                transform = _transform(moved, where)
        material = Material(
            (red, green, blue, opacity),
            texture,
            BLENDS[mode],  # type: ignore[arg-type]
            cutoff,
            "KHR_materials_unlit" in extensions,
        )
        return Read(material, coordinates, transform)

    def _texture(self, index: object, where: str) -> Texture:
        table = self.gltf.item("textures", index, where)
        place = int(str(index))
        if place not in self._textures:
            said = f"texture {place}"
            webp = inner(table, "extensions", said, {}).get("EXT_texture_webp")
            source = table.get("source", webp.get("source") if isinstance(webp, dict) else None)
            sampler = self.gltf.item("samplers", table["sampler"], said) if "sampler" in table else {}
            wrap = tuple(
                WRAPS.get(integer(sampler, key, said, 10497), "repeat") for key in ("wrapS", "wrapT")
            )
            nearest = sampler.get("magFilter") == NEAREST
            name, data, fault = self._image(source, said)
            self._textures[place] = Texture(name, data, (wrap[0], wrap[1]), nearest, fault)
        return self._textures[place]

    def _image(self, index: object, where: str) -> tuple[str, bytes | Path, str]:
        """An image's name, its bytes or where it lies, and why it cannot be read, "" if it can."""
        name = where
        try:
            if index is None:
                raise Unreadable("it is in a format that is not read here")
            table = self.gltf.item("images", index, where)
            uri = table.get("uri")
            name = str(table.get("name") or f"image {index}")
            if uri is None:
                return name, self.gltf.view_bytes(table.get("bufferView"), f"image {index}"), ""
            if isinstance(uri, str) and uri[:5].lower() != "data:":
                name = unquote(uri)
            return name, self.gltf.lies_at(uri, f"image {index}"), ""
        except Unreadable as error:
            return (
                name,
                b"",
                f"texture {name!r} cannot be read, so it is drawn without: {str(error).rstrip('.')}.",
            )


@dataclass(slots=True)
class MeshColours:
    """The colours of a mesh, gathered primitive by primitive."""

    every: Materials
    materials: list[Material] = field(default_factory=list)
    of_face: list[NDArray[np.int32]] = field(default_factory=list)
    uv: list[Floats | None] = field(default_factory=list)
    tints: list[Floats | None] = field(default_factory=list)
    counts: list[int] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    any_given: bool = False

    def add(self, primitive: Json, used: NDArray[np.int64], count: int, faces: int, where: str) -> None:
        """A primitive's: `used` of its `count` vertices, and so many faces."""
        found = Read(WHITE)
        if "material" in primitive:
            found = self.every.read(primitive["material"], where)
            self.any_given = True
        if found.fault:
            self.faults.append(found.fault)
        if found.material not in self.materials:
            self.materials.append(found.material)
        self.of_face.append(np.full(faces, self.materials.index(found.material), dtype=np.int32))
        self.counts.append(len(used))
        key = f"TEXCOORD_{found.coordinates}"
        uv = self._attribute(primitive, key, used, count, (2,), where) if found.material.texture else None
        if uv is not None and found.transform is not None:
            uv = (uv @ found.transform[:, :2].T + found.transform[:, 2]).astype(np.float32)
        self.uv.append(uv)
        tints = self._attribute(primitive, "COLOR_0", used, count, (3, 4), where)
        if tints is not None:
            self.any_given = True
            opacity = tints[:, 3:] if tints.shape[1] == 4 else np.ones((len(tints), 1), np.float32)
            tints = np.concatenate([tints[:, :3], opacity], axis=1).clip(0.0, 1.0)
        self.tints.append(tints)

    def _attribute(
        self,
        primitive: Json,
        key: str,
        used: NDArray[np.int64],
        count: int,
        widths: tuple[int, ...],
        where: str,
    ) -> Floats | None:
        """An attribute (len(used), width) float32; None where there is none, or none that is right."""
        attributes = inner(primitive, "attributes", where)
        if key not in attributes:
            return None
        try:
            values = self.every.gltf.array(attributes[key], f"{where}: {key}")
        except Unreadable as error:
            self.faults.append(f"{error} It is drawn without.")
            return None
        if len(values) != count or values.shape[1] not in widths:
            self.faults.append(f"{where}: {key} does not fit its {count} vertices; it is drawn without.")
            return None
        most = WHOLE.get(
            values.dtype.str, 1.0
        )  # whole numbers that are not said to be normalized, as all must be
        found: Floats = (values[used] / most).astype(np.float32)
        if not np.isfinite(found).all():
            self.faults.append(f"{where}: {key} holds what is no number; it is drawn without.")
            return None
        return found

    def own(self) -> OwnColours | None:
        """All of it; None where the file gives the mesh no colours."""
        if not self.any_given:
            return None
        return OwnColours(
            tuple(self.materials),
            np.concatenate(self.of_face),
            self._joined(self.uv, (0.0, 0.0)),
            self._joined(self.tints, (1.0, 1.0, 1.0, 1.0)),
            tuple(dict.fromkeys(self.faults)),
        )

    def _joined(self, parts: list[Floats | None], default: tuple[float, ...]) -> Floats | None:
        if all(part is None for part in parts):
            return None
        filled = [
            np.tile(np.array(default, np.float32), (count, 1)) if part is None else part
            for part, count in zip(parts, self.counts, strict=True)
        ]
        return np.concatenate(filled)


def _transform(table: Json, where: str) -> NDArray[np.float64]:
    """KHR_texture_transform as (2, 3): scaled, turned counterclockwise as seen on the texture, moved."""
    move, scale = numbers(table, "offset", where, 2, [0, 0]), numbers(table, "scale", where, 2, [1, 1])
    turn = number(table, "rotation", where, 0.0)
    c, s = cos(turn), sin(turn)
    return np.array([[c * scale[0], s * scale[1], move[0]], [-s * scale[0], c * scale[1], move[1]]])
