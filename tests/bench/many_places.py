"""The bench's boxes at many places and viewings, and the same pictures drawn with nothing read of them.

python tests/bench/many_places.py STUDY.toml draws, once, every picture that `judge` draws for that study.
"""

from __future__ import annotations

import sys
import time
from math import cos, sin
from pathlib import Path

from boxes400 import scene_toml, study_toml

SCREENS = (("desk", 27, [2560, 1440], 0.6), ("couch", 55, [3840, 2160], 2.7), ("hand", 7, [1280, 720], 0.35))
SEEN = '\n[[limit]]\nreading = "targets.*.seen"\nmin = 0.3\n'


def write(folder: Path, variants: int = 24, places: int = 40, viewings: int = 3) -> Path:
    """A study of so many variants (24 or 12), places and viewings, and its scene; the study's path."""
    text = study_toml(24)
    if variants == 12:
        text = text.replace("focal_mm = [24.0, 35.0, 50.0, 85.0]", "focal_mm = [24.0, 50.0]")
    for k in range(1, places):
        at = f"[{0.08 * k * cos(k):.3f}, 0.0, {0.08 * k * sin(k):.3f}]"
        text += f'\n[[place]]\nname = "place {k}"\nat = {at}\n'
    for name, inches, pixels, away_m in SCREENS[:viewings]:
        text += (
            f'\n[[viewing]]\nname = "{name}"\ndiagonal_in = {inches}\npixels = {pixels}\n'
            f"eye_distance_m = {away_m}\n"
        )
    study = folder / f"many-{variants}-{places}-{viewings}.toml"
    (folder / "boxes.toml").write_text(scene_toml(), "utf-8")
    study.write_text(text + SEEN, "utf-8")
    return study


def main(file: str) -> None:
    """Draw the pictures; print how many, and the processor seconds that they took."""
    from stationpoint.readings import bounded_paths
    from stationpoint.render import open_renderer
    from stationpoint.run import Wants, prepare_study
    from stationpoint.run.cases import cases
    from stationpoint.run.sweep import shots_of
    from stationpoint.study import read_study

    path = Path(file)
    prepared = prepare_study(read_study(path), path.parent)
    wants = Wants(picture=False, only=frozenset(one[0] for one in bounded_paths(prepared.study)))
    every = cases(prepared, wants.cell_width, marked=False, by_place=True)
    shots = [shot for case in every for shot in shots_of(case, wants, False).values()]
    start = time.process_time()
    with open_renderer("gl", prepared.scene) as renderer:
        for shot in shots:
            renderer.draw(shot)
    print(len(shots), time.process_time() - start)


if __name__ == "__main__":
    main(sys.argv[1])
