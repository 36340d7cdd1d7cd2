"""What a study takes from other files: tables that it includes, and a camera given beside it.

Both are data laid under or over the study's own before anything is checked, each with the name of the
file that wrote it, for complaints.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

from stationpoint.base.allowed import bare, quoted_value
from stationpoint.base.complaints import Loc
from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import listed
from stationpoint.study.axes import AXES, family
from stationpoint.study.models import Study
from stationpoint.study.table import Table

INCLUDE = "include"
WHOLE = ("decision",)  # tables that are one thing: who decided what, and why
CAMERA, SWEEP, RIG = "camera", "sweep", "rig"
OF_ANOTHER = ("decision", "note")  # what a study says of the variants of its own camera
RIG_RESTS = "[rig] goes into the record; the camera is drawn at rest, as [camera] says."
Read = Callable[[Path, str], dict[str, Any]]  # a TOML file, and what complaints call it, to its data


@dataclass(frozen=True, slots=True)
class Whole:
    """A study's data with what it includes. sources: places in it that another file wrote -> its name."""

    data: dict[str, Any]
    sources: dict[Loc, str] = field(default_factory=dict)

    def source(self, place: Loc, name: str) -> str:
        """Which file wrote a key: that of `sources`, else the one named."""
        return next((self.sources[part] for part in _upwards(place) if part in self.sources), name)


class CameraFile(NamedTuple):
    """A camera for any study. tables: its [camera] and, if it has them, [sweep] and [rig]. folder: where it
    lies."""

    name: str
    folder: Path
    tables: Mapping[str, Any]
    notes: tuple[str, ...]


def with_included(data: dict[str, Any], name: str, folder: Path, read: Read) -> Whole:
    """A study's data with the tables of the file that it includes, and of those that that one includes.

    The study's own keys win: a table is filled up key by key, a list of tables, an axis and a [decision]
    are taken whole. Paths of another file are made to count from the study's folder. Raises StudyWrong.
    """
    return _filled(Whole(data), name, folder, folder, read, ((folder / name).resolve(),))


def _filled(
    own: Whole,
    name: str,
    home: Path,
    folder: Path,
    read: Read,
    way: tuple[Path, ...],
    said: Sequence[str] = (),
) -> Whole:
    words, said = own.data.get(INCLUDE), (*said, name)
    if not isinstance(words, str) or not words.strip():
        return own
    file = folder / words
    if not _is_file(file):
        raise StudyWrong(
            f"{name}: include = {quoted_value(words)} was not found; its path counts from the file that "
            "writes it."
        )
    if file.suffix.lower() != ".toml":
        raise StudyWrong(
            f"{name}: include = {quoted_value(words)} must be a TOML file, with tables of a study."
        )
    called = file.name if Path(words).is_absolute() else moved(words, folder, home)
    if file.resolve() in way:
        raise StudyWrong(
            f"{name}: include = {quoted_value(words)} leads in a circle, {', '.join((*said, called))}; "
            "take one of them out."
        )
    inner = Whole(read(file, called))
    _move_paths(inner.data, file.parent, home)
    inner = _filled(inner, called, home, file.parent, read, (*way, file.resolve()), said)
    return _over(own, inner, called)


def _over(own: Whole, under: Whole, name: str) -> Whole:
    """The data of two files, the first one winning. name: that of the second."""
    data = {key: value for key, value in own.data.items() if key != INCLUDE}
    sources: dict[Loc, str] = {}
    for key, value in under.data.items():
        mine = data.get(key)
        if key not in data:
            data[key] = value
            sources |= {place: file for place, file in under.sources.items() if place[0] == key and place[1:]}
            sources[(key,)] = under.source((key,), name)
        elif isinstance(mine, dict) and isinstance(value, dict) and key not in WHOLE:
            rest = _not_said(key, mine, value)
            data[key] = {**rest, **mine}
            sources |= {(key, one): under.source((key, one), name) for one in rest}
    return Whole(data, dict(sorted(sources.items(), key=lambda pair: -len(pair[0]))))


def _not_said(table: str, own: Mapping[str, Any], under: Mapping[str, Any]) -> dict[str, Any]:
    """What of an included table the study's own leaves open: no key that it writes, none that says the same
    in another way, no field that it sweeps elsewhere."""
    kind = bare(Study.model_fields[table].annotation)[0] if table in Study.model_fields else None
    either = kind.either if isinstance(kind, type) and issubclass(kind, Table) else ()
    closed = {key for keys in either if any(key in own for key in keys) for key in keys} | set(own)
    rest = {key: value for key, value in under.items() if key not in closed}
    if table != SWEEP:
        return rest
    axes = [own[axis] for axis in AXES if isinstance(own.get(axis), dict)]
    swept = {other for fields in axes for one in fields for other in family(one)}
    for axis in AXES:
        if isinstance(rest.get(axis), dict):
            rest[axis] = {one: values for one, values in rest[axis].items() if one not in swept}
    return rest


def read_camera_file(path: Path, read: Read) -> CameraFile:
    """A camera for any study, from a file with [camera], [sweep], [rig]. Raises StudyWrong."""
    if not _is_file(path):
        raise StudyWrong(f"--camera: there is no file {quoted_value(str(path))}.")
    if path.suffix.lower() != ".toml":
        raise StudyWrong(f"--camera: {path} must be a TOML file with a [camera].")
    tables = read(path, path.name)
    unknown = [key for key in tables if key not in (CAMERA, SWEEP, RIG)]
    if unknown:
        raise StudyWrong(
            f"{path.name}: a camera file holds [camera], [sweep] and [rig] alone; "
            f"take out {listed(quoted_value(key) for key in unknown)}."
        )
    if not isinstance(tables.get(CAMERA), dict):
        raise StudyWrong(f"{path.name} has no [camera]; a camera file says in it where the camera stands.")
    notes = (f"{path.name}: {RIG_RESTS}",) if RIG in tables else ()
    kept = {key: tables[key] for key in (CAMERA, SWEEP, RIG) if key in tables}
    return CameraFile(path.name, path.parent, kept, notes)


def with_camera(whole: Whole, camera: CameraFile, home: Path) -> Whole:
    """A study's data under another camera: its own camera, sweep and rigs are taken out, and what it says of
    their variants. home: the study's folder."""
    out = (CAMERA, SWEEP, RIG, *OF_ANOTHER)
    data = {key: value for key, value in whole.data.items() if key not in out}
    tables = {key: _copied(value) for key, value in camera.tables.items()}
    _move_paths(tables, camera.folder, home)
    sources = {place: name for place, name in whole.sources.items() if place[0] not in out}
    return Whole(data | tables, sources | {(key,): camera.name for key in tables})


def _copied(value: Any) -> Any:
    return {key: _copied(one) for key, one in value.items()} if isinstance(value, dict) else value


def _upwards(place: Loc) -> list[Loc]:
    return [place[:count] for count in range(len(place), 0, -1)]


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


# ---- paths ---------------------------------------------------------------------------------------


def _move_paths(data: dict[str, Any], folder: Path, home: Path) -> None:
    """Make every path that the data of a file in `folder` writes count from `home`."""

    def move(words: Any) -> Any:
        return moved(words, folder, home) if isinstance(words, str) and words.strip() else words

    if "scene" in data:
        data["scene"] = move(data["scene"])
    if isinstance(data.get("fonts"), list):
        data["fonts"] = [move(words) for words in data["fonts"]]
    sweep = data.get(SWEEP)
    axes = [sweep.get(axis) for axis in AXES] if isinstance(sweep, dict) else []
    places = data.get("place")
    tables = [(data.get(CAMERA), "from"), *((axis, "from") for axis in axes)]
    tables += [(place, "file") for place in places] if isinstance(places, list) else []
    for table, key in tables:
        if isinstance(table, dict) and key in table:
            value = table[key]
            table[key] = [move(one) for one in value] if isinstance(value, list) else move(value)


def moved(words: str, folder: Path, home: Path) -> str:
    """A path that counts from `folder` as it counts from `home`; a whole path stays, and what follows a #."""
    name, mark, rest = words.partition("#")
    if Path(name).is_absolute() or not name:
        return words
    try:
        between = os.path.relpath(folder, home)
    except ValueError:  # on another drive
        return str((folder / name).absolute()) + mark + rest
    long = os.path.join(between, name)
    short = os.path.normpath(long)
    is_same = os.path.realpath(home / short) == os.path.realpath(home / long)  # not so across linked folders
    return Path(short if is_same else long).as_posix() + mark + rest
