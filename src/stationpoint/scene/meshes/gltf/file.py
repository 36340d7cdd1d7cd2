"""A glTF 2.0 file opened: its JSON, its buffers, its accessors as arrays.

Read here rather than by a library, so that what cannot be drawn right is refused by name and nothing
outside the model's folder is ever opened. Specification: Khronos glTF 2.0, sections 3.6, 3.11 and 4.
"""

from __future__ import annotations

import base64
import binascii
import json
import re
import struct
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import NoReturn, TypeVar
from urllib.parse import unquote_to_bytes

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.inputs import read_input
from stationpoint.base.words import listed
from stationpoint.scene.meshes.belongings import note_gltf_files
from stationpoint.scene.meshes.gltf.tables import Json, bad, inner, integer, members, reason, shown
from stationpoint.scene.meshes.part import Unreadable

DTYPES = {5120: "<i1", 5121: "<u1", 5122: "<i2", 5123: "<u2", 5125: "<u4", 5126: "<f4"}
INDEX_DTYPES = {number: code for number, code in DTYPES.items() if code in ("<u1", "<u2", "<u4")}
WIDTHS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT4": 16}
MOST_NUMBERS = 60_000_000  # in one accessor; a lying count is caught before memory is asked for
HARMLESS = re.compile(
    r"KHR_(materials|texture|lights|xmp|animation)_\w+|EXT_(texture|lights)_\w+|MSFT_texture_dds"
)
DRAWN = frozenset(
    {
        "KHR_draco_mesh_compression",
        "KHR_mesh_quantization",
        "KHR_node_visibility",
        "EXT_mesh_gpu_instancing",
        "MSFT_lod",
    }
)
COMPRESSED = frozenset({"EXT_meshopt_compression", "KHR_meshopt_compression"})


Key = TypeVar("Key")
Found = TypeVar("Found")
Values = NDArray[np.integer | np.floating]


@dataclass(frozen=True, slots=True, eq=False)
class Gltf:
    """An opened file. tables: the JSON; binary: the GLB's own buffer or None; folder: where it lies.

    unpacked: what accessors hold whose data is compressed, by number, put there before they are read.
    """

    tables: Json
    folder: Path
    binary: bytes | None
    unpacked: dict[int, Values] = field(default_factory=dict)
    _buffers: dict[int, bytes] = field(default_factory=dict)

    def count(self, kind: str) -> int:
        """How many "nodes", "meshes", ... there are."""
        return len(members(self.tables, kind, "the file"))

    def item(self, kind: str, index: object, where: str) -> Json:
        """One of the "nodes", "meshes", ...; `where` says who asks for it."""
        entries = members(self.tables, kind, "the file")
        if isinstance(index, bool) or not isinstance(index, int) or not 0 <= index < len(entries):
            raise Unreadable(f"{where} asks for number {shown(index)} of {len(entries)} {kind}.")
        entry = entries[index]
        if not isinstance(entry, dict):
            raise Unreadable(f"{kind} number {index} is not a table.")
        return entry

    def length(self, index: object, where: str) -> int:
        """How many elements an accessor promises."""
        return integer(self.item("accessors", index, where), "count", f"accessor {index}")

    def array(self, index: object, where: str) -> Values:
        """An accessor as an array (count, width); normalized integers become floats."""
        table = self.item("accessors", index, where)
        where = f"accessor {index}"
        dtype = np.dtype(_known(DTYPES, table.get("componentType"), where, "componentType"))
        width = _known(WIDTHS, table.get("type"), where, "type")
        count = integer(table, "count", where)
        if count * width > MOST_NUMBERS:
            raise Unreadable(f"{where} claims {count * width} numbers; at most {MOST_NUMBERS} are read.")
        values: Values
        if index in self.unpacked:
            values = self._unpacked(int(str(index)), dtype, width, where)
        elif "bufferView" in table:
            values = self._view(table, dtype, width, count, where)
        else:
            values = np.zeros((count, width), dtype)
        if "sparse" in table:
            values = self._sparse(inner(table, "sparse", where), values, where)
        if table.get("normalized") is True and dtype.kind in "iu":
            values = np.maximum(values / float(np.iinfo(dtype).max), -1.0)
        return values

    def _unpacked(self, index: int, dtype: np.dtype[np.generic], width: int, where: str) -> Values:
        """Decompressed values, if they are what the accessor promises; whole numbers may be held wider."""
        values = self.unpacked[index]
        whole = values.dtype.kind in "iu" and dtype.kind in "iu"
        fits = whole and (not values.size or _fits(values, dtype))
        if values.shape[1] != width or not (fits or values.dtype == dtype):
            raise Unreadable(f"{where}: its compressed data is of another type than it says.")
        return values.astype(dtype)

    def view_bytes(self, number: object, where: str) -> bytes:
        """All bytes of a buffer view: a compressed stream, an embedded picture."""
        view = self.item("bufferViews", number, where)
        length = integer(view, "byteLength", f"bufferView {number}")
        return self._view({"bufferView": number}, np.dtype("u1"), 1, length, where).tobytes()

    def _sparse(self, sparse: Json, values: Values, where: str) -> Values:
        count = integer(sparse, "count", f"{where}: sparse")
        spots_table, news_table = inner(sparse, "indices", where), inner(sparse, "values", where)
        kind = _known(
            INDEX_DTYPES, spots_table.get("componentType"), f"{where}: sparse indices", "componentType"
        )
        spots = self._view(spots_table, np.dtype(kind), 1, count, f"{where}: sparse indices").ravel()
        news = self._view(news_table, values.dtype, values.shape[1], count, f"{where}: sparse values")
        if count and int(np.max(spots)) >= len(values):
            raise Unreadable(f"{where}: a sparse index is {int(np.max(spots))}, but there are {len(values)}.")
        values = values if values.flags.writeable else values.copy()  # a buffer's memory stays as it is
        values[spots.astype(np.int64)] = news
        return values

    def _view(self, table: Json, dtype: np.dtype[np.generic], width: int, count: int, where: str) -> Values:
        """`count` elements of a buffer view, (count, width), still in the buffer's memory."""
        number = table.get("bufferView")
        view = self.item("bufferViews", number, where)
        said = f"bufferView {number}"
        if COMPRESSED & set(inner(view, "extensions", said, {})) and self._is_stand_in(view, said):
            raise Unreadable(compressed_sentence([*COMPRESSED & set(inner(view, "extensions", said))]))
        data = self._buffer(view.get("buffer"), said)
        start, length = integer(view, "byteOffset", said, 0), integer(view, "byteLength", said)
        if start + length > len(data):
            raise Unreadable(
                f"{said} ends at byte {start + length} of a buffer of {len(data)} bytes; the file is cut off."
            )
        size = dtype.itemsize * width
        stride = (integer(view, "byteStride", said, 0) if count > 1 else 0) or size
        offset = integer(table, "byteOffset", where, 0)
        if stride < size:
            raise Unreadable(f"{said}: byteStride is {stride}, below the {size} bytes of one element.")
        if count and offset + stride * (count - 1) + size > length:
            needed = offset + stride * (count - 1) + size
            raise Unreadable(f"{where} needs {needed} bytes of {said}, which has {length}.")
        if count == 0:
            return np.zeros((0, width), dtype)
        strides = (stride, dtype.itemsize)
        return np.ndarray((count, width), dtype, buffer=data, offset=start + offset, strides=strides)

    def _is_stand_in(self, view: Json, where: str) -> bool:
        """Whether the plain buffer beside compressed data holds nothing (meshopt's "fallback")."""
        buffer = self.item("buffers", view.get("buffer"), where)
        return "uri" not in buffer and not (view.get("buffer") == 0 and self.binary is not None)

    def _buffer(self, index: object, where: str) -> bytes:
        table = self.item("buffers", index, where)
        number = int(str(index))
        if number not in self._buffers:
            said = f"buffer {number}"
            uri = table.get("uri")
            if uri is None:
                if number != 0 or self.binary is None:
                    raise Unreadable(f"{said} has no data.")
                data = self.binary
            else:
                data = self._fetched(uri, said)
            length = integer(table, "byteLength", said)
            if length > len(data):
                raise Unreadable(f"{said} says {length} bytes but has {len(data)}; the file is cut off.")
            self._buffers[number] = data[:length] if length < len(data) else data
        return self._buffers[number]

    def _fetched(self, uri: object, where: str) -> bytes:
        """The bytes of a data URI, or of a file that lies in the model's folder or below it."""
        found = self.lies_at(uri, where)
        if isinstance(found, bytes):
            return found
        try:
            return read_input(found)
        except OSError as error:
            raise Unreadable(f"{where}: {shown(uri)} cannot be read: {reason(error)}.") from None

    def lies_at(self, uri: object, where: str) -> bytes | Path:
        """The bytes of a data URI, or the path of a file that is in the model's folder or below it."""
        if not isinstance(uri, str):
            raise Unreadable(f"{where}: uri is {shown(uri)}, must be text.")
        if uri[:5].lower() == "data:":
            return _data_uri(uri, where)
        if re.match(r"[A-Za-z][A-Za-z0-9+.-]+:", uri) or uri.startswith(("//", "\\\\")):
            raise Unreadable(f"{where} lies at {shown(uri)}; only files beside the model are read.")
        folder = self.folder.resolve()
        try:
            name = unquote_to_bytes(uri).decode("utf-8")
            path = (folder / name.replace("\\", "/")).resolve()
            if not path.is_relative_to(folder):
                raise Unreadable(
                    f"{where} lies outside the model's folder, at {shown(uri)}; put it beside the model."
                )
            if not path.is_file():
                raise Unreadable(f"{where}: the file {shown(uri)} is missing beside the model.")
            return path
        except RuntimeError:  # what resolve() says of links that go round
            raise Unreadable(f"{where}: {shown(uri)} is a link that leads to itself.") from None
        except (OSError, ValueError) as error:
            raise Unreadable(f"{where}: {shown(uri)} cannot be read: {reason(error)}.") from None


def opened(path: Path) -> Gltf:
    """A .gltf or .glb file, whichever its first bytes say; required extensions are checked."""
    data = read_input(path)
    if not data.strip():
        raise Unreadable("is empty.")
    text, binary = _chunks(data) if data[:4] == b"glTF" else (data, None)
    try:
        tables = json.loads(text.decode("utf-8-sig"), parse_constant=_no_constant)
    except RecursionError:
        raise Unreadable("its JSON is nested too deeply to be a glTF file.") from None
    except ValueError as error:
        raise Unreadable(f"is not a glTF file: {reason(error)}.") from None
    if not isinstance(tables, dict):
        raise Unreadable("is not a glTF file: its JSON is not a table.")
    asset = tables.get("asset")
    version = asset.get("version") if isinstance(asset, dict) else None
    if version is None and not isinstance(tables.get("meshes"), dict):
        raise Unreadable("is not a glTF file: it has no asset.version.")
    least = asset.get("minVersion", "2.0") if isinstance(asset, dict) else "2.0"
    if not re.fullmatch(r"2\.\d+", str(version)) or str(least) != "2.0":
        said = version if str(least) == "2.0" else least
        raise Unreadable(f"is glTF {said or '1.0'}; only glTF 2.0 is read, so export it as glTF 2.0.")
    note_gltf_files(tables, path.parent)
    _check_required(tables)
    return Gltf(tables, path.parent, binary)


def _chunks(data: bytes) -> tuple[bytes, bytes | None]:
    """The JSON and the binary chunk of a GLB (glTF 2.0, section 4.4)."""
    if len(data) < 20:
        raise Unreadable(f"is cut off after {len(data)} bytes.")
    version, length = struct.unpack_from("<II", data, 4)
    if version != 2:
        raise Unreadable(f"is a GLB of version {version}; only version 2 is read, so export it as glTF 2.0.")
    if length > len(data):
        raise Unreadable(f"is cut off: it says {length} bytes and has {len(data)}.")
    at, text, binary = 12, None, None
    while at + 8 <= length:
        size, kind = struct.unpack_from("<I4s", data, at)
        at += 8
        if at + size > length:
            raise Unreadable(f"is cut off or wrong: a chunk of {size} bytes starts at byte {at} of {length}.")
        if text is None:
            if kind != b"JSON":
                raise Unreadable("is not a GLB file: its first chunk is not JSON.")
            text = data[at : at + size]
        elif kind == b"BIN\0" and binary is None:
            binary = data[at : at + size]
        at += size
    if text is None:
        raise Unreadable("is not a GLB file: it has no JSON.")
    return text, binary


def _check_required(tables: Json) -> None:
    required = [str(name) for name in members(tables, "extensionsRequired", "the file")]
    packed = [name for name in required if name in COMPRESSED]
    if packed:
        raise Unreadable(compressed_sentence(packed))
    unknown = [name for name in required if name not in DRAWN and not HARMLESS.fullmatch(name)]
    if unknown:
        raise Unreadable(f"needs {listed(sorted(unknown))}, which is not read here; export without it.")


def compressed_sentence(names: list[str]) -> str:
    """What to do about a compressed file."""
    return (
        f"is compressed with {listed(sorted(names))}, which is not read here; export it without compression."
    )


def _data_uri(uri: str, where: str) -> bytes:
    head, comma, body = uri.partition(",")
    if not comma:
        raise Unreadable(f"{where}: its data URI is cut off.")
    raw = unquote_to_bytes(body)
    if not head.lower().endswith(";base64"):
        return raw
    try:
        return base64.b64decode(raw, validate=True)
    except (binascii.Error, ValueError):
        raise Unreadable(f"{where}: its data URI is not base64.") from None


def _fits(values: Values, dtype: np.dtype[np.generic]) -> bool:
    """Whether whole numbers can be held in a type of whole numbers."""
    limits = np.iinfo(dtype.str)
    return bool(values.min() >= limits.min and values.max() <= limits.max)


def _known(table: Mapping[Key, Found], value: object, where: str, key: str) -> Found:
    """What a table holds for a value of the file."""
    for known, found in table.items():
        if value == known and not isinstance(value, bool):
            return found
    bad(where, key, value, listed([shown(known) for known in table], "or"))


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is not JSON")
