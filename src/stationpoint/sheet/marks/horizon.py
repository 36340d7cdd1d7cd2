"""The horizon: where things at the camera's height lie, drawn where sky or far ground is open."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.plane import clipped
from stationpoint.base.look import INK
from stationpoint.ink import Line, Shape
from stationpoint.readings import CUE_RULES
from stationpoint.sheet.cues import grade_of
from stationpoint.sheet.marks.cue import pair_of
from stationpoint.sheet.marks.drawing import Drawing, Entry, graded_line, label, padded, set_label
from stationpoint.sheet.marks.edge import EDGE_PX, off_arrow
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = "horizon", 10, "horizon"
FAR_M = 60.0  # ground from here on counts as far
LEAST_RUN_PX = 24.0


def draw(look: Drawing) -> list[Shape]:
    """The dashed line and its word, or an arrow at the edge that it lies beyond."""
    ends = look.extra("horizon")
    if ends is None or len(ends) < 2:
        return []
    inside = clipped(ends[0], ends[1], look.size_px, endless=True)
    if inside is None:
        return _outside(look, ends)
    shapes: list[Shape] = []
    runs = _open_runs(look, *sorted(inside, key=lambda end: float(end[0])))
    grade = grade_of(look.result, pair_of(look), CUE_RULES[CUE])
    for p, q in runs:
        shapes.append(stroke(p, q, look.scale, grade))
        look.space.take_line(p, q)
    if not runs:
        return []
    look.used.add("horizon")
    return shapes + _word(look, runs)


def stroke(p: NDArray[np.float64], q: NDArray[np.float64], scale: Scale, grade: str = "reads") -> Line:
    """The horizon's own line style, dash 14 3 2 3; as other cues' where it is weak or misleads."""
    if grade == "weak":
        return graded_line(np.array([p, q]), scale.line(1.25), "weak", scale)
    if grade == "misleads":
        return graded_line(np.array([p, q]), scale.line(1.25), "misleads", scale)
    dash = tuple(scale.long(v) for v in (14, 3, 2, 3))
    return Line(np.array([p, q]), scale.line(1.25), INK, scale.halo, dash, round_ends=False)


def _open_runs(
    look: Drawing, p: NDArray[np.float64], q: NDArray[np.float64]
) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """The stretches of the line with sky or far ground behind them; the whole line without depth."""
    count = max(2, int(np.hypot(*(q - p))))
    way = p + (q - p) * np.linspace(0.0, 1.0, count)[:, None]
    ids = look.result.ids
    if ids is None:
        return [(p, q)]
    width, height = look.size_px
    columns = np.clip(way[:, 0].astype(int), 0, width - 1)
    above = np.clip(way[:, 1].astype(int) - 1, 0, height - 1)
    sky = ids[above, columns] == 0
    if look.result.depth_m is not None:
        sky |= look.result.depth_m[above, columns] > FAR_M
    edges = np.flatnonzero(np.diff(np.concatenate([[False], sky, [False]]).astype(np.int8)))
    least = look.scale.long(LEAST_RUN_PX)
    return [(way[a], way[b - 1]) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= least]


def _word(look: Drawing, runs: list[tuple[NDArray[np.float64], NDArray[np.float64]]]) -> list[Shape]:
    """The word at the right end of the rightmost stretch that has room, under the line near the top."""
    those = label("horizon", look.scale, look.size_px[0] / 2)
    w, h, gap = those.width, those.height, look.scale.long(6)
    tries = [(p, q, beside) for beside in (True, False) for p, q in reversed(runs)]
    for p, q, beside in tries:
        right = min(float(q[0]), look.size_px[0] - look.scale.long(8))
        for x in (right - w, float(p[0]) + gap, (p[0] + q[0]) / 2 - w / 2):
            share = (x + w / 2 - p[0]) / max(1e-9, q[0] - p[0])
            y = float(p[1] + (q[1] - p[1]) * min(max(share, 0.0), 1.0))
            tops = (y - gap - h, y + gap) if y > h + 3 * gap else (y + gap, y - gap - h)
            for top in tops:
                box = (float(x), top, float(x) + w, top + h)
                if look.space.inside(box, 3) and look.space.free(padded(box, 2), beside):
                    look.space.occupy(padded(box, 4))
                    return list(set_label(those, box, look.scale))
    return []


def _outside(look: Drawing, ends: NDArray[np.float64]) -> list[Shape]:
    """An arrow at the top or bottom edge, near the right, with the word."""
    width, height = look.size_px
    across = ends[np.argsort(ends[:, 0])]
    middle = float(np.interp(width / 2, across[:, 0], across[:, 1]))
    up = middle < height / 2
    those = label("horizon", look.scale, width / 2)
    scale = look.scale
    w, h, edge = those.width, those.height, scale.long(EDGE_PX)
    shares = (0.78, 0.62, 0.46, 0.3, 0.14)
    for share, beside in [(share, beside) for beside in (True, False) for share in shares]:
        x = width * share
        y = edge if up else height - edge
        top = edge if up else height - edge - h
        box = (x + scale.long(11), top, x + scale.long(11) + w, top + h)
        whole = (x - scale.long(7), top, box[2], top + h)
        if look.space.inside(whole, 2) and look.space.free(padded(whole, 2), beside):
            look.space.occupy(padded(whole, 4))
            look.used.add("off")
            arrow = off_arrow((x, y), (0.0, -1.0 if up else 1.0), scale)
            return [*arrow, *set_label(those, box, scale)]
    return []


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """The line in small."""
    if "horizon" not in used:
        return []
    return [((stroke(np.array([0.0, 10.0]), np.array([56.0, 10.0]), scale),), "horizon, camera's height")]


def icon(scale: Scale) -> list[Shape]:
    """The line in small, as the cue Z."""
    return [stroke(np.array([6.0, 10.0]), np.array([50.0, 10.0]), scale)]
