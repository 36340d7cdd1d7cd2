"""Lens: gate, focal length and the three angles of view, each from each.

Source of the relation: alpha = 2 atan(gate / 2 f), rectilinear lens focused at infinity; see
tests/published.py for the tables it is checked against.
"""

from __future__ import annotations

from math import atan, degrees, hypot, radians, tan

Fit = str  # "width", "height" or "diagonal"


def angle_of_view_deg(focal_mm: float, side_mm: float) -> float:
    """Angle of view in degrees over a side of `side_mm` at focal length `focal_mm`.

    Worked: 35 mm over 36 mm is 54.432 degrees.
    """
    return degrees(2.0 * atan(side_mm / (2.0 * focal_mm)))


def focal_for_angle_mm(angle_deg: float, side_mm: float) -> float:
    """Focal length in mm whose angle of view over `side_mm` is `angle_deg`.

    Worked: 90 degrees over 36 mm is 18 mm.
    """
    return side_mm / (2.0 * tan(radians(angle_deg) / 2.0))


def picture_on_gate_mm(gate_mm: tuple[float, float], aspect: float, fit: Fit) -> tuple[float, float]:
    """Width and height in mm of a picture of `aspect` (width / height) matched to the gate.

    fit: "width" matches the picture's width to the gate's, "height" its height, "diagonal" its
    diagonal. Worked: a 16:9 picture on (36, 24) by width is 36 x 20.25 mm.
    """
    gate_w, gate_h = gate_mm
    if fit == "width":
        width = gate_w
    elif fit == "height":
        width = gate_h * aspect
    elif fit == "diagonal":
        width = hypot(gate_w, gate_h) * aspect / hypot(aspect, 1.0)
    else:
        raise ValueError(f"fit must be width, height or diagonal, not {fit!r}")
    return width, width / aspect


def angles_of_view_deg(
    focal_mm: float, gate_mm: tuple[float, float], aspect: float, fit: Fit = "width"
) -> tuple[float, float, float]:
    """Horizontal, vertical and diagonal angle of view in degrees of the picture itself.

    Worked: 35 mm, gate (36, 24), 16:9 by width: 54.43, 32.27, 61.09 (a lens table prints 37.85
    and 63.44 for its 3:2 picture).
    """
    width, height = picture_on_gate_mm(gate_mm, aspect, fit)
    return (
        angle_of_view_deg(focal_mm, width),
        angle_of_view_deg(focal_mm, height),
        angle_of_view_deg(focal_mm, hypot(width, height)),
    )


def other_aspect_focal(focal_over_width: float, aspect: float, new_aspect: float, policy: str) -> float:
    """Focal length over picture width after the aspect changes, in the same unit.

    focal_over_width: F / W of the study's picture. policy: what stays equal, "height", "width" or
    "diagonal" angle. Worked: 70 degrees wide at 16:9 become 108.94 degrees at 32:9 by "height";
    at 8:9 by "width" they stay 70, and 76.46 degrees high.
    """
    if policy == "width":
        return focal_over_width
    if policy == "height":
        return focal_over_width * aspect / new_aspect
    if policy == "diagonal":
        return focal_over_width * hypot(1.0, 1.0 / new_aspect) / hypot(1.0, 1.0 / aspect)
    raise ValueError(f"policy must be height, width or diagonal, not {policy!r}")
