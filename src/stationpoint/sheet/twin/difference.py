"""Where picture and twin differ, as a picture: hatched where another thing is drawn, dotted where the light
is another, all else pale."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import INK, WHITE
from stationpoint.readings import Result

STEP_PX, LINE_PX, DOT_PX = 10, 3, 4  # at a close-up's width
OTHER_SHADE = 6  # of 255 in any channel, about 2 in L*
FADED = 0.3  # what of the picture's own contrast is left where nothing differs
SAYS = "hatched: another thing is drawn there; dotted: lit otherwise; pale: the same"
Bits = NDArray[np.bool_]


def changed(built: Result, twin: Result) -> tuple[Bits, Bits]:
    """Two (h, w) masks: where another thing is drawn, and where the same thing has another shade."""
    assert built.picture is not None
    assert twin.picture is not None
    apart = np.abs(built.picture.astype(np.int16) - twin.picture.astype(np.int16)).max(axis=2)
    if built.ids is None or twin.ids is None:
        return np.zeros(apart.shape, dtype=bool), apart > OTHER_SHADE
    things: Bits = built.ids != twin.ids
    return things, (apart > OTHER_SHADE) & ~things


def difference_picture(built: Result, twin: Result, long: float) -> NDArray[np.uint8]:
    """The picture as built, pale and grey, with what differs over it, (h, w, 3). long: scale of the hatch."""
    assert built.picture is not None
    things, shades = changed(built, twin)
    grey = built.picture.astype(np.float64).mean(axis=2, keepdims=True)
    pale = np.array(WHITE) * (1.0 - FADED) + grey * FADED
    rows, columns = np.mgrid[0 : grey.shape[0], 0 : grey.shape[1]]
    step, line, dot = (max(2, round(px * long)) for px in (STEP_PX, LINE_PX, DOT_PX))
    hatch = (rows + columns) % step < line
    dots = (rows % step < dot) & ((columns + step // 2 * (rows // step % 2)) % step < dot)
    pale[things | shades] = WHITE
    pale[(things & hatch) | (shades & dots)] = INK
    drawn: NDArray[np.uint8] = np.round(pale).astype(np.uint8)
    return drawn
