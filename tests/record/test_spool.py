"""Things that wait in a file come back as they were."""

from __future__ import annotations

from unittest.mock import patch

import numpy as np
import pytest

from stationpoint.record import Things, spool

RNG = np.random.default_rng(3)
IDS = np.repeat(RNG.integers(0, 2**32, 500, dtype=np.uint32), 60).reshape(100, 300)
THINGS = {
    "picture": RNG.integers(0, 256, (60, 90, 3), dtype=np.uint8),
    "ids": IDS,
    "one id": np.full((80, 90), 7, np.uint32),
    "no two ids alike": np.arange(5000, dtype=np.uint32),
    "ids by columns": np.asfortranarray(IDS),
    "every second": IDS[:, ::2],
    "depth": RNG.random((40, 50), dtype=np.float32),
    "small": np.arange(3, dtype=np.uint32),
    "empty": np.zeros((0, 5000), np.uint32),
    "words": ["a", {"b": None}],
}


@pytest.mark.parametrize("unpacked", [1 << 27, 20_000, 0], ids=["as they came", "some packed", "packed"])
def test_what_waits_comes_back_in_any_order(unpacked: int) -> None:
    things = Things()
    with patch.object(spool, "UNPACKED_BYTES", unpacked):
        for name, thing in THINGS.items():
            things.add({"name": name, "twice": (thing, thing)})
        things.add(b"bytes as they are")
    assert things.bytes_of(len(THINGS)) == b"bytes as they are"
    for k, (name, thing) in reversed([*enumerate(THINGS.items())]):
        came = things[k]
        assert came["name"] == name
        assert came["twice"][0] is came["twice"][1]
        if isinstance(thing, np.ndarray):
            assert came["twice"][0].dtype == thing.dtype
            assert np.array_equal(came["twice"][0], thing)
        else:
            assert came["twice"][0] == thing


def test_the_first_lie_as_they_came_and_later_ones_packed() -> None:
    grey = np.zeros((500, 500, 3), np.uint8)  # 750 kB, packed a thousandth of it
    with patch.object(spool, "UNPACKED_BYTES", 10**6):
        things = Things()
        for _ in range(4):
            things.add(grey)
        things.add(np.ones((500, 500), np.uint32))
    sizes = [sum(part.stop - part.start for part in parts) for parts in things._things]
    assert all(size > 750_000 for size in sizes[:2])
    assert all(size < 10_000 for size in sizes[2:])
