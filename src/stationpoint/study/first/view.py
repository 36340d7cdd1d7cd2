"""Where the first camera stands: on which side of the subject, how far, with which lenses."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import atan2, cos, degrees, floor, log10, radians, sin
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from stationpoint.scene import Node

Point = tuple[float, float, float]
Free = Callable[[Point, float, float], float]
Rate = Callable[[Point, float, float, float], int]

LENSES_MM, BASE_MM = (24.0, 35.0, 50.0, 85.0), 35.0
ROOM_LENSES_MM = (12.0, 16.0, 20.0, 24.0, 35.0, 50.0)  # where walls keep the camera near: four of these
FILLS = 0.55  # of a picture's height that the subject fills there
PICTURE_MM = 20.25  # height of 16:9 on a gate 36 mm wide
PITCHES_DEG = (12.0, 20.0, 35.0, 50.0)  # the first that no wall is in the way of
STEEPER_DEG = (23.0, 15.0, 8.0, -8.0)  # the second row's pitch over the first's, as walls allow
ROOM_PITCHES_DEG = (5.0, 25.0)
YAWS_DEG = (0.0, 45.0, -45.0, 90.0, -90.0, 135.0, -135.0, 180.0)
CLEAR_SHARE = 0.95  # of the way to the next surface that a camera may stand
ROOM_SHARE = 0.8  # of the way from the subject to the end of the scene, or to a wall
LEAST_HEIGHTS, MOST_HEIGHTS = 1.5, 4.7  # distance, in subject's heights: 2.5 to 8 m
LEAST_ROOM, WANTED_ROOM = 0.2, 2.0  # distance in a room, in subject's heights: the least, and what will do
KNEE_SHARE, HALF_HIDDEN = 0.2, 0.6  # of the body's height; what a view is worth in which that is hidden
MOST_SPOTS = 10  # that are tried for a place with a longer view


class View(NamedTuple):
    """The first camera, and what is swept around it.

    foot: where the subject stands, (3,). pitches_deg: of the rows, the camera's own first. closed:
    walls are all around, so that the camera stays near and no scale is held.
    """

    foot: Point
    yaw_deg: float
    distance_m: float
    pitches_deg: tuple[float, ...]
    base_mm: float
    lenses_mm: tuple[float, ...]
    closed: bool = False


def first_view(
    spots: Sequence[Point],
    things: Sequence[Node],
    height: float,
    anchor_height: float,
    free_m: Free | None,
    rate: Rate,
) -> View:
    """On the side with most room, steeper or nearer where walls are in the way.

    spots: where the subject may stand, the best first. Where walls are all around, of some of them that
    one which the camera can see from farthest off. free_m: metres from a point to the next surface at a
    yaw and a pitch; None for a scene in which nothing is in the way. rate: how much is in the picture from
    an anchor, yaw, pitch and distance: of several sides with room the one with most.
    """
    foot = spots[0]
    anchor = (foot[0], foot[1] + anchor_height, foot[2])
    yaw, distance = _standing(things, anchor, height)
    if free_m is None:
        pitches = (PITCHES_DEG[0], PITCHES_DEG[0] + STEEPER_DEG[0])
        return View(foot, yaw, distance, pitches, BASE_MM, LENSES_MM)
    longest = max(LENSES_MM) / BASE_MM  # how much farther the longest lens stands
    sides = list(dict.fromkeys((yaw, *YAWS_DEG)))
    for pitch in PITCHES_DEG:
        free = {side: free_m(anchor, side, pitch) * CLEAR_SHARE / longest for side in sides}
        most = max(free.values())
        if most >= LEAST_HEIGHTS * height:
            far = floored(min(distance, most))
            wide = [side for side in sides if free[side] >= far]
            best = max(wide, key=lambda side: rate(anchor, side, pitch, far))
            others = (pitch + by for by in STEEPER_DEG)
            there = (p for p in others if free_m(anchor, best, p) * CLEAR_SHARE >= far * longest)
            return View(foot, best, far, (pitch, *list(there)[:1]), BASE_MM, LENSES_MM)
    return _in_room(spots, height, anchor_height, free_m)


def _in_room(spots: Sequence[Point], height: float, anchor_height: float, free_m: Free) -> View:
    wanted = WANTED_ROOM * height
    best: tuple[float, Point, float, float] | None = None
    near = spots[: (len(spots) + 1) // 2]  # those nearer to the floor's middle
    for spot in near[:: max(1, len(near) // MOST_SPOTS)][:MOST_SPOTS]:
        anchor = (spot[0], spot[1] + anchor_height, spot[2])
        flat = {side: free_m(anchor, side, ROOM_PITCHES_DEG[0]) for side in YAWS_DEG}
        for side in sorted(YAWS_DEG, key=lambda side: -flat[side])[:2]:
            clear = free = ROOM_SHARE * min(flat[side], free_m(anchor, side, ROOM_PITCHES_DEG[1]))
            knee = (spot[0], spot[1] + KNEE_SHARE * height, spot[2])
            drop = free * sin(radians(ROOM_PITCHES_DEG[0])) + anchor_height - KNEE_SHARE * height
            if free_m(knee, side, degrees(atan2(drop, free))) < free:
                free *= HALF_HIDDEN
            if best is None or min(free, wanted) > best[0] + 1e-6:
                best = (min(free, wanted), spot, side, clear)
        if best is not None and best[0] >= wanted:
            break
    assert best is not None  # there is one spot at least
    distance = floored(max(min(best[3], wanted), LEAST_ROOM * height))
    fits = FILLS * PICTURE_MM * distance / height
    nearest = min(range(len(ROOM_LENSES_MM)), key=lambda k: abs(ROOM_LENSES_MM[k] - fits))
    start = min(max(nearest - 1, 0), len(ROOM_LENSES_MM) - 4)
    lenses = ROOM_LENSES_MM[start : start + 4]
    return View(best[1], best[2], distance, ROOM_PITCHES_DEG, lenses[1], lenses, closed=True)


def _standing(things: Sequence[Node], foot: Sequence[float], height: float) -> tuple[float, float]:
    """Yaw in degrees and distance in metres: on the side with most room, and within it if that
    still shows the subject."""
    (left, right), (back, front) = span_m(things, 0), span_m(things, 2)
    rooms = {0.0: front - foot[2], 90.0: right - foot[0], 180.0: foot[2] - back, -90.0: foot[0] - left}
    yaw = max(rooms, key=lambda side: round(rooms[side], 3))
    wanted = ROOM_SHARE * rooms[yaw] / cos(radians(PITCHES_DEG[0]))
    return yaw, rounded(min(max(wanted, LEAST_HEIGHTS * height), MOST_HEIGHTS * height))


def span_m(nodes: Sequence[Node], axis: int) -> tuple[float, float]:
    """Lowest and highest coordinate of the nodes along an axis."""
    bounds = [node.bounds for node in nodes]
    return float(min(b[0][axis] for b in bounds)), float(max(b[1][axis] for b in bounds))


def floored(value: float) -> float:
    """Two digits, never above the value: 2.389 is 2.3."""
    step = 10.0 ** (floor(log10(value)) - 1)
    return rounded(floor(value / step + 1e-9) * step)


def rounded(value: float) -> float:
    """Two digits that mean something: 2.3512 is 2.4, 0.0351 is 0.035."""
    return float(f"{value:.2g}")
