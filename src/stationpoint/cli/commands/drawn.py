"""The commands that draw what people look at: sheets, twins, charts and pages."""

from __future__ import annotations

from typing import Unpack

import click

from stationpoint.cli.options import (
    LAYOUTS,
    LEAST_CELL_PX,
    MATERIALS,
    MODES,
    MOST_CELL_PX,
    SHOWN,
    TWINS,
    ChartOptions,
    DemoOptions,
    PageOptions,
    SheetOptions,
    TwinsOptions,
    WatchOptions,
    alone,
    cell_width,
    changes,
    csv_file,
    engine,
    executor,
    file_name,
    force,
    further_fonts,
    json_file,
    only,
    other_camera,
    page_file,
    renderer,
    study_file,
    text_file,
)


@click.command(epilog="Example: stationpoint demo quay -o out")
@click.argument("name", required=False)
@click.option(
    "-o", "--output", "folder", type=file_name, metavar="FOLDER", default=".", help="Where the sheets go."
)
@click.option("--all", "every", is_flag=True, help="Draw every demo.")
@click.option("--list", "listing", is_flag=True, help="Name the demos and draw nothing.")
@click.option("--copy", is_flag=True, help="Also copy the demo's study and scene there, to work on.")
@cell_width
@force
@engine
def demo(name: str | None, **chosen: Unpack[DemoOptions]) -> None:
    """Draw the sheet of a demo study (NAME; the first one if none is named)."""
    from stationpoint.cli.actions import sheet as action

    action.demo(name, chosen)


@click.command(
    epilog="Example: stationpoint sheet quay.study.toml --columns focal_mm=24,35,50,85 -o quay.png"
)
@study_file
@click.option(
    "-o",
    "--output",
    type=file_name,
    metavar="FILE",
    help="The picture (.png, .svg or .pdf), or a folder for it (- is standard output); pages become "
    "FILE-1.png, FILE-2.png, or one PDF.",
)
@changes
@other_camera
@further_fonts
@cell_width
@click.option(
    "--mode",
    type=click.Choice(MODES),
    default="marks",
    show_default=True,
    help="What the pictures show; the layout stays, so that sheets flip. own, own-grey, three-values, "
    "first-glance and clay-over-own are of the level's own colours.",
)
@click.option(
    "--materials",
    type=click.Choice(MATERIALS),
    help="Clay, or the level's own colours and textures; as the scene file says if unsaid, which is clay.",
)
@click.option("--marks", metavar="NAMES", help="Marks to draw, by commas; --marks list names them.")
@click.option(
    "--variant",
    "labels",
    metavar="LABEL",
    multiple=True,
    help="A close-up of one variant, or two (repeat it): B3, 2-B3 or its key.",
)
@click.option(
    "--layout",
    type=click.Choice(LAYOUTS),
    default=LAYOUTS[0],
    show_default=True,
    help="hero: the chosen one large (else the best), the runner-up beside it, the rest small.",
)
@click.option(
    "--best",
    type=click.IntRange(1),
    metavar="N",
    help="Draw the N best by worst margin; the record has them all.",
)
@click.option(
    "--show",
    type=click.Choice(SHOWN),
    default=SHOWN[0],
    show_default=True,
    help="Of several places that are judged (and ends of options) draw the first, or the worst by the brief.",
)
@only
@click.option("--no-grid", is_flag=True, help="Leave out the metre grid.")
@page_file
@json_file
@csv_file
@text_file
@alone
@force
@engine
@executor
def sheet(study: str, **chosen: Unpack[SheetOptions]) -> None:
    """Draw the contact sheet of a study, or of a scene or mesh file with a sensible sweep.

    Beside the picture go its record (.json), its table (.csv) and ten lines for a ticket (.txt).
    """
    from stationpoint.cli.actions import sheet as action

    action.sheet(study, chosen)


@click.command(epilog="Example: stationpoint twins rooftop.study.toml --target planter --shift 3")
@study_file
@click.option(
    "-o",
    "--output",
    type=file_name,
    metavar="FILE",
    help="The picture: .png, .svg or .pdf; or a folder for it.",
)
@click.option("--target", metavar="NAME", help="Whose twin; the first primary target if not given.")
@click.option(
    "--kind",
    type=click.Choice(TWINS),
    default=TWINS[0],
    show_default=True,
    help="Moved along the sightline, or mirrored in depth.",
)
@click.option("--shift", "shift_m", type=float, metavar="M", help="How far it is moved, metres of depth.")
@click.option("--variant", "label", metavar="LABEL", help="Under which camera; the first if not given.")
@changes
@further_fonts
@cell_width
@json_file
@csv_file
@text_file
@alone
@force
@engine
def twins(study: str, **chosen: Unpack[TwinsOptions]) -> None:
    """Draw a target and its twin: the same scene with that target elsewhere in depth.

    The page shows picture, twin, what differs, and a plan of both layouts.
    """
    from stationpoint.cli.actions import twins as action

    action.twins(study, chosen)


@click.command(
    epilog="Example: stationpoint chart quay.study.toml --reading gaps.hop.scale_ratio --against focal_mm"
)
@study_file
@click.option(
    "--reading", required=True, metavar="PATH", help="The reading, as records name it; * is any name."
)
@click.option("--against", metavar="FIELD", help="The swept field; that of the columns if not given.")
@click.option("-o", "--output", type=file_name, metavar="FILE", help="The picture: .png, .svg or .pdf.")
@changes
@further_fonts
@force
@engine
def chart(study: str, **chosen: Unpack[ChartOptions]) -> None:
    """Draw a reading against a swept field: a line for each row, the brief's limits drawn."""
    from stationpoint.cli.actions import chart as action

    action.chart(study, chosen)


@click.command(epilog="Example: stationpoint page quay.study.toml -o review.html")
@study_file
@click.option(
    "-o",
    "--output",
    type=file_name,
    metavar="FILE",
    help="The page (.html), or a folder for it; STUDY.html if not given.",
)
@changes
@further_fonts
@click.option(
    "--cell-width",
    type=click.IntRange(LEAST_CELL_PX, MOST_CELL_PX),
    metavar="PX",
    help="Width of a picture, 320 to 4096; 960 unless there are more than 80.",
)
@force
@engine
def page(study: str, **chosen: Unpack[PageOptions]) -> None:
    """Write one HTML file on which people review the variants of a study in a browser.

    It holds all that it shows and needs no network: every variant at every place, to be flipped, compared,
    sorted and noted on. Notes and a choice are saved from it as a file for `choose STUDY --from FILE`.
    """
    from stationpoint.cli.actions import page as action

    action.page(study, chosen)


@click.command(epilog="Example: stationpoint watch quay.study.toml --page review.html -o quay.png")
@study_file
@click.option(
    "-o",
    "--output",
    type=file_name,
    metavar="FILE",
    help="The sheet (.png, .svg or .pdf), or a folder for it; STUDY.png if neither it nor --page is given.",
)
@click.option(
    "--page",
    type=file_name,
    metavar="FILE",
    help="The page for review (.html), which is shown to this machine's browsers as well.",
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    metavar="N",
    default=0,
    help="Where the page is shown, as in http://127.0.0.1:N/; a free one if not given.",
)
@changes
@other_camera
@further_fonts
@cell_width
@click.option(
    "--mode",
    type=click.Choice(MODES),
    default="marks",
    show_default=True,
    help="What the sheet's pictures show.",
)
@click.option(
    "--materials", type=click.Choice(MATERIALS), help="Clay, or the level's own colours; as for sheet."
)
@click.option("--marks", metavar="NAMES", help="Marks to draw; as for sheet.")
@click.option("--variant", "labels", metavar="LABEL", multiple=True, help="A close-up on the sheet.")
@force
@renderer
@click.option("--quiet", is_flag=True, help="Tell what is wrong, and nothing else.")
def watch(study: str, **chosen: Unpack[WatchOptions]) -> None:
    """Draw a study's sheet or page again whenever one of its files is saved, until Ctrl-C.

    Only variants that have changed are drawn again, and an open page shows each as it comes. While the
    study is wrong the last good picture stays, and what is wrong is said here and on the page. The page is
    loaded again in its browser and looks as it did; it is shown to this machine alone. Needs the extra
    `watch`.
    """
    from stationpoint.cli.actions import watch as action

    action.watch(study, chosen)
