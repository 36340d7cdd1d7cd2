"""The player's eye: arc minutes at the seat, centre of projection, depth stretch, edge stretch."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, degrees, hypot, isnan

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.base.geometry.vectors import length
from stationpoint.camera.camera import OBLIQUE, ORTHOGRAPHIC, Camera, depths

INCH_M = 0.0254


@dataclass(frozen=True, slots=True)
class Seat:
    """A picture on a screen, seen from a seat.

    name: the viewing's. picture_px: (width, height) of the picture in the screen's own pixels.
    pixel_m: pixel pitch in metres. eye_distance_m: distance from the eye to the screen in metres.
    centre_px: where the screen's centre (before which the eye is) lies in the picture, pixels.
    """

    name: str
    picture_px: tuple[float, float]
    pixel_m: float
    eye_distance_m: float
    centre_px: tuple[float, float]

    @property
    def aspect(self) -> float:
        """Width over height of the picture."""
        return self.picture_px[0] / self.picture_px[1]

    @property
    def arcmin_per_px(self) -> float:
        """Arc minutes of one pixel at the screen's centre: 2 atan(pitch / 2 D).

        Source: geometry. Worked: 55 in, 1920 x 1080, 2.7 m: .8074'.
        """
        return degrees(2.0 * atan(self.pixel_m / (2.0 * self.eye_distance_m))) * 60.0


def seat_at(
    name: str,
    diagonal_in: float,
    screen_px: tuple[float, float],
    eye_distance_m: float,
    part: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 1.0),
) -> Seat:
    """The seat of a screen with square pixels.

    diagonal_in: screen diagonal in inches. part: left, top, right, bottom of the screen that the
    picture fills, fractions. Worked: 55 in, 1920 x 1080, 2.7 m: .8074 arc minutes a pixel.
    """
    width, height = screen_px
    left, top, right, bottom = part
    return Seat(
        name=name,
        picture_px=((right - left) * width, (bottom - top) * height),
        pixel_m=diagonal_in * INCH_M / hypot(width, height),
        eye_distance_m=eye_distance_m,
        centre_px=((0.5 - left) * width, (0.5 - top) * height),
    )


def arcmin_between(seat: Seat, p_px: ArrayLike, q_px: ArrayLike) -> NDArray[np.float64]:
    """Angle in arc minutes at the seat between picture positions p and q, (n, 2) or (2,) each.

    Positions are in the seat's own picture pixels. Worked: couch 55 in, 2.7 m, 220.84 px from the
    centre: 178.2'.
    """

    scale = seat.pixel_m / seat.eye_distance_m
    p, q = ((np.asarray(at, dtype=float).reshape(-1, 2) - seat.centre_px) * scale for at in (p_px, q_px))
    # Rays (x, y, 1) to the screen one metre away: the length of their cross product, and their dot product.
    turn = p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]
    across = np.sqrt((p[:, 1] - q[:, 1]) ** 2 + (q[:, 0] - p[:, 0]) ** 2 + turn**2)
    along = p[:, 0] * q[:, 0] + p[:, 1] * q[:, 1] + 1.0
    result: NDArray[np.float64] = np.degrees(np.arctan2(across, along)) * 60.0
    return result


def picture_hfov_deg(seat: Seat) -> float:
    """Horizontal angle in degrees that the picture fills at the seat, along its middle row.

    Source: geometry. Worked: couch 55 in at 2.7 m: 25.413.
    """
    width, height = seat.picture_px
    row = height / 2.0
    return float(arcmin_between(seat, (0.0, row), (width, row))[0]) / 60.0


def centre_of_projection_m(seat: Seat, focal_over_width: float | None) -> float | None:
    """Eye distance at which the picture is geometrically right, metres, before the principal point.

    focal_over_width: F / W of the picture shown, None in parallel views (gives None). Source: geometry.
    Worked: 35 mm on 36 mm, couch 55 in: 1.1838 m.
    """
    if focal_over_width is None:
        return None
    return focal_over_width * seat.picture_px[0] * seat.pixel_m


def depth_stretch(seat: Seat, focal_over_width: float | None) -> float | None:
    """Eye distance over the centre of projection: by how much depth is stretched, geometry only.

    None in parallel views. Source: geometry. Worked: couch, 35 mm: 2.281.
    """
    centre = centre_of_projection_m(seat, focal_over_width)
    return None if centre is None else seat.eye_distance_m / centre


def edge_stretch(camera: Camera, points_m: ArrayLike) -> list[float | None]:
    """Largest radial over tangential size of a small sphere at points (n, k, 3), of each of n groups of k.

    1 / cos(angle off the principal axis) in perspective, 1 in orthographic views, sqrt(1 + L^2) in
    oblique ones. None when any point lies behind a perspective eye. Source: geometry. Worked: 45 degrees
    off the axis, or cavalier: 1.414.
    """
    points = np.asarray(points_m, dtype=float)
    if camera.kind == ORTHOGRAPHIC:
        return [1.0] * len(points)
    if camera.kind == OBLIQUE:
        p = camera.projection
        return [hypot(1.0, hypot(p[0, 2] / p[0, 0], p[1, 2] / p[1, 1]))] * len(points)
    z = depths(camera, points)
    stretch = length(points - camera.eye_m) / np.where(z > 0.0, z, np.nan)
    return [None if isnan(most) else most for most in stretch.max(axis=1).tolist()]
