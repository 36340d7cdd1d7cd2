"""How what rays meet looks in a picture for the eye: soft.py's formulas on arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base import look
from stationpoint.base.colour import srgb_encoded
from stationpoint.camera import Shot
from stationpoint.render.rays.shade import LIFT_M, RayHits, albedo_of, grid_light, normals_of, veiled
from stationpoint.render.rays.world import Hits, World
from stationpoint.render.shading import light_axes
from stationpoint.render.soft import (
    Air,
    filled,
    haze_share,
    levels,
    shadow_share,
    sky_of,
    soft_sun_offsets,
    tone,
)

Floats = NDArray[np.float64]


def soft_shade_rays(
    world: World,
    shot: Shot,
    sight: RayHits,
    air: Air,
    pixels: Floats,
    hits: Hits,
    sun: NDArray[np.intp],
) -> Floats:
    """sRGB 0..1 of what is seen at pixels (n, 2), lit all over, and what a shadow leaves of it: (n, 4).

    sun: (n,), which of the sun's directions a pixel asks.
    """
    along = _at(sight.directions, pixels)
    light = np.column_stack([sky_of(along), np.ones(len(pixels))])
    met = np.flatnonzero(hits.triangle >= 0)
    if not len(met):
        return light
    surface, axes = world.surface, light_axes(shot.towards_light)
    triangle, along = hits.triangle[met], along[met]
    node = surface.node[triangle]
    at = _at(sight.origins, pixels[met]) + along * hits.depth_m[met, None]
    face, normal = normals_of(world, hits, met)
    inside = hits.back[met] & (surface.sealed | surface.ground)[node]
    normal[inside] = -axes[2]
    x = normal @ axes[2]
    lit, dark = levels(x, normal[:, 1])
    sunny = np.ones(len(met))
    if shot.shadow:
        asked = np.flatnonzero(lit > dark)
        lift = face[asked] * (LIFT_M + 1e-6 * np.abs(at[asked]).max(axis=1))[:, None]
        casters = world if shot.casters is None else world.group(shot.casters)
        suns = (axes[2] + soft_sun_offsets() @ axes[:2]).astype(np.float32)
        sunny[asked] = ~casters.shaded((at[asked] + lift).astype(np.float32), suns[sun[met[asked]]])
    albedo, plain = albedo_of(world, shot, sight, pixels, hits, met)
    share = tone(air, at, along, normal) * grid_light(world, shot, sight, hits, met, along, at, face, plain)
    lit, dark = lit * share, dark * share
    if shot.tinted:
        fill = look.SUBJECT_FILL * (plain & filled(surface)[node])
        lit, dark = lit + fill * (1.0 - lit), dark + fill * (1.0 - dark)
    haze = haze_share(air, hits.depth_m[met], at, surface.ground[node])
    codes = srgb_encoded(albedo * lit[:, None])
    light[met, :3] = codes + (np.array(look.HORIZON) / 255.0 - codes) * haze[:, None]
    light[met, 3] = np.where(sunny > 0.0, 1.0, shadow_share(albedo, lit, dark, haze))
    light[:, :3] = veiled(world, shot, hits, light[:, :3])
    return light


def _at(terms: Floats, pixels: Floats) -> Floats:
    """As RayHits.at; without a matrix product, for which numpy's library wakes threads that only wait."""
    return np.asarray(terms[0] + pixels[:, :1] * terms[1] + pixels[:, 1:] * terms[2])


def surfaces_met(world: World, hits: Hits) -> NDArray[np.uint8]:
    """A number, 1..254, of the surface that each ray met, 255 for none: planes of one node are told apart."""
    surface = world.surface
    plane = np.einsum("ij,ij->i", world.faces, surface.corners[:, 0])
    turn = np.rint(world.faces * 9.0).astype(np.int64) @ np.array([11, 53, 97])
    flat = np.where(surface.round, 0, np.rint(plane * 28.37).astype(np.int64) * 101 + turn)
    number = (1 + (surface.node.astype(np.int64) * 37 + flat) % 254).astype(np.uint8)
    met: NDArray[np.uint8] = np.append(number, np.uint8(255))[hits.triangle]
    return met
