"""The measured frame: the player's picture in the level's own colours, linear, and whose each pixel is.

No tint, no grid, no haze, no marks; a neutral light of at most 1 (render/measured.py), with cast shadows
where the game ships them. What has no colours of its own is in clay. It costs more than all other readings
together, so it is drawn only where the scene's files ask for own colours, or where one asks for what
rests on it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.pixels import id_counts
from stationpoint.camera import IDS, MEASURED, Camera, Frame, Frames, Seat, Shot, ShotKey, resized_camera
from stationpoint.readings.frames.masks import present_plane
from stationpoint.readings.things.things import SceneObject, measured_objects
from stationpoint.readings.types import Case, Path, Reading, Value
from stationpoint.scene import Scene

COLOURS: ShotKey = ("colours",)
UNCOLOURED = "the level has no colours of its own, or nothing asks for it (docs/scene-file.md, Own colours)"


@dataclass(frozen=True, slots=True, eq=False)
class Coloured:
    """light: (h, w, 3) float32, linear 0..1. ids: (h, w), 0 where nothing is. camera: with the picture's
    pixels. seat: the first viewing's. counts: pixels of each id, (nodes + 1,)."""

    light: NDArray[np.float32]
    ids: NDArray[np.uint32]
    camera: Camera
    seat: Seat
    counts: NDArray[np.intp]

    @property
    def pixels(self) -> int:
        """Of the whole picture."""
        return self.ids.size


def has_colours(scene: Scene) -> bool:
    """Whether anything in the scene has colours of its own."""
    return any(node.own is not None for node in scene.nodes)


def without_frame(values: Mapping[Path, Value]) -> Reading:
    """Nulls, with why, where there is no measured frame."""
    return Reading(dict(values), causes=dict.fromkeys(values, "the level has no colours of its own"))


def drawn_things(case: Case) -> list[SceneObject]:
    """Targets and subject that are drawn: no bare points and no boxes."""
    return [thing for thing in measured_objects(case) if thing.nodes]


@lru_cache(maxsize=4)
def colour_shots(case: Case) -> dict[ShotKey, Shot]:
    """The measured frame, where there are colours to measure."""
    if not has_colours(case.scene):
        return {}
    width, height = case.seats[0].picture_px
    shot = Shot(
        resized_camera(case.setup.camera, (max(1, round(width)), max(1, round(height)))),
        frozenset({MEASURED, IDS}),
        moves=case.moves,
        towards_light=case.setup.towards_light,
        shadow="cast-shadow" in case.study.aids,
    )
    return {COLOURS: shot}


def coloured(case: Case, frames: Frames) -> Coloured | None:
    """The measured frame; None where it was not drawn."""
    frame = frames.get(COLOURS)
    return None if frame is None else _coloured(case, frame)


@lru_cache(maxsize=1)
def _coloured(case: Case, frame: Frame) -> Coloured:
    """Kept for the kinds that read the same frame one after the other."""
    ids = present_plane(frame.ids)
    return Coloured(
        light=present_plane(frame.measured),
        ids=ids,
        camera=colour_shots(case)[COLOURS].camera,
        seat=case.seats[0],
        counts=id_counts(ids, len(case.scene.nodes) + 1),
    )
