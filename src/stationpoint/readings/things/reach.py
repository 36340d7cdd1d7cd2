"""Reach: how far the player gets, by height; what two readers of the picture make of it."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from stationpoint.readings.types import Field
from stationpoint.study import Gap

FUZZ_M = 1e-9
UNSEEN = "unseen"
NO_REACH = "the study gives no reach"
REACH_FIELDS = (
    Field(
        ("gaps", "*", "reach_m"),
        "m",
        5,
        "Level reach at the landing's height.",
        null="no reach given, or none at that height",
    ),
    Field(
        ("gaps", "*", "reach_level_m"),
        "m",
        5,
        "Level reach on one level.",
        null="no reach given, or none on the level",
    ),
    Field(
        ("gaps", "*", "reachable"),
        "",
        0,
        "Whether the gap can be jumped in truth.",
        null=NO_REACH,
        holds="flag",
    ),
    Field(
        ("gaps", "*", "decidable"),
        "",
        0,
        "Whether truth is at least three tellable steps from the limit.",
        source="common practice",
        null="no reach given, an end is behind the eye, or the gap is vertical",
        holds="flag",
    ),
    Field(
        ("gaps", "*", "misleading"),
        "",
        0,
        "Whether the flat reading contradicts the truth.",
        null="no reach given",
        holds="flag",
    ),
    Field(
        ("gaps", "*", "verdict"),
        "",
        0,
        "What a player makes of it: unseen, close call, lies, needs a cue, or sure.",
        null="no reach given, or an end is behind the eye",
        holds="word",
        words=(UNSEEN, "close call", "lies", "needs a cue", "sure"),
    ),
)


def has_reach(gap: Gap) -> bool:
    """Whether the study says how far the player gets at all."""
    return gap.reach_m is not None or gap.reach is not None or gap.jump is not None


def reach_m(gap: Gap, height_m: float) -> float | None:
    """Level reach in metres at a height difference (landing minus take-off); None where there is none.

    From a jump: v (u + sqrt(u^2 - 2 g h)) / g with u = sqrt(2 g apex), none if h > apex. From a
    table: linear between, none outside. A bare reach counts at every height. Source: ballistics.
    Worked: 4 m/s, apex 1.25 m, 20 m/s2, level: 2.828 m.
    """
    found = float(reaches_m(gap, np.array(height_m)))
    return None if np.isnan(found) else found


def reaches_m(gap: Gap, height_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """The same at many height differences, (n,); nan where there is none."""
    if gap.jump is not None:
        speed, apex, gravity = gap.jump.speed_mps, gap.jump.apex_m, gap.jump.gravity_mps2
        with np.errstate(invalid="ignore"):
            fall = np.sqrt(2 * gravity * (apex - height_m))
        return np.asarray(speed * (sqrt(2 * gravity * apex) + fall) / gravity)
    if gap.reach is not None:
        heights, lengths = np.array(gap.reach).T
        known = (height_m >= heights[0] - FUZZ_M) & (height_m <= heights[-1] + FUZZ_M)
        return np.where(known, np.interp(height_m, heights, lengths), np.nan)
    return np.full(height_m.shape, np.nan if gap.reach_m is None else gap.reach_m)


def reach_level_m(gap: Gap) -> float | None:
    """Level reach in metres on one level, R(0): what a reader who sees no height compares with.

    None where the study gives no reach, or none on the level. Source: definition. Worked: the table (-1,
    3.6), (0, 3.4), (1, 2.6): 3.4 m.
    """
    return reach_m(gap, 0.0)


def within(span_m: float | None, reach: float | None) -> bool:
    """Whether a span says "reachable"; a span or a reach that does not exist says no."""
    return span_m is not None and reach is not None and span_m <= reach + FUZZ_M


def reachable(gap: Gap, level_m: float, height_m: float) -> bool | None:
    """Whether the gap can be jumped in truth: level span against R(h); None if no reach is given.

    Source: definition. Worked: level 4.1 m, reach 3.4 m: no.
    """
    return within(level_m, reach_m(gap, height_m)) if has_reach(gap) else None


def decidable(gap: Gap, level_m: float, height_m: float, tell_m: float | None) -> bool | None:
    """Whether truth is so far from the limit that the picture could tell: |R(h) - level| >= 3 tell.

    tell_m: `tell_m`; infinite where nothing on screen tells the distance, None where it cannot be said
    (gives None, as no reach does). Out of reach whatever the distance counts as decidable. Source: common
    practice. Worked: |3.4 - 4.1| = 0.7 >= 3 x 0.183.
    """
    if not has_reach(gap) or tell_m is None:
        return None
    reach = reach_m(gap, height_m)
    return True if reach is None else abs(reach - level_m) >= 3.0 * tell_m


def misleading(gap: Gap, flat_m: float | None, truth: bool | None) -> bool | None:
    """Whether the flat reading contradicts the truth. None where either is missing.

    flat_m: `flat_span_m`. truth: `reachable`. Source: definition. Worked: flat 1.69 m, reach 3 m,
    level 3.16 m: yes.
    """
    if flat_m is None or truth is None:
        return None
    return within(flat_m, reach_level_m(gap)) != truth


def verdict(
    gap: Gap,
    flat_m: float | None,
    ground_m: float | None,
    truth: bool | None,
    tellable: bool | None,
    height_told: bool,
    is_unseen: bool = False,
) -> str | None:
    """What a player makes of the gap: "unseen", "close call", "lies", "needs a cue" or "sure".

    flat_m, ground_m: what the two readers see; both compare with R(0). truth: `reachable`. tellable:
    `decidable`. height_told: whether a drop line or cast shadow tells the landing's height, so that the
    reader at the ground end knows the truth. is_unseen: whether an end is not in the picture at all
    (`landing.unseen`): nobody judges what cannot be seen. None without a reach.
    Source: definition. Worked: flat 0.95 m, ground 4.1 m, reach 3.4 m, true 4.1 m: "needs a cue".
    """
    if truth is None:
        return None
    if is_unseen:
        return UNSEEN
    if flat_m is None or tellable is None:
        return None
    if not tellable:
        return "close call"
    flat_says = within(flat_m, reach_level_m(gap))
    ground_says = truth if height_told else within(ground_m, reach_level_m(gap))
    return _judged(flat_says, ground_says, truth)


def _judged(flat_says: bool, ground_says: bool, truth: bool) -> str:
    if flat_says != ground_says:
        return "needs a cue"
    return "sure" if flat_says == truth else "lies"
