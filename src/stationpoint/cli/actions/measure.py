"""What `measure` does."""

from __future__ import annotations

from pathlib import Path

from stationpoint.cli import say
from stationpoint.cli.actions.outputs import RECORD, STDOUT, TABLE, Outputs
from stationpoint.cli.actions.work import ready, swept
from stationpoint.cli.options import MeasureOptions
from stationpoint.readings import FIELDS
from stationpoint.record import csv_text, record_text
from stationpoint.run import Wants, only_asked, record_of, warnings_of


def measure(file: str, chosen: MeasureOptions) -> None:
    """Measure every variant; write records, to standard output unless files are named."""
    path = Path(file)
    prepared = ready(path, chosen)
    wants = Wants(picture=False, only=only_asked(chosen["only"], prepared))
    json_file, csv_file = chosen["json_file"], chosen["csv_file"]
    if json_file is None and csv_file is None:
        json_file = STDOUT
    outputs = Outputs(chosen["force"])
    outputs.claim_all([(json_file, RECORD), (csv_file, TABLE)])
    results, renderer = swept(prepared, wants, chosen)
    whole = record_of(prepared, results, renderer, wants.only)
    if json_file is not None:
        outputs.add(json_file, RECORD, record_text(whole).encode())
    if csv_file is not None:
        outputs.add(csv_file, TABLE, csv_text(whole, FIELDS).encode())
    say(*prepared.notes, *warnings_of(results, prepared.scene))
    outputs.deliver(chosen["quiet"])
