"""The passes of the OpenGL renderer: the whole scene in one buffer, few draw calls a shot.

colour: four samples a pixel, resolved. depth and ids: one pass at pixel centres, depth interpolated
in metres, so that it is right for every projection. whole: one pass without depth test, one bit a
group. The shadow maps are drawn once a stage and light (gl_shadow.py).
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from stationpoint import look
from stationpoint.render import gl_cures
from stationpoint.render import gl_names as gl
from stationpoint.optics.camera import Camera, rays
from stationpoint.render.clip import clip_matrix, depth_range_m, depth_terms, in_tiles, reached, view_from_centre
from stationpoint.render.gl_kit import COLOUR_SAMPLES, PICTURE, WORDS, Canvas, Mesh, Program, Runs
from stationpoint.render.gl_kit import draw_screen, read
from stationpoint.render.gl_shadow import ShadowMaps, shadow_maps
from stationpoint.render.shading import light_axes, light_curve
from stationpoint.render.stage import check, stage_key, stage_of
from stationpoint.render.surface import Surface, centre_of, surface_of
from stationpoint.scene.types import Node, Scene
from stationpoint.shot import COLOUR, DEPTH, IDS, WHOLE, Frame, Shot

MOST_PX = 2048  # a side of what is drawn at once
STAGES_KEPT, SHADOWS_KEPT = 8, 2
INFINITY_BITS = 0x7F800000

Drawing = list[tuple[Mesh, tuple[Runs, Runs]]]


@dataclass(slots=True)
class Part:
    """A mesh, which of its nodes are drawn, their places by name."""

    mesh: Mesh
    surface: Surface  # without its triangles
    drawn: NDArray[np.bool_]
    places: dict[str, int]


@dataclass(slots=True)
class Cast:
    """A stage on the card: who is drawn, what casts shadows, and the bounds of both."""

    parts: list[Part]
    casting: Drawing
    bounds: tuple[NDArray[np.float64], NDArray[np.float64]]
    casters: tuple[NDArray[np.float64], NDArray[np.float64]]
    guests: Mesh | None
    kept: tuple[Node, ...]  # the key tells extra nodes apart by identity
    groups: dict[tuple[str, ...], Drawing] = field(default_factory=dict)


class GlRenderer:
    """Draws shots of one scene."""

    name = "gl"

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._centre = centre_of(scene.nodes)
        self._mesh, self._surface = _uploaded(scene.nodes, range(1, len(scene.nodes) + 1), self._centre)
        self._places = {node.name: k for k, node in enumerate(scene.nodes)}
        self._casts: OrderedDict[Hashable, Cast] = OrderedDict()
        self._shadows: OrderedDict[Hashable, ShadowMaps | None] = OrderedDict()
        self._surfaces = Program("surface.vert", "surface.frag")
        self._looks: dict[tuple[str, ...], Program] = {}
        self._facts = Program("facts.vert", "facts.frag")
        self._whole = Program("plain.vert", "whole.frag")
        self._cast_shadow = Program("shadow.vert", "empty.frag")
        self._samples = Canvas(WORDS, COLOUR_SAMPLES)
        self._picture = Canvas(PICTURE)
        self._facts_canvas = Canvas(WORDS)

    def draw(self, shot: Shot) -> Frame:
        """The planes that the shot asks for."""
        check(self._scene, shot)
        gl_cures.current_context()
        return in_tiles(self._draw, shot, MOST_PX)

    def close(self) -> None:
        """Give back what the card holds; the context stays."""
        gl_cures.current_context()
        for shadow in self._shadows.values():
            if shadow is not None:
                shadow.delete()
        for cast in self._casts.values():
            if cast.guests is not None:
                cast.guests.delete()
        for thing in (self._mesh, self._samples, self._picture, self._facts_canvas):
            thing.delete()
        for program in (*self._looks.values(), self._surfaces, self._facts, self._whole, self._cast_shadow):
            program.delete()

    def _draw(self, shot: Shot) -> Frame:
        cast = self._cast(shot)
        near_m, far_m = depth_range_m(shot.camera, *cast.bounds)
        terms = depth_terms(shot.camera, near_m, far_m)
        to_clip = clip_matrix(shot.camera, terms, self._centre)
        drawing = _in_view(cast, shot.camera, to_clip, self._centre)
        colour = depth_m = ids = whole = None
        if COLOUR in shot.planes:
            shadow = self._shadow(shot, cast) if shot.shadow else None
            self._draw_surfaces(shot, drawing, to_clip)
            colour = self._draw_look(shot, shadow, terms)
        if shot.planes & {DEPTH, IDS}:
            depth_m, ids = self._draw_facts(shot, drawing, to_clip)
        if WHOLE in shot.planes:
            whole = self._draw_whole(shot, cast, to_clip)
        return Frame(
            colour,
            depth_m if DEPTH in shot.planes else None,
            ids if IDS in shot.planes else None,
            whole,
        )

    def _cast(self, shot: Shot) -> Cast:
        key = stage_key(shot)
        if key in self._casts:
            self._casts.move_to_end(key)
            return self._casts[key]
        stage = stage_of(self._scene, shot)
        parts = [Part(self._mesh, self._surface, stage.standing, self._places)]
        guests = None
        if stage.guests:
            guests, surface = _uploaded(stage.guests, stage.guest_ids, self._centre)
            places = {node.name: k for k, node in enumerate(stage.guests)}
            parts.append(Part(guests, surface, np.ones(len(stage.guests), dtype=bool), places))
        casting = [part.drawn & ~part.surface.ground for part in parts]
        cast = Cast(
            parts=parts,
            casting=[
                (part.mesh, part.mesh.runs(mask, part.surface.backs_open | part.surface.sealed))
                for part, mask in zip(parts, casting, strict=True)
            ],
            bounds=_bounds(parts, [part.drawn for part in parts]),
            casters=_bounds(parts, casting),
            guests=guests,
            kept=shot.extra,
        )
        self._casts[key] = cast
        if len(self._casts) > STAGES_KEPT:
            _, old = self._casts.popitem(last=False)
            if old.guests is not None:
                old.guests.delete()
        return cast

    def _shadow(self, shot: Shot, cast: Cast) -> ShadowMaps | None:
        key = (stage_key(shot), tuple(shot.towards_light))
        if key in self._shadows:
            self._shadows.move_to_end(key)
            return self._shadows[key]
        if len(self._shadows) >= SHADOWS_KEPT:
            _, old = self._shadows.popitem(last=False)
            if old is not None:
                old.delete()
        low, high = cast.casters
        shadow = None
        if np.isfinite(low).all():
            shadow = shadow_maps(self._cast_shadow, cast.casting, low, high, shot.towards_light)
        self._shadows[key] = shadow
        return shadow

    def _draw_surfaces(self, shot: Shot, drawing: Drawing, to_clip: NDArray[np.float64]) -> None:
        program = self._surfaces
        program.use()
        program.matrix("to_clip", to_clip)
        program.whole("tinted", shot.tinted)
        program.vectors("clay", np.array(look.CLAY) / 255.0)
        self._samples.bind(*shot.camera.pixels)
        _camera_state()
        gl.glClearBufferuiv(gl.GL_COLOR, 0, np.zeros(4, dtype=np.uint32))
        gl.glClearBufferfv(gl.GL_DEPTH, 0, np.zeros(1, dtype=np.float32))
        _draw(drawing)

    def _draw_look(self, shot: Shot, shadow: ShadowMaps | None, terms: tuple[float, float]) -> NDArray[np.uint8]:
        camera = shot.camera
        width, height = camera.pixels
        defines = ("SHADOWED",) * (shadow is not None) + ("GRID",) * shot.grid + ("PARALLEL",) * camera.parallel
        places = self._samples.sample_places
        origins, directions = rays(camera, [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)])
        origins = origins - self._centre
        for three in (origins, directions):
            three[1:] -= three[0]
        for place, store in enumerate(self._samples.stores):
            gl.glBindTextureUnit(place + 1, store)
        self._picture.bind(width, height)
        gl.glEnable(gl.GL_DEPTH_TEST)
        for depth_test, more in ((gl.GL_ALWAYS, ()), (gl.GL_GREATER, ("EDGES",))):
            program = self._look((*defines, *more))
            program.use()
            program.whole("surfaces", 1)
            program.whole("depths", 2)
            program.vectors("sample_places", places)
            program.vectors("origins", origins)
            program.vectors("directions", directions)
            program.vectors("depth_terms", np.array(terms))
            program.vectors("sky", np.array(look.SKY) / 255.0)
            program.vectors("towards_light", light_axes(shot.towards_light)[2])
            program.vectors("light_curve", np.array(light_curve()))
            program.vectors("grid_look", np.array([look.GRID_SHARE, look.GRID_LINE_M, look.GRID_FADE_M]))
            if shadow is not None:
                shadow.bind(program)
            gl.glDepthFunc(depth_test)
            draw_screen()
        pixels = np.empty((height, width, 4), dtype=np.uint8)
        read(width, height, gl.GL_RGBA, gl.GL_UNSIGNED_BYTE, pixels)
        return np.ascontiguousarray(pixels[:, :, :3])

    def _look(self, defines: tuple[str, ...]) -> Program:
        if defines not in self._looks:
            self._looks[defines] = Program("screen.vert", "look.frag", *defines)
        return self._looks[defines]

    def _draw_facts(
        self, shot: Shot, drawing: Drawing, to_clip: NDArray[np.float64]
    ) -> tuple[NDArray[np.float32], NDArray[np.uint32]]:
        width, height = shot.camera.pixels
        self._facts.use()
        self._facts.matrix("to_clip", to_clip)
        self._facts.vectors("axis", -view_from_centre(shot.camera, self._centre)[2])
        self._facts_canvas.bind(width, height)
        _camera_state()
        nothing = np.array([0, INFINITY_BITS, 0, 0], dtype=np.uint32)
        gl.glClearBufferuiv(gl.GL_COLOR, 0, nothing)
        gl.glClearBufferfv(gl.GL_DEPTH, 0, np.zeros(1, dtype=np.float32))
        _draw(drawing)
        facts = np.empty((height, width, 2), dtype=np.uint32)
        read(width, height, gl.GL_RG_INTEGER, gl.GL_UNSIGNED_INT, facts)
        ids = np.ascontiguousarray(facts[:, :, 0])
        return np.ascontiguousarray(facts[:, :, 1]).view(np.float32), ids

    def _draw_whole(self, shot: Shot, cast: Cast, to_clip: NDArray[np.float64]) -> NDArray[np.uint32]:
        width, height = shot.camera.pixels
        self._whole.use()
        self._whole.matrix("to_clip", to_clip)
        self._picture.bind(width, height)
        _camera_state()
        gl.glClearColor(0.0, 0.0, 0.0, 0.0)
        gl.glClear(gl.GL_COLOR_BUFFER_BIT)
        gl.glDisable(gl.GL_DEPTH_TEST)
        gl.glEnable(gl.GL_COLOR_LOGIC_OP)
        gl.glLogicOp(gl.GL_OR)
        for bit, group in enumerate(shot.whole):
            bits = np.zeros(4)
            bits[bit // 8] = (1 << bit % 8) / 255.0
            self._whole.vectors("bits", bits)
            _draw(_of_group(cast, group))
        gl.glDisable(gl.GL_COLOR_LOGIC_OP)
        whole = np.empty((height, width), dtype="<u4")
        read(width, height, gl.GL_RGBA, gl.GL_UNSIGNED_BYTE, whole)
        return whole


def _uploaded(nodes: Sequence[Node], ids: Sequence[int], centre_m: NDArray[np.float64]) -> tuple[Mesh, Surface]:
    """The nodes on the card, and what stays known of them here: all but the triangles."""
    surface = surface_of(nodes, ids, centre_m)
    none = np.zeros((0, 3, 3), dtype=np.float32)
    return Mesh(surface), replace(surface, corners=none, normals=none, round=surface.round[:0], node=surface.node[:0])


def _in_view(cast: Cast, camera: Camera, to_clip: NDArray[np.float64], centre_m: NDArray[np.float64]) -> Drawing:
    """What of the cast may be seen: nodes that reach into the view; no backs of sealed solids.

    A solid's backs are drawn if the eye, or its near plane, may be inside it.
    """
    drawing: Drawing = []
    for part in cast.parts:
        surface = part.surface
        hidden = surface.sealed
        if not camera.parallel:
            eye = camera.eye_m - centre_m
            corner = np.abs(1.0 / np.diag(camera.projection)[:2]) + np.abs(camera.projection[:2, 2])
            away = camera.near_m * float(np.linalg.norm([1.0, *corner])) * 2.0
            outside = ((eye < surface.low - away) | (eye > surface.high + away)).any(axis=1)
            hidden = hidden & outside
        seen = part.drawn & reached(to_clip, surface.low, surface.high)
        drawing.append((part.mesh, part.mesh.runs(seen, hidden | surface.backs_open)))
    return drawing


def _of_group(cast: Cast, names: tuple[str, ...]) -> Drawing:
    if names not in cast.groups:
        drawing: Drawing = []
        for part in cast.parts:
            mask = np.zeros(len(part.drawn), dtype=bool)
            mask[[part.places[name] for name in names if name in part.places]] = True
            drawing.append((part.mesh, part.mesh.runs(mask & part.drawn, part.surface.backs_open)))
        cast.groups[names] = drawing
    return cast.groups[names]


def _bounds(
    parts: list[Part], masks: list[NDArray[np.bool_]]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest corner of the masked nodes, (3,) each; nan where there is none."""
    low = np.concatenate([part.surface.low[mask] for part, mask in zip(parts, masks, strict=True)])
    high = np.concatenate([part.surface.high[mask] for part, mask in zip(parts, masks, strict=True)])
    full = np.isfinite(low).all(axis=1)
    if not full.any():
        return np.full(3, np.nan), np.full(3, np.nan)
    return low[full].min(axis=0), high[full].max(axis=0)


def _camera_state() -> None:
    """Rows from the top, depth 1 at the near plane and 0 at the far one."""
    gl.glClipControl(gl.GL_UPPER_LEFT, gl.GL_ZERO_TO_ONE)
    gl.glEnable(gl.GL_DEPTH_TEST)
    gl.glDepthFunc(gl.GL_GREATER)


def _draw(drawing: Drawing) -> None:
    for mesh, runs in drawing:
        mesh.draw(runs)
