"""A page's cells while they are drawn again: which are due, and each once it is drawn."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import AbstractContextManager
from typing import NamedTuple

from stationpoint.readings import Result
from stationpoint.record import webp_bytes
from stationpoint.run.review.pictures import CLAY, OWN, Packed, Pixels, picture_key
from stationpoint.sheet import head_words
from stationpoint.study import Study


class Due(NamedTuple):
    """A page is being drawn again. labels: of all its variants to be, each with whether it is another than
    the one that stands there now."""

    labels: dict[str, bool]


class Redrawn(NamedTuple):
    """A cell that is drawn again. words: what differs in its variant. pictures: WebP files by mode, as the
    page will have them."""

    label: str
    place: str
    words: str
    pictures: dict[str, bytes]


class Redrawing(AbstractContextManager["Redrawing"]):
    """Tells of a page's cells as they are drawn; packs them in a thread while the next is drawn.

    before: label -> key of the variants on the page that is looked at. packed: pictures that have been packed
    before; those of the cells are added, so that the page need not pack them again.
    """

    def __init__(
        self, tell: Callable[[Due | Redrawn], None], before: Mapping[str, bytes], study: Study, packed: Packed
    ) -> None:
        self._tell, self._before, self._study, self._packed = tell, before, study, packed
        self._thread = ThreadPoolExecutor(1)
        self._told: list[Future[None]] = []
        self._due: dict[str, bool] = {}

    def begin(self, keys: Mapping[str, bytes]) -> None:
        """Tell which cells are due. keys: of the page to be, by label."""
        self._due = {label: self._before.get(label) != key for label, key in keys.items()}
        self._tell(Due(self._due))

    def see(self, result: Result) -> None:
        """Tell of a cell, if it is due."""
        if result.picture is not None and self._due.get(result.variant.label, False):
            self._told.append(self._thread.submit(self._tell_of, result, result.picture))

    def settle(self) -> None:
        """Wait until all is told. Raises what went wrong."""
        while self._told:
            self._told.pop(0).result()

    def __exit__(self, *_: object) -> None:
        self._thread.shutdown(cancel_futures=True)

    def _tell_of(self, result: Result, picture: Pixels) -> None:
        pictures = {CLAY: self._file(picture)}
        if result.own_picture is not None:
            pictures[OWN] = self._file(result.own_picture)
        words = head_words(result, self._study)
        self._tell(Redrawn(result.variant.label, result.place.name, words, pictures))

    def _file(self, pixels: Pixels) -> bytes:
        key = picture_key(pixels)
        if key not in self._packed:
            self._packed[key] = webp_bytes(pixels)
        return self._packed[key]
