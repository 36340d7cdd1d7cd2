"""The demo scenes as they are shipped."""

from __future__ import annotations

from pathlib import Path

import pytest

from stationpoint.cli.actions.sheet import DEMOS
from stationpoint.scene.export import glb_bytes
from stationpoint.scene.file import read_scene
from stationpoint.study.file import read_study

SCENES = Path(__file__).parents[1] / "scenes"


def test_the_quarrys_mesh_is_what_the_tool_writes_of_its_scene() -> None:
    assert (SCENES / "quarry.glb").read_bytes() == glb_bytes(read_scene(SCENES / "quarry.toml"))


@pytest.mark.parametrize("demo", DEMOS)
def test_every_demo_asks_a_question_and_has_a_brief_that_answers_it(demo: str) -> None:
    study = read_study(SCENES / f"{demo}.study.toml")
    assert study.title.endswith("?")
    assert study.limit
    assert all(limit.why for limit in study.limit)
