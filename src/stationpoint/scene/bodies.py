"""The stand-in subject's shapes: a figure, a capsule, a quadruped, a vehicle; and how large each is.

All stand on the origin, face -Z (heading 0) and are made of closed parts that run into one another.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import cos, hypot, pi, sin

import numpy as np
from numpy.typing import NDArray

from stationpoint.scene.solids import Faces, Vertices, extruded, solid

Triple = tuple[float, float, float]
Ring = tuple[float, float, float, float, float]  # along its stack, then middle and half size, two each
Part = tuple[Vertices, Faces]

CAPSULE_RADIUS_M = 0.25
ROUND, BLUNT = 14, 8  # sides: a bend of less than 30 degrees is drawn smooth, a larger one as an edge

# Shares of the stature, of adults of either sex together. From memory: Drillis and Contini 1966 (segments, as
# in Winter, Biomechanics and Motor Control of Human Movement, figure 4.1) for heights and lengths; breadths
# of head and hips rounded between the medians of men and women in DIN 33402-2 (measures as ISO 7250-1 defines
# them). Depths, and all that is not here, are drawn to look right.
CHIN, EYE, SHOULDER, ELBOW, WRIST, CROTCH, KNEE = 0.870, 0.93, 0.82, 0.63, 0.485, 0.47, 0.285  # heights
HEAD_BREADTH, SHOULDER_BREADTH, HIP_BREADTH = 0.09, 0.26, 0.2
HAND_LENGTH, FOOT_LENGTH, FOOT_BREADTH = 0.108, 0.152, 0.055
# The stance, which is ours: arms a little off the body and feet a little apart, so that the limbs are seen.
FIGURE_BREADTH = 0.32  # over the hands
STEP = 0.02  # the left foot is so far in front of the middle, the right one behind
FIGURE_DEPTH = FOOT_LENGTH + 2 * STEP


def body(shape: str, size_m: Triple) -> Part:
    """Vertices (n, 3), metres, and faces (m, 3) of a stand-in on the origin, facing -Z.

    shape: "figure", "capsule", "quadruped" or "vehicle". size_m: width, height and depth as
    `body_size_m` gives them.
    """
    if shape == "capsule":
        return solid("capsule", size_m)
    if shape == "figure":
        return _joined(_figure(size_m[1]))
    return _joined(_quadruped(size_m) if shape == "quadruped" else _vehicle(size_m))


def body_size_m(shape: str, height_m: float, size_m: Triple | None = None) -> Triple:
    """Width, height and depth of a stand-in before it is turned, metres.

    height_m: of a figure and a capsule. size_m: of a quadruped and a vehicle, which are as they are
    given. Worked: a figure 1.7 m high is 0.544 m wide and 0.3264 m deep, a capsule 0.5 m either way.
    """
    if size_m is not None:
        return size_m
    if shape == "capsule":
        width = 2 * min(CAPSULE_RADIUS_M, height_m / 2)
        return width, height_m, width
    return FIGURE_BREADTH * height_m, height_m, FIGURE_DEPTH * height_m


# ---- shapes -------------------------------------------------------------------------------------


def _figure(height_m: float) -> Iterable[Part]:
    """A calm figure: its soles on the ground, the left foot a little in front, a peak over the face."""
    scale = (height_m, height_m, height_m)
    half_head, half_hips = HEAD_BREADTH / 2, HIP_BREADTH / 2
    arm_x, hand_x = SHOULDER_BREADTH / 2 - 0.025, FIGURE_BREADTH / 2 - 0.012
    tip = WRIST - HAND_LENGTH
    bands = [pi * (k / 7 - 0.5) for k in range(8)]
    middle = (CHIN + 1.0) / 2
    head = [
        (middle + (1.0 - middle) * sin(t), 0.0, -0.008 * (t < 0), half_head * cos(t), 0.057 * cos(t))
        for t in bands
    ]
    yield _stacked(head, scale)
    peak_z = (0.0, -0.042)
    yield _stacked(
        [(EYE + 0.014, *peak_z, 0.038, 0.05), (EYE + 0.026, *peak_z, 0.034, 0.044)], scale, sides=BLUNT
    )
    yield _stacked([(SHOULDER, 0.0, 0.004, 0.036, 0.036), (0.90, 0.0, 0.0, 0.031, 0.031)], scale)
    torso = [
        (CROTCH - 0.015, 0.0, 0.010, 0.05, 0.035),
        (CROTCH + 0.02, 0.0, 0.012, half_hips - 0.01, 0.056),
        (0.53, 0.0, 0.012, half_hips, 0.062),
        (0.61, 0.0, 0.004, 0.078, 0.052),
        (0.71, 0.0, 0.002, 0.096, 0.066),
        (0.77, 0.0, 0.002, 0.106, 0.064),
        (SHOULDER - 0.008, 0.0, 0.004, 0.104, 0.050),
        (SHOULDER + 0.012, 0.0, 0.005, 0.078, 0.041),
        (SHOULDER + 0.032, 0.0, 0.004, 0.036, 0.035),
    ]
    yield _stacked(torso, scale)
    for side in (-1.0, 1.0):
        arm = [
            (SHOULDER + 0.012, side * (arm_x - 0.010), 0.005, 0.008, 0.010),
            (SHOULDER + 0.005, side * (arm_x - 0.006), 0.005, 0.019, 0.023),
            (SHOULDER - 0.012, side * (arm_x - 0.002), 0.005, 0.026, 0.031),
            (0.74, side * (arm_x + 0.008), 0.008, 0.025, 0.029),
            (ELBOW, side * (hand_x - 0.016), 0.008, 0.020, 0.022),
            (WRIST, side * (hand_x - 0.004), -0.022, 0.015, 0.017),
            (WRIST - 0.045, side * hand_x, -0.030, 0.012, 0.024),
            (tip, side * (hand_x - 0.002), -0.034, 0.006, 0.012),
        ]
        yield _stacked(arm, scale)
        foot_x, step = side * 0.06, side * STEP
        leg = [
            (CROTCH + 0.02, side * 0.048, 0.012, 0.034, 0.042),
            (CROTCH - 0.03, side * 0.050, 0.012 + step * 0.1, 0.047, 0.056),
            (KNEE, side * 0.055, 0.018 + step * 0.4, 0.033, 0.037),
            (0.21, side * 0.058, 0.032 + step * 0.6, 0.033, 0.038),
            (0.04, foot_x, 0.036 + step, 0.021, 0.024),
        ]
        yield _stacked(leg, scale)
        half_foot, half_wide = FOOT_LENGTH / 2, FOOT_BREADTH / 2
        foot = [
            (0.0, foot_x, step, half_wide, half_foot),
            (0.018, foot_x, step, half_wide, half_foot),
            (0.032, foot_x, step + 0.010, half_wide * 0.85, half_foot * 0.82),
            (0.055, foot_x, step + 0.036, 0.021, 0.026),
        ]
        yield _stacked(foot, scale, sides=BLUNT)


def _quadruped(size_m: Triple) -> Iterable[Part]:
    """A body on four legs, neck and head in front, a tail behind."""
    trunk = [  # along z: (z, y, x, half height, half width)
        (-0.33, 0.60, 0.0, 0.09, 0.22),
        (-0.28, 0.60, 0.0, 0.16, 0.40),
        (-0.12, 0.58, 0.0, 0.19, 0.50),
        (0.18, 0.59, 0.0, 0.175, 0.46),
        (0.36, 0.61, 0.0, 0.16, 0.44),
        (0.42, 0.61, 0.0, 0.08, 0.22),
    ]
    yield _stacked(trunk, size_m, "z", sides=16)
    neck = [(0.52, 0.0, -0.20, 0.26, 0.11), (0.72, 0.0, -0.29, 0.20, 0.08), (0.92, 0.0, -0.35, 0.16, 0.055)]
    yield _stacked(neck, size_m)
    head = [
        (-0.27, 0.90, 0.0, 0.03, 0.10),
        (-0.30, 0.90, 0.0, 0.065, 0.20),
        (-0.38, 0.885, 0.0, 0.07, 0.20),
        (-0.47, 0.84, 0.0, 0.045, 0.14),
        (-0.50, 0.835, 0.0, 0.035, 0.11),
    ]
    yield _stacked(head, size_m, "z")
    yield _stacked([(0.70, 0.0, 0.40, 0.06, 0.02), (0.34, 0.0, 0.48, 0.05, 0.02)], size_m, sides=BLUNT)
    for side in (-1.0, 1.0):
        ear = [(0.93, side * 0.14, -0.30, 0.06, 0.015), (1.0, side * 0.17, -0.29, 0.02, 0.006)]
        yield _stacked(ear, size_m, sides=BLUNT)
        for z, back in ((-0.20, 0.0), (0.32, 0.03)):
            leg = [
                (0.0, side * 0.30, z, 0.11, 0.035),
                (0.05, side * 0.30, z, 0.10, 0.032),
                (0.28, side * 0.30, z + back, 0.10, 0.032),
                (0.62, side * 0.28, z, 0.16, 0.075),
            ]
            yield _stacked(leg, size_m)


def _vehicle(size_m: Triple) -> Iterable[Part]:
    """A hull that is low in front, a cabin set back on it, four wheels, two lamps in front."""
    width, height, depth = size_m
    hull = [
        (0.5, 0.17),
        (-0.46, 0.17),
        (-0.485, 0.24),
        (-0.485, 0.42),
        (-0.44, 0.50),
        (-0.1, 0.57),
        (0.46, 0.59),
        (0.5, 0.5),
    ]
    cabin = [(0.42, 0.55), (-0.16, 0.55), (0.02, 0.95), (0.08, 1.0), (0.32, 1.0), (0.37, 0.95)]
    yield _drawn_out(hull, (0.94 * width, height, depth))
    yield _drawn_out(cabin, (0.82 * width, height, depth))
    radius = min(0.2 * height, 0.13 * depth)
    for side in (-1.0, 1.0):
        ends = sorted((side * 0.5 * width, side * 0.36 * width))
        for z in (-0.32, 0.32):
            wheel = [(end, z * depth, radius, radius, radius) for end in ends]
            yield _stacked(wheel, (1.0, 1.0, 1.0), "x", sides=16)
        lamp = [(-0.5, 0.35, side * 0.33, 0.05, 0.08), (-0.44, 0.35, side * 0.33, 0.06, 0.09)]
        yield _stacked(lamp, size_m, "z", sides=BLUNT)


# ---- parts --------------------------------------------------------------------------------------


def _stacked(rings: Sequence[Ring], scale: Triple, axis: str = "y", sides: int = ROUND) -> Part:
    """Ellipses joined along an axis and closed at both ends; scaled by `scale`, x, y, z.

    A ring: where along the axis, then middle and half size, each along the other two axes: x and z of
    a stack along y, y and x of one along z, z and y of one along x. One of no size is a pole.
    """
    order = {"y": (0, 1, 2), "z": (1, 2, 0), "x": (2, 0, 1)}[axis]  # of scale: first, along, second
    first, along, second = (scale[k] for k in order)
    points: list[tuple[float, float, float]] = []
    rings = sorted(rings)
    full = [ring for ring in rings if ring[3] > 1e-9]
    low, high = rings[0], rings[-1]
    points.append((low[1] * first, low[0] * along, low[2] * second))
    for at, middle_a, middle_b, half_a, half_b in full:
        a, b = half_a * first, half_b * second
        for k in range(sides):  # evenly by the way that the surface faces, so that no bend is sharper
            turn = pi / 2 + 2 * pi * k / sides
            s, c = round(sin(turn), 15), round(cos(turn), 15)
            far = hypot(a * s, b * c)
            points.append(
                (middle_a * first + a * a * s / far, at * along, middle_b * second + b * b * c / far)
            )
    points.append((high[1] * first, high[0] * along, high[2] * second))
    here = np.arange(sides)
    there = (here + 1) % sides
    top = len(points) - 1
    faces = [np.stack([np.zeros(sides, dtype=int), 1 + there, 1 + here], axis=1)]
    for lower in range(1, top - sides, sides):
        upper = lower + sides
        faces.append(np.stack([lower + here, lower + there, upper + there], axis=1))
        faces.append(np.stack([lower + here, upper + there, upper + here], axis=1))
    last = top - sides
    faces.append(np.stack([last + here, last + there, np.full(sides, top)], axis=1))
    roll = {"y": 0, "z": 1, "x": -1}[axis]
    return np.roll(np.array(points), roll, axis=1), np.concatenate(faces).astype(np.int32)


def _drawn_out(profile: Sequence[tuple[float, float]], size_m: Triple) -> Part:
    """A convex profile in (z, y) drawn out along x."""
    points, faces = extruded(profile, [(0, k, k + 1) for k in range(1, len(profile) - 1)])
    return points * size_m, faces


def _joined(parts: Iterable[Part]) -> Part:
    vertices: list[Vertices] = []
    faces: list[NDArray[np.int32]] = []
    count = 0
    for points, own in parts:
        vertices.append(points)
        faces.append(own + np.int32(count))
        count += len(points)
    return np.concatenate(vertices), np.concatenate(faces)
