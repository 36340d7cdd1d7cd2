"""The boom's readings against hand geometry."""

from __future__ import annotations

from dataclasses import replace
from math import cos, radians, sqrt, tan

import numpy as np
import pytest

from readings.made import block, body, camera, case, numbers, square, values
from stationpoint.readings.boom import probe_radius_m
from stationpoint.readings.types import Case, Value
from stationpoint.scene.types import Node
from stationpoint.study.camera_keys import CameraFields

FOCAL_70 = 18 / tan(radians(35))  # 70 degrees wide on 36 mm
CLEAR = (3 - 0.1 * sqrt(1 + tan(radians(35)) ** 2 * (1 + (9 / 16) ** 2))) / cos(radians(20))  # 3.056


def alley(*nodes: Node, kind: str = "perspective", **more: object) -> Case:
    """A boom of 5 m, pitched 20 degrees, from 1.2 m over the subject's foot; near plane .1 m."""
    view = camera(kind, anchor=(0, 1.2, 0), distance=5, focal=FOCAL_70)
    subject = {"name": "hopper", "at": (0, 0, 0)}
    return case(view, *nodes, body((0, 0, 0), "hopper"), anchor=(0, 1.2, 0), subject=subject, **more)


def boom(made: Case) -> dict[str, Value]:
    return {path[1]: value for path, value in values(made, ["boom"]).items()}


def with_fields(made: Case, **fields: object) -> Case:
    return replace(made, variant=replace(made.variant, camera=CameraFields.model_validate(fields)))


WALL = block("wall-back", (0, 0, 4.5), (6, 6, 3))  # from 3 m behind the anchor on; the eye is in it
SCREEN = square("screen", (-3, 3), (0, 6), 3)


def test_probe_is_as_large_as_the_near_planes_corners_are_far() -> None:
    assert probe_radius_m(alley().setup.camera) == pytest.approx(0.1283, abs=5e-5)
    assert pytest.approx(3.056, abs=5e-4) == CLEAR


def test_wall_three_metres_behind_leaves_three_metres_of_five() -> None:
    found = boom(alley(WALL))
    assert found["clear_m"] == pytest.approx(CLEAR, abs=1e-5)
    assert found["clear_share"] == pytest.approx(CLEAR / 5, abs=1e-5)
    assert found["blocked_by"] == found["inside"] == "wall-back"
    assert found["near_cuts"] is False
    assert found["pulled_to_m"] is None


@pytest.mark.parametrize("turned", [False, True])
def test_thin_wall_blocks_from_both_sides_and_holds_nothing(turned: bool) -> None:
    faces = SCREEN.faces[:, ::-1] if turned else SCREEN.faces
    found = boom(alley(Node("screen", SCREEN.vertices, faces, closed=False)))
    assert found["clear_m"] == pytest.approx(CLEAR, abs=1e-5)
    assert (found["blocked_by"], found["inside"]) == ("screen", False)


def test_clear_boom_is_clear_to_its_end_and_the_subject_is_no_blocker() -> None:
    found = boom(alley())
    assert (found["clear_m"], found["clear_share"]) == (pytest.approx(5.0), 1.0)
    assert (found["blocked_by"], found["inside"]) == (None, False)


def test_what_passes_is_looked_past() -> None:
    panes = (
        Node("glass-1", SCREEN.vertices, SCREEN.faces, closed=False),
        block("pillar", (0, 0, 4.2), (1, 6, 0.4)),
    )
    made = alley(*panes)
    assert boom(made)["blocked_by"] == "glass-1"
    past = boom(with_fields(made, passes=["glass*"]))
    assert past["blocked_by"] == "pillar"
    assert past["clear_m"] == pytest.approx(CLEAR + 1.0 / cos(radians(20)), abs=1e-5)  # a metre farther level
    assert boom(with_fields(made, passes=["glass*", "pillar"]))["blocked_by"] is None


def test_eye_among_the_faces_of_an_open_mesh_cannot_be_said_to_be_inside() -> None:
    lidless = Node("shed", WALL.vertices, WALL.faces[2:], closed=False)
    assert boom(alley(lidless))["inside"] == "cannot say"


def test_solid_that_holds_the_eye_alone_is_named_before_a_shell_that_holds_both() -> None:
    hall = block("hall", (0, -20, 0), (60, 60, 60))
    assert boom(alley(hall))["inside"] == "hall"
    both = alley(hall, WALL)
    assert boom(both)["inside"] == numbers(both, "framing")["camera_inside"] == "wall-back"


def test_near_plane_cuts_what_crosses_its_part_in_the_picture() -> None:
    # Eye at (0, 2.910, 4.698), level right is x; the near plane is .14 m wide there, .1 m before the eye.
    eye = alley().setup.camera.eye_m
    post = block("post", (0.06, eye[1] - 1, eye[2] - 0.1), (0.1, 2, 0.1))  # x from .01 to .11
    aside = block("post", (0.13, eye[1] - 1, eye[2] - 0.1), (0.1, 2, 0.1))  # from .08 on
    assert boom(alley(post))["near_cuts"] is True
    assert boom(alley(aside))["near_cuts"] is False


def test_parallel_view_has_no_boom_but_a_near_plane() -> None:
    found = boom(alley(WALL, kind="orthographic"))
    assert found.pop("near_cuts") is False
    assert len(found) == 5
    assert set(found.values()) == {None}


def test_camera_that_does_not_have_the_anchor_in_front_has_no_boom() -> None:
    made = alley(WALL)
    found = boom(replace(made, setup=replace(made.setup, distance_m=None)))
    assert found == {
        "clear_m": None, "clear_share": None, "blocked_by": None, "inside": "wall-back",
        "near_cuts": False, "pulled_to_m": None,
    }  # fmt: skip


def test_boom_of_an_offset_camera_is_straight_from_anchor_to_eye() -> None:
    # The eye slid 1 m aside: the wall is met where the level way is 3 - r behind, on a longer line.
    made = alley(WALL)
    view = np.array(made.setup.camera.view)
    view[0, 3] -= 1.0
    slid = replace(made, setup=replace(made.setup, camera=replace(made.setup.camera, view=view)))
    share = (3 - probe_radius_m(made.setup.camera)) / (5 * cos(radians(20)))
    assert boom(slid)["clear_share"] == pytest.approx(share, abs=1e-5)
    assert boom(slid)["clear_m"] == pytest.approx(share * sqrt(26), abs=1e-5)
