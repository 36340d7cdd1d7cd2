"""A made-up study with results that no renderer drew, and the shapes of a page as flat data."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from stationpoint.base.look import CLAY, ROLE_TINT
from stationpoint.camera.camera import Camera, project_points
from stationpoint.camera.lens import angles_of_view_deg
from stationpoint.camera.pose import backward_axis, turned_by, view_from
from stationpoint.camera.projection import orthographic, perspective
from stationpoint.camera.seat import seat_at
from stationpoint.camera.shot import Setup
from stationpoint.ink.shapes import Area, Box, Disc, Group, Line, Page, Picture, Shape, Text
from stationpoint.ink.type import ascent_px, descent_px
from stationpoint.readings.types import Reading, Result
from stationpoint.scene.edit import box_node, stand_in
from stationpoint.scene.types import Node
from stationpoint.sheet.marks.free_space import FreeSpace
from stationpoint.sheet.plan.data import PlanData, plan_data
from stationpoint.sheet.roles import owners_by_id
from stationpoint.study.models import Study
from stationpoint.study.sweep import Variant, expand

ANCHOR = np.array([4.2, 0.8, -3.0])
LANDING = np.array([4.2, 0.8, -7.1])
DESK = seat_at("desk", 24, (1920, 1080), 0.6)
TARGETS = (
    ("barge three", "primary", (4.0, 0.0, -8.6), (7.0, 0.8, 3.0)),
    ("load", "secondary", (6.6, 2.0, -12.0), (1.3, 1.2, 1.3)),
    ("lamp post", "tertiary", (-24.0, 0.0, -4.5), (0.3, 4.2, 0.3)),  # left of every picture
)


def study(**changes: Any) -> Study:
    """A quay with a hop; two projections by two lenses unless told."""
    fields: dict[str, Any] = {
        "title": "Which lens lets a player judge the hop?",
        "scene": "quay.toml",
        "subject": {"name": "hopper", "at": tuple(ANCHOR)},
        "target": [{"name": name, "node": name, "role": role} for name, role, _, _ in TARGETS],
        "gap": [{"name": "hop", "from": tuple(ANCHOR), "to": tuple(LANDING), "reach_m": 3.4}],
        "camera": {"focal_mm": 35, "distance_m": 8, "pitch_deg": 20},
        "sweep": {
            "rows": {"projection": ["perspective", "orthographic"]},
            "columns": {"focal_mm": [24, 50]},
            "hold": "subject-scale",
        },
    }
    return Study.model_validate(fields | changes)


def nodes(those: Study) -> list[Node]:
    """The scene's nodes: the targets' boxes as the study names them, a wall, the subject last."""
    made = [box_node("wall", (0.0, 0.0, -30.0), (20.0, 6.0, 1.0))]
    made += [
        box_node(target.node or target.name, at, size)
        for target, (_, _, at, size) in zip(those.target, TARGETS, strict=False)
    ]
    return [*made, stand_in("hopper", ANCHOR, 1.7)]


def setup(variant: Variant, width: int) -> Setup:
    """The set-up of a variant that holds 233.33 px a metre at the anchor on 1920 px."""
    fields = variant.camera
    ratio = {"16:9": 16 / 9, "21:9": 7 / 3, "4:3": 4 / 3}[fields.aspect or "16:9"]
    focal = fields.focal_mm or 35.0
    away = 8.0 * focal / 35.0
    eye = ANCHOR + away * backward_axis(fields.yaw_deg, fields.pitch_deg)
    view = view_from(eye, turned_by(fields.yaw_deg, fields.pitch_deg))
    parallel = fields.projection != "perspective"
    view_height = 8.0 * 36.0 / 35.0 / ratio
    matrix = (
        orthographic(view_height, ratio, -100.0, 200.0)
        if parallel
        else perspective(focal / 36.0, ratio, 0.1, 200.0)
    )
    camera = Camera(view, matrix, (width, round(width / ratio)), fields.projection, 0.1, 200.0)
    h, v, d = (None,) * 3 if parallel else angles_of_view_deg(focal, (36.0, 24.0), ratio)
    return Setup(
        camera=camera,
        projection=fields.projection,
        focal_mm=None if parallel else focal,
        hfov_deg=h,
        vfov_deg=v,
        dfov_deg=d,
        view_height_m=view_height if parallel else None,
        distance_m=away,
        pitch_deg=fields.pitch_deg,
        yaw_deg=fields.yaw_deg,
        roll_deg=0.0,
        offset=(0.0, 0.0),
        offset_by=None,
        aspect=ratio,
        aspect_words=fields.aspect or "16:9",
        pixels=(1920, 1080),
        anchor_m=tuple(ANCHOR),
    )


def results(those: Study, width: int = 544) -> list[Result]:
    """A result of each variant: rectangles where the boxes project, farthest first, with ids and depth."""
    every = nodes(those)
    made = []
    for variant in expand(those):
        how = setup(variant, width)
        across, down = how.camera.pixels
        picture = np.full((down, across, 3), 120, dtype=np.uint8)
        ids = np.zeros((down, across), dtype=np.uint32)
        depth = np.full((down, across), np.inf, dtype=np.float32)
        roles = {target.node: target.role for target in those.target}
        for number, node in enumerate(every, start=1):
            spots = project_points(how.camera, node.vertices)
            if not np.isfinite(spots).all():
                continue
            low, high = spots.min(axis=0), spots.max(axis=0)
            part = np.s_[
                max(0, int(low[1])) : max(0, int(high[1])), max(0, int(low[0])) : max(0, int(high[0]))
            ]
            role = "subject" if node.kind == "subject" else roles.get(node.name, "")
            picture[part], ids[part], depth[part] = ROLE_TINT.get(role, CLAY), number, 40.0 - 5.0 * number
        place = those.places[0]
        reading = _reading(how.camera, those, every)
        made.append(Result(variant, place, how, reading, (DESK,), how.aspect_words, picture, ids, depth))
    return made


def _reading(camera: Camera, those: Study, every: list[Node]) -> Reading:
    """Screen positions by projection; a few readings with made-up amounts."""
    values: dict[tuple[str, ...], Any] = {}
    extras: dict[tuple[str, ...], Any] = {}
    width, height = camera.pixels
    for target, node in zip(those.target, every[1:-1], strict=True):
        centre = project_points(camera, [node.bounds.mean(axis=0), node.foot])
        box = project_points(camera, node.vertices)
        extras["target", target.name] = centre
        extras["size", target.name] = np.array([box.min(axis=0), box.max(axis=0)])
        extras["drop", target.name] = project_points(camera, [node.foot, node.foot * (1.0, 0.0, 1.0)])
        away = (box.max(axis=0) < 0) | (box.min(axis=0) > (width, height))
        values["targets", target.name, "off_picture"] = ("left", 12.0) if away.any() else None
        values["targets", target.name, "seen"] = 0.0 if away.any() else 0.62
        values["targets", target.name, "size_arcmin", "desk"] = (120.0, 45.2)
    for gap in those.gap:
        start, end = np.array(gap.from_), np.array(gap.to)
        flat = start + (end - start) * 0.3
        right = np.array([1.0, 0.0, 0.0])
        extras["gap", gap.name] = project_points(camera, [start, end, flat])
        extras["gap", gap.name, "ticks"] = project_points(
            camera, [p + s * 0.5 * right for p in (start, end) for s in (-1, 1)]
        )
        extras["gap", gap.name, "sides"] = project_points(
            camera, [p + s * right for s in (-1, 1) for p in (start, flat, end)]
        )
        span = float(np.linalg.norm(end - start))
        values |= {
            ("gaps", gap.name, "true_span_m"): span,
            ("gaps", gap.name, "level_span_m"): span,
            ("gaps", gap.name, "flat_span_m"): 0.3 * span,
        }
    extras["axes",] = project_points(camera, [ANCHOR, *(ANCHOR + axis for axis in np.eye(3))])
    if not camera.parallel:
        row = 0.18 * height
        extras["horizon",] = np.array([[0.0, row], [float(width), row]])
        extras["vanishing", "z"] = np.array([[width * 0.4, row]])
    return Reading(values, extras=extras)


GRADES = {
    "occlusion": ("reads", 458.0),
    "relative_size": ("reads", 39.3),
    "height_in_field": ("reads", 178.2),
    "drop_line": ("absent", 0.0),
    "cast_shadow": ("weak", 410.0),
    "texture_gradient": ("weak", 24.5),
    "convergence": ("reads", 37.9),
    "horizon": ("absent", 0.0),
    "parallax": ("weak", 5.0),
    "light_on_form": ("weak", 3.0),
}


def with_cues(
    result: Result, grades: Mapping[str, tuple[str, float]] = GRADES, pair: str = "gap:hop", **more: Any
) -> Result:
    """The take with depth cues of a pair, their marks where projection puts them: the gap's take-off and
    landing, a shadow to the right. more: further readings, by their path joined with two underscores."""
    camera = result.setup.camera
    up, right, away = np.array([0.0, 1.0, 0.0]), np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, -1.0])
    a, b = ANCHOR, LANDING
    rows = [a - away + (2 + k) * right for k in range(3)], [b + away + (2 + k) * right for k in range(3)]
    across = np.linspace(0.0, 1.0, 9)[:, None]
    border = project_points(camera, b - 1.5 * right + across * 3.0 * right - 0.4 * up)
    marks = {
        "occlusion": np.vstack([border, border - np.array([0.0, 1.0])]),
        "relative_size": project_points(camera, [a, a + up, b, b + up]),
        "height_in_field": project_points(camera, [a, b]),
        "drop_line": project_points(camera, [b + 2 * right + up, b + 2 * right]),
        "cast_shadow": project_points(camera, [b + 1.2 * right, b + 2.6 * right]),
        "texture_gradient": np.vstack(
            [project_points(camera, rows[0]), [[np.nan] * 2], project_points(camera, rows[1])]
        ),
        "convergence": project_points(camera, [a - right, b - right, a + right, b + right]),
        "parallax": project_points(camera, [a, a - 0.25 * right, b, b - 0.25 * right]),
        "light_on_form": project_points(camera, [b - 2 * right, b - 2 * right + 0.3 * up]),
    }
    values, extras = dict(result.reading.values), dict(result.reading.extras)
    for cue, (grade, value) in grades.items():
        values["cues", pair, cue, "grade"], values["cues", pair, cue, "value"] = grade, value
        if grade != "absent" and cue in marks:
            extras["cue", pair, cue] = marks[cue]
    reads = [cue for cue, (grade, _) in grades.items() if grade == "reads" and cue != "light_on_form"]
    values["cues", pair, "order"] = len(reads)
    values["cues", pair, "amount"] = len([cue for cue in reads if cue not in ("occlusion", "cast_shadow")])
    values |= {tuple(path.split("__")): value for path, value in more.items()}
    return replace(result, reading=replace(result.reading, values=values, extras=extras))


def with_contacts(result: Result, count: int = 1, breaks: int = 0) -> Result:
    """The result with so many false contacts across the picture, each 31 px under the last: the hand case,
    5.196 m level and 3 m down; and so many false breaks."""
    values, extras = dict(result.reading.values), dict(result.reading.extras)
    entry = {"a": "u", "b": "v", "border_arcmin": 90.0, "flat_m": 0.0, "level_m": 5.196, "height_m": -3.0}
    values["false_contacts",] = tuple(entry for _ in range(count))
    values["false_breaks",] = tuple(entry | {"level_m": 1.2, "height_m": 0.5} for _ in range(breaks))
    for k in range(count):
        extras["false_contact", str(k)] = np.array([[30.0, 20.0 + 31 * k], [185.0, 20.0 + 31 * k]])
    for k in range(breaks):
        extras["false_break", str(k)] = np.array([[400.0, 20.0 + 31 * k], [462.0, 20.0 + 31 * k]])
    return replace(result, reading=replace(result.reading, values=values, extras=extras))


def plan(those: Study, made: list[Result]) -> PlanData:
    """Plan and side view of the made-up scene."""
    return plan_data(nodes(those), [(result.variant.label, result.setup) for result in made], those)


def owners(those: Study) -> Any:
    """Who owns which id in the made-up scene."""
    return owners_by_id(nodes(those), those)


@dataclass(frozen=True)
class Placed:
    """A shape with the groups that it lies in, and where its group begins on the page."""

    shape: Shape
    groups: tuple[str, ...]
    offset: tuple[float, float]

    @property
    def box(self) -> Box:
        """Where it lies on the page."""
        x, y = self.offset
        shape = self.shape
        if isinstance(shape, Text):
            left, top, right, bottom = text_box(shape)
        elif isinstance(shape, Picture):
            left, top, right, bottom = shape.box_px
        elif isinstance(shape, Disc):
            (a, b), r = shape.centre_px, shape.radius_px
            left, top, right, bottom = a - r, b - r, a + r, b + r
        else:
            assert isinstance(shape, Line | Area)
            rings = [shape.points_px] if isinstance(shape, Line) else shape.rings
            spots = np.array([spot for ring in rings for spot in ring])
            (left, top), (right, bottom) = spots.min(axis=0), spots.max(axis=0)
        return left + x, top + y, right + x, bottom + y


def placed(page: Page) -> list[Placed]:
    """Every shape of a page but groups, in painting order."""

    def walk(shapes: Any, groups: tuple[str, ...], x: float, y: float) -> Iterator[Placed]:
        for shape in shapes:
            if isinstance(shape, Group):
                dx, dy = shape.offset_px
                yield from walk(shape.shapes, (*groups, shape.name), x + dx, y + dy)
            else:
                yield Placed(shape, groups, (x, y))

    return list(walk(page.shapes, (), 0.0, 0.0))


def texts(page: Page, group: str = "") -> list[Placed]:
    """The texts of a page, those within a group of that name only if given."""
    found = [one for one in placed(page) if isinstance(one.shape, Text)]
    return [one for one in found if group in one.groups] if group else found


def words(page: Page, group: str = "") -> list[str]:
    """What those texts say."""
    return [one.shape.words for one in texts(page, group) if isinstance(one.shape, Text)]


def overlap(one: Box, other: Box, slack: float = 1.0) -> bool:
    """Whether two boxes overlap by more than `slack` px both ways."""
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return across > slack and down > slack


def text_box(one: Text) -> Box:
    """The box that a text's strokes may fill, halo aside; of words that run upwards as well."""
    x, y = one.baseline_px
    shift = {"left": 0.0, "middle": one.width_px / 2, "right": one.width_px}[one.anchor]
    up, down = ascent_px(one.size_px) * 0.72, descent_px(one.size_px) * 0.8
    if one.turn_deg == 90:
        return (x - up, y + shift - one.width_px, x + down, y + shift)
    return (x - shift, y - up, x - shift + one.width_px, y + down)


def crosses(
    room: FreeSpace, start: tuple[float, float], end: tuple[float, float], lines: bool = True
) -> bool:
    """Whether one leader crosses what it may not."""
    return bool(room.crossing(np.array([start], float), np.array([end], float), lines)[0])
