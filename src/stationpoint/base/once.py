"""What is worked out once for things that never change, found again by the things themselves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import wraps
from typing import Any, TypeVar

Made = TypeVar("Made")
Thing = TypeVar("Thing")


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


def once_among_many(
    kept: int,
) -> Callable[[Callable[[list[Thing]], Sequence[Made]]], Callable[[Sequence[Thing]], list[Made]]]:
    """A function from many immutable things to something of each, which is asked once for each, and for all
    that are new together. The `kept` last asked for are, at least; by identity, as of `once_for_each`."""

    def remembering(
        function: Callable[[list[Thing]], Sequence[Made]],
    ) -> Callable[[Sequence[Thing]], list[Made]]:
        known: dict[int, tuple[Thing, Made]] = {}

        @wraps(function)
        def answer(things: Sequence[Thing]) -> list[Made]:
            new = list({id(one): one for one in things if id(one) not in known}.values())
            found = {id(one): known.pop(id(one)) for one in things if id(one) in known}
            if new:
                found |= {id(one): (one, made) for one, made in zip(new, function(new), strict=True)}
            known.update(found)
            while len(known) > max(kept, len(found)):
                del known[next(iter(known))]
            return [found[id(one)][1] for one in things]

        return answer

    return remembering
