"""How far the player gets anywhere in a study: its gaps' reach, the longest one."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stationpoint.readings.things.reach import FUZZ_M, has_reach, reach_m
from stationpoint.study import Gap

Gaps = tuple[Gap, ...]

UNTOLD_REACH_M = 2.0  # where the study names none (common practice)


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


def looked_for_m(gaps: Gaps) -> float:
    """The reach that false contacts are measured by: the longest, or 2 m."""
    return longest_reach_m(gaps) or UNTOLD_REACH_M


def within_reach(gaps: Gaps, level_m: ArrayLike, height_m: ArrayLike) -> NDArray[np.bool_]:
    """Whether the player gets from one surface to the other and back, (n,).

    level_m, height_m: (n,) level distance and difference in height. Some gap's R(h) holds both ways, up
    and down. A bare reach, and the 2 m of a study that names none, say nothing of height: then the
    difference in height must not exceed them either. Source: definition. Worked: hand case, level 5.196
    m and 3 m down: out of reach of 2 m.
    """
    level, height = np.broadcast_arrays(np.asarray(level_m, dtype=float), np.asarray(height_m, dtype=float))
    found = np.zeros(level.shape, dtype=bool)
    reaching = [gap for gap in gaps if has_reach(gap)]
    for gap in reaching:
        if gap.reach_m is not None:
            found |= _bare(level, height, gap.reach_m)
            continue
        farthest = np.full(level.shape, np.inf)
        for sign in (1.0, -1.0):
            each = [reach_m(gap, sign * h) for h in height.ravel().tolist()]
            reach = np.array([-np.inf if one is None else one for one in each]).reshape(level.shape)
            farthest = np.minimum(farthest, reach)
        found |= level <= farthest + FUZZ_M
    return found if reaching else _bare(level, height, UNTOLD_REACH_M)


def _bare(level: NDArray[np.float64], height: NDArray[np.float64], reach: float) -> NDArray[np.bool_]:
    near: NDArray[np.bool_] = (level <= reach + FUZZ_M) & (np.abs(height) <= reach + FUZZ_M)
    return near
