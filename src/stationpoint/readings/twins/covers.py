"""O for twins: whether who covers whom changes between a target and what stays where it is."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, Frame, arcmin_between
from stationpoint.readings.cues.rules import CUE_RULES
from stationpoint.readings.frames.borders import borders, stretches, tellable_sides
from stationpoint.readings.frames.drawn import Box
from stationpoint.readings.frames.masks import present_plane
from stationpoint.readings.frames.sight import Sight, table
from stationpoint.readings.things.steps import record_camera
from stationpoint.readings.twins.cues import Anchor
from stationpoint.readings.types import Case

Points = NDArray[np.float64]


def covers_change(
    case: Case,
    camera: Camera,
    box_px: Box,
    frames: tuple[Frame, Frame],
    moving: tuple[str, ...],
    anchors: Iterable[Anchor],
) -> float:
    """The greatest change of the borders at which a target covers an anchor, or the other way round, in
    thresholds of occlusion; 0 where who covers whom stays as it is.

    camera: the window's; box_px: what it shows, pixels of the cell; frames: as it is, and the twin.
    Occlusion gives order alone, so that a border that only grows or shrinks tells nothing. Worked: a
    post before the target, 40' of border, behind it for the twin: 4.
    """
    every = tuple(anchors)
    if not every:
        return 0.0
    least = CUE_RULES["occlusion"].least
    both = [_lengths(case, camera, box_px, frame, moving, every) for frame in frames]
    most = 0.0
    for here, there_ in zip(*both, strict=True):
        before, after = (tuple(length >= least for length in lengths) for lengths in (here, there_))
        if before != after:
            most = max(most, *(abs(a - b) / least for a, b in zip(here, there_, strict=True)))
    return most


def _lengths(
    case: Case,
    camera: Camera,
    box_px: Box,
    frame: Frame,
    moving: tuple[str, ...],
    anchors: tuple[Anchor, ...],
) -> list[tuple[float, float]]:
    """For each anchor the border at which it is covered by what moves, and covers it, arc minutes."""
    assert frame.colour is not None
    ids = present_plane(frame.ids)
    seat = case.seats[0]
    scale = np.asarray(seat.picture_px) / case.setup.camera.pixels
    window = Sight(
        case,
        camera,
        record_camera(case),
        seat,
        scale,
        ids,
        present_plane(frame.depth_m),
        np.zeros(0, np.intp),
        frame.colour, {},
    )  # fmt: skip
    sides = borders(ids)
    first, second = sides.ids.T
    mine = table(case, moving)
    step = np.array([(box_px[2] - box_px[0]) / ids.shape[1], (box_px[3] - box_px[1]) / ids.shape[0]])
    found = []
    for anchor in anchors:
        other = table(case, anchor.nodes)
        straight, crossed = mine[first] & other[second], other[first] & mine[second]
        near = sides.chosen(straight | crossed)
        counts, first_nearer = tellable_sides(window, near)
        is_mine = straight[straight | crossed]
        lengths = []
        for covers in (first_nearer == is_mine, first_nearer != is_mine):
            part = stretches(near.chosen(counts & covers), first_nearer[counts & covers])
            ends = (part.ends * step + box_px[:2]) * scale
            lengths.append(float(arcmin_between(seat, ends[0], ends[1]).sum()) if len(part.px) else 0.0)
        found.append((lengths[0], lengths[1]))
    return found
