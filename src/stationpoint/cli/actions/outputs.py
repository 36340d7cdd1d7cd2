"""What a call writes: each output claimed before the work, all of them delivered after it.

Here alone is decided what may be written: not what the call reads, not what is there and is none of
ours, no place twice, no ending that says another format. "-" is standard output.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from stationpoint.base.errors import StudyWrong
from stationpoint.base.files import Content, cannot_write, whole, write_all
from stationpoint.base.inputs import files_read
from stationpoint.base.words import listed
from stationpoint.cli import say, tell
from stationpoint.record import is_ours
from stationpoint.run import FORMATS

STDOUT = "-"
MOST_LISTED = 8


class Kind(NamedTuple):
    """A kind of output. says: what it is, in words; option: what names another place for it.

    must: whether its name has to end so; else it only may not end like another kind's. or_else: what
    else may be named, in words.
    """

    says: str
    endings: tuple[str, ...]
    option: str
    must: bool = False
    or_else: str = ""


SHEET = Kind("a sheet is a PNG, SVG or PDF", FORMATS, "-o", must=True, or_else=", or name a folder")
CHART = Kind("a chart is a PNG, an SVG or a PDF", (".png", ".svg", ".pdf"), "-o", must=True)
PAGE = Kind("a page for review is HTML", (".html", ".htm"), "-o", must=True)
MESH = Kind("a mesh is written as a GLB", (".glb",), "-o", must=True)
CAMERAS = Kind(
    "cameras are handed off as JSON, glTF or USD", (".json", ".glb", ".gltf", ".usda"), "-o", must=True
)
POINTS = Kind("check points are a table", (".csv",), "-o", must=True)
STUDY = Kind("a study is a TOML file", (".toml",), "-o", must=True)
REWRITTEN = STUDY._replace(option="")
RECORD = Kind("a record is JSON", (".json",), "--json")
TABLE = Kind("a table is CSV", (".csv",), "--csv")
TICKET = Kind("a ticket is plain text", (".txt",), "--text")
TESTS = Kind("a report of tests is XML", (".xml",), "--junit")
SUMMARY = Kind("a summary is Markdown", (".md",), "--markdown")
BASELINE = Kind("a baseline is a record, in JSON", (".json",), "--baseline", must=True)
OTHERS = (  # of formats never written
    *(".jpg", ".jpeg", ".gif", ".gltf", ".obj", ".stl", ".ply", ".fbx"),
    *(".usd", ".usda", ".usdc", ".usdz"),
)
WRITTEN = (SHEET, CHART, PAGE, MESH, STUDY, RECORD, TABLE, TICKET, TESTS, SUMMARY)
ENDINGS = {*OTHERS, *(end for kind in WRITTEN for end in kind.endings)}


class Outputs:
    """The outputs of one call. force: whether files that are none of ours may be written over."""

    def __init__(self, force: bool = False) -> None:
        self._force = force
        self._claimed: dict[str, Kind] = {}  # by the real place
        self._contents: dict[str, Content] = {}  # by the place as named
        self._options: dict[Path | str, str] = {}

    def claim(self, place: Path | str | None, kind: Kind, data: bytes | None = None) -> None:
        """StudyWrong where an output may not go to a place; None is no output.

        data: what will be written, if that is known: it may be there already.
        """
        if place is None:
            return
        named = str(place)
        if self._claimed.setdefault(_real(named), kind) != kind:
            where = "Standard output (-)" if named == STDOUT else named
            raise StudyWrong(f"{where} is named for two outputs; name each once.")
        if named == STDOUT:
            _refuse_terminal(kind)
            return
        _refuse_unwritable(Path(named), kind)
        _refuse_input(Path(named), kind)
        _refuse_ending(named, kind)
        if not self._force:
            _refuse_foreign(Path(named), kind, data)

    def claim_all(self, places: Iterable[tuple[Path | str | None, Kind]]) -> None:
        """`claim` for several outputs."""
        for place, kind in places:
            self.claim(place, kind)

    def add(self, place: Path | str, kind: Kind, data: Content) -> None:
        """Write `data`, or what it writes, to `place`, later."""
        self.claim(place, kind, data if isinstance(data, bytes) else None)
        self._contents[str(place)] = data
        self._options[str(place)] = kind.option

    def rewrite(self, place: Path, data: bytes) -> None:
        """Write over the study that the call has read, later: the one input that a call may change."""
        _refuse_unwritable(place, REWRITTEN)
        self._contents[str(place)] = data
        self._options[str(place)] = REWRITTEN.option

    @property
    def takes_stdout(self) -> bool:
        """Whether standard output is for one of them, so that what is told goes elsewhere."""
        return STDOUT in self._claimed

    def deliver(self, quiet: bool) -> None:
        """Write all files, or none; then what goes to standard output."""
        files: dict[Path | str, Content] = {
            place: data for place, data in self._contents.items() if place != STDOUT
        }
        write_all(files, self._options)
        if STDOUT in self._contents:
            print_bytes(self._contents[STDOUT])
        if files and not quiet:
            names = [str(place) for place in files]
            more = [f"{len(names) - MOST_LISTED} more"] if len(names) > MOST_LISTED else []
            say(f"Wrote {listed(names[:MOST_LISTED] + more)}.")


def _real(named: str) -> str:
    """A place by the one name that all its names lead to."""
    try:
        return named if named == STDOUT else str(Path(named).resolve())
    except (OSError, ValueError, RuntimeError):
        return named


def _refuse_terminal(kind: Kind) -> None:
    if kind.must and sys.stdout is not None and sys.stdout.isatty():
        raise StudyWrong(f"{kind.option} -: {kind.says}, which no terminal shows; name a file.")


def _refuse_ending(named: str, kind: Kind) -> None:
    ending = Path(named).suffix.lower()
    if ending not in kind.endings and (kind.must or ending in ENDINGS):
        endings = listed(kind.endings, "or")
        raise StudyWrong(f"{named}: {kind.says}; name it with the ending {endings}{kind.or_else}.")


def _refuse_unwritable(place: Path, kind: Kind) -> None:
    """The error that writing would end in, as far as it can be told beforehand."""
    number = 0
    try:
        if place.is_dir():
            number = errno.EISDIR
        elif not place.parent.exists():
            number = errno.ENOENT
        elif not place.parent.is_dir():
            number = errno.ENOTDIR
        elif not os.access(place if place.exists() else place.parent, os.W_OK):
            number = errno.EACCES
    except (OSError, ValueError) as error:
        raise cannot_write(place, error, kind.option) from None
    if number:
        raise cannot_write(place, OSError(number, os.strerror(number)), kind.option)


def _refuse_input(place: Path, kind: Kind) -> None:
    """StudyWrong where a place is a file that the call has read, by whatever name."""
    if not place.exists():
        return
    for file in files_read():
        try:
            same = os.path.samefile(place, file)
        except (OSError, ValueError):
            continue
        if same:
            raise StudyWrong(f"{place} is what this call reads; name another place with {kind.option}.")


def _refuse_foreign(place: Path, kind: Kind, data: bytes | None) -> None:
    """StudyWrong where something is there that we did not write: a file with anything else in it."""
    try:
        free = not place.is_file() or not place.stat().st_size or is_ours(place)
        if free or (data is not None and place.read_bytes() == data):
            return
    except OSError as error:
        raise cannot_write(place, error, kind.option) from None
    raise StudyWrong(
        f"{place} is there already and would be lost; "
        f"name another place with {kind.option}, or write over it with --force."
    )


def print_bytes(data: Content) -> None:
    """Bytes to standard output as they are; on a terminal as a person can read them."""
    if sys.stdout is None:
        raise StudyWrong("Standard output is closed; name a file in place of -.")
    if not isinstance(data, bytes):
        if not sys.stdout.isatty():
            data(sys.stdout.buffer)
            sys.stdout.buffer.flush()
            return
        data = whole(data)
    if sys.stdout.isatty():
        lines = data.decode("utf-8", "backslashreplace").removesuffix("\n").split("\n")
        tell(*(line.removesuffix("\r") for line in lines))
        return
    sys.stdout.buffer.write(data)
    sys.stdout.buffer.flush()
