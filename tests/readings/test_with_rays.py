"""Readings through the program's own door: what rays through pixel centres count exactly."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from camera.cameras import worked
from readings.made import block, body, camera, case, square
from readings.test_visibility import BOXES, EYE, OCCLUDERS, PLATE, TARGET
from stationpoint.readings.kinds import read, wanted
from stationpoint.readings.types import Case, Path, Value
from stationpoint.render import open_renderer
from stationpoint.scene.edit import moved_scene
from stationpoint.scene.types import Scene


def _values(made: Case, still: Scene | None = None) -> dict[Path, Value]:
    """The readings of a case. still: the scene before the place's moves, as the renderer holds it."""
    with open_renderer("rays", still or made.scene) as renderer:
        return read(made, {name: renderer.draw(shot) for name, shot in wanted(made).items()}).values


@pytest.mark.parametrize("name", OCCLUDERS)
def test_published_areas_are_exact_on_1280_by_720_rays(name: str) -> None:
    squares, free = OCCLUDERS[name]
    made = case(EYE, PLATE, *(square(*one) for one in squares), target=TARGET)
    assert _values(made)["targets", "t", "seen"] == free


def test_boxes_are_seen_as_the_published_rays_see_them() -> None:
    # Worked camera C2 at 1920 x 1080: .88834 by Embree, .88817 exactly (shapely).
    found = _values(case(worked("C2"), *BOXES, target=[{"name": "t", "node": "target"}]))
    assert found["targets", "t", "seen"] == pytest.approx(0.88834, abs=5e-5)
    assert found["targets", "t", "hidden_by"] == {"before": pytest.approx(1 - 0.88834, abs=5e-5)}


def test_virtual_box_landing_and_moved_node_are_drawn_by_the_same_shots() -> None:
    deck, crate, figure = (
        block("deck", (0, -1, -3), (2, 0.5, 3)),
        block("crate", (3, 0, 0), (1, 1, 1)),
        body((0, -0.5, 1)),
    )
    crates = [{"name": "spot", "at": (-2, 0, 0), "size": (1, 1, 1)}, {"name": "t", "node": "crate"}]
    gap = {"name": "hop", "from": (0, -0.5, 1), "to": (0, -0.5, -3)}
    said = {"target": crates, "gap": [gap], "subject": {"at": (0, -0.5, 1)}}
    moves = {"crate": (-5, 0, 0.6), "deck": (0, -0.5, 0)}
    view = camera(pitch=25, distance=9)
    made = case(view, deck, crate, figure, cell=(320, 180), moves=moves, **said)
    found = _values(made, Scene((deck, crate, figure)))
    # The moved crate stands 0.6 m before the virtual box and hides most of it, but not its top edge.
    assert 0.0 < found["targets", "spot", "seen"] < 0.4  # type: ignore[operator]
    assert found["targets", "spot", "hidden_by"].keys() == {"crate"}  # type: ignore[union-attr]
    assert found["targets", "t", "seen"] == 1.0
    assert found["gaps", "hop", "height_m"] == pytest.approx(-0.5, abs=1e-6)
    seen = found["gaps", "hop", "landing_seen"]
    covered = found["framing", "subject_covers", "gap:hop"]
    assert 0.5 < seen < 1.0  # type: ignore[operator]
    assert 0.0 < covered < 0.5  # type: ignore[operator]
    # The same with the nodes built where they were moved to.
    built = moved_scene(Scene((deck, crate, figure)), dict(made.moves))
    again = _values(replace(made, scene=built, moves=()), built)
    assert np.isclose(again["targets", "spot", "seen"], found["targets", "spot", "seen"])  # type: ignore[arg-type]
