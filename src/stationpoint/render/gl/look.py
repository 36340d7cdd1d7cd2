"""The look of surfaces on the screen: the last passes of a picture in colour.

Light, shadow and grid are worked out once for a pixel that shows one surface: a first pass takes every
pixel for such a one, a second adds what the others show besides.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.camera import Shot, pixel_rays
from stationpoint.render.gl import names as gl
from stationpoint.render.gl.canvas import Framebuffer
from stationpoint.render.gl.shadows import ShadowMaps
from stationpoint.render.gl.upload import Palette, Program, camera_state, draw_screen
from stationpoint.render.shading import light_axes, look_constants
from stationpoint.render.soft import SUNS, Air, soft_constants, sun_axes
from stationpoint.render.tiles import parts_drawn


class Looks:
    """The programs of the look, compiled when they are first needed."""

    def __init__(self) -> None:
        self._programs: dict[tuple[str, ...], Program] = {}

    def draw(
        self,
        shot: Shot,
        stores: Sequence[int],
        sample_places: NDArray[np.float64],
        picture: Framebuffer,
        terms: tuple[float, float],
        centre_m: NDArray[np.float64],
        palette: Palette,
        shadow: ShadowMaps | None,
        air: Air | None = None,
        near: ShadowMaps | None = None,
    ) -> None:
        """Draw what textures hold of a shot on `picture`: its surfaces, own colours if it shows any, depths.

        sample_places: where in a pixel they were drawn, from its middle, (samples, 2). terms: of depth, as in
        tiles.py. air: of a picture for the eye. near: its shadow maps; `shadow` then serves what is not in
        them.
        """
        camera = shot.camera
        asked = {
            "SHADOWED": (shadow if air is None else near) is not None,
            "GRID": shot.grid,
            "PARALLEL": camera.parallel,
            "OWN_LOOK": shot.own,
            "SOFT": air is not None,
            "FEW": near is not None and len(near.shears) < SUNS,
            "SINGLE": len(sample_places) == 1,
            "TWO_MAPS": air is not None and shadow is not None,
        }
        defines = tuple(name for name, is_asked in asked.items() if is_asked)
        origins, directions = pixel_rays(camera, [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)])
        origins = origins - centre_m
        for three in (origins, directions):
            three[1:] -= three[0]
        for place, store in enumerate(stores):
            gl.glBindTextureUnit(place + 1, store)
        picture.bind(*camera.pixels)
        camera_state()
        if len(sample_places) == 1:  # else the first pass's depth lets the second through
            gl.glDisable(gl.GL_DEPTH_TEST)
        gl.glBlendFunc(gl.GL_SRC_ALPHA, gl.GL_ONE_MINUS_SRC_ALPHA)
        edges = ((gl.GL_GREATER, ("EDGES",)),) * (len(sample_places) > 1)
        for depth_test, more in ((gl.GL_ALWAYS, ()), *edges):
            program = self._program((*defines, *more), sample_places)
            program.use()
            program.vectors("origins", origins)
            program.vectors("directions", directions)
            program.vectors("size", np.array(camera.pixels))
            program.vectors("depth_terms", np.array(terms))
            program.vectors("towards_light", light_axes(shot.towards_light)[2])
            program.whole("tinted", shot.tinted)
            program.words("palette", palette.words)
            if air is not None:
                program.vectors("about_and_start", np.append(air.about_m, air.start_m))
                program.vectors("ground_place", air.ground)
                program.real("per_m", air.per_m)
                if near is not None:
                    near.bind_near(program, sun_axes(), shadow)
            elif shadow is not None:
                shadow.bind(program)
            gl.glDepthFunc(depth_test)
            (gl.glEnable if more and air is None else gl.glDisable)(gl.GL_BLEND)
            draw_screen(parts_drawn(shot))
        gl.glDisable(gl.GL_BLEND)

    def _program(self, defines: tuple[str, ...], sample_places: NDArray[np.float64]) -> Program:
        if defines not in self._programs:
            constants = {**look_constants(sample_places), **soft_constants()}
            words = [f"{name} {_literal(value)}" for name, value in constants.items()]
            program = self._programs[defines] = Program("look.vert", "look.frag", *defines, *words)
            program.whole("surfaces", 1)
            program.whole("depths", 2 + ("OWN_LOOK" in defines))
            program.whole("owns", 2)
        return self._programs[defines]

    def delete(self) -> None:
        for program in self._programs.values():
            program.delete()


def _literal(value: ArrayLike) -> str:
    """A number or a vector as GLSL writes it."""
    numbers = [repr(float(number)) for number in np.ravel(value)]
    return numbers[0] if len(numbers) == 1 else f"vec{len(numbers)}({', '.join(numbers)})"
