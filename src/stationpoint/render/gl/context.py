"""Every private touch of pyrender, each with its reason; tests/render/test_context.py holds them.

pyrender gives the offscreen context: its EGL platform finds the device, makes the display and the
context and knows the drivers' ways. What is drawn in it is this package's own (gl.py): its Renderer
draws node by node and reads wrong depth for parallel cameras.
"""

from __future__ import annotations

import importlib
import importlib.util
import os
import sys
from collections.abc import Iterator, MutableSequence, Sequence
from contextlib import contextmanager
from importlib.abc import SourceLoader
from types import ModuleType
from typing import Protocol

from stationpoint.base.errors import NoOpenGl

VERSION = (4, 5)  # of OpenGL: glClipControl, direct state access
OLDEST = (3, 2)  # the first with a core profile, which is asked for
DEBIAN_PACKAGES = "libegl1 libgl1 libegl-mesa0 libgl1-mesa-dri"
HINT = (
    f"On Debian or Ubuntu install {DEBIAN_PACKAGES} (apt-get install {DEBIAN_PACKAGES}), "
    "or draw without them: --renderer rays."
)


class Context(Protocol):
    """What is used of pyrender's EGLPlatform."""

    def init_context(self) -> None: ...
    def make_current(self) -> None: ...


_the_context: list[Context] = []  # at most one, for the life of the process


def current_context() -> Context:
    """The process's one GL context, made current; made on the first call.

    It is never deleted: deleting one calls eglTerminate, which kills every other one on the display.
    """
    if not _the_context:
        _the_context.append(_new_context())
    _the_context[0].make_current()
    return _the_context[0]


def has_context() -> bool:
    """Whether the context has been made."""
    return bool(_the_context)


def _new_context() -> Context:
    try:
        egl = egl_platform()
        devices = egl.query_devices()
    except Exception as error:  # ImportError without libEGL, others from a broken one: no GL either way
        raise NoOpenGl(f"OpenGL cannot be used here: {_reason(error)}.", HINT) from error
    fault: Exception = ValueError("libEGL finds no driver")
    for device in devices:  # a device may be there and closed to this user: take the first that works
        platform: Context = egl.EGLPlatform(1, 1, device=device)
        try:
            with asking_for(*VERSION):
                platform.init_context()
        except Exception as error:  # assertions, EGLError, ctypes errors: this device does not work
            fault = error
        else:
            return platform
    has = _older(egl, devices)
    why = f"its driver has version {has}, and {needed()} is needed" if has else _reason(fault)
    raise NoOpenGl(f"OpenGL cannot be used here: {why}.", HINT) from fault


def needed() -> str:
    """The version of OpenGL that the passes need, as written."""
    return ".".join(map(str, VERSION))


def _older(egl: ModuleType, devices: Sequence[object]) -> str:
    """The version of OpenGL of the first device that has one at all, "" if none has."""
    for device in devices:
        platform = egl.EGLPlatform(1, 1, device=device)
        try:
            with asking_for(*OLDEST):
                platform.init_context()
            from OpenGL.GL import GL_VERSION, glGetString

            return str(glGetString(GL_VERSION).decode("ascii", "replace")).split()[0]
        except Exception:  # as above
            continue
    return ""


@contextmanager
def asking_for(major: int, minor: int) -> Iterator[None]:
    """Within it, pyrender's EGL platform makes contexts of this OpenGL version.

    It asks for 4.1 in so many words, and some drivers then give just that; the passes need
    glClipControl and direct state access.
    """
    from OpenGL import EGL

    create = EGL.eglCreateContext

    def create_newer(
        display: object, config: object, share: object, attributes: MutableSequence[int]
    ) -> object:
        attributes[attributes_place(attributes, EGL.EGL_CONTEXT_MAJOR_VERSION)] = major
        attributes[attributes_place(attributes, EGL.EGL_CONTEXT_MINOR_VERSION)] = minor
        return create(display, config, share, attributes)

    EGL.eglCreateContext = create_newer
    try:
        yield
    finally:
        EGL.eglCreateContext = create


def attributes_place(attributes: Sequence[int], name: int) -> int:
    """Where an attribute's value stands in a list of names and values."""
    return 2 * [int(word) for word in attributes[::2]].index(int(name)) + 1


def egl_platform() -> ModuleType:
    """pyrender's `platforms.egl`, without the rest of pyrender.

    `import pyrender` loads its viewer, which needs X11 libraries that a headless machine lacks, and
    trimesh, scipy and pyglet: half a second and more. A bare package of the same name stands in
    while this one module loads, and is taken away again, so that a later `import pyrender` is whole.
    """
    os.environ.setdefault("PYOPENGL_PLATFORM", "egl")
    name = "pyrender.platforms.egl"
    if "pyrender" in sys.modules:
        return importlib.import_module(name)
    spec = importlib.util.find_spec("pyrender")
    if spec is None or spec.submodule_search_locations is None:
        raise ImportError("the package pyrender2 is not installed")
    bare = ModuleType("pyrender")
    bare.__path__ = list(spec.submodule_search_locations)
    sys.modules["pyrender"] = bare
    try:
        return importlib.import_module(name) if __debug__ else _with_assertions(name)
    finally:
        for loaded in [key for key in sys.modules if key.partition(".")[0] == "pyrender"]:
            del sys.modules[loaded]


def _with_assertions(name: str) -> ModuleType:
    """A module with its `assert`, in which pyrender calls EGL, though Python leaves them out (-O)."""
    spec = importlib.util.find_spec(name)
    if spec is None or not isinstance(spec.loader, SourceLoader):
        raise ImportError(f"{name} is not there as source")
    module = importlib.util.module_from_spec(spec)
    code = compile(spec.loader.get_data(str(spec.origin)), str(spec.origin), "exec", optimize=0)
    exec(code, module.__dict__)
    return module


def _reason(error: Exception) -> str:
    words = " ".join(str(error).split()) or type(error).__name__
    return words[:160].rstrip(".")
