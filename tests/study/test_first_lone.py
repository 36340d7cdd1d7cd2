"""A small thing that stands alone is looked at whole; what can be stood on or in is a level."""

from __future__ import annotations

from dataclasses import replace
from math import atan, degrees
from pathlib import Path

import pytest

from cli_calls import SMALL, call, done
from stationpoint.scene.edit import box_node
from stationpoint.scene.types import Node, Scene
from stationpoint.study.first.lone import is_lone, lone_study

CRATE = box_node("crate", (0, 0, 0), (1, 1, 1))
CUBE = (
    "".join(f"v {x} {y} {z}\n" for z in (0, 1) for y in (0, 1) for x in (0, 1))
    + "f 1 3 4 2\nf 5 6 8 7\nf 1 2 6 5\nf 3 7 8 4\nf 1 5 7 3\nf 2 4 8 6\n"
)


@pytest.mark.parametrize(
    ("nodes", "floor", "expected"),
    [
        ((CRATE,), (0, 1, 0), True),
        ((box_node("car", (0, 0, 0), (1.8, 1.5, 4.2)),), (0, 1.5, 0), True),  # stood on at its top alone
        ((box_node("car", (0, 0, 0), (1.8, 1.5, 4.6)),), (0, 1.5, 0), False),  # longer than a car
        ((box_node("slab", (0, 0, 0), (4, 0.2, 4)),), (0, 0.2, 0), False),  # flat: a floor
        ((box_node("slab", (0, 0, 0), (3, 0.2, 3)), CRATE), (1.2, 0.2, 1.2), False),  # beside the crate
        ((CRATE, replace(CRATE, kind="ground")), (0, 1, 0), False),
    ],
)
def test_what_is_a_thing_and_what_a_level(
    nodes: tuple[Node, ...], floor: tuple[float, float, float], expected: bool
) -> None:
    assert is_lone(Scene(nodes), floor) == expected


def test_a_lone_things_camera_takes_in_all_of_it() -> None:
    study = lone_study("crate.obj", Scene((CRATE,)), (0.0, 1.0, 0.0))
    # Its ball has half the diagonal, .866 m; 35 mm see atan(20.25 / 70) = 16.1 degrees up and down. At 3.7 m
    # a ball of .866 m reaches 13.5 degrees off the axis.
    assert study.subject is None
    assert study.camera.anchor_height_m == -0.5  # from its top to its middle
    assert study.camera.distance_m == pytest.approx(0.866 / 0.2778 / 0.8, abs=0.1)
    assert degrees(atan(0.866 / (study.camera.distance_m or 0.0))) < degrees(atan(20.25 / 70))
    assert [target.node for target in study.target] == ["crate"]


def test_a_bare_cube_fills_no_picture_and_its_sheet_says_that_it_has_no_floor(tmp_path: Path) -> None:
    (tmp_path / "cube.obj").write_text(CUBE, "utf-8")
    said = done("sheet", "cube.obj", *SMALL, "--json", "cube.json", cwd=tmp_path).err
    assert "No floor found but on its top: it is taken as one thing and looked at whole" in said
    assert "closed in" not in said
    again = call("inspect", "cube.png", cwd=tmp_path).text
    assert "Note: No floor found but on its top" in again
    rows = done("measure", "cube.obj", "--renderer", "rays", "--json", "-", cwd=tmp_path).record["rows"]
    assert len(rows) == 8
    for row in rows:
        (cube,) = row["targets"].values()
        assert (cube["in_frame"], cube["seen"]) == (1, 1)
        assert 0.1 < cube["screen_share"] < 0.5
