"""What the commands' bodies share: a file made ready, the engine chosen, progress.

Everything heavy is imported from here on; the commands import this inside their bodies.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

import click

from stationpoint.base.allowed import quoted_value
from stationpoint.base.errors import NoOpenGl, StudyWrong
from stationpoint.camera import backward_axis, middle_on_floor
from stationpoint.cli import say
from stationpoint.cli.options import Changes, Engine
from stationpoint.readings import Result
from stationpoint.render import fallback_words
from stationpoint.run import (
    Gathered,
    Prepared,
    Wants,
    cases_to_draw,
    must_draw,
    prepare_study,
    sweep_batches,
    sweep_variants,
)
from stationpoint.scene import (
    Guess,
    Scene,
    free_distance_m,
    read_bare,
    share_in_sight,
    standing_spots,
    turned_to,
)
from stationpoint.study import (
    CameraFile,
    Study,
    camera_file,
    read_text,
    study_from_text,
    study_text,
    toml_value,
    what_is,
)

STUDY_ENDS = (".study.toml", ".toml")
TENTHS = 10
NO_FLOOR = "No floor found: the subject stands at the scene's middle."
NO_TARGET = "The first camera sees nothing that is likely a thing: no target is named; add a [[target]]."
LONE = "No floor found but on its top: it is taken as one thing and looked at whole, without a subject."
NO_STUDY = "has no study: subject, targets, camera and sweep are first guesses."
AUTO, GL, RAYS = "auto", "gl", "rays"
Drawn = TypeVar("Drawn")
Point = tuple[float, float, float]


def stem_of(path: Path) -> str:
    """A file's name without the endings of studies, scenes and meshes."""
    for end in STUDY_ENDS:
        if path.name.endswith(end) and path.name != end:
            return path.name.removesuffix(end)
    return path.stem


def ready(
    path: Path,
    changes: Changes,
    fonts: Sequence[str] = (),
    camera: CameraFile | None = None,
    read: Callable[[Path, Mapping[str, Any]], Scene | None] | None = None,
) -> Prepared:
    """The study of a file, ready to draw; of a scene or mesh file, the default one. fonts: further ones,
    after the study's; their paths count from here. camera: that of `changes`, if it has been read.
    read: gives the scene of a study, as `read_scene`, where that may be at hand."""
    given = study_of(path, changes, camera=camera)
    study = given.study
    if fonts:
        lost = next((file for file in fonts if not Path(file).is_file()), None)
        if lost is not None:
            raise StudyWrong(f"--font: there is no file {quoted_value(lost)}.")
        further = tuple(str(Path(file).absolute()) for file in fonts)
        study = study.model_copy(update={"fonts": (*study.fonts, *further)})
    scene = given.scene
    if scene is None and read is not None:
        scene = read(path.parent / study.scene, study.mesh_keys)
    return prepare_study(study, path.parent, scene, given.guessed)


class Given(NamedTuple):
    """The study of a file. scene: where that stands alone, and was read. guessed: what was made up of it."""

    study: Study
    scene: Scene | None
    guessed: tuple[str, ...]


def study_of(
    path: Path, changes: Changes, sweeps_camera: bool = True, camera: CameraFile | None = None
) -> Given:
    """The study of a file; of a scene or mesh file the default one. sweeps_camera: as in study_from_text.
    camera: as of `ready`."""
    scene: Scene | None = None
    guessed: tuple[str, ...] = ()
    sets = changes["sets"]
    if what_is(path) == "study":
        text = read_text(path)
    else:
        scene, guess, sets = bare_scene(path, sets)
        first, said = first_study(path.name, scene, guess.keys)
        say(*said)
        text = study_text(first)
        guessed = (*([guess.says] if guess.says else []), f"{path.name} {NO_STUDY}", *said)
    study = study_from_text(
        text,
        path.name,
        sets,
        rows=changes["rows"],
        columns=changes["columns"],
        pages=changes["pages"],
        hold=changes["hold"],
        place=changes["places"],
        viewing=changes["viewings"],
        sweeps_camera=sweeps_camera,
        folder=path.parent,
        camera=camera or other_camera(changes),
    )
    return Given(study, scene, guessed)


def other_camera(changes: Changes) -> CameraFile | None:
    """The camera that the call puts in place of the study's, if it does. Raises StudyWrong."""
    named = changes.get("camera_file")
    if named is None:
        return None
    camera = camera_file(Path(named))
    study_from_text('scene = "any"', named, camera=camera)  # so that its mistakes are told once
    say(*camera.notes)
    return camera


def first_study(
    name: str, scene: Scene, mesh: Mapping[str, Any] | None = None, kind: str | None = None
) -> tuple[Study, tuple[str, ...]]:
    """The default study of a scene, and what is said of it: a stand-in near its middle on its floor; of a
    small thing alone a look at the whole.

    name: as the study names it. mesh: how its mesh file was taken. kind: of camera; a study of one always
    has a subject.
    """
    from stationpoint.study import Asks, default_study, is_lone, kind_study, lone_study, subject_height_m

    x, y, z = middle_on_floor(scene).tolist()
    if kind is None and is_lone(scene, (x, y, z)):
        return lone_study(name, scene, (x, y, z), mesh), (LONE,)
    height = subject_height_m(scene)
    x, y, z = middle_on_floor(scene, height).tolist()

    def free(point_m: Point, yaw_deg: float, pitch_deg: float) -> float:
        return free_distance_m(scene, point_m, backward_axis(yaw_deg, pitch_deg))

    def way(point_m: Point, direction: Point, but: str) -> float:
        return free_distance_m(scene, point_m, direction, {but})

    turned: dict[tuple[Point, tuple[str, ...]], Scene] = {}

    def into(eye_m: Point, points_m: Sequence[Point], node: str, covers: tuple[str, ...]) -> float:
        if (eye_m, covers) not in turned:
            turned[eye_m, covers] = turned_to(scene, eye_m, covers)
        return share_in_sight(turned[eye_m, covers], eye_m, points_m, node)

    spots = standing_spots(scene, height)
    where = spots or ((x, y, z),)
    if kind is None:
        study = default_study(name, scene, where, Asks(free, way), mesh)
    else:
        study = kind_study(kind, name, scene, where, Asks(free, way, into), mesh)
    said = () if spots else (NO_FLOOR,)
    return study, said if study.target or kind is None else (*said, NO_TARGET)


def bare_scene(path: Path, sets: Sequence[str]) -> tuple[Scene, Guess, tuple[str, ...]]:
    """The scene of a scene or mesh file alone, how the mesh was taken, and the `sets` that are left.

    What `sets` say of [mesh] is not guessed; the guess is told in one line.
    """
    ours = [words for words in sets if words.startswith("mesh.")]
    told = study_from_text(f"scene = {toml_value(path.name)}\n", path.name, ours).mesh_keys if ours else {}
    scene, guess = read_bare(path, told)
    if guess.says:
        say(guess.says)
    return scene, guess, tuple(words for words in sets if words not in ours)


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


def swept(
    prepared: Prepared, wants: Wants, chosen: Engine, drawer: Drawer | None = None
) -> tuple[list[Result], str | None]:
    """All results of a study, and the renderer that drew, None where nothing had to be drawn.

    drawer: of a call that draws more than once.
    """

    def drawn_by(name: str) -> list[Result]:
        with progress_of(chosen)(cases_to_draw(prepared)) as done:
            return sweep_variants(prepared, wants, name, chosen["workers"], done, executor_of(chosen))

    drawer = drawer or Drawer(chosen["renderer"])
    results = drawer(drawn_by)
    return results, drawer.name if must_draw(wants) else None


def gathered(
    prepared: Prepared,
    wants: Wants,
    chosen: Engine,
    drawer: Drawer | None = None,
    *,
    recorded: bool = True,
    kept: bool = True,
) -> tuple[Gathered, str | None]:
    """What all results of a study come to, and the renderer that drew, as of `swept`. recorded, kept: as in
    Gathered."""

    def drawn_by(name: str) -> Gathered:
        found = Gathered(prepared, wants.only, recorded, kept)
        with progress_of(chosen)(cases_to_draw(prepared)) as done:
            executor = executor_of(chosen)
            found.add_all(sweep_batches(prepared, wants, name, chosen["workers"], done, executor=executor))
        return found

    drawer = drawer or Drawer(chosen["renderer"])
    found = drawer(drawn_by)
    return found, drawer.name if must_draw(wants) else None


def executor_of(engine: Engine) -> str | None:
    """The address of the scheduler whose workers are asked for, None for processes here."""
    executor = engine.get("executor")
    if executor is not None and engine["workers"] is not None:
        raise StudyWrong("--workers counts processes of this machine; leave it out with --executor.")
    return executor


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
