"""From variant and place to camera: hold, offsets, lenses, file cameras, aspects."""

from __future__ import annotations

from math import atan, cos, degrees, hypot, radians, sin, tan

import numpy as np
import pytest

from stationpoint.base.errors import StudyWrong
from stationpoint.camera.aim.aim import Shape, aim_camera
from stationpoint.camera.camera import depths, frontal_px_per_m, project_points
from stationpoint.camera.pose import turned_by
from stationpoint.camera.shot import Setup
from stationpoint.scene.edit import box_node
from stationpoint.scene.types import Scene
from stationpoint.study.file import study_from_text
from stationpoint.study.sweep import expand

WIDE = Shape("16:9", 16 / 9, (1920, 1080))
SCENE = Scene((box_node("floor", (0, -1, 0), (40, 1, 40)),))
ANCHOR = np.array([0.0, 0.9, 0.0])


def setups(camera: str, sweep: str = "", shape: Shape = WIDE) -> list[Setup]:
    study = study_from_text(
        f"""
        scene = "none.toml"
        [subject]
        at = [0, 0, 0]
        height_m = 1.8
        [camera]
        aspect = "16:9"
        anchor_height_m = 0.9
        {camera}
        [sweep]
        {sweep}
        """,
        "made",
    )
    return [
        aim_camera(variant, study.places[0], study, SCENE, shape, (1920, 1080)) for variant in expand(study)
    ]


def px_per_m(setup: Setup) -> float:
    return float(frontal_px_per_m(setup.camera, np.array([setup.anchor_m]))[0])


def test_worked_camera_c2_is_drawn_where_independent_libraries_draw_it():
    # Computed with numpy, OpenCV and three.js; see tests/published.py for all of C1 to C5.
    (setup,) = setups("focal_mm = 35\ndistance_m = 8\npitch_deg = 20")
    points = [(0, 0.9, 0), (1, 0, -2), (-2.5, 1.8, -6), (3, 0.5, 1.5)]
    expected = [(960, 540), (1143.2364, 569.6262), (609.9213, 134.2106), (1792.4329, 786.6519)]
    assert project_points(setup.camera, points) == pytest.approx(np.array(expected), abs=1e-4)


def test_subject_scale_moves_the_camera_by_the_ratio_of_lenses():
    # d = d0 f / f0, exact in the anchor's plane (similar triangles).
    found = setups(
        "focal_mm = 35\ndistance_m = 8",
        'columns = { focal_mm = [24, 35, 50, 85, 135] }\nhold = "subject-scale"',
    )
    assert [s.distance_m for s in found] == pytest.approx([8 * f / 35 for f in (24, 35, 50, 85, 135)])
    assert [px_per_m(s) for s in found] == pytest.approx([1920 * 35 / 36 / 8] * 5)


def test_subject_scale_gives_a_parallel_view_the_height_that_matches():
    # 8 m, 35 mm: the picture is 8 x 20.25 / 35 m high in the anchor's plane.
    found = setups(
        "focal_mm = 35\ndistance_m = 8\npitch_deg = 20",
        'rows = { projection = ["perspective", "orthographic", "oblique"] }\nhold = "subject-scale"',
    )
    assert found[1].view_height_m == pytest.approx(8 * 20.25 / 35)
    assert found[2].view_height_m == pytest.approx(8 * 20.25 / 35)
    assert [px_per_m(s) for s in found] == pytest.approx([px_per_m(found[0])] * 3)


def test_a_lens_cannot_change_a_held_parallel_view():
    found = setups(
        'projection = "orthographic"\nfocal_mm = 35\ndistance_m = 8',
        'columns = { focal_mm = [24, 85] }\nhold = "subject-scale"',
    )
    assert found[0].camera.projection == pytest.approx(found[1].camera.projection)


def test_subject_scale_gives_way_in_the_lens_where_only_the_distance_is_swept():
    found = setups(
        "focal_mm = 35\ndistance_m = 8", 'columns = { distance_m = [4, 8, 16] }\nhold = "subject-scale"'
    )
    assert [s.focal_mm for s in found] == pytest.approx([17.5, 35, 70])


def test_holding_while_lens_and_distance_are_both_swept_is_refused():
    with pytest.raises(StudyWrong, match="swept too"):
        setups(
            "", 'rows = { distance_m = [4, 8] }\ncolumns = { focal_mm = [24, 35] }\nhold = "subject-scale"'
        )


def test_subject_height_keeps_the_drawn_height_of_the_subject():
    found = setups(
        "focal_mm = 35\ndistance_m = 8\npitch_deg = 25",
        'rows = { projection = ["perspective", "orthographic"] }\n'
        'columns = { focal_mm = [24, 35, 85] }\nhold = "subject-height"',
    )
    tall = []
    for setup in found:
        foot, head = project_points(setup.camera, [(0, 0, 0), (0, 1.8, 0)])
        tall.append(hypot(*(head - foot)))
    assert len(tall) == 6
    assert tall == pytest.approx([tall[1]] * 6)
    assert found[1].distance_m == pytest.approx(8)


def test_a_height_that_the_studys_own_camera_cannot_see_whole_is_not_held():
    # From 0.5 m, 80 degrees over the anchor 0.9 m up: the head, 1.8 m up, is behind the camera.
    with pytest.raises(StudyWrong, match='"subject-height" has no size to keep: the subject is not whole'):
        setups(
            "distance_m = 0.5\npitch_deg = 80",
            'rows = { projection = ["perspective", "orthographic"] }\nhold = "subject-height"',
        )


@pytest.mark.parametrize("projection", ["perspective", "orthographic", "oblique"])
@pytest.mark.parametrize("by", ["slide", "turn", "shift"])
def test_the_anchor_sits_at_the_offset(projection: str, by: str):
    (setup,) = setups(
        f'projection = "{projection}"\nfocal_mm = 35\ndistance_m = 8\npitch_deg = 20\nyaw_deg = 35\n'
        f'offset = [0.2, -0.1]\noffset_by = "{by}"'
    )
    assert project_points(setup.camera, ANCHOR)[0] == pytest.approx((0.7 * 1920, 0.6 * 1080))


def test_slide_and_shift_keep_the_direction_and_turn_keeps_the_eye():
    text = 'focal_mm = 35\ndistance_m = 8\npitch_deg = 20\noffset = [0.2, 0.0]\noffset_by = "{}"'
    slide, turn, shift = (setups(text.format(by))[0] for by in ("slide", "turn", "shift"))
    straight = turned_by(0, 20)
    eye = ANCHOR + 8 * np.array([0, sin(radians(20)), cos(radians(20))])
    assert slide.camera.view[:3, :3] == pytest.approx(straight)
    assert shift.camera.view[:3, :3] == pytest.approx(straight)
    assert shift.camera.eye_m == pytest.approx(eye)
    assert turn.camera.eye_m == pytest.approx(eye)
    # Turned: the anchor is off the axis by atan(.2 x 36 / 35), its depth is 8 cos of that.
    off = atan(0.2 * 36 / 35)
    assert depths(turn.camera, ANCHOR)[0] == pytest.approx(8 * cos(off))
    # Slid: the camera stands .2 of the picture's width there, 8 x 36 / 35 m, to the left.
    assert slide.camera.eye_m - eye == pytest.approx(np.array([-0.2 * 8 * 36 / 35, 0, 0]))


def test_turn_keeps_the_horizon_level():
    (setup,) = setups(
        "focal_mm = 24\ndistance_m = 6\npitch_deg = 30\nyaw_deg = -70\n"
        'offset = [-0.3, 0.25]\noffset_by = "turn"'
    )
    assert setup.camera.right[1] == pytest.approx(0, abs=1e-12)
    assert project_points(setup.camera, ANCHOR)[0] == pytest.approx((0.2 * 1920, 0.25 * 1080))


def test_holding_subject_scale_counts_the_depth_of_a_turned_camera():
    found = setups(
        'focal_mm = 35\ndistance_m = 8\noffset = [0.25, 0.1]\noffset_by = "turn"',
        'columns = { focal_mm = [24, 35, 85] }\nhold = "subject-scale"',
    )
    assert [px_per_m(s) for s in found] == pytest.approx([px_per_m(found[1])] * 3)


def test_angles_of_view_are_those_of_the_picture_on_its_gate():
    # 36 mm gate, 16:9 on its width; published angle-of-view tables give h for 35 mm.
    (setup,) = setups("focal_mm = 35\ndistance_m = 8")
    assert (setup.hfov_deg, setup.vfov_deg, setup.dfov_deg) == pytest.approx((54.43, 32.27, 61.09), abs=0.005)


@pytest.mark.parametrize(
    ("written", "over_width"),
    [("hfov_deg = 90", 0.5), ("vfov_deg = 90", 0.5 * 9 / 16), ("dfov_deg = 90", 0.5 * hypot(1, 9 / 16))],
)
def test_every_angle_gives_its_lens(written: str, over_width: float):
    (setup,) = setups(f"{written}\ndistance_m = 8")
    assert setup.focal_over_width == pytest.approx(over_width)


def test_height_policy_keeps_the_vertical_angle_on_half_a_screen():
    # 70 degrees at 16:9, shown at 8:9: 38.6 degrees across (geometry); the width policy keeps 70.
    half = Shape("8:9", 8 / 9, (960, 1080))
    (high,) = setups("hfov_deg = 70\ndistance_m = 8", shape=half)
    assert high.hfov_deg == pytest.approx(2 * degrees(atan(tan(radians(35)) / 2)))
    (wide,) = setups('hfov_deg = 70\ndistance_m = 8\naspect_policy = "width"', shape=half)
    assert wide.hfov_deg == pytest.approx(70)


def test_straight_down_has_the_yaw_direction_up():
    (setup,) = setups("focal_mm = 35\ndistance_m = 8\npitch_deg = 90\nyaw_deg = 0")
    up, centre = project_points(setup.camera, [(0, 0.9, -1), (0, 0.9, 0)])
    assert centre == pytest.approx((960, 540))
    assert up[0] == pytest.approx(960)
    assert up[1] < 540


def test_a_parallel_near_plane_stands_before_everything():
    (setup,) = setups('projection = "orthographic"\nview_height_m = 60\ndistance_m = 3\npitch_deg = 20')
    assert setup.camera.near_m < 0
    low, high = SCENE.bounds()
    corners = [(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    z = depths(setup.camera, corners)
    assert z.min() > setup.camera.near_m
    assert z.max() < setup.camera.far_m


def test_the_house_light_turns_with_the_studys_camera_and_not_with_the_sweep():
    found = setups("yaw_deg = 25\ndistance_m = 8", "columns = { yaw_deg = [25, 115] }")
    towards = np.array([-0.5, 1.0, 0.74]) / np.linalg.norm([-0.5, 1.0, 0.74])
    assert found[0].towards_light == pytest.approx(tuple(towards))
    assert found[1].towards_light == pytest.approx(tuple(towards))


def test_a_scene_without_a_subject_is_aimed_at_its_middle_on_its_floor():
    study = study_from_text('scene = "x.toml"\n[camera]\ndistance_m = 5', "made")
    (variant,) = expand(study)
    setup = aim_camera(variant, study.places[0], study, SCENE, WIDE, (1920, 1080))
    assert setup.anchor_m == pytest.approx((0, 0, 0))


def test_near_plane_behind_all_that_there_is_names_the_near_plane():
    with pytest.raises(StudyWrong, match="near_m is 10000, and nothing in the scene is so far away"):
        setups("near_m = 1e4")
