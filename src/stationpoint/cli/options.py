"""Options that several commands share: as click declares them, and as the bodies get them."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, NotRequired, TypedDict, TypeVar

import click

from stationpoint.base.words import nearest, visible

Command = TypeVar("Command", bound=Callable[..., Any])

HOLDS = ("nothing", "subject-scale", "subject-height", "all-in-frame")
RENDERERS = ("auto", "gl", "rays")
TWINS = ("slide", "mirror")
MATERIALS = ("clay", "own")
LAYOUTS = ("grid", "hero")
KINDS = ("third-person", "first-person", "side-on", "overhead", "two-subjects")
SHOWN = ("first", "worst")
DASK = "dask:"
ADDRESS = r"((tcp|tls|ws|wss)://)?(\[[0-9a-fA-F:.]+\]|[^\s/:\[\]]+):\d{1,5}"
LEAST_CELL_PX, MOST_CELL_PX = 320, 4096
MODES = (
    "marks",
    "clean",
    "own",
    "clay-over-own",
    "grey",
    "own-grey",
    "three-values",
    "silhouette",
    "first-glance",
    "depth",
)


def file_name(words: str) -> str:
    """A file's name: anything but empty, as where a shell's variable is unset."""
    if not words.strip():
        raise click.BadParameter("it is empty; name a file or a folder.")
    return words


class NearChoice(click.Choice[str]):
    """One of several words; of another the nearest is named."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The word, or a complaint that says which are known."""
        if value not in self.choices:
            close = nearest(str(value), list(self.choices))
            meant = f'did you mean "{close}"?' if close else f"there are {', '.join(self.choices)}."
            self.fail(f'"{visible(str(value))}" is none; {meant}', param, ctx)
        return super().convert(value, param, ctx)


class Settings(TypedDict):
    """What the command line changes in a study but for its axes."""

    sets: tuple[str, ...]
    hold: str | None
    places: tuple[str, ...]
    viewings: tuple[str, ...]
    camera_file: NotRequired[str | None]  # of the commands that take one


class Changes(Settings):
    """What the command line changes in a study."""

    rows: str | None
    columns: str | None
    pages: str | None


class Engine(TypedDict):
    """What draws, and how much is said of it."""

    renderer: str
    workers: int | None
    quiet: bool
    progress: bool
    executor: NotRequired[str | None]  # of the commands that take one


class Fonts(TypedDict):
    """What words are set in beside the bundled fonts and the study's."""

    fonts: tuple[str, ...]


class Writes(TypedDict):
    """How files are written: over whatever is there, or not."""

    force: bool


class MeasureOptions(Changes, Engine, Writes):
    """Options of `measure`."""

    only: str | None
    json_file: str | None
    csv_file: str | None


class SheetOptions(Changes, Fonts, Engine, Writes):
    """Options of `sheet`."""

    output: str | None
    cell_width: int | None
    mode: str
    materials: str | None
    marks: str | None
    only: str | None
    labels: tuple[str, ...]
    layout: str
    best: int | None
    show: str
    no_grid: bool
    page_file: str | None
    json_file: str | None
    csv_file: str | None
    text_file: str | None
    alone: bool


class DemoOptions(Engine, Writes):
    """Options of `demo`."""

    folder: str
    every: bool
    listing: bool
    copy: bool
    cell_width: int | None


class TwinsOptions(Changes, Fonts, Engine, Writes):
    """Options of `twins`."""

    output: str | None
    target: str | None
    kind: str
    shift_m: float | None
    label: str | None
    cell_width: int | None
    json_file: str | None
    csv_file: str | None
    text_file: str | None
    alone: bool


class CheckOptions(Changes):
    """Options of `check`."""

    nodes: str | None


class JudgeOptions(Changes, Engine, Writes):
    """Options of `judge`."""

    labels: tuple[str, ...]
    every: bool
    json_file: str | None
    junit_file: str | None
    markdown_file: str | None
    baseline: str | None
    accept: bool
    tolerances: tuple[str, ...]
    cache: str | None
    output: str | None
    page_file: str | None


class CompareOptions(Changes, Engine, Writes):
    """Options of `compare`."""

    study_file: str | None
    readings: tuple[str, ...]
    everything: bool
    output: str | None
    cell_width: int | None
    page_file: str | None
    tolerances: tuple[str, ...]
    json_file: str | None
    junit_file: str | None
    markdown_file: str | None


class ChooseOptions(TypedDict):
    """Options of `choose`."""

    because: str | None
    reviews: tuple[str, ...]
    by: str | None
    on: str | None


class PageOptions(Changes, Fonts, Engine, Writes):
    """Options of `page`."""

    output: str | None
    cell_width: int | None


class WatchOptions(Changes, Fonts, Writes):
    """Options of `watch`."""

    output: str | None
    page: str | None
    port: int
    cell_width: int | None
    mode: str
    materials: str | None
    marks: str | None
    labels: tuple[str, ...]
    renderer: str
    quiet: bool


class SolveOptions(Settings, Engine, Writes):
    """Options of `solve`."""

    vary: tuple[str, ...]
    until: tuple[str, ...]
    most: int
    output: str | None
    map_file: str | None
    cell_width: int | None
    json_file: str | None
    alone: bool


class ChartOptions(Changes, Fonts, Engine, Writes):
    """Options of `chart`."""

    reading: str
    against: str | None
    output: str | None


class HandoffOptions(Changes, Writes):
    """Options of `handoff`."""

    output: str | None
    labels: tuple[str, ...]
    with_level: bool
    handed: str | None
    up: str | None
    axes: str | None
    camera_looks: str | None
    unit: str
    clip: str
    clip_y: str
    is_reversed: bool
    matrix_order: str
    yaw: str
    pitch: str


class CheckPortOptions(TypedDict):
    """Options of `check-port`."""

    tolerance_px: float


class InspectOptions(Engine, Writes):
    """Options of `inspect`."""

    json_file: str | None
    study_file: str | None
    redraw: str | None
    folder: str | None


def _stacked(*options: Callable[[Any], Any]) -> Callable[[Command], Command]:
    def decorate(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return decorate


study_file = click.argument("study", type=file_name, metavar="FILE")
json_file = click.option(
    "--json",
    "json_file",
    type=file_name,
    metavar="FILE",
    help="Write the record there (- is standard output).",
)
page_file = click.option(
    "--page", "page_file", type=file_name, metavar="FILE", help="Write the page for review there, too."
)
csv_file = click.option(
    "--csv",
    "csv_file",
    type=file_name,
    metavar="FILE",
    help="Write the readings as a table there (- is standard output).",
)
text_file = click.option(
    "--text", "text_file", type=file_name, metavar="FILE", help="Write ten lines for a ticket there."
)
junit_file = click.option(
    "--junit",
    "junit_file",
    type=file_name,
    metavar="FILE",
    help="Write JUnit XML for a build server there (- is standard output).",
)
markdown_file = click.option(
    "--markdown",
    "markdown_file",
    type=file_name,
    metavar="FILE",
    help="Write a short summary in Markdown there (- is standard output).",
)
tolerances = click.option(
    "--tolerance",
    "tolerances",
    metavar="READING=AMOUNT",
    multiple=True,
    help='How far a reading may move, as in "targets.*.seen=0.02": of a share as such, of a size as a '
    "share of it; 0.01 if unsaid. Repeatable.",
)
alone = click.option("--alone", is_flag=True, help="Write the picture, and beside it only what is named.")
force = click.option(
    "--force", is_flag=True, help="Write over files that are there and are none of stationpoint's outputs."
)
only = click.option(
    "--only",
    metavar="READINGS",
    help="Groups of readings, by commas: targets, gaps, axes, framing ...; or paths, such as targets.*.seen.",
)
further_fonts = click.option(
    "--font",
    "fonts",
    type=file_name,
    metavar="FILE",
    multiple=True,
    help="A font (.ttf, .otf) for names that the bundled ones cannot set. Repeatable.",
)
cell_width = click.option(
    "--cell-width",
    type=click.IntRange(LEAST_CELL_PX, MOST_CELL_PX),
    metavar="PX",
    help="Width of a picture, 320 to 4096; 544 unless there are many columns, or one or two pictures.",
)


def _of_port(name: str, words: tuple[str, ...], usual: str | None, says: str) -> Callable[[Any], Any]:
    """One property of a port's convention."""
    return click.option(
        name, type=click.Choice(words), default=usual, show_default=usual is not None, help=says
    )


port = _stacked(
    _of_port("--handed", ("right", "left"), None, "Which hand the world's axes have; right if unsaid."),
    _of_port("--up", ("y", "z"), None, "Which of its axes points up; y if unsaid."),
    click.option(
        "--axes",
        metavar="X,Y,Z",
        help='In place of these two: which axes of ours (x right, y up, -z ahead) are its own, as "-z,x,y".',
    ),
    _of_port(
        "--camera-looks",
        ("-z", "+z", "+x"),
        None,
        "Along which axis of its own space a camera looks; -z if unsaid, +z where left-handed.",
    ),
    _of_port("--unit", ("m", "cm", "mm"), "m", "Its unit of length."),
    _of_port("--clip", ("-1..1", "0..1"), "-1..1", "Depth after the divide, near to far."),
    click.option(
        "--reversed", "is_reversed", is_flag=True, help="Far to near, as for a reversed depth buffer."
    ),
    _of_port("--clip-y", ("up", "down"), "up", "Where y of clip space points."),
    _of_port(
        "--matrix-order", ("row", "column"), "row", "Whether matrices are listed by rows or by columns."
    ),
    _of_port("--yaw", ("left", "right"), "left", "Which way a positive yaw turns, seen from above."),
    _of_port("--pitch", ("down", "up"), "down", "Which way a positive pitch looks."),
)

_set = click.option(
    "--set",
    "sets",
    metavar="KEY=VALUE",
    multiple=True,
    help="Change one key of the study, such as camera.pitch_deg=30. Repeatable.",
)
_axes = _stacked(
    click.option(
        "--rows", metavar="FIELD=A,B", help='Sweep down, as in pitch_deg=10,30; --rows "" ends a sweep.'
    ),
    click.option("--columns", metavar="FIELD=A,B", help="Sweep across; a range is pitch_deg=10:40:10."),
    click.option("--pages", metavar="FIELD=A,B", help="Sweep over pages."),
)
_kept = _stacked(
    click.option("--hold", type=click.Choice(HOLDS), help="What stays equal while the lens changes."),
    click.option("--place", "places", metavar="NAME", multiple=True, help="Only this place. Repeatable."),
    click.option(
        "--viewing", "viewings", metavar="NAME", multiple=True, help="Only this viewing. Repeatable."
    ),
)
settings = _stacked(_set, _kept)
changes = _stacked(_set, _axes, _kept)

other_camera = click.option(
    "--camera",
    "camera_file",
    type=file_name,
    metavar="FILE",
    help="The [camera] of that file, and its [sweep] if it has one, in place of the study's own.",
)

renderer = click.option(
    "--renderer",
    type=click.Choice(RENDERERS),
    default="auto",
    show_default=True,
    help="OpenGL (gl), or rays; auto takes rays where there is no OpenGL.",
)


def _scheduler(context: click.Context, option: click.Parameter, words: str | None) -> str | None:
    """The address that `--executor dask:ADDRESS` names: a host and a port."""
    if words is None:
        return None
    address = words.removeprefix(DASK)
    if address == words or not re.fullmatch(ADDRESS, address):
        raise click.BadParameter(
            f'"{visible(words)}" names no executor; write dask: and where its scheduler listens, as in '
            "dask:10.0.0.5:8786."
        )
    return address


executor = click.option(
    "--executor",
    metavar="dask:HOST:PORT",
    callback=_scheduler,
    help="Have the workers of that dask scheduler draw and measure, on other machines too, in place of "
    "processes here (docs/cluster.md). The output is the same.",
)
engine = _stacked(
    renderer,
    click.option(
        "--workers",
        type=click.IntRange(1, 64),
        metavar="N",
        help="Processes that draw, 1 to 64; as many as pay if unsaid. The output is the same.",
    ),
    click.option("--quiet", is_flag=True, help="No progress and no list of files."),
    click.option("--progress", is_flag=True, help="Tell progress even where no terminal shows it."),
)
