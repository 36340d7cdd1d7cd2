"""The process in which `watch` draws: it stays up, so that what is loaded, read and drawn is at hand."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, redirect_stderr
from functools import partial
from pathlib import Path
from time import time_ns
from typing import Any, NamedTuple

from stationpoint.base.errors import StationpointError
from stationpoint.base.files import whole
from stationpoint.base.inputs import files_read, noting
from stationpoint.cli.actions.sheet import marks_named
from stationpoint.cli.actions.work import Drawer, ready
from stationpoint.cli.options import WatchOptions
from stationpoint.readings import Result
from stationpoint.run import (
    Drawing,
    Due,
    Made,
    MadeReview,
    Prepared,
    Redrawing,
    Redrawn,
    Stamp,
    Warm,
    chosen_variants,
    draw_review,
    draw_sheet,
    stamp,
)

SHEET, PAGE = "sheet", "page"
UNSURE_NS = 20_000_000  # by which the clock of files may be behind


class Asked(NamedTuple):
    """What is to be drawn. number: of the turn; all of a turn is of the study as it was first read then.
    shown: the version of the page that is looked at meanwhile."""

    number: int
    what: str
    shown: str = ""


class Answered(NamedTuple):
    """What came of it. files: the sheet's pages, or the page. live, version: as of `draw_review`. stamps: the
    files that were read, as they were at the latest when they were. told: lines for a person. wrong: why
    nothing was drawn. drawn: how many variants were drawn anew, of so many."""

    files: tuple[bytes, ...]
    stamps: dict[Path, Stamp]
    told: tuple[str, ...]
    wrong: StationpointError | None = None
    live: bytes = b""
    version: str = ""
    drawn: int = 0
    variants: int = 0


class _Desk:
    def __init__(
        self,
        file: str,
        ending: str,
        chosen: WatchOptions,
        tell: Callable[[Due | Redrawn], None],
        open_things: ExitStack,
    ) -> None:
        self._path, self._ending, self._chosen = Path(file), ending, chosen
        self._drawer, self._warm = Drawer(chosen["renderer"]), Warm(open_things)
        self._tell = tell
        self._keys_on: dict[str, dict[str, bytes]] = {}  # the last page's version -> its variants by label
        self._number = -1
        self._prepared: Prepared | None = None
        self._stamps: dict[Path, Stamp] = {}

    def __call__(self, asked: Asked) -> Answered:
        told = io.StringIO()
        with redirect_stderr(told), noting():
            try:
                made = self._drawn(asked)
            except StationpointError as error:
                made = Answered((), self._stamps, (), error)
        return made._replace(told=(*told.getvalue().splitlines(), *made.told))

    def _drawn(self, asked: Asked) -> Answered:
        if asked.number != self._number or self._prepared is None:
            self._prepare(asked.number)
        prepared = self._prepared
        assert prepared is not None
        chosen, warm = self._chosen, self._warm
        if asked.what == SHEET:
            made = self._drawer(lambda name: self._sheet(prepared, name))
            files, warnings, live, version = tuple(map(whole, made.pages)), made.warnings, b"", ""
            count = len(chosen_variants(prepared, chosen["labels"]).variants)
        else:
            page = self._drawer(lambda name: self._page(prepared, name, asked.shown))
            files, warnings, live, version = (page.data,), page.warnings, page.live, page.version
            count = len(prepared.variants)
        return Answered(files, self._stamps, warnings, None, live, version, warm.drawn, count)

    def _prepare(self, number: int) -> None:
        """Read the study. A file that was not known before may have changed while it was read: it counts as
        changed, and is known the next time."""
        before, begun = {file: stamp(file) for file in self._stamps}, time_ns()
        self._prepared = None
        try:
            chosen = self._chosen
            prepared = ready(self._path, chosen, chosen["fonts"], read=self._warm.scene)
            self._prepared, self._number = self._warm.settled(prepared), number
        finally:
            self._stamps = {}
            for file in map(Path.absolute, files_read()):
                now = stamp(file)
                is_sure = now is None or now[0] < begun - UNSURE_NS
                self._stamps[file] = before.get(file, now if is_sure else None)

    def _page(self, prepared: Prepared, renderer: str, shown: str) -> MadeReview:
        """The page, told of cell by cell. shown: as in Asked."""
        warm = self._warm
        before = self._keys_on.get(shown, {})
        with Redrawing(self._tell, before, prepared.study, warm.packed) as redrawing:
            watched = partial(warm.sweep, onlooker=redrawing)

            def sweep(*words: Any) -> list[Result]:
                results = watched(*words)
                redrawing.settle()
                return results

            width = self._chosen["cell_width"]
            page = draw_review(prepared, renderer, width, sweeper=sweep, packed=warm.packed, live=True)
        self._keys_on = {page.version: warm.keys}
        return page

    def _sheet(self, prepared: Prepared, renderer: str) -> Made:
        chosen = self._chosen
        drawing = Drawing(
            cell_width=chosen["cell_width"],
            mode=chosen["mode"],
            marks=marks_named(chosen["marks"]),
            variants=chosen["labels"],
            materials=chosen["materials"],
            renderer=renderer,
        )
        return draw_sheet(
            prepared, drawing, ending=self._ending, sweeper=lambda *words: [self._warm.sweep(*words[:5])]
        )


@contextmanager
def opened_desk(
    file: str, ending: str, chosen: WatchOptions, tell: Callable[[Due | Redrawn], None]
) -> Iterator[Callable[[Asked], Answered]]:
    """Gives what answers each Asked of a study. ending: of the sheet's files. tell: called with what is to be
    told of a page before it is whole."""
    with ExitStack() as open_things:
        yield _Desk(file, ending, chosen, tell, open_things)
