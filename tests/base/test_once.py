"""What is worked out once for things that never change."""

from __future__ import annotations

from stationpoint.base.once import once_among_many


def test_of_many_things_only_the_new_are_asked_and_together() -> None:
    asked: list[list[str]] = []

    @once_among_many(kept=3)
    def shouted(words: list[str]) -> list[str]:
        asked.append(words)
        return [word.upper() for word in words]

    assert shouted(["a", "b", "a"]) == ["A", "B", "A"]
    assert shouted(["b", "c"]) == ["B", "C"]
    assert asked == [["a", "b"], ["c"]]
    assert shouted(["a"]) == ["A"]
    assert shouted(["d"]) == ["D"]  # of four the three last asked for are kept: not "b"
    assert shouted(["a", "b"]) == ["A", "B"]
    assert asked[2:] == [["d"], ["b"]]
    assert shouted([]) == []


def test_things_that_are_equal_are_not_one() -> None:
    @once_among_many(kept=1)
    def numbers(lists: list[list[int]]) -> list[int]:
        return [id(one) for one in lists]

    one, other = [1], [1]
    assert numbers([one, other]) == [id(one), id(other)]
