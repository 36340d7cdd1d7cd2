"""Pose: where the camera stands and how it is turned, as a view matrix (world to camera)."""

from __future__ import annotations

from math import atan2, copysign, cos, degrees, hypot, radians, sin

import numpy as np
from numpy.typing import ArrayLike, NDArray

Matrix = NDArray[np.float64]
Vector = NDArray[np.float64]

UPRIGHT = 1e-6  # of a unit vector's level part


def backward_axis(yaw_deg: float, pitch_deg: float) -> Vector:
    """Unit vector from the anchor to the camera, (3,), world.

    yaw 0, pitch 0: +Z (the camera looks along -Z). Positive pitch: the camera is above. Positive
    yaw: the heading turns left seen from above.
    """
    yaw, pitch = radians(yaw_deg), radians(pitch_deg)
    return np.array([sin(yaw) * cos(pitch), sin(pitch), cos(yaw) * cos(pitch)])


def heading(yaw_deg: float) -> Vector:
    """Level unit vector that the camera heads along, (3,), world; yaw 0 is -Z."""
    yaw = radians(yaw_deg)
    return np.array([-sin(yaw), 0.0, -cos(yaw)])


def turned_by(yaw_deg: float, pitch_deg: float, roll_deg: float = 0.0) -> Matrix:
    """Rotation whose rows are the camera's right, up and back in the world, (3, 3).

    Well defined at pitch +-90, where the yaw direction (its reverse at -90) is up. Positive roll
    turns the camera clockwise seen from behind it, so that the picture turns counterclockwise.
    """
    yaw, pitch, roll = radians(yaw_deg), radians(pitch_deg), radians(roll_deg)
    right = np.array([cos(yaw), 0.0, -sin(yaw)])
    back = backward_axis(yaw_deg, pitch_deg)
    up = np.array([-sin(yaw) * sin(pitch), cos(pitch), -cos(yaw) * sin(pitch)])
    return np.array([cos(roll) * right - sin(roll) * up, sin(roll) * right + cos(roll) * up, back])


def yaw_pitch_roll(rotation: Matrix) -> tuple[float, float, float]:
    """Yaw, pitch and roll in degrees of a rotation (3, 3) as `turned` makes it: its inverse.

    Within UPRIGHT of straight up or down, nearer than single precision can tell, it counts as just
    that, and the roll as 0. Worked: looking along +X, right along -Y, is yaw -90, pitch 0, roll 90.
    """
    back, up = rotation[2], rotation[1]
    level = hypot(back[0], back[2])
    if level < UPRIGHT:
        towards = up if back[1] < 0.0 else -up
        return degrees(atan2(towards[0], towards[2])), copysign(90.0, back[1]), 0.0
    yaw, pitch = degrees(atan2(back[0], back[2])), degrees(atan2(back[1], level))
    plumb = turned_by(yaw, pitch)
    return yaw, pitch, degrees(atan2(float(up @ plumb[0]), float(up @ plumb[1])))


def view_from(eye_m: ArrayLike, rotation: Matrix) -> Matrix:
    """View matrix (4, 4) of a camera at `eye_m` (3,) with the rotation of `turned`."""
    view = np.eye(4)
    view[:3, :3] = rotation
    view[:3, 3] = -rotation @ np.asarray(eye_m, dtype=float)
    return view


def look_at(eye_m: ArrayLike, to_m: ArrayLike) -> tuple[float, float, float]:
    """Yaw, pitch in degrees and distance in metres of an eye that looks at a point, no roll.

    Straight up or down the yaw is 0.
    """
    back = np.asarray(eye_m, dtype=float) - np.asarray(to_m, dtype=float)
    distance = float(np.linalg.norm(back))
    if distance == 0.0:
        raise ValueError("the eye and the point looked at are the same")
    level = float(np.hypot(back[0], back[2]))
    yaw = float(np.degrees(np.arctan2(back[0], back[2]))) if level > 1e-9 * distance else 0.0
    return yaw, float(np.degrees(np.arctan2(back[1], level))), distance


def eye_of(view: Matrix) -> Vector:
    """The eye (3,) in the world of a rigid view matrix."""
    eye: Vector = -view[:3, :3].T @ view[:3, 3]
    return eye
