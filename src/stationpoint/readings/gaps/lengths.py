"""Gaps: how long they are, how long they look to two readers, and what moves on screen."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import (
    Camera,
    Frames,
    Seat,
    Shot,
    ShotKey,
    arcmin_between,
    frontal_px_per_m,
    jacobian_px_per_m,
    project_points,
)
from stationpoint.readings.cues.drop import drop_line
from stationpoint.readings.cues.rules import READS
from stationpoint.readings.cues.seen_shots import shadow_shots
from stationpoint.readings.cues.shadow import cast_shadow
from stationpoint.readings.cues.shadow_shots import shadow_plan
from stationpoint.readings.frames.sight import sight_of
from stationpoint.readings.gaps.landing import shots as landing_shots
from stationpoint.readings.gaps.landing import unseen
from stationpoint.readings.things.ends import Ends, ends
from stationpoint.readings.things.ground import SAME_LEVEL_M, ground_point, ground_span_m
from stationpoint.readings.things.pairs import Pair, gap_pair, pairs
from stationpoint.readings.things.reach import (
    REACH_FIELDS,
    decidable,
    has_reach,
    misleading,
    reach_level_m,
    reach_m,
    reachable,
    verdict,
)
from stationpoint.readings.things.steps import UP, arcmin_jacobian, arcmin_per_m, finite, record_camera
from stationpoint.readings.things.things import body_m, case_mark_m
from stationpoint.readings.types import Case, Field, Kind, Path, Reading, Value
from stationpoint.study import Gap

Vector = NDArray[np.float64]

END_BEHIND = "an end is behind the eye"
FIELDS = (
    Field(
        ("gaps", "*", "from_xy"),
        "",
        7,
        "Screen position of the take-off, fractions from top-left.",
        null="behind the eye",
        holds="numbers",
    ),
    Field(
        ("gaps", "*", "to_xy"),
        "",
        7,
        "Screen position of the landing, fractions from top-left.",
        null="behind the eye",
        holds="numbers",
    ),
    Field(("gaps", "*", "true_span_m"), "m", 5, "Straight distance in space from take-off to landing."),
    Field(("gaps", "*", "level_span_m"), "m", 5, "Level distance from take-off to landing."),
    Field(("gaps", "*", "height_m"), "m", 5, "Height of the landing over the take-off."),
    Field(
        ("gaps", "*", "flat_span_m"),
        "m",
        5,
        "Length read by an eye that takes no depth cue.",
        null=END_BEHIND,
    ),
    Field(
        ("gaps", "*", "flat_span_by_body_m"),
        "m",
        5,
        "The same with the subject's drawn height as the yardstick.",
        null="the view looks straight down, or an end is behind the eye",
    ),
    Field(
        ("gaps", "*", "read_ratio"),
        "",
        5,
        "Flat span over true span; it can exceed 1.",
        null=END_BEHIND,
        plain="how long it looks, over how long it is",
    ),
    Field(
        ("gaps", "*", "ground_span_m"),
        "m",
        5,
        "Length read by an eye that believes both ends stand on one level.",
        null="the sightline through the landing misses the take-off's level",
    ),
    Field(
        ("gaps", "*", "scale_ratio"),
        "",
        5,
        "Nearer over farther frontal scale of the two ends.",
        null=END_BEHIND,
        plain="how many times larger the nearer end is drawn than the farther",
    ),
    Field(
        ("gaps", "*", "foreshortening"),
        "",
        5,
        "Pixels a metre along the gap over frontal ones, at its middle.",
        null=END_BEHIND,
    ),
    Field(
        ("gaps", "*", "arcmin_per_m"),
        "'/m",
        3,
        "How far the landing moves on screen per metre that it moves away.",
        null="an end is behind the eye, or the gap is vertical",
    ),
    Field(
        ("gaps", "*", "tell_m"),
        "m",
        5,
        "Smallest change of the gap that could be told.",
        source="thresholds of 5' and 3 %",
        null="nothing on screen tells its length",
    ),
    *REACH_FIELDS,
)
PLACE_ARCMIN, LENGTH_SHARE = 5.0, 0.03  # height in the field; length (reference: cue thresholds)


def _fraction(camera: Camera, point_m: Vector) -> tuple[float, float] | None:
    x, y = project_points(camera, point_m)[0] / camera.pixels
    return (float(x), float(y)) if np.isfinite(x) else None


def from_xy(camera: Camera, at: Ends) -> tuple[float, float] | None:
    """Screen position of the take-off, fractions from top-left; None behind the eye.

    Source: definition. Worked: the quay's take-off, which is the anchor: (.5, .5).
    """
    return _fraction(camera, at.from_m)


def to_xy(camera: Camera, at: Ends) -> tuple[float, float] | None:
    """Screen position of the landing, fractions from top-left; None behind the eye.

    Source: definition. Worked: the quay's landing, 220.84 px over the middle of 1080: (.5, .2955).
    """
    return _fraction(camera, at.to_m)


def true_span_m(at: Ends) -> float:
    """Straight distance in space from take-off to landing, metres.

    Source: definition. Worked: (0, 0, 0) to (2, 1, -2): 3 m.
    """
    return float(np.linalg.norm(at.to_m - at.from_m))


def level_span_m(at: Ends) -> float:
    """Level distance from take-off to landing, metres.

    Source: definition. Worked: (0, 0, 0) to (2, 1, -2): 2.828 m.
    """
    x, _, z = at.to_m - at.from_m
    return float(np.hypot(x, z))


def height_m(at: Ends) -> float:
    """Landing minus take-off, metres up.

    Source: definition. Worked: (0, 0, 0) to (2, 1, -2): 1 m.
    """
    return float(at.to_m[1] - at.from_m[1])


def flat_span_m(camera: Camera, at: Ends) -> float | None:
    """Metres that the gap looks long to an eye that takes no depth cue.

    Screen distance over the frontal scale at the take-off; None if an end is behind the eye.
    Source: definition. Worked: 220.84 px at 233.33 px/m: 0.9465 m.
    """
    a, b = project_points(camera, [at.from_m, at.to_m])
    return finite(np.linalg.norm(b - a) / frontal_px_per_m(camera, at.from_m)[0])


def flat_span_by_body_m(camera: Camera, at: Ends, tall_m: float) -> float | None:
    """The same with the subject's drawn height as the yardstick, metres.

    tall_m: the subject's height. Yardstick: a vertical line of that height at the take-off. None where
    the view looks straight down, that line is not drawn, or an end is behind the eye. Source: definition.
    Worked: isometric, 3 m along x: 2.449 / .8165 = 3.0 m.
    """
    if abs(camera.forward[1]) > 1.0 - 1e-9:
        return None
    a, b, top = project_points(camera, [at.from_m, at.to_m, at.from_m + tall_m * UP])
    body_px = float(np.linalg.norm(top - a))
    if not body_px > 1e-6:
        return None
    return finite(np.linalg.norm(b - a) / body_px * tall_m)


def read_ratio(flat_m: float | None, true_m: float) -> float | None:
    """Flat over true span; it can exceed 1. None for a gap of no length or with an end behind the eye.

    flat_m: `flat_span_m`. true_m: `true_span_m`. Source: definition. Worked: C1, 4 m: .13333.
    """
    return None if flat_m is None or true_m == 0.0 else flat_m / true_m


def scale_ratio(camera: Camera, at: Ends) -> float | None:
    """Nearer over farther frontal scale of the two ends, 1 or more; None where one is behind the eye.

    Source: definition. Worked: 12 m and 8 m: 1.5.
    """
    scales = frontal_px_per_m(camera, [at.from_m, at.to_m])
    return finite(scales.max() / scales.min())


def foreshortening(camera: Camera, at: Ends) -> float | None:
    """Pixels per metre along the gap over frontal ones, as a derivative at its middle.

    None for a gap of no length, and where an end is behind the eye. Source: definition. Worked:
    isometric, along x: .8165.
    """
    span = true_span_m(at)
    if span == 0.0:
        return None
    middle = (at.from_m + at.to_m) / 2.0
    drawn = np.linalg.norm(jacobian_px_per_m(camera, middle) @ ((at.to_m - at.from_m) / span))
    return finite(drawn / frontal_px_per_m(camera, middle)[0])


def level_direction(at: Ends) -> Vector | None:
    """Unit level direction of the gap, (3,), or None where it goes straight up or down."""
    across = (at.to_m - at.from_m) * (1.0, 0.0, 1.0)
    length = float(np.linalg.norm(across))
    return None if length < SAME_LEVEL_M else across / length


def tell_m(moves_arcmin: float | None, drawn_arcmin: float) -> float | None:
    """Smallest change of the gap that could be told: max(5', 3 % of its drawn length), metres.

    moves_arcmin: arc minutes the landing moves a metre. drawn_arcmin: the gap's drawn length. None where
    either is not there; infinite (in records None) where the landing does not move. Source: thresholds
    for height in the field and length (Cutting and Vishton 1995). Worked: 178.2', 29.28' a metre: 0.183
    m.
    """
    if moves_arcmin is None or not np.isfinite(drawn_arcmin):
        return None
    if moves_arcmin == 0.0:
        return float("inf")
    return max(PLACE_ARCMIN, LENGTH_SHARE * drawn_arcmin) / moves_arcmin


def _arcmin(case: Case, seat: Seat, at: Ends) -> tuple[float | None, float | None]:
    """Arc minutes a metre of the landing along the gap, and `tell_m`."""
    camera, direction = record_camera(case, seat), level_direction(at)
    a, b = project_points(camera, [at.from_m, at.to_m])
    if direction is None or not np.isfinite([a, b]).all():
        return None, None
    moves = arcmin_per_m(arcmin_jacobian(seat, camera, at.to_m, b), direction)
    return moves, tell_m(moves, float(arcmin_between(seat, a, b)[0]))


def _height_told(case: Case, gap: Gap, frames: Frames) -> bool:
    """Whether a drop line or a cast shadow that the game ships reads at the landing.

    On one level there is no height to tell.
    """
    pair = gap_pair(case, gap)
    if not _on_two_levels(pair):
        return False
    if drop_line(case, pair).grade == READS:
        return True
    return _may_be_told_by_shadow(case, pair) and cast_shadow(sight_of(case, frames), pair).grade == READS


def _on_two_levels(pair: Pair) -> bool:
    return abs(float(pair.b.foot_m[1] - pair.a.foot_m[1])) > SAME_LEVEL_M


def _may_be_told_by_shadow(case: Case, pair: Pair) -> bool:
    """Whether a shadow is what the verdict waits for: no drop line tells the height already."""
    waits = pair.name in shadow_plan(case).looks and _on_two_levels(pair)
    return waits and drop_line(case, pair).grade != READS


def shots(case: Case) -> dict[ShotKey, Shot]:
    """What shows the landings, and what their shadows need where a verdict rests on them."""
    found = dict(landing_shots(case)) if any(map(has_reach, case.study.gap)) else {}
    for pair in pairs(case):
        if pair.is_gap and _may_be_told_by_shadow(case, pair):
            found |= shadow_shots(case, pair.name)
    return found


def _values(case: Case, gap: Gap, at: Ends, frames: Frames) -> dict[str, Value]:
    seat, camera = case.seats[0], record_camera(case)
    moves, least_m = _arcmin(case, seat, at)
    level, height = level_span_m(at), height_m(at)
    flat, ground = flat_span_m(camera, at), ground_span_m(camera, at)
    truth, tellable = reachable(gap, level, height), decidable(gap, level, height, least_m)
    return {
        "from_xy": from_xy(camera, at),
        "to_xy": to_xy(camera, at),
        "true_span_m": true_span_m(at),
        "level_span_m": level,
        "height_m": height,
        "flat_span_m": flat,
        "flat_span_by_body_m": flat_span_by_body_m(camera, at, body_m(case)),
        "read_ratio": read_ratio(flat, true_span_m(at)),
        "ground_span_m": ground,
        "scale_ratio": scale_ratio(camera, at),
        "foreshortening": foreshortening(camera, at),
        "arcmin_per_m": moves,
        "tell_m": finite(least_m),
        "reach_m": reach_m(gap, height) if has_reach(gap) else None,
        "reach_level_m": reach_level_m(gap) if has_reach(gap) else None,
        "reachable": truth,
        "decidable": tellable,
        "misleading": misleading(gap, flat, truth),
        "verdict": verdict(
            gap,
            flat,
            ground,
            truth,
            tellable,
            _height_told(case, gap, frames),
            has_reach(gap) and unseen(case, gap, frames),
        ),
    }


def read(case: Case, frames: Frames) -> Reading:
    """All gaps of the study; arc minutes are the first viewing's."""
    values: dict[Path, Value] = {}
    extras: dict[Path, Vector] = {}
    for gap in case.study.gap:
        at = ends(case, gap)
        values.update(
            {("gaps", gap.name, key): value for key, value in _values(case, gap, at, frames).items()}
        )
        extras.update(_extras(case.setup.camera, gap.name, at, case_mark_m(case)))
    return Reading(values, extras=extras)


def _extras(camera: Camera, name: str, at: Ends, beside_m: float) -> dict[Path, Vector]:
    """What marks need, pixels of the cell, nan behind the eye.

    ("gap", NAME): take-off, landing, where the gap ends if read flat, ground end. ("gap", NAME,
    "ticks"): half of `beside_m` left and right of the take-off, then of the landing. ("gap", NAME,
    "sides"): the gap `beside_m` to its left (take-off, flat end, landing), then to its right.
    """
    span, flat = true_span_m(at), flat_span_m(camera, at)
    share = np.nan if flat is None or span == 0.0 else flat / span
    flat_end = at.from_m + share * (at.to_m - at.from_m)
    ground = ground_point(camera, at)
    four = [at.from_m, at.to_m, flat_end, np.full(3, np.nan) if ground is None else ground]
    extras: dict[Path, Vector] = {("gap", name): project_points(camera, four)}
    direction = level_direction(at)
    if direction is None:
        return extras
    right = beside_m * np.cross(direction, UP)
    ticks = [end + side * 0.5 * right for end in (at.from_m, at.to_m) for side in (-1, 1)]
    sides = [end + side * right for side in (-1, 1) for end in (at.from_m, flat_end, at.to_m)]
    extras["gap", name, "ticks"] = project_points(camera, ticks)
    extras["gap", name, "sides"] = project_points(camera, sides)
    return extras


KIND = Kind("gap-lengths", FIELDS, read, shots)
