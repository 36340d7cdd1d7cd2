"""The commands: their arguments, options and help. What each does lies in actions/, imported when it runs."""

from __future__ import annotations

from typing import Unpack

import click

from stationpoint.cli.options import (
    KINDS,
    LAYOUTS,
    LEAST_CELL_PX,
    MATERIALS,
    MODES,
    MOST_CELL_PX,
    SHOWN,
    TWINS,
    ChartOptions,
    CheckOptions,
    CheckPortOptions,
    ChooseOptions,
    CompareOptions,
    DemoOptions,
    HandoffOptions,
    InspectOptions,
    JudgeOptions,
    MeasureOptions,
    NearChoice,
    PageOptions,
    SheetOptions,
    SolveOptions,
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
    junit_file,
    markdown_file,
    only,
    other_camera,
    page_file,
    port,
    renderer,
    settings,
    study_file,
    text_file,
    tolerances,
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
