"""What `sheet` and `demo` do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from stationpoint.base.errors import StudyWrong
from stationpoint.base.files import make_folder
from stationpoint.base.inputs import read_input
from stationpoint.base.words import listed, nearest
from stationpoint.cli import say, tell
from stationpoint.cli.actions.outputs import RECORD, SHEET, STDOUT, TABLE, TICKET, Kind, Outputs
from stationpoint.cli.actions.page import PAGE_TOO, add_page
from stationpoint.cli.actions.work import Drawer, executor_of, progress_of, ready, stem_of
from stationpoint.cli.options import DemoOptions, Engine, SheetOptions
from stationpoint.run import (
    FORMATS,
    PNG,
    Drawing,
    Made,
    Prepared,
    check_format,
    chosen_variants,
    draw_sheet,
    files_of,
    known_mark_names,
    only_asked,
    prepare_study,
    sweep_batches,
)
from stationpoint.study import read_study

DEMOS = ("quay", "greenhouse", "quarry", "rooftop")
BESIDE = (RECORD, TABLE, TICKET)
SCENE = Kind("a scene is a TOML file or a mesh", (".toml", ".glb"), "-o")
Places = Sequence[tuple[Path | str | None, Kind]]


def sheet(file: str, chosen: SheetOptions) -> None:
    """Draw the sheet of a file and what goes beside it."""
    if chosen["marks"] == "list":
        from stationpoint.sheet import known_marks  # late: drawing need not know them all

        tell(*known_marks())
        return
    path = Path(file)
    to = picture_place(chosen["output"], stem_of(path))
    marks = marks_named(chosen["marks"])
    known_mark_names(marks)
    prepared = ready(path, chosen, chosen["fonts"])
    only = only_asked(chosen["only"], prepared)
    named = (chosen["json_file"], chosen["csv_file"], chosen["text_file"])
    is_piped = str(to) == STDOUT
    beside = places_beside(to, named, alone=chosen["alone"] or is_piped)
    outputs = Outputs(chosen["force"])

    drawing = Drawing(
        cell_width=chosen["cell_width"],
        mode=chosen["mode"],
        marks=marks,
        variants=chosen["labels"],
        grid=not chosen["no_grid"],
        only=None if only is None else tuple(sorted(only)),
        materials=chosen["materials"],
        layout=chosen["layout"],
        best=chosen["best"],
        show=chosen["show"],
    )
    pages = {variant.page for variant in chosen_variants(prepared, chosen["labels"]).variants}
    count = 1 if drawing.is_ranked else len(pages)
    outputs.claim_all(places(to, beside, files_of(count, ending_of(to))))
    outputs.claim(chosen["page_file"], PAGE_TOO)
    drawer = Drawer(chosen["renderer"])
    made = draw_with(prepared, drawing, drawer, chosen, ending_of(to))
    add_all(outputs, made, to, beside)
    those = chosen_variants(prepared, chosen["labels"])
    more = add_page(outputs, chosen["page_file"], those, drawer, chosen)
    say(*dict.fromkeys((*made.warnings, *more)))
    outputs.deliver(chosen["quiet"])


def draw_with(
    prepared: Prepared, drawing: Drawing, drawer: Drawer, chosen: Engine, ending: str = PNG
) -> Made:
    """A study's sheet, drawn as `drawing` says but by `drawer`. ending: that of its files."""

    def drawn_by(name: str) -> Made:
        how = replace(drawing, renderer=name)
        sweeper = partial(sweep_batches, executor=executor_of(chosen))
        return draw_sheet(prepared, how, chosen["workers"], progress_of(chosen), ending, sweeper)

    return drawer(drawn_by)


def picture_place(output: str | None, stem: str) -> Path:
    """Where the picture goes: the file named, or STEM.png in the folder named, or here. MachineLacks where
    the machine cannot write such a file."""
    if output is None:
        return Path(f"{stem}.png")
    to = Path(output)
    if output != STDOUT and (to.is_dir() or output.endswith(("/", "\\"))):
        return to / f"{stem}.png"
    check_format(ending_of(to))
    return to


def ending_of(place: Path | str) -> str:
    """The ending that says what a picture is: a PNG where none does."""
    return Path(place).suffix.lower() or PNG


def marks_named(words: str | None) -> tuple[str, ...] | None:
    """The marks that `--marks` names, by commas; None where it is not given."""
    if words is None:
        return None
    return tuple(one.strip() for one in words.split(",") if one.strip())


def places_beside(to: Path, named: Sequence[str | None], alone: bool) -> list[str | Path | None]:
    """Where record, table and ticket go; None for what is not written."""
    return [
        place if place is not None else None if alone else to.with_suffix(kind.endings[0])
        for place, kind in zip(named, BESIDE, strict=True)
    ]


def places(to: Path, beside: Sequence[str | Path | None], pages: int = 1) -> Places:
    """Where the pages of a sheet go, then what goes beside it."""
    if str(to) == STDOUT and pages > 1:
        raise StudyWrong(f"-o -: the sheet has {pages} pages, standard output takes one; name a file.")
    names = [to.with_name(f"{to.stem}-{number}{to.suffix}") for number in range(1, pages + 1)]
    return [(name, SHEET) for name in (names if pages > 1 else [to])] + list(zip(beside, BESIDE, strict=True))


def add_all(outputs: Outputs, made: Made, to: Path, beside: Sequence[str | Path | None]) -> None:
    """Gather a sheet's pages and the texts beside it."""
    texts = (made.record_text.encode(), made.table, made.ticket_text.encode())
    those = places(to, beside, len(made.pages))
    for (place, kind), data in zip(those, (*made.pages, *texts), strict=True):
        if place is not None:
            outputs.add(place, kind, data)


def demo_folder() -> Path:
    """Where the demo studies lie: in the installed package, or in the source tree beside it."""
    inside = Path(__file__).parents[2] / "scenes"
    return inside if inside.is_dir() else Path(__file__).parents[4] / "scenes"


def demo(name: str | None, chosen: DemoOptions) -> None:
    """Draw demo sheets into a folder."""
    home = demo_folder()
    if chosen["listing"]:
        for one in DEMOS:
            tell(f"{one:12} {read_study(home / f'{one}.study.toml').title}")
        return
    if name is not None and name not in DEMOS:
        close = nearest(name, DEMOS)
        meant = f'did you mean "{close}"?' if close else f"there are {listed(DEMOS)}."
        raise StudyWrong(f'There is no demo "{name}"; {meant}')
    if name is not None and chosen["every"]:
        raise StudyWrong(f'--all draws every demo, "{name}" among them; leave one of the two out.')
    to = Path(chosen["folder"])
    if to.is_file() or to.suffix.lower() in FORMATS:
        raise StudyWrong(f"{to} must be a folder: demo names its files itself.")
    make_folder(to)
    jobs = [_demo_job(one, home, to, chosen) for one in (DEMOS if chosen["every"] else (name or DEMOS[0],))]
    drawer = Drawer(chosen["renderer"])
    for prepared, outputs, picture, beside in jobs:
        made = draw_with(prepared, Drawing(cell_width=chosen["cell_width"]), drawer, chosen)
        add_all(outputs, made, picture, beside)
        outputs.deliver(chosen["quiet"])


def _demo_job(
    name: str, home: Path, to: Path, chosen: DemoOptions
) -> tuple[Prepared, Outputs, Path, list[str | Path | None]]:
    """A demo made ready, with its outputs claimed: its sheet, what goes beside it, and its copies."""
    prepared = prepare_study(read_study(home / f"{name}.study.toml"), home)
    outputs = Outputs(chosen["force"])
    picture = to / f"{name}.png"
    beside = places_beside(picture, (None, None, None), alone=False)
    outputs.claim_all(places(picture, beside))
    if chosen["copy"]:
        for file in sorted({f"{name}.study.toml", prepared.study.scene, f"{name}.toml"}):
            outputs.add(to / file, SCENE, read_input(home / file))
    return prepared, outputs, picture, beside
