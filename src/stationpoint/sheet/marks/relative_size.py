"""Cue S, relative size: posts of one length at both ends, so that the eye compares their lengths."""

from __future__ import annotations

import numpy as np

from stationpoint.base.geometry.pixels import ends
from stationpoint.base.look import INK
from stationpoint.ink import Line, Shape
from stationpoint.sheet.marks.cue import NAME_OF_ALL, Points, cues_shown, pair_of, place_tag, positions
from stationpoint.sheet.marks.drawing import Drawing, Grade, graded_line
from stationpoint.sheet.marks.free_space import BLOCK
from stationpoint.sheet.marks.gap import own_rail_first
from stationpoint.sheet.scale import Scale

NAME, LAYER, CUE = NAME_OF_ALL, 44, "relative_size"
TOP, BESIDE = 8.0, 10.0  # half the width of a post's top; from a thing to a post beside it, px
MOST_COVERED = 0.4  # of a post, by the subject


def draw(look: Drawing) -> list[Shape]:
    """Posts at both ends of the gap's line (at the pair's feet without a gap), T-shaped at the top.

    Positions: foot and top of a post at the one end, then at the other.
    """
    at = positions(look, CUE)
    if at is None or len(at) < 4:
        return []
    kind, _, name = pair_of(look).partition(":")
    if kind == "target" and look.value("targets", name, "seen") == 0:
        return []  # a post where nothing is seen compares with nothing
    if kind == "gap":
        tries = [(rail.start, rail.end) for rail in own_rail_first(look, name)] or [(at[0], at[2])]
    else:
        boxes = (_subject_box(look), look.extra("size", name))
        pairs = [_beside(foot, own, look.scale) for foot, own in zip((at[0], at[2]), boxes, strict=True)]
        tries = [(one, other) for one in pairs[0] for other in pairs[1]]
    for side, feet in enumerate(tries):
        if look.sides.get(CUE, side) != side:
            continue  # the posts of another cell stand on another side
        found = _posts(look, feet, (at[1] - at[0], at[3] - at[2]))
        if found:
            look.sides[CUE] = side
            return found
    return []


def _subject_box(look: Drawing) -> Points | None:
    """The box round the subject, (2, 2) px, None where it is not in the picture."""
    if not look.space.subject.any():
        return None
    (top, bottom), (left, right) = ends(look.space.subject)
    return np.array([(left, top), (right, bottom)], dtype=float) * BLOCK


def _beside(foot: Points, own: Points | None, scale: Scale) -> list[Points]:
    """Where a post can stand at a foot's depth without covering what stands there: right and left of it."""
    if own is None:
        return [foot]
    off = scale.long(BESIDE)
    return [
        np.array([float(own[:, 0].max()) + off, foot[1]]),
        np.array([float(own[:, 0].min()) - off, foot[1]]),
    ]


def _posts(look: Drawing, feet: tuple[Points, Points], ups: tuple[Points, Points]) -> list[Shape]:
    """Both posts on their feet, none where they would hide a false border or the subject hides one.
    ups: what a post's length upwards is there, (2,) px."""
    posts = [np.array([foot, foot + up]) for foot, up in zip(feet, ups, strict=True)]
    if cues_shown(look)[CUE] != "misleads" and any(_unclear(look, line) for line in posts):
        return []
    grade = cues_shown(look)[CUE]
    shapes = [shape for line in posts for shape in post(line, grade, look.scale)]
    above = np.array([0.0, -look.scale.long(14)])
    spots = [line[1] + above for line in posts]
    aside = np.array([look.scale.long(15), 0.0])
    spots += [line.mean(axis=0) + side * aside for line in posts for side in (-1.0, 1.0)]
    return place_tag(look, CUE, [(line[0], line[1]) for line in posts], shapes, spots)


def _unclear(look: Drawing, line: Points) -> bool:
    """Whether a post would hide a false border, or the subject much of the post."""
    covered = look.space.subject[look.space.along(line[0], line[1])]
    return look.space.over_stitches(line[0], line[1]) or float(covered.sum()) > MOST_COVERED * len(covered)


def post(line: Points, grade: Grade, scale: Scale) -> list[Shape]:
    """An upright with a short bar on its top."""
    arm = np.array([scale.long(TOP), 0.0])
    top = Line(np.array([line[1] - arm, line[1] + arm]), scale.line(1.6), INK, scale.halo)
    return [graded_line(line, scale.line(1.6), grade, scale), top]


def icon(scale: Scale) -> list[Shape]:
    """A tall post and a short one."""
    line = scale.line(1.4)
    shapes: list[Shape] = []
    for x, top, half in ((17.0, 2.0, 6.0), (38.0, 7.0, 4.0)):
        shapes.append(Line(((x, 18.0), (x, top)), line, INK))
        shapes.append(Line(((x - half, top), (x + half, top)), line, INK))
    return shapes
