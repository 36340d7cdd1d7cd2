"""The PLY reader: ASCII and binary, either byte order, faces of any and of mixed size.

Read here because the general reader takes every face of a binary file to be as large as the first, and
cuts faces that are bent in as if they were not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal
from warnings import catch_warnings, simplefilter

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.inputs import read_input
from stationpoint.scene.meshes.part import Imported, Unreadable
from stationpoint.scene.meshes.polygons import part_of

KINDS = {
    "char": "i1", "int8": "i1", "uchar": "u1", "uint8": "u1",
    "short": "i2", "int16": "i2", "ushort": "u2", "uint16": "u2",
    "int": "i4", "int32": "i4", "uint": "u4", "uint32": "u4",
    "float": "f4", "float32": "f4", "double": "f8", "float64": "f8",
}  # fmt: skip
ORDERS = {"ascii": "=", "binary_little_endian": "<", "binary_big_endian": ">"}
INDEX_NAMES = ("vertex_indices", "vertex_index")
FRACTIONS = ("f4", "f8")


@dataclass(frozen=True, slots=True)
class Property:
    """kind: numpy's code; count_kind: the code of a list's length, None for a single number."""

    name: str
    kind: str
    count_kind: str | None = None


@dataclass(frozen=True, slots=True)
class Element:
    """`count` entries of one kind, each with these properties."""

    name: str
    count: int
    properties: tuple[Property, ...]

    @property
    def fewest(self) -> int:
        """Bytes of one entry whose lists are empty."""
        return sum(np.dtype(p.count_kind or p.kind).itemsize for p in self.properties)


Columns = Mapping[str, NDArray[np.float64]]  # single numbers by name
Lists = Mapping[str, tuple[NDArray[np.int64], NDArray[np.int64]]]  # values one after another, and counts


def read_ply(path: Path) -> Imported:
    """The faces of a PLY file as one part without a name."""
    data = read_input(path)
    order, elements, start = _header(data)
    if not any(element.name == "face" and element.count for element in elements):
        if any(element.name == "tristrips" for element in elements):
            raise Unreadable("holds triangle strips, which are not read here; export it with faces.")
        return Imported(())
    body = _Ascii(data[start:].split()) if order == "=" else _Binary(data, start, order)
    columns: Columns = {}
    lists: Lists = {}
    for element in elements:
        singles, inner_lists = body.taken(element)
        if element.name == "vertex":
            columns = singles
        elif element.name == "face":
            lists = inner_lists
    corners, counts = next((lists[name] for name in INDEX_NAMES if name in lists), (None, None))
    if corners is None or counts is None:
        raise Unreadable("has faces without vertex_indices.")
    if not all(axis in columns for axis in "xyz"):
        raise Unreadable("has vertices without x, y and z.")
    points = np.stack([columns[axis] for axis in "xyz"], axis=1)
    part = part_of("", points, corners, counts)
    return Imported((part,) if part else ())


def _header(data: bytes) -> tuple[str, Sequence[Element], int]:
    """Byte order ("=" for ASCII), the elements, and where the data begins."""
    if not data.startswith(b"ply"):
        raise Unreadable("is not a PLY file: it does not begin with the word ply.")
    at = data.find(b"end_header")
    end = min((n for n in (data.find(b"\n", at), data.find(b"\r", at)) if n >= 0), default=len(data))
    if at < 0:
        raise Unreadable("is cut off or wrong: its header does not end.")
    end += 2 if data[end : end + 2] == b"\r\n" else 1
    order = ""
    found: list[Element] = []
    for line in data[:at].decode("latin-1").splitlines()[1:]:
        words = line.split()
        try:
            if words[:1] == ["format"]:
                order = ORDERS[words[1]]
            elif words[:1] == ["element"]:
                count = int(words[2])
                if count < 0:
                    raise ValueError
                found.append(Element(words[1], count, ()))
            elif words[:1] == ["property"]:
                last, new = found[-1], _property(words)
                if new.name in (known.name for known in last.properties):
                    raise Unreadable(f"is wrong: its header gives {last.name!r} two properties {new.name!r}.")
                found[-1] = Element(last.name, last.count, (*last.properties, new))
        except (IndexError, KeyError, ValueError):
            raise Unreadable(f"is wrong: its header says {line.strip()[:60]!r}.") from None
    if not order:
        raise Unreadable("is wrong: its header names no format.")
    return order, found, min(end, len(data))


def _property(words: Sequence[str]) -> Property:
    if words[1] == "list":
        found = Property(words[4], KINDS[words[3]], KINDS[words[2]])
        if found.count_kind in FRACTIONS or (found.name in INDEX_NAMES and found.kind in FRACTIONS):
            raise Unreadable(
                f"is wrong: its header says {' '.join(words)[:60]!r}, but how long a list is, and which "
                "vertices a face has, are whole numbers."
            )
        return found
    return Property(words[2], KINDS[words[1]])


def _cut_off(element: Element) -> Unreadable:
    return Unreadable(f"is cut off: it promises {element.count} {element.name} entries and ends before.")


class _Binary:
    """The data of a binary file, taken element by element."""

    def __init__(self, data: bytes, at: int, order: str) -> None:
        self.data, self.at, self.order = data, at, order

    def taken(self, element: Element) -> tuple[Columns, Lists]:
        if element.count == 0 or not element.properties:
            return {}, {}
        if element.fewest * element.count > len(self.data) - self.at:
            raise _cut_off(element)
        sizes, row = self._first_sizes(element)
        whole = np.dtype(row)
        if whole.itemsize * element.count <= len(self.data) - self.at:
            table = np.frombuffer(self.data, whole, element.count, self.at)
            if all((table[f"{name} count"] == size).all() for name, size in sizes.items()):
                self.at += whole.itemsize * element.count
                return self._columns(table, element), {
                    name: (table[name].astype(np.int64).ravel(), np.full(element.count, size))
                    for name, size in sizes.items()
                }
        return {}, self._ragged(element)

    def _first_sizes(self, element: Element) -> tuple[dict[str, int], list[tuple[str, str, tuple[int, ...]]]]:
        """The lengths of the first entry's lists, and the layout of an entry with these lengths."""
        sizes: dict[str, int] = {}
        row: list[tuple[str, str, tuple[int, ...]]] = []
        at = self.at
        for prop in element.properties:
            size: tuple[int, ...] = ()
            if prop.count_kind is not None:
                kind = np.dtype(self.order + prop.count_kind)
                if at + kind.itemsize > len(self.data):
                    raise _cut_off(element)
                sizes[prop.name] = int(np.frombuffer(self.data, kind, 1, at)[0])
                if not 0 <= sizes[prop.name] <= len(self.data):
                    raise _cut_off(element)
                size = (sizes[prop.name],)
                row.append((f"{prop.name} count", kind.str, ()))
                at += kind.itemsize
            row.append((prop.name, self.order + prop.kind, size))
            at += np.dtype(prop.kind).itemsize * (size[0] if size else 1)
        return sizes, row

    def _columns(self, table: NDArray[np.void], element: Element) -> Columns:
        return {p.name: table[p.name].astype(np.float64) for p in element.properties if p.count_kind is None}

    def _ragged(self, element: Element) -> Lists:
        """Lists whose lengths differ from entry to entry: their places first, then all bytes at once."""
        spots: dict[str, list[int]] = {p.name: [] for p in element.properties if p.count_kind is not None}
        counts: dict[str, list[int]] = {name: [] for name in spots}
        layout = [
            (p, np.dtype(p.kind).itemsize, np.dtype(p.count_kind or "u1").itemsize)
            for p in element.properties
        ]
        byte_order: Literal["little", "big"] = "little" if self.order == "<" else "big"
        data, at, end = self.data, self.at, len(self.data)
        for _ in range(element.count):
            for prop, width, count_width in layout:
                if prop.count_kind is None:
                    at += width
                    continue
                size = int.from_bytes(data[at : at + count_width], byte_order)
                at += count_width
                spots[prop.name].append(at)
                counts[prop.name].append(size)
                at += width * size
            if at > end:
                raise _cut_off(element)
        self.at = at
        found = {}
        raw = np.frombuffer(data, np.uint8)
        for prop, width, _ in layout:
            if prop.count_kind is not None:
                many = np.array(counts[prop.name], dtype=np.int64)
                firsts = np.repeat(np.array(spots[prop.name]) - (np.cumsum(many) - many) * width, many)
                starts = firsts + np.arange(many.sum()) * width
                values = raw[starts[:, None] + np.arange(width)].view(self.order + prop.kind)
                found[prop.name] = (values.ravel().astype(np.int64), many)
        return found


MOST_PLAIN = 2**31  # a larger word may be more than a number of 64 bits, and be cut to it


class _Ascii:
    """The words of an ASCII file, taken element by element."""

    def __init__(self, words: list[bytes]) -> None:
        self.words, self.at = words, 0

    def taken(self, element: Element) -> tuple[Columns, Lists]:
        if element.count == 0 or not element.properties:
            return {}, {}
        if element.count * len(element.properties) > len(self.words) - self.at:
            raise _cut_off(element)
        try:
            if any(prop.count_kind is not None for prop in element.properties):
                return {}, self._even(element) or self._ragged(element)
            width = len(element.properties)
            words = self.words[self.at : self.at + element.count * width]
            self.at += len(words)
            table = np.array(words, dtype="S").astype(np.float64).reshape(-1, width)
        except (ValueError, OverflowError):
            raise Unreadable(f"is wrong: {element.name!r} holds something that is not a number.") from None
        return {prop.name: table[:, k] for k, prop in enumerate(element.properties)}, {}

    def _even(self, element: Element) -> Lists | None:
        """The one list of an entry where it has the same length in all, read at once; None where it has not,
        or where a word is no plain whole number, which `_ragged` judges."""
        is_known = len(element.properties) == 1 and element.properties[0].name in INDEX_NAMES
        size = int(self.words[self.at]) if is_known else 0
        words = self.words[self.at : self.at + element.count * (size + 1)]
        if size < 1 or len(words) < element.count * (size + 1):
            return None
        try:
            with (
                catch_warnings()
            ):  # at a word that is no whole number it stops: it warns, or newer ones raise
                simplefilter("ignore", DeprecationWarning)
                read = np.fromstring(b" ".join(words), dtype=np.int64, sep=" ")
        except ValueError:
            return None
        if len(read) != len(words) or np.abs(read).max() >= MOST_PLAIN:
            return None
        table = read.reshape(-1, size + 1)
        if (table[:, 0] != size).any():
            return None
        self.at += len(words)
        return {element.properties[0].name: (table[:, 1:].ravel(), table[:, 0])}

    def _ragged(self, element: Element) -> Lists:
        values: dict[str, list[bytes]] = {p.name: [] for p in element.properties if p.count_kind is not None}
        counts: dict[str, list[int]] = {name: [] for name in values}
        words, at = self.words, self.at
        for _ in range(element.count):
            for prop in element.properties:
                if at >= len(words):
                    raise _cut_off(element)
                if prop.count_kind is not None:
                    size = int(words[at])
                    if size < 0:
                        raise ValueError
                    values[prop.name] += words[at + 1 : at + 1 + size]
                    counts[prop.name].append(size)
                    at += size
                at += 1
        if at > len(words):
            raise _cut_off(element)
        self.at = at
        return {
            name: (
                np.array([int(word) for word in values[name]], dtype=np.int64),
                np.array(counts[name], dtype=np.int64),
            )
            for name in values
            if name in INDEX_NAMES
        }
