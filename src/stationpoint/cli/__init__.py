"""The command `stationpoint`: names of commands, exit codes, the one place that catches errors.

Only click and errors are imported here, so that --help is quick; each command imports what it
needs inside its body.
"""

from __future__ import annotations

import errno
import gc
import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from typing import Any, NoReturn, TextIO

import click

from stationpoint import __version__
from stationpoint.base.errors import StationpointError
from stationpoint.base.inputs import noting
from stationpoint.base.words import nearest, short_of, visible
from stationpoint.cli.stops import Stopped, settle, stoppable, stopped_by

__all__ = ["main"]

COMMANDS = {  # the file of commands/ that each stands in, in the order of use
    "demo": "drawn",
    "start": "files",
    "check": "judged",
    "sheet": "drawn",
    "measure": "judged",
    "judge": "judged",
    "compare": "judged",
    "choose": "judged",
    "page": "drawn",
    "watch": "drawn",
    "solve": "judged",
    "twins": "drawn",
    "chart": "drawn",
    "inspect": "files",
    "mesh": "files",
    "handoff": "files",
    "check-port": "files",
}
DONE, WRONG, LACKING, FAULT, STOPPED = 0, 2, 3, 70, 130
OBJECTS_BEFORE_SWEEP = 200_000
MOST_WORDS = 400  # letters, of an error that was not written for people


class Unread(Exception):
    """The reader of our output has gone, as `head` does: the call ends, and nothing is wrong."""


@contextmanager
def _own_ends() -> Iterator[None]:
    """What click would end with a code of its own ends as Unread."""
    try:
        yield
    except BrokenPipeError:
        raise Unread from None


class LateGroup(click.Group):
    """A group that imports a command when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of all commands, in the order of use."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, or None."""
        if cmd_name not in COMMANDS:
            return None
        file = import_module(f"stationpoint.cli.commands.{COMMANDS[cmd_name]}")
        command: click.Command = getattr(file, cmd_name.replace("-", "_"))
        return command

    def invoke(self, ctx: click.Context) -> object:
        """As click does it, but for its own ways to end."""
        with _own_ends():
            return super().invoke(ctx)

    def make_context(
        self, info_name: str | None, args: list[str], parent: click.Context | None = None, **extra: Any
    ) -> click.Context:
        """As click does it, but for its own ways to end."""
        with _own_ends():
            return super().make_context(info_name, args, parent, **extra)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does it, with the nearest command named where there is none."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            close = nearest(args[0], list(COMMANDS))
            meant = f'did you mean "{close}"?' if close else f"there are {', '.join(COMMANDS)}."
            if os.path.isfile(args[0]):
                meant = f"a file follows its command, as in: stationpoint check {args[0]}"
            raise click.UsageError(f'There is no command "{args[0]}"; {meant}', ctx)
        return super().resolve_command(ctx, args)


@click.group(
    cls=LateGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, prog_name="stationpoint")
def stationpoint() -> None:
    """Draw contact sheets of camera variants and measure what a player could tell from each.

    \b
    First steps:
      stationpoint demo                      draw a sheet of a demo study
      stationpoint start level.glb           write a first study for your own level
      stationpoint sheet level.study.toml    draw its sheet, with its readings beside it

    Exit codes: 0 done; 1 it does not hold, or has changed, or nothing found; 2 the input is wrong; 3 the
    machine lacks something; 130 stopped.

    \b
    Completion for bash (zsh and fish alike):
      eval "$(_STATIONPOINT_COMPLETE=bash_source stationpoint)"
    """


def tell(*lines: str) -> None:
    """Lines on standard output, which a terminal shows and does not obey, whatever names are in them."""
    for line in lines:
        click.echo(visible(line))


def say(*lines: str) -> None:
    """As `tell`, on standard error, where a flood is cut short; nothing where nobody can read it any more:
    the work goes on."""
    with suppress(OSError):
        for line in short_of(lines):
            click.echo(visible(line), err=True)


def main() -> NoReturn:
    """Run the command line; every error that a person can meet ends as a sentence and a code.

    The code stands whatever becomes of the streams: what they have not taken is given up here, since
    the interpreter would try once more as it ends, and end with 120.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # names may hold what a terminal cannot show
    with stoppable(), noting():
        try:
            gc.set_threshold(OBJECTS_BEFORE_SWEEP)  # a call is short and makes few cycles: 6 % of its time
            os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # no matrix here is worth a second thread
            os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # none may change what a study says
            code = stationpoint(prog_name="stationpoint", standalone_mode=False)
            if sys.stdout is not None:
                with suppress(BrokenPipeError):
                    sys.stdout.flush()
        except SystemExit as end:
            code = end.code
        except BaseException as error:
            settle()
            if os.environ.get("STATIONPOINT_TRACE"):
                raise
            code = _told(stopped_by(error))
    _give_up_unwritten()
    gc.freeze()  # all is given back as the process ends: no sweep before
    sys.exit(code if isinstance(code, int) else DONE)


def _told(error: BaseException) -> int:
    """The exit code of an error, which has been told on standard error."""
    if isinstance(error, StationpointError):
        say(*str(error).split("\n"))
        return error.exit_code
    if isinstance(error, click.ClickException):
        if isinstance(error, click.UsageError) and error.ctx is not None:
            error.ctx.color = True  # else click takes out of the words what colours a terminal
        shown = io.StringIO()
        error.show(shown)
        say(*shown.getvalue().rstrip("\n").split("\n"))
        return WRONG
    if isinstance(error, Stopped | click.Abort):
        say("Stopped; nothing more was written.")
        _silence(sys.stdout)
        return error.code if isinstance(error, Stopped) else STOPPED
    if isinstance(error, Unread | BrokenPipeError):
        return DONE
    if isinstance(error, MemoryError):
        say("There is not enough memory for this; draw fewer variants, or with a smaller --cell-width.")
        return LACKING
    if isinstance(error, RuntimeError) and "start new thread" in str(error):
        say("No more threads can be started here; raise the limit (ulimit -u), or end other programs.")
        return LACKING
    if isinstance(error, OSError):
        say(f"{error.filename or 'Standard output'} cannot be used: {error.strerror or error}.")
        return LACKING if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.ENOMEM, errno.EIO) else WRONG
    words = " ".join(str(error).split())[:MOST_WORDS]
    say(
        f"stationpoint has a fault of its own here ({type(error).__name__}: {words}). "
        "Set STATIONPOINT_TRACE=1 to see where, and please report it."
    )
    return FAULT


def _give_up_unwritten() -> None:
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream is not None:
                stream.flush()
        except OSError:
            _silence(stream)


def _silence(stream: TextIO | None) -> None:
    """Let nothing more be written to a stream that takes nothing more, at exit included."""
    with suppress(OSError, ValueError, AttributeError):
        if stream is not None:
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
