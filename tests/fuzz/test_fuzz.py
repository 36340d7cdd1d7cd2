"""Some random inputs of every kind in each run of the suite; `python -m tests.fuzz` tries more."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuzz.inputs import KINDS
from fuzz.mutate import broken_bytes, broken_text, broken_tree
from fuzz.tried import complaint


@pytest.mark.parametrize("kind", list(KINDS))
@given(chance=st.randoms(use_true_random=False))
@settings(max_examples=60)
def test_a_broken_input_is_read_or_refused_in_words(kind: str, chance: Random) -> None:
    case = KINDS[kind](chance)
    assert complaint(case) == "", case.words


def test_the_same_chance_breaks_alike() -> None:
    for kind in KINDS.values():
        assert kind(Random(7)) == kind(Random(7))


def test_what_is_broken_differs() -> None:
    text, tree = 'a = 1\nb = "x"\n', {"a": [1, 2, {"b": None}]}
    assert sum(broken_text(Random(n), text) != text for n in range(50)) > 40
    assert sum(broken_bytes(Random(n), text.encode()) != text.encode() for n in range(50)) > 40
    assert sum(broken_tree(Random(n), tree) != tree for n in range(50)) > 40
