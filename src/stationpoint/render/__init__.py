"""Renderers behind one door: a Shot in, a Frame out. Each is a line in RENDERERS, loaded late.

What a renderer gives: colour, antialiased where it is for the eye, depth and ids at pixel centres, whole
silhouettes as bits; see camera/shot.py. tests/render/test_every_renderer.py holds every line of the table to
the same picture.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from importlib import import_module
from typing import Protocol

from stationpoint.base.errors import NoOpenGl, StudyWrong
from stationpoint.base.words import listed
from stationpoint.camera import Frame, Shot
from stationpoint.render.surface import find_before
from stationpoint.render.threads import check_threads
from stationpoint.scene import Scene

__all__ = ["Renderer", "before_fork", "driver_of", "fallback_words", "has_context", "open_renderer"]

RENDERERS: dict[str, str] = {
    "gl": "stationpoint.render.gl.open:open_renderer",
    "rays": "stationpoint.render.rays.draw:open_renderer",
}


class Renderer(Protocol):
    """Draws shots of the scene that it was opened with."""

    @property
    def name(self) -> str:
        """Its name in RENDERERS."""
        ...

    def draw(self, shot: Shot) -> Frame:
        """The planes that the shot asks for."""
        ...

    def draw_all(self, shots: Sequence[Shot]) -> list[Frame]:
        """The frames of several shots, the same as one by one, in less time."""
        ...

    def begin(self, shot: Shot) -> Callable[[], Frame]:
        """Begin to draw a shot; what is returned gives its frame, once, when it is called.

        The engine may work on while the caller does other things. Any other shot that is drawn or
        begun in between finishes this one first.
        """
        ...


def open_renderer(name: str, scene: Scene) -> AbstractContextManager[Renderer]:
    """The renderer of that name for `scene`, to be used in a `with`. MachineLacks without threads for it."""
    if name not in RENDERERS:
        raise StudyWrong(f"There is no renderer {name!r}; there are {listed(RENDERERS)}.")
    check_threads()
    module, _, function = RENDERERS[name].partition(":")
    opened: AbstractContextManager[Renderer] = getattr(import_module(module), function)(scene)
    return opened


def before_fork(name: str, scene: Scene) -> None:
    """Load and find what every renderer of a scene needs: processes that are forked then have it."""
    find_before(scene.nodes)
    if name == "gl":
        from stationpoint.render.gl.open import load  # late, as the renderers

        load()


def driver_of(name: str) -> str:
    """What the renderer of that name draws with on this machine, in the driver's words; "" where pictures
    depend on no driver. NoOpenGl where it cannot draw."""
    if name != "gl":
        return ""
    from stationpoint.render.gl.open import driver  # late, as the renderers

    return driver()


def fallback_words(lack: NoOpenGl) -> str:
    """What a person is told where rays take the place of OpenGL."""
    from stationpoint.render.gl.context import DEBIAN_PACKAGES  # late: few calls need it

    reason = lack.message.rstrip(".")
    return f"{reason}; drawing with rays. For OpenGL install {DEBIAN_PACKAGES}."


def has_context() -> bool:
    """Whether this process holds an OpenGL context: one does not survive a fork."""
    cures = sys.modules.get("stationpoint.render.gl.context")
    return cures is not None and cures.has_context()
