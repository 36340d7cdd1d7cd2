"""Renderers behind one door: a Shot in, a Frame out. Each is a line in RENDERERS, loaded late.

What a renderer gives: colour antialiased, depth and ids at pixel centres, whole silhouettes as bits;
see shot.py. tests/render/test_every_renderer.py holds every line of the table to the same picture.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from importlib import import_module
from typing import Protocol

from stationpoint.errors import MachineLacks, StudyWrong
from stationpoint.scene.types import Scene
from stationpoint.shot import Frame, Shot
from stationpoint.words import listed

RENDERERS: dict[str, str] = {
    "gl": "stationpoint.render.gl:open_renderer",
    "rays": "stationpoint.render.rays:open_renderer",
}
AUTO = "auto"


class Renderer(Protocol):
    """Draws shots of the scene that it was opened with."""

    @property
    def name(self) -> str:
        """Its name in RENDERERS."""
        ...

    def draw(self, shot: Shot) -> Frame:
        """The planes that the shot asks for."""
        ...

    def begin(self, shot: Shot) -> Callable[[], Frame]:
        """Begin to draw a shot; what is returned gives its frame, once, when it is called.

        The engine may work on while the caller does other things. Any other shot that is drawn or
        begun in between finishes this one first.
        """
        ...


def open_renderer(name: str, scene: Scene) -> AbstractContextManager[Renderer]:
    """The renderer of that name for `scene`, to be used in a `with`; "auto" is OpenGL, else rays."""
    engine, _ = choose_renderer(name)
    module, _, function = RENDERERS[engine].partition(":")
    opened: AbstractContextManager[Renderer] = getattr(import_module(module), function)(scene)
    return opened


def choose_renderer(wanted: str) -> tuple[str, str | None]:
    """The engine to draw with, and a sentence for the person where it is not OpenGL as hoped.

    wanted: a name in RENDERERS, or "auto". Only "auto" falls back.
    """
    if wanted in RENDERERS:
        return wanted, None
    if wanted != AUTO:
        raise StudyWrong(f"There is no renderer {wanted!r}; there are {listed([AUTO, *RENDERERS])}.")
    from stationpoint.render import gl  # late: only "auto" must know whether it works

    try:
        gl.works()
    except MachineLacks as lack:
        return "rays", f"{lack.message.rstrip('.')}; drawing with rays. For OpenGL install {gl.PACKAGES}."
    return "gl", None
