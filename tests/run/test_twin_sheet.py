"""The twins close-up from a study: drawn, measured, set on a page."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli_calls import LAMP_SCENE
from stationpoint.base.errors import StudyWrong
from stationpoint.record.png import read_png_texts
from stationpoint.run.endings import RECORD, STUDY
from stationpoint.run.prepare import Prepared, prepare_study
from stationpoint.run.sheet import Drawing
from stationpoint.run.twin_sheet import draw_twin_sheet
from stationpoint.study.file import study_from_text

STUDY_TEXT = """
scene = "yard.toml"

[subject]
at = [-3, 0, 2]

[[target]]
name = "lamp"
node = "lamp"

[[target]]
name = "crate"
node = "crate"
role = "secondary"

[camera]
projection = "orthographic"
view_height_m = 12
distance_m = 20
pitch_deg = 30
"""


@pytest.fixture
def yard(tmp_path: Path) -> Prepared:
    """A lamp in the air over level ground, seen in parallel from 30 degrees above."""
    (tmp_path / "yard.toml").write_text(LAMP_SCENE, "utf-8")
    return prepare_study(study_from_text(STUDY_TEXT, "yard.study.toml"), tmp_path)


def test_lamp_in_the_air_could_be_elsewhere(yard: Prepared, tmp_path: Path) -> None:
    # orthographic, pitch 30, no shadow shipped: a slide along the sightline draws the same picture;
    # 2 m of it are 2 cos 30 = 1.7 m level and 2 sin 30 = 1.0 m in height
    made = draw_twin_sheet(yard, Drawing(cell_width=480, renderer="rays"), shift_m=2.0)
    assert len(made.pages) == 1
    assert "In A1, yes: 1.7 m" in made.ticket_text
    assert "1.0 m" in made.ticket_text
    (tmp_path / "page.png").write_bytes(made.pages[0])
    found = read_png_texts(str(tmp_path / "page.png"), (RECORD, STUDY))
    assert found[RECORD] == made.record_text


def test_same_study_makes_the_same_bytes(yard: Prepared) -> None:
    one, other = (
        draw_twin_sheet(yard, Drawing(cell_width=420, renderer="rays"), shift_m=2.0) for _ in range(2)
    )
    assert one.pages == other.pages


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"target": "lmap"}, 'there is no target "lmap"; did you mean "lamp"?'),
        ({"variant": "Z9"}, 'there is no variant "Z9"'),
        ({"kind": "spin"}, "there are slide and mirror"),
        ({"target": "crate"}, "no plausible twin in A1: it stands on ground"),
    ],
)
def test_what_cannot_be_drawn_is_said(yard: Prepared, asked: dict[str, str], said: str) -> None:
    with pytest.raises(StudyWrong, match=said.replace("?", r"\?")):
        draw_twin_sheet(yard, Drawing(cell_width=420, renderer="rays"), **asked)  # type: ignore[arg-type]
