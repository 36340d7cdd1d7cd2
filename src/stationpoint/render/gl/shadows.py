"""Soft shadows for the OpenGL renderer: one depth map for each of the sun's fixed directions.

All maps share one frame fitted to what casts shadows, or to the part round a place; a direction is a shear
of it. Drawn once for a stage and a light, then read by every shot; those of the measured plane, which are
fitted to what is seen, for each camera. Stages whose maps share a frame take a copy of what they have in
common, and draw the rest into it.
"""

from __future__ import annotations

import ctypes
from collections import OrderedDict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base import look
from stationpoint.render.gl import names as gl
from stationpoint.render.gl.objects import UploadedPart, casting, casting_nodes
from stationpoint.render.gl.upload import Program, Programs, create_one
from stationpoint.render.shading import light_axes

KEPT_BYTES = 140e6  # of maps, besides the last ones drawn: a dozen, in a large scene four
MOST_SPARE = 2
LARGE = 4096  # faces of a node that is drawn once for all stages whose maps share a frame, whatever it is
# What is so near before a face casts no shadow on it: steps of the map's depth, and widths of its texels,
# since a texel at a wall's foot holds the wall.
NEAR_STEPS, NEAR_TEXELS = 1.5, 2.0
NEAR_UNIT = 5  # of textures: maps round a place
Names = tuple[str, ...] | None  # of the only nodes that cast; None for all
Around = tuple[tuple[float, ...], tuple[float, ...]]  # a place, (3,); how far along the light's axes, (3,)


@dataclass(frozen=True, slots=True, eq=False)
class ShadowMaps:
    """texture: a layer for each of the sun's directions, size_px a side. to_light: (4, 4) world to map 0..1.
    shears: (suns, 2) in the map per unit of its depth. size_m: (3,) of what is mapped. whole: whether that
    is all that casts. lift_m: how far off its surface a point of a thin thing is looked up (a solid's lit
    faces are not in the maps)."""

    texture: int
    size_px: int
    to_light: NDArray[np.float64]
    shears: NDArray[np.float64]
    size_m: NDArray[np.float64]
    whole: bool
    lift_m: float

    @property
    def wide_m(self) -> float:
        """The longer side of what is mapped."""
        return float(self.size_m[:2].max())

    def holds(self, low: NDArray[np.float64], high: NDArray[np.float64]) -> bool:
        """Whether boxes (n, 3) lie within the maps, from all of the sun's directions."""
        if not len(low):
            return True
        at = _corners(np.stack([low, high])) @ self.to_light[:3, :3].T + self.to_light[:3, 3]
        moved = at[:, None, :2] + self.shears * at[:, None, 2:]
        return bool(np.all((at >= 0.0) & (at <= 1.0)) and np.all((moved >= 0.0) & (moved <= 1.0)))

    def bind(self, program: Program) -> None:
        """Make them what `program` reads."""
        gl.glBindTextureUnit(0, self.texture)
        program.whole("suns", 0)
        program.matrix("to_light", self.to_light)
        program.vectors("shears", self.shears)
        near = NEAR_STEPS / 65535.0 + NEAR_TEXELS * self.wide_m / self.size_px / self.size_m[2]
        program.vectors("grain", np.array([self.size_px, near]))
        program.real("lift_m", self.lift_m)

    def bind_near(self, program: Program, sun_axes: NDArray[np.float64], far: ShadowMaps | None) -> None:
        """Make them what `program` reads near the place that they are round, and `far` elsewhere."""
        if far is not None:
            far.bind(program)
            start, far_start = (-maps.to_light[:3, 3] * maps.size_m for maps in (self, far))
            terms = np.array([self.size_m, start - far_start]) / far.size_m
            program.vectors("far_terms", terms)
        gl.glBindTextureUnit(NEAR_UNIT, self.texture)
        program.whole("near_suns", NEAR_UNIT)
        program.matrix("to_light", self.to_light)
        program.real("near_side", float(self.size_px))
        program.vectors("near_axes", sun_axes * self.size_m[2] / self.size_m[:2])
        program.real("lift_m", self.lift_m)

    def delete(self) -> None:
        gl.glDeleteTextures(1, ctypes.byref(ctypes.c_uint(self.texture)))


class Shadows:
    """The shadow maps of stages and lights, drawn when they are first asked for; the latest are kept."""

    def __init__(
        self,
        sun_offsets: NDArray[np.float64],
        texel_m: float,
        sizes_px: Sequence[int],
        compared: bool = True,
        kept_bytes: float = KEPT_BYTES,
        all_texel_m: float = 0.0,
        all_sizes_px: Sequence[int] = (),
    ) -> None:
        """sun_offsets: (suns, 2) tangents of the sun's directions. texel_m: wanted at most; where the largest
        of the sizes does not reach, it gets more. compared: read as what light passes, not as depth.
        all_texel_m, all_sizes_px: of maps of all that casts that serve every place, where they reach."""
        self._all_texel_m, self._all_sizes_px = all_texel_m, all_sizes_px
        self._compared, self._kept_bytes = compared, kept_bytes
        self._offsets, self._texel_m, self._sizes_px = sun_offsets, texel_m, sizes_px
        self._programs = Programs("shadow.vert", "empty.frag")
        self._kept: OrderedDict[tuple[Hashable, ...], ShadowMaps | None] = OrderedDict()
        self._all_held: dict[tuple[Hashable, ...], bool] = {}
        self._spare: list[ShadowMaps] = []

    def of(
        self,
        stage: Hashable,
        parts: Sequence[UploadedPart],
        casters: Names,
        towards_light: ArrayLike,
        around: Around | None = None,
    ) -> ShadowMaps | None:
        """The maps of a stage, None where nothing casts. stage: its key. parts: the scene's, then guests.
        around: the part that is mapped; None: all that casts."""
        light = tuple(np.asarray(towards_light, dtype=np.float64).tolist())
        if around is not None and self._all_sizes_px and self._holds_all(stage, parts, casters, light):
            around = None
        key = (stage, casters, light, around)
        if key not in self._kept:
            self._kept[key] = self._drawn(parts, casters, light, around)
        self._kept.move_to_end(key)
        return self._kept[key]

    def _holds_all(
        self, stage: Hashable, parts: Sequence[UploadedPart], casters: Names, light: tuple[float, ...]
    ) -> bool:
        """Whether maps of all that casts are fine enough for every place."""
        key = (stage, casters, light)
        if key not in self._all_held:
            frame = self._frame(parts, casters, light, None)
            self._all_held[key] = frame is None or frame.wide_m <= self._all_texel_m * frame.size_px
        return self._all_held[key]

    def _drawn(
        self, parts: Sequence[UploadedPart], casters: Names, light: tuple[float, ...], around: Around | None
    ) -> ShadowMaps | None:
        """Maps of what casts; what stages that share a frame have in common is copied: a map holds what is
        nearest, in whatever order it is drawn."""
        scene, guests = parts[0], parts[1:]
        frame = self._frame([scene], casters, light, around)
        if frame is None or not frame.holds(*casting(guests, casters)[1]):  # they may widen it
            frame = self._frame(parts, casters, light, around)
        if frame is None:
            return None
        casts = casting_nodes(scene, casters)
        faces = np.diff(scene.surface.starts)
        likely = [casts & bool(guests)]
        if self._compared and around is None:  # readings ask for them with and without whatever has a role
            likely = [casts & (faces >= LARGE), casts & (scene.surface.tints == look.CLAY).all(axis=1)]
        most = [some for some in likely if 2 * faces[some].sum() > faces[casts].sum()]
        if not most:
            return self._new(frame, [replace(scene, drawn=casts), *guests], casters)
        shared = most[0]
        key = ("shared", frame.to_light.tobytes(), shared.tobytes())
        base = self._kept.get(key) or self._new(frame, [replace(scene, drawn=shared)], casters)
        self._kept[key] = base
        self._kept.move_to_end(key)
        return self._new(frame, [replace(scene, drawn=casts & ~shared), *guests], casters, base)

    def _new(
        self, frame: ShadowMaps, parts: Sequence[UploadedPart], casters: Names, base: ShadowMaps | None = None
    ) -> ShadowMaps:
        """Maps of a frame, with what casts, and what is in `base`, whose frame it is too."""
        maps = replace(frame, texture=self._texture(frame.size_px))
        if base is not None:
            where = (gl.GL_TEXTURE_2D_ARRAY, 0, 0, 0, 0)
            size = (base.size_px, base.size_px, len(base.shears))
            gl.glCopyImageSubData(base.texture, *where, maps.texture, *where, *size)
        _draw(maps, self._programs, parts, casters, clear=base is None)
        return maps

    def _frame(
        self, parts: Sequence[UploadedPart], casters: Names, towards_light: ArrayLike, around: Around | None
    ) -> ShadowMaps | None:
        """Where maps of what casts lie, without their texture; None where nothing does."""
        drawing, boxes = casting(parts, casters)
        if not drawing:
            return None
        to_light, size_m, whole = fitted(*boxes, towards_light, self._offsets, around)
        wide_m = float(size_m[:2].max())
        texel_m, sizes_px = self._texel_m, self._sizes_px
        if around is None and self._all_sizes_px:
            texel_m, sizes_px = self._all_texel_m, self._all_sizes_px
        size = next((px for px in sizes_px if px * texel_m >= wide_m), sizes_px[-1])
        shears = self._offsets * size_m[2] / size_m[:2]
        return ShadowMaps(0, size, to_light, shears, size_m, whole, 1.5 * wide_m / size + 0.004)

    def _texture(self, size_px: int) -> int:
        """A texture of that size: a spare one, if there is one."""
        suns = len(self._offsets)
        while sum(2 * suns * maps.size_px**2 for maps in self._kept.values() if maps) > self._kept_bytes:
            self._put_by(self._kept.popitem(last=False)[1])
        for k, maps in enumerate(self._spare):
            if maps.size_px == size_px:
                return self._spare.pop(k).texture
        return _texture(size_px, suns, self._compared)

    def drop(self, stage: Hashable) -> None:
        """Forget a stage."""
        self._all_held = {key: held for key, held in self._all_held.items() if key[0] != stage}
        for key in [key for key in self._kept if key[0] == stage]:
            self._put_by(self._kept.pop(key))

    def _put_by(self, maps: ShadowMaps | None) -> None:
        if maps is not None:
            self._spare.append(maps)
        if len(self._spare) > MOST_SPARE:
            self._spare.pop(0).delete()

    def delete(self) -> None:
        for maps in (*self._kept.values(), *self._spare):
            if maps is not None:
                maps.delete()
        self._programs.delete()


def _texture(size_px: int, suns: int, compared: bool) -> int:
    texture = create_one(gl.glCreateTextures, gl.GL_TEXTURE_2D_ARRAY)
    gl.glTextureStorage3D(texture, 1, gl.GL_DEPTH_COMPONENT16, size_px, size_px, suns)
    filtered = gl.GL_LINEAR if compared else gl.GL_NEAREST
    for name, value in (
        (gl.GL_TEXTURE_MIN_FILTER, filtered),
        (gl.GL_TEXTURE_MAG_FILTER, filtered),
        (gl.GL_TEXTURE_WRAP_S, gl.GL_CLAMP_TO_BORDER),
        (gl.GL_TEXTURE_WRAP_T, gl.GL_CLAMP_TO_BORDER),
        (gl.GL_TEXTURE_COMPARE_MODE, gl.GL_COMPARE_REF_TO_TEXTURE if compared else gl.GL_NONE),
        (gl.GL_TEXTURE_COMPARE_FUNC, gl.GL_LEQUAL),
    ):
        gl.glTextureParameteri(texture, name, value)
    gl.glTextureParameterfv(texture, gl.GL_TEXTURE_BORDER_COLOR, np.ones(4, dtype=np.float32))
    return texture


def _draw(
    maps: ShadowMaps, programs: Programs, parts: Sequence[UploadedPart], casters: Names, clear: bool
) -> None:
    frame = create_one(gl.glCreateFramebuffers)
    gl.glNamedFramebufferDrawBuffer(frame, gl.GL_NONE)
    gl.glBindFramebuffer(gl.GL_FRAMEBUFFER, frame)
    gl.glViewport(0, 0, maps.size_px, maps.size_px)
    gl.glClipControl(gl.GL_LOWER_LEFT, gl.GL_ZERO_TO_ONE)
    gl.glEnable(gl.GL_DEPTH_TEST)
    gl.glDepthFunc(gl.GL_LESS)
    gl.glClearDepth(1.0)
    (gl.glDisable if maps.whole else gl.glEnable)(gl.GL_DEPTH_CLAMP)  # what is before the part casts on it
    drawing, _ = casting(parts, casters)
    for layer, shear in enumerate(maps.shears):
        if not maps.whole:
            drawing, _ = casting(parts, casters, _beam(maps, shear))
        gl.glNamedFramebufferTextureLayer(frame, gl.GL_DEPTH_ATTACHMENT, maps.texture, 0, layer)
        if clear:
            gl.glClear(gl.GL_DEPTH_BUFFER_BIT)
        programs.draw(drawing, partial(_set_up, maps, shear))
    gl.glDisable(gl.GL_DEPTH_CLAMP)
    gl.glDeleteFramebuffers(1, ctypes.byref(ctypes.c_uint(frame)))


def _beam(maps: ShadowMaps, shear: NDArray[np.float64]) -> NDArray[np.float64]:
    """All that one of the sun's directions throws into the maps, however near to the light or far, as a clip
    matrix (4, 4) for tiles.reached: of shadow.vert's."""
    across, along, depth = maps.to_light[:3]
    rows = [2.0 * (row + by * depth) for row, by in zip((across, along), shear, strict=True)]
    last = np.array([0.0, 0.0, 0.0, 1.0])
    return np.array([rows[0] - last, rows[1] - last, np.zeros(4), last])


def _set_up(maps: ShadowMaps, shear: NDArray[np.float64], program: Program) -> None:
    program.matrix("to_light", maps.to_light)
    program.vectors("shear", shear)


def _corners(boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    """The eight corners of boxes low, high (2, n, 3): (8 n, 3)."""
    picks = np.array(list(np.ndindex(2, 2, 2)))
    return np.concatenate([boxes[pick, :, [0, 1, 2]].T for pick in picks])


def fitted(
    low: NDArray[np.float64],
    high: NDArray[np.float64],
    towards_light: ArrayLike,
    offsets: NDArray[np.float64],
    around: Around | None = None,
) -> tuple[NDArray[np.float64], NDArray[np.float64], bool]:
    """World to the light's map (4, 4), its size in metres (3,), and whether all of the boxes are in it.

    low, high: (n, 3) boxes that must fit in, or what of them lies `around`. offsets: of the sun.
    """
    axes = light_axes(towards_light)
    axes[2] *= -1.0  # depth grows away from the light
    ahead, back = np.maximum(axes, 0.0).T, np.minimum(axes, 0.0).T
    start, end = (low @ ahead + high @ back).min(axis=0), (high @ ahead + low @ back).max(axis=0)
    start[2], end[2] = start[2] - 0.01, end[2] + 0.01
    whole = True
    if around is not None:
        middle, reach = axes @ np.array(around[0]), np.array(around[1])
        kept = np.maximum(start, middle - reach), np.minimum(end, middle + reach)
        if (kept[0] < kept[1]).all() and (np.any(kept[0] > start) or np.any(kept[1] < end)):
            (start, end), whole = kept, False
    # The same shear is used for casters and receivers, so it may be counted from any depth: from
    # the casters' nearest on. Each direction shifts by its tangent over the casters' depth.
    shift = np.abs(offsets).max() * (end[2] - start[2])
    start[:2] -= shift + 0.1
    end[:2] += shift + 0.1
    size = end - start
    to_light = np.eye(4)
    to_light[:3, :3] = axes / size[:, None]
    to_light[:3, 3] = -start / size
    return to_light, size, whole
