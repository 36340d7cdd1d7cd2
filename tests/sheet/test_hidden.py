"""Words on the picture where the subject is hidden, and in the caption what hides a target."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from sheet.made import owners, results, study
from stationpoint.ink import Text
from stationpoint.sheet.marks import draw_marks
from stationpoint.sheet.marks.drawing import Drawing, drawing
from stationpoint.sheet.scale import scale_for

SCALE = scale_for(544)


def look(seen: float | None, by: Mapping[str, float], inside: str | None = None) -> Drawing:
    those = study()
    result = results(those)[0]
    found = result.reading.values
    found["subject", "seen"], found["subject", "hidden_by"] = seen, by
    found["framing", "camera_inside"] = inside
    return drawing(result, those, SCALE, owners(those))


def words(one: Drawing) -> str:
    return " ".join(
        shape.words for shape in draw_marks(one, frozenset({"hidden"})) if isinstance(shape, Text)
    )


@pytest.mark.parametrize(
    ("seen", "by", "inside", "said"),
    [
        (0.02, {"bookcase": 0.98}, None, "hopper 98 % hidden by bookcase"),
        (0.0, {"bookcase": 0.6, "lamp": 0.4}, None, "hopper 100 % hidden, mostly by bookcase"),
        (0.0, {"wall": 1.0}, "wall", "camera inside wall"),
        (0.3, {"bookcase": 0.7}, None, ""),  # a quarter and more is enough
        (0.0, {}, None, ""),  # off the picture: the warnings tell
        (None, {}, None, ""),
    ],
)
def test_hidden_subject_is_told_on_the_picture(
    seen: float | None, by: Mapping[str, float], inside: str | None, said: str
) -> None:
    name = study().subject
    assert name is not None
    assert words(look(seen, by, inside)) == said.replace("hopper", name.name)
