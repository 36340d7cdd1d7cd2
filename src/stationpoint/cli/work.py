"""What the commands do once their words are parsed: everything heavy is imported from here on."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, fields
from pathlib import Path

import click

from stationpoint import __version__
from stationpoint.cli import say
from stationpoint.errors import StudyWrong
from stationpoint.output.files import make_folder, write_all
from stationpoint.study.file import what_is
from stationpoint.study.models import Study
from stationpoint.words import counted, listed, nearest

DEMOS = ("quay", "greenhouse", "quarry")
STUDY_ENDS = (".study.toml", ".toml")



@dataclass(frozen=True, slots=True)
class Chosen:
    """The options of one call, of all commands; what a command does not have keeps its default."""

    output: str | None = None
    sets: tuple[str, ...] = ()
    rows: str | None = None
    columns: str | None = None
    pages: str | None = None
    hold: str | None = None
    places: tuple[str, ...] = ()
    viewings: tuple[str, ...] = ()
    cell_width: int | None = None
    mode: str = "marks"
    marks: str | None = None
    labels: tuple[str, ...] = ()
    no_grid: bool = False
    json_file: str | None = None
    csv_file: str | None = None
    text_file: str | None = None
    study_file: str | None = None
    redraw: str | None = None
    folder: str | None = None
    alone: bool = False
    only: str | None = None
    renderer: str = "auto"
    workers: int = 1
    quiet: bool = False


def chosen_from(options: Mapping[str, object]) -> Chosen:
    """The options as click hands them over."""
    known = {field.name for field in fields(Chosen)}
    return Chosen(**{name: value for name, value in options.items() if name in known})  # type: ignore[arg-type]


def stem_of(path: Path) -> str:
    """A file's name without the endings of studies, scenes and meshes."""
    for end in STUDY_ENDS:
        if path.name.endswith(end) and path.name != end:
            return path.name.removesuffix(end)
    return path.stem


def study_of(path: Path, chosen: Chosen) -> Study:
    """The study of a file; of a scene or mesh file, the default one."""
    from stationpoint.study.file import read_study, study_from_text

    changes = {
        "rows": chosen.rows,
        "columns": chosen.columns,
        "pages": chosen.pages,
        "hold": chosen.hold,
        "place": chosen.places,
        "viewing": chosen.viewings,
    }
    if what_is(path) == "study":
        return read_study(path, chosen.sets, **changes)  # type: ignore[arg-type]
    from stationpoint.study.text import study_text

    return study_from_text(study_text(first_study(path)), path.name, chosen.sets, **changes)  # type: ignore[arg-type]


def first_study(path: Path) -> Study:
    """The default study of a scene or mesh file: a stand-in at its middle on its floor."""
    from stationpoint.aim import middle_on_floor
    from stationpoint.scene.file import read_scene
    from stationpoint.study.start import default_study

    scene = read_scene(path)
    foot = middle_on_floor(scene)
    return default_study(path.name, scene, (float(foot[0]), float(foot[1]), float(foot[2])))


def check(file: str, chosen: Chosen) -> None:
    """Say what is in a study, scene or mesh; draw nothing."""
    from stationpoint.run import prepare
    from stationpoint.scene.file import read_scene

    path = Path(file)
    if what_is(path) != "study":
        scene = read_scene(path)
        faces = sum(len(node.faces) for node in scene.nodes)
        low, high = scene.bounds()
        click.echo(f"{path.name}: {counted(len(scene.nodes), 'node')}, {counted(faces, 'triangle')}.")
        spans = " x ".join(f"{span:.2f}" for span in high - low)
        click.echo(f"It spans {spans} m (x, y, z), from {_point(low)} to {_point(high)}.")
        _say_nodes([node.name for node in scene.nodes])
        if scene.cameras:
            click.echo(f"Cameras: {listed(camera.name for camera in scene.cameras)}.")
        for note in scene.notes:
            click.echo(f"Note: {note}")
        return
    study = study_of(path, chosen)
    prepared = prepare(study, path.parent)
    steps = {axis: list(getattr(study.sweep, axis)) for axis in ("rows", "columns", "pages")}
    swept = [f"{axis} {listed(names)}" for axis, names in steps.items() if names]
    click.echo(f"{path.name}: {study.title or 'a study without a title'}")
    click.echo(f"Scene {study.scene}: {counted(len(prepared.scene.nodes), 'node')} drawn.")
    click.echo(
        f"{counted(len(prepared.variants), 'variant')} ({'; '.join(swept) or 'nothing swept'}), "
        f"{counted(len(study.places), 'place')}, {counted(len(study.target), 'target')}, "
        f"{counted(len(study.gap), 'gap')}, {counted(len(study.limit), 'limit')}."
    )
    if not study.viewing:
        click.echo("No viewing is given: a desk is assumed (24 in, 1920 x 1080, 0.6 m).")
    for note in prepared.notes:
        click.echo(f"Note: {note}")


def _point(values: object) -> str:
    return "(" + ", ".join(f"{float(value):.2f}" for value in values) + ")"  # type: ignore[attr-defined]


def _say_nodes(names: list[str], most: int = 12) -> None:
    shown = [name.replace("\n", " ") for name in names[:most]]
    more = f" and {len(names) - most} more" if len(names) > most else ""
    click.echo(f"Nodes: {', '.join(shown)}{more}.")


def start(file: str, output: str | None, force: bool) -> None:
    """Write a first study for a scene or mesh file."""
    from stationpoint.study.start import start_text

    path = Path(file)
    if what_is(path) == "study":
        raise StudyWrong(f"{path} is a study already; draw it with: stationpoint sheet {path}")
    to = Path(output) if output else path.with_name(f"{stem_of(path)}.study.toml")
    if to.exists() and not force:
        raise StudyWrong(f"{to} is there already; name another file with -o, or write over it with --force.")
    study = first_study(path)
    place = Path(study.scene)
    if to.parent.resolve() != path.parent.resolve():
        place = _path_from(to.parent, path)
    study = study.model_copy(update={"scene": place.as_posix()})
    write_all({to: start_text(study).encode()})
    click.echo(f"Wrote {to}. Draw it with: stationpoint sheet {to}")


def _path_from(folder: Path, path: Path) -> Path:
    import os

    return Path(os.path.relpath(path.resolve(), folder.resolve()))


def mesh(file: str, output: str | None) -> None:
    """Write a scene, or a study's scene and its camera, as a GLB."""
    from stationpoint.run import file_camera, prepare
    from stationpoint.scene.export import glb_bytes
    from stationpoint.scene.file import read_scene

    path = Path(file)
    to = Path(output) if output else path.with_name(f"{stem_of(path)}.glb")
    if to.suffix.lower() != ".glb":
        raise StudyWrong(f"{to}: a mesh is written as a GLB; name it with the ending .glb.")
    if what_is(path) == "study":
        study = study_of(path, Chosen())
        prepared = prepare(study, path.parent)
        data = glb_bytes(read_scene(path.parent / study.scene), [file_camera(prepared)])
    else:
        data = glb_bytes(read_scene(path))
    write_all({to: data})
    click.echo(f"Wrote {to}.")


def renderer_of(wanted: str) -> tuple[str, str]:
    """The engine that will draw, and a sentence where it is not the one that is best."""
    from stationpoint.render import choose_renderer

    name, why = choose_renderer(wanted)
    if why:
        say(why)
    return name, why or ""


@contextmanager
def progress(count: int, quiet: bool) -> Iterator[Callable[[], None]]:
    """A progress bar on a terminal; nothing elsewhere."""
    if quiet or not sys.stderr.isatty():
        yield lambda: None
        return
    with click.progressbar(length=count, label="Drawing", file=sys.stderr) as bar:
        yield lambda: bar.update(1)


def measure(file: str, chosen: Chosen) -> None:
    """Measure every variant; write records, or print a short table."""
    from stationpoint.measure import FIELDS
    from stationpoint.output.csv import csv_text
    from stationpoint.run import Wants, only_groups, prepare, recorded, sweep, takes_count
    from stationpoint.output.record import record_text

    path = Path(file)
    only = only_groups(chosen.only)
    prepared = prepare(study_of(path, chosen), path.parent)
    wants = Wants(picture=False, only=only)
    name, _ = renderer_of(chosen.renderer)
    with progress(takes_count(prepared), chosen.quiet) as done:
        takes = sweep(prepared, wants, name, chosen.workers, done)
    whole = recorded(prepared, takes, name)
    text = record_text(whole)
    outputs: dict[Path | str, bytes] = {}
    json_file = chosen.json_file
    if json_file is None and chosen.csv_file is None:
        json_file = "-"
    if json_file is not None:
        outputs[json_file] = text.encode()
    if chosen.csv_file is not None:
        outputs[chosen.csv_file] = csv_text(whole, FIELDS).encode()
    deliver(outputs, chosen.quiet)


def deliver(outputs: Mapping[Path | str, bytes], quiet: bool) -> None:
    """Write files all or none; "-" is standard output."""
    written = {to: data for to, data in outputs.items() if str(to) != "-"}
    write_all(written)
    for to, data in outputs.items():
        if str(to) == "-":
            sys.stdout.buffer.write(data)
            sys.stdout.buffer.flush()
    if written and not quiet:
        say(f"Wrote {listed(str(to) for to in written)}.")


def sheet(file: str, chosen: Chosen) -> None:
    """Draw the sheet of a file and what goes beside it."""
    path = Path(file)
    study = study_of(path, chosen)
    to = Path(chosen.output) if chosen.output else Path(f"{stem_of(path)}.png")
    if to.is_dir():
        to = to / f"{stem_of(path)}.png"
    draw(study, path.parent, to, chosen)


def draw(study: Study, folder: Path, to: Path, chosen: Chosen) -> None:
    """Draw a study's sheet into `to`, with its record, table and ticket beside it."""
    from stationpoint.drawing import Drawing, drawn_sheet

    if to.suffix.lower() != ".png":
        raise StudyWrong(f"{to}: a sheet is a PNG; name it with the ending .png.")
    name, note = renderer_of(chosen.renderer)
    drawing = Drawing(
        cell_width=chosen.cell_width,
        mode=chosen.mode,
        marks=None if chosen.marks is None else tuple(one.strip() for one in chosen.marks.split(",") if one.strip()),
        variants=chosen.labels,
        grid=not chosen.no_grid,
        renderer=name,
    )
    made = drawn_sheet(study, folder, drawing, workers=chosen.workers, note=note, progress=lambda n: progress(n, chosen.quiet))
    outputs: dict[Path | str, bytes] = {}
    pages = made.pages
    for number, data in enumerate(pages, 1):
        place = to if len(pages) == 1 else to.with_name(f"{to.stem}-{number}{to.suffix}")
        outputs[place] = data
    beside = {
        ".json": (chosen.json_file, made.record_text),
        ".csv": (chosen.csv_file, made.csv_text),
        ".txt": (chosen.text_file, made.ticket_text),
    }
    for ending, (named, text) in beside.items():
        if named is not None:
            outputs[named] = text.encode()
        elif not chosen.alone:
            outputs[to.with_suffix(ending)] = text.encode()
    for warning in made.notes:
        say(warning)
    deliver(outputs, chosen.quiet)


def demo_folder() -> Path:
    """Where the demo studies lie: in the installed package, or in the source tree beside it."""
    inside = Path(__file__).parents[1] / "scenes"
    return inside if inside.is_dir() else Path(__file__).parents[3] / "scenes"


def demo(name: str | None, folder: str, every: bool, listing: bool, copy: bool, chosen: Chosen) -> None:
    """Draw demo sheets into a folder."""
    from stationpoint.study.file import read_study

    home = demo_folder()
    if listing:
        for one in DEMOS:
            click.echo(f"{one:12} {read_study(home / f'{one}.study.toml').title}")
        return
    if name is not None and name not in DEMOS:
        close = nearest(name, DEMOS)
        meant = f'did you mean "{close}"?' if close else f"there are {listed(DEMOS)}."
        raise StudyWrong(f'There is no demo "{name}"; {meant}')
    to = Path(folder)
    make_folder(to)
    for one in DEMOS if every else (name or DEMOS[0],):
        if copy:
            study = read_study(home / f"{one}.study.toml")
            names = {f"{one}.study.toml", study.scene, f"{one}.toml"}
            write_all({to / file: (home / file).read_bytes() for file in sorted(names)})
        draw(read_study(home / f"{one}.study.toml"), home, to / f"{one}.png", chosen)


def inspect(file: str, chosen: Chosen) -> None:
    """Say what a sheet was made from; read back its record and study; draw it again."""
    from stationpoint.drawing import DRAWING, RECORD, STUDY
    from stationpoint.output.png import read_png_texts
    from stationpoint.output.record import read_record, record_hash
    from stationpoint.study.file import study_from_text

    texts = read_png_texts(file, (RECORD, STUDY, DRAWING))
    if RECORD not in texts or STUDY not in texts or DRAWING not in texts:
        raise StudyWrong(f"{file} carries no record; it is no sheet of this tool, or its texts were stripped.")
    whole = read_record(texts[RECORD], file)
    study = study_from_text(texts[STUDY], file)
    outputs: dict[Path | str, bytes] = {}
    if chosen.json_file is not None:
        outputs[chosen.json_file] = texts[RECORD].encode()
    if chosen.study_file is not None:
        outputs[chosen.study_file] = texts[STUDY].encode()
    if chosen.redraw is not None:
        outputs[chosen.redraw] = redrawn(Path(file), study, texts[DRAWING], chosen)
    if not outputs:
        tool = whole["tool"]
        assert isinstance(tool, dict)
        variants, rows = whole["variants"], whole["rows"]
        assert isinstance(variants, list) and isinstance(rows, list)
        click.echo(study.title or "A study without a title")
        click.echo(f"Drawn by {tool['name']} {tool['version']}, renderer {whole['renderer']}.")
        click.echo(f"Scene {study.scene}; {counted(len(variants), 'variant')}, {counted(len(rows), 'row')}.")
        click.echo(f"Record {record_hash(texts[RECORD])}.")
    deliver(outputs, chosen.quiet)


def redrawn(file: Path, study: Study, drawing_text: str, chosen: Chosen) -> bytes:
    """The same page again, from the sheet's own study and the scene that it names."""
    from stationpoint.drawing import Drawing, drawn_sheet

    said = json.loads(drawing_text)
    page, digest = said.pop("page"), said.pop("scene_sha256")
    places = [Path(chosen.folder)] if chosen.folder else [Path(), file.parent, demo_folder()]
    folder = next((place for place in places if (place / study.scene).is_file()), None)
    if folder is None:
        raise StudyWrong(f'The sheet\'s scene "{study.scene}" was not found; name its folder with --folder.')
    drawing = Drawing.from_json(said)
    renderer_of(drawing.renderer)
    made = drawn_sheet(study, folder, drawing, workers=chosen.workers, progress=lambda n: progress(n, chosen.quiet))
    if made.scene_digest != digest:
        say(f"{study.scene} has changed since the sheet was drawn; the new picture shows it as it is now.")
    return made.pages[page]


def version_line() -> str:
    """Name and version."""
    return f"stationpoint {__version__}"
