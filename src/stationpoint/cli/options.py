"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])

EPILOG = "Every study key, option and reading is explained in the project's docs folder."


def _stacked(*options: Callable[[Any], Any]) -> Callable[[Command], Command]:
    def decorate(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return decorate


study_file = click.argument("study", metavar="FILE", type=click.Path(path_type=str))

changes = _stacked(
    click.option("--set", "sets", metavar="KEY=VALUE", multiple=True,
                 help="Change one key of the study, such as camera.pitch_deg=30. Repeatable."),
    click.option("--rows", metavar="FIELD=A,B", help="Sweep down: rows of the sheet. FIELD= ends a sweep."),
    click.option("--columns", metavar="FIELD=A,B", help="Sweep across; ranges as pitch_deg=10:40:10."),
    click.option("--pages", metavar="FIELD=A,B", help="Sweep over pages."),
    click.option("--hold", type=click.Choice(["nothing", "subject-scale", "subject-height"]),
                 help="What stays equal while the lens changes."),
    click.option("--place", "places", metavar="NAME", multiple=True, help="Only this place. Repeatable."),
    click.option("--viewing", "viewings", metavar="NAME", multiple=True,
                 help="Only this viewing. Repeatable."),
)  # fmt: skip

engine = _stacked(
    click.option("--renderer", type=click.Choice(["auto", "gl", "rays"]), default="auto", show_default=True,
                 help="OpenGL, or rays where there is no OpenGL."),
    click.option("--workers", type=click.IntRange(1, 64), default=1, show_default=True,
                 help="Processes that draw; the output is the same."),
    click.option("--quiet", is_flag=True, help="No progress and no list of files."),
)  # fmt: skip
