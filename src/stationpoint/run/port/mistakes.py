"""The mistakes that ports make: for each, where it would draw the check points.

A mistake belongs to a stage of the way from world to picture; two of different stages make a pair. What each
draws is made from the camera that was handed off, with the one thing wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import permutations, product
from math import atan, degrees, hypot, radians, tan

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.camera import Lens, pose_of, turned_by, view_from, yaw_pitch_roll
from stationpoint.record import HandedBack
from stationpoint.study import CameraFields

Matrix = NDArray[np.float64]
Points = NDArray[np.float64]
Picture = Callable[[Points, Points, tuple[int, int]], Points]  # drawn so far, seen, size of the picture

WORLD, POSE, LENS, PICTURE, MATRIX = "world", "pose", "lens", "picture", "matrix"
LEAST_SCALE = 0.01  # of a picture, of which anything more is to be told
UNITS = {
    100.0: "centimetres for metres, or the reverse",
    1000.0: "millimetres for metres, or the reverse",
    10.0: "millimetres for centimetres, or the reverse",
    1 / 0.0254: "inches for metres, or the reverse",
    1 / 2.54: "inches for centimetres, or the reverse",
    1 / 0.3048: "feet for metres, or the reverse",
}


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """What a port does: world points into ours (4, 4), a view, a projection, and what becomes of pixels."""

    world: Matrix
    view: Matrix
    projection: Matrix
    picture: Picture | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Mistake:
    """One thing done wrong. name: short and fixed; says: in a sentence; stage: where on the way; alters: the
    right Trial to the wrong one. common: whether it is tried in pairs. tells: by how much, of what is fitted
    to the pixels seen (drawn so far, seen, size of the picture); None of what comes in one size."""

    name: str
    says: str
    stage: str
    alters: Callable[[Trial], Trial]
    common: bool = True
    tells: Callable[[Points, Points, tuple[int, int]], str] | None = None


def right_trial(handed: HandedBack) -> Trial:
    """The port that makes no mistake."""
    return Trial(np.eye(4), handed.camera.view, handed.camera.projection)


def drawn_px(handed: HandedBack, trial: Trial, points_m: Points, seen_px: Points) -> Points:
    """Where a trial draws points (n, 3), pixels (n, 2); what is behind the eye is divided all the same.

    seen_px: where the port drew them, for what is fitted to it.
    """
    clip = _clip(trial, points_m)
    width, height = handed.camera.pixels
    with np.errstate(all="ignore"):
        ndc = clip[:, :2] / clip[:, 3:4]
    px = np.column_stack([(ndc[:, 0] + 1.0) * 0.5 * width, (1.0 - ndc[:, 1]) * 0.5 * height])
    return px if trial.picture is None else trial.picture(px, seen_px, handed.camera.pixels)


def drawn_depth(trial: Trial, points_m: Points) -> tuple[Points, Points]:
    """Depth along the axis in metres, and after the divide in OpenGL's range, (n,) each."""
    placed = np.column_stack([points_m, np.ones(len(points_m))]) @ (trial.view @ trial.world).T
    clip = placed @ trial.projection.T
    with np.errstate(all="ignore"):
        return -placed[:, 2], clip[:, 2] / clip[:, 3]


def _clip(trial: Trial, points_m: Points) -> Points:
    whole = trial.projection @ trial.view @ trial.world
    found: Points = np.column_stack([points_m, np.ones(len(points_m))]) @ whole.T
    return found


def mistakes_of(handed: HandedBack) -> list[Mistake]:
    """Every mistake that could be made with a camera, those first that are made oftenest."""
    return [*_pictures(), *_lenses(handed), *_poses(handed), *_worlds(handed), *_matrices(handed)]


def pairs_of(mistakes: list[Mistake]) -> Iterator[Mistake]:
    """Two common mistakes of different stages at once."""
    common = [one for one in mistakes if one.common and one.stage != MATRIX]
    for k, one in enumerate(common):
        for other in common[k + 1 :]:
            if one.stage != other.stage:
                yield Mistake(
                    f"{one.name} and {other.name}", f"{one.says}; and {other.says}", "pair", _both(one, other)
                )


def _both(one: Mistake, other: Mistake) -> Callable[[Trial], Trial]:
    return lambda trial: other.alters(one.alters(trial))


# ---- the picture --------------------------------------------------------------------------------


def _pictures() -> Iterator[Mistake]:
    def of(name: str, says: str, picture: Picture, common: bool = True) -> Mistake:
        return Mistake(name, says, PICTURE, lambda trial: replace(trial, picture=picture), common)

    def fitted(name: str, says: str, picture: Picture, common: bool = False) -> Mistake:
        return replace(of(name, says, picture, common), tells=lambda *given: _corners(picture, *given))

    yield of(
        "mirrored x",
        "the picture is mirrored left to right, as by a camera space of the wrong hand",
        lambda px, seen, size: _mirror(px, size, (1, 0)),
    )
    yield of(
        "flipped y",
        "the picture is upside down: y counts from the bottom, or clip space has y the other way",
        lambda px, seen, size: _mirror(px, size, (0, 1)),
    )
    says = "the picture is turned by half a turn: both x and y are mirrored"
    yield of("turned half round", says, lambda px, seen, size: _mirror(px, size, (1, 1)), False)
    says = "x and y of the pixels are exchanged"
    yield of("x and y exchanged", says, lambda px, seen, size: px[:, ::-1], False)
    for x, y in product((-0.5, 0.0, 0.5), repeat=2):
        if (x, y) != (0.0, 0.0):
            way = " and ".join(f"{axis} by {by:+g} px" for axis, by in (("x", x), ("y", y)) if by)
            says = f"pixels are half a pixel off ({way}): their centres are at .5, not at whole numbers"
            yield of("half a pixel off", says, _moved_by(x, y), False)
    says = "x and y are fractions of the picture, not pixels"
    yield of("fractions for pixels", says, lambda px, seen, size: px / size, False)
    says = "x and y are from -1 to 1, not pixels"
    yield of("clip coordinates for pixels", says, _before_pixels, False)
    yield fitted("another resolution", "the picture has another resolution", _resized, True)
    says = "the picture has another shape, and another angle is kept, or its middle is elsewhere"
    yield fitted("another aspect", says, _reframed)
    yield fitted("stretched", "the picture is stretched to another aspect", _stretched)
    yield fitted("moved", "all is moved by the same number of pixels", _moved)


def _moved_by(x: float, y: float) -> Picture:
    return lambda px, seen, size: px + np.array([x, y])


def _before_pixels(px: Points, seen: Points, size: tuple[int, int]) -> Points:
    return np.column_stack([px[:, 0] / size[0] * 2.0 - 1.0, 1.0 - px[:, 1] / size[1] * 2.0])


def _corners(picture: Picture, px: Points, seen: Points, size: tuple[int, int]) -> str:
    """What a fitted picture makes of the whole one, in words: its size, and how far it is moved."""
    made = picture(px, seen, size)
    lines = [np.polyfit(px[:, k], made[:, k], 1) for k in range(2)]  # a scale and a move of x, and of y
    whole = f"{lines[0][0] * size[0]:.5g} x {lines[1][0] * size[1]:.5g} px"
    moves = [float(line[1]) for line in lines]
    return f"{whole}, moved by ({moves[0]:.4g}, {moves[1]:.4g})" if max(map(abs, moves)) > 0.05 else whole


def _moved(px: Points, seen: Points, size: tuple[int, int]) -> Points:
    found: Points = px + np.mean(seen - px, axis=0)
    return found


def _mirror(px: Points, size: tuple[int, int], which: tuple[int, int]) -> Points:
    on = np.array(which)
    found: Points = px * (1 - 2 * on) + on * np.array(size)
    return found


def _scale_of(px: Points, seen: Points) -> float:
    """By how much pixels must be scaled to come nearest to those seen; nan if that is no picture's."""
    with np.errstate(all="ignore"):
        scale = float(np.sum(px * seen) / np.sum(px * px))
    return scale if LEAST_SCALE < scale < 1.0 / LEAST_SCALE else float("nan")


def _resized(px: Points, seen: Points, size: tuple[int, int]) -> Points:
    return px * _scale_of(px, seen)


def _reframed(px: Points, seen: Points, size: tuple[int, int]) -> Points:
    """One scale, and a move: a picture of another shape round the same middle."""
    middle, seen_middle = px.mean(axis=0), seen.mean(axis=0)
    found: Points = (px - middle) * _scale_of(px - middle, seen - seen_middle) + seen_middle
    return found


def _stretched(px: Points, seen: Points, size: tuple[int, int]) -> Points:
    return px * [_scale_of(px[:, k : k + 1], seen[:, k : k + 1]) for k in range(2)]


# ---- the lens -----------------------------------------------------------------------------------


def _lenses(handed: HandedBack) -> Iterator[Mistake]:
    p = handed.camera.projection

    def scaled(x: float, y: float) -> Callable[[Trial], Trial]:
        """Another scale about the same axis; where the axis lands stays."""

        def alters(trial: Trial) -> Trial:
            new = trial.projection.copy()
            new[0, 0], new[1, 1] = x, y
            if handed.camera.parallel:
                new[0, 2], new[1, 2] = new[0, 2] * x / p[0, 0], new[1, 2] * y / p[1, 1]
            return replace(trial, projection=new)

        return alters

    def of(name: str, says: str, x: float, y: float, common: bool = True) -> Mistake:
        return Mistake(name, says, LENS, scaled(x, y), common)

    a = p[1, 1] / p[0, 0]
    if handed.camera.parallel:
        yield of(
            "half height for whole",
            "the view height is taken as half of it: all is drawn half as large",
            p[0, 0] / 2,
            p[1, 1] / 2,
        )
        yield of(
            "whole height for half",
            "half the view height is taken as the whole: all is drawn twice as large",
            p[0, 0] * 2,
            p[1, 1] * 2,
        )
        yield of("height for width", "the view height is taken as its width", p[0, 0] * a, p[1, 1] * a)
        yield of(
            "width for height", "the view's width is taken as its height", p[0, 0] / a, p[1, 1] / a, False
        )
    else:
        h, v, d = atan(1 / p[0, 0]), atan(1 / p[1, 1]), atan(hypot(1 / p[0, 0], 1 / p[1, 1]))
        yield of(
            "vertical for horizontal angle",
            "the vertical angle of view is used as the horizontal one",
            1 / tan(v),
            a / tan(v),
        )
        yield of(
            "horizontal for vertical angle",
            "the horizontal angle of view is used as the vertical one",
            1 / tan(h) / a,
            1 / tan(h),
        )
        yield of(
            "diagonal for vertical angle",
            "the diagonal angle of view is used as the vertical one",
            1 / tan(d) / a,
            1 / tan(d),
            False,
        )
        yield of(
            "diagonal for horizontal angle",
            "the diagonal angle of view is used as the horizontal one",
            1 / tan(d),
            a / tan(d),
            False,
        )
        for name, half in (("vertical", v), ("horizontal", h)):
            wrong = tan(degrees(half))
            by = 1.0 if name == "vertical" else a
            yield of(
                "degrees for radians in the lens",
                f"the {name} angle of view is in degrees where radians are asked for",
                by / wrong / a,
                by / wrong,
            )
            wrong = tan(radians(half))
            yield of(
                "radians for degrees in the lens",
                f"the {name} angle of view is in radians where degrees are asked for",
                by / wrong / a,
                by / wrong,
            )
        yield of(
            "half angle for whole",
            "the angle of view is taken as half of it",
            1 / tan(2 * v) / a,
            1 / tan(2 * v),
            False,
        )
        yield of(
            "half angle for whole",
            "the horizontal angle of view is taken as half of it",
            1 / tan(2 * h),
            a / tan(2 * h),
            False,
        )
        yield of(
            "whole angle for half",
            "half the angle of view is taken as the whole",
            1 / tan(v / 2) / a,
            1 / tan(v / 2),
            False,
        )
        yield of(
            "whole angle for half",
            "half the horizontal angle is taken as the whole",
            1 / tan(h / 2),
            a / tan(h / 2),
            False,
        )
        yield from _gates(handed, of)
    if abs(a - handed.aspect) < 1e-3:
        yield of("aspect forgotten", "the aspect is forgotten: x is scaled as y is", p[1, 1], p[1, 1])
        yield of(
            "aspect upside down", "height over width is taken as the aspect", p[1, 1] * a, p[1, 1], False
        )
    yield from _shifts(handed)


def _gates(handed: HandedBack, of: Callable[[str, str, float, float, bool], Mistake]) -> Iterator[Mistake]:
    """The focal length on another side of the gate."""
    focal, gate = handed.lens.get("focal_mm"), handed.lens.get("gate_mm")
    if not isinstance(focal, float | int) or not isinstance(gate, list) or len(gate) != 2:
        return
    width, height = float(gate[0]), float(gate[1])
    a = handed.aspect
    for side, x in (("height", 2 * focal / height / a), ("width", 2 * focal / width)):
        yield of(
            "focal length on another gate",
            f"the focal length is matched to the gate's {side}, not as `fit` says",
            x,
            x * a,
            True,
        )


def _shifts(handed: HandedBack) -> Iterator[Mistake]:
    x, y = handed.lens["shift"]
    oblique = handed.camera.kind == "oblique"

    def shifted(by_x: float, by_y: float) -> Callable[[Trial], Trial]:
        """The projection with that much of its shift."""

        def alters(trial: Trial) -> Trial:
            new = trial.projection.copy()
            if handed.camera.parallel:
                new[0, 3] += 2 * x * (by_x - 1)
                new[1, 3] += 2 * y * (by_y - 1)
            else:
                new[0, 2] *= by_x
                new[1, 2] *= by_y
            return replace(trial, projection=new)

        return alters

    if x or y:
        yield Mistake("lens shift forgotten", "the lens shift is forgotten", LENS, shifted(0, 0))
        for by_x, by_y in ((-1, -1), (-1, 1), (1, -1)):
            if (x or by_x > 0) and (y or by_y > 0):
                which = "x and y" if by_x == by_y else "x" if by_x < 0 else "y"
                says = f"the lens shift has the wrong sign in {which}"
                yield Mistake("lens shift sign", says, LENS, shifted(by_x, by_y))
        yield Mistake(
            "lens shift halved",
            "half the lens shift is used: it is a fraction of the whole picture",
            LENS,
            shifted(0.5, 0.5),
            False,
        )
        yield Mistake(
            "lens shift doubled",
            "twice the lens shift is used: it is a fraction of the whole picture",
            LENS,
            shifted(2, 2),
            False,
        )
    if oblique:

        def straight(trial: Trial) -> Trial:
            new = trial.projection.copy()
            new[0, 2] = new[1, 2] = 0.0
            new[0, 3], new[1, 3] = 2 * x, 2 * y
            return replace(trial, projection=new)

        yield Mistake("oblique forgotten", "the view is drawn straight, not oblique", LENS, straight)


# ---- the pose -----------------------------------------------------------------------------------


def _poses(handed: HandedBack) -> Iterator[Mistake]:
    view, eye = handed.camera.view, handed.camera.eye_m
    yaw, pitch, roll = yaw_pitch_roll(view[:3, :3])

    def turned(name: str, says: str, angles: tuple[float, float, float], common: bool = True) -> Mistake:
        """The eye stays, and looks another way."""
        new = view_from(eye, turned_by(*angles))
        return Mistake(name, says, POSE, lambda trial: replace(trial, view=new), common)

    yield from _booms(handed)
    yield turned(
        "pitch sign",
        "pitch has the wrong sign: the camera looks up where it should look down",
        (yaw, -pitch, roll),
    )
    yield turned(
        "yaw sign", "yaw has the wrong sign: the camera turns to the other side", (-yaw, pitch, roll)
    )
    yield turned("yaw and pitch sign", "yaw and pitch have the wrong sign", (-yaw, -pitch, roll), False)
    yield turned("roll sign", "roll has the wrong sign", (yaw, pitch, -roll))
    yield turned("roll forgotten", "roll is forgotten", (yaw, pitch, 0.0))
    for by in (90.0, -90.0, 180.0):
        says = f"yaw counts from another direction: it is {abs(by):g} degrees off"
        yield turned("yaw from elsewhere", says, (yaw + by, pitch, roll), False)
    by_degrees = (degrees(yaw), degrees(pitch), degrees(roll))
    yield turned(
        "degrees for radians in the pose",
        "the camera's angles are in degrees where radians are asked for",
        by_degrees,
    )
    by_radians = (radians(yaw), radians(pitch), radians(roll))
    yield turned(
        "radians for degrees in the pose",
        "the camera's angles are in radians where degrees are asked for",
        by_radians,
    )


def _booms(handed: HandedBack) -> Iterator[Mistake]:
    """The eye is placed from the anchor, by angles or an offset that are wrong."""
    pose, convention = handed.pose, handed.convention
    if not pose.get("distance") or pose.get("offset") is None:
        return
    scale = convention.metres_per_unit
    anchor = convention.points_m(np.array([pose["anchor"]]))[0]
    distance = float(pose["distance"]) * scale
    yaw = float(pose["yaw_deg"]) * (1.0 if convention.yaw == "left" else -1.0)
    pitch = float(pose["pitch_deg"]) * (1.0 if convention.pitch == "down" else -1.0)
    roll = float(pose["roll_deg"])
    x, y = (float(one) for one in pose["offset"])
    by = pose.get("offset_by") or "slide"
    up = np.array([0.0, float(pose["anchor_over_foot"]) * scale, 0.0])
    p = handed.camera.projection
    lens = Lens(None, 2.0 / p[0, 0]) if handed.camera.parallel else Lens(p[0, 0] / 2.0, None)

    def of(
        name: str,
        says: str,
        angles: tuple[float, float, float] = (yaw, pitch, roll),
        offset: tuple[float, float] = (x, y),
        at: Points = anchor,
        offset_by: str = by,
        common: bool = True,
    ) -> Iterator[Mistake]:
        fields = CameraFields.model_construct(
            yaw_deg=angles[0], pitch_deg=angles[1], roll_deg=angles[2], offset=offset, offset_by=offset_by
        )
        try:
            view, shift = pose_of(fields, lens, handed.aspect, at, distance)
        except StudyWrong:  # no such camera, so nobody draws with it
            return
        changes = offset_by != by

        def alters(trial: Trial) -> Trial:
            if not changes:
                return replace(trial, view=view)
            new = trial.projection.copy()
            was = np.array((x, y)) if by == "shift" else np.zeros(2)
            if handed.camera.parallel:
                new[:2, 3] += 2 * (np.array(shift) - was)
            else:
                new[:2, 2] -= 2 * (np.array(shift) - was)
            return replace(trial, view=view, projection=new)

        yield Mistake(name, says, POSE, alters, common)

    under = "pitch has the wrong sign: the camera stands below the anchor where it should stand above"
    yield from of("pitch sign", under, (yaw, -pitch, roll))
    yield from of(
        "yaw sign", "yaw has the wrong sign: the camera stands on the other side", (-yaw, pitch, roll)
    )
    yield from of(
        "yaw and pitch sign", "yaw and pitch have the wrong sign", (-yaw, -pitch, roll), common=False
    )
    for turn in (90.0, -90.0, 180.0):
        says = f"yaw counts from another direction: it is {abs(turn):g} degrees off"
        yield from of("yaw from elsewhere", says, (yaw + turn, pitch, roll), common=False)
    wrong = (degrees(yaw), degrees(pitch), degrees(roll))
    yield from of(
        "degrees for radians in the pose", "yaw and pitch are in degrees where radians are asked for", wrong
    )
    wrong = (radians(yaw), radians(pitch), radians(roll))
    yield from of(
        "radians for degrees in the pose", "yaw and pitch are in radians where degrees are asked for", wrong
    )
    if up.any():
        yield from of(
            "anchor height forgotten",
            "the camera is aimed at the foot: the anchor's height is forgotten",
            at=anchor - up,
        )
        yield from of(
            "anchor height twice", "the anchor's height is added twice", at=anchor + up, common=False
        )
    if x or y:
        if by != "shift":
            yield from of("offset forgotten", "the offset is forgotten", offset=(0.0, 0.0))
            for sign_x, sign_y in ((-1, -1), (-1, 1), (1, -1)):
                if (x or sign_x > 0) and (y or sign_y > 0):
                    which = "x and y" if sign_x == sign_y else "x" if sign_x < 0 else "y"
                    yield from of(
                        "offset sign",
                        f"the offset has the wrong sign in {which}",
                        offset=(sign_x * x, sign_y * y),
                    )
        made = {"slide": "moving the camera", "turn": "turning the camera", "shift": "shifting the lens"}
        for other in sorted({"slide", "turn", "shift"} - {by}):
            says = f"the offset is made by {made[other]}, not by {made[by]}"
            yield from of("offset made otherwise", says, offset_by=other)


# ---- the world ----------------------------------------------------------------------------------


def _worlds(handed: HandedBack) -> Iterator[Mistake]:
    convention = handed.convention

    def world(matrix: Matrix) -> Matrix:
        """A (3, 3) on coordinates of the convention, as a (4, 4) on ours."""
        whole = np.eye(4)
        whole[:3, :3] = convention.turn.T @ matrix @ convention.turn
        return whole

    def of(name: str, says: str, matrix: Matrix, common: bool) -> Mistake:
        at = world(matrix)
        return Mistake(name, says, WORLD, lambda trial: replace(trial, world=trial.world @ at), common)

    for factor, words in UNITS.items():
        for k, what in ((factor, "too long"), (1 / factor, "too short")):
            says = f"lengths are {factor:.5g} times {what} beside the camera: {words}"
            yield of("unit", says, np.eye(3) * k, factor in (100.0, 1000.0))
    for axes, signs in product(permutations(range(3)), product((1.0, -1.0), repeat=3)):
        matrix = np.zeros((3, 3))
        for row, (axis, sign) in enumerate(zip(axes, signs, strict=True)):
            matrix[row, axis] = sign
        if not np.array_equal(matrix, np.eye(3)):
            name, says = _axes_words(matrix, convention.up[-1])
            yield of(name, says, matrix, name != "axes exchanged")


def _axes_words(matrix: Matrix, up: str) -> tuple[str, str]:
    rows = [("-" if row.min() < 0 else "") + "xyz"[int(np.argmax(np.abs(row)))] for row in matrix]
    mirrored = bool(np.linalg.det(matrix) < 0)
    taken = f"x, y, z are taken as {', '.join(rows)}"
    moved = [axis for axis, row in zip("xyz", rows, strict=True) if row[-1] != axis]
    if not moved:
        flipped = [axis for axis, row in zip("xyz", rows, strict=True) if row.startswith("-")]
        if len(flipped) == 1:
            return "handedness", f"the world has the wrong hand: {flipped[0]} is mirrored"
        return ("handedness" if mirrored else "axes exchanged"), f"axes of the world are mirrored: {taken}"
    if up in moved:
        if mirrored:
            return "up axis and handedness", f"the world has the wrong up axis, and the wrong hand: {taken}"
        return "up axis", f"the world has the wrong up axis: {taken}"
    name = "handedness" if mirrored else "axes exchanged"
    return name, f"level axes of the world are exchanged: {taken}"


# ---- matrices -----------------------------------------------------------------------------------


def _matrices(handed: HandedBack) -> Iterator[Mistake]:
    """Matrices of the convention's own, written by rows and read by columns."""
    convention, camera = handed.convention, handed.camera
    view, projection = convention.view(camera.view), convention.projection(camera.projection)
    into = np.eye(4)
    into[:3, :3] = convention.turn / convention.metres_per_unit
    out = np.linalg.inv(convention.clip_turn)

    def of(name: str, says: str, whole: Matrix) -> Mistake:
        return Mistake(
            name, says, MATRIX, lambda trial: Trial(into, np.eye(4), out @ whole, trial.picture), False
        )

    yield of("transposed matrix", "the product of projection and view is transposed", (projection @ view).T)
    yield of("transposed matrix", "projection and view are each transposed", projection.T @ view.T)
    yield of("transposed matrix", "the view matrix is transposed", projection @ view.T)
    yield of("transposed matrix", "the projection matrix is transposed", projection.T @ view)
    turned = view.copy()
    turned[:3, :3] = view[:3, :3].T
    yield of("transposed matrix", "the rotation in the view matrix is transposed", projection @ turned)
    yield of(
        "inverse view",
        "the camera's place is used as the view matrix, without being inverted",
        projection @ np.linalg.inv(view),
    )
    yield of(
        "order of the product", "view and projection are multiplied in the wrong order", view @ projection
    )
