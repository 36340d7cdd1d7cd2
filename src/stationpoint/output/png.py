"""PNG written fast (fixed row blocks on two threads) and its texts read back with suspicion.

PNG specification, third edition (W3C 2025): chunks, filters, iTXt. Deflate: RFC 1951.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from stationpoint.errors import StudyWrong
from stationpoint.output.files import write_whole

RECORD_KEYWORD, STUDY_KEYWORD = "stationpoint record", "stationpoint study"
SIGNATURE = b"\x89PNG\r\n\x1a\n"
LEVEL = 3  # half the time of 6, a tenth larger
BLOCK_BYTES = 1 << 19  # of pixels in a block: fixed, so that bytes do not depend on the threads
TRIAL_ROWS = 6
NO_FILTER, SUB, UP = 0, 1, 2
LARGEST_TEXT = 1 << 28
LARGEST_CHUNK = (1 << 31) - 1
Pixels = NDArray[np.uint8]


def write_png(path: Path | str, image: Pixels, texts: Mapping[str, str]) -> None:
    """Write (h, w, 3) uint8 sRGB pixels with texts by keyword: the whole file, or none."""
    write_whole(path, png_bytes(image, texts))


def png_bytes(image: Pixels, texts: Mapping[str, str], threads: int = 2) -> bytes:
    """A PNG file of (h, w, 3) uint8 sRGB pixels; the same bytes whatever the number of threads."""
    pixels = np.ascontiguousarray(image)
    if pixels.ndim != 3 or pixels.shape[2] != 3 or pixels.dtype != np.uint8 or not pixels.size:
        raise ValueError(f"pixels of shape {pixels.shape} and kind {pixels.dtype} make no RGB picture")
    height, width = pixels.shape[:2]
    parts = [
        SIGNATURE,
        _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)),
        _chunk(b"sRGB", b"\0"),
        _chunk(b"gAMA", struct.pack(">I", 45455)),
    ]
    parts += [_chunk(b"iTXt", _text(keyword, words)) for keyword, words in texts.items()]
    parts += _data(pixels.reshape(height, width * 3), threads)
    return b"".join([*parts, _chunk(b"IEND", b"")])


def _chunk(kind: bytes, data: bytes) -> bytes:
    check = zlib.crc32(data, zlib.crc32(kind))
    return b"".join((struct.pack(">I", len(data)), kind, data, struct.pack(">I", check)))


def _text(keyword: str, words: str) -> bytes:
    """An iTXt chunk's data: keyword, compressed, method 0, no language, no translated keyword."""
    name = keyword.encode("latin-1")
    if not 0 < len(name) < 80:
        raise ValueError(f"{keyword!r} is no keyword for a text in a PNG")
    return name + b"\0\1\0\0\0" + zlib.compress(words.encode("utf-8", "replace"), 9)


def _data(rows: Pixels, threads: int) -> list[bytes]:
    """IDAT chunks of pixel rows (h, bytes): one zlib stream, one chunk a block."""
    height, row_bytes = rows.shape
    step = max(1, BLOCK_BYTES // row_bytes)
    starts = range(0, height, step)

    def squeezed(start: int) -> tuple[bytes, int, int]:
        """The block's part of the stream, its checksum and length before compression."""
        block = _filtered(rows, start, min(height, start + step), _best_filter(rows, start, step))
        squeeze = zlib.compressobj(LEVEL, zlib.DEFLATED, -15)
        last = start + step >= height
        packed = squeeze.compress(block) + squeeze.flush(zlib.Z_FINISH if last else zlib.Z_FULL_FLUSH)
        return packed, zlib.adler32(block), len(block)

    if threads > 1 and len(starts) > 1:
        with ThreadPoolExecutor(threads) as pool:
            blocks = list(pool.map(squeezed, starts))
    else:
        blocks = [squeezed(start) for start in starts]
    check = 1
    for _, one, length in blocks:
        check = joined_adler32(check, one, length)
    bodies = [packed for packed, _, _ in blocks]
    bodies[0] = b"\x78\x9c" + bodies[0]
    bodies[-1] += struct.pack(">I", check)
    return [_chunk(b"IDAT", body) for body in bodies]


def joined_adler32(first: int, second: int, second_length: int) -> int:
    """The Adler-32 checksum of two pieces in a row from their own (RFC 1950, by its sums).

    Worked: "Wiki" and "pedia" join to 0x11E60398, the checksum of "Wikipedia".
    """
    base = 65521
    low = ((first & 0xFFFF) + (second & 0xFFFF) - 1) % base
    high = ((first >> 16) + (second >> 16) + second_length * ((first & 0xFFFF) - 1)) % base
    return high << 16 | low


def _filtered(rows: Pixels, start: int, stop: int, kind: int) -> bytes:
    """Rows start..stop behind one filter, each with the filter's number before it."""
    out = np.empty((stop - start, rows.shape[1] + 1), dtype=np.uint8)
    out[:, 0] = kind
    out[:, 1:] = rows[start:stop]
    if kind == SUB:
        out[:, 4:] -= rows[start:stop, :-3]
    elif kind == UP:
        above = rows[max(0, start - 1) : stop - 1]
        out[(1 if start == 0 else 0) :, 1:] -= above
    return out.tobytes()


def _best_filter(rows: Pixels, start: int, step: int) -> int:
    """The filter that packs a few rows from the middle of the block best. Clay and type: mostly none."""
    stop = min(len(rows), start + step)
    first = max(start, (start + stop - TRIAL_ROWS) // 2)
    last = min(stop, first + TRIAL_ROWS)
    sizes = [len(zlib.compress(_filtered(rows, first, last, kind), 1)) for kind in (NO_FILTER, SUB, UP)]
    return sizes.index(min(sizes))


def read_png_texts(path: Path | str, wanted: Iterable[str] = ()) -> dict[str, str]:
    """The iTXt texts of a PNG by keyword; StudyWrong where the file lies or lacks a wanted one."""
    try:
        with open(path, "rb") as file:
            texts = _texts(file, path)
    except IsADirectoryError as error:
        raise StudyWrong(f"{path} is a folder; name a PNG file.") from error
    except FileNotFoundError as error:
        raise StudyWrong(f"{path} does not exist.") from error
    except (OSError, ValueError) as error:
        raise StudyWrong(f"{path} cannot be read; is it a file that this user may read?") from error
    lacking = [keyword for keyword in wanted if keyword not in texts]
    if lacking:
        raise StudyWrong(
            f"{path} carries no {lacking[0]}: it was not drawn by stationpoint, or its texts were "
            "stripped on the way; use the file as it was drawn."
        )
    return texts


def _texts(file: BinaryIO, path: Path | str) -> dict[str, str]:
    if file.read(len(SIGNATURE)) != SIGNATURE:
        raise StudyWrong(f"{path} is not a PNG file.")
    damaged = StudyWrong(f"{path} is damaged: it ends or breaks off in the middle of the PNG.")
    texts: dict[str, str] = {}
    at, size = len(SIGNATURE), file.seek(0, 2)
    while True:
        file.seek(at)
        head = file.read(8)
        if len(head) < 8:
            raise damaged
        length, kind = struct.unpack(">I4s", head)
        if length > LARGEST_CHUNK or at + length + 12 > size:
            raise damaged
        if kind == b"IEND":
            return texts
        if kind == b"iTXt":
            data, check = file.read(length), file.read(4)
            if struct.pack(">I", zlib.crc32(data, zlib.crc32(kind))) != check:
                raise damaged
            keyword, words = _unpacked(data, path)
            texts[keyword] = words
        at += length + 12


def _unpacked(data: bytes, path: Path | str) -> tuple[str, str]:
    """Keyword and words of an iTXt chunk's data."""
    damaged = StudyWrong(f"{path} is damaged: a text in it cannot be unpacked.")
    keyword, zero, rest = data.partition(b"\0")
    if not zero or len(rest) < 2 or rest[0] > 1 or rest[:2] == b"\1\1":
        raise damaged
    pieces = rest[2:].split(b"\0", 2)
    if len(pieces) != 3:
        raise damaged
    words = pieces[2]
    if rest[0] == 1:
        unpack = zlib.decompressobj()
        try:
            words = unpack.decompress(words, LARGEST_TEXT)
        except zlib.error as error:
            raise damaged from error
        if unpack.unconsumed_tail:
            raise StudyWrong(f"{path} holds a text of more than {LARGEST_TEXT >> 20} MiB; that is no record.")
        if not unpack.eof:
            raise damaged
    try:
        return keyword.decode("latin-1"), words.decode("utf-8")
    except UnicodeDecodeError as error:
        raise damaged from error
