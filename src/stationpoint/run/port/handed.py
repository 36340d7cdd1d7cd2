"""What is handed off of each variant: its camera where it is asked to be, its boom, eight check points."""

from __future__ import annotations

from math import ceil, log10

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.camera import Camera, Setup, depths, project_points, unproject_pixels
from stationpoint.readings import Case, ends, probe_radius_m
from stationpoint.record import Handed, Json
from stationpoint.run.cases import asked_cases
from stationpoint.run.prepare import Prepared
from stationpoint.run.sheet import chosen_variants
from stationpoint.study import Study

Points = NDArray[np.float64]

# Where check points lie: fractions of the picture from its top-left, and how far from nearest to farthest.
# No mirror, turn or exchange of x and y brings one near another, nor does depth follow x or y.
SPREAD = (
    (0.13, 0.21, 0.35),
    (0.86, 0.12, 0.80),
    (0.71, 0.38, 0.00),
    (0.28, 0.55, 1.00),
    (0.92, 0.71, 0.50),
    (0.41, 0.83, 0.15),
    (0.08, 0.90, 0.65),
    (0.56, 0.27, 0.90),
)
GIVEN = (0, 4)  # in whose place the ends of a gap stand, where the picture shows them
NEAREST, FARTHEST = 0.45, 2.6  # of the distance to the anchor
USUAL_M = 8.0  # the distance where there is none
MARGIN = 0.04  # of the picture, within which a point of the study is no good check


def handed_variants(prepared: Prepared, labels: tuple[str, ...] = ()) -> list[Handed]:
    """The named variants; else the chosen one, else all. Raises StudyWrong, also for a decision that the
    sweep does not have."""
    decision = prepared.study.decision
    if not labels and decision is not None:
        if prepared.chosen is None:
            raise StudyWrong(
                f'decision: no variant of the sweep has the key "{decision.chosen}", so none is handed off; '
                "choose again, or name one with --variant."
            )
        labels = (prepared.chosen.label,)
    cases = list(asked_cases(chosen_variants(prepared, labels)))
    return [_handed(case, prepared.study, len(cases) > 1) for case in cases]


def _handed(case: Case, study: Study, is_one_of_several: bool) -> Handed:
    variant, setup = case.variant, case.setup
    names, points = check_points(case)
    before = f"{variant.label} " if is_one_of_several else ""
    return Handed(
        label=variant.label,
        key=variant.key,
        place=case.place.name,
        setup=setup,
        aspect_policy=variant.camera.aspect_policy,
        boom=_boom(case),
        rig=study.said().get("rig"),
        names=tuple(before + name for name in names),
        points_m=points,
    )


def _boom(case: Case) -> dict[str, Json] | None:
    """What carries the eye: its length from the anchor, and the sphere that must not touch anything."""
    setup, fields = case.setup, case.variant.camera
    if setup.camera.parallel or not setup.distance_m:
        return None
    long_m = float(np.linalg.norm(setup.camera.eye_m - np.array(setup.anchor_m)))
    return {
        "length_m": long_m,
        "anchor_over_foot_m": setup.anchor_height_m,
        "probe_radius_m": probe_radius_m(setup.camera),
        "blocked": fields.blocked,
        "passes": list(fields.passes),
    }


def check_points(case: Case) -> tuple[tuple[str, ...], Points]:
    """Names and world positions (8, 3) of points that prove a port: spread over the picture and in depth, two
    of them the ends of the study's first gap where the picture shows those."""
    setup = case.setup
    names = [f"p{number}" for number in range(1, len(SPREAD) + 1)]
    points = spread_points(setup)
    if case.study.gap:
        gap = case.study.gap[0]
        found = ends(case, gap)
        given = (("take-off", found.from_m), ("landing", found.to_m))
        for number, (word, point) in zip(GIVEN, given, strict=True):
            if _shows(setup.camera, point):
                names[number], points[number] = f"{gap.name}: {word}", point
    return tuple(names), points


def spread_points(setup: Setup) -> Points:
    """The eight points of SPREAD, (8, 3), rounded so that people can type them: to a thousandth of the
    distance or finer."""
    camera = setup.camera
    distance = setup.distance_m or USUAL_M
    near_m, far_m = NEAREST * distance, FARTHEST * distance
    if not camera.parallel:
        near_m, far_m = max(near_m, 1.2 * camera.near_m), max(far_m, 2.4 * camera.near_m)
    far_m = min(far_m, camera.far_m - 0.05 * (camera.far_m - camera.near_m))
    near_m = min(near_m, camera.near_m + 0.5 * (far_m - camera.near_m))
    spots = np.array(SPREAD)
    pixels = spots[:, :2] * np.array(camera.pixels)
    points = unproject_pixels(camera, pixels, near_m + (far_m - near_m) * spots[:, 2])
    return np.round(points, max(3, 3 - ceil(log10(distance)))) + 0.0


def _shows(camera: Camera, point_m: Points) -> bool:
    """Whether a point lies well within the picture, and between the near and far plane."""
    x, y = project_points(camera, point_m)[0] / np.array(camera.pixels)
    depth = float(depths(camera, point_m)[0])
    return bool(min(x, y, 1 - x, 1 - y) > MARGIN and camera.near_m < depth < camera.far_m)
