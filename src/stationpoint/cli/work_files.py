"""What `start` and `mesh` do: files written from files, nothing drawn."""

from __future__ import annotations

import os
from pathlib import Path

import click

from stationpoint.cases import file_camera
from stationpoint.cli import say
from stationpoint.cli.work import Outputs, first_study, inputs_of, stem_of
from stationpoint.errors import StudyWrong
from stationpoint.prepare import prepare
from stationpoint.scene.export import glb_bytes
from stationpoint.scene.file import read_scene
from stationpoint.study.file import read_study, what_is
from stationpoint.study.start import start_text

WITHIN = (
    "Walls are all around the subject, so the camera stays within them. To look in from outside, name "
    'the mesh in a scene file with backs = "open", and start from that.'
)


def start(file: str, output: str | None, force: bool) -> None:
    """Write a first study for a scene or mesh file."""
    path = Path(file)
    if what_is(path) == "study":
        raise StudyWrong(f"{path} is a study already; draw it with: stationpoint sheet {path}")
    to = Path(output) if output else path.with_name(f"{stem_of(path)}.study.toml")
    if to.is_dir():
        to = to / f"{stem_of(path)}.study.toml"
    if to.suffix.lower() != ".toml":
        raise StudyWrong(f"{to}: a study is a TOML file; name it with the ending .study.toml.")
    outputs = Outputs([path])
    outputs.claim([to])
    if to.exists() and not force:
        raise StudyWrong(f"{to} is there already; name another file with -o, or write over it with --force.")
    scene = read_scene(path)
    study = first_study(_from_folder(to.parent, path), scene)
    outputs.add(to, start_text(study).encode())
    for note in scene.notes:
        say(note)
    outputs.deliver(quiet=True)
    click.echo(f"Wrote {to}. Draw it with: stationpoint sheet {_quoted(to)}")
    if study.sweep.hold == "nothing":
        click.echo(WITHIN)


def _from_folder(folder: Path, path: Path) -> str:
    """The path as a file in `folder` names it."""
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:  # another drive
        return path.resolve().as_posix()


def _quoted(path: Path) -> str:
    words = str(path)
    return f'"{words}"' if any(letter.isspace() for letter in words) else words


def mesh(file: str, output: str | None) -> None:
    """Write a scene, or a study's scene and its camera, as a GLB."""
    path = Path(file)
    is_study = what_is(path) == "study"
    to = Path(output) if output else path.with_name(f"{stem_of(path)}.glb")
    if to.suffix.lower() != ".glb":
        raise StudyWrong(f"{to}: a mesh is written as a GLB; name it with the ending .glb.")
    study = read_study(path) if is_study else None
    outputs = Outputs([path] if study is None else inputs_of(path, study))
    outputs.claim([to])
    if output is None and to.exists():
        raise StudyWrong(f"{to} is there already; name the file to write with -o.")
    scene = read_scene(path if study is None else path.parent / study.scene)
    cameras = [] if study is None else [file_camera(prepare(study, path.parent, scene))]
    outputs.add(to, glb_bytes(scene, cameras))
    outputs.deliver(quiet=True)
    click.echo(f"Wrote {to}.")
