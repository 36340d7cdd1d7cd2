"""Steps of grey that a mode turns pictures into, and what the legend says of each."""

from __future__ import annotations

from typing import NamedTuple

from stationpoint.base.look import INK, RGB, WHITE


class Ladder(NamedTuple):
    """head: what is in steps, with its unit. steps: each one's ink and words."""

    head: str
    steps: tuple[tuple[RGB, str], ...]


def step_inks(count: int) -> list[RGB]:
    """Greys from white to ink, evenly spaced in code values, well apart in lightness."""
    shares = [0.04 + 0.84 * k / (count - 1) for k in range(count)]
    return [
        (
            round(WHITE[0] + (INK[0] - WHITE[0]) * s),
            round(WHITE[1] + (INK[1] - WHITE[1]) * s),
            round(WHITE[2] + (INK[2] - WHITE[2]) * s),
        )
        for s in shares
    ]
