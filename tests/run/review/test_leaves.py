"""Drawings of a page written short: the same elements come out of them again."""

from __future__ import annotations

import re
from typing import Any

from stationpoint.run.review.leaves import Leaves


def whole(one: Any, looks: Any) -> Any:
    """An element as the page's script reads it."""
    if isinstance(one[0], str):
        return [
            one[0],
            one[1],
            one[2] if isinstance(one[2], str) else [whole(each, looks) for each in one[2]],
        ]
    name, alike, own = looks[one[0]]
    values = {key: str(value) for key, value in zip(own, one[1:], strict=False)}
    return [name, alike | values, one[len(own) + 1] if len(one) > len(own) + 1 else ""]


def corners(path: str) -> list[tuple[float, float]]:
    """The corners of a path of the commands M, L, l, h, v and Z (SVG 1.1, 8.3)."""
    found: list[tuple[float, float]] = []
    x = y = 0.0
    for kind, words in re.findall(r"([MLlhvZ])([^MLlhvZ]*)", path):
        values = [float(word) for word in re.findall(r"-?[\d.]+", words)]
        match kind:
            case "M" | "L":
                x, y = values
            case "l":
                x, y = x + values[0], y + values[1]
            case "h":
                x += values[0]
            case "v":
                y += values[0]
        found.append((round(x, 2), round(y, 2)))
    return found


def test_leaves_come_out_as_they_went_in_and_a_look_is_said_once() -> None:
    ink = {"fill": "none", "stroke": "#121416"}
    elements: Any = [
        ["g", {"class": "mark gaps"}, [["circle", {"cx": "1.5", "cy": "-2", "r": "3", **ink}, ""]]],
        ["circle", {"cx": "10", "cy": "0.25", "r": "3", **ink}, ""],
        ["text", {"x": "4", "y": "007", "font-size": "19"}, "hop < 3 m"],
        ["image", {"href": "#0", "x": "0", "y": "0"}, ""],
    ]
    leaves = Leaves()
    short: Any = leaves.short(elements)
    assert len(leaves.looks) == 2
    assert [whole(one, leaves.looks) for one in short] == elements
    assert short[1] == [0, 10, 0.25, 3]


def test_a_path_of_straight_lines_goes_by_steps_through_the_same_corners() -> None:
    path = "M106 0.5L106 4.5L107.25 5.5L106.07 4.5L-3 4.5ZM0.1 0.2L0.3 0.2"
    short: Any = Leaves().short([["path", {"d": path}, ""]])
    # by hand: 0.5 to 4.5 is 4 down; 106 to 107.25 is 1.25; back by 1.18; to -3 is 109.07 left
    assert short[0][1] == "M106 0.5v4l1.25 1l-1.18-1h-109.07ZM0.1 0.2h0.2"
    assert corners(short[0][1]) == corners(path)


def test_a_path_with_curves_stays() -> None:
    path = "M1 2Q3 4 5 6L7 8"
    short: Any = Leaves().short([["path", {"d": path}, ""]])
    assert short[0][1] == path
