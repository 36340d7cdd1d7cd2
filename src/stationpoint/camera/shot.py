"""The contract between readings and renderers: what is drawn, and what comes back.

`readings/` says with Shots what it wants to see; `render/` turns a Shot into a Frame; neither knows
the other. `aim.py` makes the Setup.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera.camera import Camera
from stationpoint.scene import Node

COLOUR, DEPTH, IDS, WHOLE, MEASURED = "colour", "depth", "ids", "whole", "measured"
PLANES = frozenset({COLOUR, DEPTH, IDS, WHOLE, MEASURED})
MOST_WHOLE = 32  # groups in one shot's whole plane: one bit each

PartPx: TypeAlias = tuple[int, int, int, int]
"""A box of whole pixels of a picture: left, top, right, bottom."""

ShotKey: TypeAlias = tuple[str, ...]
"""What a shot is for: its kind, what it is of, and a name. Never one text: names hold any words."""


@dataclass(frozen=True, slots=True, eq=False)
class Setup:
    """A camera set-up, solved. None where a field does not apply.

    camera: with the cell's pixels. aspect: width / height; aspect_words: as the study writes it.
    pixels: the first viewing's picture. anchor_m: (3,) what the camera is aimed at.
    focal_over_width: F / W of the picture (perspective only). towards_light: unit (3,).
    oblique_ratio, oblique_angle_deg: oblique only. asked_eye_m: (3,) where the eye was asked to be, if
    it was pulled in from there; distance_m and offset are as asked for. notes: warnings in plain words.
    anchor_height_m: how far the anchor is over the subject's foot.
    """

    camera: Camera
    projection: str
    focal_mm: float | None
    hfov_deg: float | None
    vfov_deg: float | None
    dfov_deg: float | None
    view_height_m: float | None
    distance_m: float | None
    pitch_deg: float
    yaw_deg: float
    roll_deg: float
    offset: tuple[float, float] | None
    offset_by: str | None
    aspect: float
    aspect_words: str
    pixels: tuple[int, int]
    anchor_m: tuple[float, float, float]
    gate_mm: tuple[float, float] = (36.0, 24.0)
    fit: str = "width"
    focal_over_width: float | None = None
    oblique_ratio: float | None = None
    oblique_angle_deg: float | None = None
    towards_light: tuple[float, float, float] = (0.0, 1.0, 0.0)
    asked_eye_m: tuple[float, float, float] | None = None
    notes: tuple[str, ...] = ()
    anchor_height_m: float = 0.0

    @property
    def foot_m(self) -> tuple[float, float, float]:
        """What the anchor was raised from, (3,)."""
        x, y, z = self.anchor_m
        return x, y - self.anchor_height_m, z

    @property
    def at_anchor(self) -> bool:
        """Whether the eye is the anchor (first person), which then is nowhere in the picture."""
        return self.distance_m == 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """What to draw. Nothing of how.

    camera: the camera, its pixels the size of every plane. planes: which planes are needed.
    show: names of the nodes that exist in this shot, None for all. moves: (name, (4, 4) world
    matrix) of nodes that stand elsewhere in this shot. extra: nodes drawn in this shot besides the
    scene's; their ids go on after the scene's last.
    whole: groups of node names, at most MOST_WHOLE; bit k of the whole plane is set where any node
    of group k would cover the pixel's centre if it were alone (no depth test).
    towards_light: unit (3,). tinted: role tints, else clay and ground only. own: nodes that show their
    own colours do so, in place of tint and grid. grid: the metre grid.
    parts_px: where colour is asked for, boxes of whole pixels (left, top, right, bottom); None for all of the
    picture. Elsewhere it may be missing (0). For plain light alone.
    The measured plane knows own colours only: of all nodes that have some, no tint and no grid.
    shadow: cast shadows. casters: names of the only nodes that cast them, None for all that exist.
    about_m: (3,) what a picture for the eye is about: it is drawn in softer light, with what is hidden from
    the sky darker, a sky, and haze beyond that point. None: the plain light, in which readings measure.
    """

    camera: Camera
    planes: frozenset[str]
    show: tuple[str, ...] | None = None
    moves: tuple[tuple[str, NDArray[np.float64]], ...] = ()
    extra: tuple[Node, ...] = ()
    whole: tuple[tuple[str, ...], ...] = ()
    towards_light: tuple[float, float, float] = (0.0, 1.0, 0.0)
    tinted: bool = True
    own: bool = False
    grid: bool = True
    shadow: bool = True
    casters: tuple[str, ...] | None = None
    about_m: tuple[float, float, float] | None = None
    parts_px: tuple[PartPx, ...] | None = None

    @property
    def antialiased(self) -> bool:
        """Whether its colour is for the eye; in plain light it is read with the ids, at pixel centres."""
        return self.about_m is not None or self.own


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """What was drawn; planes not asked for are None. Row 0 is the top.

    colour: (h, w, 3) uint8 sRGB, antialiased as the shot says, else at pixel centres. depth_m: (h, w) float32
    along the camera's axis at pixel centres, infinity where nothing is. ids: (h, w) uint32 at pixel centres,
    0 where nothing is, node k is k + 1; never antialiased. whole: (h, w) uint32, one bit a group.
    measured: (h, w, 3) float32 linear light of the level's own colours at pixel centres, never antialiased:
    what `ids` names.
    """

    colour: NDArray[np.uint8] | None = None
    depth_m: NDArray[np.float32] | None = None
    ids: NDArray[np.uint32] | None = None
    whole: NDArray[np.uint32] | None = None
    measured: NDArray[np.float32] | None = None


Frames: TypeAlias = Mapping[ShotKey, Frame]
"""What was drawn, by the keys of its shots."""
