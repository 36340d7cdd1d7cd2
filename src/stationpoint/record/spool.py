"""A record that is written as its rows come, so that none of them is held: variants, rows and verdicts wait
as text in files without a name, until what stands before them is known."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from tempfile import TemporaryFile
from typing import BinaryIO, cast
from weakref import finalize

from stationpoint.base.files import cannot_write
from stationpoint.readings import Field, Fields, Result, Verdict
from stationpoint.record.csv import write_csv
from stationpoint.record.record import (
    Json,
    Record,
    lines_of,
    record_row,
    record_variant,
    record_verdict,
    writable,
)

ITEM_DEPTH = 2  # of what the lists of a record hold
WHERE = "What waits in the folder for temporary files (TMPDIR)"
ENDED = b"\0"  # after each item: no JSON text has it


def temporary_file() -> BinaryIO:
    """A file without a name, gone when it is closed."""
    return cast(BinaryIO, TemporaryFile())


class Waiting:
    """A list of a record, its items kept as text in a file of its own."""

    def __init__(self, open_files: ExitStack) -> None:
        self._file: BinaryIO = open_files.enter_context(temporary_file())
        self.count = 0

    def add(self, item: Json) -> None:
        """Add an item."""
        try:
            self._file.write(writable(lines_of(item, ITEM_DEPTH)).encode() + ENDED)
        except OSError as error:
            raise cannot_write(WHERE, error, "") from error
        self.count += 1

    def texts(self) -> Iterator[bytes]:
        """The items in order, as they stand in a record."""
        self._file.seek(0)
        rest = b""
        while part := self._file.read(1 << 16):
            *whole, rest = (rest + part).split(ENDED)
            yield from whole


class RecordInWaiting:
    """The variants, rows and verdicts of a record to come; gone with it.

    with_option: whether rows say how players have set the camera.
    """

    def __init__(self, fields: Iterable[Field], with_option: bool) -> None:
        self._known, self._with_option = Fields(fields), with_option
        open_files = ExitStack()
        finalize(self, open_files.close)
        try:
            self._lists = {name: Waiting(open_files) for name in ("variants", "rows", "verdicts")}
        except OSError as error:
            raise cannot_write(WHERE, error, "") from error

    def add(self, results: Sequence[Result], note: str, verdict: Verdict | None) -> None:
        """Add all results of a variant. note: what the study notes of it."""
        self._lists["variants"].add(record_variant(results[0], note))
        for result in results:
            self._lists["rows"].add(record_row(result, self._known, self._with_option))
        if verdict is not None:
            self._lists["verdicts"].add(record_verdict(verdict, self._with_option))

    def write(self, whole: Record, file: BinaryIO) -> None:
        """Write the record. whole: all else of it, in its order; its variants, rows and verdicts are taken
        from here."""
        start = b"{"
        for name, value in whole.items():
            file.write(start + b"\n " + json.dumps(name).encode() + b": ")
            start = b","
            waiting = self._lists.get(name)
            if waiting is None or not waiting.count:
                file.write(writable(lines_of(value, 1)).encode())
                continue
            before = b"["
            for text in waiting.texts():
                file.write(before + b"\n  " + text)
                before = b","
            file.write(b"\n ]")
        file.write(b"\n}\n")

    def write_csv(self, file: BinaryIO) -> None:
        """Write the rows as a table."""

        def lines() -> Iterator[tuple[Mapping[str, Json], dict[str, Json]]]:
            each = self._lists["variants"].texts()
            variant: Mapping[str, Json] = {}
            for text in self._lists["rows"].texts():  # in the order of their variants
                row = cast(dict[str, Json], json.loads(text))
                if variant.get("id") != row["variant"]:
                    variant = cast(dict[str, Json], json.loads(next(each)))
                yield variant, row

        write_csv(lines, self._known, file)
