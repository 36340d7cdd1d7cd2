"""Whether a file is an output of ours, by what it holds, so that it may be written over unasked."""

from __future__ import annotations

import re
from pathlib import Path

from stationpoint.base.words import KEPT, TOOL
from stationpoint.record.csv import FIRST, OPTION
from stationpoint.record.markdown import MARK
from stationpoint.record.png import RECORD_KEYWORD, SIGNATURE

LOOKED_AT = 4096  # bytes of a file's beginning, and of its end
_TOOL = TOOL.encode()
# What stands at the beginning of each output; of a ticket it is its last line but one.
RECORD = re.compile(rb'\s*\{\s*"tool"\s*:\s*\{\s*"name"\s*:\s*"' + _TOOL + rb'"')
TABLE = re.compile(f"{','.join(FIRST)}(,{OPTION})?".encode() + rb",settings\.")
POINTS = re.compile(b"name,x,y,z,x_px,y_px,depth\n")
SHEET = re.compile(re.escape(SIGNATURE) + rb".*iTXt" + RECORD_KEYWORD.encode() + rb"\0", re.DOTALL)
CHART = re.compile(re.escape(SIGNATURE) + rb".*tEXtSoftware\0" + _TOOL, re.DOTALL)
PRINT = re.compile(rb"%PDF-.*/Creator \(" + _TOOL + rb"\)", re.DOTALL)
TESTS = re.compile(rb'<\?xml[^>]*>\s*<testsuites name="' + _TOOL + rb'"')
SUMMARY = re.compile(re.escape(MARK).encode() + rb"\n")
DRAWING = re.compile(rb"\s*<\?xml.*<dc:title>" + _TOOL + rb"</dc:title>", re.DOTALL)
DRAWN = re.compile(rb"\s*<\?xml.*<svg [^>]*xmlns:kept=\"" + re.escape(KEPT.encode()), re.DOTALL)
REVIEW = re.compile(rb'<!doctype html>\n.*<meta name="generator" content="' + _TOOL + rb'">', re.DOTALL)
PDF = re.compile(rb"%PDF-")
ATTACHED = b"(" + RECORD_KEYWORD.encode() + b".json)"
TICKET = re.compile(rb"(?:.*\n)?Record [0-9a-f]{10}\.[^\n]*\n[^\n]+\n\Z", re.DOTALL)


def is_ours(path: Path) -> bool:
    """Whether a file holds a record, table, ticket, sheet, chart, page or report of ours. Raises OSError.

    Studies and meshes never count: a person goes on working on those.
    """
    with path.open("rb") as file:
        head = file.read(LOOKED_AT)
        file.seek(max(0, path.stat().st_size - LOOKED_AT))
        tail = file.read(LOOKED_AT)
    if PDF.match(head) and ATTACHED in path.read_bytes():
        return True
    begins = (RECORD, TABLE, POINTS, SHEET, CHART, TESTS, SUMMARY, DRAWING, DRAWN, REVIEW)
    return (
        any(sign.match(head) for sign in begins)
        or PRINT.match(head + tail) is not None
        or TICKET.match(tail) is not None
    )
