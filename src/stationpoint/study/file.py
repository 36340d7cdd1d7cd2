"""A study file's text and the command line's changes -> Study; its digest."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Literal

from pydantic import ValidationError

from stationpoint.base.complaints import Loc, quoted_value, sentences, unknown_word
from stationpoint.base.errors import StudyWrong
from stationpoint.base.inputs import read_input
from stationpoint.base.words import NO_FBX, listed, nearest
from stationpoint.study.axes import AXES, LIGHT, family
from stationpoint.study.changes import axis_from_words, put_value
from stationpoint.study.include import (
    RIG,
    CameraFile,
    Whole,
    read_camera_file,
    with_camera,
    with_included,
)
from stationpoint.study.models import FURTHER, HERE, Study
from stationpoint.study.table import digest_of

MESH_SUFFIXES = (".glb", ".gltf", ".obj", ".stl", ".ply", ".usd", ".usda", ".usdc", ".usdz")
READ_SUFFIXES = (".toml", *MESH_SUFFIXES)
SCENE_TABLES = ("solid", "mesh", "ground")
MESH_HINT = "If it is a mesh, export it as one of these."
SHEET_HINT = "What a sheet was made from is told by: stationpoint inspect {}"
START_HINT = "Write a first study for it with: stationpoint start"


def read_study(
    path: Path,
    overrides: Sequence[str] = (),
    *,
    rows: str | None = None,
    columns: str | None = None,
    pages: str | None = None,
    hold: str | None = None,
    place: str | Sequence[str] | None = None,
    viewing: str | Sequence[str] | None = None,
) -> Study:
    """The study of a file, what it includes too, with the command line's changes; every complaint at once.

    overrides: "camera.pitch_deg=30", "gap.two to three.reach_m=3". rows, columns, pages: an axis as
    words (see options.axis_from_words), "" clears it. hold: sweep.hold. place, viewing: keep only
    these. Raises StudyWrong.
    """
    kind = what_is(path)
    if kind != "study":
        raise StudyWrong(f"{path} is a {kind} file, not a study.", f"{START_HINT} {path}")
    return study_from_text(
        read_text(path),
        path.name,
        overrides,
        rows=rows,
        columns=columns,
        pages=pages,
        hold=hold,
        place=place,
        viewing=viewing,
        folder=path.parent,
    )


def study_from_text(
    text: str,
    name: str,
    overrides: Sequence[str] = (),
    *,
    rows: str | None = None,
    columns: str | None = None,
    pages: str | None = None,
    hold: str | None = None,
    place: str | Sequence[str] | None = None,
    viewing: str | Sequence[str] | None = None,
    sweeps_camera: bool = True,
    folder: Path | None = None,
    camera: CameraFile | None = None,
) -> Study:
    """As read_study, from text; name: what complaints call it.

    sweeps_camera: False where the camera's fields on the axes are of no account, so that one of them may be
    set. folder: where the text lies, so that what it includes is read; None leaves it unread, and the study
    cannot be prepared. camera: another one in place of the study's.
    """
    whole = Whole(parsed(text, name))
    if folder is not None:
        whole = with_included(whole.data, name, folder, _toml_of)
    if camera is not None:
        whole = with_camera(whole, camera, folder or Path())
    data = whole.data
    _part_subjects(data)
    if isinstance(data.get(RIG), dict):  # one alone
        data[RIG] = [data[RIG]]
    wrong: list[str] = []
    options: dict[Loc, str] = {}
    if hold is not None:
        overrides = [*overrides, f"sweep.hold={hold}"]
    set_places = list(_put_all(data, overrides, wrong))
    options |= dict.fromkeys(set_places, "--set")
    axes = {"rows": rows, "columns": columns, "pages": pages}
    given = {axis: words for axis, words in axes.items() if words is not None}
    options |= {("sweep", axis): f"--{axis}" for axis in given}
    if hold is not None:
        options[("sweep", "hold")] = "--hold"
    _put_axes(data, given, wrong)
    wrong += _idle_sets(data, set_places if sweeps_camera else [at for at in set_places if at[0] == "light"])
    try:
        study = Study.model_validate(data, context={"file": True})
    except ValidationError as error:
        of_keys = options | {place: file for place, file in whole.sources.items() if place not in options}
        wrong += [_shortened(line) for line in sentences(error, data, name, Study, of_keys)]
        raise StudyWrong("\n".join(wrong)) from None
    sources = {str(place[0]): file for place, file in whole.sources.items() if len(place) == 1}
    study = study.written_in(sources) if sources else study
    kept = _kept(study, _names(place), _names(viewing), wrong)
    if wrong:
        raise StudyWrong("\n".join(wrong))
    return kept


def camera_file(path: Path) -> CameraFile:
    """A camera for any study, from its file. Raises StudyWrong."""
    return read_camera_file(path, _toml_of)


def _toml_of(path: Path, name: str) -> dict[str, Any]:
    return parsed(read_text(path), name)


def study_digest(study: Study) -> str:
    """SHA-256, hex, of what the study says: the same however it is written, and wherever it lies."""
    said = study.said() | {"camera": study.camera.said()}
    if study.rig:
        said[RIG] = [one.written() for one in study.rig]
    if Path(study.scene).is_absolute():
        said["scene"] = Path(study.scene).name
    if study.fonts:
        said["fonts"] = [Path(words).name if Path(words).is_absolute() else words for words in study.fonts]
    return digest_of(said)


def what_is(path: Path) -> Literal["study", "scene", "mesh"]:
    """What a file given to a command is. Raises StudyWrong where there is no such file."""
    if not path.exists():
        raise StudyWrong(f"{path}: there is no such file{meant_file(path) or '.'}")
    if path.is_dir():
        raise StudyWrong(f"{path} is a folder; name a study, scene or mesh file in it.")
    ending = path.suffix.lower()
    if ending in MESH_SUFFIXES:
        return "mesh"
    if ending == ".fbx":
        raise StudyWrong(f"{path} {NO_FBX}")
    if ending != ".toml":
        raise StudyWrong(
            f"{path} cannot be read: a study or a scene is a .toml file, a mesh one of "
            f"{listed(MESH_SUFFIXES, 'or')}.",
            SHEET_HINT.format(path) if ending == ".png" else MESH_HINT,
        )
    data = parsed(read_text(path), path.name)
    if not data:
        raise StudyWrong(
            f"{path.name} is empty; a study names its `scene`, a scene holds [[solid]], [[mesh]] or [ground]."
        )
    is_study = "scene" in data or "include" in data
    return "scene" if not is_study and any(table in data for table in SCENE_TABLES) else "study"


def meant_file(path: Path) -> str:
    """The end of a sentence about a file that is not there: the nearest name beside it; "" if none."""
    try:
        names = [file.name for file in path.parent.iterdir() if file.suffix.lower() in READ_SUFFIXES]
    except (OSError, ValueError):
        return ""
    close = nearest(path.name, names)
    return f'; did you mean "{close}"?' if close else ""


def read_text(path: Path) -> str:
    """The text of a file. Raises StudyWrong where it cannot be read, or is no text."""
    try:
        return read_input(path).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise StudyWrong(f"{path} is not text (UTF-8); a study is a TOML file.") from None
    except OSError as error:
        raise StudyWrong(f"{path} cannot be read: {error.strerror}.") from None


def parsed(text: str, name: str) -> dict[str, Any]:
    """TOML -> data. Raises StudyWrong with the line that TOML's reader gives."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise StudyWrong(f"{name} is not valid TOML: {error}.") from None
    except (RecursionError, ValueError):
        raise StudyWrong(f"{name} is not valid TOML: nested too deeply, or a number too long.") from None


def _part_subjects(data: dict[str, Any]) -> None:
    """Where a file has [[subject]], once or more: the first is the player's own, the others are apart."""
    several = data.get("subject")
    if isinstance(several, list) and several and all(isinstance(one, dict) for one in several):
        data["subject"] = several[0]
        data |= {FURTHER: several[1:]} if several[1:] else {}


def _put_all(data: dict[str, Any], overrides: Sequence[str], wrong: list[str]) -> Iterator[Loc]:
    for words in overrides:
        try:
            words.encode()
            yield put_value(data, words)
        except UnicodeEncodeError:
            wrong.append("--set: the words are not text (UTF-8).")
        except ValueError as error:
            wrong.append(_ended(f"--set {words}: {error}"))


def _put_axes(data: dict[str, Any], given: Mapping[str, str], wrong: list[str]) -> None:
    """Replace axes; a field that an option sweeps leaves the file's other axes."""
    sweep = data.setdefault("sweep", {})
    if not isinstance(sweep, dict):
        return
    for axis, words in given.items():
        try:
            sweep[axis] = axis_from_words(words)
        except ValueError as error:
            sweep.pop(axis, None)
            wrong += [_ended(f"--{axis}: {line}") for line in str(error).splitlines()]
    moved = {other for axis in given for field in sweep.get(axis, {}) for other in family(field)}
    for axis in set(AXES) - set(given):
        if isinstance(sweep.get(axis), dict):
            sweep[axis] = {field: values for field, values in sweep[axis].items() if field not in moved}


def _idle_sets(data: Mapping[str, Any], places: Sequence[Loc]) -> Iterator[str]:
    """Complaints about fields that are set but swept: the sweep would win without a word."""
    sweep = data["sweep"] if isinstance(data.get("sweep"), dict) else {}
    axes = {axis: fields for axis in AXES if isinstance(fields := sweep.get(axis), dict)}
    light: dict[Loc, str] = {("light", key): field for field, key in LIGHT.items()}
    for place in places:
        if len(place) != 2 or place[0] not in ("camera", "light"):
            continue
        set_field = light.get(place, str(place[1]))
        for axis, fields in axes.items():
            for field in set(family(set_field)) & set(fields):
                yield (
                    f"--set: {set_field} would change nothing, since {axis} sweeps {field}; "
                    f'clear that axis with --{axis} "" or give it other fields.'
                )


def _shortened(line: str) -> str:
    """A complaint about an axis that came from its option, without saying the axis again."""
    for axis in AXES:
        line = line.replace(f"--{axis}: sweep: {axis}: ", f"--{axis}: ", 1)
    return line


def _ended(line: str) -> str:
    return line if line.endswith((".", "?")) else line + "."


def _names(given: str | Sequence[str] | None) -> list[str]:
    return [given] if isinstance(given, str) else list(given or ())


def _kept(study: Study, places: Sequence[str], viewings: Sequence[str], wrong: list[str]) -> Study:
    """The study with only these places and viewings, and without limits narrowed to others."""
    waits = any(place.is_many for place in study.place)  # for the scene, to know its places
    known = [*places, *(place.name for place in study.places)] if waits else [p.name for p in study.places]
    wrong += _unknown("place", places, known, study)
    wrong += _unknown("viewing", viewings, [viewing.name for viewing in study.viewings], study)
    if places:
        study = study.model_copy(
            update={
                "here": (study.here or not study.place) and HERE in places,
                "place": tuple(place for place in study.place if place.is_many or place.name in places),
                "limit": tuple(limit for limit in study.limit if limit.place in (None, *places)),
            }
        )
        study = study.asking(tuple(places)) if waits else study
    if viewings and study.viewing:
        study = study.model_copy(
            update={
                "viewing": tuple(viewing for viewing in study.viewings if viewing.name in viewings),
                "limit": tuple(limit for limit in study.limit if limit.viewing in (None, *viewings)),
            }
        )
    return study


def _unknown(kind: str, names: Sequence[str], known: Sequence[str], study: Study) -> Iterator[str]:
    for name in names:
        if name not in known:
            yield _ended(f"--{kind}: {unknown_word(name, known, f'a {kind} of the study')}")
    for axis in AXES:
        if names and kind in getattr(study.sweep, axis):
            yield f"--{kind}: {axis} sweeps the {kind}; use --{axis} {kind}={quoted_value(names[0])} instead."
