"""The pictures of a page: each kept once, in every mode in which a reviewer compares them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stationpoint.readings import Result
from stationpoint.record import webp_bytes
from stationpoint.sheet import Common, Owner, picture_in_mode

CLAY, OWN, SILHOUETTE, GLANCE = "clay", "own", "silhouette", "glance"
Pixels = NDArray[np.uint8]


class Pictures:
    """Pictures as files, each once."""

    def __init__(self) -> None:
        self.files: list[bytes] = []
        self._numbers: dict[bytes, int] = {}
        self._known: dict[int, tuple[Pixels, int]] = {}

    def add(self, pixels: Pixels, lossless: bool = False) -> int:
        """The number of a picture."""
        data = webp_bytes(pixels, lossless)
        number = self._numbers.setdefault(data, len(self.files))
        if number == len(self.files):
            self.files.append(data)
        return number

    def add_all(self, result: Result, owner_by_id: Mapping[int, Owner]) -> dict[str, int]:
        """A result's pictures by what they show: clay, own colours if it has them, who is where, and what a
        first glance takes in. Grey is the first two without their colour."""
        picture, own = result.picture, result.own_picture
        assert picture is not None
        eye = result if own is None else replace(result, picture=own)
        found = {CLAY: self.add(picture)}
        self._known[id(picture)] = (picture, found[CLAY])
        if own is not None:
            found[OWN] = self.add(own)
        flat = picture_in_mode(result, "silhouette", owner_by_id, Common())
        found[SILHOUETTE] = self.add(flat, lossless=True)
        found[GLANCE] = self.add(picture_in_mode(eye, "first-glance", owner_by_id, Common()))
        return found

    def address(self, pixels: Pixels) -> str:
        """Where a drawing finds pixels: "#3" is the picture of that number. What is no result's picture is
        a sample of a legend, which stays as it is."""
        if id(pixels) in self._known:
            return f"#{self._known[id(pixels)][1]}"
        return f"#{self.add(pixels, lossless=True)}"
