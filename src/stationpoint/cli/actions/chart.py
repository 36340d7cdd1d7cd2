"""What `chart` does."""

from __future__ import annotations

from pathlib import Path

from stationpoint.cli import say
from stationpoint.cli.actions.work import ready, stem_of, swept
from stationpoint.cli.options import ChartOptions
from stationpoint.cli.outputs import CHART, Outputs
from stationpoint.run.sweep import Wants
from stationpoint.run.warnings import not_set
from stationpoint.sheet.chart.plot import drawn
from stationpoint.sheet.chart.series import chart_of, check_chart
from stationpoint.study.file import study_digest


def chart(file: str, chosen: ChartOptions) -> None:
    """Draw a reading against a swept field."""
    path = Path(file)
    reading = chosen["reading"]
    to = Path(chosen["output"] or f"{stem_of(path)}.chart.png")
    prepared = ready(path, chosen)
    wants = Wants(picture=False, only=check_chart(prepared.study, reading, chosen["against"]))
    outputs = Outputs(chosen["force"])
    outputs.claim(to, CHART)
    takes, _ = swept(prepared, wants, chosen)
    foot = f"study {study_digest(prepared.study)[:10]}"
    made = chart_of(takes, prepared.study, reading, chosen["against"], foot)
    outputs.add(to, CHART, drawn(made, to.suffix.lower()))
    say(*not_set(prepared.study))
    outputs.deliver(chosen["quiet"])
