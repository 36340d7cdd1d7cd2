"""Pictures through OpenGL: the door. What is drawn, and how, stands in passes.py."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from typing import TYPE_CHECKING

from stationpoint.render.gl import context
from stationpoint.scene import Scene

if TYPE_CHECKING:
    from stationpoint.render.gl.passes import GlRenderer


OUT_OF_MEMORY = 0x0505  # GL_OUT_OF_MEMORY (OpenGL 4.5, table 2.3)


@contextmanager
def open_renderer(scene: Scene) -> Iterator[GlRenderer]:
    """A renderer of `scene`; NoOpenGl where there is no OpenGL, MemoryError where it has too little."""
    works()
    from OpenGL.error import GLError

    from stationpoint.render.gl.passes import GlRenderer  # late: PyOpenGL loads the driver's libraries

    try:
        renderer = GlRenderer(scene)
        try:
            yield renderer
        finally:
            renderer.close()
    except GLError as error:
        if error.err != OUT_OF_MEMORY:
            raise
        raise MemoryError from error


def load() -> None:
    """Load what makes a context and draws in it, but make none; who opens a renderer says why that fails."""
    with suppress(Exception):
        context.egl_platform()
        import_module("stationpoint.render.gl.passes")


def works() -> None:
    """Make the context; NoOpenGl, saying what to install, where that fails."""
    context.current_context()


def driver() -> str:
    """What draws, in the driver's own words: its maker, its device, its version. NoOpenGl as of `works`."""
    works()
    from OpenGL import GL

    return ", ".join(GL.glGetString(one).decode() for one in (GL.GL_VENDOR, GL.GL_RENDERER, GL.GL_VERSION))
