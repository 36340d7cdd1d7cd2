"""What the commands' bodies share: a file made ready, the engine chosen, progress.

Everything heavy is imported from here on; the commands import this inside their bodies.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import TypeVar

import click

from stationpoint.base.errors import NoOpenGl
from stationpoint.camera import backward_axis, middle_on_floor
from stationpoint.cli import say
from stationpoint.cli.options import Changes, Engine
from stationpoint.readings import Result
from stationpoint.render import fallback_words
from stationpoint.run import Prepared, Wants, cases_to_draw, must_draw, prepare_study, sweep_variants
from stationpoint.scene import Scene, free_distance_m, read_scene
from stationpoint.study import (
    Study,
    default_study,
    read_text,
    study_from_text,
    study_text,
    subject_height_m,
    what_is,
)

STUDY_ENDS = (".study.toml", ".toml")
TENTHS = 10
AUTO, GL, RAYS = "auto", "gl", "rays"
Drawn = TypeVar("Drawn")


def stem_of(path: Path) -> str:
    """A file's name without the endings of studies, scenes and meshes."""
    for end in STUDY_ENDS:
        if path.name.endswith(end) and path.name != end:
            return path.name.removesuffix(end)
    return path.stem


def ready(path: Path, changes: Changes) -> Prepared:
    """The study of a file, ready to draw; of a scene or mesh file, the default one."""
    study, scene = study_of(path, changes)
    return prepare_study(study, path.parent, scene)


def study_of(path: Path, changes: Changes) -> tuple[Study, Scene | None]:
    """The study of a file; of a scene or mesh file the default one, and the scene, which was read."""
    scene = None
    if what_is(path) == "study":
        text = read_text(path)
    else:
        scene = read_scene(path)
        text = study_text(first_study(path.name, scene))
    study = study_from_text(
        text,
        path.name,
        changes["sets"],
        rows=changes["rows"],
        columns=changes["columns"],
        pages=changes["pages"],
        hold=changes["hold"],
        place=changes["places"],
        viewing=changes["viewings"],
    )
    return study, scene


def first_study(name: str, scene: Scene) -> Study:
    """The default study of a scene: a stand-in at its middle on its floor. name: as the study names it."""
    height = subject_height_m(scene)
    foot = middle_on_floor(scene, height)

    def free(point_m: tuple[float, float, float], yaw_deg: float, pitch_deg: float) -> float:
        return free_distance_m(scene, point_m, backward_axis(yaw_deg, pitch_deg))

    return default_study(name, scene, (float(foot[0]), float(foot[1]), float(foot[2])), free)


class Drawer:
    """Who draws: the renderer that was asked for. Of "auto" OpenGL; where it proves not to work, rays
    for the rest of the call, and a line on standard error that says so."""

    def __init__(self, wanted: str) -> None:
        self._may_change = wanted == AUTO
        self.name = GL if self._may_change else wanted

    def __call__(self, draw: Callable[[str], Drawn]) -> Drawn:
        """What `draw` makes with the renderer."""
        try:
            return draw(self.name)
        except NoOpenGl as lack:
            if not self._may_change:
                raise
            say(fallback_words(lack))
        self._may_change, self.name = False, RAYS
        return draw(self.name)


def swept(prepared: Prepared, wants: Wants, chosen: Engine) -> tuple[list[Result], str | None]:
    """All results of a study, and the renderer that drew, None where nothing had to be drawn."""

    def drawn_by(name: str) -> list[Result]:
        with progress_of(chosen)(cases_to_draw(prepared)) as done:
            return sweep_variants(prepared, wants, name, chosen["workers"], done)

    drawer = Drawer(chosen["renderer"])
    results = drawer(drawn_by)
    return results, drawer.name if must_draw(wants) else None


def progress_of(engine: Engine) -> Callable[[int], AbstractContextManager[Callable[[], None]]]:
    """How progress is told: a bar on a terminal, lines where it is asked for, else nothing."""

    @contextmanager
    def told(count: int) -> Iterator[Callable[[], None]]:
        if engine["quiet"] or not count:
            yield lambda: None
        elif sys.stderr is not None and sys.stderr.isatty():
            with click.progressbar(length=count, label="Drawing", file=sys.stderr) as bar:
                yield lambda: bar.update(1)
        elif engine["progress"]:
            yield _told_in_lines(count)
        else:
            yield lambda: None

    return told


def _told_in_lines(count: int) -> Callable[[], None]:
    done = 0

    def one_more() -> None:
        nonlocal done
        done += 1
        if done * TENTHS // count > (done - 1) * TENTHS // count:
            say(f"{done} of {count} drawn.")

    return one_more
