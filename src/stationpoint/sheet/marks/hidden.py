"""Words on the picture where there is little to see: what the camera stands in, what blocks the boom, by how
much each subject is hidden and by what, or what fills the picture."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.words import number
from stationpoint.ink import Box, Shape, wrap_text
from stationpoint.readings import LEAST_SUBJECT_SEEN, Path
from stationpoint.sheet.marks.drawing import Drawing, Entry, Label, Row, padded, set_label
from stationpoint.sheet.scale import Scale
from stationpoint.sheet.wording import BETWEEN, boom_words, shares_of

Vector = NDArray[np.float64]

NAME, LAYER = "hidden", 90
WIDE_SHARE = 0.6
STEPS = 12  # places tried across, and down


def draw(look: Drawing) -> list[Shape]:
    """A label for the player's own subject or the camera, and one for each further subject that cannot be
    seen, each as near to it as there is room."""
    shapes: list[Shape] = []
    for words, at in [(picture_words(look), _spot(look)), *_of_others(look)]:
        if words:
            shapes += _label(look, words, at)
    return shapes


def _label(look: Drawing, words: str, at: Vector) -> list[Shape]:
    px = look.scale.type(15)
    rows: list[Row] = [
        (line, px, "bold") for line in wrap_text(words, px, "bold", WIDE_SHARE * look.size_px[0], 3)
    ]
    those = Label(tuple(rows))
    box = _nearest_free(look, those, at)
    look.space.occupy(padded(box, 4))
    return list(set_label(those, box, look.scale))


def picture_words(look: Drawing) -> str:
    """The first of those that there is a reason for, "" if there is none."""
    return hidden_words(look) or look.result.filled


def hidden_words(look: Drawing) -> str:
    """Such as "hopper 98 % hidden by bookcase", "camera inside wall", "pulled to 3.06 m", or "wall stands
    between: hopper 98 % hidden"; "" where all is clear, or the subject is not in the picture."""
    boom, hidden = boom_words(look.result, look.study), _own_hidden(look)
    if not hidden or look.result.stands:
        return boom
    if boom.endswith(BETWEEN):
        hidden = hidden.replace(f"hidden by {boom.removesuffix(BETWEEN)}", "hidden")
    return f"{boom}: {hidden}" if boom else hidden


def _own_hidden(look: Drawing) -> str:
    """What hides the player's own subject, in words; "" without one."""
    own = look.study.subject
    return "" if own is None else _hidden(look, own.name, ("subject",))


def _of_others(look: Drawing) -> Iterator[tuple[str, Vector]]:
    """What hides each further subject, in words, and where it is on the picture, pixels; nothing where the
    camera sees nothing for what it stands in."""
    for one in () if look.result.stands else look.study.others:
        at = look.value("subjects", one.name, "screen_xy")
        if isinstance(at, tuple):
            yield _hidden(look, one.name, ("subjects", one.name)), np.array(at, dtype=float) * look.size_px


def _hidden(look: Drawing, name: str, group: Path) -> str:
    """Such as "hopper 98 % hidden by bookcase"; "" where it can be seen, or is not in the picture. group: of
    its readings."""
    seen = look.value(*group, "seen")
    least = max([LEAST_SUBJECT_SEEN, *_asked(look, name, group)])
    if not isinstance(seen, float | int) or seen >= least:
        return ""
    by_share = shares_of(look.value(*group, "hidden_by"))
    if not by_share:
        return ""
    hidden, most = sum(by_share.values()), max(by_share, key=lambda name: by_share[name])
    others = ", mostly" if by_share[most] < 0.9 * hidden else ""
    return f"{name} {number(min(100.0, 100.0 * hidden), 0)} % hidden{others} by {most}"


def _asked(look: Drawing, name: str, group: Path) -> list[float]:
    """How much of a subject the brief asks to be seen."""
    readings = {".".join((*group, "seen")), f"subjects.{name}.seen", "subjects.*.seen"}
    own = [limit.min for limit in look.study.limit if limit.reading in readings]
    return [float(least) for least in own if least is not None]


def _spot(look: Drawing) -> Vector:
    """Where the label is wanted, pixels: by a subject that cannot be seen, else in the lower left corner."""
    at = look.value("framing", "subject_xy")
    unseen = look.result.stands or _own_hidden(look)
    share = (0.0, 1.0) if not unseen else at if isinstance(at, tuple) else (0.5, 0.5)
    return np.array(share, dtype=float) * look.size_px


def _nearest_free(look: Drawing, those: Label, wanted: Vector) -> Box:
    """Where the label goes: the free place nearest to that spot, else the middle of the picture."""
    width, height = look.size_px
    half = np.array([those.width, those.height]) / 2.0
    xs, ys = (np.linspace(h + 6.0, side - h - 6.0, STEPS) for h, side in zip(half, look.size_px, strict=True))
    spots = np.array([(x, y) for y in ys for x in xs])
    for x, y in spots[np.argsort(np.linalg.norm(spots - wanted, axis=1), kind="stable")]:
        box = (x - half[0], y - half[1], x + half[0], y + half[1])
        if look.space.free(padded(box, 3)):
            return box
    return (width / 2 - half[0], height / 2 - half[1], width / 2 + half[0], height / 2 + half[1])


def legend(used: set[str], scale: Scale) -> list[Entry]:
    """Nothing: it says what it is."""
    return []
