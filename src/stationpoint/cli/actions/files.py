"""What `start` and `mesh` do: files written from files, nothing drawn."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from stationpoint.base.errors import StudyWrong
from stationpoint.cli import say, tell
from stationpoint.cli.actions.outputs import MESH, STUDY, Outputs
from stationpoint.cli.actions.work import bare_scene, first_study, stem_of
from stationpoint.run import file_camera, prepare_study
from stationpoint.scene import glb_bytes, read_scene
from stationpoint.study import kind_text, read_study, start_text, study_from_text, study_text, what_is

WITHIN = (
    "Walls are all around the subject, so the camera stays within them. To look in from outside, say "
    'backs = "open", or hide = ["CEILING*"], under [mesh] of the study (in its [[mesh]] for a scene file).'
)


def start(file: str, output: str | None, sets: Sequence[str], kind: str | None, force: bool) -> None:
    """Write a first study for a scene or mesh file; kind: of which kind of camera, None for any."""
    path = Path(file)
    if what_is(path) == "study":
        raise StudyWrong(f"{path} is a study already; draw it with: stationpoint sheet {path}")
    to = Path(output) if output else path.with_name(f"{stem_of(path)}.study.toml")
    if to.is_dir():
        to = to / f"{stem_of(path)}.study.toml"
    scene, guess, rest = bare_scene(path, sets)
    outputs = Outputs(force)
    outputs.claim(to, STUDY)
    study, said = first_study(_from_folder(to.parent, path), scene, guess.keys, kind)
    if rest:
        study = study_from_text(study_text(study), path.name, rest)
    text = start_text(study) if kind is None else kind_text(study, kind)
    outputs.add(to, STUDY, text.encode())
    say(*scene.notes, *said)
    outputs.deliver(quiet=True)
    tell(f"Wrote {to}. Draw it with: stationpoint sheet {_quoted(to)}")
    if kind is None and study.sweep.hold == "nothing" and study.camera.from_ is None:
        tell(WITHIN)


def _from_folder(folder: Path, path: Path) -> str:
    """The path as a file in `folder` names it."""
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:  # another drive
        return path.resolve().as_posix()


def _quoted(path: Path) -> str:
    words = str(path)
    return f'"{words}"' if any(letter.isspace() for letter in words) else words


def mesh(file: str, output: str | None, force: bool) -> None:
    """Write a scene, or a study's scene and its camera, as a GLB."""
    path = Path(file)
    study = read_study(path) if what_is(path) == "study" else None
    to = Path(output) if output else path.with_name(f"{stem_of(path)}.glb")
    scene = read_scene(path) if study is None else read_scene(path.parent / study.scene, study.mesh_keys)
    cameras = [] if study is None else [file_camera(prepare_study(study, path.parent, scene))]
    outputs = Outputs(force)
    outputs.claim(to, MESH)
    outputs.add(to, MESH, glb_bytes(scene, cameras))
    outputs.deliver(quiet=True)
    tell(f"Wrote {to}.")
