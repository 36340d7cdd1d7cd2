"""What `chart` does."""

from __future__ import annotations

from pathlib import Path

from stationpoint.cli import say
from stationpoint.cli.actions.outputs import CHART, Outputs
from stationpoint.cli.actions.work import ready, stem_of, swept
from stationpoint.cli.options import ChartOptions
from stationpoint.run import Wants, not_set
from stationpoint.sheet import chart_of, check_chart, draw_chart


def chart(file: str, chosen: ChartOptions) -> None:
    """Draw a reading against a swept field."""
    path = Path(file)
    reading = chosen["reading"]
    to = Path(chosen["output"] or f"{stem_of(path)}.chart.png")
    prepared = ready(path, chosen, chosen["fonts"])
    wants = Wants(picture=False, only=check_chart(prepared.study, reading, chosen["against"]))
    outputs = Outputs(chosen["force"])
    outputs.claim(to, CHART)
    results, _ = swept(prepared, wants, chosen)
    foot = f"study {prepared.study_digest[:10]}"
    made = chart_of(results, prepared.study, reading, chosen["against"], foot)
    outputs.add(to, CHART, draw_chart(made, to.suffix.lower()))
    say(*not_set(prepared.study))
    outputs.deliver(chosen["quiet"])
