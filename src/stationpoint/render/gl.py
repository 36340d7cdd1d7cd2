"""Pictures through OpenGL: the door. What is drawn, and how, stands in gl_passes.py."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from stationpoint.render import gl_cures
from stationpoint.scene.types import Scene

if TYPE_CHECKING:
    from stationpoint.render.gl_passes import GlRenderer


@contextmanager
def open_renderer(scene: Scene) -> Iterator[GlRenderer]:
    """A renderer of `scene`; NoOpenGl where there is no OpenGL."""
    works()
    from stationpoint.render.gl_passes import GlRenderer  # late: PyOpenGL loads the driver's libraries

    renderer = GlRenderer(scene)
    try:
        yield renderer
    finally:
        renderer.close()


def works() -> None:
    """Make the context; NoOpenGl, saying what to install, where that fails."""
    gl_cures.current_context()
