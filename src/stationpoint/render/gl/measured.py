"""The measured plane: the level's own colours in linear light, one sample a pixel, where ids are too."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base import look
from stationpoint.camera import Shot, pixel_rays
from stationpoint.render.gl import names as gl
from stationpoint.render.gl.canvas import Framebuffer
from stationpoint.render.gl.objects import Drawing
from stationpoint.render.gl.shadows import Around, ShadowMaps
from stationpoint.render.gl.upload import Program, Programs, camera_state
from stationpoint.render.measured import AMBIENT, plain_colours
from stationpoint.render.shading import light_axes

STEP_PX = 2  # between the pixels whose surfaces are asked how far they reach
MARGIN = 1.01  # for what lies between them


def part_seen(shot: Shot, depth_m: NDArray[np.float32], centre_m: NDArray[np.float64]) -> Around | None:
    """The place, from the scene's centre, and the reach along the light's axes of all that is seen; None
    where that is nothing. depth_m: (h, w), inf where nothing is."""
    depth = depth_m[::STEP_PX, ::STEP_PX]
    met = np.isfinite(depth)
    if not met.any():
        return None
    axes = light_axes(shot.towards_light)
    start, along = pixel_rays(shot.camera, 0.5 + STEP_PX * np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]))
    terms = (
        np.stack([start - centre_m, along]) @ axes.T
    )  # of both, at the first pixel, the next, the one below
    terms[:, 1:] -= terms[:, :1]
    column, row = np.arange(depth.shape[1]), np.arange(depth.shape[0])[:, None]
    ends = []
    for axis in range(3):
        from_m, per_m = (
            (first + row * below).astype(np.float32) + (column * beside).astype(np.float32)
            for first, beside, below in terms[:, :, axis]
        )
        at = (from_m + per_m * depth)[met]
        ends.append((float(at.min()), float(at.max())))
    low, high = np.array(ends).T
    reach = MARGIN * (high - low) / 2.0 + 0.01
    return tuple((axes.T @ (low + high) / 2.0).tolist()), tuple(reach.tolist())


class Measured:
    """The programs of the plane, compiled when they are first needed."""

    def __init__(self) -> None:
        self._programs: dict[tuple[str, ...], Programs] = {}

    def draw(
        self,
        shot: Shot,
        canvas: Framebuffer,
        drawing: Drawing,
        to_clip: NDArray[np.float64],
        shadow: ShadowMaps | None,
    ) -> None:
        """Draw what is seen on `canvas`, then the glass before it."""
        clay, ground, sky = plain_colours()

        def set_up(program: Program) -> None:
            program.matrix("to_clip", to_clip)
            program.vectors("towards_light", light_axes(shot.towards_light)[2])
            program.vectors("ambients", np.array([AMBIENT, look.LIT_FACING]))
            program.vectors("plains", np.array([clay, ground]))
            if shadow is not None:
                shadow.bind(program)

        canvas.bind(*shot.camera.pixels)
        camera_state()
        gl.glClearBufferfv(gl.GL_COLOR, 0, np.array([*sky, 1.0], dtype=np.float32))
        gl.glClearBufferfv(gl.GL_DEPTH, 0, np.zeros(1, dtype=np.float32))
        shadowed = ("SHADOWED",) * (shadow is not None)
        self._of(*shadowed).draw(drawing, set_up)
        glass = [each for each in drawing if each[0].sheer]
        if glass:
            gl.glEnable(gl.GL_BLEND)
            gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)
            gl.glDepthMask(False)
            self._of("VEIL", *shadowed).draw(glass, set_up)
            gl.glDepthMask(True)
            gl.glDisable(gl.GL_BLEND)

    def _of(self, *defines: str) -> Programs:
        if defines not in self._programs:
            self._programs[defines] = Programs("measured.vert", "measured.frag", "OWN", *defines)
        return self._programs[defines]

    def delete(self) -> None:
        for programs in self._programs.values():
            programs.delete()


def read_measured(shot: Shot, canvas: Framebuffer) -> NDArray[np.float32]:
    """What was drawn, (h, w, 3)."""
    width, height = shot.camera.pixels
    halves = np.empty((height, width, 4), dtype=np.float16)
    canvas.read(gl.GL_RGBA, gl.GL_HALF_FLOAT, halves)
    return halves[:, :, :3].astype(np.float32)
