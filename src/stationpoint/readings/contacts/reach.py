"""How far the player gets anywhere in a study: its gaps' reach, the longest one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.readings.things.reach import FUZZ_M, has_reach, reach_m, reaches_m
from stationpoint.study import Gap

Gaps = tuple[Gap, ...]

UNTOLD_REACH_M = 2.0  # where the study names none (common practice)
CLIMB_SHARE = 0.5  # of the body's height, how far up a reach holds that says nothing of height


def longest_reach_m(gaps: Gaps) -> float | None:
    """The longest level reach of the study's gaps, metres; None where it names none.

    R(0) of each gap; of a table that holds no level row, its longest. Source: definition. Worked: gaps
    of 3.4 and 2 m: 3.4.
    """
    found = []
    for gap in gaps:
        level = reach_m(gap, 0.0) if has_reach(gap) else None
        if level is None and gap.reach is not None:
            level = max(length for _, length in gap.reach)
        found += [] if level is None else [level]
    return max(found, default=None)


@dataclass(frozen=True, slots=True)
class Reach:
    """How far the player gets. body_m: the height of the body, metres."""

    gaps: Gaps
    body_m: float

    @property
    def level_m(self) -> float:
        """The reach that false contacts are looked for by: the longest level one, or 2 m."""
        return longest_reach_m(self.gaps) or UNTOLD_REACH_M

    @property
    def farthest_m(self) -> float:
        """The longest reach at any height that a table knows."""
        lengths = [length for gap in self.gaps if gap.reach is not None for _, length in gap.reach]
        return max([self.level_m, *lengths])

    def there_m(self, height_m: ArrayLike) -> NDArray[np.float64]:
        """The longest level reach to what is so much higher, (n,), minus infinity where there is none.

        A bare reach, and the 2 m of a study that names none, are for steps: upward they hold to half the
        body's height, downward at any. Source: definition. Worked: 2 m and a body of 1.7 m: 2 m to what is
        0.85 m up, and to what is 9 m down; none to what is 0.9 m up.
        """
        height = np.asarray(height_m, dtype=float)
        bare = [gap.reach_m for gap in self.gaps if gap.reach_m is not None]
        told = [gap for gap in self.gaps if has_reach(gap) and gap.reach_m is None]
        step = max(bare, default=-np.inf if told else UNTOLD_REACH_M)
        found = np.where(height <= CLIMB_SHARE * self.body_m + FUZZ_M, step, -np.inf)
        for gap in told:
            found = np.maximum(found, np.nan_to_num(reaches_m(gap, height), nan=-np.inf))
        return found

    def within(self, level_m: ArrayLike, height_m: ArrayLike) -> NDArray[np.bool_]:
        """Whether the player gets from a spot to another that is level_m off and height_m higher, (n,).

        Source: definition. Worked: hand case, level 5.196 m and 3 m down: out of reach of 2 m.
        """
        near: NDArray[np.bool_] = np.asarray(level_m, dtype=float) <= self.there_m(height_m) + FUZZ_M
        return near
