"""What `twins` does."""

from __future__ import annotations

from pathlib import Path

from stationpoint.cli import say
from stationpoint.cli.options import TwinsOptions
from stationpoint.cli.work import Drawer, Outputs, inputs_of, progress_of, stem_of, study_of
from stationpoint.cli.work_sheet import add_all, picture_place, places_beside
from stationpoint.drawing import Drawing, Made
from stationpoint.twin_sheet import twins_sheet


def twins(file: str, chosen: TwinsOptions) -> None:
    """Draw the close-up of a target and its twin, and what goes beside it."""
    path = Path(file)
    study, _ = study_of(path, chosen)
    to = picture_place(chosen["output"], f"{stem_of(path)}.twins")
    outputs = Outputs(inputs_of(path, study))
    named = (chosen["json_file"], chosen["csv_file"], chosen["text_file"])
    beside = places_beside(to, named, alone=chosen["alone"])
    outputs.claim([to, *beside])
    asked = (chosen["target"], chosen["kind"], chosen["shift_m"], chosen["label"])

    def drawn_by(name: str) -> Made:
        how = Drawing(chosen["cell_width"], renderer=name)
        return twins_sheet(study, path.parent, how, *asked, chosen["workers"], progress_of(chosen))

    made = Drawer(chosen["renderer"])(drawn_by)
    add_all(outputs, made, to, beside)
    for line in made.warnings:
        say(line)
    outputs.deliver(chosen["quiet"])
