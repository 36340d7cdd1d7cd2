"""A few named things that the first camera sees, as targets to start from."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from math import cos, hypot, inf, radians, sin
from typing import TYPE_CHECKING, NamedTuple

from stationpoint.study.first.view import PICTURE_MM, Point, span_m

if TYPE_CHECKING:
    from stationpoint.scene import Node

MOST_TARGETS, MOST_NODES, MOST_ASKED = 4, 2000, 24
TARGET_M = (0.2, 4.0)  # largest extent of a node that is likely a thing
FLAT_M, WALL_SHARE = 0.02, 0.7  # thinner than that lies flat; wider than that share of the scene is a wall
SMALLEST, WITHIN = 0.03, 0.85  # of the picture's width that a thing fills; of its half that its middle is in
SEEN_SHARE = 0.4  # of the points of a thing that nothing else hides
SLACK_M = 0.02  # what a scan of the same thing may lie before it
NUMBERED = re.compile(r"part-\d+(\.\d+)?")  # the name of a node that had none
WORDS = re.compile(r"[a-z]+")
STRUCTURE = frozenset(
    [
        "floor",
        "ground",
        "terrain",
        "ceiling",
        "roof",
        "sky",
        "skybox",
        "skydome",
        "collider",
        "collision",
        "trigger",
        "invisible",
        "global",
    ]
)
GENERIC = frozenset(
    [
        "mesh",
        "object",
        "obj",
        "node",
        "group",
        "grp",
        "cube",
        "box",
        "plane",
        "cylinder",
        "sphere",
        "polysurface",
        "geometry",
        "geom",
        "primitive",
        "default",
        "material",
        "submesh",
        "instance",
        "part",
        "shape",
        "model",
        "untitled",
        "layer",
        "root",
        "scene",
        "id",
    ]
)
Way = Callable[[Point, Point, str], float]


class Eye(NamedTuple):
    """Where the first camera is and what it takes in: unit vectors, and half the picture's width and
    height a metre before it (or, parallel, at any distance)."""

    at: Point
    right: Point
    up: Point
    back: Point
    half_width: float
    half_height: float
    parallel: bool = False


def eye_of(anchor: Point, yaw_deg: float, pitch_deg: float, distance_m: float, focal_mm: float) -> Eye:
    """The eye of a camera that looks at an anchor; angles as a study writes them, a picture of 16:9."""
    yaw, pitch = radians(yaw_deg), radians(pitch_deg)
    back = (sin(yaw) * cos(pitch), sin(pitch), cos(yaw) * cos(pitch))
    right = (cos(yaw), 0.0, -sin(yaw))
    up = (-sin(yaw) * sin(pitch), cos(pitch), -cos(yaw) * sin(pitch))
    at = (
        anchor[0] + distance_m * back[0],
        anchor[1] + distance_m * back[1],
        anchor[2] + distance_m * back[2],
    )
    return Eye(at, right, up, back, 18.0 / focal_mm, PICTURE_MM / 2 / focal_mm)


def likely_targets(
    things: Sequence[Node],
    foot: Sequence[float],
    eye: Eye | None = None,
    free_m: Way | None = None,
    sees: Callable[[Node], bool] | None = None,
) -> list[Node]:
    """A few nodes that a player would look at: of a thing's size, with names that read as names.

    eye, free_m: the first camera, and metres from a point (3,) along a direction (3,) to the next surface
    that is not the named node. With them: what is seen from there, at different distances, different
    kinds first; sees: which of those that are in the picture, where not by free_m. Without: what is nearest
    to the subject. What lies flat, or goes across most of the
    scene, is a floor, a ceiling or a wall.
    """
    if not 2 <= len(things) <= MOST_NODES:
        return []
    likely = likely_things(things)

    def away(node: Node) -> float:
        low, high = node.bounds
        return hypot(float(low[0] + high[0]) / 2 - foot[0], float(low[2] + high[2]) / 2 - foot[2])

    def is_open(node: Node) -> bool:
        return free_m is not None and eye is not None and open_share(node, eye, free_m) >= SEEN_SHARE

    if eye is None or (free_m is None and sees is None):
        return sorted(likely, key=away)[:MOST_TARGETS]
    framed = sorted((depth, k, node) for k, node in enumerate(likely) if (depth := _framed_m(node, eye)) > 0)
    asked = [(depth, node) for depth, _, node in _spread(framed, MOST_ASKED)]
    seen = [(depth, node) for depth, node in asked if (sees or is_open)(node)]
    kinds: dict[str, tuple[float, Node]] = {}
    for depth, node in seen:
        kinds.setdefault(_kind(node.name), (depth, node))
    first = _spread(sorted(kinds.values(), key=lambda entry: entry[0]), MOST_TARGETS)
    rest = [entry for entry in seen if all(entry[1] is not one[1] for one in first)]
    chosen = [*first, *_spread(rest, MOST_TARGETS - len(first))]
    return [node for _, node in sorted(chosen, key=lambda entry: entry[0])]


def likely_things(things: Sequence[Node]) -> list[Node]:
    """The nodes of a thing's size whose names read as names; generic names only where there is no other."""
    spans = [span_m(things, axis) for axis in (0, 2)]
    likely = [node for node in things if _is_thing_by_name(node.name) and _is_thing(node, spans)]
    return [node for node in likely if not _is_generic(node.name)] or likely


def count_framed(likely: Sequence[Node], eye: Eye) -> int:
    """How many nodes an eye has well in its picture, hidden or not."""
    return sum(_framed_m(node, eye) > 0 for node in likely)


def _spread(entries: Sequence[tuple[float, *tuple[object, ...]]], most: int) -> list:  # type: ignore[type-arg]
    """At most so many entries, evenly over the list, both ends among them."""
    if len(entries) <= most:
        return list(entries)
    if most < 2:
        return list(entries[:most])
    return [entries[round(k * (len(entries) - 1) / (most - 1))] for k in range(most)]


def _is_thing_by_name(name: str) -> bool:
    words = WORDS.findall(name.lower())
    if NUMBERED.fullmatch(name) or not any(len(word) >= 3 for word in words):
        return False
    return not STRUCTURE & set(words) and ("wall" not in words or "art" in words)


def _is_generic(name: str) -> bool:
    return all(word in GENERIC or len(word) < 3 for word in WORDS.findall(name.lower()))


def _kind(name: str) -> str:
    return " ".join(WORDS.findall(name.lower()))


def _is_thing(node: Node, spans: Sequence[tuple[float, float]]) -> bool:
    low, high = node.bounds
    x, y, z = (float(extent) for extent in high - low)
    across = [x / (spans[0][1] - spans[0][0] or 1.0), z / (spans[1][1] - spans[1][0] or 1.0)]
    return TARGET_M[0] <= max(x, y, z) <= TARGET_M[1] and y >= FLAT_M and max(across) < WALL_SHARE


def _dot(a: Iterable[float], b: Iterable[float]) -> float:
    return sum(x * y for x, y in zip(a, b, strict=True))


def _framed_m(node: Node, eye: Eye) -> float:
    """Depth of a node's middle that lies well in the picture and is not too small there; else 0."""
    low, high = node.bounds.tolist()
    way = [(a + b) / 2 - c for a, b, c in zip(low, high, eye.at, strict=True)]
    depth = -_dot(way, eye.back)
    if depth <= 0.3:
        return 0.0
    far = 1.0 if eye.parallel else depth
    x, y = _dot(way, eye.right) / far / eye.half_width, _dot(way, eye.up) / far / eye.half_height
    size = max(b - a for a, b in zip(low, high, strict=True)) / far / (2 * eye.half_width)
    return depth if max(abs(x), abs(y)) <= WITHIN and SMALLEST <= size <= 1.0 else 0.0


def open_share(node: Node, eye: Eye, free_m: Way) -> float:
    """Of some points of a thing, the share that nothing else hides from an eye."""
    points = list(points_of(node))
    open_ones = 0
    for point in points:
        way = (point[0] - eye.at[0], point[1] - eye.at[1], point[2] - eye.at[2])
        entry = _entry_m(node, eye.at, way)
        open_ones += entry < inf and free_m(eye.at, way, node.name) >= entry - SLACK_M
    return open_ones / len(points)


def points_of(node: Node) -> Iterator[Point]:
    """The middle of a node's bounds, and four about it, a third of the way to its sides."""
    low, high = node.bounds.tolist()
    x, y, z = ((a + b) / 2 for a, b in zip(low, high, strict=True))
    dx, dy, dz = ((b - a) / 3 for a, b in zip(low, high, strict=True))
    yield (x, y, z)
    for sx, sy, sz in ((1, 1, 1), (-1, 1, -1), (1, -1, -1), (-1, -1, 1)):
        yield (x + sx * dx, y + sy * dy, z + sz * dz)


def _entry_m(node: Node, start: Point, way: Point) -> float:
    """Metres along a direction to where it enters a node's bounds; infinity where it misses them."""
    low, high = node.bounds.tolist()
    enter, leave = 0.0, inf
    for a, b, at, by in zip(low, high, start, way, strict=True):
        by = by or 1e-12
        near, far = sorted(((a - at) / by, (b - at) / by))
        enter, leave = max(enter, near), min(leave, far)
    return enter * hypot(*way) if enter <= leave + 1e-9 else inf
