"""What `sheet` and `demo` do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import click

from stationpoint.cli import say
from stationpoint.cli.options import DemoOptions, Engine, SheetOptions
from stationpoint.cli.work import STDOUT, Drawer, Outputs, inputs_of, progress_of, ready, stem_of
from stationpoint.drawing import Drawing, Made, drawn_sheet, known
from stationpoint.errors import StudyWrong
from stationpoint.output.files import make_folder
from stationpoint.prepare import Prepared, prepare
from stationpoint.run import only_asked
from stationpoint.sheet.marks import known_marks
from stationpoint.study.file import read_study
from stationpoint.words import listed, nearest

DEMOS = ("quay", "greenhouse", "quarry", "rooftop")
BESIDE = (".json", ".csv", ".txt")


def sheet(file: str, chosen: SheetOptions) -> None:
    """Draw the sheet of a file and what goes beside it."""
    if chosen["marks"] == "list":
        click.echo("\n".join(known_marks()))
        return
    path = Path(file)
    to = picture_place(chosen["output"], stem_of(path))
    marks = None if chosen["marks"] is None else _by_commas(chosen["marks"])
    known(marks)
    prepared = ready(path, chosen)
    only = only_asked(chosen["only"], prepared)
    outputs = Outputs(inputs_of(path, prepared.study))
    named = (chosen["json_file"], chosen["csv_file"], chosen["text_file"])
    is_piped = str(to) == STDOUT
    beside = places_beside(to, named, alone=chosen["alone"] or is_piped)
    outputs.claim([to, *beside])
    drawing = Drawing(
        cell_width=chosen["cell_width"],
        mode=chosen["mode"],
        marks=marks,
        variants=chosen["labels"],
        grid=not chosen["no_grid"],
        only=None if only is None else tuple(sorted(only)),
    )
    made = drawn(prepared, drawing, Drawer(chosen["renderer"]), chosen)
    add_all(outputs, made, to, beside)
    for line in made.warnings:
        say(line)
    outputs.deliver(chosen["quiet"])


def drawn(prepared: Prepared, drawing: Drawing, drawer: Drawer, chosen: Engine) -> Made:
    """A study's sheet, drawn as `drawing` says but by `drawer`."""

    def drawn_by(name: str) -> Made:
        how = replace(drawing, renderer=name)
        return drawn_sheet(prepared, how, chosen["workers"], progress_of(chosen))

    return drawer(drawn_by)


def picture_place(output: str | None, stem: str) -> Path:
    """Where the picture goes: the file named, or STEM.png in the folder named, or here."""
    if output is None:
        return Path(f"{stem}.png")
    to = Path(output)
    if output != STDOUT and (to.is_dir() or output.endswith(("/", "\\"))):
        return to / f"{stem}.png"
    if output != STDOUT and to.suffix.lower() != ".png":
        raise StudyWrong(f"{output}: a sheet is a PNG; name it with the ending .png, or name a folder.")
    return to


def _by_commas(words: str) -> tuple[str, ...]:
    return tuple(one.strip() for one in words.split(",") if one.strip())


def places_beside(to: Path, named: Sequence[str | None], alone: bool) -> list[str | Path | None]:
    """Where record, table and ticket go; None for what is not written."""
    return [
        place if place is not None else None if alone else to.with_suffix(end)
        for place, end in zip(named, BESIDE, strict=True)
    ]


def add_all(outputs: Outputs, made: Made, to: Path, beside: Sequence[str | Path | None]) -> None:
    """Gather a sheet's pages and the texts beside it."""
    pages = made.pages
    if str(to) == STDOUT and len(pages) > 1:
        raise StudyWrong(f"-o -: the sheet has {len(pages)} pages, standard output takes one; name a file.")
    for number, data in enumerate(pages, 1):
        outputs.add(to if len(pages) == 1 else to.with_name(f"{to.stem}-{number}{to.suffix}"), data)
    texts = (made.record_text, made.csv_text, made.ticket_text)
    for place, text in zip(beside, texts, strict=True):
        if place is not None:
            outputs.add(place, text.encode())


def demo_folder() -> Path:
    """Where the demo studies lie: in the installed package, or in the source tree beside it."""
    inside = Path(__file__).parents[1] / "scenes"
    return inside if inside.is_dir() else Path(__file__).parents[3] / "scenes"


def demo(name: str | None, chosen: DemoOptions) -> None:
    """Draw demo sheets into a folder."""
    home = demo_folder()
    if chosen["listing"]:
        for one in DEMOS:
            click.echo(f"{one:12} {read_study(home / f'{one}.study.toml').title}")
        return
    if name is not None and name not in DEMOS:
        close = nearest(name, DEMOS)
        meant = f'did you mean "{close}"?' if close else f"there are {listed(DEMOS)}."
        raise StudyWrong(f'There is no demo "{name}"; {meant}')
    if name is not None and chosen["every"]:
        raise StudyWrong(f'--all draws every demo, "{name}" among them; leave one of the two out.')
    to = Path(chosen["folder"])
    if to.is_file() or to.suffix.lower() == ".png":
        raise StudyWrong(f"{to} must be a folder: demo names its files itself.")
    drawer = Drawer(chosen["renderer"])
    for one in DEMOS if chosen["every"] else (name or DEMOS[0],):
        make_folder(to)
        prepared = prepare(read_study(home / f"{one}.study.toml"), home)
        outputs = Outputs()
        if chosen["copy"]:
            _copy(outputs, one, prepared, home, to)
        made = drawn(prepared, Drawing(cell_width=chosen["cell_width"]), drawer, chosen)
        picture = to / f"{one}.png"
        add_all(outputs, made, picture, places_beside(picture, (None, None, None), alone=False))
        outputs.deliver(chosen["quiet"])


def _copy(outputs: Outputs, demo_name: str, prepared: Prepared, home: Path, to: Path) -> None:
    """A demo's study and scene files among the outputs; one that a person has changed stays."""
    names = {f"{demo_name}.study.toml", prepared.study.scene, f"{demo_name}.toml"}
    for name in sorted(names):
        data, place = (home / name).read_bytes(), to / name
        if place.is_file() and place.read_bytes() != data:
            raise StudyWrong(f"{place} is there already and has been changed; name another folder with -o.")
        outputs.add(place, data)
