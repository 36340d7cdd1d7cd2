"""Commands that make something: demo, start, sheet, twins, mesh."""

from __future__ import annotations

from typing import Unpack

import click

from stationpoint.cli.options import (
    MODES,
    TWINS,
    DemoOptions,
    SheetOptions,
    TwinsOptions,
    alone,
    cell_width,
    changes,
    csv_file,
    engine,
    file_name,
    force,
    json_file,
    only,
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


@click.command(epilog="Example: stationpoint start level.glb -o level.study.toml")
@click.argument("scene", type=file_name, metavar="SCENE")
@click.option(
    "-o",
    "--output",
    type=file_name,
    metavar="FILE",
    help="The study to write; SCENE.study.toml beside it if not given.",
)
@force
def start(scene: str, output: str | None, force: bool) -> None:
    """Write a first study for a scene or mesh file, to be edited."""
    from stationpoint.cli.actions import files as action

    action.start(scene, output, force)


@click.command(
    epilog="Example: stationpoint sheet quay.study.toml --columns focal_mm=24,35,50,85 -o quay.png"
)
@study_file
@click.option(
    "-o",
    "--output",
    type=file_name,
    metavar="FILE",
    help="The picture, or a folder for it (- is standard output); pages become FILE-1.png, FILE-2.png.",
)
@changes
@cell_width
@click.option(
    "--mode",
    type=click.Choice(MODES),
    default="marks",
    show_default=True,
    help="What the pictures show; the layout stays.",
)
@click.option("--marks", metavar="NAMES", help="Marks to draw, by commas; --marks list names them.")
@click.option(
    "--variant",
    "labels",
    metavar="LABEL",
    multiple=True,
    help="A close-up of one variant, or two (repeat it): B3, 2-B3 or its key.",
)
@only
@click.option("--no-grid", is_flag=True, help="Leave out the metre grid.")
@json_file
@csv_file
@text_file
@alone
@force
@engine
def sheet(study: str, **chosen: Unpack[SheetOptions]) -> None:
    """Draw the contact sheet of a study, or of a scene or mesh file with a sensible sweep.

    Beside the picture go its record (.json), its table (.csv) and ten lines for a ticket (.txt).
    """
    from stationpoint.cli.actions import sheet as action

    action.sheet(study, chosen)


@click.command(epilog="Example: stationpoint twins rooftop.study.toml --target planter --shift 3")
@study_file
@click.option("-o", "--output", type=file_name, metavar="FILE", help="The picture, or a folder for it.")
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


@click.command(epilog="Example: stationpoint mesh quarry.toml -o quarry.glb")
@click.argument("scene", type=file_name, metavar="FILE")
@click.option(
    "-o",
    "--output",
    type=file_name,
    metavar="FILE",
    help="The GLB to write; FILE.glb beside it if not given.",
)
@force
def mesh(scene: str, output: str | None, force: bool) -> None:
    """Write a scene (or a study's scene and its camera) as a GLB."""
    from stationpoint.cli.actions import files as action

    action.mesh(scene, output, force)
