"""The errors that a person is meant to read.

StationpointError
├── StudyWrong      exit code 2: the input is wrong (study, scene, mesh, option); nothing was written
└── MachineLacks    exit code 3: the machine lacks something; the hint says what to install
    └── NoOpenGl    rays may take its place

Each carries one or more complete sentences: what is wrong, where, what to do.
"""

from __future__ import annotations


class StationpointError(Exception):
    """An error with an exit code and a hint; picklable, so that it crosses process borders.

    message: one sentence, or several complaints separated by line breaks.
    hint: what to do about it, or "".
    """

    exit_code = 2

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message, hint)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message}\n{self.hint}" if self.hint else self.message


class StudyWrong(StationpointError):
    """The input is wrong: a study, a scene, a mesh or an option."""

    exit_code = 2


class MachineLacks(StationpointError):
    """The machine lacks something that the work needs: a driver, a library, room on the disk."""

    exit_code = 3


class NoOpenGl(MachineLacks):
    """There is no OpenGL to draw with; rays need none."""
