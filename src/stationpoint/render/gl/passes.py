"""The passes of the OpenGL renderer: the whole scene in one buffer, few draw calls a shot.

depth and ids: one pass at pixel centres, with the surfaces there, depth interpolated in metres, so that it
is right for every projection. colour in plain light: the look of these surfaces on the screen (look.py); for
the eye: that of surfaces in four samples a pixel. whole: one bit a group (whole.py). Glass over the
finished picture: veils.py. The shadow maps are drawn once a stage and light (shadows.py).
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import COLOUR, DEPTH, IDS, MEASURED, WHOLE, Camera, Frame, Shot
from stationpoint.render.finish import Rough, finish, rough_shot
from stationpoint.render.gl import context
from stationpoint.render.gl import names as gl
from stationpoint.render.gl import objects as gl_cast
from stationpoint.render.gl.begun import Begun
from stationpoint.render.gl.canvas import CANVASES, Framebuffer
from stationpoint.render.gl.look import Looks
from stationpoint.render.gl.measured import Measured, part_seen, read_measured
from stationpoint.render.gl.objects import Drawing, UploadedPart, UploadedStage
from stationpoint.render.gl.shadows import ShadowMaps, Shadows
from stationpoint.render.gl.textures import Textures
from stationpoint.render.gl.upload import Palette, Program, Programs, camera_state
from stationpoint.render.gl.veils import Veils
from stationpoint.render.gl.whole import Whole, read_whole
from stationpoint.render.shading import light_axes, sun_offsets
from stationpoint.render.soft import Air, air_of, few_sun_offsets, part_shown, soft_sun_offsets
from stationpoint.render.stage import check, stage_key, stage_of
from stationpoint.render.surface import centre_of, surface_of_scene
from stationpoint.render.tiles import (
    clip_matrix,
    depth_range_m,
    depth_terms,
    in_tiles,
    parts_drawn,
    view_from_centre,
)
from stationpoint.scene import Scene

MOST_PX = 2048  # a side of what is drawn at once
TOGETHER = 16  # small shots that are under way at once, each on canvases of its own
SMALL_PX = 512  # a side of them
CASTS_KEPT = 8
SOFT_TEXEL_M, SOFT_SIZES_PX = 0.06, (512, 640, 768, 896, 1024)  # of shadow maps for the eye
ALL_TEXEL_M, ALL_SIZES_PX = 0.045, (512, 768, 1024, 1280, 1536)  # of those that serve every place
SEEN_BYTES = 40e6  # of shadow maps of what one camera sees: no other one asks for them
MANY_TRIANGLES = 200_000  # of a scene whose shadows are drawn from few directions: each draws all of them

Matrix = NDArray[np.float64]


class GlRenderer:
    """Draws shots of one scene."""

    name = "gl"

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._centre = centre_of(scene.nodes)
        self._palette = Palette()
        self._textures = Textures()
        self._parts: dict[bool, UploadedPart] = {}  # by whether they are in their own colours
        self._casts: OrderedDict[tuple[Hashable, bool], UploadedStage] = OrderedDict()
        self._begun: Begun | None = None
        self._shadows = Shadows(sun_offsets(), 0.07, (512, 1024, 2048))
        self._seen_shadows = Shadows(sun_offsets(), 0.0, (2048,), compared=False, kept_bytes=SEEN_BYTES)
        many = sum(len(node.faces) for node in scene.nodes) > MANY_TRIANGLES
        soft_suns = few_sun_offsets() if many else soft_sun_offsets()
        self._soft_shadows = Shadows(
            soft_suns,
            SOFT_TEXEL_M,
            SOFT_SIZES_PX,
            compared=False,
            all_texel_m=ALL_TEXEL_M,
            all_sizes_px=ALL_SIZES_PX,
        )
        self._surfaces: dict[bool, Programs] = {}
        self._veils = Veils()
        self._surfaces_drawn: Hashable = None
        self._viewed: tuple[UploadedStage, Camera, Matrix, Drawing] | None = None
        self._slot = 0  # of canvases: from 1 on, of small shots that are under way together
        self._facts_drawn: dict[tuple[str, int], Hashable] = {}
        self._looks = Looks()
        self._measured = Measured()
        self._facts = Programs("surface.vert", "surface.frag", "FACTS", flat=True)
        self._whole = Whole()
        self._canvases: dict[tuple[str, int, int], Framebuffer] = {}

    def draw(self, shot: Shot) -> Frame:
        """The planes that the shot asks for."""
        check(self._scene, shot)
        context.current_context()
        self._finish()
        return finish(in_tiles(self._draw, rough_shot(shot), MOST_PX), shot)

    def draw_all(self, shots: Sequence[Shot]) -> list[Frame]:
        """The frames of several shots. Small ones without colour are handed to the driver together: where
        each is read at once, its threads and this one wait for each other."""
        context.current_context()
        self._finish()
        small = [k for k, shot in enumerate(shots) if _is_small(shot)]
        frames = {k: self.draw(shot) for k, shot in enumerate(shots) if k not in set(small)}
        for start in range(0, len(small), TOGETHER):
            some = small[start : start + TOGETHER]
            for self._slot, k in enumerate(some, start=1):
                check(self._scene, shots[k])
                self._issue(shots[k])
            for self._slot, k in enumerate(some, start=1):
                frames[k] = self._frame(shots[k])
        self._slot = 0
        return [frames[k] for k in range(len(shots))]

    def begin(self, shot: Shot) -> Callable[[], Frame]:
        """Hand the passes to the driver, whose threads draw on; the frame is read when it is called for."""
        check(self._scene, shot)
        context.current_context()
        self._finish()
        if max(shot.camera.pixels) > MOST_PX:
            return lambda: self.draw(shot)
        rough = rough_shot(shot)
        self._issue(rough)
        gl.glFlush()
        begun = self._begun = Begun(lambda: finish(self._frame(rough), shot))
        return begun.frame

    def _finish(self) -> None:
        """Read what is under way, before its canvases are drawn on again."""
        if self._begun is not None:
            self._begun.finish()
            self._begun = None

    def close(self) -> None:
        """Give back what the card holds; the context stays."""
        context.current_context()
        self._shadows.delete()
        self._soft_shadows.delete()
        self._seen_shadows.delete()
        for cast in self._casts.values():
            for mesh in cast.guests:
                mesh.delete()
        for canvas in self._canvases.values():
            canvas.delete()
        self._looks.delete()
        self._measured.delete()
        self._whole.delete()
        self._veils.delete()
        for programs in (*self._surfaces.values(), self._facts):
            programs.delete()
        for part in self._parts.values():
            for mesh in part.meshes:
                mesh.delete()
        self._textures.delete()

    def _canvas(self, kind: str, shot: Shot) -> Framebuffer:
        """The canvas of a kind for pictures of the shot's size. Large and small ones have their own, since
        all of a canvas is cleared for every picture."""
        key = kind, max(shot.camera.pixels).bit_length(), self._slot
        if key not in self._canvases:
            self._canvases[key] = CANVASES[kind]()
        return self._canvases[key]

    def _draw(self, shot: Shot) -> Frame:
        self._issue(shot)
        return self._frame(shot)

    def _issue(self, shot: Shot) -> None:
        """Give the driver all passes of a shot that fits one canvas."""
        # Own colours change no id, not even between equal depths; the measured plane has ids of its own.
        cast = self._cast(replace(shot, own=MEASURED in shot.planes))
        terms = depth_terms(shot.camera, *depth_range_m(shot.camera, *cast.bounds, self._centre))
        to_clip = clip_matrix(shot.camera, terms, self._centre)
        drawing = self._in_view(shot, cast, to_clip)
        if shot.planes & {DEPTH, IDS, MEASURED} or (COLOUR in shot.planes and not shot.antialiased):
            self._draw_facts(shot, drawing, to_clip)
        if WHOLE in shot.planes:
            self._whole.draw(shot, self._canvas("whole", shot), cast, to_clip)
        if MEASURED in shot.planes:
            shadow = self._maps_of_seen(shot, cast) if shot.shadow else None
            self._measured.draw(shot, self._canvas("measured", shot), drawing, to_clip, shadow)
        if COLOUR in shot.planes and parts_drawn(shot):
            air = self._air(shot, cast)
            shadow, near = self._maps(shot, cast)
            if shot.own:
                drawing = self._in_view(shot, self._cast(shot), to_clip)
            if shot.antialiased:
                self._draw_surfaces(shot, drawing, to_clip)
            drawn, picture = self._drawn(shot), self._picture(shot)
            self._looks.draw(shot, *drawn, picture, terms, self._centre, self._palette, shadow, air, near)
            self._veils.draw(shot, drawing, to_clip, drawn[0][-1])

    def _in_view(self, shot: Shot, cast: UploadedStage, to_clip: Matrix) -> Drawing:
        """What of the cast the shot's camera may see, kept for the next shot."""
        known = self._viewed
        if (
            known is None
            or known[0] is not cast
            or known[1] is not shot.camera
            or (known[2] != to_clip).any()
        ):
            drawing = gl_cast.in_view(cast, shot.camera, to_clip, self._centre)
            self._viewed = known = cast, shot.camera, to_clip, drawing
        return known[3]

    def _maps(self, shot: Shot, cast: UploadedStage) -> tuple[ShadowMaps | None, ShadowMaps | None]:
        """The shadow maps of a shot's plain light, and those of soft light round what it is about: one of
        the two, unless these do not hold all that casts."""
        if not shot.shadow:
            return None, None
        asked = stage_key(shot), cast.parts, shot.casters, shot.towards_light
        near = None
        if shot.about_m is not None:
            place, reach_m = part_shown(shot, self._centre)
            near = self._soft_shadows.of(*asked, (place, (reach_m, reach_m, 2.0 * reach_m)))
            if near is None or near.whole:
                return None, near
        return self._shadows.of(*asked), near

    def _maps_of_seen(self, shot: Shot, cast: UploadedStage) -> ShadowMaps | None:
        """The shadow maps of what is seen, as fine as they can be drawn: read from the facts' depth."""
        around = part_seen(shot, self._read_depth(shot), self._centre)
        if around is None:
            return None
        return self._seen_shadows.of(stage_key(shot), cast.parts, shot.casters, shot.towards_light, around)

    def _air(self, shot: Shot, cast: UploadedStage) -> Air | None:
        if shot.about_m is None:
            return None
        grounds = gl_cast.boxes(cast.parts, [part.drawn & part.surface.ground for part in cast.parts])
        return air_of(shot, *grounds, self._centre)

    def _picture(self, shot: Shot) -> Framebuffer:
        return self._canvas("picture" if shot.about_m is None else "soft picture", shot)

    def _frame(self, shot: Shot) -> Frame:
        """What was issued, read back: only now, so that the driver's threads go on with later passes
        while the first are copied."""
        colour = self._read_colour(shot) if COLOUR in shot.planes else None
        depth_m = self._read_depth(shot) if DEPTH in shot.planes else None
        ids = self._read_ids(shot) if IDS in shot.planes else None
        whole = read_whole(shot, self._canvas("whole", shot)) if WHOLE in shot.planes else None
        measured = read_measured(shot, self._canvas("measured", shot)) if MEASURED in shot.planes else None
        if colour is None or shot.about_m is None:
            return Frame(colour, depth_m, ids, whole, measured)
        which = np.empty(shot.camera.pixels[::-1], dtype=np.uint8)
        self._picture(shot).read(gl.GL_RED_INTEGER, gl.GL_UNSIGNED_BYTE, which, colour=1)
        return Rough(colour, depth_m, ids, whole, measured, which)

    def _cast(self, shot: Shot) -> UploadedStage:
        key = stage_key(shot), shot.own
        if key in self._casts:
            self._casts.move_to_end(key)
            return self._casts[key]
        if len(self._casts) >= CASTS_KEPT:
            self._drop_oldest_cast()
        if shot.own not in self._parts:
            nodes = self._scene.nodes
            surface = surface_of_scene(nodes, shot.own)
            self._parts[shot.own] = gl_cast.uploaded(nodes, surface, self._palette, self._textures, shot.own)
        cast = gl_cast.cast_of(
            self._parts[shot.own],
            stage_of(self._scene, shot),
            self._centre,
            shot.extra,
            self._palette,
            self._textures,
            shot.own,
        )
        self._casts[key] = cast
        return cast

    def _drop_oldest_cast(self) -> None:
        """With all that is known by its key: that key may come again for other extra nodes."""
        gone, old = self._casts.popitem(last=False)
        for mesh in old.guests:
            mesh.delete()
        self._surfaces_drawn = self._viewed = None
        self._facts_drawn.clear()
        self._shadows.drop(gone[0])
        self._soft_shadows.drop(gone[0])
        self._seen_shadows.drop(gone[0])

    def _draw_surfaces(self, shot: Shot, drawing: Drawing, to_clip: Matrix) -> None:
        """Normal, tint and depth of what is seen, in four samples a pixel, kept for the next shot."""
        here = _drawn_key(shot, to_clip, shot.own)
        if here == self._surfaces_drawn:
            return
        self._surfaces_drawn = here
        if shot.own not in self._surfaces:
            own = ("OWN",) * shot.own
            cut = "CUT", "SAMPLED"
            self._surfaces[shot.own] = Programs("surface.vert", "surface.frag", *own, cut=cut, flat=True)

        def set_up(program: Program) -> None:
            program.matrix("to_clip", to_clip)
            program.vectors("towards_light", light_axes(shot.towards_light)[2])

        self._samples(shot).bind(*shot.camera.pixels)
        camera_state()
        _clear()
        self._surfaces[shot.own].draw(drawing, set_up)

    def _samples(self, shot: Shot) -> Framebuffer:
        return self._canvas("own samples" if shot.own else "samples", shot)

    def _drawn(self, shot: Shot) -> tuple[list[int], NDArray[np.float64]]:
        """Textures of what the look of a shot needs, and where in a pixel they were drawn."""
        if shot.antialiased:
            samples = self._samples(shot)
            return samples.stores, samples.sample_places
        facts = self._canvas("facts", shot)
        return [facts.stores[0], facts.stores[-1]], facts.sample_places

    def _read_colour(self, shot: Shot) -> NDArray[np.uint8]:
        channels, form = (3, gl.GL_RGB) if shot.about_m is None else (4, gl.GL_RGBA)
        size = (*shot.camera.pixels[::-1], channels)
        if shot.parts_px is None:
            pixels = np.empty(size, dtype=np.uint8)
            self._picture(shot).read(form, gl.GL_UNSIGNED_BYTE, pixels)
            return pixels
        pixels = np.zeros(size, dtype=np.uint8)
        for left, top, right, bottom in parts_drawn(shot):
            part = np.empty((bottom - top, right - left, channels), dtype=np.uint8)
            self._picture(shot).read(form, gl.GL_UNSIGNED_BYTE, part, corner=(left, top))
            pixels[top:bottom, left:right] = part
        return pixels

    def _draw_facts(self, shot: Shot, drawing: Drawing, to_clip: Matrix) -> None:
        """Surfaces, depth in metres and ids at the pixels' centres, kept for the next shot."""
        here = _drawn_key(shot, to_clip, MEASURED in shot.planes)
        kind = self._facts_kind(shot)
        if here == self._facts_drawn.get((kind, self._slot)):
            return
        self._facts_drawn[kind, self._slot] = here

        def set_up(program: Program) -> None:
            program.matrix("to_clip", to_clip)
            program.vectors("towards_light", light_axes(shot.towards_light)[2])
            program.vectors("axis", -view_from_centre(shot.camera, self._centre)[2])

        self._canvas(kind, shot).bind(*shot.camera.pixels)
        camera_state()
        _clear()
        gl.glClearBufferfv(gl.GL_COLOR, 1, np.full(4, np.inf, dtype=np.float32))
        gl.glClearBufferuiv(gl.GL_COLOR, 2, np.zeros(4, dtype=np.uint32))
        self._facts.draw(drawing, set_up)

    def _facts_kind(self, shot: Shot) -> str:
        """The canvas of a shot's facts: small shots together have no others whose facts they could share."""
        return "ids" if self._slot and DEPTH not in shot.planes else "facts"

    def _read_ids(self, shot: Shot) -> NDArray[np.uint32]:
        ids = np.empty(shot.camera.pixels[::-1], dtype=np.uint32)
        self._canvas(self._facts_kind(shot), shot).read(gl.GL_RED_INTEGER, gl.GL_UNSIGNED_INT, ids, colour=2)
        return ids

    def _read_depth(self, shot: Shot) -> NDArray[np.float32]:
        depth_m = np.empty(shot.camera.pixels[::-1], dtype=np.float32)
        self._canvas("facts", shot).read(gl.GL_RED, gl.GL_FLOAT, depth_m, colour=1)
        return depth_m


def _is_small(shot: Shot) -> bool:
    return not shot.planes - {IDS, DEPTH, WHOLE} and max(shot.camera.pixels) <= SMALL_PX


def _drawn_key(shot: Shot, to_clip: Matrix, own: bool) -> Hashable:
    """Equal for two shots that see the same surfaces, which often differ in their look alone. own: whether
    these were uploaded with their own colours."""
    return stage_key(shot), own, shot.camera.pixels, to_clip.tobytes(), tuple(shot.towards_light)


def _clear() -> None:
    """Clear the bound canvas's first colour, of whole numbers, and its depth to the farthest."""
    gl.glClearBufferuiv(gl.GL_COLOR, 0, np.zeros(4, dtype=np.uint32))
    gl.glClearBufferfv(gl.GL_DEPTH, 0, np.zeros(1, dtype=np.float32))
