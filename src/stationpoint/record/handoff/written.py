"""Cameras handed off: what a port needs of each, as JSON, and check points as a table."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.words import TOOL
from stationpoint.camera import Setup, depths, project_points, to_clip, yaw_pitch_roll
from stationpoint.record.handoff.convention import Convention
from stationpoint.record.record import Json, Record, plain, record_text, writable

Points = NDArray[np.float64]

HEADING = ("name", "x", "y", "z", "x_px", "y_px", "depth")
DIGITS = 12  # significant, of matrices: there and back is the same camera to 1e-6
ANGLE, PIXEL, LENGTH = 6, 3, 6  # decimals
KEPT_ANGLE = {"height": "vertical", "width": "horizontal", "diagonal": "diagonal"}  # by aspect_policy


@dataclass(frozen=True, slots=True, eq=False)
class Handed:
    """A variant to hand off. setup: with the player's picture's pixels. boom: its constants, lengths in
    metres by keys that end in _m; None without one. rig: what the camera's file says of it. names,
    points_m: of the check points, (n, 3), world.
    """

    label: str
    key: str
    place: str
    setup: Setup
    aspect_policy: str
    boom: dict[str, Json] | None
    rig: Json
    names: tuple[str, ...]
    points_m: Points


def handoff_text(
    handed: Sequence[Handed], convention: Convention, title: str, study_sha256: str, version: str
) -> str:
    """The hand-off as JSON text, in a convention."""
    kept = {KEPT_ANGLE[one.aspect_policy] for one in handed}
    said = {**convention.said(), "angle_kept": kept.pop() if len(kept) == 1 else "by aspect_policy"}
    whole: Record = {
        "tool": {"name": TOOL, "version": version},
        "study": {"title": title, "sha256": study_sha256},
        "convention": plain(said, LENGTH),
        "variants": [_variant(one, convention) for one in handed],
    }
    return record_text(whole)


def points_text(handed: Sequence[Handed], convention: Convention) -> str:
    """The check points as CSV text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEADING)
    for one in handed:
        for name, xyz, px, depth, _ in _points(one, convention):
            writer.writerow([writable(name), *map(repr, (*xyz, *px, depth))])
    return out.getvalue()


def _variant(one: Handed, convention: Convention) -> Json:
    setup, camera = one.setup, one.setup.camera
    view, projection = convention.view(camera.view), convention.projection(camera.projection)
    place = np.eye(4)
    place[:3, :3] = view[:3, :3].T
    place[:3, 3] = -view[:3, :3].T @ view[:3, 3]
    matrices = {
        "view": view,
        "projection": projection,
        "view_projection": projection @ view,
        "camera_to_world": place,
    }
    return {
        "id": one.label,
        "key": one.key,
        "lens": _lens(setup, convention),
        "pose": _pose(one, convention),
        "matrices": {name: _matrix(matrix, convention.order) for name, matrix in matrices.items()},
        "boom": _in_units(one.boom, convention),
        "rig": one.rig,
        "aspect_policy": one.aspect_policy,
        "points": [
            {"name": name, "xyz": list(xyz), "px": list(px), "depth": depth, "clip_z": clip_z}
            for name, xyz, px, depth, clip_z in _points(one, convention)
        ],
    }


def _lens(setup: Setup, convention: Convention) -> Json:
    camera = setup.camera

    def long(length_m: float | None) -> Json:
        return None if length_m is None else plain(length_m / convention.metres_per_unit, LENGTH)

    height = setup.view_height_m
    return {
        "projection": setup.projection,
        "focal_mm": plain(setup.focal_mm, LENGTH),
        "gate_mm": plain(setup.gate_mm, LENGTH),
        "fit": setup.fit,
        "hfov_deg": plain(setup.hfov_deg, ANGLE),
        "vfov_deg": plain(setup.vfov_deg, ANGLE),
        "dfov_deg": plain(setup.dfov_deg, ANGLE),
        "view_height": long(height),
        "half_height": long(None if height is None else height / 2),
        "half_width": long(None if height is None else height / 2 * setup.aspect),
        "aspect": setup.aspect_words,
        "width_over_height": plain(setup.aspect, 9),
        "pixels": list(setup.pixels),
        "shift": plain(_shift(setup), 9),
        "oblique_ratio": plain(setup.oblique_ratio, 9),
        "oblique_angle_deg": plain(setup.oblique_angle_deg, ANGLE),
        "near": long(camera.near_m),
        "far": long(camera.far_m),
    }


def _shift(setup: Setup) -> tuple[float, float]:
    """Where the axis lands at the anchor's depth, fractions of the picture from its centre, right and up."""
    camera = setup.camera
    p = camera.projection
    if not camera.parallel:
        return float(-p[0, 2]) / 2.0, float(-p[1, 2]) / 2.0
    depth_m = float(depths(camera, setup.anchor_m)[0])
    return float(p[0, 3] - p[0, 2] * depth_m) / 2.0, float(p[1, 3] - p[1, 2] * depth_m) / 2.0


def _pose(one: Handed, convention: Convention) -> Json:
    setup, camera = one.setup, one.setup.camera
    yaw, pitch, roll = yaw_pitch_roll(camera.view[:3, :3])
    left = 1.0 if convention.yaw == "left" else -1.0
    down = 1.0 if convention.pitch == "down" else -1.0

    def spot(point_m: Sequence[float] | Points) -> Json:
        return plain(convention.points(np.array([point_m]))[0], LENGTH)

    def way(direction: Points) -> Json:
        return plain(convention.turn @ direction + 0.0, 9)

    scale = convention.metres_per_unit
    return {
        "place": one.place,
        "eye": spot(camera.eye_m),
        "right": way(camera.right),
        "up": way(camera.up),
        "ahead": way(camera.forward),
        "anchor": spot(setup.anchor_m),
        "anchor_over_foot": plain(setup.anchor_height_m / scale, LENGTH),
        "distance": None if setup.distance_m is None else plain(setup.distance_m / scale, LENGTH),
        "yaw_deg": plain(left * setup.yaw_deg, ANGLE),
        "pitch_deg": plain(down * setup.pitch_deg, ANGLE),
        "roll_deg": plain(setup.roll_deg, ANGLE),
        "offset": plain(setup.offset, 9),
        "offset_by": setup.offset_by,
        "camera_yaw_deg": plain(left * yaw, ANGLE),
        "camera_pitch_deg": plain(down * pitch, ANGLE),
        "camera_roll_deg": plain(roll, ANGLE),
    }


def _matrix(matrix: NDArray[np.float64], order: str) -> Json:
    rows = matrix if order == "row" else matrix.T
    return [[float(f"{value:.{DIGITS}g}") + 0.0 for value in row] for row in rows.tolist()]


def _in_units(table: dict[str, Json] | None, convention: Convention) -> Json:
    """A table of lengths in metres in the convention's unit; their keys lose the unit."""
    if table is None:
        return None
    scale = convention.metres_per_unit
    return {
        name.removesuffix("_m"): plain(value / scale, LENGTH)
        if name.endswith("_m") and isinstance(value, float)
        else value
        for name, value in table.items()
    }


Point = tuple[str, tuple[float, ...], tuple[float, ...], float, float]


def _points(one: Handed, convention: Convention) -> list[Point]:
    """Name, x y z, pixel, depth along the axis and depth after the divide of each check point."""
    camera = one.setup.camera
    xyz = convention.points(one.points_m)
    px, depth = project_points(camera, one.points_m), depths(camera, one.points_m)
    clip = to_clip(camera, one.points_m) @ convention.clip_turn.T
    clip_z = clip[:, 2] / clip[:, 3]
    scale = convention.metres_per_unit
    return [
        (
            name,
            tuple(round(float(value), LENGTH) + 0.0 for value in xyz[k]),
            tuple(round(float(value), PIXEL) + 0.0 for value in px[k]),
            round(float(depth[k]) / scale, LENGTH) + 0.0,
            float(f"{clip_z[k]:.9g}"),
        )
        for k, name in enumerate(one.names)
    ]
