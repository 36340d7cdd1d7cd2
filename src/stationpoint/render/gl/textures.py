"""Textures on the card, with the smaller copies that own.py makes, so that both renderers see the same."""

from __future__ import annotations

import ctypes

import numpy as np
from numpy.typing import NDArray

from stationpoint.render.gl import names as gl
from stationpoint.render.gl.upload import create_one
from stationpoint.render.own import FaceColours
from stationpoint.scene import Texture

SRGB8_ALPHA8, CLAMP_TO_EDGE = 0x8C43, 0x812F  # of OpenGL 2.1 and 1.2, whose modules are not loaded for them
WRAPS = {"repeat": gl.GL_REPEAT, "mirror": gl.GL_MIRRORED_REPEAT, "clamp": CLAMP_TO_EDGE}


class Textures:
    """Textures of a scene, uploaded when first asked for; None is plain white."""

    def __init__(self) -> None:
        self._names: dict[Texture | None, int] = {}

    def name(self, texture: Texture | None, own: FaceColours) -> int:
        """The texture's name on the card."""
        if texture not in self._names:
            white = [np.full((1, 1, 4), 255, dtype=np.uint8)]
            levels = white if texture is None else own.levels_of(texture)
            wrap = ("repeat", "repeat") if texture is None else texture.wrap
            self._names[texture] = _uploaded(levels, wrap, texture is not None and texture.nearest)
        return self._names[texture]

    def delete(self) -> None:
        for name in self._names.values():
            gl.glDeleteTextures(1, ctypes.byref(ctypes.c_uint(name)))


def _uploaded(levels: list[NDArray[np.uint8]], wrap: tuple[str, str], nearest: bool) -> int:
    name = create_one(gl.glCreateTextures, gl.GL_TEXTURE_2D)
    height, width = levels[0].shape[:2]
    gl.glTextureStorage2D(name, len(levels), SRGB8_ALPHA8, width, height)
    for number, level in enumerate(levels):
        pixels = np.ascontiguousarray(level)
        size = level.shape[1], level.shape[0]
        gl.glTextureSubImage2D(name, number, 0, 0, *size, gl.GL_RGBA, gl.GL_UNSIGNED_BYTE, pixels)
    for key, value in (
        (gl.GL_TEXTURE_MIN_FILTER, gl.GL_LINEAR_MIPMAP_LINEAR),
        (gl.GL_TEXTURE_MAG_FILTER, gl.GL_NEAREST if nearest else gl.GL_LINEAR),
        (gl.GL_TEXTURE_WRAP_S, WRAPS[wrap[0]]),
        (gl.GL_TEXTURE_WRAP_T, WRAPS[wrap[1]]),
    ):
        gl.glTextureParameteri(name, key, value)
    return name
