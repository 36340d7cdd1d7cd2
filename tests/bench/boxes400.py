"""The bench's scene as plain numbers, and as this project's files.

python tests/bench/boxes400.py 24 FOLDER writes boxes.toml and study-24.toml into FOLDER.
"""

from __future__ import annotations

import sys
from math import cos, radians, sin, sqrt
from pathlib import Path

BOXES, TARGETS = 400, 6
GROUND_M = 64.0
CELL = (640, 360)
DISTANCE_M = 14.0
FOCALS = (24.0, 35.0, 50.0, 85.0)
PITCHES = (8.0, 15.0, 22.0, 29.0, 36.0, 43.0)
YAWS = (0.0, 25.0, 50.0, 75.0)
GATE_MM = 36.0

Box = tuple[str, tuple[float, float, float], tuple[float, float, float], float]


def boxes() -> list[Box]:
    """(name, size, centre of the base, turn in degrees) of each box; the first six are the targets.

    The others stand on a sunflower spiral: even, never aligned.
    """
    result: list[Box] = []
    for k in range(TARGETS):
        size = (0.8, 1.0 + 0.2 * k, 0.8)
        result.append((f"target-{k + 1}", size, (2.2 * k - 5.5, 0.0, -1.5 - 1.1 * k), 12.0 * k))
    for k in range(BOXES - TARGETS):
        radius, angle = 4.0 + 1.35 * sqrt(k), radians(137.507764 * k)
        size = (0.5 + 0.13 * (k % 7), 0.3 + 0.22 * (k % 11), 0.5 + 0.17 * (k % 5))
        base = (round(radius * cos(angle), 3), 0.0, round(radius * sin(angle), 3))
        result.append((f"box-{k + 1}", size, base, float(k * 37 % 90)))
    return result


def axes(count: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Pitches and yaws of 24, 96 or 400 variants."""
    if count == 400:
        return PITCHES[:5], tuple(18.0 * k for k in range(20))
    return PITCHES, YAWS[: count // 24]


def variants(count: int) -> list[tuple[float, float, float]]:
    """(focal_mm, pitch_deg, yaw_deg) of 24, 96 or 400 variants: lenses across, pitches down, pages of yaw."""
    pitches, yaws = axes(count)
    return [(f, p, y) for y in yaws for p in pitches for f in FOCALS]


def scene_toml() -> str:
    """The scene file."""
    parts = [f"[ground]\nsize = [{GROUND_M}, {GROUND_M}]\n"]
    for name, size, base, turn in boxes():
        parts.append(
            f'[[solid]]\nname = "{name}"\nshape = "box"\nsize = {_list(size)}\n'
            f"at = {_list(base)}\nturn_deg = {turn}\n"
        )
    return "\n".join(parts)


def study_toml(count: int) -> str:
    """The study file: 24, 96 or 400 variants, six targets."""
    pitches, yaws = axes(count)
    targets = "\n".join(
        f'[[target]]\nname = "target {k + 1}"\nnode = "target-{k + 1}"\nrole = "{role}"\n'
        for k, role in enumerate(("primary", "secondary", "tertiary") * 2)
    )
    pages = f"pages = {{ yaw_deg = {_list(yaws)} }}\n" if count > 24 else ""
    return (
        'title = "Which lens and pitch show the six targets?"\nscene = "boxes.toml"\n\n'
        '[subject]\nname = "visitor"\nat = [0.0, 0.0, 0.0]\n\n'
        f"{targets}\n"
        f'[camera]\nfocal_mm = 35\ndistance_m = {DISTANCE_M}\naspect = "16:9"\n\n'
        f"[sweep]\nrows = {{ pitch_deg = {_list(pitches)} }}\n"
        f"columns = {{ focal_mm = {_list(FOCALS)} }}\n{pages}"
    )


def write(folder: Path, count: int) -> Path:
    """Write both files into `folder`; the study's path."""
    (folder / "boxes.toml").write_text(scene_toml(), encoding="utf-8")
    study = folder / f"study-{count}.toml"
    study.write_text(study_toml(count), encoding="utf-8")
    return study


def _list(numbers: tuple[float, ...]) -> str:
    return "[" + ", ".join(f"{n:g}" if n % 1 else f"{n:.1f}" for n in numbers) + "]"


if __name__ == "__main__":
    print(write(Path(sys.argv[2]), int(sys.argv[1])))
