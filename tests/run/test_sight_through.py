"""What is seen through fences and glass, from files to readings; shares by hand."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from stationpoint.run import Drawing, Wants, draw_sheet, prepare_study, sweep_variants
from stationpoint.run.prepare import Prepared
from stationpoint.study import study_from_text

from ..render.conftest import engine as engine
from ..scene.painted import UV, Painted


def prepared(built: Painted, folder: Path) -> Prepared:
    built.glb(folder / "level.glb")
    text = (
        'title = "Seen through"\nscene = "level.glb"\n[[target]]\nname = "plate"\nnode = "plate"\n'
        '[camera]\nprojection = "orthographic"\nview_height_m = 4\ndistance_m = 8\npitch_deg = 0\n'
    )
    return prepare_study(study_from_text(text, "a.study.toml"), folder)


def seen(built: Painted, folder: Path, engine: str) -> float:
    (result,) = sweep_variants(prepared(built, folder), Wants(picture=False), engine)
    return float(str(result.reading.values["targets", "plate", "seen"]))


def before(built: Painted, material: int, right: float = 1.0, repeats: float = 1.0) -> Painted:
    """A plate of 2 m, and before it a pane from its left edge to x = `right`."""
    built.plate("plate", built.material(), (-1, -1), (1, 1))
    built.plate("pane", material, (-1, -1), (right, 1), 1.0, np.array(UV) * (repeats, 1))
    return built


@pytest.mark.parametrize("repeats", [4.0, 90.0])
def test_a_fence_of_40_percent_holes_hides_60(engine: str, tmp_path: Path, repeats: float) -> None:
    built = Painted()
    bars = np.full((4, 100, 4), 255)
    bars[:, :40, 3] = 0
    material = built.material(texture=built.texture(bars), alphaMode="MASK")
    assert seen(before(built, material, repeats=repeats), tmp_path, engine) == pytest.approx(0.4, abs=0.01)


@pytest.mark.parametrize(("opacity", "right", "share"), [(0.3, 1.0, 1.0), (0.7, 1.0, 0.0), (0.7, 0.0, 0.5)])
def test_a_pane_hides_from_half_opacity_on(
    engine: str, tmp_path: Path, opacity: float, right: float, share: float
) -> None:
    built = Painted()
    material = built.material((1, 1, 1, opacity), alphaMode="BLEND")
    assert seen(before(built, material, right), tmp_path, engine) == pytest.approx(share, abs=0.01)


def test_own_colours_change_the_picture_and_no_reading(engine: str, tmp_path: Path) -> None:
    built = Painted()
    ready = prepared(before(built, built.material((1, 0, 0, 1)), 0.0), tmp_path)
    clay, own = (draw_sheet(ready, Drawing(renderer=engine, materials=kind)) for kind in (None, "own"))
    assert clay.pages[0] != own.pages[0]
    assert json.loads(clay.record_text) == json.loads(own.record_text)


def test_a_level_without_colours_is_drawn_in_clay_and_that_is_said(tmp_path: Path) -> None:
    built = Painted()
    built.plate("plate", None, (-1, -1), (1, 1))
    made = draw_sheet(prepared(built, tmp_path), Drawing(renderer="rays", materials="own"))
    assert "Nothing in the scene has colours of its own, so it is drawn in clay." in made.warnings
