"""A scene file read: TOML with solids and meshes, or a mesh file by itself."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, Literal, Self

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from stationpoint.base.allowed import FARTHEST_M, Colour, quoted_value
from stationpoint.base.complaints import entry_name, sentences
from stationpoint.base.errors import StudyWrong
from stationpoint.base.inputs import read_input
from stationpoint.base.look import CLAY, GROUND
from stationpoint.base.words import NO_FBX
from stationpoint.scene.assemble import scene_of, unique_names, with_drawn
from stationpoint.scene.by_name import Asked, as_asked
from stationpoint.scene.materials import of_one_colour
from stationpoint.scene.meshes.part import Imported, Unreadable, check_size, placed, size_of
from stationpoint.scene.meshes.read import READERS, read_mesh
from stationpoint.scene.solids import MOST_STEPS, WALKABLE, solid, solid_size
from stationpoint.scene.types import GROUND_NAME, Node, Scene, SceneCamera

MOST_SOLIDS = 100_000
FAR = 1e6  # metres: no size is larger
COARSE_M = 0.01  # steps of single precision that a note tells of

Number = Annotated[float, Field(strict=True, ge=-FAR, le=FAR)]
Extent = Annotated[float, Field(strict=True, gt=0, le=FAR)]
Coordinate = Annotated[float, Field(strict=True, ge=-FARTHEST_M, le=FARTHEST_M)]
Point = tuple[Coordinate, Coordinate, Coordinate]
Pattern = Annotated[str, Field(min_length=1)]  # a node's name, or one with * and ? in it


class Strict(BaseModel):
    """Frozen, no unknown keys, no NaN or infinity."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Ground(Strict):
    """Level ground with a metre grid, its middle at the origin."""

    size: tuple[Extent, Extent] = (60.0, 60.0)
    height_m: Coordinate = 0.0
    walkable: bool = True
    colour: Colour | None = None


class Repeat(Strict):
    """The same solid `count` times, each a `step` farther."""

    count: Annotated[int, Field(strict=True, ge=1)]
    step: Point


class Solid(Strict):
    """One solid, or a row of them; see solids.py for what the keys mean."""

    name: str = ""
    shape: Literal["box", "ramp", "stairs", "cylinder", "cone", "sphere", "capsule"]
    size: tuple[Extent, Extent, Extent]
    at: Point = (0.0, 0.0, 0.0)
    turn_deg: Number = 0.0
    steps: Annotated[int, Field(strict=True, ge=1, le=MOST_STEPS)] | None = None
    walkable: Annotated[bool, Field(strict=True)] | None = None
    colour: Colour | None = None
    repeat: Repeat | None = None

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.steps is not None and self.shape != "stairs":
            raise ValueError(f'steps is {self.steps}, but only stairs have steps and shape is "{self.shape}"')
        if self.repeat is not None:
            last = [a + s * (self.repeat.count - 1) for a, s in zip(self.at, self.repeat.step, strict=True)]
            if max(abs(value) for value in last) > FARTHEST_M:
                raise ValueError(f"repeat reaches {quoted_value(last)}, must stay within {FARTHEST_M:.0f} m")
        return self

    @property
    def count(self) -> int:
        return self.repeat.count if self.repeat else 1


class Mesh(Strict):
    """A mesh file; `name` renames its one node, or goes before the names of several ("name/node")."""

    file: str
    name: str = ""
    up: Literal["y", "z"] = "y"
    scale: Extent = 1.0
    at: Point = (0.0, 0.0, 0.0)
    hide: tuple[Pattern, ...] = ()
    walkable: Annotated[bool, Field(strict=True)] | tuple[Pattern, ...] = False
    backs: Literal["closed", "open"] | tuple[Pattern, ...] = "closed"
    materials: Literal["clay", "own"] = "clay"


class SceneFile(Strict):
    """A whole scene file."""

    ground: Ground | None = None
    solid: tuple[Solid, ...] = ()
    mesh: tuple[Mesh, ...] = ()


def read_scene(path: Path, mesh: Mapping[str, Any] | None = None) -> Scene:
    """The scene of a TOML file, or of a mesh file alone; StudyWrong with every complaint at once.

    mesh: for a mesh file, how it is taken: the keys of a [[mesh]] but `file` and `name`.
    """
    _check_is_file(path)
    kind = path.suffix.lower()
    if kind in READERS:
        return scene_of_mesh(path.name, read_mesh(path), mesh or {})
    if kind == ".fbx":
        raise StudyWrong(f"{path.name}: {NO_FBX}")
    if kind != ".toml":
        raise StudyWrong(f"{path.name}: is no scene; a scene is a .toml file or one of {', '.join(READERS)}.")
    file = _validated(_toml(path), path)
    meshes = _meshes(file, path)
    _check_size(file, meshes, path.name)
    nodes = [*_ground(file), *_solids(file)]
    owners: list[Asked | None] = [None] * len(nodes)
    cameras: list[SceneCamera] = []
    notes: list[str] = []
    for entry, read in zip(file.mesh, meshes, strict=True):
        found = placed(read, entry.up, entry.scale, entry.at)
        own = _mesh_nodes(entry, found)
        nodes += own
        owners += [_asked(entry)] * len(own)
        cameras += found.cameras
        notes += [f"{Path(entry.file).name}: {note}" for note in found.notes]
    notes += [f"{path.name}: {note}" for note in _coarse(nodes, path.name)]
    whole = with_drawn(scene_of(nodes, cameras, dict.fromkeys(notes)), path.name)
    return as_asked(whole, owners, path.name)


def read_cameras(path: Path) -> tuple[SceneCamera, ...]:
    """The cameras of a mesh file, which may hold nothing else, or of a scene. Raises StudyWrong."""
    if path.suffix.lower() not in READERS:
        return read_scene(path).cameras
    _check_is_file(path)
    return scene_of((), read_mesh(path, needs_faces=False).cameras).cameras


def scene_of_mesh(file_name: str, read: Imported, mesh: Mapping[str, Any]) -> Scene:
    """The scene of a mesh file that has been read. mesh: as for `read_scene`."""
    entry = Mesh.model_validate({"file": file_name, **mesh})
    found = placed(read, entry.up, entry.scale, entry.at)
    nodes = _mesh_nodes(entry, found)
    said = [*found.notes, *_coarse(nodes, file_name)]
    whole = scene_of(nodes, found.cameras, (f"{file_name}: {note}" for note in said))
    return as_asked(whole, [_asked(entry)] * len(nodes), file_name)


def _asked(entry: Mesh) -> Asked:
    walkable = entry.walkable if isinstance(entry.walkable, tuple) else ()
    backs = entry.backs if isinstance(entry.backs, tuple) else ()
    return Asked(entry.file, entry.hide, walkable, backs)


# ---- reading and complaining --------------------------------------------------------------------


def _check_is_file(path: Path) -> None:
    try:
        if path.is_dir():
            raise StudyWrong(f"{path}: is a folder; name a scene or mesh file in it.")
        if not path.is_file():
            raise StudyWrong(f"{path}: there is no such file.")
    except (OSError, ValueError):
        raise StudyWrong(f"{str(path)[:80]!r}: is not a name that a file can have.") from None


def _toml(path: Path) -> dict[str, object]:
    try:
        return tomllib.loads(read_input(path).decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise StudyWrong(f"{path.name}: is not a TOML file: it is not text in UTF-8.") from None
    except tomllib.TOMLDecodeError as error:
        raise StudyWrong(f"{path.name}: is not valid TOML: {error}.") from None
    except RecursionError:
        raise StudyWrong(f"{path.name}: is not valid TOML: it is nested too deeply.") from None
    except OSError as error:
        raise StudyWrong(
            f"{path.name}: cannot be read: {(error.strerror or 'input error').lower()}."
        ) from None


def _validated(data: dict[str, object], path: Path) -> SceneFile:
    """The file's tables as models; every complaint at once, mesh files that are not there included."""
    if "scene" in data and "solid" not in data and not isinstance(data.get("mesh"), list):
        raise StudyWrong(
            f"{path.name}: is a study, not a scene; the scene is the file that its `scene` names."
        )
    complaints: list[str] = []
    file = None
    try:
        file = SceneFile.model_validate(data)
    except ValidationError as error:
        complaints += sentences(error, data, path.name, SceneFile)
    entries = data.get("mesh")
    for number, entry in enumerate(entries if isinstance(entries, list) else ()):
        if isinstance(entry, dict) and isinstance(entry.get("file"), str):
            wrong = _wrong_mesh_file(path.parent, entry["file"])
            if wrong:
                complaints.append(f"{path.name}: {entry_name('mesh', number, entry)}: {wrong}")
    count = sum(entry.count for entry in file.solid) if file else 0
    if count > MOST_SOLIDS:
        complaints.append(f"{path.name}: holds {count} solids after repeat; at most {MOST_SOLIDS} are drawn.")
    if complaints or file is None:
        raise StudyWrong("\n".join(complaints))
    return file


def _wrong_mesh_file(folder: Path, name: str) -> str | None:
    """What is wrong with a mesh file before it is opened."""
    if Path(name).suffix.lower() == ".fbx":
        return f"file {quoted_value(name)} {NO_FBX}"
    if Path(name).suffix.lower() not in READERS:
        return f"file is {quoted_value(name)}, must end in {', '.join(READERS)}."
    try:
        target = folder / name
        if target.is_dir():
            return f"file {quoted_value(name)} is a folder."
        return None if target.is_file() else f"file {quoted_value(name)} is not there."
    except (OSError, ValueError):
        return f"file {quoted_value(name)} is not a name that a file can have."


def _meshes(file: SceneFile, path: Path) -> list[Imported]:
    """Every mesh file read, once each; the complaints of all of them at once."""
    read: dict[str, Imported] = {}
    complaints: dict[str, None] = {}
    for entry in file.mesh:
        if entry.file not in read:
            try:
                read[entry.file] = read_mesh(path.parent / entry.file)
            except StudyWrong as error:
                complaints[error.message] = None
    if complaints:
        raise StudyWrong("\n".join(complaints))
    return [read[entry.file] for entry in file.mesh]


def _check_size(file: SceneFile, meshes: Sequence[Imported], file_name: str) -> None:
    """StudyWrong where all that the file repeats is more than a scene may hold; asked before it is made."""
    sizes = [size_of(found) for found in meshes]
    for entry in file.solid:
        vertices, faces = solid_size(entry.shape, entry.size, entry.steps)
        sizes.append((entry.count, entry.count * vertices, entry.count * faces))
    try:
        check_size(*(sum(size[k] for size in sizes) for k in range(3)))
    except Unreadable as error:
        raise StudyWrong(f"{file_name}: {error}") from None


def _coarse(nodes: Sequence[Node], file_name: str) -> Iterator[str]:
    """What is said of a node so far off that single precision moves it; StudyWrong where it cannot be
    drawn at all."""
    reach_m = [float(np.abs(node.vertices).max(initial=0.0)) for node in nodes]
    farthest = max(reach_m, default=0.0)
    named = [node for node, reach in zip(nodes, reach_m, strict=True) if reach == farthest][:1]
    name, is_mesh = (named[0].name, named[0].kind == "mesh") if named else ("", False)
    if not farthest <= FARTHEST_M:
        raise StudyWrong(
            f"{file_name}: {quoted_value(name)} reaches {farthest:.1e} m from the origin; "
            f"at most {FARTHEST_M:.0e} m are drawn. Mend its unit, or bring it nearer."
        )
    step_m = float(np.spacing(np.float32(farthest)))
    if step_m >= COARSE_M:
        yield (
            f"{quoted_value(name)} reaches {farthest / 1000:.0f} km from the origin, where positions "
            "are rounded to "
            f"{step_m:.2g} m; bring it nearer{' with the `at` of a [[mesh]]' * is_mesh}."
        )


# ---- making nodes -------------------------------------------------------------------------------


def _ground(file: SceneFile) -> Iterator[Node]:
    if file.ground is None:
        return
    x, z = file.ground.size[0] / 2, file.ground.size[1] / 2
    corners = np.array([(-x, 0, z), (x, 0, z), (x, 0, -z), (-x, 0, -z)], dtype=np.float64)
    corners[:, 1] = file.ground.height_m
    faces = np.array([(0, 1, 2), (0, 2, 3)], dtype=np.int32)
    yield Node(
        GROUND_NAME,
        corners.astype(np.float32),
        faces,
        tint=GROUND,
        walkable=file.ground.walkable,
        closed=False,
        gridded=True,
        kind="ground",
        own=of_one_colour(file.ground.colour, len(faces)),
        shows_own=file.ground.colour is not None,
    )


def _solids(file: SceneFile) -> Iterator[Node]:
    for entry in file.solid:
        vertices, faces = solid(entry.shape, entry.size, entry.at, entry.turn_deg, entry.steps)
        walkable = entry.shape in WALKABLE if entry.walkable is None else entry.walkable
        node = Node(
            entry.name,
            vertices.astype(np.float32),
            faces,
            walkable=walkable,
            kind=entry.shape,
            own=of_one_colour(entry.colour, len(faces)),
            shows_own=entry.colour is not None,
        )
        if entry.repeat is None:
            yield node
            continue
        step = np.array(entry.repeat.step, dtype=np.float64)
        for number in range(entry.repeat.count):
            name = f"{entry.name}.{number + 1}" if entry.name.strip() else ""
            yield replace(node, name=name, vertices=(vertices + step * number).astype(np.float32))


def _mesh_nodes(entry: Mesh, found: Imported) -> list[Node]:
    """The nodes of one mesh file. Files that name nothing themselves (STL, PLY) are named after the file."""
    names = [part.name for part in found.parts]
    path = Path(entry.file)
    if len(names) == 1 and entry.name.strip():
        names = [entry.name]
    elif entry.name.strip():
        names = [f"{entry.name}/{name}" for name in unique_names(names, "part")]
    elif path.suffix.lower() not in (".glb", ".gltf"):
        names = [name if name.strip() else path.stem for name in names]
    with np.errstate(over="ignore"):  # what is too far for single precision is refused by `_coarse`
        vertices = [part.vertices.astype(np.float32) for part in found.parts]
    return [
        Node(
            name,
            at,
            part.faces,
            tint=CLAY,
            walkable=entry.walkable is True,
            closed=part.closed,
            gridded=True,
            backs_open=entry.backs == "open",
            own=part.own,
            shows_own=entry.materials == "own" and part.own is not None,
        )
        for name, part, at in zip(names, found.parts, vertices, strict=True)
    ]
