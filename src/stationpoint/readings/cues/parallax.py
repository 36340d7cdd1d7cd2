"""P: how much faster the nearer one slides across the picture when the camera moves sideways."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import depths, focal_px, project_points
from stationpoint.readings.cues.rules import CUE_RULES, PARALLAX_SHARE, Cue, grade, none_of, weaker
from stationpoint.readings.frames.sight import Sight
from stationpoint.readings.things.pairs import Pair

Points = NDArray[np.float64]

SPEED_MPS = 1.0  # sideways
MOMENT_S = 0.25  # of which the mark shows the slide


def parallax(sight: Sight, pair: Pair) -> Cue:
    """Difference of the two's speeds on the picture, arc minutes a second, at 1 m/s sideways; and its share.

    value: F v abs(1/z_A - 1/z_B). share: abs(1 - z_A / z_B). The weaker one grades. Zero for a camera
    that slides in a parallel view. None where either of the two is behind the eye or out of the picture.
    Source: Cutting and Vishton 1995. Worked: depths 8 and 11.853 m, 35 mm, 1920 px: 75.8 px/s, 61.2'/s on
    the couch, .325.
    """
    if sight.camera.parallel:
        return replace(none_of("parallax"), share=0.0)
    near, far = depths(sight.camera, [pair.a.foot_m, pair.b.foot_m]).tolist()
    px_per_s = focal_px(sight.record) * SPEED_MPS * abs(1.0 / near - 1.0 / far)
    value, share = px_per_s * sight.seat.arcmin_per_px, abs(1.0 - near / far)
    rule = CUE_RULES["parallax"]
    both = weaker(grade(value, rule.least, sight.factor), grade(share, PARALLAX_SHARE, sight.factor))
    return Cue(value, both, rule.gives, share)


def parallax_mark(sight: Sight, pair: Pair) -> Points:
    """Where both feet are, and where they slide to in a moment: (4, 2), first one's, second one's."""
    feet = np.array([pair.a.foot_m, pair.b.foot_m])
    moved = feet - SPEED_MPS * MOMENT_S * sight.camera.right
    before, after = project_points(sight.camera, feet), project_points(sight.camera, moved)
    return np.array([before[0], after[0], before[1], after[1]])
