"""The measured plane by rays: the level's own colours in linear light, at pixel centres."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base import look
from stationpoint.camera import Shot
from stationpoint.render.measured import measured_light, plain_colours
from stationpoint.render.rays.shade import LIFT_M, RayHits, normals_of, own_colour, sunlight
from stationpoint.render.rays.world import Hits, World
from stationpoint.render.shading import light_axes

Floats = NDArray[np.float64]


def measured_rays(
    world: World, shot: Shot, sight: RayHits, pixels: Floats, hits: Hits, size: tuple[int, int]
) -> NDArray[np.float32]:
    """Linear light, (h, w, 3), of what is seen at pixels (h * w, 2). size: (h, w)."""
    clay, ground, sky = plain_colours()
    light = np.tile(sky, (len(pixels), 1))
    met = np.flatnonzero(hits.triangle >= 0)
    if len(met):
        surface, triangle = world.surface, hits.triangle[met]
        node = surface.node[triangle]
        back = hits.back[met]
        face, normal = normals_of(world, hits, met)
        cosine = np.maximum(normal @ light_axes(shot.towards_light)[2], 0.0)
        cosine[back & (surface.sealed | surface.ground)[node]] = 0.0
        sun = np.ones(len(met))
        if shot.shadow:
            at = sight.at(sight.origins, pixels[met])
            at += sight.at(sight.directions, pixels[met]) * hits.depth_m[met, None]
            lift = LIFT_M + 1e-6 * np.abs(at).max(axis=1)
            start = (at + face * lift[:, None]).astype(np.float32)
            part = (np.floor(pixels[met, 0]) % 2 + 2 * (np.floor(pixels[met, 1]) % 2)).astype(np.intp)
            sun = sunlight(world, shot, start, cosine > 0.0, part, met, size)
        shade = measured_light(cosine, sun)
        paint = np.where(surface.ground[node][:, None], ground, clay)
        if surface.own is not None:
            own = np.flatnonzero(surface.own.has(triangle))
            paint[own] = own_colour(world, sight, pixels[met[own]], hits, met[own])
            shade[surface.own.unlit(triangle)] = 1.0
        light[met] = paint * shade[:, None]
    return _veiled(world, hits, light).astype(np.float32).reshape(*size, 3)


def _veiled(world: World, hits: Hits, light: Floats) -> Floats:
    """Linear light (n, 3) with the glass that its rays passed laid over it, the farthest first."""
    own = world.surface.own
    for veil in reversed(hits.veils) if own is not None else ():
        assert own is not None
        tint = own.colour(veil.triangle, veil.weights)
        tint *= np.where(own.unlit(veil.triangle), 1.0, look.LIT_FACING)[:, None]
        share = veil.opacity[:, None]
        light[veil.ray] = light[veil.ray] * (1.0 - share) + tint * share
    return light
