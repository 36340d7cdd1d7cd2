"""Rectangles with materials, as GLB files made in the test."""

from __future__ import annotations

from io import BytesIO

import numpy as np
from numpy.typing import ArrayLike
from PIL import Image

from .built import Built

UV = [(0, 1), (1, 1), (1, 0), (0, 0)]  # v runs downwards: glTF 2.0, section 3.8.3


def png(pixels: ArrayLike) -> bytes:
    """An 8-bit PNG of (h, w, 3 or 4)."""
    out = BytesIO()
    Image.fromarray(np.asarray(pixels, dtype=np.uint8)).save(out, "PNG")
    return out.getvalue()


class Painted(Built):
    """A glTF file of painted rectangles."""

    def texture(self, pixels: ArrayLike, **sampler: int) -> int:
        for kind in ("images", "samplers", "textures"):
            self.tables.setdefault(kind, [])
        self.tables["images"].append({"bufferView": self.view(png(pixels)), "mimeType": "image/png"})
        self.tables["samplers"].append(sampler)
        place = len(self.tables["images"]) - 1
        self.tables["textures"].append({"source": place, "sampler": place})
        return place

    def material(self, factor: ArrayLike = (1, 1, 1, 1), texture: int | None = None, **more: object) -> int:
        base: dict[str, object] = {"baseColorFactor": list(np.asarray(factor, dtype=float))}
        if texture is not None:
            base["baseColorTexture"] = {"index": texture, **more.pop("texture_info", {})}  # type: ignore[dict-item]
        self.tables.setdefault("materials", []).append({"pbrMetallicRoughness": base, **more})
        return len(self.tables["materials"]) - 1

    def plate(
        self,
        name: str,
        material: int | None,
        low: tuple[float, float],
        high: tuple[float, float],
        z: float = 0.0,
        uv: ArrayLike | None = UV,
        colours: ArrayLike | None = None,
        colour_kind: str = "f4",
    ) -> None:
        """A rectangle from low to high (x, y) at z, facing +Z."""
        points = [(low[0], low[1], z), (high[0], low[1], z), (high[0], high[1], z), (low[0], high[1], z)]
        attributes = {"POSITION": self.accessor(points)}
        if uv is not None:
            attributes["TEXCOORD_0"] = self.accessor(uv)
        if colours is not None:
            attributes["COLOR_0"] = self.accessor(colours, colour_kind, normalized=colour_kind != "f4")
        primitive: dict[str, object] = {
            "attributes": attributes,
            "indices": self.accessor([0, 1, 2, 0, 2, 3], "u2"),
        }
        if material is not None:
            primitive["material"] = material
        self.tables["meshes"].append({"primitives": [primitive]})
        self.node(name=name, mesh=len(self.tables["meshes"]) - 1)
