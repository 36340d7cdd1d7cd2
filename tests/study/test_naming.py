"""Which nodes of a scene a target means."""

from __future__ import annotations

import pytest

from stationpoint.scene.edit import box_node
from stationpoint.scene.types import Scene
from stationpoint.study.models import Study, Target
from stationpoint.study.naming import mark_m, target_nodes, target_patterns

NAMES = ("lid", "crate-2", "crate-1", "crate-*", "hero")


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ({"node": "hero"}, ("hero",)),
        ({"nodes": "crate-?"}, ("crate-2", "crate-1", "crate-*")),
        ({"nodes": "crate-*"}, ("crate-*",)),  # a node is called so: no wildcard
        ({"nodes": ("crate-1", "l*", "crate-?")}, ("crate-1", "lid", "crate-2", "crate-*")),
        ({"nodes": ("barrel", "hero")}, ("hero",)),
        ({"node": "barrel"}, ()),
        ({"at": (0, 1, 0)}, ()),
    ],
)
def test_target_means_nodes_by_name_or_else_by_wildcard_each_once(
    said: dict[str, object], meant: tuple[str, ...]
) -> None:
    assert target_nodes(Target(name="t", **said), NAMES) == meant  # type: ignore[arg-type]


def test_patterns_of_a_target_are_what_it_says() -> None:
    assert target_patterns(Target(name="t", nodes=("a", "b*"))) == ("a", "b*")
    assert target_patterns(Target(name="t", nodes="b*")) == ("b*",)
    assert target_patterns(Target(name="t", at=(0, 0, 0), size=(1, 1, 1))) == ()


@pytest.mark.parametrize(
    ("subject", "long_m"),
    [
        (None, 1.0),
        ({"height_m": 1.7}, 1.0),
        ({"height_m": 1.85}, 1.0),  # 1.09
        ({"height_m": 0.35}, 0.2),  # 0.206
        ({"height_m": 0.9}, 0.5),  # 0.53
        ({"height_m": 30}, 20.0),  # 17.6
        ({"height_m": 0.0017}, 0.001),
        ({"node": "mouse"}, 0.05),  # 0.1 m: 0.059
    ],
)
def test_marks_go_with_the_bodys_height_by_round_lengths(subject: object, long_m: float) -> None:
    # By hand: height / 1.7, and the nearest by ratio of 1, 2 and 5 times a power of ten.
    study = Study.model_validate({"scene": "x.toml"} | ({"subject": subject} if subject else {}))
    assert mark_m(study, Scene((box_node("mouse", (0, 0, 0), (1, 0.1, 1)),))) == pytest.approx(long_m)
