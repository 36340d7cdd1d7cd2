"""O: one of the two covers part of the other."""

from __future__ import annotations

from functools import lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import PartPx, depths
from stationpoint.readings.cues.rules import CUE_RULES, Cue, graded
from stationpoint.readings.frames.borders import Borders, Stretches, stretches, tellable_sides
from stationpoint.readings.frames.sight import Sight, part_round, table
from stationpoint.readings.things.pairs import End, Pair
from stationpoint.readings.things.things import SceneObject, node_object
from stationpoint.readings.types import Case

Points = NDArray[np.float64]

SAME_DEPTH_M = 0.01
COMPARED_PX = 3  # from a side between two pixels: the two, and those behind, whose lightness is compared


def occlusion(sight: Sight, pair: Pair, sides: Borders) -> Cue:
    """Length of the border at which one of the two, or what it stands on, covers the other, arc minutes.

    sides: all borders of the picture. Counted where depth jumps by more than 2 % and 0.05 m and L* by 5,
    untinted. What both stand on counts for neither. Misleads where for 10' or more the covering one's
    foot is the farther one. None where either of the two is behind the eye or out of the picture. Source:
    threshold common practice. Worked: a square of 100 px before a larger one, .8074' a pixel: 323'.
    """
    lengths = [float(_arcmin(sight, part).sum()) for part in covering(sight, pair, sides)]
    first, second = depths(sight.camera, [pair.a.foot_m, pair.b.foot_m]).tolist()
    wrong = 0.0
    if abs(first - second) > SAME_DEPTH_M:
        wrong = lengths[0] if first > second else lengths[1]
    least = CUE_RULES["occlusion"].least
    return graded("occlusion", sum(lengths), sight.factor, misleads=wrong >= least)


@lru_cache(maxsize=8)
def covering(sight: Sight, pair: Pair, sides: Borders) -> tuple[Stretches, Stretches]:
    """The stretches at which the first one covers the second, and the other way round."""
    a, b = (table(sight.case, _nodes(end)) for end in (pair.a, pair.b))
    shared = a & b
    a, b = a & ~shared, b & ~shared
    first, second = sides.ids.T
    straight, crossed = a[first] & b[second], b[first] & a[second]
    near = sides.chosen(straight | crossed)
    counts, first_nearer = tellable_sides(sight, near)
    near, first_nearer, is_a = near.chosen(counts), first_nearer[counts], straight[straight | crossed][counts]
    a_covers = first_nearer == is_a
    return (
        stretches(near.chosen(a_covers), first_nearer[a_covers]),
        stretches(near.chosen(~a_covers), first_nearer[~a_covers]),
    )


def border_parts(case: Case, pair: Pair) -> list[PartPx]:
    """The parts of the picture outside which no border lies at which one of the two, or what it stands on,
    covers the other, and no pixel whose lightness is compared there."""
    first, second = (
        [part_round(case.setup.camera, thing) for thing in _things(case, end, other)]
        for end, other in ((pair.a, pair.b), (pair.b, pair.a))
    )
    return [
        (
            max(0, max(a[0], b[0]) - COMPARED_PX),
            max(0, max(a[1], b[1]) - COMPARED_PX),
            min(a[2], b[2]) + COMPARED_PX,
            min(a[3], b[3]) + COMPARED_PX,
        )
        for a, b in product(first, second)
    ]


def _things(case: Case, end: End, other: End) -> list[SceneObject]:
    """The end, and what it stands on, unless they count for the other one too."""
    shared = _nodes(other)
    found = [end.thing] if end.thing is not None and {*end.own} - {*shared} else []
    if end.support is not None and end.support not in shared:
        found.append(node_object(case.scene, end.support))
    return found


def _nodes(end: End) -> tuple[str | None, ...]:
    return (*end.own, end.support)


def _arcmin(sight: Sight, part: Stretches) -> Points:
    return sight.arcmin(part.ends[0], part.ends[1]) if len(part.px) else np.zeros(1)


def occlusion_mark(sight: Sight, pair: Pair, sides: Borders) -> Points | None:
    """Spots on the border, then as many spots 1 px to the covered side of each, (2 n, 2)."""
    parts = covering(sight, pair, sides)
    px = np.vstack([part.px for part in parts])
    return np.vstack([px, px + np.vstack([part.outward for part in parts])]) if len(px) else None
