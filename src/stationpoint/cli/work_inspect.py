"""What `inspect` does."""

from __future__ import annotations

from pathlib import Path

import click

from stationpoint import __version__
from stationpoint.cli import say
from stationpoint.cli.options import InspectOptions
from stationpoint.cli.work import AUTO, GL, Drawer, Outputs
from stationpoint.cli.work_sheet import demo_folder, drawn
from stationpoint.drawing import DRAWING, RECORD, STUDY, Drawing, drawing_from
from stationpoint.errors import StudyWrong
from stationpoint.output.png import read_png_texts
from stationpoint.output.record import Record, read_record, record_hash
from stationpoint.prepare import prepare
from stationpoint.study.file import study_from_text
from stationpoint.study.models import Study
from stationpoint.words import counted


def inspect(file: str, chosen: InspectOptions) -> None:
    """Say what a sheet was made from; read back its record and study; draw it again."""
    texts = read_png_texts(file, (RECORD, STUDY))
    whole = read_record(texts[RECORD], file)
    study = study_from_text(texts[STUDY], file)
    how = drawing_from(texts[DRAWING], file) if DRAWING in texts else None
    outputs = Outputs([Path(file)])
    outputs.claim([chosen["json_file"], chosen["study_file"], chosen["redraw"]])
    if chosen["json_file"] is not None:
        outputs.add(chosen["json_file"], texts[RECORD].encode())
    if chosen["study_file"] is not None:
        outputs.add(chosen["study_file"], texts[STUDY].encode())
    if chosen["redraw"] is not None:
        if how is None:
            raise StudyWrong(
                f"{file} is no sheet of a sweep; draw it again from its study, with: stationpoint twins"
            )
        outputs.add(chosen["redraw"], redrawn(Path(file), whole, study, *how, chosen))
    if all(chosen[name] is None for name in ("json_file", "study_file", "redraw")):
        _tell(whole, study, how, record_hash(texts[RECORD]))
    outputs.deliver(chosen["quiet"])


def _tell(whole: Record, study: Study, how: tuple[Drawing, int, str] | None, digest: str) -> None:
    variants, rows = whole["variants"], whole["rows"]
    click.echo(study.title or "A study without a title")
    kind = "a page of twins" if how is None else f"mode {how[0].mode}, page {how[1] + 1}"
    click.echo(f"Drawn by {_tool(whole)}, renderer {whole['renderer']}, {kind}.")
    if isinstance(variants, list) and isinstance(rows, list):
        close_up = how is not None and how[0].variants
        drawn = f" (a close-up of {', '.join(close_up)})" if close_up else ""
        click.echo(
            f"Scene {study.scene}; {counted(len(variants), 'variant')}{drawn}, {counted(len(rows), 'row')}."
        )
    click.echo(f"Record {digest}.")


def _tool(whole: Record) -> str:
    tool = whole["tool"]
    return f"{tool.get('name')} {tool.get('version')}" if isinstance(tool, dict) else "an unknown tool"


def redrawn(
    file: Path,
    whole: Record,
    study: Study,
    drawing: Drawing,
    page: int,
    digest: str,
    chosen: InspectOptions,
) -> bytes:
    """The same page again, from the sheet's own study and the scene that it names; a line for each reason
    why it need not be the same to the byte."""
    folder = chosen["folder"]
    places = [Path(folder)] if folder is not None else [file.parent, Path(), demo_folder()]
    home = next((place for place in places if (place / study.scene).is_file()), None)
    if home is None:
        raise StudyWrong(f'The sheet\'s scene "{study.scene}" was not found; name its folder with --folder.')
    prepared = prepare(study, home)
    if prepared.scene_digest != digest:
        say(f"{study.scene} has changed since the sheet was drawn; the new picture shows it as it is now.")
    now = f"stationpoint {__version__}"
    if _tool(whole) != now:
        say(f"The sheet was drawn by {_tool(whole)}, this is {now}: it may look another way.")
    by_its_own = chosen["renderer"] == AUTO and drawing.renderer != GL  # auto is gl where that works
    drawer = Drawer(drawing.renderer if by_its_own else chosen["renderer"])
    made = drawn(prepared, drawing, drawer, chosen)
    if drawer.name != drawing.renderer:
        say(f"The sheet was drawn by {drawing.renderer}; with {drawer.name} its pixels differ.")
    if not 0 <= page < len(made.pages):
        raise StudyWrong(f"{file} does not say how it was drawn; draw it from its study.")
    return made.pages[page]
