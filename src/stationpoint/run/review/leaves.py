"""Drawings written short: what hundreds of strokes, discs and words of a page have alike is said once."""

from __future__ import annotations

import re

from stationpoint.ink import Element
from stationpoint.record import Json

LEAVES = ("path", "circle", "text")
OWN = ("d", "x", "y", "cx", "cy", "r", "textLength")  # what each has of its own
NUMBER = re.compile(r"-?(0|[1-9]\d*)(\.\d*[1-9])?")  # as JSON and a browser write it again
STRAIGHT = re.compile(r"(?:M-?[\d.]+ -?[\d.]+(?:L-?[\d.]+ -?[\d.]+)*Z?)+")
CORNER = re.compile(r"([MLZ])(?:(-?[\d.]+) (-?[\d.]+))?")


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
    if NUMBER.fullmatch(text):
        return float(text) if "." in text else int(text)
    return _by_steps(text) if text.startswith("M") else text


def _by_steps(path: str) -> str:
    """A path of straight lines with each corner from the one before it, which is shorter; the same places, to
    a hundredth of a pixel. Others stay as they are."""
    if not STRAIGHT.fullmatch(path):
        return path
    found, x, y = list[str](), 0, 0
    for kind, first, second in CORNER.findall(path):
        if kind == "Z":
            found.append("Z")
            continue
        to_x, to_y = round(100 * float(first)), round(100 * float(second))
        across, down = _hundredths(to_x - x), _hundredths(to_y - y)
        x, y = to_x, to_y
        if kind == "M":
            found.append(f"M{_hundredths(x)} {_hundredths(y)}")
        elif down == "0":
            found.append(f"h{across}")
        elif across == "0":
            found.append(f"v{down}")
        else:
            found.append(f"l{across}{'' if down.startswith('-') else ' '}{down}")
    return "".join(found)


def _hundredths(count: int) -> str:
    whole, rest = divmod(abs(count), 100)
    text = f"{whole}.{rest:02}".rstrip("0").rstrip(".")
    return f"-{text}" if count < 0 else text
