"""A first study of a small thing that stands alone, with no floor to stand on: looked at whole."""

from __future__ import annotations

from collections.abc import Mapping
from math import hypot
from typing import TYPE_CHECKING, Any

from stationpoint.base.words import title_name
from stationpoint.study.first.study import HEIGHT_M
from stationpoint.study.first.targets import likely_things
from stationpoint.study.first.view import BASE_MM, LENSES_MM, PICTURE_MM, Point, rounded, span_m
from stationpoint.study.models import CameraFields, MeshKeys, Study, Sweep, Target

if TYPE_CHECKING:
    from stationpoint.scene import Scene

PITCHES_DEG, YAW_DEG = (15.0, 40.0), 30.0  # two sides and the top of a box show
FILLS = 0.8  # of the picture's height that a sphere round the thing fills
MOST_TARGETS = 4
THING_M, SLAB_SHARE = 4.5, 0.25  # a car's length; what is flatter than that share of it is a floor


def is_lone(scene: Scene, floor: Point) -> bool:
    """Whether a scene is a thing rather than a level: smaller than a body, or little larger with nowhere to
    stand but on its top; without a ground, and without cameras of its own.

    floor: the best spot to stand there, (3,).
    """
    if scene.cameras or any(node.kind == "ground" for node in scene.nodes):
        return False
    spans = [span_m(scene.nodes, axis) for axis in range(3)]
    largest = max(high - low for low, high in spans)
    low, high = spans[1]
    on_top = high - low >= SLAB_SHARE * largest and floor[1] > (low + high) / 2
    return 0.0 < largest < HEIGHT_M or (on_top and largest < THING_M)


def lone_study(
    scene_path_name: str, scene: Scene, floor: Point, mesh: Mapping[str, Any] | None = None
) -> Study:
    """A study without a subject, whose camera takes in the whole thing; its parts are the targets.

    floor: where a camera without a subject looks, (3,), before it is raised. scene_path_name, mesh: as of
    `default_study`.
    """
    spans = [span_m(scene.nodes, axis) for axis in range(3)]
    middle_y = sum(spans[1]) / 2
    aside_m = hypot(floor[0] - sum(spans[0]) / 2, floor[2] - sum(spans[2]) / 2)
    radius_m = aside_m + hypot(*(high - low for low, high in spans)) / 2
    camera = CameraFields(
        projection="perspective",
        focal_mm=BASE_MM,
        distance_m=rounded(radius_m * hypot(1.0, 2 * BASE_MM / PICTURE_MM) / FILLS),
        pitch_deg=PITCHES_DEG[0],
        yaw_deg=YAW_DEG,
        anchor_height_m=round(middle_y - floor[1], 5),
        aspect="16:9",
    )
    targets = (likely_things(scene.nodes) or list(scene.nodes))[:MOST_TARGETS]
    study = Study(
        title=f"Which lens and pitch suit {title_name(scene_path_name)}?",
        scene=scene_path_name,
        target=tuple(Target(name=node.name, node=node.name, role="secondary") for node in targets),
        camera=camera,
        sweep=Sweep(rows={"pitch_deg": PITCHES_DEG}, columns={"focal_mm": LENSES_MM}, hold="subject-scale"),
    )
    return study.model_copy(update={"mesh": MeshKeys.model_validate(dict(mesh))}) if mesh else study
