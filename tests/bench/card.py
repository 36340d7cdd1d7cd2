"""What a card draws and what is read of it: many variants of a level of a million triangles, no sheet.

python tests/bench/card.py [--variants 1000] [--side 709] [--width 1280] [--profile]

Prints the renderer, and for a variant the milliseconds of its shots drawn alone (the floor), of the whole
measure with all readings, and their ratio. Both in one process on one thread, by the clock.
"""

from __future__ import annotations

import argparse
import cProfile
import pstats
import subprocess
import sys
import time
from contextlib import ExitStack
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

SPAN_M = 400.0
STUDY = """
title = "How far does a card take it?"
scene = "ground.toml"
aids = ["ground-texture", "cast-shadow"]
[subject]
name = "walker"
at = [0, "floor", 0]
[camera]
focal_mm = 28
distance_m = 9
aspect = "16:9"
[[target]]
name = "hut"
node = "hut"
[[target]]
name = "mast"
node = "mast"
role = "secondary"
[[gap]]
name = "step"
from = [0, "floor", -1]
to = [0.5, "floor", -4]
reach_m = 3.5
[[viewing]]
name = "couch"
diagonal_in = 55
pixels = [1920, 1080]
eye_distance_m = 2.7
[[limit]]
reading = "targets.*.seen"
min = 0.3
"""


def height_m(x: np.ndarray, z: np.ndarray) -> np.ndarray:
    """Hills of some 6 m, flat about the middle, with grain."""
    away = np.hypot(x, z)
    hills = 3.0 * np.sin(x / 17.0) * np.cos(z / 23.0) + 1.5 * np.sin((x + z) / 7.0)
    return hills * np.clip((away - 6.0) / 20.0, 0.0, 1.0)


def write(folder: Path, side: int, variants: int) -> Path:
    """A terrain of 2 side x side triangles with a hut and a mast, and a study of so many variants."""
    at = np.linspace(-SPAN_M / 2, SPAN_M / 2, side + 1)
    x, z = np.meshgrid(at, at)
    points = np.stack([x, height_m(x, z), z], -1).reshape(-1, 3).astype("<f4")
    k = np.arange((side + 1) ** 2).reshape(side + 1, side + 1)
    a, b, c, d = k[:-1, :-1].ravel(), k[:-1, 1:].ravel(), k[1:, 1:].ravel(), k[1:, :-1].ravel()
    faces = np.concatenate([np.column_stack([a, d, c]), np.column_stack([a, c, b])])
    rows = np.zeros(len(faces), dtype=[("count", "u1"), ("corners", "<i4", 3)])
    rows["count"], rows["corners"] = 3, faces
    head = f"ply\nformat binary_little_endian 1.0\nelement vertex {len(points)}\nproperty float x\n"
    head += f"property float y\nproperty float z\nelement face {len(faces)}\n"
    head += "property list uchar int vertex_indices\nend_header\n"
    (folder / "ground.ply").write_bytes(head.encode() + points.tobytes() + rows.tobytes())
    (folder / "ground.toml").write_text(
        '[[mesh]]\nfile = "ground.ply"\nwalkable = true\n'
        '[[solid]]\nname = "hut"\nshape = "box"\nsize = [3, 2.5, 3]\nat = [3, 0, -6]\n'
        '[[solid]]\nname = "mast"\nshape = "cylinder"\nsize = [0.4, 8, 0.4]\nat = [-4, 0, -5]\n',
        "utf-8",
    )
    across = max(1, round(variants**0.5))
    down = -(-variants // across)
    yaws = ", ".join(f"{yaw:.3f}" for yaw in np.linspace(-60, 60, across))
    pitches = ", ".join(f"{pitch:.3f}" for pitch in np.linspace(5, 50, down))
    sweep = f"[sweep]\nrows = {{ pitch_deg = [{pitches}] }}\ncolumns = {{ yaw_deg = [{yaws}] }}\n"
    study = folder / "ground.study.toml"
    study.write_text(STUDY + sweep, "utf-8")
    return study


def measured_s(path: Path, width: int, workers: int) -> float:
    """Seconds by the clock to read and measure a study in so many processes, 0 for as many as pay."""
    from stationpoint.run import Wants, prepare_study, sweep_variants
    from stationpoint.study import read_study

    start = time.perf_counter()
    prepared = prepare_study(read_study(path), path.parent)
    sweep_variants(prepared, Wants(picture=False, cell_width=width), "gl", workers or None)
    return time.perf_counter() - start


def main() -> None:
    """Print the figures."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--variants", type=int, default=1000)
    asked.add_argument("--side", type=int, default=709)
    asked.add_argument("--width", type=int, default=1280)
    asked.add_argument(
        "--workers",
        type=int,
        action="append",
        default=[],
        help="processes too, 0 for as many as pay; repeatable",
    )
    asked.add_argument("--measure", type=Path, help="only measure this study, by so many workers")
    asked.add_argument("--profile", action="store_true")
    chosen = asked.parse_args()

    if chosen.measure:
        print(measured_s(chosen.measure, chosen.width, chosen.workers[0]))
        return

    from OpenGL import GL

    from stationpoint.render import open_renderer
    from stationpoint.run import Wants, prepare_study
    from stationpoint.run.cases import cases
    from stationpoint.run.sweep import CaseRunner, by_camera, shots_of
    from stationpoint.study import read_study

    with TemporaryDirectory() as name, ExitStack() as open_things:
        path = write(Path(name), chosen.side, chosen.variants)
        start = time.perf_counter()
        prepared = prepare_study(read_study(path), path.parent)
        print(f"read and prepared in {time.perf_counter() - start:.2f} s", flush=True)
        wants = Wants(picture=False, cell_width=chosen.width)
        count = len(prepared.variants)
        drawn_s, shots = 0.0, 0
        with open_renderer("gl", prepared.scene) as renderer:
            for number, case in enumerate(cases(prepared, wants.cell_width, marked=False, by_place=True)):
                asked_for = shots_of(case, wants, False)
                start = time.perf_counter()
                for key in by_camera(asked_for):
                    renderer.draw(asked_for[key])
                if number:  # the first uploads the level
                    drawn_s += time.perf_counter() - start
                    shots += len(asked_for)
            print(GL.glGetString(GL.GL_RENDERER).decode(), flush=True)
        floor_ms = 1000.0 * drawn_s / (count - 1)
        print(f"{shots / (count - 1):.1f} shots, {floor_ms:.1f} ms a variant drawn alone", flush=True)
        runner = CaseRunner(prepared, wants, "gl", open_things)
        runner.results(range(1))
        profile = cProfile.Profile()
        start = time.perf_counter()
        if chosen.profile:
            profile.enable()
        runner.results(range(1, count))
        profile.disable()
        whole_ms = 1000.0 * (time.perf_counter() - start) / (count - 1)
        print(f"{whole_ms:.1f} ms a variant measured: {whole_ms / floor_ms:.2f} times", flush=True)
        for workers in chosen.workers:
            call = [sys.executable, __file__, "--measure", path.name, "--width", str(chosen.width)]
            ended = subprocess.run(
                [*call, "--workers", str(workers)],
                cwd=path.parent,
                check=True,
                capture_output=True,
                text=True,
            )
            call_ms = 1000.0 * float(ended.stdout) / count
            print(
                f"{call_ms:.1f} ms a variant with {workers or 'as many as pay'} workers: "
                f"{call_ms / floor_ms:.2f} times",
                flush=True,
            )
        if chosen.profile:
            pstats.Stats(profile).sort_stats("tottime").print_stats(25)
            pstats.Stats(profile).sort_stats("cumulative").print_stats(60)


if __name__ == "__main__":
    main()
