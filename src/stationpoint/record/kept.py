"""What a sheet keeps of what it was made from, read back: out of a PNG, an SVG or a PDF of ours; and the
record that such a sheet or a JSON file keeps."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any, BinaryIO, NamedTuple, cast
from xml.etree.ElementTree import ParseError, XMLPullParser

from zlib_ng import zlib_ng

from stationpoint.base.errors import StudyWrong
from stationpoint.base.inputs import open_input, read_input
from stationpoint.base.words import KEPT
from stationpoint.record.png import LARGEST_TEXT, RECORD_KEYWORD, SIGNATURE, STUDY_KEYWORD, read_png_texts
from stationpoint.record.record import Record, read_record

SHEET_SUFFIXES = (".png", ".svg", ".pdf")
KEPT_SUFFIXES = (".json", *SHEET_SUFFIXES)

PDF, SVG = b"%PDF-", (b"<?xml", b"<svg")
PIECE = 1 << 16
CannotUnpack: type[Exception] = cast(Any, zlib_ng).error
LARGEST_PDF = 1 << 29
IN_SVG = f"{{{KEPT}}}text"
ATTACHED = re.compile(rb"/F (\d+) 0 R\s*>> /F \((stationpoint [a-z]+)\.[a-z]+\) /Type /Filespec")
STREAM = re.compile(rb"<<[^<>]*/Type /EmbeddedFile[^<>]*>>\r?\nstream\r?\n")


def read_kept_texts(path: Path | str, wanted: Iterable[str] = ()) -> dict[str, str]:
    """The texts that a sheet keeps, by name; StudyWrong where the file lies or lacks a wanted one."""
    try:
        with open_input(Path(path)) as file:
            begins = file.read(len(SIGNATURE))
            file.seek(0)
            if begins.startswith(PDF):
                texts = _in_pdf(file.read(LARGEST_PDF))
            elif begins.startswith(SVG):
                texts = _in_svg(file)
            else:
                return read_png_texts(path, wanted)
    except (OSError, ValueError):
        return read_png_texts(path, wanted)  # which says what is wrong
    except (ParseError, CannotUnpack) as error:
        raise StudyWrong(f"{path} is damaged: it breaks off, or was changed on the way.") from error
    lacking = [name for name in wanted if name not in texts]
    if lacking:
        raise StudyWrong(
            f"{path} carries no {lacking[0]} that can be read: it was not drawn by stationpoint, or was "
            "written anew on the way; use the file as it was drawn."
        )
    return texts


def _in_svg(file: BinaryIO) -> dict[str, str]:
    """Texts in the metadata, which stand before all that is drawn; nothing behind them is read."""
    texts: dict[str, str] = {}
    parser: Any = XMLPullParser(("end",))
    read, last = 0, b""
    while read < LARGEST_TEXT and (piece := file.read(PIECE)):
        read += len(piece)
        if b"<!" in last + piece:  # what we write declares nothing, so that no entity can grow
            return {}
        last = piece[-1:]
        parser.feed(piece)
        for _, element in parser.read_events():
            if element.tag == IN_SVG:
                texts[str(element.get("name"))] = element.text or ""
            elif element.tag.endswith("}metadata"):
                return texts
    return texts


def _in_pdf(data: bytes) -> dict[str, str]:
    """Files attached by us, whose place and form is known."""
    texts: dict[str, str] = {}
    for found in ATTACHED.finditer(data):
        begins = re.search(rb"(?<!\d)" + found[1] + rb" 0 obj\s", data)
        stream = STREAM.match(data, begins.end()) if begins is not None else None
        if stream is None:
            continue
        unpack = zlib_ng.decompressobj()
        whole = unpack.decompress(data[stream.end() :], LARGEST_TEXT)
        if unpack.eof:
            texts[found[2].decode()] = whole.decode("utf-8", "replace")
    return texts


class Kept(NamedTuple):
    """A record as it is kept. text: its own. study: the study's text, of a sheet alone."""

    text: str
    record: Record
    study: str | None = None


def read_kept(path: Path, renewed: bool = False) -> Kept:
    """The record that a file keeps; StudyWrong where it keeps none.

    renewed: the call means to write over it afterwards.
    """
    if path.suffix.lower() in SHEET_SUFFIXES:
        texts = read_kept_texts(path, (RECORD_KEYWORD,))
        text = texts[RECORD_KEYWORD]
        return Kept(text, read_record(text, str(path)), texts.get(STUDY_KEYWORD))
    try:
        data = path.read_bytes() if renewed else read_input(path)
    except IsADirectoryError:
        raise StudyWrong(f"{path} is a folder; name a record in it.") from None
    except FileNotFoundError:
        raise StudyWrong(f"{path}: there is no such file.") from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "that is no name for a file"
        raise StudyWrong(f"{path} cannot be read: {reason}.") from None
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise StudyWrong(f"{path} is not JSON; give a record that stationpoint wrote.") from None
    return Kept(text, read_record(text, str(path)))
