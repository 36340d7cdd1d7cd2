"""The boom: how far a sphere gets from anchor to camera, what holds the eye, what the near plane cuts.

Perspective views alone have an eye that a boom could carry.
"""

from __future__ import annotations

from dataclasses import replace
from math import hypot
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.camera import Camera, Frames, Setup, pulled_in, unproject_pixels
from stationpoint.readings.things.things import subject_nodes
from stationpoint.readings.types import SHARE, Case, Field, Kind, Path, Reading, Value
from stationpoint.scene import Scene, first_touch, may_be_within, rectangle_cuts, solids_round

Vector = NDArray[np.float64]

NO_BOOM = "the view is parallel, or the anchor is not in front of a camera from a file"
CANNOT_SAY = "cannot say"
LEAST_M = 1e-6  # a shorter boom is none
FIELDS = (
    Field(
        ("boom", "clear_m"),
        "m",
        5,
        "From the anchor towards the camera as asked for, how far a sphere round the corners of the near "
        "plane gets before it touches a face of anything but the subject and what `passes` names.",
        null=NO_BOOM,
    ),
    Field(("boom", "clear_share"), SHARE, 5, "That over the length of the boom.", null=NO_BOOM),
    Field(
        ("boom", "blocked_by"),
        "",
        0,
        "Name of the node that the sphere touches first.",
        null=f"it touches none; {NO_BOOM}",
        holds="word",
    ),
    Field(
        ("boom", "inside"),
        "",
        0,
        "Name of the closed solid that the camera is within, one that does not hold the anchor too before "
        'others; false in none; "cannot say" among the faces of an open mesh.',
        null="the view is parallel",
        holds="word or false",
    ),
    Field(
        ("boom", "near_cuts"),
        "",
        0,
        "Whether the near plane's part in the picture crosses a face.",
        holds="flag",
    ),
    Field(
        ("boom", "pulled_to_m"),
        "m",
        5,
        "From the anchor to the camera, where it was pulled in along the boom.",
        null="it stands where it was asked to",
    ),
)


class Boom(NamedTuple):
    """A boom as asked for: its length, how far it is clear, metres, and the node that ends that, if any."""

    long_m: float
    free_m: float
    met: str | None


def boom_of(case: Case) -> Boom | None:
    """The boom of a case, before anything is pulled in; None where there is none.

    It goes straight from the anchor to the eye, offset or not. What `passes` names is looked past, and the
    subjects' nodes.
    """
    setup = case.setup
    if setup.camera.parallel or setup.distance_m is None:
        return None
    eye = np.array(setup.camera.eye_m if setup.asked_eye_m is None else setup.asked_eye_m)
    long_m = float(np.linalg.norm(eye - setup.anchor_m))
    if long_m < LEAST_M:
        return None
    passed = {name for pattern in case.variant.camera.passes for name in case.scene.matching(pattern)}
    but = passed | subject_nodes(case)
    return Boom(long_m, *first_touch(case.scene, setup.anchor_m, eye, probe_radius_m(setup.camera), but))


def probe_radius_m(camera: Camera) -> float:
    """From the eye to the corners of the near plane, metres: near sqrt(1 + tan2(h / 2) + tan2(v / 2)).

    A shifted lens counts as one that is not. Source: geometry. Worked: .1 m, 70 degrees, 16:9: .1283.
    """
    return camera.near_m * hypot(1.0, 1.0 / camera.projection[0, 0], 1.0 / camera.projection[1, 1])


def clear_m(boom: Boom | None) -> float | None:
    """How far the sphere's centre gets from the anchor, metres, at most to the eye; None without a boom.

    Source: geometry. Worked: 5 m, pitch 20, 70 degrees at 16:9, near .1, a wall 3 m behind: 3.056.
    """
    return None if boom is None else min(boom.free_m, boom.long_m)


def clear_share(boom: Boom | None) -> float | None:
    """Share of the boom that is clear; None without a boom. Source: definition. Worked: 3.056 of 5: .611."""
    return None if boom is None else min(boom.free_m / boom.long_m, 1.0)


def blocked_by(boom: Boom | None) -> str | None:
    """Name of the node that is touched first; None where the boom is clear, or there is none.

    Source: definition. Worked: "wall-back".
    """
    return None if boom is None else boom.met


def inside(camera: Camera, anchor_m: Vector, scene: Scene) -> str | bool | None:
    """Name of the closed solid that the eye is within, else False, or "cannot say"; None in parallel views.

    Of several, the first in scene order that does not hold the anchor too, as a room's shell does. An open
    mesh whose bounds hold the eye is said to be nothing only if each of three rays crosses an even number of
    its faces. Source: definition; a closed solid by its winding number round the eye. Worked: eye at
    (0, 1.6, 8), a wall 4 x 4 x 1 m there: the wall.
    """
    if camera.parallel:
        return None
    return solid_round(camera, anchor_m, scene) or (
        CANNOT_SAY if may_be_within(scene, camera.eye_m) else False
    )


def solid_round(camera: Camera, anchor_m: Vector, scene: Scene) -> str | None:
    """Name of the closed solid that the eye is within, as `inside` says; None in none."""
    held = solids_round(scene, _point(camera.eye_m))
    if not held:
        return None
    shells = solids_round(scene, _point(anchor_m))
    return next((name for name in held if name not in shells), held[0])


def _point(at: Vector) -> tuple[float, float, float]:
    x, y, z = (float(one) for one in at)
    return x, y, z


def near_cuts(camera: Camera, scene: Scene) -> bool:
    """Whether the part of the near plane that is in the picture crosses a face, the subject's among them.

    A parallel view whose near plane is not written stands before all that there is, and cuts nothing.
    Source: geometry. Worked: near .1 m and level, a wall .05 m before the eye that ends at half the
    picture's width: cut.
    """
    width, height = camera.pixels
    spots = ((width / 2, height / 2), (width, height / 2), (width / 2, 0.0))
    middle, right, top = unproject_pixels(camera, spots, camera.near_m)
    return rectangle_cuts(scene, middle, right - middle, top - middle)


def pulled_to_m(setup: Setup) -> float | None:
    """From the anchor to a camera that was pulled in, metres; None where it was not.

    Source: definition. Worked: a boom of 5 m that is clear for 3.056 m: 3.056.
    """
    return None if setup.asked_eye_m is None else float(np.linalg.norm(setup.camera.eye_m - setup.anchor_m))


def pulled(case: Case) -> Case:
    """The case with its camera pulled in along the boom to where that is clear, if the study wants that."""
    boom = boom_of(case) if case.variant.camera.blocked == "pull-in" else None
    if boom is None or boom.met is None:
        return case
    return replace(case, setup=pulled_in(case.setup, boom.free_m))


def read(case: Case, frames: Frames) -> Reading:
    """The boom as it was asked for; eye and near plane as they are drawn."""
    setup, boom = case.setup, boom_of(case)
    values: dict[Path, Value] = {
        ("boom", "clear_m"): clear_m(boom),
        ("boom", "clear_share"): clear_share(boom),
        ("boom", "blocked_by"): blocked_by(boom),
        ("boom", "inside"): inside(setup.camera, np.array(setup.anchor_m), case.scene),
        ("boom", "near_cuts"): near_cuts(setup.camera, case.scene),
        ("boom", "pulled_to_m"): pulled_to_m(setup),
    }
    return Reading(values)


KIND = Kind("probe", FIELDS, read)
