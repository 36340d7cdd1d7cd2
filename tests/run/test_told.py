"""What is said on a picture that shows little: the camera in a solid or under the ground, one thing alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from cli_calls import yard
from stationpoint.base.errors import MachineLacks
from stationpoint.readings import Result
from stationpoint.render.gl import open as gl
from stationpoint.run.prepare import prepare_study
from stationpoint.run.sweep import Wants, sweep_variants
from stationpoint.study import read_study

# A wall from 3.5 to 4.5 m from the middle, a crate on its other side, and a room far off.
SCENE = """
[ground]
size = [80, 80]

[[solid]]
name = "wall"
shape = "box"
size = [12, 6, 1]
at = [0, 0, 4]

[[solid]]
name = "crate"
shape = "box"
size = [1, 1, 1]
at = [0, 0, -3]

[[solid]]
name = "room"
shape = "box"
size = [8, 4, 8]
at = [-30, 0, 0]
"""
HEAD = 'scene = "yard.toml"\nhere = false\n'
FREE = "[[place]]\nname = 'p'\nat = [0, 0, 0]\n"
ROOM = FREE.replace("[0, 0, 0]", "[-30, 0, 0]")
CAMERA = "[camera]\nanchor_height_m = 1.5\nfocal_mm = 50\n"


def drawn(folder: Path, study: str, hidden: bool = False, renderer: str = "rays") -> Result:
    path = yard(folder, HEAD + study, SCENE)
    prepared = prepare_study(read_study(path), folder)
    (result,) = sweep_variants(prepared, Wants(cell_width=160, ids=hidden, hidden=hidden), renderer)
    return result


@pytest.mark.parametrize(
    ("study", "stands", "filled"),
    [
        (FREE + CAMERA + "pitch_deg = 0\ndistance_m = 4\n", "camera inside wall", "only wall in the picture"),
        (FREE + CAMERA + "pitch_deg = 0\ndistance_m = 6\n", "", "only wall in the picture"),
        (FREE + CAMERA + "pitch_deg = 5\ndistance_m = 3\n", "", ""),
        (FREE + CAMERA + "pitch_deg = -80\ndistance_m = 1\n", "", "nothing in the picture"),
        (FREE + CAMERA + "pitch_deg = -40\ndistance_m = 3.2\n", "camera under the ground", None),
        (FREE + CAMERA + "pitch_deg = 90\ndistance_m = 1\n", "", "only ground in the picture"),
        # A room's shell holds the subject as well: nothing is odd, but that is all there is to see.
        (ROOM + CAMERA + "pitch_deg = 0\ndistance_m = 2\n", "", "only room in the picture"),
    ],
)
def test_picture_without_a_subject_is_never_left_without_a_word(
    tmp_path: Path, study: str, stands: str, filled: str | None
) -> None:
    result = drawn(tmp_path, study)
    assert result.stands == stands
    assert filled is None or result.filled == filled


def test_view_down_on_a_small_subject_is_not_empty(tmp_path: Path) -> None:
    """A stand-in of 0.5 m across in a picture of 40 m: less than a hundredth of it, and what it is about."""
    study = FREE + "[subject]\nname = 'me'\nat = [20, 0, 20]\n[camera]\npitch_deg = 90\ndistance_m = 40\n"
    assert drawn(tmp_path, study).filled == ""


@pytest.mark.parametrize("renderer", ["rays", "gl"])
def test_what_is_hidden_is_where_it_would_be_drawn_alone(tmp_path: Path, renderer: str) -> None:
    """Behind the wall all of the crate is hidden; before it, nothing."""
    if renderer == "gl":
        try:
            gl.works()
        except MachineLacks as lack:
            pytest.skip(lack.message)
    crate = "[[target]]\nname = 'crate'\nnode = 'crate'\n"
    study = FREE + CAMERA + "pitch_deg = 0\ndistance_m = 7\n" + crate
    behind = drawn(tmp_path, study, True, renderer)
    assert behind.ids is not None
    assert behind.hidden is not None
    # 50 mm on 36 mm, 160 px wide: F = 222.2 px; the crate's face is 9.5 m off, 1 m wide: 23.4 px.
    columns = np.flatnonzero((behind.hidden > 0).any(axis=0))
    assert columns[-1] - columns[0] + 1 == pytest.approx(222.22 / 9.5, abs=1)
    assert set(np.unique(behind.hidden)) == {0, 3}  # the crate is the third node
    free = drawn(tmp_path, study.replace("distance_m = 7", "distance_m = 3"), True, renderer)
    assert free.hidden is not None
    assert not free.hidden.any()
