"""The study of the design, as a file holds it."""

from __future__ import annotations

from typing import Any

import pytest

from stationpoint.base.errors import StudyWrong
from stationpoint.study.file import study_from_text
from stationpoint.study.models import Study

QUAY = """
title = "Which lens lets a couch player judge the hop?"
scene = "quay.toml"
aids = ["ground-texture"]

[subject]
name = "hopper"
at = [4.2, 0.8, -3.0]

[[target]]
name = "barge three"
node = "barge-3"
role = "primary"
like = ["barge two"]
with = ["plinth-3"]

[[target]]
name = "barge two"
nodes = "barge-2*"

[[gap]]
name = "two to three"
from = [4.2, 0.8, -3.0]
to = [4.2, 0.8, -7.1]
reach_m = 3.4

[[place]]
name = "high tide"
move = { "barge-3" = [0, 1, 0] }

[camera]
focal_mm = 35
distance_m = 8
pitch_deg = 20
aspect = "16:9"

[sweep]
rows = { projection = ["perspective", "orthographic"] }
columns = { focal_mm = [24, 35, 50, 85] }
hold = "subject-scale"

[[viewing]]
name = "couch"
diagonal_in = 55
pixels = [1920, 1080]
eye_distance_m = 2.7

[[limit]]
reading = "gaps.*.verdict"
not = "lies"
"""


def quay(*overrides: str, text: str = QUAY, **axes: Any) -> Study:
    """The quay's study with the command line's changes."""
    return study_from_text(text, "quay.toml", overrides, **axes)


def complaints(text: str = QUAY, *overrides: str, **axes: Any) -> list[str]:
    """What is said about a text that must be refused, line by line."""
    with pytest.raises(StudyWrong) as caught:
        study_from_text(text, "quay.toml", overrides, **axes)
    return caught.value.message.splitlines()
