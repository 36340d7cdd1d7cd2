"""Drawings written short: what hundreds of strokes, discs and words of a page have alike is said once."""

from __future__ import annotations

import re

from stationpoint.ink import Element
from stationpoint.record import Json

LEAVES = ("path", "circle", "text")
OWN = ("d", "x", "y", "cx", "cy", "r", "textLength")  # what each has of its own
NUMBER = re.compile(r"-?(0|[1-9]\d*)(\.\d*[1-9])?")  # as JSON and a browser write it again


class Leaves:
    """Elements as data: a leaf is [its look, what is its own ..., its words], all else as it is."""

    def __init__(self) -> None:
        self._numbers: dict[tuple[str, tuple[tuple[str, str], ...], tuple[str, ...]], int] = {}

    @property
    def looks(self) -> list[Json]:
        """All looks by number: a name, the attributes that its leaves have alike, names of their own ones."""
        return [[name, dict(alike), list(own)] for name, alike, own in self._numbers]

    def short(self, elements: list[Element]) -> Json:
        """The same drawing, its leaves written short."""
        return [self._one(element) for element in elements]

    def _one(self, element: Element) -> Json:
        name, about, inner = element
        assert isinstance(name, str)
        assert isinstance(about, dict)
        if name not in LEAVES or not isinstance(inner, str):
            return [name, dict(about), inner if isinstance(inner, str) else self.short(_elements(inner))]
        own = tuple(key for key in about if key in OWN)
        look = (name, tuple((key, value) for key, value in about.items() if key not in OWN), own)
        number = self._numbers.setdefault(look, len(self._numbers))
        return [number, *(_value(about[key]) for key in own), *([inner] if inner else [])]


def _elements(inner: object) -> list[Element]:
    assert isinstance(inner, list)
    return inner


def _value(text: str) -> Json:
    return (
        float(text)
        if "." in text and NUMBER.fullmatch(text)
        else int(text)
        if NUMBER.fullmatch(text)
        else text
    )
