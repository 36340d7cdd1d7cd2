"""V: lines along the pair that draw together with distance."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import project_points
from stationpoint.readings.cues.edges import edges_between
from stationpoint.readings.cues.rules import Cue, graded, none_of
from stationpoint.readings.frames.sight import Sight, open_points
from stationpoint.readings.things.pairs import Pair, as_point
from stationpoint.readings.things.steps import UP
from stationpoint.readings.things.things import case_mark_m

Points = NDArray[np.float64]

RAIL_M = 1.0  # to either side
SAMPLES = 9  # of an edge, at least half of which must be seen


def convergence(sight: Sight, pair: Pair) -> Cue:
    """Angle on screen between the lines 1 m left and right of the way from one foot to the other, degrees.

    Absent in parallel views, where one is straight above the other, and without the aid ground-texture
    unless a straight edge of the scene runs there, within 15 degrees, in sight. None where either of the
    two is behind the eye or out of the picture. Source: orientation of a bar (Perception 24, 1131).
    Worked: depths 8 and 11.853 m, pitch 20: 37.9.
    """
    rails = None if sight.camera.parallel else rails_m(pair)
    if rails is None or not ("ground-texture" in sight.case.study.aids or _edge_runs(sight, pair)):
        return none_of("convergence")
    px = project_points(sight.record, rails.reshape(-1, 3)).reshape(2, 2, 2)
    if not np.isfinite(px).all():
        return none_of("convergence")
    (ax, ay), (bx, by) = px[:, 1] - px[:, 0]
    value = float(np.degrees(np.arctan2(abs(ax * by - ay * bx), ax * bx + ay * by)))
    return graded("convergence", value, sight.factor)


def rails_m(pair: Pair, off_m: float = RAIL_M) -> Points | None:
    """The two lines in the world `off_m` to either side, (2, 2, 3): left, right; at the first one, at the
    second one."""
    across = np.cross(pair.b.foot_m - pair.a.foot_m, UP)
    length = float(np.linalg.norm(across))
    if length < 1e-6:
        return None
    side, ends = off_m * across / length, np.array([pair.a.foot_m, pair.b.foot_m])
    return np.array([ends - side, ends + side])


def _edge_runs(sight: Sight, pair: Pair) -> bool:
    """Whether a straight edge of the scene runs along the pair, and half of it or more is seen."""
    subjects = (*pair.a.own, *pair.a.ignoring) if not pair.is_gap else pair.a.ignoring
    parts = edges_between(sight.case.scene, as_point(pair.a.foot_m), as_point(pair.b.foot_m), subjects)
    if not len(parts):
        return False
    share = ((np.arange(SAMPLES) + 0.5) / SAMPLES)[None, :, None]
    # (n, SAMPLES, 3): evenly spaced points of every edge, asked of the picture in one go.
    samples = parts[:, :1] + share * (parts[:, 1:] - parts[:, :1])
    seen = open_points(sight, samples.reshape(-1, 3)).reshape(len(parts), SAMPLES)
    return bool((seen.mean(axis=1) >= 0.5).any())


def convergence_mark(sight: Sight, pair: Pair) -> Points | None:
    """The left line, then the right one, a mark's length to either side, from the first end to the second,
    (4, 2)."""
    rails = rails_m(pair, case_mark_m(sight.case))
    return None if rails is None else project_points(sight.camera, rails.reshape(-1, 3))
