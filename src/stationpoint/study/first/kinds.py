"""First studies by the kind of camera that a game has: its usual question, swept and with a brief."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import cos, hypot, radians, sin
from typing import TYPE_CHECKING, Any

from stationpoint.base.words import title_name
from stationpoint.study.first.briefs import BRIEFS, RING, SEATS, Line
from stationpoint.study.first.ground import Ground, Taken
from stationpoint.study.first.study import COMMENTS, HEADER, Asks, free_name, subject_height_m
from stationpoint.study.first.targets import (
    Eye,
    eye_of,
    likely_targets,
    likely_things,
    open_share,
    points_of,
)
from stationpoint.study.first.two import two_subjects
from stationpoint.study.first.view import (
    CLEAR_SHARE,
    LENSES_MM,
    PICTURE_MM,
    YAWS_DEG,
    Point,
    first_view,
    rounded,
    span_m,
)
from stationpoint.study.models import CameraFields, MeshKeys, Place, Role, Study, Subject, Sweep, Target
from stationpoint.study.toml import study_text, toml_value

if TYPE_CHECKING:
    from stationpoint.scene import Node, Scene

REMARKS = {
    **COMMENTS,
    "camera.projection": "or perspective, oblique",
    "camera.blocked": "pull-in: before a wall, as a game does; or show",
    "camera.first_person": "the eye is at the subject's eyes",
    "camera.hfov_deg": "the angle of view across; or focal_mm",
    "camera.offset": "where the anchor is, from the picture's middle",
    "camera.offset_by": "the camera is moved aside; or turn, shift",
    "aids": "which of these the game will ship",
    "place": "where the same camera must hold too",
    "place.height_m": "of the body there",
    "camera.margin_m": "room for each to the picture's safe edge",
    "subject.heading_deg": "the way it faces, as a yaw: 0 is -Z",
    "awareness_m": "how far round the subject is asked after",
    "viewing": "a screen and a seat",
    "limit": "what a camera must hold",
}
GATE_MM = 36.0
EYES_SHARE = 0.94  # of the body's height: as a camera at the subject's eyes has them
ANGLES_DEG = (60.0, 75.0, 90.0, 105.0)  # across, in first person
NARROWEST_MM = GATE_MM / 2 / 0.57735  # the lens of 60 degrees: what it sees, wider ones see too
EYES_PITCH_DEG = 5.0
CROUCHED_SHARE = 0.65  # of the body's height
SIDE_LENSES_MM, SIDE_PITCHES_DEG, SIDE_FILLS = (85.0, 35.0), (0.0, 8.0, 16.0, 24.0), 0.2
OVER_LENS_MM, OVER_PITCHES_DEG, OVER_HEIGHTS = 35.0, (35.0, 50.0, 70.0, 90.0), 7.0  # heights of body down
AWARE_HEIGHTS = 3.0  # how far round the subject is asked after, in heights of body: a second at a run
LEAST_AWARE_M = 1.0  # height of a body from which that ring, 0.9 m above its foot, is about the body
AROUND = 1.25  # of a small level's size that a picture from outside takes in
AFAR_M = 10000.0
SEEN_INTO = 0.6  # of a thing in a room that is looked into: a little more than briefs ask
COVERS = ("ceiling", "roof")  # words in the names of what is over a room
ABOUT, MOST_THINGS, MOST_SPOTS = 6.0, 300, 200  # body heights; and how much is looked at for a spot
PACKET_M, PACKET_AWAY_M = 0.3, 12.0  # what is looked for where a scene has nothing of a thing's size


def kind_study(
    kind: str,
    scene_path_name: str,
    scene: Scene,
    spots: Sequence[Point],
    asks: Asks,
    mesh: Mapping[str, Any] | None = None,
) -> Study:
    """A first study of a kind of camera: one of KINDS. The rest as of `default_study`.

    Every limit of its brief finds something to judge: one on targets is left out where the scene has
    nothing of a thing's size that the first camera sees. Cameras of the file are not taken.
    """
    things = [node for node in scene.nodes if node.kind != "ground"] or list(scene.nodes)
    at = [(round(float(x), 3), round(float(y), 3), round(float(z), 3)) for x, y, z in spots]
    height = subject_height_m(scene)
    opens = not scene_path_name.lower().endswith(".toml")
    ground = Ground(scene, things, height, _peopled(at, likely_things(things), height), asks, opens)
    taken = KINDS[kind](ground)
    targets = _targets(ground, taken) if taken.targets is None else taken.targets
    keys = dict(mesh or {})
    if taken.open_up and opens:
        covers = _covers(ground)
        keys |= {"backs": "open"} | ({"hide": covers} if covers else {})
    brief = BRIEFS[kind]
    roles: set[Role] = {target.role for target in targets}
    study = Study(
        title=brief.asks.format(title_name(scene_path_name)),
        scene=scene_path_name,
        aids=brief.aids,
        subject=Subject(
            name=free_name(scene), at=taken.foot, height_m=ground.height_m, heading_deg=taken.heading_deg
        ),
        camera=taken.camera,
        sweep=taken.sweep,
        viewing=tuple(SEATS[name] for name in brief.seats),
        limit=tuple(
            line.limit(taken.play_plane) for line in kept(brief.lines, roles, taken.awareness_m is not None)
        ),
    )
    more: dict[str, Any] = {"target": targets} if targets else {}
    more |= {"place": taken.places} if taken.places else {}
    more |= {"others": taken.others} if taken.others else {}
    more |= {"awareness_m": taken.awareness_m} if taken.awareness_m is not None else {}
    more |= {"mesh": MeshKeys.model_validate(keys)} if keys else {}
    return study.model_copy(update=more)


def kind_text(study: Study, kind: str) -> str:
    """A kind's study as a file for a person to edit: remarks beside its keys, the source of each limit,
    cautions at its top, and what can be added at its end."""
    brief = BRIEFS[kind]
    roles: set[Role] = {target.role for target in study.target}
    sources = [line.source for line in kept(brief.lines, roles, study.awareness_m is not None)]
    notes = {f"limit.{number}": source for number, source in enumerate(sources, 1)}
    body = study_text(study, {**REMARKS, **notes})
    return f"{HEADER}#\n{brief.cautions}\n{body}\n{_more(study, brief.more)}"


def _more(study: Study, more: str) -> str:
    """What can be added, with this study's own coordinates."""
    subject = study.subject
    assert subject is not None
    x, y, z = (float(n) for n in subject.at or (0, 0, 0))
    span = rounded(2.0 * subject.height_m)
    turn = radians(subject.heading_deg)
    there = (round(x - span * sin(turn), 3) + 0.0, y, round(z - span * cos(turn), 3) + 0.0)
    name, other = next(((one.name, one.at) for one in study.others), ("", None))
    nearer = tuple(round((a - float(b)) / 2, 3) + 0.0 for a, b in zip((x, y, z), other or there, strict=True))
    return more.format(
        take_off=toml_value((x, y, z)),
        landing=toml_value(there),
        reach=toml_value(rounded(1.7 * subject.height_m)),
        nearer=toml_value({name: nearer}),
    )


def kept(lines: Sequence[Line], roles: set[Role], is_aware: bool) -> list[Line]:
    """Those lines of a brief that find something to judge among targets of these roles. is_aware: whether
    the study asks how far round the subject is seen."""
    return [
        line
        for line in lines
        if (line.role is None or line.role in roles) and (is_aware or line.reading != RING)
    ]


def _covers(ground: Ground) -> tuple[str, ...]:
    """What is over a room, and is taken away to look into it."""
    return tuple(node.name for node in ground.things if any(word in node.name.lower() for word in COVERS))


def _targets(ground: Ground, taken: Taken) -> tuple[Target, ...]:
    """What the first eye sees; the primary one is the nearest, or smallest, of those that all eyes
    see best. Of a room that is looked into from outside, what is seen so by all of them; none where nothing
    is."""
    way_m, eye, things = ground.asks.way_m, taken.eyes[0], ground.things
    looks_in, covers = taken.open_up and ground.opens, _covers(ground)
    from_afar = map(_afar, taken.eyes) if taken.camera.projection != "perspective" else ()
    eyes = (*taken.eyes, *(from_afar if looks_in else ()))

    def shown(node: Node, one: Eye) -> float:
        if looks_in:
            return ground.asks.into(one.at, list(points_of(node)), node.name, covers)
        return open_share(node, one, way_m)

    def is_seen(node: Node) -> bool:
        return node.name not in covers and min(shown(node, one) for one in eyes) >= SEEN_INTO

    def is_seen_in_it(node: Node) -> bool:
        return _is_beyond(node, taken.foot, eye) and is_seen(node)

    if looks_in:
        found = likely_targets(things, taken.foot, eye, sees=is_seen_in_it)
        found = found or likely_targets(things, taken.foot, eye, sees=is_seen)
    else:
        found = likely_targets(things, taken.foot, eye, way_m)
    x, y, z = ground.middle(taken.foot)

    def rate(k: int) -> tuple[float, float]:
        low, high = found[k].bounds.tolist()
        away = hypot(*((a + b) / 2 - c for a, b, c in zip(low, high, (x, y, z), strict=True)))
        least = min(shown(found[k], one) for one in eyes)
        size = max(b - a for a, b in zip(low, high, strict=True))
        return -least, size / (away or 1.0) if taken.small_first else away

    first = min(range(len(found)), key=rate, default=0)
    return tuple(
        Target(name=node.name, node=node.name, role="primary" if k == first else "secondary")
        for k, node in enumerate(found)
    )


def _afar(eye: Eye) -> Eye:
    """An eye so far back that its rays are those of a parallel view."""
    x, y, z = (at + AFAR_M * back for at, back in zip(eye.at, eye.back, strict=True))
    return eye._replace(at=(x, y, z))


def _is_beyond(node: Node, foot: Point, eye: Eye) -> bool:
    """Whether a node is no nearer to the camera than the subject is, on the level: it stands in the room."""
    x, _, z = ((node.bounds[0] + node.bounds[1]) / 2).tolist()
    return bool((x - foot[0]) * eye.back[0] + (z - foot[2]) * eye.back[2] <= 0)


def third_person(ground: Ground) -> Taken:
    """Behind the subject, two pitches by four lenses at the subject's scale; pulled in before walls."""
    height, anchor = ground.height_m, ground.anchor_m
    likely = likely_things(ground.things)

    def rate(at: Point, yaw_deg: float, pitch_deg: float, distance_m: float) -> int:
        eye = eye_of(at, yaw_deg, pitch_deg, distance_m, LENSES_MM[1])
        return len(likely_targets(likely, at, eye, lambda *_: 1e9))

    view = first_view(ground.spots, ground.things, height, anchor, ground.asks.free_m, rate)
    camera = CameraFields(
        focal_mm=view.base_mm,
        distance_m=view.distance_m,
        pitch_deg=view.pitches_deg[0],
        yaw_deg=view.yaw_deg,
        anchor_height_m=anchor,
        aspect="16:9",
        blocked="pull-in",
    )
    sweep = Sweep(
        rows={"pitch_deg": view.pitches_deg}, columns={"focal_mm": view.lenses_mm}, hold="subject-scale"
    )
    middle, first, last = ground.middle(view.foot), view.lenses_mm[0], view.lenses_mm[-1]
    lenses = dict.fromkeys((view.base_mm, first, last))
    eyes = tuple(
        eye_of(middle, view.yaw_deg, pitch, view.distance_m * mm / view.base_mm, mm)
        for mm in lenses
        for pitch in view.pitches_deg
    )
    return Taken(view.foot, view.yaw_deg, camera, sweep, eyes)


def first_person(ground: Ground) -> Taken:
    """At the subject's eyes, standing and crouching, four angles of view; towards most of what is seen."""
    foot = ground.spots[0]
    at = (foot[0], foot[1] + EYES_SHARE * ground.height_m, foot[2])
    eyes = {yaw: eye_of(at, yaw, EYES_PITCH_DEG, 0.0, NARROWEST_MM) for yaw in YAWS_DEG}
    ahead = {yaw: ground.asks.free_m(at, yaw + 180.0, -EYES_PITCH_DEG) for yaw in YAWS_DEG}
    likely = likely_things(ground.things)
    seen = {yaw: len(likely_targets(likely, foot, eyes[yaw], ground.asks.way_m)) for yaw in YAWS_DEG}
    yaw = max(YAWS_DEG, key=lambda side: (seen[side], min(ahead[side], 1e6)))
    targets: tuple[Target, ...] | None = None
    if not seen[yaw]:
        away = rounded(min(PACKET_AWAY_M, 0.7 * ahead[yaw]) * min(ground.height_m / 1.7, 1.0))
        size = rounded(PACKET_M * min(ground.height_m / 1.7, 1.0))
        turn = radians(yaw)
        x, z = round(foot[0] - away * sin(turn), 3), round(foot[2] - away * cos(turn), 3)
        high = round(at[1] - away * sin(radians(EYES_PITCH_DEG)) - size / 2, 3)
        targets = (Target(name="something to find", at=(x, high, z), size=(size, size, size)),)
    camera = CameraFields(
        first_person=True, hfov_deg=ANGLES_DEG[0], pitch_deg=EYES_PITCH_DEG, yaw_deg=yaw, aspect="16:9"
    )
    sweep = Sweep(rows={"place": ("here", "crouching")}, columns={"hfov_deg": ANGLES_DEG})
    places = (Place(name="crouching", height_m=rounded(CROUCHED_SHARE * ground.height_m)),)
    low = (foot[0], foot[1] + EYES_SHARE * CROUCHED_SHARE * ground.height_m, foot[2])
    both = (eyes[yaw], eye_of(low, yaw, EYES_PITCH_DEG, 0.0, NARROWEST_MM))
    return Taken(foot, yaw, camera, sweep, both, targets, places, small_first=True)


def side_on(ground: Ground) -> Taken:
    """Across the level's longer way: parallel, a long lens and a middling one, by pitch."""
    height = ground.height_m
    spans = [high - low for low, high in (span_m(ground.things, axis) for axis in (0, 2))]
    sides = (0.0, 180.0) if spans[0] >= spans[1] else (90.0, -90.0)
    tall = span_m(ground.things, 1)
    level = max(max(spans) * 9 / 16, tall[1] - tall[0])
    high = min(height / SIDE_FILLS, max(AROUND * level, 2 * height))  # of the picture, at the subject
    far = rounded(SIDE_LENSES_MM[0] / PICTURE_MM * high)
    foot, yaw, free = _freest(ground, sides, 0.0, far)
    is_open = free * CLEAR_SHARE >= far
    camera = CameraFields(
        projection="orthographic",
        focal_mm=SIDE_LENSES_MM[0],
        distance_m=far,
        pitch_deg=SIDE_PITCHES_DEG[0],
        yaw_deg=yaw,
        anchor_height_m=ground.anchor_m,
        aspect="16:9",
    )
    sweep = Sweep(
        rows={
            "projection": ("orthographic", "perspective", "perspective"),
            "focal_mm": (SIDE_LENSES_MM[0], *SIDE_LENSES_MM),
        },
        columns={"pitch_deg": SIDE_PITCHES_DEG},
        hold="subject-scale",
    )
    heading = (yaw - 90.0 + 180.0) % 360.0 - 180.0  # to the right of the picture
    plane = "front" if sides[0] == 0.0 else "side"
    middle, long_mm = ground.middle(foot), SIDE_LENSES_MM[0]
    eyes = tuple(eye_of(middle, yaw, pitch, far, long_mm) for pitch in SIDE_PITCHES_DEG[:3])
    return Taken(foot, heading, camera, sweep, eyes, open_up=not is_open, play_plane=plane)


def overhead(ground: Ground) -> Taken:
    """From above, steep to straight down, parallel and perspective at the subject's scale."""
    height = ground.height_m
    spans = sorted(high - low for low, high in (span_m(ground.things, axis) for axis in (0, 2)))
    level = max(spans[1] * 9 / 16, spans[0] + height)
    high = min(OVER_HEIGHTS * height, max(AROUND * level, 2 * height))  # of the picture, at the subject
    far = rounded(OVER_LENS_MM / PICTURE_MM * high)
    foot, yaw, free = _freest(ground, (0.0, 180.0, 90.0, -90.0), OVER_PITCHES_DEG[1], far)
    camera = CameraFields(
        projection="orthographic",
        focal_mm=OVER_LENS_MM,
        distance_m=far,
        pitch_deg=OVER_PITCHES_DEG[0],
        yaw_deg=yaw,
        aspect="16:9",
    )
    sweep = Sweep(
        rows={"projection": ("orthographic", "perspective")},
        columns={"pitch_deg": OVER_PITCHES_DEG},
        hold="subject-scale",
    )
    eyes = tuple(eye_of(foot, yaw, pitch, far, OVER_LENS_MM) for pitch in OVER_PITCHES_DEG[1:3])
    aware = rounded(AWARE_HEIGHTS * height) if height >= LEAST_AWARE_M else None
    opened = free * CLEAR_SHARE < far
    return Taken(foot, yaw, camera, sweep, eyes, open_up=opened, awareness_m=aware)


def _peopled(spots: Sequence[Point], likely: Sequence[Node], height_m: float) -> list[Point]:
    """Spots from that one on which has most things about it; those alike as they came."""
    middles = [((node.bounds[0] + node.bounds[1]) / 2).tolist() for node in likely[:MOST_THINGS]]
    near = ABOUT * height_m

    def about(spot: Point) -> int:
        return sum(hypot(x - spot[0], y - spot[1], z - spot[2]) <= near for x, y, z in middles)

    few = spots[:: max(1, len(spots) // MOST_SPOTS)]
    best = max(few, key=about)
    away = {spot: hypot(spot[0] - best[0], spot[2] - best[2]) for spot in spots}
    return sorted(spots, key=lambda spot: round(away[spot], 3))


def _freest(
    ground: Ground, sides: Sequence[float], pitch_deg: float, enough_m: float
) -> tuple[Point, float, float]:
    """Of the spots the first, and its side, from which a camera so far off is free; else the freest one."""
    best: tuple[float, Point, float] | None = None
    for spot in ground.spots[:: max(1, len(ground.spots) // 12)][:12]:
        for side in sides:
            free = min(ground.free(spot, side, pitch_deg), enough_m / CLEAR_SHARE)
            if best is None or free > best[0] + 1e-6:
                best = (free, spot, side)
        if best is not None and best[0] * CLEAR_SHARE >= enough_m:
            break
    assert best is not None  # there is one spot at least
    return best[1], best[2], best[0]


KINDS: Mapping[str, Callable[[Ground], Taken]] = {
    "third-person": third_person,
    "first-person": first_person,
    "side-on": side_on,
    "overhead": overhead,
    "two-subjects": two_subjects,
}
