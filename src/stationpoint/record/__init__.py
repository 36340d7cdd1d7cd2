"""What leaves the program: records, tables, tickets, PNG files. Whole files or none."""

from __future__ import annotations

from stationpoint.record.csv import csv_text
from stationpoint.record.junit import Suite, Test, junit_text
from stationpoint.record.kept import KEPT_SUFFIXES, read_kept, read_kept_texts
from stationpoint.record.markdown import Summary, markdown_text
from stationpoint.record.ours import is_ours
from stationpoint.record.png import Block, pack_rows, png_bytes, png_file, png_pixels, row_bands
from stationpoint.record.record import Json, Record, flat, make_record, read_record, record_hash, record_text
from stationpoint.record.spool import RecordInWaiting
from stationpoint.record.ticket import ticket_text

__all__ = [
    "KEPT_SUFFIXES",
    "Block",
    "Json",
    "Record",
    "RecordInWaiting",
    "Suite",
    "Summary",
    "Test",
    "csv_text",
    "flat",
    "is_ours",
    "junit_text",
    "make_record",
    "markdown_text",
    "pack_rows",
    "png_bytes",
    "png_file",
    "png_pixels",
    "read_kept",
    "read_kept_texts",
    "read_record",
    "record_hash",
    "record_text",
    "row_bands",
    "ticket_text",
]
