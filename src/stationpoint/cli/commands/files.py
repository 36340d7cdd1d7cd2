"""The commands that write scenes, studies and cameras as files, and read such files back."""

from __future__ import annotations

from typing import Unpack

import click

from stationpoint.cli.options import (
    KINDS,
    CheckPortOptions,
    HandoffOptions,
    InspectOptions,
    NearChoice,
    changes,
    engine,
    file_name,
    force,
    json_file,
    other_camera,
    port,
    study_file,
)


@click.command(epilog="Example: stationpoint start level.glb -o level.study.toml")
@click.argument("scene", type=file_name, metavar="SCENE")
@click.option(
    "-o",
    "--output",
    type=file_name,
    metavar="FILE",
    help="The study to write; SCENE.study.toml beside it if not given.",
)
@click.option(
    "--set",
    "sets",
    metavar="KEY=VALUE",
    multiple=True,
    help="Change one key of the study, such as mesh.up=z or mesh.scale=0.01. Repeatable.",
)
@click.option(
    "--kind",
    type=NearChoice(KINDS),
    metavar="KIND",
    help=f"For a kind of camera, with a brief: {', '.join(KINDS)} (docs/recipes.md).",
)
@force
def start(scene: str, output: str | None, sets: tuple[str, ...], kind: str | None, force: bool) -> None:
    """Write a first study for a scene or mesh file, to be edited."""
    from stationpoint.cli.actions import files as action

    action.start(scene, output, sets, kind, force)


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


@click.command(epilog="Example: stationpoint inspect quay.png --json -")
@click.argument("sheet", type=file_name, metavar="FILE")
@json_file
@click.option("--study", "study_file", type=file_name, metavar="FILE", help="Write the sheet's study there.")
@click.option("--redraw", type=file_name, metavar="FILE", help="Draw the same sheet again there.")
@click.option("--folder", type=file_name, metavar="FOLDER", help="Where the study's scene is, for --redraw.")
@force
@engine
def inspect(sheet: str, **chosen: Unpack[InspectOptions]) -> None:
    """Say what a sheet was made from; read back its record and study; draw it again."""
    from stationpoint.cli.actions import inspect as action

    action.inspect(sheet, chosen)


@click.command(
    epilog="Example: stationpoint handoff quay.study.toml --handed left --up z --unit cm -o camera.json"
)
@study_file
@click.option(
    "-o",
    "--output",
    type=file_name,
    metavar="FILE",
    help="Where they go: .json with its check points beside it, .glb, .gltf or .usda; FILE.camera.json "
    "beside the study if not given.",
)
@click.option(
    "--variant",
    "labels",
    metavar="LABEL",
    multiple=True,
    help="Hand off this one: B3, 2-B3 or its key. Repeatable.",
)
@click.option("--with-level", is_flag=True, help="Put the level into a .glb, .gltf or .usda, too.")
@port
@changes
@other_camera
@force
def handoff(study: str, **chosen: Unpack[HandoffOptions]) -> None:
    """Write the chosen camera, without a decision all, for those who port it.

    Axes, unit, clip space and signs are those asked for, and all of them stand in the file, with eight check
    points and their pixels (FILE.points.csv has them as a table): check-port says whether a port agrees.
    """
    from stationpoint.cli.actions import handoff as action

    action.handoff(study, chosen)


@click.command("check-port", epilog="Example: stationpoint check-port engine.csv camera.json")
@click.argument("table", type=file_name, metavar="ENGINE.csv")
@click.argument("handed", type=file_name, metavar="CAMERA.json")
@click.option(
    "--tolerance",
    "tolerance_px",
    type=click.FloatRange(min=0.0, min_open=True),
    metavar="PX",
    default=0.25,
    show_default=True,
    help="How far off a pixel may be.",
)
def check_port(table: str, handed: str, **chosen: Unpack[CheckPortOptions]) -> int:
    """Say whether a port draws the check points of a hand-off where they belong, or what it mistakes.

    ENGINE.csv has a line for each point: name, x_px, y_px and, if known, depth. Exit code 0 if it agrees,
    1 if not.
    """
    from stationpoint.cli.actions import check_port as action

    return action.check_port(table, handed, chosen)
