"""What `page` does: a study's page for review."""

from __future__ import annotations

from pathlib import Path

from stationpoint.cli import say
from stationpoint.cli.actions.outputs import PAGE, STDOUT, Outputs
from stationpoint.cli.actions.work import Drawer, progress_of, ready, stem_of
from stationpoint.cli.options import Engine, PageOptions
from stationpoint.run import Prepared

PAGE_TOO = PAGE._replace(option="--page")  # beside what another command writes


def page(file: str, chosen: PageOptions) -> None:
    """Write the page of a file."""
    path = Path(file)
    to = page_place(chosen["output"], stem_of(path) or "page")  # "." has no name, and is refused below
    outputs = Outputs(chosen["force"])
    outputs.claim(to, PAGE)
    prepared = ready(path, chosen, chosen["fonts"])
    outputs.claim(to, PAGE)
    from stationpoint.run import draw_review

    drawer = Drawer(chosen["renderer"])
    made = drawer(
        lambda name: draw_review(prepared, name, chosen["cell_width"], chosen["workers"], progress_of(chosen))
    )
    outputs.add(to, PAGE, made.data)
    say(*made.warnings)
    outputs.deliver(chosen["quiet"])


def add_page(
    outputs: Outputs, to: str | None, prepared: Prepared, drawer: Drawer, chosen: Engine
) -> tuple[str, ...]:
    """Add the page of what another command has measured, where one is named; what a person should know."""
    if to is None:
        return ()
    from stationpoint.run import draw_review  # late: few calls of other commands name a page

    made = drawer(lambda name: draw_review(prepared, name, None, chosen["workers"], progress_of(chosen)))
    outputs.add(to, PAGE_TOO, made.data)
    return made.warnings


def page_place(output: str | None, stem: str) -> Path:
    """Where the page goes: the file named, or STEM.html in the folder named, or here."""
    if output is None:
        return Path(f"{stem}.html")
    to = Path(output)
    if output != STDOUT and (to.is_dir() or output.endswith(("/", "\\"))):
        return to / f"{stem}.html"
    return to
