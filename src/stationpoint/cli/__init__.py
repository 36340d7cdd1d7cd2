"""The command `stationpoint`: names of commands, exit codes, the one place that catches errors.

Only click and errors are imported here, so that --help is quick; each command imports what it
needs inside its body.
"""

from __future__ import annotations

import os
import sys
from importlib import import_module
from typing import NoReturn

import click

from stationpoint import __version__
from stationpoint.errors import StationpointError

COMMANDS = {
    "demo": ("stationpoint.cli.make", "demo"),
    "start": ("stationpoint.cli.make", "start"),
    "check": ("stationpoint.cli.answer", "check"),
    "sheet": ("stationpoint.cli.make", "sheet"),
    "measure": ("stationpoint.cli.answer", "measure"),
    "inspect": ("stationpoint.cli.answer", "inspect"),
    "mesh": ("stationpoint.cli.make", "mesh"),
}
STOPPED = 130
FAULT = 70


class LateGroup(click.Group):
    """A group that imports a command when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of all commands, in the order of use."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, or None."""
        if cmd_name not in COMMANDS:
            return None
        module, name = COMMANDS[cmd_name]
        command: click.Command = getattr(import_module(module), name)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does it, with the nearest command named where there is none."""
        from stationpoint.words import nearest

        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            close = nearest(args[0], list(COMMANDS))
            meant = f'did you mean "{close}"?' if close else f"there are {', '.join(COMMANDS)}."
            raise click.UsageError(f'There is no command "{args[0]}"; {meant}', ctx)
        return super().resolve_command(ctx, args)


@click.group(cls=LateGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="stationpoint")
def stationpoint() -> None:
    """Draw contact sheets of camera variants and measure what a player could tell from each.

    \b
    First steps:
      stationpoint demo                      draw a sheet of a demo study
      stationpoint start level.glb           write a first study for your own level
      stationpoint sheet level.study.toml    draw its sheet, with its readings beside it

    Exit codes: 0 done; 2 the input is wrong; 3 the machine lacks something.
    """


def say(message: str) -> None:
    """A line on standard error."""
    click.echo(message, err=True)


def main() -> NoReturn:
    """Run the command line; every error that a person can meet ends as a sentence and a code."""
    try:
        stationpoint(standalone_mode=False)
    except click.exceptions.Exit as done:
        sys.exit(done.exit_code)
    except (KeyboardInterrupt, click.Abort):
        say("Stopped; nothing more was written.")
        sys.exit(STOPPED)
    except click.ClickException as wrong:
        wrong.show()
        sys.exit(2)
    except StationpointError as wrong:
        say(str(wrong))
        sys.exit(wrong.exit_code)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except MemoryError:
        say("There is not enough memory for this; draw fewer variants, or a smaller --cell-width.")
        sys.exit(3)
    except OSError as error:
        say(f"{error.filename or 'A file'} cannot be used: {error.strerror or error}.")
        sys.exit(2)
    except Exception as error:
        if os.environ.get("STATIONPOINT_TRACE"):
            raise
        say(
            f"stationpoint has a fault of its own here ({type(error).__name__}: {error}); "
            "nothing was written. Set STATIONPOINT_TRACE=1 to see where."
        )
        sys.exit(FAULT)
    sys.exit(0)
