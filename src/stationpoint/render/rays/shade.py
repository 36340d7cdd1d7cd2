"""Rays through pixels, and how what they meet looks: shading.py's formulas on arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base import look
from stationpoint.base.colour import linear_light, srgb_encoded
from stationpoint.camera import Shot
from stationpoint.render.own import jitter_px
from stationpoint.render.rays.world import Hits, World
from stationpoint.render.shading import (
    SUNS,
    grid_share,
    light_axes,
    light_curve,
    sun_directions,
)

LIFT_M = 0.004  # shadow rays start so far off the surface

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class RayHits:
    """A camera as rays. origins, directions: (3, 3), at pixel (0, 0), then per column and per row;
    a direction is one metre of depth."""

    origins: Floats
    directions: Floats
    near_m: float
    far_m: float

    def at(self, terms: Floats, pixels: Floats) -> Floats:
        """Values (n, 3) at pixels (n, 2) of origins or directions."""
        values: Floats = terms[0] + pixels @ terms[1:]
        return values

    def rays(self, pixels: Floats) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Starts on the near plane and directions, (n, 3) each."""
        directions = self.at(self.directions, pixels)
        starts = self.at(self.origins, pixels) + self.near_m * directions
        return starts.astype(np.float32), directions.astype(np.float32)

    def beside(self, world: World, pixels: Floats) -> tuple[NDArray[np.float32], NDArray[np.float32]] | None:
        """The rays along which pixels (n, 2) look opacity up; None where nothing lets sight through."""
        if world.surface.own is None or not world.surface.own.sheer.any():
            return None
        columns, rows = np.floor(pixels).astype(np.int64).T
        return self.rays(pixels + jitter_px(columns, rows))

    def cast(self, world: World, pixels: Floats, wandering: bool = False) -> Hits:
        """What is seen at pixels (n, 2). wandering: opacity is looked up anywhere in the pixel (own.py)."""
        hits = world.cast(*self.rays(pixels), beside=self.beside(world, pixels) if wandering else None)
        depth_m = hits.depth_m + self.near_m
        beyond = depth_m > self.far_m
        triangle = np.where(beyond, np.int32(-1), hits.triangle)
        return Hits(triangle, np.where(beyond, np.inf, depth_m), hits.u, hits.v, hits.back, hits.veils)

    def covered(self, world: World, pixels: Floats) -> Mask:
        """Whether anything of the world is seen at pixels (n, 2)."""
        reach = None
        if np.isfinite(self.far_m):
            reach = np.full(len(pixels), self.far_m - self.near_m, dtype=np.float32)
        return world.covered(*self.rays(pixels), reach, self.beside(world, pixels))


def shade_rays(
    world: World,
    shot: Shot,
    sight: RayHits,
    pixels: Floats,
    hits: Hits,
    part: NDArray[np.intp],
    quads: tuple[int, int] | None = None,
) -> Floats:
    """sRGB 0..1, (n, 3), of what is seen at pixels (n, 2).

    part: 0..3, which of the sun's directions a pixel asks. quads: (height, width) if the pixels are
    a whole picture: then four neighbours ask a quarter of the directions each, and all of them where
    any two answers differ; else a quarter is asked.
    """
    light = np.tile(np.array(look.SKY) / 255.0, (len(pixels), 1))
    met = np.flatnonzero(hits.triangle >= 0)
    if not len(met):
        return veiled(world, shot, hits, light)
    surface = world.surface
    triangle = hits.triangle[met]
    node = surface.node[triangle]
    along = sight.at(sight.directions, pixels[met])
    at = sight.at(sight.origins, pixels[met]) + along * hits.depth_m[met, None]
    back = hits.back[met]
    face, normal = normals_of(world, hits, met)

    x = np.maximum(normal @ light_axes(shot.towards_light)[2], 0.0)
    x[back & (surface.sealed | surface.ground)[node]] = 0.0
    unlit, gain, knee = light_curve()
    direct = gain * x / (x + knee)
    if shot.shadow:
        start = (at + face * (LIFT_M + 1e-6 * np.abs(at).max(axis=1))[:, None]).astype(np.float32)
        direct *= sunlight(world, shot, start, x > 0.0, part[met], met, quads)
    albedo, plain = albedo_of(world, shot, sight, pixels, hits, met)
    shade = albedo * (unlit + direct)[:, None]
    shade *= grid_light(world, shot, sight, hits, met, along, at, face, plain)[:, None]
    light[met] = srgb_encoded(shade)
    return veiled(world, shot, hits, light)


def normals_of(world: World, hits: Hits, met: NDArray[np.intp]) -> tuple[Floats, Floats]:
    """Unit normals, (n, 3), of the faces that rays met, and of the surfaces there, which may bend; towards
    the rays."""
    triangle, back = hits.triangle[met], hits.back[met]
    face = world.faces[triangle].astype(np.float64)
    face[back] *= -1.0
    return face, np.where(world.surface.round[triangle][:, None], smooth_normals(world, hits, met), face)


def albedo_of(
    world: World, shot: Shot, sight: RayHits, pixels: Floats, hits: Hits, met: NDArray[np.intp]
) -> tuple[Floats, Mask]:
    """Linear colours, (n, 3), of what rays met, and whether they are tints, (n,)."""
    surface = world.surface
    triangle = hits.triangle[met]
    tints = linear_light(surface.tints)
    if not shot.tinted:
        tints = np.where(surface.ground[:, None], tints, linear_light(look.CLAY))
    albedo, plain = tints[surface.node[triangle]], np.ones(len(met), dtype=bool)
    if shot.own and surface.own is not None:
        plain = ~surface.own.shown[triangle]
        own = np.flatnonzero(~plain)
        albedo[own] = own_colour(world, sight, pixels[met[own]], hits, met[own])
    return albedo, plain


def grid_light(
    world: World,
    shot: Shot,
    sight: RayHits,
    hits: Hits,
    met: NDArray[np.intp],
    along: Floats,
    at: Floats,
    face: Floats,
    plain: Mask,
) -> Floats:
    """What the metre grid leaves of the light, (n,)."""
    light = np.ones(len(met))
    if shot.grid:
        gridded = world.surface.gridded[world.surface.node[hits.triangle[met]]]
        level = np.flatnonzero(plain & gridded & (np.abs(face[:, 1]) > 0.99))
        wide = _pixel_widths(sight, hits.depth_m[met][level], along[level], face[level])
        light[level] = 1.0 - (1.0 - look.GRID_SHARE) * grid_share(at[level][:, [0, 2]], wide)
    return light


def own_colour(world: World, sight: RayHits, pixels: Floats, hits: Hits, met: NDArray[np.intp]) -> Floats:
    """Linear own colours, (n, 3), of what rays met at pixels (n, 2)."""
    own = world.surface.own
    assert own is not None
    triangle = hits.triangle[met]
    u, v = hits.u[met].astype(np.float64), hits.v[met].astype(np.float64)
    weights = np.stack([1.0 - u - v, u, v], axis=1)
    steps = ((1.0, 0.0), (0.0, 1.0)) if own.has_texture(triangle) else ()
    beside = [world.weights_at(triangle, *sight.rays(pixels + step)) for step in steps]
    return own.colour(triangle, weights, beside)


def veiled(world: World, shot: Shot, hits: Hits, light: Floats) -> Floats:
    """A picture, sRGB (n, 3), with the glass that its rays passed laid over it, the farthest first."""
    own = world.surface.own
    for veil in reversed(hits.veils) if own is not None else ():
        tint = np.tile(np.array(look.WHITE) / 255.0, (len(veil.ray), 1))
        shown = np.flatnonzero(own.shown[veil.triangle]) if own is not None and shot.own else ()
        if len(shown) and own is not None:
            albedo = own.colour(veil.triangle[shown], veil.weights[shown])
            tint[shown] = srgb_encoded(albedo * look.LIT_FACING)
        share = veil.opacity[:, None]
        light[veil.ray] = light[veil.ray] * (1.0 - share) + tint * share
    return light


def edges(world: World, hits: Hits, size: tuple[int, int]) -> Mask:
    """Pixels (n,) of a picture of (height, width) that show another surface than a neighbour."""
    surface = world.surface
    triangle = hits.triangle.reshape(size)
    node = np.append(surface.node, np.int32(-1))[triangle]
    flat = np.append(~surface.round, True)[triangle]
    face = np.append(world.faces, [[0.0, 0.0, 0.0]], axis=0)[triangle]
    plane = np.append(np.einsum("ij,ij->i", world.faces, surface.corners[:, 0]), 0.0)[triangle]
    found = np.zeros(size, dtype=bool)
    for a, b in (
        ((slice(None), slice(1, None)), (slice(None), slice(-1))),
        ((slice(1, None),), (slice(-1),)),
    ):
        plain = flat[a] | flat[b]
        bend = np.abs(face[a] - face[b]).max(axis=-1)
        differ = (node[a] != node[b]) | (bend > np.where(plain, 0.12, 0.6))
        differ |= plain & (np.abs(plane[a] - plane[b]) > 0.02)
        found[a] |= differ
        found[b] |= differ
    return found.ravel()


def smooth_normals(world: World, hits: Hits, met: NDArray[np.intp]) -> Floats:
    """The surface's bent normals where rays met it, unit (n, 3), towards the ray."""
    u, v = hits.u[met, None], hits.v[met, None]
    at = world.surface.normals[hits.triangle[met]]
    normal = (1.0 - u - v) * at[:, 0] + u * at[:, 1] + v * at[:, 2]
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-30)[:, None]
    normal[hits.back[met]] *= -1.0
    unit: Floats = normal.astype(np.float64)
    return unit


def sunlight(
    world: World,
    shot: Shot,
    start: NDArray[np.float32],
    asked: Mask,
    part: NDArray[np.intp],
    met: NDArray[np.intp],
    quads: tuple[int, int] | None,
) -> Floats:
    """Share of the sun's directions that reach each start, (n,); see `seen` for part and quads."""
    suns = sun_directions(shot.towards_light).astype(np.float32)
    casters = world if shot.casters is None else world.group(shot.casters)

    def reached(which: NDArray[np.intp], sun: int) -> Mask:
        return ~casters.shaded(start[which], np.broadcast_to(suns[sun], (len(which), 3)))

    share = np.zeros(len(start))
    for sun in range(SUNS):
        which = np.flatnonzero(asked & (part == sun % 4))
        share[which] += reached(which, sun) / (SUNS // 4)
    if quads is None:
        return share
    unsure = np.flatnonzero(asked & _disagree(share, asked, met, quads)[met])
    share[unsure] = 0.0
    for sun in range(SUNS):
        share[unsure] += reached(unsure, sun) / SUNS
    return share


def _disagree(share: Floats, asked: Mask, met: NDArray[np.intp], size: tuple[int, int]) -> Mask:
    """Pixels (h * w,) in whose square of four some found the sun and some did not."""
    height, width = size
    low, high = np.ones(height * width), np.zeros(height * width)
    low[met[asked]] = high[met[asked]] = share[asked]
    padding = ((0, height % 2), (0, width % 2))
    shape = (-(-height // 2), 2, -(-width // 2), 2)
    low = np.pad(low.reshape(size), padding, constant_values=1.0).reshape(shape).min(axis=(1, 3))
    high = np.pad(high.reshape(size), padding).reshape(shape).max(axis=(1, 3))
    return np.repeat(np.repeat((low < 1.0) & (high > 0.0), 2, axis=0), 2, axis=1)[:height, :width].ravel()


def _pixel_widths(sight: RayHits, depth_m: Floats, along: Floats, face: Floats) -> Floats:
    """How far one pixel reaches over a surface along x and z, (n, 2) metres."""
    slide = along / np.einsum("ij,ij->i", face, along)[:, None]  # from a neighbour's ray to the surface
    wide = np.zeros((len(depth_m), 2))
    for step in (1, 2):
        beside = sight.origins[step] + depth_m[:, None] * sight.directions[step]
        beside = beside - slide * np.einsum("ij,ij->i", face, beside)[:, None]
        wide += np.abs(beside[:, [0, 2]])
    return wide
