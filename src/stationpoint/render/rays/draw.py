"""Pictures by casting rays (Embree): the same door as gl.py, where there is no OpenGL.

Rays have length 1 along the camera's axis, so that a hit's distance is its depth in metres. Colour
is shaded once a pixel; only pixels on an edge get four samples.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator, Sequence
from contextlib import contextmanager

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import (
    COLOUR,
    DEPTH,
    IDS,
    MEASURED,
    WHOLE,
    Camera,
    Frame,
    Shot,
    depths,
    pixel_rays,
    project_points,
)
from stationpoint.render.finish import Rough, finish, rough_shot
from stationpoint.render.rays.measured import measured_rays
from stationpoint.render.rays.shade import RayHits, edges, shade_rays
from stationpoint.render.rays.soft_shade import soft_shade_rays, surfaces_met
from stationpoint.render.rays.world import Hits, World, world_of
from stationpoint.render.soft import CODE_FOOT, air_of, grounds_of, sun_of_pixel, sun_of_sample
from stationpoint.render.stage import check, stage_key, stage_of
from stationpoint.render.surface import centre_of, surface_of_scene
from stationpoint.render.tiles import depth_range_m, in_tiles, parts_drawn
from stationpoint.scene import Node, Scene

MOST_PX = 1024  # a side of what is drawn at once
WORLDS_KEPT = 4
SAMPLE_PLACES = ((-0.125, -0.375), (0.375, -0.125), (-0.375, 0.125), (0.125, 0.375))  # in a pixel

Floats = NDArray[np.float64]


@contextmanager
def open_renderer(scene: Scene) -> Iterator[RaysRenderer]:
    """A renderer of `scene`; works on every machine."""
    yield RaysRenderer(scene)


class RaysRenderer:
    """Draws shots of one scene."""

    name = "rays"

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._centre = centre_of(scene.nodes)
        self._surface = surface_of_scene(scene.nodes)
        self._worlds: OrderedDict[Hashable, tuple[World, tuple[Node, ...]]] = OrderedDict()

    def draw(self, shot: Shot) -> Frame:
        """The planes that the shot asks for."""
        check(self._scene, shot)
        return finish(in_tiles(self._draw, rough_shot(shot), MOST_PX), shot)

    def draw_all(self, shots: Sequence[Shot]) -> list[Frame]:
        """The frames of several shots."""
        return [self.draw(shot) for shot in shots]

    def begin(self, shot: Shot) -> Callable[[], Frame]:
        """The frame, when it is called for: rays are cast only then."""
        check(self._scene, shot)
        return lambda: self.draw(shot)

    def _draw(self, shot: Shot) -> Frame:
        world = self._world(shot)
        width, height = shot.camera.pixels
        near_m, far_m = depth_range_m(shot.camera, *world.bounds, self._centre)
        sight = _sight(shot.camera, near_m, far_m, self._centre)
        centres = _centres(width, height)
        colour = depth_m = ids = whole = measured = which = None
        if shot.parts_px is not None and not shot.planes & {DEPTH, IDS, MEASURED}:
            colour = _parts(world, shot, sight, centres)
        elif shot.planes & {COLOUR, DEPTH, IDS, MEASURED}:
            hits = sight.cast(world, centres.reshape(-1, 2), wandering=True)
            if IDS in shot.planes:
                ids = world.ids(hits).reshape((height, width))
            if DEPTH in shot.planes:
                depth_m = hits.depth_m.astype(np.float32).reshape((height, width))
            if COLOUR in shot.planes and shot.about_m is None:
                colour = _colour(world, shot, sight, centres, hits)
            elif COLOUR in shot.planes:
                colour, which = _soft_colour(world, shot, sight, centres.reshape(-1, 2), hits, self._centre)
            if MEASURED in shot.planes:
                size = (height, width)
                measured = measured_rays(world, shot, sight, centres.reshape(-1, 2), hits, size)
        if WHOLE in shot.planes:
            whole = np.zeros((height, width), dtype=np.uint32)
            for bit, names in enumerate(shot.whole):
                group = world.group(names)
                box = _box_px(shot.camera, near_m, group, self._centre)
                covered = sight.covered(group, centres[box].reshape(-1, 2)).reshape(whole[box].shape)
                whole[box] |= covered.astype(np.uint32) << np.uint32(bit)
        if which is None:
            return Frame(colour, depth_m, ids, whole, measured)
        return Rough(colour, depth_m, ids, whole, measured, which)

    def _world(self, shot: Shot) -> World:
        if (shot.own or MEASURED in shot.planes) and self._surface.own is None:
            self._surface = surface_of_scene(self._scene.nodes, own=True)
            self._worlds.clear()
        key = stage_key(shot)
        if key in self._worlds:
            self._worlds.move_to_end(key)
            return self._worlds[key][0]
        if len(self._worlds) >= WORLDS_KEPT:
            self._worlds.popitem(last=False)
        world = world_of(self._scene, self._surface, stage_of(self._scene, shot), self._centre)
        self._worlds[key] = (world, shot.extra)  # the key tells extra nodes apart by identity
        return world


def _sight(camera: Camera, near_m: float, far_m: float, centre_m: Floats) -> RayHits:
    origins, directions = pixel_rays(camera, [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)])
    origins = origins - centre_m
    for three in (origins, directions):
        three[1:] -= three[0]
    return RayHits(origins, directions, near_m, far_m)


def _centres(width: int, height: int) -> Floats:
    """The pixels' centres, (height, width, 2)."""
    return np.dstack(np.meshgrid(np.arange(width) + 0.5, np.arange(height) + 0.5))


def _box_px(camera: Camera, near_m: float, group: World, centre_m: Floats) -> tuple[slice, slice]:
    """Rows and columns outside which nothing of the group can be seen."""
    low, high = group.bounds
    corners = np.array(
        [(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    )
    corners = corners + centre_m
    if depths(camera, corners).min() <= near_m:
        return slice(None), slice(None)
    at = project_points(camera, corners)
    (left, top), (right, bottom) = np.floor(at.min(axis=0)), np.ceil(at.max(axis=0))
    return slice(max(int(top), 0), max(int(bottom), 0)), slice(max(int(left), 0), max(int(right), 0))


def _parts(world: World, shot: Shot, sight: RayHits, centres: Floats) -> NDArray[np.uint8]:
    """The asked parts of a picture, (h, w, 3) uint8 sRGB, nothing elsewhere. centres: (h, w, 2)."""
    pixels = np.zeros((*centres.shape[:2], 3), dtype=np.uint8)
    for left, top, right, bottom in parts_drawn(shot):
        part = centres[top:bottom, left:right]
        hits = sight.cast(world, part.reshape(-1, 2), wandering=True)
        pixels[top:bottom, left:right] = _colour(world, shot, sight, part, hits)
    return pixels


def _colour(world: World, shot: Shot, sight: RayHits, places: Floats, hits: Hits) -> NDArray[np.uint8]:
    """The picture, or a part of it, (h, w, 3) uint8 sRGB. places: (h, w, 2) of its pixels."""
    height, width = places.shape[:2]
    centres = places.reshape(-1, 2)
    part = (np.floor(centres[:, 0]) % 2 + 2 * (np.floor(centres[:, 1]) % 2)).astype(np.intp)
    light = shade_rays(world, shot, sight, centres, hits, part, quads=(height, width))
    edge = np.flatnonzero(edges(world, hits, (height, width))) if shot.antialiased else np.zeros(0, dtype=int)
    if len(edge):
        total = np.zeros((len(edge), 3))
        for k, place in enumerate(SAMPLE_PLACES):
            at = centres[edge] + np.array(place)
            total += shade_rays(world, shot, sight, at, sight.cast(world, at), np.full(len(edge), k))
        light[edge] = total / len(SAMPLE_PLACES)
    pixels: NDArray[np.uint8] = np.rint(light * 255.0).astype(np.uint8).reshape(height, width, 3)
    return pixels


def _soft_colour(
    world: World, shot: Shot, sight: RayHits, centres: Floats, hits: Hits, centre_m: Floats
) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """A rough picture, (h, w, 4), and the numbers of its surfaces, (h, w): see finish.py."""
    width, height = shot.camera.pixels
    air = air_of(shot, *grounds_of(world.surface), centre_m)
    column, row = centres.astype(np.intp).T
    light = soft_shade_rays(world, shot, sight, air, centres, hits, sun_of_pixel(column, row))
    which = surfaces_met(world, hits)
    edge = np.flatnonzero(edges(world, hits, (height, width)))
    if len(edge):
        total, dark = np.zeros((len(edge), 3)), np.zeros(len(edge))
        for k, place in enumerate(SAMPLE_PLACES):
            at = centres[edge] + np.array(place)
            sun = sun_of_sample(column[edge], row[edge], k)
            found = soft_shade_rays(world, shot, sight, air, at, sight.cast(world, at), sun)
            total += found[:, :3] / len(SAMPLE_PLACES)
            dark += (found[:, 1] + CODE_FOOT) * found[:, 3] / len(SAMPLE_PLACES)
        light[edge, :3], light[edge, 3] = total, dark / (total[:, 1] + CODE_FOOT)
        which[edge] = 0
    codes = np.rint(np.clip(light, 0.0, 1.0) * 255.0).astype(np.uint8).reshape(height, width, 4)
    return codes, which.reshape(height, width)
