"""Cameras, targets and gaps that are legal and odd: drawn, with a line that says what is odd."""

from __future__ import annotations

from math import radians, sin
from pathlib import Path

import pytest

from cli_calls import done, yard

HEAD = 'scene = "yard.toml"\n'
SUBJECT = '[subject]\nname = "me"\nat = [0, 0, 0]\n'
TINY = "[[target]]\nname = 'speck'\nat = [0, 1, 0]\nsize = [1e-6, 1e-6, 1e-6]\n"
SHORT = "[[gap]]\nname = 'hop'\nfrom = [0, 0, 0]\nto = [0, 0, -1e-6]\nreach_m = 1\n"
LONG = "[[gap]]\nname = 'hop'\nfrom = [0, 0, 0]\nto = [0, 0, -900]\nreach_m = 1\n"


def warned(folder: Path, study: str) -> list[str]:
    """What `measure` says beside its numbers."""
    yard(folder, study)
    said = done("measure", "yard.study.toml", "--renderer", "rays", "--json", "out.json", cwd=folder).err
    return [line for line in said.splitlines() if not line.startswith("Wrote")]


@pytest.mark.parametrize(
    ("study", "words"),
    [
        # 35 mm on 36 mm, 1920 px wide: F = 1866.7 px; 1.7 m at 100 km is 0.03 px.
        (
            f"{HEAD}{SUBJECT}[camera]\ndistance_m = 1e5\n",
            "where the camera aims, 1.7 m is drawn less than a pixel high",
        ),
        # The picture is 20.25 / 10000 of the distance high: 0.0162 m at 8 m.
        (
            f"{HEAD}{SUBJECT}[camera]\nfocal_mm = 1e4\ndistance_m = 8\n",
            "where the camera aims, the picture is only 0.016 m high",
        ),
        (
            f"{HEAD}{SUBJECT}[camera]\nprojection = 'orthographic'\nview_height_m = 0.05\n",
            "where the camera aims, the picture is only 0.05 m high",
        ),
        (
            f"{HEAD}{SUBJECT}[camera]\npitch_deg = 0\nanchor_height_m = 1000\n",
            "nothing of the scene is in the picture",
        ),
        (f"{HEAD}{SUBJECT}{TINY}", '"speck" is drawn smaller than a pixel'),
        (f"{HEAD}{SUBJECT}{SHORT}", 'the gap "hop" is only 0.000001 m long'),
        (f"{HEAD}{SUBJECT}{LONG}", 'nothing level lies under the landing of "hop"'),
    ],
    ids=["far", "long lens", "small view", "past it", "speck", "no gap", "void"],
)
def test_absurd_numbers_are_drawn_with_a_line_that_says_so(study: str, words: str, tmp_path: Path) -> None:
    assert f"A1: {words}." in warned(tmp_path, study)


@pytest.mark.parametrize(
    "study",
    [
        f"{HEAD}{SUBJECT}[camera]\nfocal_mm = 85\ndistance_m = 3\n",  # a close portrait
        f"{HEAD}{SUBJECT}[camera]\ndistance_m = 160\n",  # the subject is 20 px high
        f"{HEAD}[camera]\ndistance_m = 0.02\npitch_deg = 0\nanchor_height_m = 1.6\n",  # first person
    ],
    ids=["close", "far", "first person"],
)
def test_cameras_that_games_have_are_drawn_without_a_word(study: str, tmp_path: Path) -> None:
    assert warned(tmp_path, study) == []


@pytest.mark.parametrize(("under_m", "is_told"), [(0.0, False), (4e-17, False), (1e-6, False), (0.001, True)])
def test_a_camera_that_stands_on_the_ground_is_not_under_it(
    under_m: float, is_told: bool, tmp_path: Path
) -> None:
    # Looking up by 20 degrees from 8 m, the eye is 8 sin 20 m under the anchor.
    height = 8.0 * sin(radians(20.0)) - under_m
    camera = f"[camera]\ndistance_m = 8\npitch_deg = -20\nanchor_height_m = {height!r}\n"
    said = [line for line in warned(tmp_path, f"{HEAD}{SUBJECT}{camera}") if "under the ground" in line]
    assert bool(said) == is_told
