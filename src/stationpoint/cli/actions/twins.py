"""What `twins` does."""

from __future__ import annotations

from pathlib import Path

from stationpoint.cli import say
from stationpoint.cli.actions.outputs import Outputs
from stationpoint.cli.actions.sheet import add_all, ending_of, picture_place, places, places_beside
from stationpoint.cli.actions.work import Drawer, progress_of, ready, stem_of
from stationpoint.cli.options import TwinsOptions
from stationpoint.run import Drawing, Made, draw_twin_sheet


def twins(file: str, chosen: TwinsOptions) -> None:
    """Draw the close-up of a target and its twin, and what goes beside it."""
    path = Path(file)
    to = picture_place(chosen["output"], f"{stem_of(path)}.twins")
    named = (chosen["json_file"], chosen["csv_file"], chosen["text_file"])
    beside = places_beside(to, named, alone=chosen["alone"])
    prepared = ready(path, chosen, chosen["fonts"])
    outputs = Outputs(chosen["force"])
    outputs.claim_all(places(to, beside))
    asked = (chosen["target"], chosen["kind"], chosen["shift_m"], chosen["label"])

    def drawn_by(name: str) -> Made:
        how = Drawing(chosen["cell_width"], renderer=name)
        return draw_twin_sheet(prepared, how, *asked, chosen["workers"], progress_of(chosen), ending_of(to))

    made = Drawer(chosen["renderer"])(drawn_by)
    add_all(outputs, made, to, beside)
    say(*made.warnings)
    outputs.deliver(chosen["quiet"])
