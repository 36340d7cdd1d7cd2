"""The own colours of a triangle list, and what is seen of a texture: for both renderers.

Opacity is looked up in a texture as it is, never in a smaller copy, whose mean would close or open all
of a far fence; where a pixel looks wanders within it from pixel to pixel (`jitter_px`), so that the
share of holes stays right however fine they are. Colour is taken from smaller copies, between which it
is mixed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import linear_light, srgb_encoded
from stationpoint.base.geometry.order import distinct
from stationpoint.scene import Material, Node, Texture

JITTER = (
    (3242174889, 2447445413),
    (2447445413, 1103515245),
)  # a pixel's column and row times these, in 32 bits

Floats32 = NDArray[np.float32]
Mask = NDArray[np.bool_]
Levels = list[NDArray[np.uint8]]


@dataclass(frozen=True, slots=True, eq=False)
class FaceColours:
    """The own colours of m triangles.

    materials: in use. material: (m,) i32, place among them, -1 for a triangle without. uv: (m, 3, 2) f32.
    tints: (m, 3, 4) u16, factor times vertex colour, linear, and opacity. sheer: (m,), sight may pass
    through. shown: (m,), shown in these colours where a shot asks for them.
    """

    materials: tuple[Material, ...]
    material: NDArray[np.int32]
    uv: Floats32
    tints: NDArray[np.uint16]
    sheer: Mask
    shown: Mask
    levels: dict[Texture, Levels] = field(default_factory=dict)

    def levels_of(self, texture: Texture) -> Levels:
        """A texture and its smaller copies."""
        if texture not in self.levels:
            self.levels[texture] = levels_of(texture)
        return self.levels[texture]

    def kept(self, faces: NDArray[np.generic]) -> FaceColours:
        """Some of the triangles alone."""
        return FaceColours(
            self.materials,
            self.material[faces],
            self.uv[faces],
            self.tints[faces],
            self.sheer[faces],
            self.shown[faces],
            self.levels,
        )

    def opacity(self, triangle: NDArray[np.int32], weights: NDArray[np.float64]) -> NDArray[np.float64]:
        """Opacity 0..1, (n,), at places in triangles (n,); weights: (n, 3) of their corners."""
        return self._looked_up(triangle, weights, None)[:, 3]

    def hides_from(self, triangle: NDArray[np.int32]) -> NDArray[np.float64]:
        """The opacity from which on triangles (n,) hide what is behind them."""
        least: NDArray[np.float64] = np.array([*(m.seen_from for m in self.materials), 0.0])
        return least[self.material[triangle]]

    def has(self, triangle: NDArray[np.int32]) -> Mask:
        """Whether triangles (n,) have colours of their own."""
        has: Mask = self.material[triangle] >= 0
        return has

    def has_texture(self, triangle: NDArray[np.int32]) -> bool:
        """Whether any of triangles (n,) has a texture."""
        used = distinct(self.material[triangle]).tolist()
        return any(self.materials[place].texture is not None for place in used if place >= 0)

    def unlit(self, triangle: NDArray[np.int32]) -> Mask:
        """Whether triangles (n,) are as bright as they are whatever the light."""
        unlit: Mask = np.array([*(m.unlit for m in self.materials), False])[self.material[triangle]]
        return unlit

    def blends(self, triangle: NDArray[np.int32]) -> Mask:
        """Whether triangles (n,) are blended over what is behind them."""
        blends: Mask = np.array([*(m.blend == "blend" for m in self.materials), False])[
            self.material[triangle]
        ]
        return blends

    def colour(
        self,
        triangle: NDArray[np.int32],
        weights: NDArray[np.float64],
        beside: Sequence[NDArray[np.float64]] = (),
    ) -> NDArray[np.float64]:
        """Linear colour 0..1, (n, 3), at places in triangles. beside: the weights a column and a row
        farther, which say how small a copy of a texture is looked at; none: the largest."""
        return self._looked_up(triangle, weights, beside)[:, :3]

    def _looked_up(
        self,
        triangle: NDArray[np.int32],
        weights: NDArray[np.float64],
        beside: Sequence[NDArray[np.float64]] | None,
    ) -> NDArray[np.float64]:
        found: NDArray[np.float64] = np.einsum("nk,nkc->nc", weights, self.tints[triangle] / 65535.0)
        for place in distinct(self.material[triangle]):
            texture = self.materials[place].texture if place >= 0 else None
            if texture is None:
                continue
            mine = np.flatnonzero(self.material[triangle] == place)
            corners = self.uv[triangle[mine]].astype(np.float64)
            at = np.einsum("nk,nkc->nc", weights[mine], corners)
            levels = self.levels_of(texture)
            level = np.zeros(len(mine))
            if beside:
                size = np.array(levels[0].shape[1::-1])
                steps = [(np.einsum("nk,nkc->nc", w[mine], corners) - at) * size for w in beside]
                widest = np.max([np.linalg.norm(step, axis=1) for step in steps], axis=0)
                level = np.log2(np.clip(widest, 1.0, 2.0**24))
            found[mine] *= sampled(levels, texture, at, level)
        return found


def none_of(count: int) -> FaceColours:
    """The colours of `count` triangles that have none."""
    none = np.zeros(count, dtype=bool)
    return FaceColours(
        (),
        np.full(count, -1, dtype=np.int32),
        np.zeros((count, 3, 2), dtype=np.float32),
        np.zeros((count, 3, 4), dtype=np.uint16),
        none,
        none,
    )


def joined(a: FaceColours, b: FaceColours) -> FaceColours:
    """The triangles of a, then those of b."""
    places = {material: k for k, material in enumerate(a.materials)}
    for material in b.materials:
        places.setdefault(material, len(places))
    number = np.array([*(places[material] for material in b.materials), -1], dtype=np.int32)
    return FaceColours(
        tuple(places),
        np.concatenate([a.material, number[b.material]]),
        np.concatenate([a.uv, b.uv]),
        np.concatenate([a.tints, b.tints]),
        np.concatenate([a.sheer, b.sheer]),
        np.concatenate([a.shown, b.shown]),
        {**a.levels, **b.levels},
    )


def face_colours(nodes: Sequence[Node]) -> FaceColours:
    """The own colours of all triangles of some nodes, node by node."""
    found = none_of(sum(len(node.faces) for node in nodes))
    places: dict[Material, int] = {}
    start = 0
    material, sheer, shown = found.material, found.sheer.copy(), found.shown.copy()
    for node in nodes:
        here = slice(start, start + len(node.faces))
        start = here.stop
        own = node.own
        if own is None or not len(node.faces):
            continue
        number = [places.setdefault(each, len(places)) for each in own.materials]
        material[here] = np.array(number, dtype=np.int32)[own.of_face]
        if own.uv is not None:
            found.uv[here] = own.uv[node.faces]
        factors = np.array([each.factor for each in own.materials])[own.of_face][:, None]
        tints = factors if own.tints is None else factors * own.tints[node.faces]
        found.tints[here] = np.rint(tints * 65535.0)
        sheer[here] = own.lets_through(node.faces)
        shown[here] = node.shows_own
    return FaceColours(tuple(places), material, found.uv, found.tints, sheer, shown)


def jitter_px(columns: NDArray[np.integer], rows: NDArray[np.integer]) -> NDArray[np.float64]:
    """Where in a pixel its opacity is looked up, (n, 2) from its centre, evenly spread over neighbours."""
    x, y = columns.astype(np.uint32), rows.astype(np.uint32)
    with np.errstate(over="ignore"):
        words = [x * np.uint32(a) + y * np.uint32(b) for a, b in JITTER]
    return np.stack([(word >> np.uint32(8)) / 2.0**24 - 0.5 for word in words], axis=1)


def levels_of(texture: Texture) -> Levels:
    """A texture and its smaller copies, halved down to one pixel, 8-bit sRGB and opacity. Colour is mixed
    in linear light, weighed by opacity, so that what nobody sees does not colour what is seen."""
    levels = [texture.pixels]
    decoded = linear_light(np.arange(256)).astype(np.float32)
    opacity: Floats32 = (levels[0][..., 3:] / 255.0).astype(np.float32)
    colour: Floats32 = decoded[levels[0][..., :3]]
    while max(opacity.shape[:2]) > 1:
        weight = opacity + np.float32(1e-4)
        total = _halved(weight)
        colour = _halved(colour * weight) / total
        opacity = _halved(opacity)
        codes = np.rint(np.concatenate([srgb_encoded(colour), opacity], axis=2) * 255.0)
        levels.append(codes.astype(np.uint8))
    return levels


def _halved(values: Floats32) -> Floats32:
    """Means of two by two; an odd last row or column is left to its neighbours."""
    for axis in (0, 1):
        count = values.shape[axis]
        if count > 1:
            even = np.take(values, range(0, count - 1, 2), axis), np.take(values, range(1, count, 2), axis)
            values = (even[0] + even[1]) / np.float32(2.0)
    return values


def sampled(
    levels: Levels, texture: Texture, at: NDArray[np.float64], level: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Linear colour and opacity, (n, 4), of a texture at (n, 2); level: (n,), 0 its full size."""
    level = np.clip(level, 0.0, len(levels) - 1.0)
    lower = np.floor(level).astype(np.intp)
    share = (level - lower)[:, None]
    found = np.zeros((len(at), 4))
    for number in distinct(lower):
        here = np.flatnonzero(lower == number)
        nearest = texture.nearest and number == 0
        found[here] = _bilinear(levels[number], texture, at[here], nearest)
        between = here[share[here, 0] > 0.0]
        if len(between):
            finer = found[between] * (1.0 - share[between])
            found[between] = finer + share[between] * _bilinear(
                levels[number + 1], texture, at[between], False
            )
    return found


def _bilinear(
    pixels: NDArray[np.uint8], texture: Texture, at: NDArray[np.float64], nearest: bool
) -> NDArray[np.float64]:
    height, width = pixels.shape[:2]
    decoded = linear_light(np.arange(256))
    place = at * (width, height) - (0.0 if nearest else 0.5)
    low = np.floor(place)
    part = np.zeros_like(place) if nearest else place - low
    low_x, low_y = low[:, 0].astype(np.int64), low[:, 1].astype(np.int64)
    found = np.zeros((len(at), 4))
    for dx, dy in ((0, 0),) if nearest else ((0, 0), (1, 0), (0, 1), (1, 1)):
        texel = pixels[
            _wrapped(low_y + dy, height, texture.wrap[1]), _wrapped(low_x + dx, width, texture.wrap[0])
        ]
        weight = (part[:, 0] if dx else 1.0 - part[:, 0]) * (part[:, 1] if dy else 1.0 - part[:, 1])
        found[:, :3] += weight[:, None] * decoded[texel[:, :3]]
        found[:, 3] += weight * texel[:, 3] / 255.0
    return found


def _wrapped(place: NDArray[np.int64], count: int, wrap: str) -> NDArray[np.int64]:
    if wrap == "clamp":
        return np.clip(place, 0, count - 1)
    if wrap == "repeat":
        return place % count
    place = place % (2 * count)
    return np.minimum(place, 2 * count - 1 - place)
