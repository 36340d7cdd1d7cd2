"""The engines to test: every line of the renderers' table that works on this machine."""

from __future__ import annotations

import pytest

from stationpoint.base.errors import MachineLacks
from stationpoint.render import RENDERERS


def gl_fault() -> str:
    """Why there is no OpenGL here, "" if there is."""
    from stationpoint.render.gl import open as gl

    try:
        gl.works()
    except MachineLacks as lack:
        return lack.message
    return ""


@pytest.fixture(params=list(RENDERERS))
def engine(request: pytest.FixtureRequest) -> str:
    if request.param == "gl" and (fault := gl_fault()):
        pytest.skip(fault)
    return str(request.param)


@pytest.fixture
def needs_gl() -> None:
    if fault := gl_fault():
        pytest.skip(fault)
