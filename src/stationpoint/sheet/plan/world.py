"""The world's level axes in a corner of the plan: which way x and −z run."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK
from stationpoint.base.words import MINUS
from stationpoint.ink import Line, Shape, arrow_head, cap_height_px, text_shape, text_width
from stationpoint.sheet.plan.frame import Words
from stationpoint.sheet.plan.names import off_ring_px
from stationpoint.sheet.scale import Scale

Points = NDArray[np.float64]
ARM_PX, HEAD_PX, APART_PX = 24.0, 7.0, 4.0


def world_arrows(x_way: tuple[float, float], words: Words, rings: Sequence[Points]) -> list[Shape]:
    """Two short arrows with their names in the first corner of the plan that has room beside
    the targets' outlines (`rings`), lower right first;
    none where no corner has. x_way: the world's x, along and across; −z is a quarter turn to its left."""
    scale: Scale = words.scale
    size = scale.page_type(14)
    ways = {"x": np.array(x_way), f"{MINUS}z": np.array([x_way[1], -x_way[0]])}
    half_px = np.array([text_width(f"{MINUS}z", size, "semibold"), cap_height_px(size)]) / 2
    names = {
        name: way * (ARM_PX + APART_PX) + way * half_px + np.sign(way) * 1.0 for name, way in ways.items()
    }
    spots = np.array([(0.0, 0.0), *names.values()])
    low, high = spots.min(axis=0) - half_px - APART_PX, spots.max(axis=0) + half_px + APART_PX
    width, height = words.size
    for right, bottom in ((True, True), (False, True), (False, False), (True, False)):
        at = np.array(
            [width - high[0] - 4 if right else 4 - low[0], height - high[1] - 4 if bottom else 4 - low[1]]
        )
        box = (float(at[0] + low[0]), float(at[1] + low[1]), float(at[0] + high[0]), float(at[1] + high[1]))
        if not words.free(box) or any(off_ring_px(box, ring) < 2.0 for ring in rings):
            continue
        words.occupy(box)
        shapes: list[Shape] = []
        for name, way in ways.items():
            tip = at + way * ARM_PX
            ends = np.array([at, tip - way * HEAD_PX * 0.8])
            shapes.append(Line(ends, scale.line(1.5), INK, scale.halo))
            ahead = (float(way[0]), float(way[1]))
            shapes.append(arrow_head((float(tip[0]), float(tip[1])), ahead, HEAD_PX, HEAD_PX, INK))
            x, y = at + names[name]
            spot = (float(x), float(y) + float(half_px[1]))
            shapes.append(
                text_shape(spot, name, size, "semibold", INK, halo=scale.type_halo, anchor="middle")
            )
        return shapes
    return []
