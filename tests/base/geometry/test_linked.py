"""What hangs together, and rows and numbers in order."""

from __future__ import annotations

import numpy as np
import pytest

from stationpoint.base.geometry.linked import linked, numbered
from stationpoint.base.geometry.order import distinct, stable_order


def test_things_joined_in_pairs_form_groups_in_the_order_of_their_first() -> None:
    # By hand: 0 with 2; 1 with 5 and 5 with 4; 3 alone.
    assert linked(6, np.array([0, 1, 5]), np.array([2, 5, 4])).tolist() == [0, 1, 0, 2, 1, 1]
    assert linked(3, np.array([], dtype=np.intp), np.array([], dtype=np.intp)).tolist() == [0, 1, 2]


@pytest.mark.parametrize("seed", range(4))
def test_a_long_chain_in_any_order_is_one_group(seed: int) -> None:
    # By hand: pairs of neighbours along a chain of 5000 leave nothing apart; without the one in the middle
    # there are two groups, of 2500 each.
    chain = np.random.default_rng(seed).permutation(5000)
    first, second = chain[:-1], chain[1:]
    assert not linked(5000, first, second).any()
    kept = np.arange(4999) != 2499
    assert np.bincount(linked(5000, first[kept], second[kept])).tolist() == [2500, 2500]


@pytest.mark.parametrize("far", [0, 2**40])
def test_equal_rows_have_one_number_in_the_order_of_the_rows(far: int) -> None:
    # By hand: sorted they are (2, 8), (2, 9), (5, 1). Numbers too far apart for one word are numbered first.
    rows = np.array([[5, 1, far], [2, 9, -far], [5, 1, far], [2, 8, far]]) * (1 if not far else 2**20)
    assert numbered(rows).tolist() == [2, 1, 2, 0]
    assert numbered(np.zeros((0, 3), dtype=np.int64)).tolist() == []


def test_a_stable_order_leaves_equal_numbers_as_they_come() -> None:
    # By hand: 3 stands twice, at 1 and 4; 65539 is 3 in its lower half.
    assert stable_order(np.array([65539, 3, 2**32 - 1, 0, 3])).tolist() == [3, 1, 4, 0, 2]


def test_each_number_is_given_once_and_rising() -> None:
    assert distinct(np.array([[7, 2], [2, -1]])).tolist() == [-1, 2, 7]
    assert distinct(np.array([], dtype=np.intp)).tolist() == []
