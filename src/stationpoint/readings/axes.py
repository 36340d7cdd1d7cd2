"""Axes: which world directions read at the subject's anchor, and which are drawn alike."""

from __future__ import annotations

from math import atan2, copysign, degrees, hypot, isfinite
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, Frames, frontal_px_per_m, jacobian_px_per_m, project_points
from stationpoint.readings.things.steps import (
    UP,
    arcmin_jacobian,
    arcmin_per_m,
    finite,
    heading,
    level_right,
    record_camera,
)
from stationpoint.readings.things.things import anchor_m
from stationpoint.readings.types import Case, Field, Kind, Path, Reading, Value

Vector = NDArray[np.float64]

WORLD: dict[str, Vector] = {
    "x": np.array([1.0, 0.0, 0.0]),
    "y": np.array([0.0, 1.0, 0.0]),
    "z": np.array([0.0, 0.0, 1.0]),
}
PAIRS = (
    ("up", "away"),
    ("up", "across"),
    ("across", "away"),
    ("x", "y"),
    ("x", "z"),
    ("y", "z"),
)
PLANES: dict[str, Vector] = {
    name: np.array([WORLD[one], WORLD[other]])
    for name, one, other in (("ground", "x", "z"), ("side", "y", "z"), ("front", "x", "y"))
}
PLACE_ARCMIN, SIZE_PCT = 15.0, 9.0  # three times 5' and 3 %, common practice for a glance
ALIKE_DEG, LEAST_PX = 15.0, 1.0
STEP_M = 0.1

BEHIND = "the anchor is behind the eye, or is the eye itself (first person)"
FIELDS = (
    Field(("axes", "*", "px_per_m"), "px/m", 3, "Pixels that 1 m along the axis draws.", null=BEHIND),
    Field(("axes", "*", "arcmin_per_m"), "'/m", 3, "Arc minutes at the seat for 1 m along it.", null=BEHIND),
    Field(("axes", "*", "direction_deg"), "deg", 4, "Its direction on screen: 0 right, 90 up.", null=BEHIND),
    Field(("axes", "*", "size_pct_per_m"), "%/m", 5, "Growth in drawn size for 1 m along it.", null=BEHIND),
    Field(
        ("axes", "*", "reads"),
        "",
        0,
        "What tells 1 m along it: place (15 arcmin or more), size only (9 % or more), or none.",
        "common practice",
        BEHIND,
        holds="word",
        words=("place", "size only", "none"),
    ),
    Field(
        ("pairs", "*", "apart_deg"),
        "deg",
        4,
        "Acute angle on screen between the two directions.",
        null=f"one of them is drawn as a point, or {BEHIND}",
        plain="angle between the two on the picture; at 0 one looks like the other",
    ),
    Field(
        ("pairs", "*", "swap_m"),
        "m",
        5,
        "Metres of the second that are drawn like 1 m of the first.",
        null="they are drawn more than 15 degrees apart, one shorter than 1 px a metre, or one is null",
    ),
    Field(
        ("planes", "*", "worst_arcmin_per_m"),
        "'/m",
        3,
        "Arc minutes for 1 m along the plane's worst direction (smaller singular value).",
        null=BEHIND,
    ),
    Field(
        ("planes", "*", "worst_dir"),
        "",
        5,
        "World direction in the plane that moves least on screen, unit vector, sign free.",
        null=BEHIND,
        holds="numbers",
    ),
)


def px_per_m(jacobian_px: Vector, direction: Vector) -> float | None:
    """Pixels that one metre along a world direction draws at a point; None where it is behind the eye.

    jacobian_px: (2, 3) px a metre. Source: definition, a derivative. Worked: isometric, any axis:
    sqrt(2/3) of the scale.
    """
    return finite(hypot(*_drawn(jacobian_px, direction)))


def _drawn(jacobian_px: Vector, direction: Vector) -> list[float]:
    """Pixels right and down that a metre along a direction is drawn."""
    found: list[float] = (jacobian_px @ direction).tolist()
    return found


def direction_deg(jacobian_px: Vector, direction: Vector) -> float | None:
    """Direction on screen of a world direction: degrees, 0 right, 90 up, in (-180, 180].

    None where it is drawn as a point, or is behind the eye. Source: definition. Worked: 2:1 dimetric, yaw
    45, x: 26.565 down to the right.
    """
    x, y = _drawn(jacobian_px, direction)
    if not hypot(x, y) > 1e-9:
        return None
    angle = degrees(atan2(-y, x))
    return 180.0 if angle <= -180.0 else angle + 0.0


def size_pct_per_m(camera: Camera, anchor_m: Vector, directions: Vector) -> list[float | None]:
    """Growth of the frontal scale in per cent for a metre along each of some world directions (n, 3).

    Central difference of the logarithm over 0.1 m. Positive: moving along it draws larger. None behind
    the eye. Source: definition. Worked: 8 m away, straight towards the camera: 12.5 % a metre.
    """
    ends = np.concatenate([anchor_m - directions * STEP_M / 2, anchor_m + directions * STEP_M / 2])
    before, after = frontal_px_per_m(camera, ends).reshape(2, -1)
    grows = np.log(after / before).tolist()
    return [finite(100.0 * grown / STEP_M + 0.0) for grown in grows]


def reads(moves_arcmin: float | None, grows_pct: float | None) -> str | None:
    """What tells a metre along an axis: "place", "size only" or "none"; None behind the eye.

    moves_arcmin: arc minutes a metre. grows_pct: per cent a metre, sign free. Source: three times the
    laboratory thresholds of 5' and 3 %, common practice. Worked: 15' and 0 %: "place"; 14.9' and 9 %:
    "size only".
    """
    if moves_arcmin is None or grows_pct is None:
        return None
    if moves_arcmin >= PLACE_ARCMIN:
        return "place"
    return "size only" if abs(grows_pct) >= SIZE_PCT else "none"


def apart_deg(jacobian_px: Vector, first: Vector, second: Vector) -> float | None:
    """Acute angle in degrees on screen between two world directions; None if one is a point.

    Source: definition. Worked: parallel view, pitch 30, up and away: 0.
    """
    a, b = _drawn(jacobian_px, first), _drawn(jacobian_px, second)
    if not (hypot(*a) > 1e-9 and hypot(*b) > 1e-9):
        return None
    cross, dot = a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]
    return degrees(atan2(abs(cross), abs(dot)))


def swap_m(jacobian_px: Vector, first: Vector, second: Vector) -> float | None:
    """Metres of the second world direction drawn like one metre of the first.

    None if they are drawn more than 15 degrees apart or one shorter than 1 px a metre. Source:
    definition. Worked: parallel view, pitch 30: 1 m up is drawn like 1 / tan 30 = 1.732 m away.
    """
    apart = apart_deg(jacobian_px, first, second)
    a, b = px_per_m(jacobian_px, first), px_per_m(jacobian_px, second)
    if apart is None or a is None or b is None or min(a, b) < LEAST_PX or apart > ALIKE_DEG:
        return None
    return a / b


class Spread(NamedTuple):
    """How far a metre in a plane is drawn, whichever way: the singular values of the screen's Jacobian over
    it, (2,), arc minutes, the largest first, and the directions in the plane of each, (2, 2); nan behind the
    eye."""

    lengths: Vector
    ways: Vector


def spreads(jacobian_arcmin: Vector, planes: Vector) -> list[Spread]:
    """Of each of some planes (n, 2, 3), two unit world directions each. jacobian_arcmin: (3, 3)."""
    if not np.isfinite(jacobian_arcmin).all():
        return [Spread(np.full(2, np.nan), np.full((2, 2), np.nan))] * len(planes)
    _, lengths, ways = np.linalg.svd(jacobian_arcmin @ planes.swapaxes(1, 2), full_matrices=False)
    return [Spread(*parts) for parts in zip(lengths, ways, strict=True)]


def worst_arcmin_per_m(spread: Spread) -> float | None:
    """Smaller singular value of the screen Jacobian over a plane, arc minutes a metre.

    None behind the eye. Source: definition.
    Worked: orthographic, pitch 30, 60 px/m, ground, couch: 30 px/m or 24.2' a metre.
    """
    return finite(spread.lengths[1])


def worst_dir(spread: Spread, plane: Vector) -> tuple[float, ...] | None:
    """Unit world direction, (3,), in a plane that moves least on screen; its first part is positive.

    plane: (2, 3), as in `spreads`. None behind the eye. Source: definition. Worked: orthographic, pitch 30,
    ground: straight away from the camera.
    """
    parts = (spread.ways[1] @ plane).tolist()
    if not all(map(isfinite, parts)):
        return None
    parts = [0.0 if abs(part) < 1e-9 else part for part in parts]
    sign = copysign(1.0, next(part for part in parts if part))
    return tuple(part * sign + 0.0 for part in parts)


def read(case: Case, frames: Frames) -> Reading:
    """Axes, pairs and planes at the anchor; arc minutes are the first viewing's."""
    seat, camera = case.seats[0], record_camera(case)
    anchor = anchor_m(case)
    jacobian = jacobian_px_per_m(camera, anchor)
    arcmin = arcmin_jacobian(seat, camera, anchor, project_points(camera, anchor)[0])
    values: dict[Path, Value] = {}
    grows_pct = size_pct_per_m(camera, anchor, np.array(list(WORLD.values())))
    for (name, axis), grows in zip(WORLD.items(), grows_pct, strict=True):
        turns = arcmin_per_m(arcmin, axis)
        values["axes", name, "px_per_m"] = px_per_m(jacobian, axis)
        values["axes", name, "arcmin_per_m"] = turns
        values["axes", name, "direction_deg"] = direction_deg(jacobian, axis)
        values["axes", name, "size_pct_per_m"] = grows
        values["axes", name, "reads"] = reads(turns, grows)
    ways = {**WORLD, "up": UP, "across": level_right(camera), "away": heading(camera)}
    for first, second in PAIRS:
        pair = f"{first}-{second}"
        values["pairs", pair, "apart_deg"] = apart_deg(jacobian, ways[first], ways[second])
        values["pairs", pair, "swap_m"] = swap_m(jacobian, ways[first], ways[second])
    for (name, plane), spread in zip(
        PLANES.items(), spreads(arcmin, np.array([*PLANES.values()])), strict=True
    ):
        values["planes", name, "worst_arcmin_per_m"] = worst_arcmin_per_m(spread)
        values["planes", name, "worst_dir"] = worst_dir(spread, plane)
    return Reading(values, extras=_extras(case, anchor))


def _extras(case: Case, anchor: Vector) -> dict[Path, Vector]:
    """("axes",): anchor and the ends of 1 m arms along x, y, z. ("vanishing", axis): one point."""
    camera = case.setup.camera
    ends = anchor + np.array([np.zeros(3), *WORLD.values()])
    extras: dict[Path, Vector] = {("axes",): project_points(camera, ends)}
    if camera.parallel:
        return extras
    width, height = camera.pixels
    for name, (x, y, _, w) in zip(WORLD, camera.whole[:, :3].T.tolist(), strict=True):
        if abs(w) > 1e-6:  # else it runs parallel to the picture
            extras["vanishing", name] = np.array([[(x / w + 1) * 0.5 * width, (1 - y / w) * 0.5 * height]])
    return extras


KIND = Kind("directions", FIELDS, read)
