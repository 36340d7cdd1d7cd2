"""A record that is written as its rows come, so that none of them is held: variants, rows and verdicts wait
as text in files without a name, until what stands before them is known."""

from __future__ import annotations

import json
import os
import pickle
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from tempfile import TemporaryFile
from typing import Any, BinaryIO, NamedTuple, TypeAlias, cast
from weakref import finalize

import numpy as np
from numpy.typing import NDArray
from zlib_ng import zlib_ng

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
FAST = 1  # of zlib's levels: what waits here is soon gone
SMALL_BYTES = 4096  # so little of an array stays with the rest
UNPACKED_BYTES = 1 << 27  # of things that lie as they came
Buffer: TypeAlias = bytes | memoryview
Lines = tuple[Mapping[str, Json], dict[str, Json]]


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


class _Part(NamedTuple):
    """Where a part of a thing lies in the file, and what makes of these bytes what it was."""

    start: int
    stop: int
    unpacked: Callable[[bytes], Buffer]


class Things:
    """Things that wait in a file of their own; processes that are forked may read them too. The first lie
    there as they came, which takes hardly any time; what comes once it is large is packed."""

    def __init__(self) -> None:
        try:
            self._file = temporary_file()
        except OSError as error:
            raise cannot_write(WHERE, error, "") from error
        finalize(self, self._file.close)
        self._things: list[list[_Part]] = []  # of each its pickle, then its large arrays
        self._end = 0

    def add(self, thing: object) -> None:
        """Add a thing that can be pickled, or bytes."""
        if isinstance(thing, bytes):
            self._things.append([self._written(thing)])
            return
        arrays: list[memoryview] = []

        def through_the_stream(buffer: pickle.PickleBuffer) -> bool:
            array = memoryview(buffer)
            if array.nbytes < SMALL_BYTES:
                return True
            arrays.append(array)
            return False

        stream = pickle.dumps(thing, 5, buffer_callback=through_the_stream)
        self._things.append([self._packed(memoryview(stream)), *map(self._packed, arrays)])

    def _packed(self, data: memoryview) -> _Part:
        if data.format == "I":  # ids: the same for many pixels in a row
            return self._written(_in_runs(np.asarray(data).ravel()), _from_runs)
        if self._end < UNPACKED_BYTES:
            return self._written(data)
        return self._written(zlib_ng.compress(data, FAST), zlib_ng.decompress)

    def _written(self, data: Buffer, unpacked: Callable[[bytes], Buffer] = bytes) -> _Part:
        start = self._end
        try:
            self._file.write(data)
            self._file.flush()
        except OSError as error:
            raise cannot_write(WHERE, error, "") from error
        self._end += memoryview(data).nbytes
        return _Part(start, self._end, unpacked)

    def __len__(self) -> int:
        return len(self._things)

    def bytes_of(self, number: int) -> bytes:
        """The bytes that were added at that number, counted from 0."""
        return self._read(self._things[number][0])

    def _read(self, part: _Part) -> bytes:
        if hasattr(os, "pread"):  # no place in the file, which a fork would share
            return os.pread(self._file.fileno(), part.stop - part.start, part.start)
        self._file.seek(part.start)
        data = self._file.read(part.stop - part.start)
        self._file.seek(0, os.SEEK_END)
        return data

    def __getitem__(self, number: int) -> Any:
        stream, *arrays = (part.unpacked(self._read(part)) for part in self._things[number])
        return pickle.loads(stream, buffers=arrays)


def _in_runs(numbers: NDArray[np.uint32]) -> memoryview:
    """Numbers as runs of the same: how long each is, then what each holds."""
    last = np.append(np.flatnonzero(numbers[1:] != numbers[:-1]), numbers.size - 1)
    return np.concatenate([np.diff(last, prepend=-1), numbers[last]]).astype(np.uint32).data


def _from_runs(data: bytes) -> memoryview:
    lengths, numbers = np.frombuffer(data, np.uint32).reshape(2, -1)
    return np.repeat(numbers, lengths).data


class RecordInWaiting:
    """The variants, rows and verdicts of a record to come; gone with it.

    with_option: whether rows say how players have set the camera.
    """

    names = ("variants", "rows", "verdicts")

    def __init__(self, fields: Iterable[Field], with_option: bool) -> None:
        self._known, self._with_option = Fields(fields), with_option
        open_files = ExitStack()
        finalize(self, open_files.close)
        try:
            self._lists = {name: Waiting(open_files) for name in self.names}
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

        def lines() -> Iterator[Lines]:
            each = self.items("variants")
            variant: Mapping[str, Json] = {}
            for row in self.items("rows"):  # in the order of their variants
                if variant.get("id") != row["variant"]:
                    variant = next(each)
                yield variant, row

        write_csv(lines, self._known, file)

    def items(self, name: str) -> Iterator[dict[str, Json]]:
        """The variants, rows or verdicts, one after the other."""
        for text in self._lists[name].texts():
            yield json.loads(text)
