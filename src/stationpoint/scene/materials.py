"""Colours of a surface's own: materials, their pictures, and which faces let sight through."""

from __future__ import annotations

from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import linear_light
from stationpoint.base.inputs import read_input

GLASS_BELOW = 0.5  # a blended surface of less opacity lets sight through
MOST_SIDE_PX = 2048  # of a texture; larger ones are made smaller

Wrap = Literal["repeat", "mirror", "clamp"]
Pixels = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Texture:
    """A picture on a surface, decoded when it is first asked for.

    name: what a person calls it. source: the bytes of a PNG, JPEG or WebP file, or where it lies.
    wrap: what is beyond its edges, along u and v. nearest: its texels stay squares where drawn large.
    fault: why it cannot be read, if that is known already.
    """

    name: str
    source: bytes | Path
    wrap: tuple[Wrap, Wrap] = ("repeat", "repeat")
    nearest: bool = False
    fault: str = ""
    _found: dict[str, Any] = field(default_factory=dict, init=False, repr=False)

    def __reduce__(self) -> tuple[type[Texture], tuple[object, ...]]:
        """It travels with its file's bytes, as the file may not lie where it goes; what was decoded stays."""
        source = self.source
        if isinstance(source, Path):
            try:
                source = read_input(source)
            except OSError:
                source = b""  # cannot be read there either
        return Texture, (self.name, source, self.wrap, self.nearest, self.fault)

    @property
    def pixels(self) -> Pixels:
        """(h, w, 4) 8-bit sRGB and opacity, row 0 at v = 0; one white pixel where it cannot be read."""
        if "pixels" not in self._found:
            pixels, note = (None, self.fault) if self.fault else self._decoded()
            self._found["note"] = note
            self._found["pixels"] = np.full((1, 1, 4), 255, np.uint8) if pixels is None else pixels
            self._found["pixels"].flags.writeable = False
        found: Pixels = self._found["pixels"]
        return found

    @property
    def note(self) -> str:
        """What a person should know of it, a sentence; "" if nothing."""
        self.pixels  # noqa: B018  decoded, if it was not
        return str(self._found["note"])

    @property
    def least_opacity(self) -> float:
        """The least opacity of all its pixels, 0..1."""
        return float(self.pixels[..., 3].min()) / 255.0

    def _decoded(self) -> tuple[Pixels | None, str]:
        """Its pixels, None where it cannot be read; and what is said of that."""
        from PIL import Image  # late: few scenes need it

        try:
            data = self.source if isinstance(self.source, bytes) else read_input(self.source)
            with Image.open(BytesIO(data), formats=("PNG", "JPEG", "WEBP")) as image:
                whole = image.size
                if max(whole) > MOST_SIDE_PX:
                    share = MOST_SIDE_PX / max(whole)
                    image.draft(None, (MOST_SIDE_PX, MOST_SIDE_PX))
                    size = max(1, round(whole[0] * share)), max(1, round(whole[1] * share))
                    found = _rgba(image).resize(size, Image.Resampling.BOX)
                    note = f"of {whole[0]} x {whole[1]} px is read at {size[0]} x {size[1]}"
                    return np.array(found, dtype=np.uint8), f"texture {self.name!r} {note}."
                return np.array(_rgba(image), dtype=np.uint8), ""
        except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
            return None, f"texture {self.name!r} cannot be read; drawn without it."


def _rgba(image: Any) -> Any:
    """A Pillow image as 8-bit RGBA, deep greys by their upper 8 bits."""
    if image.mode.startswith("I"):
        from PIL import Image  # late, as above

        image = Image.fromarray((np.asarray(image).astype(np.int64) >> 8).clip(0, 255).astype(np.uint8))
    return image.convert("RGBA")


@dataclass(frozen=True, slots=True, eq=False)
class Material:
    """How a surface is coloured.

    factor: red, green, blue and opacity 0..1, linear. texture: times that. blend: "opaque" (opacity does
    not count), "mask" (gone where opacity is under `cutoff`), "blend" (as transparent as opacity says).
    unlit: shown as bright as it is, whatever the light.
    """

    factor: tuple[float, float, float, float] = (1.0, 1.0, 1.0, 1.0)
    texture: Texture | None = None
    blend: Literal["opaque", "mask", "blend"] = "opaque"
    cutoff: float = 0.5
    unlit: bool = False

    @property
    def seen_from(self) -> float:
        """The opacity from which on it hides what is behind it."""
        return {"opaque": 0.0, "mask": self.cutoff, "blend": GLASS_BELOW}[self.blend]


@dataclass(frozen=True, slots=True, eq=False)
class OwnColours:
    """The colours of a node's own.

    materials: in use. of_face: (m,) int32, each face's place among them. uv: (n, 2) float32, a vertex's
    place on its texture, u to the right and v downwards, 1 a whole texture; None without textures.
    tints: (n, 4) float32, vertex colours and opacity, linear 0..1, or None. faults: what could not be
    read, sentences.
    """

    materials: tuple[Material, ...]
    of_face: NDArray[np.int32]
    uv: NDArray[np.float32] | None = None
    tints: NDArray[np.float32] | None = None
    faults: tuple[str, ...] = ()
    _found: dict[str, Any] = field(default_factory=dict, init=False, repr=False)

    def __post_init__(self) -> None:
        for array in (self.of_face, self.uv, self.tints):
            if array is not None:
                array.flags.writeable = False

    @property
    def notes(self) -> tuple[str, ...]:
        """What a person should know where these colours are drawn; textures are decoded for it."""
        textures = [material.texture for material in self.materials if material.texture is not None]
        return (*self.faults, *(texture.note for texture in textures if texture.note))

    @property
    def sight_notes(self) -> tuple[str, ...]:
        """What a person should know of what lets sight through, whatever is drawn."""
        some = [each.texture for each in self.materials if each.seen_from > 0.0 and each.texture is not None]
        return tuple(texture.note for texture in some if texture.note)

    def lets_through(self, faces: NDArray[np.int32]) -> NDArray[np.bool_]:
        """Which of the node's faces (m, 3) sight may pass through somewhere, (m,)."""
        if "sheer" not in self._found:
            self._found["sheer"] = self._sheer(faces)
        found: NDArray[np.bool_] = self._found["sheer"]
        return found

    def _sheer(self, faces: NDArray[np.int32]) -> NDArray[np.bool_]:
        sheer = np.zeros(len(faces), dtype=bool)
        for place, material in enumerate(self.materials):
            if material.seen_from <= 0.0:
                continue
            mine = np.flatnonzero(self.of_face == place)
            least = np.full(len(mine), material.factor[3])
            if material.texture is not None and self.uv is not None:
                least *= material.texture.least_opacity
            if self.tints is not None:
                least *= self.tints[faces[mine], 3].min(axis=1)
            sheer[mine] = least < material.seen_from
        return sheer


def of_one_colour(srgb: str | None, faces: int) -> OwnColours | None:
    """The colours of so many faces in one sRGB colour, such as "#D55E00"; None where none is given."""
    if srgb is None:
        return None
    red, green, blue = linear_light(list(bytes.fromhex(srgb[1:]))).tolist()
    return OwnColours((Material((red, green, blue, 1.0)),), np.zeros(faces, dtype=np.int32))
