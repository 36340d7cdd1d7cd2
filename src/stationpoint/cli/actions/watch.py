"""What `watch` does: a study drawn again whenever one of its files is saved.

This process waits, writes and shows; another draws (`watch_draw`), which may be ended at any moment, since it
writes nothing; threads listen to folders (`watch_files`) and to browsers (`watch_server`).
"""

from __future__ import annotations

from base64 import b64encode
from contextlib import ExitStack
from functools import partial
from pathlib import Path

from stationpoint.base.errors import MachineLacks, StationpointError, StudyWrong
from stationpoint.base.inputs import note
from stationpoint.base.words import counted, listed
from stationpoint.cli import say
from stationpoint.cli.actions.outputs import PAGE as PAGE_FILE
from stationpoint.cli.actions.outputs import STDOUT, Kind, Outputs
from stationpoint.cli.actions.page import page_place
from stationpoint.cli.actions.sheet import ending_of, marks_named, picture_place, places
from stationpoint.cli.actions.watch_draw import PAGE, SHEET, Answered, Asked, opened_desk
from stationpoint.cli.actions.watch_files import Watcher
from stationpoint.cli.actions.watch_server import PageServer
from stationpoint.cli.actions.work import stem_of
from stationpoint.cli.options import WatchOptions
from stationpoint.run import PNG, Due, Redrawn, Stamp, Standby, known_mark_names, stamp
from stationpoint.study import what_is

NOTHING_BESIDE = (None, None, None)
FAULT = "stationpoint has a fault of its own here ({}: {}); please report it. The next save tries again."


def watch(file: str, chosen: WatchOptions) -> None:
    """Draw a file's sheet, its page, or both, until Ctrl-C."""
    watcher = Watcher()
    what_is(Path(file))
    known_mark_names(marks_named(chosen["marks"]))
    with ExitStack() as open_things:
        _Watch(file, chosen, watcher, open_things).go_on()


class _Watch:
    def __init__(self, file: str, chosen: WatchOptions, watcher: Watcher, open_things: ExitStack) -> None:
        self._path, self._chosen, self._watcher = Path(file), chosen, watcher
        page = chosen["page"]
        self._sheet = None
        if chosen["output"] is not None or page is None:
            self._sheet = picture_place(chosen["output"], stem_of(self._path))
        self._page = None if page is None else page_place(page, stem_of(self._path))
        if STDOUT in (str(self._sheet), str(self._page)):
            raise StudyWrong("watch writes again and again, so not to standard output (-); name a file.")
        self._number = 0
        self._stamps: dict[Path, Stamp] = {}
        self._told: tuple[str, ...] = ()  # at the last turn
        self._written: dict[Path | str, bytes] = {}
        self._is_shown = False
        Outputs(chosen["force"]).claim_all([*self._places(SHEET), *self._places(PAGE)])
        open_things.callback(watcher.end)
        ending = PNG if self._sheet is None else ending_of(self._sheet)
        self._standby = Standby(partial(opened_desk, file, ending, chosen))
        open_things.callback(self._standby.end)
        self._standby.start()
        self._server = None if self._page is None else PageServer(chosen["port"])
        if self._server is not None:
            open_things.callback(self._server.end)

    def go_on(self) -> None:
        """Draw, wait, and draw again, until a stop."""
        self._watcher.watch([self._path.absolute()])
        while True:
            wrong = self._turn()
            if self._number == 0:
                self._say(f"Watching {self._path}; Ctrl-C ends it.")
            self._number += 1
            self._watcher.watch({self._path.absolute(), *self._stamps})
            self._watcher.wait(self._stamps, any_event=wrong is not None)

    def _turn(self) -> StationpointError | None:
        """Draw all once; what is wrong, having said so. Raises MachineLacks where nothing was drawn yet."""
        told: list[str] = []
        self._stamps = {file: stamp(file) for file in (self._path.absolute(), *self._stamps)}
        wrong: StationpointError | None = None
        try:
            for what in [PAGE] * (self._page is not None) + [SHEET] * (self._sheet is not None):
                shown = "" if self._server is None else self._server.version
                answer: Answered = self._standby.ask(Asked(self._number, what, shown), self._redraw)
                self._stamps = answer.stamps
                told.extend(answer.told)
                if answer.wrong is not None:
                    raise answer.wrong
                self._deliver(what, answer)
        except StationpointError as error:
            if isinstance(error, MachineLacks) and not self._written:
                raise
            wrong = error
            told.extend(str(error).split("\n"))
        except Exception as error:
            words = FAULT.format(type(error).__name__, " ".join(str(error).split())[:400])
            wrong = StationpointError(words)
            told.append(words)
        said = tuple(dict.fromkeys(told))
        say(*(line for line in said if line not in self._told))
        self._told = said
        if wrong is not None and self._server is not None:
            self._server.complain(str(wrong))
        return wrong

    def _redraw(self, told: Due | Redrawn) -> None:
        """Show what is told of a page before it is whole."""
        if self._server is None:
            return
        if isinstance(told, Due):
            self._server.await_cells(told.labels)
            return
        pictures = {mode: b64encode(file).decode() for mode, file in told.pictures.items()}
        self._server.show_cell(told._asdict() | {"pictures": pictures})

    def _deliver(self, what: str, answer: Answered) -> None:
        """Write what was drawn, if it is another than before, and show it."""
        outputs, names = Outputs(self._chosen["force"]), list[str]()
        those = self._places(what, len(answer.files))
        for file in self._stamps:
            note(file)
        for (place, kind), data in zip(those, answer.files, strict=True):
            if self._written.get(place) != data:
                outputs.add(place, kind, data)
                names.append(str(place))
        outputs.deliver(quiet=True)
        self._written |= {place: data for (place, _), data in zip(those, answer.files, strict=True)}
        if names:
            self._say(
                f"Wrote {listed(names)}: {answer.drawn} of {counted(answer.variants, 'variant')} drawn."
            )
        if what == PAGE and self._server is not None:
            self._server.show(answer.live, answer.version)
            if not self._is_shown:
                say(f"The page is shown at {self._server.address}")
            self._is_shown = True

    def _places(self, what: str, files: int = 1) -> list[tuple[Path | str, Kind]]:
        """Where so many files of a sheet, or the page, go."""
        if what == PAGE:
            return [] if self._page is None else [(self._page, PAGE_FILE)]
        found = [] if self._sheet is None else places(self._sheet, NOTHING_BESIDE, files)
        return [(place, kind) for place, kind in found if place is not None]

    def _say(self, line: str) -> None:
        if not self._chosen["quiet"]:
            say(line)
