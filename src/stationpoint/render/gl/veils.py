"""Glass over a finished picture, where it is before what is drawn."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base import look
from stationpoint.camera import Shot
from stationpoint.render.gl import names as gl
from stationpoint.render.gl.objects import Drawing
from stationpoint.render.gl.upload import TEXTURE_UNIT, Program


class Veils:
    """The programs of the glass, compiled when they are first needed."""

    def __init__(self) -> None:
        self._programs: dict[bool, Program] = {}  # by whether a pixel has a single sample

    def draw(self, shot: Shot, drawing: Drawing, to_clip: NDArray[np.float64], depths: int) -> None:
        """Draw the glass of a shot on the canvas of its picture, which is bound. depths: the texture of what
        is drawn there."""
        glass = [each for each in drawing if each[0].sheer]
        if not glass:
            return
        single = not shot.antialiased
        if single not in self._programs:
            self._programs[single] = program = Program("veil.vert", "veil.frag", "CUT", *("SINGLE",) * single)
            program.whole("picture", TEXTURE_UNIT)
            program.whole("depths", 1)
        veil = self._programs[single]
        gl.glBindTextureUnit(1, depths)
        veil.use()
        veil.matrix("to_clip", to_clip)
        veil.whole("in_own", shot.own)
        veil.vectors("veil", np.array([*(part / 255.0 for part in look.WHITE), look.LIT_FACING]))
        gl.glDisable(gl.GL_DEPTH_TEST)
        gl.glEnable(gl.GL_BLEND)
        if shot.about_m is not None:  # what a shadow leaves of a pixel, and its surface, stay what is behind
            gl.glBlendFuncSeparate(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA, gl.GL_ZERO, gl.GL_ONE)
            gl.glColorMaski(1, False, False, False, False)
        for mesh, runs, without in glass:
            mesh.draw(runs, without)
        gl.glColorMaski(1, True, True, True, True)
        gl.glDisable(gl.GL_BLEND)

    def delete(self) -> None:
        for program in self._programs.values():
            program.delete()
