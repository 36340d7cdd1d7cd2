"""Every private touch of pyrender still holds, and a machine without OpenGL is told what to install."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from threading import Thread
from unittest.mock import patch

import pytest

from cli_calls import environment, process, yard
from stationpoint.base.errors import MachineLacks
from stationpoint.render import open_renderer
from stationpoint.scene.types import Scene


def run(script: str, **more: str) -> subprocess.CompletedProcess[str]:
    """The script in a fresh interpreter. more: environment variables."""
    return subprocess.run(
        [sys.executable, "-c", script],
        env=environment(**more),
        capture_output=True,
        text=True,
        timeout=60,
    )


@pytest.mark.usefixtures("needs_gl")
def test_context_is_made_without_the_rest_of_pyrender() -> None:
    done = run(
        "import sys\n"
        "from stationpoint.render.gl import open as gl\n"
        "gl.works()\n"
        "heavy = {'trimesh', 'scipy', 'pyglet', 'PIL', 'pyrender', 'OpenGL.GL'} & set(sys.modules)\n"
        "print(sorted(heavy))"
    )
    assert done.stdout.strip() == "[]", done.stderr


@pytest.mark.usefixtures("needs_gl")
def test_pyrender_can_still_be_imported_whole_afterwards() -> None:
    done = run(
        "import sys, types\n"
        "from stationpoint.render.gl import open as gl\n"
        "gl.works()\n"
        "sys.modules['pyrender.viewer'] = types.SimpleNamespace(Viewer=object)\n"
        "import pyrender\n"
        "gl.works()\n"
        "print(pyrender.OffscreenRenderer.__name__)"
    )
    assert done.stdout.strip() == "OffscreenRenderer", done.stderr


@pytest.mark.usefixtures("needs_gl")
def test_pyrenders_egl_platform_has_what_is_used_of_it() -> None:
    from stationpoint.render.gl.context import egl_platform

    egl = egl_platform()
    assert len(egl.query_devices()) > 0
    platform = egl.EGLPlatform(1, 1, device=egl.query_devices()[0])
    assert callable(platform.init_context)
    assert callable(platform.make_current)


@pytest.mark.usefixtures("needs_gl")
def test_one_context_serves_the_whole_process() -> None:
    from stationpoint.render.gl.context import current_context

    assert current_context() is current_context()


@pytest.mark.usefixtures("needs_gl")
def test_context_has_the_version_that_the_passes_need() -> None:
    from stationpoint.render.gl.context import VERSION, current_context

    current_context()
    from stationpoint.render.gl.upload import version

    assert version() >= VERSION


@pytest.mark.usefixtures("needs_gl")
def test_a_version_that_no_driver_has_is_refused() -> None:
    # Shows that the version asked for reaches the driver in place of pyrender's own.
    from stationpoint.render.gl.context import asking_for, egl_platform

    egl = egl_platform()
    platform = egl.EGLPlatform(1, 1, device=egl.query_devices()[0])
    with asking_for(9, 9), pytest.raises(Exception, match=r"(?i)egl"):
        platform.init_context()


@pytest.mark.usefixtures("needs_gl")
def test_opengl_works_where_python_leaves_assertions_out() -> None:
    done = run(ASK, PYTHONOPTIMIZE="1")
    assert (done.returncode, done.stdout) == (0, ""), done.stderr


@pytest.mark.usefixtures("needs_gl")
def test_an_old_driver_is_told_with_its_version_and_the_one_needed() -> None:
    done = run(ASK, MESA_GL_VERSION_OVERRIDE="4.1")
    if not done.stdout:
        pytest.skip("the driver is not Mesa's, which can be told to be old")
    assert "its driver has version 4.1, and 4.5 is needed" in done.stdout, done.stdout


def test_without_threads_a_renderer_is_a_lack_in_words() -> None:
    with (
        patch.object(Thread, "start", side_effect=RuntimeError("can't start new thread")),
        pytest.raises(MachineLacks, match="No more threads"),
        open_renderer("rays", Scene(())),
    ):
        pytest.fail("a renderer was opened")


NO_LIBRARY = """
import ctypes, ctypes.util
find, load = ctypes.util.find_library, ctypes.CDLL.__init__
def refuse(self, name, *rest, **more):
    if name and ('EGL' in name or 'libGL' in name or 'OpenGL' in name):
        raise OSError(f'{name}: cannot open shared object file')
    load(self, name, *rest, **more)
ctypes.CDLL.__init__ = refuse
ctypes.util.find_library = lambda name: None if 'GL' in name else find(name)
"""

ASK = """
from stationpoint.base.errors import NoOpenGl
from stationpoint.render import fallback_words, has_context, open_renderer
from stationpoint.scene.types import Scene
try:
    with open_renderer('gl', Scene(())): pass
except NoOpenGl as lack:
    print(fallback_words(lack))
    print(has_context(), lack.exit_code, lack)
"""

LACKS = {
    "no libEGL": (NO_LIBRARY, {}),
    "libEGL without a driver": ("", {"__EGL_VENDOR_LIBRARY_FILENAMES": "/nowhere.json"}),
}


@pytest.mark.parametrize("lack", list(LACKS))
def test_without_opengl_the_lack_says_what_to_install(lack: str) -> None:
    before, more = LACKS[lack]
    done = run(before + ASK, **more)
    packages = "libegl1 libgl1 libegl-mesa0 libgl1-mesa-dri"
    assert done.returncode == 0, done.stderr
    why, *rest = done.stdout.splitlines()
    assert packages in why
    assert "drawing with rays" in why
    assert rest[0].startswith("False 3 OpenGL cannot be used here")
    assert packages in "".join(rest)


@pytest.mark.usefixtures("needs_gl")
def test_with_opengl_auto_is_gl_and_says_nothing(tmp_path: Path) -> None:
    yard(tmp_path)
    ended = process("sheet", "yard.study.toml", "--cell-width", "320", "--quiet", cwd=tmp_path)
    assert (ended.code, ended.err) == (0, "")
    assert json.loads((tmp_path / "yard.json").read_text("utf-8"))["renderer"] == "gl"
