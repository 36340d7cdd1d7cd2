"""A convention: axes, unit, clip space, order of matrices, signs of angles; into it and back.

All is said by properties. `axes` are the world's axes of the convention, each as a signed axis of ours
(right-handed, metres, +Y up, -Z ahead at yaw 0). Camera space has the same hand as the world.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong

Matrix = NDArray[np.float64]
Points = NDArray[np.float64]

SIGNED = ("x", "y", "z", "-x", "-y", "-z")
HANDS, UPS, LOOKS = ("right", "left"), ("y", "z"), ("-z", "+z", "+x")
CLIPS, CLIP_YS, ORDERS = ("-1..1", "0..1"), ("up", "down"), ("row", "column")
YAWS, PITCHES = ("left", "right"), ("down", "up")
METRES_PER_UNIT = {"m": 1.0, "cm": 0.01, "mm": 0.001}
AXES_OF = {  # by hand and up axis; x stays
    ("right", "y"): ("x", "y", "z"),
    ("right", "z"): ("x", "-z", "y"),
    ("left", "y"): ("x", "y", "-z"),
    ("left", "z"): ("x", "z", "y"),
}


@dataclass(frozen=True, slots=True)
class Convention:
    """How a port counts. axes: its x, y, z as signed axes of ours. looks: along which axis of its own space a
    camera looks. clip: depth after the divide, near to far unless `is_reversed`. clip_y: where y of clip
    space points. order: what an inner list of a matrix is. yaw, pitch: which way positive angles turn."""

    axes: tuple[str, str, str] = ("x", "y", "z")
    looks: str = "-z"
    unit: str = "m"
    clip: str = "-1..1"
    clip_y: str = "up"
    is_reversed: bool = False
    order: str = "row"
    yaw: str = "left"
    pitch: str = "down"

    @property
    def metres_per_unit(self) -> float:
        """How long its unit is."""
        return METRES_PER_UNIT[self.unit]

    @property
    def turn(self) -> Matrix:
        """World directions of ours to its own, (3, 3): rows are its axes in ours."""
        return np.array([_vector(axis) for axis in self.axes])

    @property
    def handed(self) -> str:
        """Which hand its axes have."""
        return "right" if np.linalg.det(self.turn) > 0 else "left"

    @property
    def up(self) -> str:
        """Its axis that points up, signed."""
        return self._named((0.0, 1.0, 0.0))

    @property
    def yaw_zero(self) -> str:
        """Its axis along which a camera looks at yaw 0 and pitch 0, signed."""
        return self._named((0.0, 0.0, -1.0))

    @property
    def camera_axes(self) -> tuple[str, str, str]:
        """Right, up and ahead of a camera as signed axes of its own space."""
        right, up, back = self.camera_turn.T
        return _name(right), _name(up), _name(-back)

    @property
    def camera_turn(self) -> Matrix:
        """Camera space of ours (right, up, back) to its own, (3, 3)."""
        ahead = _vector(self.looks.replace("+", ""))
        up = _vector("y" if self.looks[-1] == "z" or self.up[-1] == "y" else "z")
        right = np.cross(ahead, up) * (1.0 if self.handed == "right" else -1.0)
        return np.column_stack([right, up, -ahead])

    def _named(self, ours: tuple[float, float, float]) -> str:
        return _name(self.turn @ np.array(ours))

    # ---- into it ----

    def points(self, points_m: Points) -> Points:
        """World points of ours, (n, 3), in its axes and unit."""
        found: Points = np.asarray(points_m) @ self.turn.T / self.metres_per_unit + 0.0
        return found

    def view(self, view: Matrix) -> Matrix:
        """A view matrix of ours, (4, 4), in its axes and unit."""
        found = np.eye(4)
        found[:3, :3] = self.camera_turn @ view[:3, :3] @ self.turn.T
        found[:3, 3] = self.camera_turn @ view[:3, 3] / self.metres_per_unit
        return found

    def projection(self, projection: Matrix) -> Matrix:
        """A projection of ours, (4, 4), for its camera space and clip space; w is depth in its unit."""
        space = np.eye(4)
        space[:3, :3] = self.camera_turn.T * self.metres_per_unit
        found: Matrix = self.clip_turn @ projection @ space
        return found / self.metres_per_unit if projection[3, 3] == 0.0 else found

    @property
    def clip_turn(self) -> Matrix:
        """Clip space of ours to its own, (4, 4)."""
        turn = np.eye(4)
        turn[1, 1] = -1.0 if self.clip_y == "down" else 1.0
        sign = -1.0 if self.is_reversed else 1.0
        turn[2, 2:] = (0.5 * sign, 0.5) if self.clip == "0..1" else (sign, 0.0)
        return turn

    # ---- and back ----

    def points_m(self, points: Points) -> Points:
        """Its world points, (n, 3), in ours, metres."""
        found: Points = np.asarray(points) @ self.turn * self.metres_per_unit
        return found

    def our_view(self, view: Matrix) -> Matrix:
        """Its view matrix, (4, 4), as ours."""
        found = np.eye(4)
        found[:3, :3] = self.camera_turn.T @ view[:3, :3] @ self.turn
        found[:3, 3] = self.camera_turn.T @ view[:3, 3] * self.metres_per_unit
        return found

    def our_projection(self, projection: Matrix) -> Matrix:
        """Its projection, (4, 4), as ours."""
        space = np.eye(4)
        space[:3, :3] = self.camera_turn / self.metres_per_unit
        found: Matrix = np.linalg.inv(self.clip_turn) @ projection @ space
        return found * self.metres_per_unit if abs(projection[3, 3]) < 0.5 else found

    def said(self) -> dict[str, object]:
        """All of it in words, as the file states it."""
        right, up, ahead = self.camera_axes
        return {
            "handed": self.handed,
            "up": self.up,
            "world_axes": dict(zip("xyz", self.axes, strict=True)),
            "yaw_zero_looks_along": self.yaw_zero,
            "camera_right": right,
            "camera_up": up,
            "camera_looks": ahead,
            "unit": self.unit,
            "metres_per_unit": self.metres_per_unit,
            "clip_z": self.clip,
            "clip_y": self.clip_y,
            "reversed": self.is_reversed,
            "matrix_order": self.order,
            "vectors": "column",
            "angle_unit": "degrees",
            "yaw_positive": self.yaw,
            "pitch_positive": self.pitch,
            "roll_positive": "clockwise",
            "pixel_origin": "top-left",
            "pixel_centre": 0.5,
            "depth": "along the axis",
        }


def convention_from(said: Mapping[str, object]) -> Convention:
    """The convention of a file that states it; ValueError where a word is none that is known."""
    axes = said.get("world_axes")
    if not isinstance(axes, Mapping):
        raise ValueError("world_axes")
    names = [str(axes.get(axis)) for axis in "xyz"]
    for key, known in (
        *(("unit", (*METRES_PER_UNIT,)), ("clip_z", CLIPS), ("clip_y", CLIP_YS), ("matrix_order", ORDERS)),
        *(("yaw_positive", YAWS), ("pitch_positive", PITCHES)),
    ):
        if said.get(key) not in known:
            raise ValueError(key)
    if not isinstance(said.get("reversed"), bool):
        raise ValueError("reversed")
    looks = str(said.get("camera_looks"))
    looks = looks if looks.startswith("-") else f"+{looks}"
    if looks not in LOOKS:
        raise ValueError("camera_looks")
    return Convention(
        _checked(names),
        looks,
        str(said["unit"]),
        str(said["clip_z"]),
        str(said["clip_y"]),
        said["reversed"] is True,
        str(said["matrix_order"]),
        str(said["yaw_positive"]),
        str(said["pitch_positive"]),
    )


def axes_from(words: str | None, handed: str | None, up: str | None) -> tuple[str, str, str]:
    """The world's axes that options ask for; StudyWrong where they are none, or contradict each other."""
    if words is None:
        return AXES_OF[handed or "right", up or "y"]
    try:
        axes = _checked([word.strip().removeprefix("+").lower() for word in words.split(",")])
    except ValueError:
        raise StudyWrong(
            f'--axes {words}: name the three axes of ours that x, y and z of the port are, as in "x,-z,y".'
        ) from None
    made = Convention(axes)
    if handed not in (None, made.handed):
        raise StudyWrong(f"--axes {words} are {made.handed}-handed, and --handed says {handed}.")
    if up not in (None, made.up):
        raise StudyWrong(f"--axes {words} have {made.up} up, and --up says {up}.")
    return axes


def _checked(names: list[str]) -> tuple[str, str, str]:
    if len(names) != 3 or not set(names) <= set(SIGNED) or {name[-1] for name in names} != set("xyz"):
        raise ValueError("world_axes")
    return names[0], names[1], names[2]


def _vector(axis: str) -> NDArray[np.float64]:
    vector = np.zeros(3)
    vector["xyz".index(axis[-1])] = -1.0 if axis.startswith("-") else 1.0
    return vector


def _name(vector: NDArray[np.float64]) -> str:
    number = int(np.argmax(np.abs(vector)))
    return ("-" if vector[number] < 0 else "") + "xyz"[number]
