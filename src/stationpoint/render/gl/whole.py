"""The pass of whole things: one bit a group, each as if it were alone; bits are joined, no depth test."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Shot
from stationpoint.render.gl import names as gl
from stationpoint.render.gl.canvas import Framebuffer
from stationpoint.render.gl.objects import UploadedStage, of_group
from stationpoint.render.gl.upload import Program, Programs, camera_state


class Whole:
    """The programs of the pass, compiled when they are first needed."""

    def __init__(self) -> None:
        self._programs = Programs("whole.vert", "whole.frag")

    def draw(
        self, shot: Shot, canvas: Framebuffer, cast: UploadedStage, to_clip: NDArray[np.float64]
    ) -> None:
        """Draw all groups of a shot on `canvas`."""
        canvas.bind(*shot.camera.pixels)
        camera_state()
        gl.glClearColor(0.0, 0.0, 0.0, 0.0)
        gl.glClear(gl.GL_COLOR_BUFFER_BIT)
        gl.glDisable(gl.GL_DEPTH_TEST)
        gl.glEnable(gl.GL_COLOR_LOGIC_OP)
        gl.glLogicOp(gl.GL_OR)
        for bit, group in enumerate(shot.whole):
            bits = np.zeros(4)
            bits[bit // 8] = (1 << bit % 8) / 255.0

            def set_up(program: Program, bits: NDArray[np.float64] = bits) -> None:
                program.matrix("to_clip", to_clip)
                program.vectors("bits", bits)

            self._programs.draw(of_group(cast, group), set_up)
        gl.glDisable(gl.GL_COLOR_LOGIC_OP)

    def delete(self) -> None:
        self._programs.delete()


def read_whole(shot: Shot, canvas: Framebuffer) -> NDArray[np.uint32]:
    """The groups of a shot, (h, w), a bit each, as they were drawn on `canvas`."""
    whole = np.empty(shot.camera.pixels[::-1], dtype="<u4")
    canvas.read(gl.GL_RGBA, gl.GL_UNSIGNED_BYTE, whole)
    return whole
