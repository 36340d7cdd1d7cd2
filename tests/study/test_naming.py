"""Which nodes of a scene a target means."""

from __future__ import annotations

import pytest

from stationpoint.study.models import Target
from stationpoint.study.naming import target_nodes, target_patterns

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
