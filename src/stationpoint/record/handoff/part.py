"""A part of a JSON file that anyone may have changed: what it holds is checked as it is read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

MOST = 1e12  # of a length, a pixel or a matrix's number, in any unit


@dataclass(frozen=True, slots=True)
class Part:
    """A value, and where in its file it stands: "variants[0].pose.offset". What is asked of it and is not so
    raises ValueError, which says where, and what must be there."""

    value: object
    where: str

    def __getitem__(self, key: str) -> Part:
        found = self.get(key)
        if found is None:
            raise ValueError(f"{self._at(key)}, which is missing")
        return found

    def get(self, key: str) -> Part | None:
        """What a table has by that key; None where that is nothing, or null."""
        if not isinstance(self.value, dict):
            raise self._wrong("a table")
        value = self.value.get(key)
        return None if value is None else Part(value, self._at(key))

    def parts(self, count: int | None = None) -> list[Part]:
        """The parts of a list, of so many if count is given."""
        if not isinstance(self.value, list) or len(self.value) != (count or len(self.value)):
            raise self._wrong("a list" if count is None else f"a list of {count}")
        return [Part(one, f"{self.where}[{k}]") for k, one in enumerate(self.value)]

    def text(self) -> str:
        """A word, or several."""
        if not isinstance(self.value, str):
            raise self._wrong("text")
        return self.value

    def word(self, known: Sequence[str]) -> str:
        """One of those that are known."""
        if not isinstance(self.value, str) or self.value not in known:
            raise self._wrong(f"one of {', '.join(known)}")
        return self.value

    def number(self) -> float:
        """A number that is finite, and at most MOST."""
        if isinstance(self.value, bool) or not isinstance(self.value, int | float):
            raise self._wrong("a number")
        if not abs(self.value) <= MOST:
            raise ValueError(f"{self.where}, a number that is none, or out of all measure")
        return float(self.value)

    def numbers(self, count: int) -> list[float]:
        """A list of so many numbers."""
        return [one.number() for one in self.parts(count)]

    def positive(self) -> float:
        """A number that can be divided by."""
        found = self.number()
        if found < 1 / MOST:
            raise self._wrong("more than 0")
        return found

    def whole(self) -> int:
        """A count of at least 1."""
        found = self.number()
        if found < 1 or found != int(found):
            raise self._wrong("a whole number, at least 1")
        return int(found)

    def _at(self, key: str) -> str:
        return f"{self.where}.{key}" if self.where else key

    def _wrong(self, must: str) -> ValueError:
        return ValueError(f"{self.where}, which must be {must}")
