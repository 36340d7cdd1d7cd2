"""What stands on what."""

from __future__ import annotations

from collections.abc import Sequence

from stationpoint.readings.twins.place import all_rests
from stationpoint.scene import Scene


def are_stacked(scene: Scene, pairs: Sequence[tuple[str, str]]) -> list[bool]:
    """Of each pair of nodes, whether one rests on the other, or on one that does, and so on: box, plinth,
    ground."""
    supports: dict[str, list[str]] = {}
    waiting = list(dict.fromkeys(name for pair in pairs for name in pair))
    while waiting:  # all that is asked about, then all that these rest on, at once
        found = all_rests(scene, [(name,) for name in waiting])
        for name, rests in zip(waiting, found, strict=True):
            supports[name] = [support for _, support in rests]
        waiting = [
            one for one in dict.fromkeys(s for name in waiting for s in supports[name]) if one not in supports
        ]
    return [a != b and (_leads(supports, a, b) or _leads(supports, b, a)) for a, b in pairs]


def _leads(supports: dict[str, list[str]], start: str, end: str) -> bool:
    """Whether one of a node's supports, or one of theirs, and so on, is another node."""
    seen, waiting = {start}, [start]
    while waiting:
        for one in supports[waiting.pop()]:
            if one == end:
                return True
            if one not in seen:
                seen.add(one)
                waiting.append(one)
    return False
