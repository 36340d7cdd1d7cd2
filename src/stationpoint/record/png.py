"""PNG written fast, in blocks of rows that processes may share, and its texts read back by Pillow.

PNG specification, third edition (W3C 2025): chunks, filters, iTXt. Deflate: RFC 1951.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from functools import lru_cache
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from typing import BinaryIO, NamedTuple
from warnings import catch_warnings

import numpy as np
from numpy.typing import NDArray
from zlib_ng import zlib_ng

from stationpoint.base.errors import StudyWrong
from stationpoint.base.inputs import open_input

RECORD_KEYWORD, STUDY_KEYWORD = "stationpoint record", "stationpoint study"
SIGNATURE = b"\x89PNG\r\n\x1a\n"
LEVEL, TRIAL_LEVEL = 4, 1  # 4: two thirds of the time of 6, a twentieth larger
BLOCK_BYTES = 1 << 19  # of pixels in a block: fixed, so that bytes do not depend on who packs it
TRIAL_ROWS = 4
NO_FILTER, UP = 0, 2
TRUE_COLOUR, WITH_OPACITY = 2, 6
LARGEST_TEXT = 1 << 26  # of all texts together; a row of a record takes some ten thousand bytes
Pixels = NDArray[np.uint8]


class Block(NamedTuple):
    """Some rows as their part of the one zlib stream; its checksum and length before they were packed."""

    data: bytes
    check: int
    length: int


def png_bytes(image: Pixels, texts: Mapping[str, str]) -> bytes:
    """A PNG file of (h, w, 3) uint8 sRGB pixels; of (h, w, 4), the last of which is opacity."""
    pixels = np.ascontiguousarray(image)
    if pixels.ndim != 3 or pixels.shape[2] not in (3, 4) or pixels.dtype != np.uint8 or not pixels.size:
        raise ValueError(f"pixels of shape {pixels.shape} and kind {pixels.dtype} make no RGB picture")
    height, width = pixels.shape[:2]
    blocks = pack_rows(pixels, range(height), height)
    return png_file((width, height), blocks, texts, TRUE_COLOUR if pixels.shape[2] == 3 else WITH_OPACITY)


def png_file(
    size_px: tuple[int, int], blocks: Iterable[Block], texts: Mapping[str, str], kind: int = TRUE_COLOUR
) -> bytes:
    """A PNG file of all its packed blocks, in order. kind: of colour, by the standard's number."""
    parts = [
        SIGNATURE,
        _chunk(b"IHDR", struct.pack(">IIBBBBB", *size_px, 8, kind, 0, 0, 0)),
        _chunk(b"sRGB", b"\0"),
        _chunk(b"gAMA", struct.pack(">I", 45455)),
    ]
    parts += [_chunk(b"iTXt", _text(keyword, words)) for keyword, words in texts.items()]
    bodies, check = list[bytes](), 1
    for block in blocks:
        check = joined_adler32(check, block.check, block.length)
        bodies.append(block.data)
    bodies[0] = b"\x78\x9c" + bodies[0]
    bodies[-1] += struct.pack(">I", check)
    parts += [_chunk(b"IDAT", body) for body in bodies]
    return b"".join([*parts, _chunk(b"IEND", b"")])


def row_bands(size_px: tuple[int, int], count: int) -> list[range]:
    """The rows of a picture divided into `count` bands of whole blocks, fewer where it has fewer blocks."""
    width, height = size_px
    step = _step(width)
    blocks = -(-height // step)
    edges = sorted({blocks * k // count * step for k in range(count)} | {height})
    return [range(first, last) for first, last in pairwise(edges)]


def pack_rows(pixels: Pixels, rows: range, height: int) -> list[Block]:
    """The blocks of some rows of a picture of `height` rows: a band of `bands`, or all.

    pixels: (h, w, 3) uint8, those rows, with the one before them unless they are the first.
    """
    above = 1 if rows.start else 0
    data = np.ascontiguousarray(pixels).reshape(len(pixels), -1)
    step = _step(data.shape[1] // 3)

    room = np.empty((step, data.shape[1] + 1), dtype=np.uint8)

    def squeezed(start: int) -> Block:
        stop = min(len(data), start + step)
        block = _filtered(data, start, stop, _best_filter(data, start, stop), room).reshape(-1)
        squeeze = zlib_ng.compressobj(LEVEL, zlib_ng.DEFLATED, -15)
        is_last = rows.start + stop - above >= height
        out = squeeze.compress(block) + squeeze.flush(zlib_ng.Z_FINISH if is_last else zlib_ng.Z_FULL_FLUSH)
        return Block(out, zlib_ng.adler32(block), block.nbytes)

    return [squeezed(start) for start in range(above, len(data), step)]


def _step(width: int) -> int:
    """Rows in a block."""
    return max(1, BLOCK_BYTES // (width * 3))


def _chunk(kind: bytes, data: bytes) -> bytes:
    check = zlib_ng.crc32(data, zlib_ng.crc32(kind))
    return b"".join((struct.pack(">I", len(data)), kind, data, struct.pack(">I", check)))


@lru_cache(maxsize=4)
def _text(keyword: str, words: str) -> bytes:
    """An iTXt chunk's data: keyword, compressed, method 0, no language, no translated keyword."""
    name = keyword.encode("latin-1")
    if not 0 < len(name) < 80:
        raise ValueError(f"{keyword!r} is no keyword for a text in a PNG")
    return name + b"\0\1\0\0\0" + zlib_ng.compress(words.encode("utf-8", "replace"), LEVEL)


def joined_adler32(first: int, second: int, second_length: int) -> int:
    """The Adler-32 checksum of two pieces in a row from their own (RFC 1950, by its sums).

    Worked: "Wiki" and "pedia" join to 0x11E60398, the checksum of "Wikipedia".
    """
    base = 65521
    low = ((first & 0xFFFF) + (second & 0xFFFF) - 1) % base
    high = ((first >> 16) + (second >> 16) + second_length * ((first & 0xFFFF) - 1)) % base
    return high << 16 | low


def _filtered(rows: Pixels, start: int, stop: int, kind: int, room: Pixels | None = None) -> Pixels:
    """Rows start..stop behind one filter, its number before each. room: for so many and more, written to."""
    if room is None:
        room = np.empty((stop - start, rows.shape[1] + 1), dtype=np.uint8)
    out = room[: stop - start]
    out[:, 0] = kind
    out[:, 1:] = rows[start:stop]
    if kind == UP:
        above = rows[max(0, start - 1) : stop - 1]
        out[(1 if start == 0 else 0) :, 1:] -= above
    return out


def _best_filter(rows: Pixels, start: int, stop: int) -> int:
    """The filter that packs a few rows from the middle of the block best. Clay and type: mostly none."""
    first = max(start, (start + stop - TRIAL_ROWS) // 2)
    last = min(stop, first + TRIAL_ROWS)
    kinds = (NO_FILTER, UP)
    return min(kinds, key=lambda kind: len(zlib_ng.compress(_filtered(rows, first, last, kind), TRIAL_LEVEL)))


def read_png_texts(path: Path | str, wanted: Iterable[str] = ()) -> dict[str, str]:
    """The iTXt texts of a PNG by keyword; StudyWrong where the file lies or lacks a wanted one.

    Texts behind the picture, and those that cannot be unpacked, are passed over.
    """
    try:
        with open_input(Path(path)) as file:
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
            f"{path} carries no {lacking[0]} that can be read: it was not drawn by stationpoint, or its "
            "texts were stripped on the way; use the file as it was drawn."
        )
    return texts


def png_pixels(data: bytes) -> Pixels | None:
    """The pixels of a PNG file that we wrote, (h, w, 3) uint8; None where it is damaged, or another's."""
    from PIL import PngImagePlugin  # late: few calls read a PNG

    try:
        with catch_warnings(action="ignore"):
            PngImagePlugin.PngImageFile(BytesIO(data)).verify()  # all checksums, up to the end
            image = PngImagePlugin.PngImageFile(BytesIO(data))
            return np.asarray(image).copy() if image.mode == "RGB" else None
    except (SyntaxError, ValueError, OSError, IndexError, AssertionError):
        return None


def _texts(file: BinaryIO, path: Path | str) -> dict[str, str]:
    from PIL import PngImagePlugin  # late: few calls read a PNG

    if file.read(len(SIGNATURE)) != SIGNATURE:
        raise StudyWrong(f"{path} is not a PNG file.")
    file.seek(0)
    try:
        with _room_for_texts(), catch_warnings(action="ignore"):
            image = PngImagePlugin.PngImageFile(file)
        image.verify()  # all checksums, up to the end
    except (SyntaxError, ValueError, OSError, IndexError, AssertionError) as error:
        if "MAX_TEXT" in str(error):
            most = f"{LARGEST_TEXT >> 20} MiB"
            raise StudyWrong(f"{path} holds more than {most} of text; so much is not read.") from error
        raise StudyWrong(f"{path} is damaged: it breaks off, or a checksum in it is wrong.") from error
    texts = ((str(keyword), text) for keyword, text in image.info.items())
    return {keyword: str(text) for keyword, text in texts if isinstance(text, PngImagePlugin.iTXt)}


@contextmanager
def _room_for_texts() -> Iterator[None]:
    """Within it Pillow reads texts of LARGEST_TEXT: by itself it takes one of 1 MiB for an attack."""
    from PIL import PngImagePlugin  # late: few calls read a PNG

    usual = PngImagePlugin.MAX_TEXT_CHUNK, PngImagePlugin.MAX_TEXT_MEMORY
    PngImagePlugin.MAX_TEXT_CHUNK = PngImagePlugin.MAX_TEXT_MEMORY = LARGEST_TEXT
    try:
        yield
    finally:
        PngImagePlugin.MAX_TEXT_CHUNK, PngImagePlugin.MAX_TEXT_MEMORY = usual
