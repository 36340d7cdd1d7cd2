"""Visibility: how much of a target is in the picture, how much is seen, and what hides it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import atan2, degrees, hypot

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.geometry.pixels import id_counts
from stationpoint.camera import Camera, Frames, project_points
from stationpoint.readings.frames.drawn import REACHING, OnPicture
from stationpoint.readings.frames.masks import Mask, measured_masks
from stationpoint.readings.frames.shots import MAIN, shot_plan, shots_for
from stationpoint.readings.targets.pieces import PIECE_SHARE, Piece, piece_arcmin, seen_outline, visible_piece
from stationpoint.readings.targets.safe_areas import OPAQUE, uncovered
from stationpoint.readings.things.things import ANY, SUBJECT, SceneObject, and_subject, asks_for
from stationpoint.readings.types import SHARE, Case, Field, Kind, Path, Reading, Value
from stationpoint.scene import Scene, under

LEAST_DROP_M = 0.01
NONE, OWN = np.uint32(2**32 - 2), np.uint32(2**32 - 1)  # no id is as high
NO_WHOLE = "it reaches behind the camera"
SIDES = ("left", "right", "above", "below")
FIELDS = (
    Field(
        ("targets", "*", "in_frame"), SHARE, 5, "Share of its whole silhouette in the picture.", null=NO_WHOLE
    ),
    Field(
        ("targets", "*", "seen"),
        SHARE,
        5,
        "Share of its whole silhouette that is in frame, unhidden and not under interface; 0 where there is "
        "nothing to see of it, edge-on or from an open back.",
        plain="how much of its whole outline is in the picture and not hidden",
        null="it reaches behind the camera",
    ),
    Field(
        ("targets", "*", "quantum"),
        SHARE,
        7,
        "Error that counting pixels can make in its shares (in_frame, seen, hidden_by, action_safe, "
        "title_safe): (border pixels / 2 + 1) / silhouette pixels; the true share lies within it.",
        null="nothing was counted, or a bare point",
    ),
    Field(
        ("targets", "*", "hidden_by"),
        SHARE,
        5,
        "Share of the whole silhouette in frame that each node covers, by node.",
        null=NO_WHOLE,
        holds="shares by node",
    ),
    Field(
        ("targets", "*", "screen_share"),
        SHARE,
        5,
        "Its visible pixels over the picture's.",
        null="a bare point, or a box that reaches behind the camera",
    ),
    Field(
        ("targets", "*", "piece_arcmin", "*"),
        "'",
        3,
        "Smaller side of the smallest rectangle round its largest piece that is seen, at the seat; 0 where "
        "nothing of it is.",
        null="a bare point, or it reaches behind the camera",
    ),
    Field(
        ("targets", "*", "off_picture"),
        "deg",
        4,
        "The side off which it lies, and the angle by which it is missed; of parts off several sides, the "
        "nearest.",
        null="some of it is in the picture; the angle alone: in parallel views",
        holds="numbers",
    ),
)


def in_frame(mask: Mask) -> float:
    """Share of the whole silhouette inside the picture.

    None where it reaches behind the camera. Source: definition. Worked: a 2 m square at x 4 to 6, picture
    edge at 5: .5.
    """
    if mask.frame is None:
        return 1.0
    return float(np.sum(mask.frame, where=mask.whole, dtype=np.float64)) / mask.count


def seen(case: Case, mask: Mask) -> float:
    """Share of the whole silhouette that is in frame, unhidden and not under a reserved area.

    A reserved area counts from opacity 0.5 on. None where it reaches behind the camera. Source:
    definition. Worked: an occluder over half of a square: .5.
    """
    open_share = _open_share(case, mask)
    if open_share is None:
        return int(np.count_nonzero(mask.visible)) / mask.count
    return float(np.sum(open_share, where=mask.visible, dtype=np.float64)) / mask.count


def _open_share(case: Case, mask: Mask) -> NDArray[np.float32] | None:
    """Of each pixel of a mask, how much is in the picture and under no opaque area; None: all of all."""
    opaque = [area for area in case.study.reserved if area.opacity >= OPAQUE]
    if mask.frame is None and not opaque:
        return None
    weight = np.ones(mask.whole.shape, dtype=np.float32) if mask.frame is None else mask.frame.copy()
    for area in opaque:
        weight *= uncovered(case, mask, area, 1.0)
    return weight


def quantum(mask: Mask) -> float | None:
    """By how much counting pixels can be off in its shares: (border pixels / 2 + 1) / silhouette pixels.

    A pixel counts whole or not, by its centre. Along a straight edge that moves the count of each row
    (of each column, where the edge is rather level) by half a pixel at most; where the edge runs along a
    column of pixels, all rows the same way, so the halves add up. Each has a border pixel at least:
    one that shows something else than a neighbour beside, above or below it. At the outline it lies inside;
    along a cover's edge there is one on either side, so that a slit or bar of one pixel, with its two
    edges, has enough. Ends of edges add up to a pixel. What is over is large: an error of
    the outline moves a share and what it is a share of alike, and was counted as if it did not. What falls
    between the centres of pixels, as a wire thinner than one does, has no border.

    None for a bare point: it is seen or not. Source: definition. Worked: a square of 100 x 100 pixels
    alone: (396 / 2 + 1) / 10000 = .0199; with its right half hidden: (396 + 196) / 2 and 1: .0297.
    """
    if mask.at.thing.is_point:
        return None
    height, width = mask.whole.shape
    label = np.full((height + 2, width + 2), NONE)
    inner = label[1:-1, 1:-1]
    np.copyto(inner, mask.ids, where=mask.whole)
    np.copyto(inner, OWN, where=mask.visible)
    beside, below = label[1:-1, 1:] != label[1:-1, :-1], label[1:, 1:-1] != label[:-1, 1:-1]
    border = beside[:, 1:] | beside[:, :-1] | below[1:] | below[:-1]
    border_px = int(np.count_nonzero(border & mask.whole))
    return (border_px / 2.0 + 1.0) / mask.count


def covers(mask: Mask) -> NDArray[np.float64]:
    """Share of the whole silhouette in frame whose nearest cover has each id, (n,)."""
    hidden = mask.whole & ~mask.visible
    weights = None if mask.frame is None else mask.frame[hidden]
    return np.bincount(mask.ids[hidden], weights=weights) / mask.count


def hidden_by(case: Case, mask: Mask) -> dict[str, float]:
    """Node -> share of the whole silhouette in frame whose nearest cover it is, the largest first.

    Shares of one pixel are left out. None where it reaches behind the camera. Source: definition. Worked:
    an occluder over half of a square: {occluder: .5}.
    """
    share, nodes = covers(mask)[1:], case.scene.nodes
    least = 1.001 / mask.count if mask.count > 1 else 0.0
    more = np.flatnonzero(share[: len(nodes)] > least)
    names = {nodes[k].name: float(share[k]) for k in more}
    return dict(sorted(names.items(), key=lambda item: (-item[1], item[0])))


def screen_share(mask: Mask, camera: Camera) -> float:
    """Share of the picture's pixels that show the target.

    None for a bare point, and for a box not drawn that reaches behind the camera. Source: definition.
    Worked: a square of .0711111 of the picture, half hidden: .0356.
    """
    weight = np.count_nonzero(mask.visible)
    if mask.frame is not None:
        weight = np.sum(mask.frame, where=mask.visible, dtype=np.float64)
    return float(weight) * mask.step_px[0] * mask.step_px[1] / (camera.pixels[0] * camera.pixels[1])


def off_picture(camera: Camera, scene: Scene, at: OnPicture) -> tuple[str, float | None]:
    """The side off which a target lies, and the angle in degrees by which it is missed.

    "left", "right", "above" or "below": between the sightlines of the picture's edge and of the
    nearest side of its box; of parts that lie off several sides, the nearest one's. "behind": how far its
    centre is beyond the half angle of view. The angle is None in parallel views. Source: definition.
    Worked: 90 degrees wide, nearest side at 60 degrees to the right: ("right", 15); another part of it at
    50 degrees to the left: ("left", 5).
    """
    if at.box_px is None:
        x, y, z = camera.view[:3, :3] @ at.thing.centre_m + camera.view[:3, 3]
        off_axis = degrees(atan2(hypot(x, y), -z))
        return "behind", off_axis - degrees(atan2(1.0, float(camera.projection[0, 0])))
    beyond_px = _beyond_px(camera, _parts_px(camera, scene, at))
    sides = beyond_px.argmax(axis=1)
    missed_px = beyond_px.max(axis=1)
    if camera.parallel:
        return SIDES[sides[missed_px.argmin()]], None
    size = np.array(camera.pixels, dtype=np.float64)
    axis, is_far = sides // 2, sides % 2 == 1
    edge_px = np.where(is_far, size[axis], 0.0)
    part_px = edge_px + np.where(is_far, missed_px, -missed_px)
    angles = np.abs(_angle_deg(camera, axis, part_px) - _angle_deg(camera, axis, edge_px))
    least = int(angles.argmin())
    return SIDES[sides[least]], float(angles[least])


def _parts_px(camera: Camera, scene: Scene, at: OnPicture) -> NDArray[np.float64]:
    """Boxes (n, 4) of what a target off the picture is made of, each off one side of it: the whole, else
    its nodes, else their faces; of a face past a corner its centre."""
    boxes = np.array([at.box_px])
    if _is_off(camera, boxes).all():
        return boxes
    nodes = [scene.node(name) for name in at.thing.nodes]
    found: list[NDArray[np.float64]] = []
    for node in nodes if at.thing.box is None else [at.thing.box]:
        corners = project_points(camera, node.vertices)[node.faces]
        box = _boxes(corners.reshape(1, -1, 2))
        if _is_off(camera, box).all():
            found.append(box)
            continue
        boxes = _boxes(corners)
        past = ~_is_off(camera, boxes)
        boxes[past] = np.tile(corners[past].mean(axis=1), 2)
        found.append(boxes)
    return np.concatenate(found)


def _boxes(px: NDArray[np.float64]) -> NDArray[np.float64]:
    """Left, top, right, bottom, (n, 4), round points (n, k, 2)."""
    return np.concatenate([px.min(axis=1), px.max(axis=1)], axis=1)


def _beyond_px(camera: Camera, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far each box (n, 4) lies beyond each of SIDES, (n, 4), pixels; below 0 where it does not."""
    width, height = camera.pixels
    left, top, right, bottom = boxes.T
    return np.column_stack([-right, left - width, -bottom, top - height])


def _is_off(camera: Camera, boxes: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which boxes (n, 4) lie off one side, (n,)."""
    off: NDArray[np.bool_] = _beyond_px(camera, boxes).max(axis=1) >= 0
    return off


def _angle_deg(camera: Camera, axis: NDArray[np.intp], px: NDArray[np.float64]) -> NDArray[np.float64]:
    """Angles in degrees off the camera's axis, (n,), of columns (axis 0) or rows (axis 1) of the cell."""
    ndc = 2.0 * px / np.array(camera.pixels)[axis] - 1.0
    shift = camera.projection[axis, 2] * np.where(axis == 0, 1.0, -1.0)
    angles: NDArray[np.float64] = np.degrees(np.arctan2(ndc + shift, camera.projection[axis, axis]))
    return angles


def read(case: Case, frames: Frames) -> Reading:
    """All targets and the subject; of targets also outlines of what is seen, and where their marks go."""
    camera = case.setup.camera
    several = measured_masks(case, frames)
    values: dict[Path, Value] = {}
    outlines: dict[str, NDArray[np.float64]] = {}
    extras: dict[Path, NDArray[np.float64]] = {}
    marked: list[tuple[SceneObject, Piece | None]] = []
    for path, view in shot_plan(case).measured.items():
        if path not in several.found:
            continue
        mask, thing = several.found[path], view.at.thing
        values.update(_values(case, view.at, mask, path in several.absent, frames))
        if not case.marked and not asks_for(case, thing, "piece_arcmin", ANY):
            continue
        piece = None if mask is None or thing.is_point else visible_piece(mask)
        unseen = None if thing.is_point or view.at.state == REACHING else 0.0
        open_piece = piece if mask is None or not case.study.reserved else _open_piece(case, mask, piece)
        for seat in case.seats:
            values[*path, "piece_arcmin", seat.name] = (
                unseen if open_piece is None else piece_arcmin(camera, seat, open_piece)
            )
        if path == (SUBJECT,) and piece is not None:
            extras[path] = piece.midst_px[None]
        if view.at.thing.role == SUBJECT or not case.marked:
            continue
        if mask is not None and piece is not None:
            outlines[thing.name] = seen_outline(case, mask, piece)
        marked.append((thing, piece))
    extras.update(_extras(case, marked))
    return Reading(values, outlines, extras)


def _open_piece(case: Case, mask: Mask, piece: Piece | None) -> Piece | None:
    """The largest piece that no opaque area covers. piece: the largest one, covered or not."""
    open_share = _open_share(case, mask)
    if piece is None or open_share is None:
        return piece
    return visible_piece(replace(mask, visible=mask.visible & (open_share >= PIECE_SHARE)))


def _values(case: Case, at: OnPicture, mask: Mask | None, absent: bool, frames: Frames) -> dict[Path, Value]:
    """What is asked for of a thing but its pieces, by path."""
    camera, path = case.setup.camera, at.thing.path
    if mask is None:
        return {(*path, key): value for key, value in _unmasked(case, at, absent, frames).items()}
    inside = in_frame(mask)
    read_by: dict[str, Callable[[], Value]] = {
        "in_frame": lambda: inside,
        "seen": lambda: seen(case, mask),
        "quantum": lambda: quantum(mask),
        "hidden_by": lambda: hidden_by(case, mask),
        "screen_share": lambda: None if at.thing.is_point else screen_share(mask, camera),
        "off_picture": lambda: off_picture(camera, case.scene, at) if inside == 0.0 else None,
    }
    return {(*path, key): value() for key, value in read_by.items() if asks_for(case, at.thing, key)}


def _unmasked(case: Case, at: OnPicture, absent: bool, frames: Frames) -> dict[str, Value]:
    """The same, by their names, of a thing that has no silhouette."""
    reaching = at.state == REACHING  # else there is nothing to see: off the picture, edge-on, or its back
    by_ids = _share_by_ids(case, at, frames) if reaching and MAIN in frames else 0.0
    is_off = absent and asks_for(case, at.thing, "off_picture")
    return {
        "in_frame": 0.0 if absent else None,
        "seen": None if reaching else 0.0,
        "quantum": None,
        "hidden_by": None if reaching else {},
        "screen_share": None if at.thing.is_point else by_ids,
        "off_picture": off_picture(case.setup.camera, case.scene, at) if is_off else None,
    }


def _share_by_ids(case: Case, at: OnPicture, frames: Frames) -> float | None:
    """Pixels of the picture that show a thing which has no whole silhouette, over all of them."""
    ids = frames[MAIN].ids
    if ids is None or not at.thing.nodes:
        return None
    own = [case.scene.id_of(name) for name in at.thing.nodes]
    counts = id_counts(ids, max(own) + 1)
    return float(counts[own].sum()) / ids.size


def _extras(case: Case, several: list[tuple[SceneObject, Piece | None]]) -> dict[Path, NDArray[np.float64]]:
    """("target", NAME) of each: its centre, its foot, and a spot in the midst of what is seen of it, if any
    is. ("drop", NAME): its foot and the floor straight below, where it stands above one."""
    extras: dict[Path, NDArray[np.float64]] = {}
    drops, spots_m = list[float](), list[NDArray[np.float64]]()
    for thing, _ in several:
        foot = thing.foot_m
        below = under(case.scene, (float(foot[0]), float(foot[1]), float(foot[2])), ignoring=thing.nodes)
        drops.append(0.0 if below is None else below[1])
        spots_m += [thing.centre_m, foot, foot - (0.0, drops[-1], 0.0)]
    if not several:
        return extras
    every = project_points(case.setup.camera, spots_m).reshape(-1, 3, 2)
    drawn: list[list[bool]] = np.asarray(np.isfinite(every).all(axis=2)).tolist()
    for (thing, piece), drop, spots, (centre, foot_is, floor) in zip(
        several, drops, every, drawn, strict=True
    ):
        if centre and foot_is:
            seen_at = [] if piece is None else [piece.midst_px]
            extras["target", thing.name] = np.vstack([spots[:2], *seen_at])
        if drop > LEAST_DROP_M and foot_is and floor:
            extras["drop", thing.name] = spots[1:]
    return extras


KIND = Kind("visibility", and_subject(FIELDS), read, shots_for(FIELDS))
