"""What is worked out once for things that never change, found again by the things themselves."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar

Made = TypeVar("Made")


def once_for_each(kept: int) -> Callable[[Callable[..., Made]], Callable[..., Made]]:
    """A function of immutable things that answers once for each, the `kept` last asked for.

    They are told apart by identity, since a study or a scene is slow to compare, and has no hash.
    """

    def remembering(function: Callable[..., Made]) -> Callable[..., Made]:
        known: dict[tuple[int, ...], tuple[tuple[Any, ...], Made]] = {}

        @wraps(function)
        def answer(*things: Any) -> Made:
            key = tuple(map(id, things))
            # The things are held, so that no other gets their ids.
            found = known.pop(key, None) or (things, function(*things))
            while len(known) >= kept:
                del known[next(iter(known))]
            known[key] = found
            return found[1]

        return answer

    return remembering
