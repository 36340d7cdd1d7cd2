"""A crate seen by a first-person camera past a barge, whose edge hides a share of it that hands can work out.

The eye is at x = 0 and looks along -Z. The crate's face is 2 m wide at z = -10, within the picture and at eye
height, so that no other face of it is seen. The barge stands at z = -5 and hides all to the right of x = 0.42
there, which is x = 0.84 on the crate's face. With the crate's middle at x the share seen is
(0.84 - (x - 1)) / 2: 0.92 at x = 0, 0.61 at x = 0.62.
"""

from __future__ import annotations

from pathlib import Path

SCENE = """
[ground]
size = [60, 60]

[[solid]]
name = "crate"
shape = "box"
size = [2, 2, 0.5]
at = [{x}, 0.7, -10.25]

[[solid]]
name = "barge-2"
shape = "box"
size = [4, 6, 0.02]
at = [2.42, 0, -4.99]
"""
STUDY = """
title = "Does the crate show?"
scene = "pier.toml"
here = false

[subject]
name = "watch"
at = [0, 0, 0]
height_m = 1.8

[[target]]
name = "crate"
node = "crate"

[[place]]
name = "high tide"
move = { "barge-2" = [0, 0.1, 0] }

[camera]
first_person = true
focal_mm = 24
pitch_deg = 0
aspect = "16:9"

[sweep]
columns = { focal_mm = [20, 24] }

[[limit]]
reading = "targets.crate.seen"
min = 0.5
why = "it is what the watch is for"
"""
LINE = "24 mm in perspective, at high tide: crate seen 92 % -> 61 %, hidden by barge-2"


def pier(folder: Path, x: float = 0.0, study: str = STUDY) -> Path:
    """The scene with the crate's middle at x, and its study, written into a folder; the study's path."""
    (folder / "pier.toml").write_text(SCENE.format(x=x), "utf-8")
    path = folder / "pier.study.toml"
    path.write_text(study, "utf-8")
    return path
