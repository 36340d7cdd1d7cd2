"""Prominence: what out-shouts what, and where the eye may land first, on the measured frame.

A ranking screen (common practice), no model of attention; see saliency.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.words import listed, plain
from stationpoint.camera import Frames, Shot, ShotKey
from stationpoint.readings.colours.frame import (
    UNCOLOURED,
    Coloured,
    colour_shots,
    coloured,
    drawn_things,
    without_frame,
)
from stationpoint.readings.colours.saliency import glances, reduced, saliency
from stationpoint.readings.frames.masks import measured_masks
from stationpoint.readings.frames.shots import target_shots
from stationpoint.readings.targets.pieces import piece_arcmin, visible_piece
from stationpoint.readings.targets.visibility import seen
from stationpoint.readings.things.things import SceneObject, and_subject, measured_objects
from stationpoint.readings.types import Case, Field, Kind, Path, Reading, Value

ROLES = ("primary", "secondary", "tertiary")
MOST_SHARE = 0.02  # of the picture, that still makes louder; the product and the cap are this program's own
SURROUNDINGS_SHARE = 0.25  # of the picture: what fills more is ranked with nothing
LEAST_SEEN, LEAST_PIECE_ARCMIN = 0.8, 16.0  # common practice; ISO 9241-3
MOST_NAMED = 2
SCREEN = "Achanta et al. 2009, times a root of its size (common practice): a ranking, no model of attention"
ORDER = ("framing", "role_order_holds")
SHOUTS = ("framing", "outshouted_by")
FIELDS = (
    *and_subject(
        (
            Field(
                ("targets", "*", "prominence"),
                "",
                5,
                "Mean saliency of its visible pixels times the root of its visible share of the picture, "
                "which counts up to 0.02.",
                SCREEN,
                f"{UNCOLOURED}; or nothing of it is visible; a bare point or box",
            ),
            Field(
                ("targets", "*", "prominence_rank"),
                "",
                0,
                "Its place among all that is ranked: targets, subject, and each other node but ground and "
                "what fills over a quarter of the picture; 1 is the loudest.",
                SCREEN,
                f"{UNCOLOURED}; or nothing of it is visible; it fills over a quarter of the picture; a bare "
                "point or box",
                plain="its place by how loud colour and size make it; 1 is the loudest",
            ),
        )
    ),
    Field(
        ORDER,
        "",
        0,
        "Whether every primary target is louder than every secondary and that than every tertiary, and of "
        "each primary 0.8 and more is seen, with a piece of 16 arcmin or more.",
        SCREEN,
        f"{UNCOLOURED}; or no target is drawn",
        holds="flag",
    ),
    Field(
        SHOUTS,
        "",
        0,
        "Nodes without a role that are louder than a primary target, the loudest first.",
        SCREEN,
        f"{UNCOLOURED}; or no primary target is drawn",
        holds="names",
    ),
    Field(
        ("framing", "first_glance"),
        "",
        0,
        "The strongest spots, at most three, of saliency blurred by one degree at the seat, at least a "
        "degree apart, the strongest first.",
        SCREEN,
        UNCOLOURED,
        parts=(
            Field(("xy",), "", 7, "Where, fractions from top-left.", holds="numbers"),
            Field(("node",), "", 0, "The node there.", null="nothing is there", holds="word"),
            Field(
                ("role",),
                "",
                0,
                "The role of the target it is of, or subject.",
                null="it has none",
                holds="word",
            ),
        ),
        holds="groups",
    ),
)


@dataclass(frozen=True, slots=True, eq=False)
class Loud:
    """One thing of the picture: a target, the subject, or a node without a role.

    prominence: None where nothing of it is visible. ranked: whether it is no surroundings.
    """

    name: str
    role: str
    path: Path
    prominence: float | None
    ranked: bool
    clear: str = field(default="")  # of a primary target: what keeps it from being clear, in words


def prominence(mean_saliency: float, share: float) -> float | None:
    """Mean saliency times the root of a share of the picture, which counts up to MOST_SHARE.

    None where nothing is visible, which has no mean. Source: Achanta et al. 2009 for the saliency; the
    product is common practice, so that not every wall wins. Worked: 76.096 over a twentieth: 10.762.
    """
    return mean_saliency * sqrt(min(share, MOST_SHARE))


def louder_than(least: float, every: Sequence[Loud]) -> list[Loud]:
    """What is ranked and louder than that, the loudest first, equals by name."""
    over = [one for one in every if one.ranked and (one.prominence or 0.0) > least]
    return sorted(over, key=lambda one: (-(one.prominence or 0.0), one.name))


def prominence_rank(mine: Loud, every: Sequence[Loud]) -> int | None:
    """One more than how many ranked things are louder.

    None for what is not visible, or surroundings. Source: common practice. Worked: 2 beside 3, 2 and 1: 2.
    """
    if not mine.ranked or mine.prominence is None:
        return None
    return 1 + len(louder_than(mine.prominence, every))


def outshouted_by(every: Sequence[Loud]) -> tuple[str, ...] | None:
    """Names of nodes without a role that are louder than a primary target, the loudest first.

    None where no primary target is drawn. Source: common practice. Worked: primaries 2 and 5, nodes 6, 3
    and 1: the first two.
    """
    primary = [one.prominence or 0.0 for one in every if one.role == "primary"]
    if not primary:
        return None
    return tuple(one.name for one in louder_than(min(primary), every) if not one.role)


def role_order_holds(every: Sequence[Loud]) -> bool | None:
    """Whether targets are as loud as their roles ask, and each primary one is clear to see.

    None where no target is drawn. What is not visible is louder than nothing. Source: common practice.
    Worked: a primary at 5, a secondary at 2, the first seen whole: true.
    """
    targets = [one for one in every if one.role in ROLES]
    return not _broken(targets) if targets else None


def _broken(targets: Sequence[Loud]) -> str:
    """What breaks the order first, in words; "" where nothing does."""
    for above, below in ((0, 1), (0, 2), (1, 2)):
        first = [one for one in targets if one.role == ROLES[above]]
        second = [one for one in targets if one.role == ROLES[below]]
        if first and second:
            quiet = min(first, key=lambda one: one.prominence or 0.0)
            loud = max(second, key=lambda one: one.prominence or 0.0)
            if (loud.prominence or 0.0) >= (quiet.prominence or 0.0):
                return f"{loud.name} ({loud.role}) out-shouts {quiet.name} ({quiet.role})"
    return next((f"{one.name} {one.clear}" for one in targets if one.clear), "")


def shout_words(names: Sequence[str], whom: str) -> str:
    """Who out-shouts whom: "stool-1, stool-2 and 3 more out-shout near table"; "" for nobody."""
    if not names:
        return ""
    rest = len(names) - MOST_NAMED
    said = listed([*names[:MOST_NAMED], *([f"{rest} more"] if rest > 0 else [])])
    return f"{said} out-shout{'s' if len(names) == 1 else ''} {whom}"


def glance_spots(case: Case, frames: Frames) -> tuple[tuple[float, float], ...]:
    """Where the eye may land first, the strongest first, (x, y) as fractions of the picture, of a frame of
    `colour_shots`; none where the level has no colours."""
    picture = coloured(case, frames)
    return () if picture is None else tuple(glances(saliency(reduced(picture.light)), picture.seat))


def first_glance(
    found: NDArray[np.float64], case: Case, picture: Coloured, roles: Mapping[str, str]
) -> tuple[Value, ...] | None:
    """The strongest spots of saliency (h, w) blurred by one degree, each with its node and its role.

    roles: by node. None where the level has no colours. Source: Achanta et al. 2009; the blur is common
    practice. Worked: one red disc on grey: its centre alone.
    """
    height, width = picture.ids.shape
    spots: list[Value] = []
    for x, y in glances(found, picture.seat):
        number = int(picture.ids[min(height - 1, int(y * height)), min(width - 1, int(x * width))])
        node = case.scene.nodes[number - 1].name if number else None
        spots.append({"xy": (x, y), "node": node, "role": roles.get(node or "")})
    return tuple(spots)


def means_by_id(found: NDArray[np.float64], picture: Coloured) -> NDArray[np.float64]:
    """Sum of saliency (h', w') over the pixels of each id of the whole picture, (nodes + 1,)."""
    (height, width), (down, across) = picture.ids.shape, found.shape
    rows, columns = np.arange(height) * down // height, np.arange(width) * across // width
    whole = found.astype(np.float32)[:, columns][rows]
    flat = picture.ids.ravel()
    return np.bincount(flat, weights=whole.ravel(), minlength=len(picture.counts)).astype(np.float64)


def _loud_things(case: Case, picture: Coloured, found: NDArray[np.float64], frames: Frames) -> list[Loud]:
    """Targets, subject and all other nodes that are visible, ground left out."""
    totals = means_by_id(found, picture)
    things = drawn_things(case)
    clear = _clarity(case, frames)
    taken = {name for thing in things for name in thing.nodes}
    rest = [
        SceneObject(node.name, "", (node.name,), None, np.zeros((0, 3)), np.zeros((0, 3)))
        for node in case.scene.nodes
        if node.name not in taken and node.kind != "ground"
    ]
    every = []
    for thing in (*things, *rest):
        ids = [case.scene.id_of(name) for name in thing.nodes]
        count = int(picture.counts[ids].sum())
        if not count and not thing.role:
            continue
        share = count / picture.pixels
        loud = prominence(float(totals[ids].sum()) / count, share) if count else None
        path = thing.path if thing.role else ()
        said = clear.get(thing.name, "") if thing.role == ROLES[0] else ""
        every.append(Loud(thing.name, thing.role, path, loud, share <= SURROUNDINGS_SHARE, said))
    return every


def _clarity(case: Case, frames: Frames) -> dict[str, str]:
    """By primary target, what keeps it from being clear to see, in words."""
    found: dict[str, str] = {}
    masks = measured_masks(case, frames).found
    for thing in drawn_things(case):
        if thing.role == ROLES[0]:
            mask = masks.get(thing.path)
            share = 0.0 if mask is None else seen(case, mask)
            piece = None if mask is None else visible_piece(mask)
            arcmin = 0.0 if piece is None else piece_arcmin(case.setup.camera, case.seats[0], piece)
            if share < LEAST_SEEN:
                found[thing.name] = f"is seen {plain(100.0 * share, 0)} %, needs {100.0 * LEAST_SEEN:g} %"
            elif arcmin < LEAST_PIECE_ARCMIN:
                found[thing.name] = (
                    f"is seen in pieces of {plain(arcmin, 1)} arcmin at most, needs {LEAST_PIECE_ARCMIN:g}"
                )
    return found


def shots(case: Case) -> dict[ShotKey, Shot]:
    """The measured frame, and the silhouettes of targets."""
    drawn = colour_shots(case)
    return {**drawn, **target_shots(case)} if drawn else {}


def read(case: Case, frames: Frames) -> Reading:
    """All targets, the subject, and the picture as a whole; in causes, why roles are out of order."""
    picture = coloured(case, frames)
    values: dict[Path, Value] = {
        (*thing.path, key): None
        for thing in measured_objects(case)
        for key in ("prominence", "prominence_rank")
    }
    values.update({ORDER: None, SHOUTS: None, ("framing", "first_glance"): None})
    if picture is None:
        return without_frame(values)
    found = saliency(reduced(picture.light))
    every = _loud_things(case, picture, found, frames)
    for one in every:
        if one.path:
            values[*one.path, "prominence"] = one.prominence
            values[*one.path, "prominence_rank"] = prominence_rank(one, every)
    over = outshouted_by(every)
    roles = {name: thing.role for thing in reversed(drawn_things(case)) for name in thing.nodes}
    values[ORDER], values[SHOUTS] = role_order_holds(every), over
    values["framing", "first_glance"] = first_glance(found, case, picture, roles)
    return Reading(values, causes=_causes(every))


def _causes(every: Sequence[Loud]) -> dict[Path, str]:
    """Why a reading is as it is, in words, where a brief may mind."""
    causes: dict[Path, str] = {ORDER: _broken([one for one in every if one.role in ROLES])}
    for one in every:
        if one.path:
            louder = [other.name for other in louder_than(one.prominence or 0.0, every)]
            said = shout_words(louder, one.name) if one.ranked else "it fills over a quarter of the picture"
            causes[*one.path, "prominence_rank"] = (
                "nothing of it is visible" if one.prominence is None else said
            )
    primary = [one for one in every if one.role == ROLES[0]]
    if primary:
        quiet = min(primary, key=lambda one: one.prominence or 0.0)
        causes[SHOUTS] = shout_words(outshouted_by(every) or (), quiet.name)
    return {path: said for path, said in causes.items() if said}


KIND = Kind("prominence", FIELDS, read, shots, costly=True)
