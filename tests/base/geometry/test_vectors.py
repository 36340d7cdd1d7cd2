"""Products of short vectors against numpy's own, to the bit: records rest on them."""

from __future__ import annotations

import numpy as np

from stationpoint.base.geometry.vectors import cross, dot, length


def test_products_are_numpys_own_to_the_bit() -> None:
    rng = np.random.default_rng(4)
    u = rng.normal(size=(300, 5, 3)) * 10.0 ** rng.uniform(-6, 6, (300, 5, 3))
    v = rng.normal(size=(300, 1, 3))
    assert np.array_equal(dot(u, v), (u * v).sum(axis=-1))
    assert np.array_equal(cross(u, v), np.cross(u, v))
    assert np.array_equal(length(u), np.linalg.norm(u, axis=-1))
