"""Pictures through OpenGL: the door. What is drawn, and how, stands in gl_passes.py."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from stationpoint.errors import MachineLacks
from stationpoint.render import gl_cures
from stationpoint.scene.types import Scene

if TYPE_CHECKING:
    from stationpoint.render.gl_passes import GlRenderer

PACKAGES = gl_cures.DEBIAN_PACKAGES
NEEDS = (4, 5)  # reversed depth with rows from the top (glClipControl)


@contextmanager
def open_renderer(scene: Scene) -> Iterator[GlRenderer]:
    """A renderer of `scene`; MachineLacks where there is no OpenGL."""
    works()
    from stationpoint.render.gl_passes import GlRenderer  # late: PyOpenGL loads the driver's libraries

    renderer = GlRenderer(scene)
    try:
        yield renderer
    finally:
        renderer.close()


def works() -> None:
    """Make the context; MachineLacks, saying what to install, where that fails."""
    gl_cures.current_context()
    from stationpoint.render.gl_kit import version

    if version() < NEEDS:
        has, needs = (".".join(map(str, numbers)) for numbers in (version(), NEEDS))
        raise MachineLacks(f"OpenGL {needs} is needed, this driver has {has}.", gl_cures.HINT)
