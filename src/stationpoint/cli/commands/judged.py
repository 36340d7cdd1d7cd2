"""The commands that read, measure and judge a study, compare it, search it and keep a decision."""

from __future__ import annotations

from typing import Unpack

import click

from stationpoint.cli.options import (
    CheckOptions,
    ChooseOptions,
    CompareOptions,
    JudgeOptions,
    MeasureOptions,
    SolveOptions,
    alone,
    cell_width,
    changes,
    csv_file,
    engine,
    executor,
    file_name,
    force,
    json_file,
    junit_file,
    markdown_file,
    only,
    other_camera,
    page_file,
    settings,
    study_file,
    tolerances,
)


@click.command(epilog="Example: stationpoint check quay.study.toml")
@study_file
@changes
@click.option(
    "--nodes",
    metavar="PATTERN",
    help='List nodes by name instead, such as "chair*": sizes, heights, the floors under them.',
)
def check(study: str, **chosen: Unpack[CheckOptions]) -> None:
    """Read a study, scene or mesh and say what is in it; draw nothing."""
    from stationpoint.cli.actions import check as action

    action.check(study, chosen)


@click.command(epilog="Example: stationpoint measure quay.study.toml --only gaps,axes --json -")
@study_file
@changes
@other_camera
@only
@json_file
@csv_file
@force
@engine
@executor
def measure(study: str, **chosen: Unpack[MeasureOptions]) -> None:
    """Measure every variant of a study and draw no sheet.

    The record goes to standard output unless --json or --csv name files.
    """
    from stationpoint.cli.actions import measure as action

    action.measure(study, chosen)


@click.command(epilog="Example: stationpoint judge quay.study.toml --every")
@click.argument("studies", type=file_name, metavar="FILE...", nargs=-1, required=True)
@changes
@other_camera
@click.option(
    "--variant",
    "labels",
    metavar="LABEL",
    multiple=True,
    help="It must hold: B3, 2-B3 or its key. Repeatable.",
)
@click.option("--every", is_flag=True, help="Every variant must hold.")
@click.option(
    "--baseline",
    type=file_name,
    metavar="FILE",
    help="A record of before; what got worse since is told, and ends with 1. Of several studies a folder.",
)
@click.option("--accept", is_flag=True, help="Write the record of now to the baseline, for the next time.")
@tolerances
@click.option(
    "--cache",
    type=file_name,
    metavar="FOLDER",
    help="Keep what was judged there; a level that has not changed is not drawn again.",
)
@click.option(
    "-o",
    "--output",
    type=file_name,
    metavar="FILE",
    help="Draw a sheet with a row a study, the worst first: .png, .svg or .pdf.",
)
@page_file
@json_file
@junit_file
@markdown_file
@force
@engine
@executor
def judge(studies: tuple[str, ...], **chosen: Unpack[JudgeOptions]) -> int:
    """Hold every variant against the study's limits, its worst place and viewing deciding.

    Of several studies, and with --cache or -o, a line a study is printed, the worst first; a study that is
    wrong stops none of the others.

    Exit code 0 if the chosen variant holds, without a decision any (every one with --every, the named
    ones with --variant), else 1. Of several studies each is judged, past those that cannot be read, which
    end with 2.
    """
    from stationpoint.cli.actions import judge_several as action

    if action.is_of_levels(studies, chosen):
        from stationpoint.cli.actions import levels

        return levels.judge_levels(studies, chosen)
    return action.judge_several(studies, chosen)


@click.command(epilog="Example: stationpoint compare before.json quay.study.toml --json changes.json")
@click.argument("before", type=file_name, metavar="BEFORE")
@click.argument("after", type=file_name, metavar="AFTER")
@click.option(
    "--study",
    "study_file",
    type=file_name,
    metavar="FILE",
    help="The study by which two builds of a level are measured.",
)
@click.option(
    "--reading",
    "readings",
    metavar="PATTERN",
    multiple=True,
    help="Compare only these, such as targets.*.size_px. Repeatable.",
)
@click.option("--all", "everything", is_flag=True, help="Compare every reading, as of two records.")
@tolerances
@click.option(
    "-o",
    "--output",
    type=file_name,
    metavar="FILE",
    help="Draw what changed there (.png, .svg or .pdf), before, after and where they differ: of studies "
    "and builds.",
)
@changes
@cell_width
@page_file
@json_file
@junit_file
@markdown_file
@force
@engine
def compare(before: str, after: str, **chosen: Unpack[CompareOptions]) -> int:
    """Say what changed between two records, sheets, studies, or builds of a level.

    Of two records, sheets among them, all is compared that both hold. Else verdicts, what the brief bounds,
    what is seen of subject, targets and landings, and the verdicts on gaps. Exit code 1 if anything changed
    or is gone, else 0, and nothing is said.
    """
    from stationpoint.cli.actions import compare as action

    return action.compare(before, after, chosen)


@click.command(epilog='Example: stationpoint choose quay.study.toml B3 --because "the landing shows" --by AK')
@click.argument("study", type=file_name, metavar="STUDY")
@click.argument("variant", metavar="VARIANT", required=False)
@click.option("--because", metavar="WORDS", help="Why this one.")
@click.option("--by", metavar="NAME", help="Who decided.")
@click.option("--on", metavar="DATE", help="When, as it is to be written; there is no clock in here.")
@click.option(
    "--from",
    "reviews",
    type=file_name,
    metavar="FILE",
    multiple=True,
    help="Notes and a choice that were saved from a page for review. Repeatable.",
)
def choose(study: str, variant: str | None, **chosen: Unpack[ChooseOptions]) -> None:
    """Keep a decision in a study: VARIANT is a label (B3, 2-B3) or a key.

    The study gets a [decision] with the variant's key; all else in it stays as it is written. A decision
    that is there already is replaced. With --from the notes of reviews are put into it too, and their
    choice if they agree on one and no VARIANT is named.
    """
    if variant is None and not chosen["reviews"]:
        raise click.UsageError("Missing argument 'VARIANT'.")
    if variant is not None and chosen["because"] is None:
        raise click.UsageError("Missing option '--because'.")
    from stationpoint.cli.actions import choose as action

    action.choose(study, variant, chosen)


@click.command(
    epilog=(
        "Example: stationpoint solve quay.study.toml --vary hfov_deg=50:100 "
        '--until "gaps.hop.scale_ratio <= 1.4"'
    )
)
@study_file
@click.option(
    "--vary",
    metavar="FIELD=LOW:HIGH",
    multiple=True,
    required=True,
    help="A range to search, as in distance_m=4:12. Repeatable.",
)
@click.option(
    "--until",
    metavar="LIMIT",
    multiple=True,
    help='What must hold, as in "targets.crate.seen >= 0.6" (<=; is WORD; not WORD); the musts of the '
    "study's brief if not given. Repeatable.",
)
@click.option(
    "--most",
    type=click.IntRange(24, 20000),
    metavar="N",
    default=400,
    show_default=True,
    help="Fewer set-ups than this are tried.",
)
@settings
@click.option(
    "-o", "--output", type=file_name, metavar="FILE", help="Draw the best as a sheet, or into a folder."
)
@click.option(
    "--map",
    "map_file",
    type=file_name,
    metavar="FILE",
    help="Of two fields: a map of what holds and which limit bounds it (.png or .svg).",
)
@cell_width
@json_file
@alone
@force
@engine
def solve(study: str, **chosen: Unpack[SolveOptions]) -> int:
    """Find the camera set-ups within ranges that hold the brief, the worst place and viewing deciding.

    One field is answered by its limit and the range that holds; several by the best set-ups that differ.
    Exit code 1 if none is found; then it says which limit to give up, and what holds without it.
    """
    from stationpoint.cli.actions import solve as action

    return action.solve(study, chosen)
