"""Words where something cannot be seen: the subject on its picture, a gap in caption, legend and chart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from sheet.made import owners, results, study
from stationpoint.ink import Text
from stationpoint.readings import field_at
from stationpoint.sheet.caption import caption_lines, verdict_words
from stationpoint.sheet.chart.panels import LADDERS
from stationpoint.sheet.legend.uses import uses_of
from stationpoint.sheet.marks import draw_marks
from stationpoint.sheet.marks.drawing import Drawing, drawing
from stationpoint.sheet.scale import scale_for
from stationpoint.study import Limit

SCALE = scale_for(544)


def look(seen: float | None, by: Mapping[str, float], stands: str = "", filled: str = "") -> Drawing:
    those = study()
    result = results(those)[0]
    found = result.reading.values
    found["subject", "seen"], found["subject", "hidden_by"] = seen, by
    return drawing(replace(result, stands=stands, filled=filled), those, SCALE, owners(those))


def test_brief_that_asks_for_more_is_heeded() -> None:
    those = look(0.4, {"bookcase": 0.6})
    limit = Limit.model_validate({"reading": "subject.seen", "min": 0.5})
    asking = replace(those, study=those.study.model_copy(update={"limit": (limit,)}))
    assert "60 % hidden by bookcase" in words(asking)
    assert words(look(0.4, {"bookcase": 0.6})) == ""


def test_gap_that_nobody_sees_is_told_without_a_length_and_stands_in_the_legend() -> None:
    result = results(study())[0]
    result.reading.values["gaps", "hop", "verdict"] = "unseen"
    assert verdict_words(result, "hop") == (("unseen", "bold"),)
    means = "an end of the gap cannot be seen, so nobody judges it"
    uses = uses_of([result], study(), set(), {}, "marks", None, None, ["hop: ", "unseen", "9 m away"])
    assert uses.said == (("unseen", means),)
    assert uses_of([result], study(), set(), {}, "marks", None, None, ["load is unseen"]).said == ()


def test_chart_has_a_step_for_every_verdict() -> None:
    field = field_at(("gaps", "hop", "verdict"))
    assert field is not None
    assert set(field.words) == set(LADDERS[0])


@pytest.mark.parametrize(
    ("seen", "by", "stands", "blocked", "said"),
    [
        (1.0, {}, "", "wall", "wall stands between"),
        (0.02, {"wall": 0.98}, "", "wall", "wall stands between: hopper 98 % hidden"),
        (0.02, {"crate": 0.98}, "", "wall", "wall stands between: hopper 98 % hidden by crate"),
        (0.0, {"wall": 1.0}, "camera inside wall", "wall", "camera inside wall"),
        (0.0, {"wall": 1.0}, "camera inside wall", "screen", "camera inside wall"),
        (1.0, {}, "", None, ""),
    ],
)
def test_blocked_boom_is_told_on_the_picture_and_in_the_caption(
    seen: float, by: Mapping[str, float], stands: str, blocked: str | None, said: str
) -> None:
    one = look(seen, by, stands)
    one.result.reading.values["boom", "blocked_by"] = blocked
    assert words(one) == said
    lines = caption_lines(one.result, one.study, (), SCALE, 544)
    told = [part.words for line in lines for part in line]
    assert not said or said.partition(":")[0] in told


def test_camera_that_was_pulled_in_says_to_where() -> None:
    # The eye of the study's camera is 8 m from the anchor; 20 m were asked for.
    one = look(0.02, {"crate": 0.98})
    setup = replace(one.result.setup, asked_eye_m=(4.2, 7.64, 15.8))
    one = replace(one, result=replace(one.result, setup=setup))
    away = float(np.linalg.norm(setup.camera.eye_m - setup.anchor_m))
    assert words(one) == f"pulled to {away:.2f} m: hopper 98 % hidden by crate"
    told = [part.words for line in caption_lines(one.result, one.study, (), SCALE, 544) for part in line]
    assert f"pulled to {away:.2f} m" in told
    assert not any("m away" in words for words in told)


def words(one: Drawing) -> str:
    return " ".join(
        shape.words for shape in draw_marks(one, frozenset({"hidden"})) if isinstance(shape, Text)
    )


@pytest.mark.parametrize(
    ("seen", "by", "stands", "filled", "said"),
    [
        (0.02, {"bookcase": 0.98}, "", "only bookcase in the picture", "hopper 98 % hidden by bookcase"),
        (0.0, {"bookcase": 0.6, "lamp": 0.4}, "", "", "hopper 100 % hidden, mostly by bookcase"),
        (0.0, {"wall": 1.0}, "camera inside wall", "only wall in the picture", "camera inside wall"),
        (None, {}, "camera under the ground", "", "camera under the ground"),
        (None, {}, "", "nothing in the picture", "nothing in the picture"),
        (0.3, {"bookcase": 0.7}, "", "", ""),  # a quarter and more is enough
        (0.0, {}, "", "", ""),  # off the picture: the warnings tell
        (None, {}, "", "", ""),
    ],
)
def test_hidden_subject_is_told_on_the_picture(
    seen: float | None, by: Mapping[str, float], stands: str, filled: str, said: str
) -> None:
    name = study().subject
    assert name is not None
    assert words(look(seen, by, stands, filled)) == said.replace("hopper", name.name)


def two(seen: float, by: Mapping[str, float], least: float | None = None, own: float = 1.0) -> Drawing:
    """A picture with a further subject, "rival", at its right."""
    limits = [] if least is None else [{"reading": "subjects.*.seen", "min": least}]
    those = study(others=[{"name": "rival", "at": (1.0, 0.0, 0.0)}], limit=limits)
    result = results(study())[0]
    found = result.reading.values
    found["subject", "seen"], found["subject", "hidden_by"] = own, {"lamp": 1.0 - own}
    found["subjects", "rival", "seen"], found["subjects", "rival", "hidden_by"] = seen, by
    found["subjects", "rival", "screen_xy"] = (0.8, 0.5)
    return drawing(result, those, SCALE, owners(study()))


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (two(0.02, {"bookcase": 0.98}), "rival 98 % hidden by bookcase"),
        (two(0.4, {"bookcase": 0.6}), ""),
        (two(0.4, {"bookcase": 0.6}, least=0.5), "rival 60 % hidden by bookcase"),
        (two(0.0, {"crate": 1.0}, own=0.1), "hopper 90 % hidden by lamp rival 100 % hidden by crate"),
        (
            replace(two(0.0, {}), result=replace(two(0.0, {}).result, stands="camera inside wall")),
            "camera inside wall",
        ),
    ],
)
def test_each_further_subject_that_is_hidden_has_a_label_of_its_own_beside_it(
    one: Drawing, said: str
) -> None:
    assert words(one) == said
    labels = [shape for shape in draw_marks(one, frozenset({"hidden"})) if isinstance(shape, Text)]
    for label in labels:
        assert not label.words.startswith("rival") or label.baseline_px[0] > 0.5 * one.size_px[0] - 120
