"""The pictures of a page: each kept once, in every mode in which a reviewer compares them."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from hashlib import sha256
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import linear_light, srgb_encoded
from stationpoint.readings import Result, degree_px
from stationpoint.record import webp_bytes
from stationpoint.sheet import Common, Owner, common_of, picture_in_mode
from stationpoint.study import Study

CLAY, OWN, SILHOUETTE, GLANCE = "clay", "own", "silhouette", "glance"
VALUES, DEPTH = "three-values", "depth"
LEAST_DEGREE_PX = 10.0  # of a glance's picture, whose finest detail is a degree
AHEAD = 8  # results whose pictures are made before they are asked for
Pixels = NDArray[np.uint8]
PictureKey = tuple[bytes, bool]  # the digest of its pixels, and whether it is packed without loss
Packed = dict[PictureKey, bytes]


def picture_key(pixels: Pixels, lossless: bool = False) -> PictureKey:
    """What a picture of a page is known by."""
    return sha256(repr(pixels.shape).encode() + pixels.tobytes()).digest(), lossless


class Look(NamedTuple):
    """A picture of a result by what it shows. lossless: whether it is of few flat tints."""

    name: str
    pixels: Pixels
    lossless: bool = False


class Pictures:
    """Pictures as files, each once, packed in threads: nothing forks any more once a page is made. commons:
    of modes that take something from all pictures together. packed: pictures that have been packed before."""

    def __init__(
        self, threads: ThreadPoolExecutor, commons: Mapping[str, Common], packed: Packed | None = None
    ) -> None:
        self._threads, self.commons, self._before = threads, commons, {} if packed is None else packed
        self._packed: list[Future[bytes]] = []
        self._numbers: dict[PictureKey, int] = {}
        self._known: dict[int, tuple[Pixels, int]] = {}

    @property
    def files(self) -> list[bytes]:
        """All of them, by number."""
        return [one.result() for one in self._packed]

    @property
    def keys(self) -> list[PictureKey]:
        """By what each is known, by number."""
        return list(self._numbers)

    def add(self, pixels: Pixels, lossless: bool = False) -> int:
        """The number of a picture."""
        key = picture_key(pixels, lossless)
        number = self._numbers.setdefault(key, len(self._packed))
        if number == len(self._packed):
            before = self._before.get(key)
            work = (webp_bytes, pixels, lossless) if before is None else (bytes, before)
            self._packed.append(self._threads.submit(*work))
        return number

    def add_each(
        self, results: Sequence[Result], owner_by_id: Mapping[int, Owner]
    ) -> Iterator[dict[str, int]]:
        """The pictures of each result by what they show, in order: clay, own colours if it has them, who is
        where, what a first glance takes in, light in three values, and depth. Grey is the first two without
        their colour. A few results ahead are at work in the threads."""
        waiting: deque[tuple[Result, Future[list[Look]]]] = deque()
        for result in results:
            waiting.append((result, self._threads.submit(_looks, result, owner_by_id, self.commons)))
            if len(waiting) > AHEAD:
                yield self._added(*waiting.popleft())
        while waiting:
            yield self._added(*waiting.popleft())

    def _added(self, result: Result, made: Future[list[Look]]) -> dict[str, int]:
        picture = result.picture
        assert picture is not None
        found = {look.name: self.add(look.pixels, look.lossless) for look in made.result()}
        self._known[id(picture)] = (picture, found[CLAY])
        return found

    def address(self, pixels: Pixels) -> str:
        """Where a drawing finds pixels: "#3" is the picture of that number. What is no result's picture is
        a sample of a legend, which stays as it is."""
        if id(pixels) in self._known:
            return f"#{self._known[id(pixels)][1]}"
        return f"#{self.add(pixels, lossless=True)}"


def _looks(result: Result, owner_by_id: Mapping[int, Owner], commons: Mapping[str, Common]) -> list[Look]:
    """What a page shows of a result. commons: by mode, what it takes from all results."""
    picture, own = result.picture, result.own_picture
    assert picture is not None
    found = [Look(CLAY, picture)]
    if own is not None:
        found.append(Look(OWN, own))
    flat = picture_in_mode(result, "silhouette", owner_by_id, Common())
    found.append(Look(SILHOUETTE, flat, True))
    seen = picture if own is None else own
    few = int(degree_px(result.seats[0], seen.shape[1]) // LEAST_DEGREE_PX)
    eye = replace(result, picture=reduced(seen, max(1, few)))
    found.append(Look(GLANCE, picture_in_mode(eye, "first-glance", owner_by_id, Common())))
    eye = replace(result, picture=seen)
    found += [Look(mode, picture_in_mode(eye, mode, owner_by_id, of), True) for mode, of in commons.items()]
    return found


def commons_of(results: Sequence[Result], study: Study) -> dict[str, Common]:
    """What modes take from all pictures of a page together, by mode."""
    seen = [one if one.own_picture is None else replace(one, picture=one.own_picture) for one in results]
    return {mode: common_of(mode, seen, study) for mode in (VALUES, DEPTH)}


def reduced(picture: Pixels, by: int) -> Pixels:
    """A picture with one pixel for each `by` x `by` of them, the mean of their light; a rest at the right and
    lower edge is left out."""
    height, width = (size // by * by for size in picture.shape[:2])
    if by < 2 or not height or not width:
        return picture
    light = linear_light(np.arange(256)).astype(np.float32)[picture[:height, :width]]
    mean = light.reshape(height // by, by, width // by, by, 3).mean(axis=(1, 3))
    found: Pixels = np.clip(srgb_encoded(mean) * 255.0 + 0.5, 0, 255).astype(np.uint8)
    return found
