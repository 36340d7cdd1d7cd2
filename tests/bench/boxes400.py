"""The bench's scene, as plain numbers: ground and 400 boxes, six of them targets, and its cameras."""

from __future__ import annotations

from math import sqrt

BOXES, TARGETS = 400, 6
GROUND_M = 64.0
CELL = (640, 360)
AT = (0.0, 0.0, 0.0)  # where the cameras look
DISTANCE_M = 14.0


def boxes() -> list[tuple[str, tuple[float, float, float], tuple[float, float, float], float]]:
    """(name, size, centre of the base, turn in degrees) of each box; the first six are the targets.

    The others stand on a sunflower spiral (even, never aligned), lower in the middle.
    """
    result = []
    for k in range(TARGETS):
        result.append(
            (f"target-{k + 1}", (0.8, 1.0 + 0.2 * k, 0.8), (2.2 * k - 5.5, 0.0, -1.5 - 1.1 * k), 12.0 * k)
        )
    for k in range(BOXES - TARGETS):
        radius, angle = 4.0 + 1.35 * sqrt(k), 137.507764 * k
        from math import cos, radians, sin

        x, z = radius * cos(radians(angle)), radius * sin(radians(angle))
        size = (0.5 + 0.13 * (k % 7), 0.3 + 0.22 * (k % 11), 0.5 + 0.17 * (k % 5))
        result.append((f"box-{k + 1}", size, (round(x, 3), 0.0, round(z, 3)), float(k * 37 % 90)))
    return result


def variants(count: int) -> list[tuple[float, float, float]]:
    """(focal_mm, pitch_deg, yaw_deg) of 24 or 96 variants: four lenses by six pitches, by yaws."""
    yaws = [0.0, 25.0, 50.0, 75.0][: max(count // 24, 1)]
    return [
        (f, p, y) for y in yaws for p in (8.0, 15.0, 22.0, 29.0, 36.0, 43.0) for f in (24.0, 35.0, 50.0, 85.0)
    ]
