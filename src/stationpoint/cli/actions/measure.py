"""What `measure` does."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from stationpoint.cli import say
from stationpoint.cli.actions.outputs import RECORD, STDOUT, TABLE, Outputs
from stationpoint.cli.actions.work import gathered, ready
from stationpoint.cli.options import MeasureOptions
from stationpoint.run import Wants, only_asked


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
    found, renderer = gathered(prepared, wants, chosen, kept=False)
    if json_file is not None:
        outputs.add(json_file, RECORD, partial(found.write_record, renderer))
    if csv_file is not None:
        outputs.add(csv_file, TABLE, found.write_table)
    say(*prepared.notes, *found.warnings)
    outputs.deliver(chosen["quiet"])
