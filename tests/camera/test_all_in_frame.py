"""Holding all subjects in frame: distances and view heights by hand."""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np
import pytest

from stationpoint.base.errors import StudyWrong
from stationpoint.camera.aim.aim import Shape, aim_camera
from stationpoint.camera.camera import project_points
from stationpoint.camera.shot import Setup
from stationpoint.run.prepare import scene_to_draw
from stationpoint.scene.edit import box_node
from stationpoint.scene.types import Scene
from stationpoint.study.file import study_from_text
from stationpoint.study.sweep import expand

WIDE = Shape("16:9", 16 / 9, (1920, 1080))
FLOOR = Scene((box_node("floor", (0, -1, 0), (40, 1, 40)),))
SAFE = 0.93  # SMPTE ST 2046-1:2009


def setup(camera: str, x: tuple[float, ...] = (-2, 2), *, sweep: str = "") -> Setup:
    subjects = "".join(
        f'[[subject]]\nname = "s{k}"\nat = [{at}, 0, 0]\nheight_m = 1.8\nshape = "capsule"\n'
        for k, at in enumerate(x)
    )
    text = f"""
scene = "none.toml"
{subjects}
[camera]
aspect = "16:9"
pitch_deg = 0
{camera}
[sweep]
hold = "all-in-frame"
{sweep}
"""
    study = study_from_text(text, "made")
    scene = scene_to_draw(FLOOR, study)
    return aim_camera(expand(study)[0], study.places[0], study, scene, WIDE, (1920, 1080))


def test_two_subjects_are_held_by_the_distance_of_the_brief_case() -> None:
    # 4 m and 0.5 m either side, 50 mm on 36: 5 / (.72 x .93)
    found = setup("focal_mm = 50\nmargin_m = 0.5")
    assert found.distance_m == pytest.approx(5 / (0.72 * SAFE), abs=1e-6)
    assert found.distance_m == pytest.approx(7.467, abs=5e-4)
    assert found.anchor_m == pytest.approx((0, 0.9, 0), abs=1e-6)  # the middle of their bounds


def test_height_binds_where_they_stand_near_each_other() -> None:
    # 1.8 m and 0.5 m above and below in 9 / 16 of the width: 2.8 / (.72 x .5625 x .93)
    found = setup("focal_mm = 50\nmargin_m = 0.5", (-0.5, 0.5))
    assert found.distance_m == pytest.approx(2.8 / (0.72 * 0.5625 * SAFE), abs=1e-6)


def test_parallel_view_is_as_high_as_it_must_be_at_its_own_distance() -> None:
    found = setup('projection = "orthographic"\nmargin_m = 0.5\ndistance_m = 9')
    assert found.distance_m == 9.0
    assert found.view_height_m == pytest.approx(5 / SAFE * 9 / 16, abs=1e-6)


def test_from_above_the_nearer_ends_count_and_one_touches_the_edge() -> None:
    found = setup("focal_mm = 50", sweep="rows = { pitch_deg = [40] }")
    tops = np.array([[x, y, 0.0] for x in (-2, 2) for y in (0.0, 1.8)])
    drawn = np.abs(project_points(found.camera, tops) / (1920, 1080) * 2 - 1)
    assert drawn.max() == pytest.approx(SAFE, abs=1e-9)
    # by hand: the tops are 0.9 sin 40 nearer, 2 m aside; 0.9 cos 40 up, which leaves room
    by_side = 2 / (0.36 * SAFE) + 0.9 * sin(radians(40))
    assert 0.9 * cos(radians(40)) / (by_side - 0.9 * sin(radians(40))) < 0.36 * 0.5625 * SAFE
    assert found.distance_m == pytest.approx(by_side, abs=1e-6)


def test_an_offset_leaves_them_the_room_that_is_left() -> None:
    # Shifted right by 0.1 of the width, the right one has 0.465 - 0.1 of it: 2 m x F / d = 0.365
    found = setup('focal_mm = 36\noffset = [0.1, 0]\noffset_by = "shift"')
    assert found.distance_m == pytest.approx(2 / 0.365, abs=1e-6)
    with pytest.raises(StudyWrong, match="finds no camera that has every subject"):
        setup('focal_mm = 36\noffset = [0.47, 0]\noffset_by = "shift"')


def test_anchor_height_counts_from_the_lowest_of_them() -> None:
    assert setup("anchor_height_m = 1.5").anchor_m == pytest.approx((0, 1.5, 0), abs=1e-6)


@pytest.mark.parametrize(
    ("camera", "x", "sweep", "says"),
    [
        ("", (), "", r'hold = "all-in-frame" needs a \[\[subject\]\]'),
        ("", (-2, 2), "rows = { distance_m = [4, 8] }", "sets the distance, and distance_m is swept"),
        ("", (-2, 2), "rows = { view_height_m = [4, 8] }", "sets the view height"),
        ("margin_m = -1", (-2, 2), "", "margin_m is -1"),
    ],
)
def test_what_it_cannot_hold_is_refused(camera: str, x: tuple[float, ...], sweep: str, says: str) -> None:
    with pytest.raises(StudyWrong, match=says):
        setup(camera, x, sweep=sweep)
