"""A first study for a scene or mesh alone: a sensible default, and its text for a person to edit."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import atan2, degrees, hypot, radians, tan
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, NamedTuple

from stationpoint.base.words import title_name
from stationpoint.study.first.targets import Eye, Way, count_framed, eye_of, likely_targets, likely_things
from stationpoint.study.first.view import BASE_MM, Free, Point, View, first_view, rounded, span_m
from stationpoint.study.models import CameraFields, MeshKeys, Study, Subject, Sweep, Target
from stationpoint.study.toml import study_text

if TYPE_CHECKING:
    from stationpoint.scene import Scene, SceneCamera

HEIGHT_M = 1.7
ANCHOR_SHARE = 0.6  # of the subject's height: aims at the chest
MOST_CAMERAS = 4  # of the file's own
ANGLES_DEG = (25.0, 40.0, 60.0)  # upright, swept beside a file camera's own

COMMENTS = {
    "title": "the question that the sheet answers",
    "scene": "a scene file or a mesh, beside this file",
    "mesh": "how that file is taken, as guessed; start again after a change",
    "mesh.up": "the file's own up axis",
    "mesh.scale": "metres for one unit of the file",
    "mesh.at": "moves it, after up and scale",
    "subject": "what the player controls; the camera follows it",
    "subject.at": "its foot: x, y (up), z in metres",
    "subject.height_m": "a figure of this height is drawn",
    "subject.heading_deg": "the way it faces, as a yaw: away from the camera",
    "target": "something that the player must be able to read",
    "target.node": "the name of a part of the scene",
    "target.role": "primary, secondary or tertiary",
    "camera": "the camera that the sweep starts from",
    "camera.from": "a camera of the file; its pose and lens are kept",
    "camera.focal_mm": "on a 36 x 24 mm gate; or hfov_deg, vfov_deg",
    "camera.distance_m": "from the anchor, along the sightline",
    "camera.pitch_deg": "above 0: the camera looks down",
    "camera.yaw_deg": "0 looks along -Z; grows to the left",
    "camera.anchor_height_m": "what is looked at, above the foot",
    "camera.aspect": "of the picture, width to height",
    "sweep": "what varies down, across, and over pages",
    "sweep.hold": "what stays equal while the lens changes",
}
HEADER = """\
# A study for stationpoint: one scene, one camera, and what to vary.
# Lengths in metres, angles in degrees; Y is up. Lines that start with # are remarks.
"""
MORE = """
# More that a study can say; take the # away to use it.
#
# [[gap]]                                    # a take-off, a landing, and how far the player gets
# name = "first hop"
# from = [0, 0, 0]
# to = [0, 0, -4]
# reach_m = 3.5
#
# [[viewing]]                                # a screen and a seat; without one: 24 in, 0.6 m
# name = "couch"
# diagonal_in = 55
# pixels = [1920, 1080]
# eye_distance_m = 2.7
#
# [[limit]]                                  # what a camera must hold
# reading = "targets.*.seen"
# min = 0.5
# why = "the player must see half of every target"
"""


class Asks(NamedTuple):
    """What is asked of a scene's surfaces. free_m: metres from a point to the next one at a yaw and a
    pitch (degrees, as a camera's). way_m: metres from a point (3,) along a direction (3,) to the next
    one that is not the named node's. into: for a camera that looks in from outside, past what faces away
    from it and past the nodes named last, the share of a named node's points (3,) that it sees."""

    free_m: Free
    way_m: Way
    into: Callable[[Point, Sequence[Point], str, tuple[str, ...]], float] = lambda *_: 1.0


def default_study(
    scene_path_name: str,
    scene: Scene,
    spots: Sequence[Point],
    asks: Asks | None = None,
    mesh: Mapping[str, Any] | None = None,
) -> Study:
    """A study for a scene alone: pitch down, lens across, the subject's scale held.

    scene_path_name: the scene's file as the study is to name it. spots: (3,) each, where the stand-in
    subject may stand on the scene's floor, the best first. asks: None for a scene in which nothing is in
    the way. mesh: the keys of [mesh] by which a mesh file was taken. Where walls are all around, the
    camera stays within them, with shorter lenses, and nothing is held. The file's own cameras are drawn
    where it has any, as they are and with other lenses.
    """
    things = [node for node in scene.nodes if node.kind != "ground"] or list(scene.nodes)
    height = subject_height_m(scene)
    anchor_height = rounded(ANCHOR_SHARE * height)
    spots = [(round(float(x), 3), round(float(y), 3), round(float(z), 3)) for x, y, z in spots]
    own = scene.cameras[:MOST_CAMERAS]
    if own:
        foot = _before(own[0], spots, height, anchor_height, asks)
        names = tuple(f"{_beside(scene_path_name, camera)}#{camera.name}" for camera in own)
        camera, sweep = _own_cameras(own, names, anchor_height)
        eye, what = _eye_of_file(own[0]), "of its cameras suits"
    else:
        likely = likely_things(things)

        def rate(anchor: Point, yaw_deg: float, pitch_deg: float, distance_m: float) -> int:
            return count_framed(likely, eye_of(anchor, yaw_deg, pitch_deg, distance_m, BASE_MM))

        free_m = None if asks is None else asks.free_m
        view = first_view(spots, things, height, anchor_height, free_m, rate)
        foot, what = view.foot, "lens and pitch suit"
        camera, sweep = _placed(view, anchor_height)
        anchor = (foot[0], foot[1] + anchor_height, foot[2])
        eye = eye_of(anchor, view.yaw_deg, view.pitches_deg[0], view.distance_m, view.base_mm)
    targets = likely_targets(things, foot, *((eye, asks.way_m) if asks is not None else ()))
    study = Study(
        title=f"Which {what} {title_name(scene_path_name)}?",
        scene=scene_path_name,
        subject=Subject(name=free_name(scene), at=foot, height_m=height, heading_deg=_away_deg(eye)),
        target=tuple(Target(name=node.name, node=node.name, role="secondary") for node in targets),
        camera=camera,
        sweep=sweep,
    )
    return study.model_copy(update={"mesh": MeshKeys.model_validate(dict(mesh))}) if mesh else study


def _away_deg(eye: Eye) -> float:
    """The heading, degrees, of one who is seen from behind; 0 from straight above."""
    x, _, z = eye.back
    return round(degrees(atan2(x, z)), 1) + 0.0 if hypot(x, z) > 1e-6 else 0.0


def _placed(view: View, anchor_height: float) -> tuple[CameraFields, Sweep]:
    camera = CameraFields(
        projection="perspective",
        focal_mm=view.base_mm,
        distance_m=view.distance_m,
        pitch_deg=view.pitches_deg[0],
        yaw_deg=view.yaw_deg,
        anchor_height_m=anchor_height,
        aspect="16:9",
    )
    sweep = Sweep(
        rows={"pitch_deg": view.pitches_deg},
        columns={"focal_mm": view.lenses_mm},
        hold="nothing" if view.closed else "subject-scale",
    )
    return camera, sweep


def _beside(scene_path_name: str, camera: SceneCamera) -> str:
    return PurePath(scene_path_name).with_name(camera.file).as_posix()


def _own_cameras(
    own: Sequence[SceneCamera], names: tuple[str, ...], anchor_height: float
) -> tuple[CameraFields, Sweep]:
    """The file's cameras down, each with its own lens first; across alone where their lenses differ or
    are none, since other lenses would then say nothing of them."""
    angles = {round(camera.vfov_deg, 4) if camera.vfov_deg is not None else None for camera in own}
    fields: dict[str, Any] = {"from_": names[0], "anchor_height_m": anchor_height}
    if own[0].aspect is None:
        fields["aspect"] = "16:9"
    camera = CameraFields(**fields)
    angle = next(iter(angles))
    if len(angles) > 1 or angle is None:
        return camera, Sweep(columns={"from": names}, hold="nothing")
    lenses = (angle, *(other for other in ANGLES_DEG if abs(other - angle) > 2))
    rows = {"from": names} if len(names) > 1 else {}
    return camera, Sweep(rows=rows, columns={"vfov_deg": lenses}, hold="nothing")


def _eye_of_file(camera: SceneCamera) -> Eye:
    right, up, back = (tuple(float(n) for n in camera.view[k, :3]) for k in range(3))
    t = [float(n) for n in camera.view[:3, 3]]
    at = [-sum(t[row] * float(camera.view[row, axis]) for row in range(3)) for axis in range(3)]
    aspect = camera.aspect or 16 / 9
    half = (camera.view_height_m or 2.0) / 2
    if camera.vfov_deg is not None:
        half = tan(radians(camera.vfov_deg) / 2)
    place = (at[0], at[1], at[2])
    return Eye(place, right, up, back, half * aspect, half, camera.vfov_deg is None)  # type: ignore[arg-type]


def _before(
    camera: SceneCamera, spots: Sequence[Point], height: float, anchor_height: float, asks: Asks | None
) -> Point:
    """The spot that the file's camera has most nearly in its middle, at a distance to see a body, with
    nothing between; the best one where none is."""
    eye = _eye_of_file(camera)
    rated = []
    for k, spot in enumerate(spots):
        way = [a - b for a, b in zip((spot[0], spot[1] + anchor_height, spot[2]), eye.at, strict=True)]
        depth = -sum(a * b for a, b in zip(way, eye.back, strict=True))
        if depth < height:
            continue
        far = 1.0 if eye.parallel else depth
        off = max(
            abs(sum(a * b for a, b in zip(way, eye.right, strict=True))) / far / eye.half_width,
            abs(sum(a * b for a, b in zip(way, eye.up, strict=True))) / far / eye.half_height,
        )
        if off < 0.8:
            rated.append((round(off + abs(depth / height - 3.0) / 8, 6), k, (way[0], way[1], way[2])))
    for _, k, direction in sorted(rated)[:12]:
        if asks is None or asks.way_m(eye.at, direction, "") >= hypot(*direction) - 0.1 * height:
            return spots[k]
    return spots[0]


def start_text(study: Study) -> str:
    """The study as a file for a person to edit: comments beside its keys, examples at its end."""
    return HEADER + "\n" + study_text(study, COMMENTS) + MORE


def subject_height_m(scene: Scene) -> float:
    """A person's height; half the scene's largest extent where the scene is smaller than that."""
    things = [node for node in scene.nodes if node.kind != "ground"] or list(scene.nodes)
    largest = max((high - low for low, high in (span_m(things, axis) for axis in range(3))), default=HEIGHT_M)
    return HEIGHT_M if largest >= HEIGHT_M or largest <= 0 else max(rounded(largest / 2), 0.001)


def free_name(scene: Scene, wanted: Sequence[str] = ("subject", "stand-in")) -> str:
    """A name for a stand-in that no node of the scene has: the first of these, or the last one numbered."""
    names = [*wanted, *(f"{wanted[-1]} {k}" for k in range(2, len(scene.nodes) + 3))]
    return next(name for name in names if name not in scene)
