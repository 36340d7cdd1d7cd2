"""Products of short vectors against numpy's own, to the bit: records rest on them."""

from __future__ import annotations

import numpy as np
import pytest

from stationpoint.base.geometry.vectors import cross, dot, length


@pytest.mark.parametrize("kind", [np.float64, np.float32])
def test_products_are_numpys_own_to_the_bit(kind: type) -> None:
    rng = np.random.default_rng(4)
    u = rng.normal(size=(300, 5, 3)) * 10.0 ** rng.uniform(-6, 6, (300, 5, 3))
    v = rng.normal(size=(300, 1, 3))
    u, v = u.astype(kind), v.astype(kind)
    assert cross(u, v).dtype == kind
    assert np.array_equal(dot(u, v), (u * v).sum(axis=-1))
    assert np.array_equal(cross(u, v), np.cross(u, v))
    assert np.array_equal(length(u), np.linalg.norm(u, axis=-1))
