"""Commands that answer: check, measure, inspect."""

from __future__ import annotations

import click

from stationpoint.cli.options import changes, engine, study_file


@click.command(epilog="Example: stationpoint check quay.study.toml")
@study_file
@changes
def check(study: str, **chosen: object) -> None:
    """Read a study, scene or mesh and say what is in it; draw nothing."""
    from stationpoint.cli import work

    work.check(study, work.chosen_from(chosen))


@click.command(epilog="Example: stationpoint measure quay.study.toml --only gaps,axes --json -")
@study_file
@changes
@click.option("--only", metavar="GROUPS", help="Reading groups, by commas: targets, gaps, axes, framing ...")
@click.option("--json", "json_file", metavar="FILE", help="Write the record there (- is standard output).")
@click.option("--csv", "csv_file", metavar="FILE", help="Write the readings as a table there.")
@engine
def measure(study: str, **chosen: object) -> None:
    """Measure every variant of a study and draw no sheet."""
    from stationpoint.cli import work

    work.measure(study, work.chosen_from(chosen))


@click.command(epilog="Example: stationpoint inspect quay.png --json -")
@click.argument("sheet", metavar="FILE")
@click.option("--json", "json_file", metavar="FILE", help="Write the sheet's record there (- is standard output).")
@click.option("--study", "study_file", metavar="FILE", help="Write the sheet's study there.")
@click.option("--redraw", metavar="FILE", help="Draw the same sheet again there.")
@click.option("--folder", metavar="FOLDER", help="Where the study's scene is, for --redraw.")
@engine
def inspect(sheet: str, **chosen: object) -> None:
    """Say what a sheet was made from; read back its record and study; draw it again."""
    from stationpoint.cli import work

    work.inspect(sheet, work.chosen_from(chosen))
