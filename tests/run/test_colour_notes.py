"""What is said of contrast and prominence where they are null, or rest on clay."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from stationpoint.run.prepare import Prepared, prepare_study
from stationpoint.run.setup_notes import colour_notes
from stationpoint.study import study_from_text


def coloured_study(folder: Path, scene: str, *more: str) -> Prepared:
    (folder / "scene.toml").write_text(scene)
    text = 'scene = "scene.toml"\n[subject]\nname = "hopper"\nat = [3, 0, 0]\n' + "\n".join(more)
    return prepare_study(study_from_text(text, "made.toml"), folder)


PLAIN_BOX = '[[solid]]\nname = "crate"\nshape = "box"\nsize = [1, 1, 1]\n'


def test_a_level_without_colours_says_why_contrast_is_null(tmp_path: Path) -> None:
    made = coloured_study(tmp_path, PLAIN_BOX)
    (said,) = colour_notes(made.study, made.scene)
    assert said.startswith("Contrast and prominence are null: the level has no colours of its own;")


def test_what_counts_in_clay_is_named_and_nothing_else(tmp_path: Path) -> None:
    scene = PLAIN_BOX + 'colour = "#D55E00"\n'
    made = coloured_study(tmp_path, scene)
    (said,) = colour_notes(made.study, made.scene)
    assert said == 'Contrast and prominence take "hopper" in clay, for want of colours of their own.'
    painted = coloured_study(tmp_path, scene, 'colour = "#FFFFFF"')
    assert colour_notes(painted.study, painted.scene) == ()


def test_colours_that_nothing_asks_for_are_told(tmp_path: Path) -> None:
    made = coloured_study(tmp_path, PLAIN_BOX + 'colour = "#D55E00"\n')
    unasked = replace(made.scene, in_colour=False)
    assert "nothing asks for them" in colour_notes(made.study, unasked)[0]
    assert "in clay" in colour_notes(made.study, unasked, {"contrast"})[0]
