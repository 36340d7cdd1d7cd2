"""What lies on the card for a stage, and which runs of it a pass draws."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera
from stationpoint.render.gl import names as gl
from stationpoint.render.gl.textures import Textures
from stationpoint.render.gl.upload import Mesh, Palette, Runs
from stationpoint.render.stage import Stage
from stationpoint.render.surface import Surface, faces_of, surface_of_guests
from stationpoint.scene import Node

Bounds = NDArray[np.float64]
Drawing = list[tuple[Mesh, Runs, int]]  # the last: which side of the faces is left out, GL_NONE for none


@dataclass(slots=True)
class UploadedPart:
    """Meshes, each of one texture and solid or sheer, what is known of their nodes (not their triangles),
    which are drawn, places by name."""

    meshes: tuple[Mesh, ...]
    surface: Surface
    drawn: NDArray[np.bool_]
    places: dict[str, int]


@dataclass(slots=True)
class UploadedStage:
    """A stage on the card. kept: extra nodes, which the stage's key tells apart by identity. bounds:
    lowest and highest corner, (3,) each, of all that is drawn; the origin if nothing is."""

    parts: list[UploadedPart]
    guests: tuple[Mesh, ...]
    kept: tuple[Node, ...]
    bounds: tuple[Bounds, Bounds]
    groups: dict[tuple[str, ...], Drawing] = field(default_factory=dict)


def uploaded(
    nodes: Sequence[Node], surface: Surface, palette: Palette, textures: Textures, own: bool = False
) -> UploadedPart:
    """Nodes with their surface on the card, all of them drawn. own: to be drawn in their own colours."""
    meshes = tuple(_meshes(surface, palette, textures, own))
    none = np.zeros((0, 3, 3), dtype=np.float32)
    known = replace(
        surface,
        corners=none,
        normals=none,
        round=surface.round[:0],
        node=surface.node[:0],
        low=np.asfortranarray(surface.low),  # axis by axis: in_view goes through all
        high=np.asfortranarray(surface.high),
        own=None,
    )
    places = {node.name: k for k, node in enumerate(nodes)}
    return UploadedPart(meshes, known, np.ones(len(nodes), dtype=bool), places)


def _meshes(surface: Surface, palette: Palette, textures: Textures, own: bool) -> Iterator[Mesh]:
    """A surface as one mesh; where own colours count, as one for each texture, sheer faces apart."""
    colours = surface.own
    if colours is None:
        yield Mesh(surface, palette)
        return
    every = list(dict.fromkeys(material.texture for material in colours.materials))
    number = np.array([*(every.index(material.texture) for material in colours.materials), -1])
    picture = number[colours.material]
    if not own:
        picture[~colours.sheer] = -1
    for texture, sheer in sorted({(int(t), bool(s)) for t, s in zip(picture, colours.sheer, strict=True)}):
        part = faces_of(surface, (picture == texture) & (colours.sheer == sheer))
        name = textures.name(every[texture] if texture >= 0 else None, colours) if own or sheer else 0
        yield Mesh(part, palette, name, sheer)


def cast_of(
    scene: UploadedPart,
    stage: Stage,
    centre_m: Bounds,
    kept: tuple[Node, ...],
    palette: Palette,
    textures: Textures,
    own: bool = False,
) -> UploadedStage:
    """The stage on the card: the scene's part as it lies there, guests uploaded."""
    parts, guests = [replace(scene, drawn=stage.standing)], tuple[Mesh, ...]()
    if stage.guests:
        surface = surface_of_guests(stage.guests, stage.guest_ids, centre_m, own)
        parts.append(uploaded(stage.guests, surface, palette, textures, own))
        guests = parts[-1].meshes
    low, high = boxes(parts, [part.drawn for part in parts])
    bounds = (low.min(axis=0), high.max(axis=0)) if len(low) else (np.zeros(3), np.zeros(3))
    return UploadedStage(parts, guests, kept, bounds)


def boxes(parts: Sequence[UploadedPart], masks: Sequence[NDArray[np.bool_]]) -> tuple[Bounds, Bounds]:
    """Lowest and highest corners, (n, 3) each, of the masked nodes that have any geometry."""
    pairs = list(zip(parts, masks, strict=True))
    if not pairs:
        return np.zeros((0, 3)), np.zeros((0, 3))
    low = np.concatenate([part.surface.low[mask] for part, mask in pairs])
    high = np.concatenate([part.surface.high[mask] for part, mask in pairs])
    full = np.isfinite(low).all(axis=1)
    return low[full], high[full]


def in_view(cast: UploadedStage, camera: Camera, to_clip: Bounds, centre_m: Bounds) -> Drawing:
    """What of the cast may be seen: blocks of triangles that reach into the view, no backs of sealed solids.

    A solid's backs are drawn if the eye, or the near plane, may be inside it.
    """
    drawing: Drawing = []
    for part in cast.parts:
        surface = part.surface
        hidden = surface.sealed
        if not camera.parallel:
            eye = camera.eye_m - centre_m
            across = (1.0 + np.abs(camera.projection[:2, 2])) / np.abs(np.diag(camera.projection)[:2])
            reach = camera.near_m * float(np.linalg.norm([1.0, *across]))
            outside = ((eye < surface.low - reach) | (eye > surface.high + reach)).any(axis=1)
            hidden = hidden & outside
        else:
            along = camera.forward
            nearest = np.minimum(along * surface.low, along * surface.high).sum(axis=1)
            hidden = hidden & (nearest + along @ (centre_m - camera.eye_m) > camera.near_m)
        drawing += _sided(part, part.drawn, hidden | surface.backs_open, gl.GL_BACK, to_clip)
    return drawing


def casting(
    parts: Sequence[UploadedPart], names: tuple[str, ...] | None, to_clip: Bounds | None = None
) -> tuple[Drawing, tuple[Bounds, Bounds]]:
    """What of the parts casts shadows, and its boxes: the named nodes, or all. to_clip: to draw only what
    may lie in a view (the boxes are of all that casts).

    Never the ground, under which there is nothing to hide.

    Of sealed solids only the sides that the light does not reach: a lit face then never lies in its
    own shadow's map, and shadows start where the solid stands.
    """
    drawing: Drawing = []
    masks = [casting_nodes(part, names) for part in parts]
    for part, mask in zip(parts, masks, strict=True):
        sealed, backs_open = part.surface.sealed, part.surface.backs_open
        drawing += _sided(part, mask & ~sealed, backs_open, gl.GL_BACK, to_clip)
        drawing += _sided(part, mask & sealed, sealed, gl.GL_FRONT, to_clip)
    return drawing, boxes(parts, masks)


def casting_nodes(part: UploadedPart, names: tuple[str, ...] | None) -> NDArray[np.bool_]:
    """Which nodes of a part cast shadows, (n,): of the named ones, or of all."""
    return part.drawn & ~part.surface.ground & _named(part, names)


def of_group(cast: UploadedStage, names: tuple[str, ...]) -> Drawing:
    """The drawn ones of the named nodes."""
    if names not in cast.groups:
        cast.groups[names] = drawing = []
        for part in cast.parts:
            drawing += _sided(part, _named(part, names) & part.drawn, part.surface.backs_open, gl.GL_BACK)
    return cast.groups[names]


def _named(part: UploadedPart, names: tuple[str, ...] | None) -> NDArray[np.bool_]:
    """Which nodes of the part are named, (n,); all if None."""
    if names is None:
        return np.ones(len(part.drawn), dtype=bool)
    mask = np.zeros(len(part.drawn), dtype=bool)
    mask[[part.places[name] for name in names if name in part.places]] = True
    return mask


def _sided(
    part: UploadedPart,
    drawn: NDArray[np.bool_],
    culled: NDArray[np.bool_],
    side: int,
    to_clip: Bounds | None = None,
) -> Drawing:
    """What of the drawn nodes may lie in a view, all without one; the `culled` ones without `side` of their
    faces."""
    drawing: Drawing = []
    masks = [
        (mask, without)
        for mask, without in ((drawn & ~culled, gl.GL_NONE), (drawn & culled, side))
        if mask.any()
    ]
    for mesh in part.meshes if masks else ():
        blocks = None if to_clip is None else mesh.reached(to_clip)
        runs = [(mesh.runs(mask, blocks), without) for mask, without in masks]
        drawing += [(mesh, run, without) for run, without in runs if len(run[0])]
    return drawing
