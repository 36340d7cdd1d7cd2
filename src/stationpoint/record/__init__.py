"""What leaves the program: records, tables, tickets, PNG files. Whole files or none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stationpoint.base.doors import late

if TYPE_CHECKING:
    from stationpoint.record.csv import csv_text
    from stationpoint.record.handoff.convention import Convention, axes_from
    from stationpoint.record.handoff.reading import HandedBack, Seen, read_handoff, read_seen
    from stationpoint.record.handoff.written import Handed, handoff_text, points_text
    from stationpoint.record.junit import Suite, Test, junit_text
    from stationpoint.record.kept import KEPT_SUFFIXES, read_kept, read_kept_texts
    from stationpoint.record.markdown import Summary, markdown_text
    from stationpoint.record.ours import is_ours
    from stationpoint.record.png import Block, pack_rows, png_bytes, png_file, png_pixels, row_bands
    from stationpoint.record.record import (
        Json,
        Record,
        flat,
        make_record,
        read_record,
        record_hash,
        record_text,
    )
    from stationpoint.record.review.page import review_page
    from stationpoint.record.review.webp import webp_bytes
    from stationpoint.record.spool import RecordInWaiting, Things
    from stationpoint.record.ticket import ticket_text

LATE = {
    "csv": "csv_text",
    "handoff.convention": "Convention axes_from",
    "handoff.reading": "HandedBack Seen read_handoff read_seen",
    "handoff.written": "Handed handoff_text points_text",
    "junit": "Suite Test junit_text",
    "kept": "KEPT_SUFFIXES read_kept read_kept_texts",
    "markdown": "Summary markdown_text",
    "ours": "is_ours",
    "png": "Block pack_rows png_bytes png_file png_pixels row_bands",
    "record": "Json Record flat make_record read_record record_hash record_text",
    "review.page": "review_page",
    "review.webp": "webp_bytes",
    "spool": "RecordInWaiting Things",
    "ticket": "ticket_text",
}
__getattr__ = late(__name__, LATE)

__all__ = [
    "KEPT_SUFFIXES",
    "Block",
    "Convention",
    "Handed",
    "HandedBack",
    "Json",
    "Record",
    "RecordInWaiting",
    "Seen",
    "Suite",
    "Summary",
    "Test",
    "Things",
    "axes_from",
    "csv_text",
    "flat",
    "handoff_text",
    "is_ours",
    "junit_text",
    "make_record",
    "markdown_text",
    "pack_rows",
    "png_bytes",
    "png_file",
    "png_pixels",
    "points_text",
    "read_handoff",
    "read_kept",
    "read_kept_texts",
    "read_record",
    "read_seen",
    "record_hash",
    "record_text",
    "review_page",
    "row_bands",
    "ticket_text",
    "webp_bytes",
]
