"""What `chart` does."""

from __future__ import annotations

from pathlib import Path

from stationpoint.chart_plot import drawn
from stationpoint.charting import chart_of, check_chart
from stationpoint.cli import say
from stationpoint.cli.options import ChartOptions
from stationpoint.cli.work import Outputs, inputs_of, ready, stem_of, swept
from stationpoint.errors import StudyWrong
from stationpoint.notes import not_set
from stationpoint.run import Wants
from stationpoint.study.file import study_digest

ENDINGS = (".png", ".svg")


def chart(file: str, chosen: ChartOptions) -> None:
    """Draw a reading against a swept field."""
    path = Path(file)
    reading = chosen["reading"]
    to = Path(chosen["output"] or f"{stem_of(path)}.chart.png")
    if to.suffix.lower() not in ENDINGS:
        raise StudyWrong(f"{to}: a chart is a PNG or an SVG; name it with the ending .png or .svg.")
    prepared = ready(path, chosen)
    wants = Wants(picture=False, only=check_chart(prepared, reading, chosen["against"]))
    outputs = Outputs(inputs_of(path, prepared.study))
    outputs.claim([to])
    takes, _ = swept(prepared, wants, chosen)
    foot = f"study {study_digest(prepared.study)[:10]}"
    made = chart_of(takes, prepared.study, reading, chosen["against"], foot)
    outputs.add(to, drawn(made, to.suffix.lower()))
    for line in not_set(prepared.study):
        say(line)
    outputs.deliver(chosen["quiet"])
