"""On what a sheet's pictures show the metre grid."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sheet.made import results, study
from stationpoint.base.look import CLAY, GROUND
from stationpoint.readings import Result
from stationpoint.run.grid import grid_tint
from stationpoint.scene.edit import box_node
from stationpoint.scene.types import Node, Scene


def floor(size_m: float, kind: str = "mesh") -> Scene:
    """A level slab under the camera, 3 m below the subject's foot, the only node."""
    slab = box_node("floor", (4.5, -2.2, -3.5), (size_m, 0.1, size_m))
    return Scene((Node("floor", slab.vertices, slab.faces, gridded=True, kind=kind),))


def seen(number: int, away: float = 1.0) -> Result:
    """A picture that a node fills. away: how many times farther the camera stands."""
    result = results(study())[0]
    camera = result.setup.camera
    view = camera.view.copy()
    view[2, 3] *= away
    ids = np.full((306, 544), number, dtype=np.uint32)
    return replace(result, ids=ids, setup=replace(result.setup, camera=replace(camera, view=view)))


def test_grid_is_the_grounds_or_clays_where_pictures_show_it() -> None:
    assert grid_tint(floor(10.0, "ground"), [seen(1)], False) == GROUND
    assert grid_tint(floor(10.0), [seen(1)], False) == CLAY


def test_no_grid_where_it_is_in_no_picture_crosses_no_line_or_is_too_far() -> None:
    assert grid_tint(floor(10.0), [seen(0)], False) is None
    assert grid_tint(floor(0.2), [seen(1)], False) is None  # 4.4 to 4.6: between lines of whole metres
    # 24 mm on 36 mm: at 1000 m a pixel of 544 is 1000 * 36 / 24 / 544 = 2.8 m wide, over 0.3 m
    assert grid_tint(floor(10.0), [seen(1, away=1000.0)], False) is None


def test_grid_shows_on_the_last_faces_of_very_many() -> None:
    # 40 000 level faces between lines of whole metres come before those of the slab.
    slab = floor(10.0).nodes[0]
    tiny = np.float32([(4.4, -2.15, -3.6), (4.5, -2.15, -3.6), (4.4, -2.15, -3.5)])
    few = Node("floor", tiny, np.int32([(0, 1, 2)] * 40_000), gridded=True)
    faces = np.concatenate([few.faces, slab.faces + 3])
    both = Node("floor", np.concatenate([tiny, slab.vertices]), faces, gridded=True)
    assert grid_tint(Scene((few,)), [seen(1)], False) is None
    assert grid_tint(Scene((both,)), [seen(1)], False) == CLAY
