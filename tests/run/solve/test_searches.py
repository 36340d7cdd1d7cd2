"""The parts of a search: digits of an answer, points that fill a box, the map's limits."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from cli_calls import STUDY as YARD
from cli_calls import yard
from stationpoint.base.errors import StudyWrong
from stationpoint.run.prepare import prepare_study
from stationpoint.run.solve.one import tidy
from stationpoint.run.solve.several import halton, spread
from stationpoint.run.solve.solve import MAP_STEPS, margin_map
from stationpoint.study.file import read_study
from stationpoint.study.models import Sweep
from stationpoint.study.vary import Varied, limit_from_words, with_settings


@pytest.mark.parametrize(
    ("holding", "failing", "slack", "value"),
    [
        (60.3439, 60.3441, 0.01, 60.34),
        (60.3441, 60.3439, 0.01, 60.35),
        (-0.8327, -0.9, 0.001, -0.832),
        (8.3139, 8.4, 0.002, 8.313),
        (1234.5, 1300.0, 0.3, 1234.5),
        (1234.5, 1300.0, 200.0, 1200.0),
    ],
)
def test_answer_is_cut_to_few_digits_away_from_what_fails(
    holding: float, failing: float, slack: float, value: float
) -> None:
    assert tidy(holding, failing, slack) == value


def test_points_are_mirrored_digits() -> None:
    # Halton 1960: 1, 2, 3, ... in base 2 and base 3, mirrored at the point.
    assert [halton(n, 2) for n in range(1, 7)] == [0.5, 0.25, 0.75, 0.125, 0.625, 0.375]
    assert [halton(n, 3) for n in range(1, 5)] == pytest.approx([1 / 3, 2 / 3, 1 / 9, 4 / 9])


def test_points_fill_every_part_of_a_box() -> None:
    points = np.array(list(spread(216, 3)))
    counts, _ = np.histogramdd(points, bins=3, range=[(0, 1)] * 3)
    assert counts.min() >= 6  # 8 in each of 27 parts if it were quite even
    assert counts.max() <= 10


def test_map_has_its_limits_where_hand_geometry_has_them(tmp_path: Path) -> None:
    # nothing is drawn for limits on scale, and none is assumed on a subject that may hide
    study = read_study(yard(tmp_path, YARD.replace('name = "hopper"', 'name = "hopper"\nmay_hide = true')))
    limits = (limit_from_words("axes.x.px_per_m >= 100"), limit_from_words("axes.x.px_per_m <= 200"))
    study = study.model_copy(update={"limit": limits, "sweep": Sweep()})
    varied = (Varied("distance_m", 4.0, 24.0), Varied("focal_mm", 20.0, 60.0))
    prepared = prepare_study(with_settings(study, [{"distance_m": 4.0, "focal_mm": 20.0}]), tmp_path)
    made = margin_map(prepared, varied, renderer="rays")
    assert made.fields == ("distance_m", "focal_mm")
    far, focal = np.meshgrid(made.xs, made.ys)
    # px a metre at the anchor: 1920 / 36 f / d.
    scale = 1920 / 36 * focal / far
    by_hand = np.minimum((scale - 100) / 100, (200 - scale) / 200)
    (_, least), (_, most) = made.limits
    worst = np.minimum(least, most)
    assert worst.shape == (MAP_STEPS + 1, MAP_STEPS + 1)
    assert worst[::2, ::2] == pytest.approx(by_hand[::2, ::2], abs=1e-3)
    clear = abs(by_hand) > 0.05
    assert ((worst >= 0) == (by_hand >= 0))[clear].all()


def test_places_viewings_and_lights_on_three_axes_leave_none_for_what_varies(tmp_path: Path) -> None:
    study = read_study(yard(tmp_path))
    axes = {
        "rows": {"place": ("here",)},
        "columns": {"viewing": ("desk",)},
        "pages": {"light_yaw_deg": (0, 9)},
    }
    swept = study.model_copy(update={"sweep": Sweep.model_validate(axes)})
    with pytest.raises(StudyWrong, match="clear one"):
        with_settings(swept, [{"distance_m": 4.0}])
    two = swept.model_copy(update={"sweep": Sweep.model_validate({**axes, "rows": {}})})
    made = with_settings(two, [{"distance_m": 4.0}, {"distance_m": 5.0}]).sweep
    assert made.columns == {"distance_m": (4.0, 5.0)}
    assert made.rows == {"viewing": ("desk",)}
    assert made.pages == {"light_yaw_deg": (0.0, 9.0)}
