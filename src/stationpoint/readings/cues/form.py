"""L: light that tells the faces of a thing apart, and with them its form."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import lightness, luminance
from stationpoint.base.geometry.vectors import cross, dot, length
from stationpoint.camera import project_points
from stationpoint.readings.cues.rules import Cue, graded
from stationpoint.readings.frames.sight import Sight, ids_of, table
from stationpoint.readings.frames.surfaces import surface
from stationpoint.readings.things.pairs import End, Pair
from stationpoint.readings.things.things import SceneObject, case_mark_m
from stationpoint.readings.types import Case
from stationpoint.scene import Node

Points = NDArray[np.float64]

STEP_LIGHTNESS = 5.0
ONE_FACE_COSINE = np.cos(np.radians(20.0))  # faces that are turned by less count as one
MOST_FACES, MOST_PIXELS = 64, 2000
LEAST_ARCMIN2 = 25.0  # 5' x 5': a face that shows less is not counted, common practice
AT_ONCE = 8192  # triangles, which stay near the processor
OPPOSITE = 100 * (101 * 101 + 101 + 1)  # the numbers of a direction and of its opposite together
BACK = np.array([[1.0], [-1.0], [-1.0], [-1.0]])
NORMAL_SHARE = 0.3  # of a mark's length


@dataclass(frozen=True, slots=True)
class LitFace:
    """A face that can be told by its light: middle_px (2,), cell; centre_m (3,) and normal (3,), world."""

    middle_px: tuple[float, ...]
    centre_m: tuple[float, ...]
    normal: tuple[float, ...]


def light_on_form(sight: Sight, pair: Pair) -> Cue:
    """How many faces of the second one are visible that are told apart by steps of 5 in L*.

    Faces turned by less than 20 degrees to each other are one; each must show 5' x 5' or more. Of a landing
    on the node of its take-off, as in a scan of one mesh, what lies within a mark's length counts. Tells the
    form, neither order nor amount. None where either of the two is behind the eye or out of the picture.
    Source: common practice. Worked: a box with L* 95, 80 and 60 on its three visible sides: 3; with 95,
    93 and 60: 2.
    """
    return graded("light_on_form", float(len(lit_faces(sight, pair))), sight.factor)


@lru_cache(maxsize=8)
def lit_faces(sight: Sight, pair: Pair) -> tuple[LitFace, ...]:
    """The visible faces of the second one, darkest first, each 5 lighter than the last one counted."""
    nodes = [sight.case.scene.nodes[k - 1] for k in ids_of(sight.case, pair.b.own)]
    rows, columns, each = _own_pixels(sight, pair)
    if not nodes or len(rows) < 3:
        return ()
    points, normals, good = surface(sight.camera, sight.ids, sight.depth_m, rows, columns)
    if pair.on_one_node:
        near = length(points - pair.b.foot_m) <= case_mark_m(sight.case)
        points, normals, good[good] = points[near], normals[near], near
    light = luminance(sight.colour[rows[good], columns[good]])
    rows, columns = rows[good], columns[good]
    ways = directions(nodes)
    if not len(light) or not len(ways):
        return ()
    face = np.argmax(normals @ ways.T, axis=1)
    areas = each * sight.px_arcmin2(columns + 0.5, rows + 0.5)
    found = []
    for k in np.flatnonzero(np.bincount(face, areas) >= LEAST_ARCMIN2).tolist():
        shades = np.sort(light[face == k])  # lighter ones have more luminance: the middle is the same
        middle = lightness(shades[[(len(shades) - 1) // 2, len(shades) // 2]])
        found.append((float(middle[0] + middle[1]) / 2.0, k))
    count = np.maximum(np.bincount(face), 1)
    middles = np.column_stack([np.bincount(face, at) / count + 0.5 for at in (columns, rows)])
    centres = np.column_stack([np.bincount(face, at) / count for at in points.T])
    counted: list[LitFace] = []
    last = -np.inf
    for shade, k in sorted(found):
        if shade - last >= STEP_LIGHTNESS:
            last = shade
            counted.append(LitFace(tuple(middles[k]), tuple(centres[k]), tuple(ways[k])))
    return tuple(counted)


def lit_end(case: Case, pair: Pair) -> End:
    """The second one; on the node of the take-off no more of it than lies within a mark's length."""
    end = pair.b
    if not pair.on_one_node:
        return end
    corners = end.foot_m + case_mark_m(case) * (np.array(list(np.ndindex(2, 2, 2))) * 2.0 - 1.0)
    return replace(end, thing=SceneObject(pair.name, "", end.own, None, corners, corners[[0, -1]]))


def _own_pixels(sight: Sight, pair: Pair) -> tuple[NDArray[np.intp], NDArray[np.intp], int]:
    """Rows and columns of the pixels of the picture that show the second one, and for how many each
    stands: of a large thing an even sample will do."""
    box = sight.box_of(lit_end(sight.case, pair))
    if box is None:
        none = np.zeros(0, dtype=np.intp)
        return none, none, 1
    top, left = box[0].start, box[1].start
    rows, columns = np.nonzero(table(sight.case, pair.b.own)[sight.ids[box]])
    each = max(1, len(rows) // MOST_PIXELS)
    return rows[::each] + top, columns[::each] + left, each


def directions(nodes: list[Node]) -> Points:
    """The nodes' face directions, (n, 3) unit, those within 20 degrees of a larger one left out."""
    return _directions(tuple(nodes))


@lru_cache(maxsize=256)
def _directions(nodes: tuple[Node, ...]) -> Points:
    parts = list[tuple[NDArray[np.intp], Points]]()
    for node in nodes:
        starts = range(0, max(1, len(node.faces)), AT_ONCE)
        some = [_gathered(node.vertices[node.faces[k : k + AT_ONCE]]) for k in starts]
        parts += (
            some if node.closed else [*some, *((OPPOSITE - same, turned * BACK) for same, turned in some)]
        )
    same = np.concatenate([each for each, _ in parts])
    used = np.flatnonzero(np.bincount(same))
    area, *rows = (
        np.bincount(same, row)[used] for row in np.concatenate([each for _, each in parts], axis=1)
    )
    summed = np.column_stack(rows)
    summed = summed / np.maximum(np.linalg.norm(summed, axis=1), 1e-12)[:, None]
    kept: list[Points] = []
    surely = np.zeros(len(summed), dtype=bool)  # within 20 degrees of one that is kept: most are, of a scan
    for k in np.argsort(-area, kind="stable").tolist():
        if len(kept) >= MOST_FACES:
            break
        if surely[k] or (kept and float((np.array(kept) @ summed[k]).max()) >= ONE_FACE_COSINE):
            continue
        kept.append(summed[k])
        surely |= dot(summed, summed[k]) > ONE_FACE_COSINE + 1e-9
    return np.array(kept).reshape(-1, 3)


def _gathered(corners: NDArray[np.float32]) -> tuple[NDArray[np.intp], Points]:
    """Of triangles (n, 3, 3) with an area the direction, rounded to a fiftieth, as one whole number each,
    which gathers coplanar ones, (m,); twice the area and that times the direction, (4, m)."""
    a, b, c = np.ascontiguousarray(corners.transpose(1, 2, 0), dtype=np.float64)
    normal = np.ascontiguousarray(cross((b - a).T, (c - a).T).T)
    size = length(normal.T)
    normal, size = normal[:, size > 0], size[size > 0]
    normal = normal / size
    x, y, z = np.rint(normal * 50.0).astype(np.intp) + 50
    return (x * 101 + y) * 101 + z, np.concatenate([size[None], size * normal])


def light_on_form_mark(sight: Sight, pair: Pair) -> Points | None:
    """Middle of each lit face, and the end of a normal 0.3 of a mark's length long, in turns, (2 n, 2)."""
    faces = lit_faces(sight, pair)
    if not faces:
        return None
    long_m = NORMAL_SHARE * case_mark_m(sight.case)
    ends = [np.array(face.centre_m) + long_m * np.array(face.normal) for face in faces]
    starts = [np.array(face.centre_m) for face in faces]
    return project_points(sight.camera, [point for two in zip(starts, ends, strict=True) for point in two])
