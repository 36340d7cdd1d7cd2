"""A scanned room as numbers: one mesh of some 64 000 triangles, floor, walls, tables and shelves, all rough.

python tests/bench/scan.py FOLDER writes scan.ply, scan.toml and scan.study.toml into FOLDER.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

ROUGH_M = 0.008
CUT_M = 0.0683  # of a triangle's sides
FOCAL_MM, DISTANCE_M = 24.0, 4.0
PITCHES, YAWS = (12.0, 24.0, 36.0), (-30.0, -10.0, 10.0, 30.0)
PLACES = ((1.4, 0.1, -0.2), (-1.0, 0.1, -0.2))
EVERYTHING = """
[[viewing]]
name = "couch"
diagonal_in = 55
pixels = [1920, 1080]
eye_distance_m = 2.7
[[limit]]
reading = "targets.*.seen"
min = 0.3
[[limit]]
reading = "gaps.*.verdict"
not = "lies"
"""
# (middle of the base, size) of what stands in a room of 8 x 3 x 6 m.
THINGS = (
    [((x, 0.0, z), (1.6, 0.74, 0.8)) for x in (-2.4, 0.2, 2.6) for z in (-1.4, 1.0)]
    + [((x, 0.0, -2.7), (1.2, 2.0, 0.4)) for x in (-3.2, -1.2, 1.4)]
    + [((3.6, h, 1.5), (0.4, 0.05, 2.2)) for h in (0.5, 1.1, 1.7)]
    + [((-3.5, 0.0, 1.6), (0.8, 0.45, 2.0)), ((0.0, 2.2, 0.2), (1.2, 0.15, 1.2))]
)


def sheet_of(origin: tuple[float, ...], u: tuple[float, ...], v: tuple[float, ...]) -> tuple[np.ndarray, ...]:
    """A rough rectangle: corners (n, 3) and triangles (m, 3)."""
    across, along = (max(1, round(float(np.linalg.norm(side)) / CUT_M)) for side in (u, v))
    s, t = np.meshgrid(np.linspace(0, 1, across + 1), np.linspace(0, 1, along + 1), indexing="ij")
    points = np.array(origin) + s.reshape(-1, 1) * np.array(u) + t.reshape(-1, 1) * np.array(v)
    k = np.arange((across + 1) * (along + 1)).reshape(across + 1, along + 1)
    a, b, c, d = k[:-1, :-1].ravel(), k[1:, :-1].ravel(), k[1:, 1:].ravel(), k[:-1, 1:].ravel()
    faces = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    return points, faces


def room() -> tuple[np.ndarray, np.ndarray]:
    """All corners (n, 3), each moved a little, and triangles (m, 3)."""
    sheets = [sheet_of((-4, 0, 3), (8, 0, 0), (0, 0, -6))]
    sheets += [sheet_of((-4, 0, -3), (8, 0, 0), (0, 3, 0)), sheet_of((-4, 0, 3), (0, 0, -6), (0, 3, 0))]
    for (x, y, z), (w, h, d) in THINGS:
        left, right, back, front, top = x - w / 2, x + w / 2, z - d / 2, z + d / 2, y + h
        sheets.append(sheet_of((left, top, front), (w, 0, 0), (0, 0, -d)))
        sheets.append(sheet_of((left, y, front), (w, 0, 0), (0, h, 0)))
        sheets.append(sheet_of((right, y, front), (0, 0, -d), (0, h, 0)))
        sheets.append(sheet_of((right, y, back), (-w, 0, 0), (0, h, 0)))
        sheets.append(sheet_of((left, y, back), (0, 0, d), (0, h, 0)))
    starts = np.cumsum([0] + [len(points) for points, _ in sheets])
    points = np.concatenate([points for points, _ in sheets])
    faces = np.concatenate([faces + start for (_, faces), start in zip(sheets, starts, strict=False)])
    return points + np.random.default_rng(62).normal(0.0, ROUGH_M, points.shape), faces


def write(folder: Path, everything: bool = False) -> Path:
    """Write all three files into `folder`; the study's path. everything: with a brief, a couch, and all that
    a game can ship to help."""
    points, faces = room()
    head = (
        f"ply\nformat ascii 1.0\nelement vertex {len(points)}\nproperty float x\nproperty float y\n"
        f"property float z\nelement face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    rows = [f"{x:.4f} {y:.4f} {z:.4f}" for x, y, z in points] + [f"3 {a} {b} {c}" for a, b, c in faces]
    (folder / "scan.ply").write_text(head + "\n".join(rows) + "\n", "ascii")
    (folder / "scan.toml").write_text(
        '[[mesh]]\nfile = "scan.ply"\nwalkable = true\n'
        '[[solid]]\nname = "lamp"\nshape = "cylinder"\nsize = [0.4, 0.3, 0.4]\nat = [0.2, 1.9, -1.4]\n'
        '[[solid]]\nname = "box"\nshape = "box"\nsize = [0.5, 0.4, 0.5]\nat = [2.6, 0.75, -1.4]\n',
        "utf-8",
    )
    study = folder / "scan.study.toml"
    study.write_text(
        'title = "Where does the room mislead?"\nscene = "scan.toml"\n'
        + ('aids = ["ground-texture", "cast-shadow", "drop-marker"]\n' if everything else "")
        + f'[subject]\nname = "visitor"\nat = {list(PLACES[0])}\n'
        f'[camera]\nfocal_mm = {FOCAL_MM}\ndistance_m = {DISTANCE_M}\naspect = "16:9"\n'
        '[[target]]\nname = "lamp"\nnode = "lamp"\n[[target]]\nname = "box"\nnode = "box"\n'
        '[[gap]]\nname = "hop"\nfrom = [0.2, 0.74, 1.0]\nto = [2.6, 0.74, 1.0]\nreach_m = 2.0\n'
        f"[sweep]\nrows = {{ pitch_deg = {list(PITCHES)} }}\ncolumns = {{ yaw_deg = {list(YAWS)} }}\n"
        f'[[place]]\nname = "far end"\nat = {list(PLACES[1])}\n' + (EVERYTHING if everything else ""),
        "utf-8",
    )
    return study


if __name__ == "__main__":
    print(write(Path(sys.argv[1])), len(room()[1]))
