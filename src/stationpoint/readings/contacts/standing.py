"""What stands on what."""

from __future__ import annotations

from functools import lru_cache

from stationpoint.readings.twins.place import rests_on
from stationpoint.scene import Scene


@lru_cache(maxsize=4096)
def stands_on(scene: Scene, name: str) -> frozenset[str]:
    """Names of all nodes that a node rests on, themselves resting on others and so on: box, plinth,
    ground."""
    found: set[str] = set()
    waiting = [name]
    while waiting:
        for _, support in rests_on(scene, (waiting.pop(),)):
            if support not in found and support != name:
                found.add(support)
                waiting.append(support)
    return frozenset(found)
