"""Commands that answer: check, measure, judge, chart, inspect."""

from __future__ import annotations

from typing import Unpack

import click

from stationpoint.cli.options import (
    Changes,
    ChartOptions,
    InspectOptions,
    JudgeOptions,
    MeasureOptions,
    changes,
    csv_file,
    engine,
    file_name,
    force,
    json_file,
    only,
    study_file,
)


@click.command(epilog="Example: stationpoint check quay.study.toml")
@study_file
@changes
def check(study: str, **chosen: Unpack[Changes]) -> None:
    """Read a study, scene or mesh and say what is in it; draw nothing."""
    from stationpoint.cli.actions import check as action

    action.check(study, chosen)


@click.command(epilog="Example: stationpoint measure quay.study.toml --only gaps,axes --json -")
@study_file
@changes
@only
@json_file
@csv_file
@force
@engine
def measure(study: str, **chosen: Unpack[MeasureOptions]) -> None:
    """Measure every variant of a study and draw no sheet.

    The record goes to standard output unless --json or --csv name files.
    """
    from stationpoint.cli.actions import measure as action

    action.measure(study, chosen)


@click.command(epilog="Example: stationpoint judge quay.study.toml --every")
@study_file
@changes
@click.option(
    "--variant",
    "labels",
    metavar="LABEL",
    multiple=True,
    help="It must hold: B3, 2-B3 or its key. Repeatable.",
)
@click.option("--every", is_flag=True, help="Every variant must hold; else one is enough.")
@json_file
@force
@engine
def judge(study: str, **chosen: Unpack[JudgeOptions]) -> int:
    """Hold every variant against the study's limits, its worst place and viewing deciding.

    Exit code 0 if a variant holds (every one with --every, the named ones with --variant), else 1.
    """
    from stationpoint.cli.actions import judge as action

    return action.judge(study, chosen)


@click.command(
    epilog="Example: stationpoint chart quay.study.toml --reading gaps.hop.scale_ratio --against focal_mm"
)
@study_file
@click.option(
    "--reading", required=True, metavar="PATH", help="The reading, as records name it; * is any name."
)
@click.option("--against", metavar="FIELD", help="The swept field; that of the columns if not given.")
@click.option("-o", "--output", type=file_name, metavar="FILE", help="The picture: .png or .svg.")
@changes
@force
@engine
def chart(study: str, **chosen: Unpack[ChartOptions]) -> None:
    """Draw a reading against a swept field: a line for each row, the brief's limits drawn."""
    from stationpoint.cli.actions import chart as action

    action.chart(study, chosen)


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
