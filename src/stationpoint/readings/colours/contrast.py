"""Contrast: a target's colour along its visible outline, against what is beside it."""

from __future__ import annotations

from math import ceil

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import contrast_ratio, lightness, luminance_of_light
from stationpoint.base.colour_difference import difference_2000, lab, with_deficiency
from stationpoint.base.geometry.order import distinct
from stationpoint.base.geometry.pixels import Mask, filled, hull_of_runs, pieces
from stationpoint.camera import Frames
from stationpoint.readings.colours.frame import (
    UNCOLOURED,
    Coloured,
    colour_shots,
    coloured,
    drawn_things,
    without_frame,
)
from stationpoint.readings.frames.drawn import outline_on_picture
from stationpoint.readings.frames.sight import table
from stationpoint.readings.targets.pieces import Piece, piece_arcmin
from stationpoint.readings.things.things import SceneObject, and_subject, measured_objects
from stationpoint.readings.types import Case, Field, Kind, Path, Reading, Value

Colour = NDArray[np.float64]

BAND_ARCMIN, LEAST_BAND_PX = 2.0, 3.0
LEAST_PIECE_ARCMIN = 16.0  # ISO 9241-3: the least height of a sign that is to be read
MOST_PIECES = 16  # the largest ones

NULL = f"{UNCOLOURED}; or nothing of it is visible beside anything but other targets; a bare point or box"
BETWEEN = (
    "between the mean colours of a band inside and one outside its visible outline, 2 arcmin wide, "
    "3 px at least"
)
MACHADO = "CIE 142-2001; Machado, Oliveira and Fernandes 2009, severity 1"


def _field(name: str, says: str, source: str) -> Field:
    return Field(("targets", "*", "contrast", name), "", 5, says, source, NULL)


FIELDS = (
    _field(
        "ratio", f"Contrast ratio {BETWEEN}; of several pieces of 16 arcmin and more the worst.", "WCAG 2"
    ),
    _field("delta_l", "The same as a difference in CIE L*.", "CIE 15"),
    _field("delta_e", "The same as a difference in colour, CIEDE2000.", "CIE 142-2001"),
    _field("protan", "The same for eyes without red cones, CIEDE2000.", MACHADO),
    _field("deutan", "The same for eyes without green cones, CIEDE2000.", MACHADO),
    _field("tritan", "The same for eyes without blue cones, CIEDE2000.", MACHADO),
)


def ratio(inside: Colour, outside: Colour) -> float | None:
    """Contrast ratio 1..21 between two linear colours (3,).

    None of a target that has no outline to look along (NULL). Source: WCAG 2. Worked: #777777 before
    white: 4.47809.
    """
    return float(contrast_ratio(luminance_of_light(inside), luminance_of_light(outside)))


def delta_l(inside: Colour, outside: Colour) -> float | None:
    """Difference in CIE L*, 0..100, between two linear colours (3,).

    None as for the ratio. Source: CIE 15 (1976). Worked: linear .18 before black: 49.496.
    """
    first, second = lightness(luminance_of_light([inside, outside]))
    return float(abs(first - second))


def delta_e(inside: Colour, outside: Colour) -> float | None:
    """Difference in colour, CIEDE2000, between two linear colours (3,).

    None as for the ratio. Source: CIE 142-2001. Worked: #808080 before #818181: .3778.
    """
    return float(difference_2000(lab(inside), lab(outside)))


def protan(inside: Colour, outside: Colour) -> float | None:
    """CIEDE2000 between two linear colours (3,) for eyes without red cones.

    None as for the ratio. Source: Machado, Oliveira and Fernandes 2009, severity 1. Worked: two greys
    differ as in `delta_e`.
    """
    return delta_e(with_deficiency(inside, "protan"), with_deficiency(outside, "protan"))


def deutan(inside: Colour, outside: Colour) -> float | None:
    """CIEDE2000 between two linear colours (3,) for eyes without green cones.

    None as for the ratio. Source: Machado, Oliveira and Fernandes 2009, severity 1. Worked: two greys
    differ as in `delta_e`.
    """
    return delta_e(with_deficiency(inside, "deutan"), with_deficiency(outside, "deutan"))


def tritan(inside: Colour, outside: Colour) -> float | None:
    """CIEDE2000 between two linear colours (3,) for eyes without blue cones.

    None as for the ratio. Source: Machado, Oliveira and Fernandes 2009, severity 1. Worked: two greys
    differ as in `delta_e`.
    """
    return delta_e(with_deficiency(inside, "tritan"), with_deficiency(outside, "tritan"))


MEASURES = {each.__name__: each for each in (ratio, delta_l, delta_e, protan, deutan, tritan)}


def band_px(arcmin_per_px: float) -> float:
    """Width of the bands, pixels. Worked: a desk's 1.58' a pixel: 3; a phone's .5': 4."""
    return max(LEAST_BAND_PX, BAND_ARCMIN / arcmin_per_px)


def bands(piece: Mask, own: Mask, others: Mask, width_px: float) -> tuple[Mask, Mask]:
    """Pixels (h, w) of a band inside and one outside a piece's outline.

    own: what shows the target, all pieces. others: what shows other targets, which neither band borders on
    or lies in. The picture's edge is no outline. A pixel is in a band if its centre is within the width of
    the centre of one across the outline. Worked: a square of 20 pixels, 3 wide: 20^2 - 14^2 = 204 inside.
    """
    reach = ceil(width_px)
    frame = [(reach, reach)] * 2
    piece_in, own_in = np.pad(piece, frame), np.pad(own, frame)
    free = np.pad(~others, frame) & ~own_in  # where an outside may be
    row = piece_in.shape[1]
    flat, open_ = piece_in.ravel(), free.ravel()
    at = np.flatnonzero(flat)
    near, far = [], []
    for step in (1, -1, row, -row):
        across = at[open_[at + step]]
        near.append(across)
        far.append(across + step)
    offsets = [
        y * row + x
        for y in range(-reach, reach + 1)
        for x in range(-reach, reach + 1)
        if 0 < x * x + y * y <= width_px * width_px
    ]
    found = []
    for border, within in ((distinct(np.concatenate(far)), flat), (distinct(np.concatenate(near)), open_)):
        reached = np.zeros(flat.size, dtype=bool)
        for offset in offsets:
            reached[border + offset] = True
        found.append((reached & within).reshape(piece_in.shape)[reach:-reach, reach:-reach])
    return found[0], found[1]


def band_colours(case: Case, picture: Coloured, thing: SceneObject) -> tuple[Colour, Colour] | None:
    """Mean linear colours inside and outside a thing's outline, of its worst piece; None where there is
    none."""
    width_px = band_px(picture.seat.arcmin_per_px)
    rows, columns = _box(case, picture, thing, ceil(width_px) + 1)
    ids, light = picture.ids[rows, columns], picture.light[rows, columns]
    own = table(case, thing.nodes)[ids]
    targets = [each for each in measured_objects(case) if each.path[0] == "targets"]
    rest = [node for each in targets for node in each.nodes if node not in thing.nodes]
    others = table(case, rest)[ids]
    found: list[tuple[float, tuple[Colour, Colour]]] = []
    large = 0
    for runs in pieces(own, MOST_PIECES):
        hull = hull_of_runs(*runs) + np.array([columns.start, rows.start])
        is_large = (
            piece_arcmin(picture.camera, picture.seat, Piece(hull, hull[0], False)) >= LEAST_PIECE_ARCMIN
        )
        if found and not is_large:
            continue
        inside, outside = bands(filled(runs, own.shape), own, others, width_px)
        if not inside.any() or not outside.any():
            continue
        if is_large and not large:
            found.clear()  # of small pieces the largest counts, where there is no large one
        large += is_large
        both = tuple(light[band].mean(axis=0, dtype=np.float64) for band in (inside, outside))
        found.append((float(contrast_ratio(*luminance_of_light(both))), (both[0], both[1])))
    return min(found, key=lambda one: one[0])[1] if found else None


def _box(case: Case, picture: Coloured, thing: SceneObject, margin: int) -> tuple[slice, slice]:
    """Rows and columns round all that may show a thing."""
    height, width = picture.ids.shape
    box = outline_on_picture(picture.camera, thing).box_px
    if box is None:
        return slice(0, height), slice(0, width)
    left, top = (max(0, min(end, int(at) - margin)) for at, end in zip(box[:2], (width, height), strict=True))
    right, bottom = (
        max(0, min(end, ceil(at) + margin)) for at, end in zip(box[2:], (width, height), strict=True)
    )
    return slice(top, max(top, bottom)), slice(left, max(left, right))


def read(case: Case, frames: Frames) -> Reading:
    """All targets and the subject."""
    picture = coloured(case, frames)
    drawn = drawn_things(case)
    values: dict[Path, Value] = {}
    for thing in measured_objects(case):
        found = None if picture is None or thing not in drawn else band_colours(case, picture, thing)
        for name, measure in MEASURES.items():
            values[*thing.path, "contrast", name] = None if found is None else measure(*found)
    return without_frame(values) if picture is None else Reading(values)


KIND = Kind("contrast", and_subject(FIELDS), read, colour_shots, costly=True)
