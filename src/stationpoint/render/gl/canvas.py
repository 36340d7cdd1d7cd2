"""Canvases: what the OpenGL renderer draws on, and how it is read back.

Import it behind context.current_context() only.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from stationpoint.render.gl import names as gl
from stationpoint.render.gl.upload import create_one

# Formats of a Framebuffer.
PICTURE, BYTE, WORD, REAL = gl.GL_RGBA8, gl.GL_R8UI, gl.GL_R32UI, gl.GL_R32F
HALVES = gl.GL_RGBA16F  # 11 bits of what is there, however dark
FINE, COARSE = gl.GL_DEPTH_COMPONENT32F, gl.GL_DEPTH_COMPONENT16  # of its depth


class Framebuffer:
    """A framebuffer of colours, each of a format (None: what is drawn there is left), and depth; grows to the
    largest picture asked for.

    With samples it is made of textures, and where that is asked, so that a later pass can read them: colours,
    then depth.
    """

    def __init__(
        self, *colours: int | None, samples: int = 0, depth: int | None = FINE, textures: bool = False
    ) -> None:
        places = {gl.GL_COLOR_ATTACHMENT0 + k: form for k, form in enumerate(colours)}
        self._places = {place: form for place, form in places.items() if form is not None}
        self._frame = create_one(gl.glCreateFramebuffers)
        buffers = np.array([p if p in self._places else gl.GL_NONE for p in places], dtype=np.uint32)
        gl.glNamedFramebufferDrawBuffers(self._frame, len(buffers), buffers)
        if depth is not None:
            self._places[gl.GL_DEPTH_ATTACHMENT] = depth
        self._samples, self._textures = samples, textures or samples > 0
        self.stores: list[int] = []
        self.sample_places = np.zeros((max(1, samples), 2))
        self._size = (0, 0)

    def bind(self, width: int, height: int) -> None:
        """Make it the one drawn to, (width, height) pixels of it."""
        if width > self._size[0] or height > self._size[1]:
            self._size = (max(width, self._size[0]), max(height, self._size[1]))
            self._delete_stores()
            self.stores = [self._store(place, form) for place, form in self._places.items()]
            gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, self._frame)
            self.sample_places = self._samples_in_a_pixel()
        gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, self._frame)
        gl.glViewport(0, 0, width, height)

    def read(
        self,
        form: int,
        kind: int,
        into: NDArray[np.generic],
        colour: int = 0,
        corner: tuple[int, int] = (0, 0),
    ) -> None:
        """Copy a colour into an array (h, w) or (h, w, parts), pixels from the upper left, or from the column
        and row of another corner."""
        gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, self._frame)
        gl.glNamedFramebufferReadBuffer(self._frame, gl.GL_COLOR_ATTACHMENT0 + colour)
        gl.glPixelStorei(gl.GL_PACK_ALIGNMENT, 1)  # rows of bytes lie one after the other
        gl.glReadPixels(*corner, into.shape[1], into.shape[0], form, kind, into)

    def _store(self, place: int, form: int) -> int:
        if self._samples:
            store = create_one(gl.glCreateTextures, gl.GL_TEXTURE_2D_MULTISAMPLE)
            gl.glTextureStorage2DMultisample(store, self._samples, form, *self._size, True)
            gl.glNamedFramebufferTexture(self._frame, place, store, 0)
        elif self._textures:
            store = create_one(gl.glCreateTextures, gl.GL_TEXTURE_2D)
            gl.glTextureStorage2D(store, 1, form, *self._size)
            for name in (gl.GL_TEXTURE_MIN_FILTER, gl.GL_TEXTURE_MAG_FILTER):
                gl.glTextureParameteri(store, name, gl.GL_NEAREST)
            gl.glNamedFramebufferTexture(self._frame, place, store, 0)
        else:
            store = create_one(gl.glCreateRenderbuffers)
            gl.glNamedRenderbufferStorage(store, form, *self._size)
            gl.glNamedFramebufferRenderbuffer(self._frame, place, gl.GL_RENDERBUFFER, store)
        return store

    def _delete_stores(self) -> None:
        for store in self.stores:
            delete = gl.glDeleteTextures if self._textures else gl.glDeleteRenderbuffers
            delete(1, ctypes.byref(ctypes.c_uint(store)))

    def _samples_in_a_pixel(self) -> NDArray[np.float64]:
        """Where the bound canvas's samples lie in a pixel, (samples, 2), from its centre, rows downwards."""
        if not self._samples:
            return self.sample_places
        places = np.zeros((self._samples, 2), dtype=np.float32)
        for k in range(self._samples):
            gl.glGetMultisamplefv(gl.GL_SAMPLE_POSITION, k, places[k])
        return places.astype(np.float64) - 0.5

    def delete(self) -> None:
        self._delete_stores()
        gl.glDeleteFramebuffers(1, ctypes.byref(ctypes.c_uint(self._frame)))


SAMPLES = 4  # of colour, a pixel
CANVASES: dict[str, Callable[[], Framebuffer]] = {
    "samples": lambda: Framebuffer(WORD, samples=SAMPLES),
    "own samples": lambda: Framebuffer(WORD, WORD, samples=SAMPLES),
    "picture": lambda: Framebuffer(PICTURE, depth=COARSE),  # tells pixels of one surface from others
    "soft picture": lambda: Framebuffer(PICTURE, BYTE, depth=COARSE),
    "facts": lambda: Framebuffer(WORD, REAL, WORD, textures=True),  # surfaces, depth in metres, ids
    "ids": lambda: Framebuffer(None, None, WORD),  # facts of which nobody asks more
    "whole": lambda: Framebuffer(PICTURE, depth=None),
    "measured": lambda: Framebuffer(HALVES),
}
