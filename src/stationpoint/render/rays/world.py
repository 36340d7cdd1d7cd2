"""A stage as Embree sees it: triangles to hit, and what is known of each."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np
from embreex.mesh_construction import TriangleMesh
from embreex.rtcore_scene import EmbreeScene
from numpy.typing import NDArray

from stationpoint.render.stage import Stage
from stationpoint.render.surface import Surface, face_normals, join_surfaces, part_of, surface_of_guests
from stationpoint.scene import Scene

CHUNK = 16384  # rays that one thread takes at a time
MOST_SHEETS = 64  # faces with open backs that a ray may pass through

Floats32 = NDArray[np.float32]
Ints = NDArray[np.int32]


@dataclass(frozen=True, slots=True, eq=False)
class Veil:
    """Glass that some rays passed: which rays (k,), triangles (k,), corner weights (k, 3), opacity (k,)."""

    ray: NDArray[np.intp]
    triangle: Ints
    weights: NDArray[np.float64]
    opacity: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Hits:
    """What rays met: triangle (n,) i32, -1 for nothing; depth_m (n,) f64, infinity for nothing;
    u, v (n,) f32 of the triangle; back (n,) bool, whether it was met from behind. veils: the glass that
    was passed, nearest first."""

    triangle: Ints
    depth_m: NDArray[np.float64]
    u: Floats32
    v: Floats32
    back: NDArray[np.bool_]
    veils: tuple[Veil, ...] = ()


@dataclass(slots=True, eq=False)
class World:
    """Triangles for rays to meet. places: of node names in the surface. faces: (m, 3) unit normals."""

    surface: Surface
    places: dict[str, int]
    faces: Floats32
    _embree: EmbreeScene | None
    _groups: dict[tuple[str, ...], World] = field(default_factory=dict)

    @property
    def bounds(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Lowest and highest corner, (3,) each; the origin if there is nothing."""
        low, high = self.surface.low, self.surface.high
        full = np.isfinite(low).all(axis=1)
        if not full.any():
            return np.zeros(3), np.zeros(3)
        return low[full].min(axis=0), high[full].max(axis=0)

    def ids(self, hits: Hits) -> NDArray[np.uint32]:
        """Ids of the nodes met, (n,), 0 for nothing."""
        ids = np.append(self.surface.ids, np.uint32(0))
        node = np.append(self.surface.node, np.int32(len(ids) - 1))
        found: NDArray[np.uint32] = ids[node[hits.triangle]]
        return found

    @property
    def may_pass(self) -> bool:
        """Whether a ray may pass through what it meets: open backs, cut-outs, glass."""
        own = self.surface.own
        return bool(self.surface.backs_open.any()) or (own is not None and bool(own.sheer.any()))

    def weights_at(self, triangle: Ints, origins: Floats32, directions: Floats32) -> NDArray[np.float64]:
        """Weights (n, 3) of the triangles' corners where rays meet the triangles' planes."""
        a, b, c = np.moveaxis(self.surface.corners[triangle].astype(np.float64), 1, 0)
        u, v = b - a, c - a
        normal = np.cross(u, v)
        along = np.asarray(directions, dtype=np.float64)
        start = np.asarray(origins, dtype=np.float64) - a
        slope = (normal * along).sum(axis=1)
        slope = np.where(np.abs(slope) < 1e-30, 1e-30, slope)
        at = start - along * ((normal * start).sum(axis=1) / slope)[:, None]
        size = np.maximum((normal * normal).sum(axis=1), 1e-30)
        second = (np.cross(at, v) * normal).sum(axis=1) / size
        third = (np.cross(u, at) * normal).sum(axis=1) / size
        return np.stack([1.0 - second - third, second, third], axis=1)

    def cast(
        self,
        origins: Floats32,
        directions: Floats32,
        to_light: bool = False,
        beside: tuple[Floats32, Floats32] | None = None,
    ) -> Hits:
        """The first thing that each ray meets; origins, directions: (n, 3).

        to_light: the rays run from what is lit towards the light, which sees the faces' other side.
        beside: rays along which opacity is looked up, in place of the rays themselves.
        """
        sheer = None if self.surface.own is None else self.surface.own.sheer
        veils: list[Veil] = []
        count = len(origins)
        triangle, depth = np.full(count, -1, dtype=np.int32), np.full(count, np.inf)
        u, v, back = np.zeros(count, np.float32), np.zeros(count, np.float32), np.zeros(count, bool)
        ahead = np.zeros(count)
        left = np.arange(count)
        open_triangle = self.surface.backs_open[self.surface.node]
        for _ in range(MOST_SHEETS):
            if self._embree is None or not len(left):
                break
            start = origins[left]
            if ahead.any():
                start = (start + ahead[left, None] * directions[left]).astype(np.float32)
            found = _run(self._embree, start, directions[left])
            met = found["primID"] >= 0
            behind = np.einsum("ij,ij->i", found["Ng"], directions[left]) > 0.0
            through = met & (behind != to_light) & open_triangle[found["primID"]]
            if sheer is not None:
                which = np.flatnonzero(met & ~through & sheer[found["primID"]])
                if len(which):
                    passed, veil = self._passed(found, left, which, beside)
                    through[passed] = True
                    veils.append(veil)
            taken = met & ~through
            at = left[taken]
            triangle[at], u[at], v[at] = found["primID"][taken], found["u"][taken], found["v"][taken]
            depth[at], back[at] = ahead[at] + found["tfar"][taken], behind[taken]
            onward = left[through]
            ahead[onward] += found["tfar"][through] * (1.0 + 1e-6) + 1e-5
            left = onward
        return Hits(triangle, depth, u, v, back, tuple(veils))

    def _passed(
        self,
        found: dict[str, Any],
        rays: NDArray[np.intp],
        which: NDArray[np.intp],
        beside: tuple[Floats32, Floats32] | None,
    ) -> tuple[NDArray[np.intp], Veil]:
        """Which of the hits (places in `found`, of these `rays`) let sight through, and glass among them."""
        own = self.surface.own
        assert own is not None
        met = found["primID"][which].astype(np.int32)
        if beside is None:
            u, v = found["u"][which].astype(np.float64), found["v"][which].astype(np.float64)
            weights = np.stack([1.0 - u - v, u, v], axis=1)
        else:
            ray = rays[which]
            weights = self.weights_at(met, beside[0][ray], beside[1][ray])
        opacity = own.opacity(met, weights)
        gone = opacity < own.hides_from(met)
        glass = gone & own.blends(met) & (opacity > 0.0)
        return which[gone], Veil(rays[which[glass]], met[glass], weights[glass], opacity[glass])

    def covered(
        self,
        origins: Floats32,
        directions: Floats32,
        reach: Floats32 | None,
        beside: tuple[Floats32, Floats32] | None = None,
    ) -> NDArray[np.bool_]:
        """Whether each ray from the eye meets anything, within `reach` (n,) if given. beside: as in cast."""
        if self._embree is None or not len(origins):
            return np.zeros(len(origins), dtype=bool)
        if self.may_pass:
            depth = self.cast(origins, directions, beside=beside).depth_m
            return np.isfinite(depth) if reach is None else depth <= reach
        return _occluded(self._embree, origins, directions, reach)

    def shaded(self, origins: Floats32, directions: Floats32) -> NDArray[np.bool_]:
        """Whether anything stands between each origin and the light."""
        if self.may_pass:
            return np.isfinite(self.cast(origins, directions, to_light=True).depth_m)
        return self.covered(origins, directions, None)

    def group(self, names: tuple[str, ...]) -> World:
        """The named nodes alone."""
        if names not in self._groups:
            mask = np.zeros(len(self.surface.ids), dtype=bool)
            mask[[self.places[name] for name in names if name in self.places]] = True
            self._groups[names] = _world(part_of(self.surface, mask), {})
        return self._groups[names]


def world_of(scene: Scene, surface: Surface, stage: Stage, centre_m: NDArray[np.float64]) -> World:
    """The stage's world; surface: the whole scene's."""
    standing = part_of(surface, stage.standing)
    names = [node.name for node, stands in zip(scene.nodes, stage.standing, strict=True) if stands]
    if stage.guests:
        standing = join_surfaces(
            standing, surface_of_guests(stage.guests, stage.guest_ids, centre_m, surface.own is not None)
        )
        names += [node.name for node in stage.guests]
    return _world(standing, {name: k for k, name in enumerate(names)})


def _world(surface: Surface, places: dict[str, int]) -> World:
    faces = face_normals(surface.corners)
    if not len(faces):
        return World(surface, places, faces, None)
    embree = EmbreeScene(robust=True)
    TriangleMesh(embree, surface.corners)
    embree.run(np.zeros((1, 3), np.float32), np.ones((1, 3), np.float32))  # builds it, before threads come
    return World(surface, places, faces, embree)


@cache
def _threads() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(os.cpu_count() or 1)


def _chunks(count: int) -> list[slice]:
    return [slice(start, start + CHUNK) for start in range(0, count, CHUNK)]


def _run(embree: EmbreeScene, origins: Floats32, directions: Floats32) -> dict[str, Any]:
    """Embree's own answer for many rays, worked out in pieces on all cores."""

    def piece(part: slice) -> dict[str, Any]:
        found: dict[str, Any] = embree.run(origins[part], directions[part], output=1)
        return found

    parts = list(_threads().map(piece, _chunks(len(origins))))
    return {key: np.concatenate([part[key] for part in parts]) for key in ("primID", "tfar", "u", "v", "Ng")}


def _occluded(
    embree: EmbreeScene, origins: Floats32, directions: Floats32, reach: Floats32 | None
) -> NDArray[np.bool_]:
    def piece(part: slice) -> NDArray[np.bool_]:
        far = None if reach is None else reach[part]
        found: NDArray[np.bool_] = embree.run(origins[part], directions[part], far, query="OCCLUDED") >= 0
        return found

    return np.concatenate(list(_threads().map(piece, _chunks(len(origins)))))
