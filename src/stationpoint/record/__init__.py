"""What leaves the program: records, tables, tickets, PNG files. Whole files or none."""

from __future__ import annotations

from stationpoint.record.csv import csv_text
from stationpoint.record.kept import read_kept_texts
from stationpoint.record.ours import is_ours
from stationpoint.record.png import Block, pack_rows, png_bytes, png_file, png_pixels, row_bands
from stationpoint.record.record import Record, make_record, read_record, record_hash, record_text
from stationpoint.record.ticket import ticket_text

__all__ = [
    "Block",
    "Record",
    "csv_text",
    "is_ours",
    "make_record",
    "pack_rows",
    "png_bytes",
    "png_file",
    "png_pixels",
    "read_kept_texts",
    "read_record",
    "record_hash",
    "record_text",
    "row_bands",
    "ticket_text",
]
