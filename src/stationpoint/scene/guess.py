"""How a bare mesh file is taken: its up axis and its unit, guessed from extents and names, in words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from math import radians, tan
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.words import TIMES, listed, plain
from stationpoint.scene.file import read_scene, scene_of_mesh
from stationpoint.scene.meshes.part import Imported
from stationpoint.scene.meshes.read import READERS, read_mesh
from stationpoint.scene.types import Scene

GLTF = (".glb", ".gltf")
UNITS = {1.0: "metres", 0.3048: "feet", 0.0254: "inches", 0.01: "centimetres", 0.001: "millimetres"}
# Heights in metres of what people have built for themselves (common practice), by a word of its name.
HEIGHTS_M = {
    "door": (1.8, 2.6),
    "chair": (0.65, 1.3),
    "table": (0.35, 1.2),
    "desk": (0.6, 1.3),
    "person": (1.4, 2.1),
    "human": (1.4, 2.1),
    "player": (1.4, 2.1),
}
STOREY_M, TALLEST_M = (1.9, 8.0), 150.0  # a room's height; a level that is higher is none in metres
GROUNDS = ("floor", "ground", "terrain", "landscape", "soil")
OVERHEADS = ("ceiling", "roof", "sky")
LEVEL_COS = 0.94  # of 20 degrees
HILLS_COS, HILLS_SHARE = 0.5, 0.9  # a terrain: as much of its area less than 60 degrees steep,
FLAT_COS, FLAT_SHARE = 0.9998, 0.7  # and not more than that within a degree of level
MORE = 1.3  # so much more level area along one axis than along the other tells
FLAT = 0.6  # so much less extent along one axis than along the other tells
REST = 0.02  # of an extent, within which it starts at zero
FAR_M, FAR_TIMES = 10_000.0, 4.0  # farther off than that, and than so many of its extents: brought nearer
ROUND_M = 100.0
PERSON_M, LEAST_SHOWN = 1.7, 0.01  # of a picture's height: a person that is smaller is not seen
NOBODY = ", since its own cameras would show a person less than a hundredth of a picture high in metres"
WORDS = re.compile(r"[a-z]+")


class Guess(NamedTuple):
    """How a mesh is taken: the keys of [mesh] that are not as by default, and one line that says so
    ("" where nothing was guessed)."""

    keys: dict[str, Any]
    says: str


def read_bare(path: Path, given: Mapping[str, Any] | None = None) -> tuple[Scene, Guess]:
    """The scene of a scene file, or of a mesh file with its up axis and unit guessed.

    given: keys of [mesh] that a person has said; they are not guessed. StudyWrong as `read_scene`.
    """
    if path.suffix.lower() not in READERS:
        return read_scene(path), Guess({}, "")
    if not path.is_file():
        return read_scene(path, given), Guess(dict(given or {}), "")  # which says what is wrong
    found = read_mesh(path)
    guess = guess_mesh(found, path.name, given or {})
    return scene_of_mesh(path.name, found, guess.keys), guess


@np.errstate(over="ignore", invalid="ignore")  # what is too far is refused with the scene
def guess_mesh(found: Imported, file_name: str, given: Mapping[str, Any]) -> Guess:
    """Up axis, unit and place of what a mesh file gives.

    glTF is Y up and metres by its standard: only names (a door 210 high) are believed against that, and
    a room of a thousand metres is told of. For other formats names decide where they can; else the axis
    along which most faces look, that is the shortest, and that starts at zero; and the unit in which
    the height is one of a building, glTF's too if its own cameras would else show no person. Far from
    the origin, as in maps, it is brought nearer.
    """
    is_gltf = Path(file_name).suffix.lower() in GLTF
    up = str(given.get("up") or ("y" if is_gltf else _up(found, file_name)))
    axis = "xyz".index(up)
    named = _unit_by_names(found, axis)
    extents = _extents(found)
    unit = named or _unit_by_height(found, axis, extents)
    tiny = is_gltf and named is None and unit != 1.0 and _shows_nobody(found)
    doubtful = is_gltf and named is None and unit != 1.0 and not tiny
    scale = float(given["scale"]) if "scale" in given else 1.0 if doubtful else unit
    keys = {**given, "up": up, "scale": scale}
    at = None if "at" in given else _nearer(found, axis, scale)
    if at is not None:
        keys["at"] = at
    words = f"{file_name}: {_size(extents)}: "
    if is_gltf and scale == 1.0 and unit == 1.0 and up == "y":
        words = ""
    elif doubtful and scale == 1.0:
        likely = (
            [unit] if unit == 0.001 else [unit, 0.001]
        )  # a hall's height in one unit is a thing's in another
        looks = [f"{UNITS[one]} ({_size(extents * one)} m)" for one in likely]
        words += f"taken as Y up, metres, as glTF says, but it looks like {listed(looks, 'or')}; say scale = "
        words += f"{listed([f'{one:g}' for one in likely], 'or')} under [mesh] if it is, as "
        words += f"--set mesh.scale={unit:g}."
    else:
        words += f"taken as {up.upper()} up, {UNITS.get(scale, f'{scale:g} m a unit')}"
        words += (
            ("" if scale == 1.0 else f" ({_size(extents * scale)} m)")
            + (NOBODY if tiny and scale == unit else "")
            + "; say up = or scale = under [mesh] to change, as --set mesh.up="
            + ("y." if up == "z" else "z.")
        )
    if at is not None:
        moved = ", ".join(plain(value, 0) for value in at)
        words = f"{words} " if words else f"{file_name}: "
        words += f"It lies far from the origin and was moved by ({moved}) m."
    defaults = {"up": "y", "scale": 1.0}
    return Guess({key: value for key, value in keys.items() if defaults.get(key) != value}, words)


def _extents(found: Imported) -> NDArray[np.float64]:
    low, high = _bounds(found)
    return high - low


def _size(extents: NDArray[np.float64]) -> str:
    return f" {TIMES} ".join(plain(extent, 2) for extent in extents.tolist())


def _bounds(found: Imported) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    low = np.min([part.vertices.min(axis=0) for part in found.parts], axis=0)
    high = np.max([part.vertices.max(axis=0) for part in found.parts], axis=0)
    return low, high


def _has(name: str, words: tuple[str, ...]) -> bool:
    return any(word.removesuffix("s") in words for word in WORDS.findall(name.lower()))


def _up(found: Imported, file_name: str) -> str:
    """ "y" or "z": by names, else by votes for z over y."""
    floors = [part for part in found.parts if _has(part.name, GROUNDS)]
    heads = [part for part in found.parts if _has(part.name, OVERHEADS)]
    votes = 0.0
    if floors and heads:
        under = np.mean([part.vertices.mean(axis=0) for part in floors], axis=0)
        over = np.mean([part.vertices.mean(axis=0) for part in heads], axis=0)
        votes += 4.0 * np.sign(abs(over[2] - under[2]) - abs(over[1] - under[1]))
    for part in found.parts:
        span = np.ptp(part.vertices, axis=0)
        if _has(part.name, ("door", "person", "human", "player", "window")) and span[1] != span[2]:
            votes += 2.0 * np.sign(span[2] - span[1])
        elif part in floors and span[1] != span[2]:
            votes += 2.0 * np.sign(span[1] - span[2])
    level = _level_areas(found)
    if level[2] > MORE * level[1] or level[1] > MORE * level[2]:
        votes += np.sign(level[2] - level[1])
    low, high = _bounds(found)
    extents = high - low
    if extents[2] < FLAT * extents[1] or extents[1] < FLAT * extents[2]:
        votes += np.sign(extents[1] - extents[2])
    rests = np.abs(low) <= REST * extents
    straddles = (low < -0.2 * extents) & (high > 0.2 * extents)
    votes += 2.0 * (bool(rests[2] & straddles[1]) - bool(rests[1] & straddles[2]))
    if votes == 0:
        return "y" if file_name.lower().endswith(".obj") else "z"
    return "z" if votes > 0 else "y"


def _level_areas(found: Imported) -> NDArray[np.float64]:
    """Area of the faces that look along x, y and z, either way, (3,)."""
    total = np.zeros(3)
    for normal in _normals(found):
        size = np.sqrt((normal * normal).sum(axis=1))
        total += np.where(np.abs(normal) >= LEVEL_COS * size[:, None], size[:, None], 0.0).sum(axis=0)
    return total


def _normals(found: Imported) -> Iterator[NDArray[np.float64]]:
    for part in found.parts:
        a, b, c = (part.vertices[part.faces[:, k]] for k in range(3))
        yield np.cross(b - a, c - a)


def _unit_by_names(found: Imported, axis: int) -> float | None:
    """Metres for one unit by the heights of named things, each name voting; None where none tells."""
    votes = dict.fromkeys(UNITS, 0)
    for part in found.parts:
        height = float(np.ptp(part.vertices[:, axis]))
        for word in (w.removesuffix("s") for w in WORDS.findall(part.name.lower())):
            if word in HEIGHTS_M:
                low, high = HEIGHTS_M[word]
                weight = 2 if word == "door" else 1
                for unit in (unit for unit in UNITS if low <= height * unit <= high):
                    votes[unit] += weight
                break
    best = max(votes, key=lambda unit: votes[unit])
    return best if votes[best] else None


def _unit_by_height(found: Imported, axis: int, extents: NDArray[np.float64]) -> float:
    """Metres for one unit by the whole height; metres for a terrain, and where nothing speaks against it."""
    height = float(extents[axis])
    if height <= TALLEST_M or _is_terrain(found, axis):
        return 1.0
    for unit in (0.001, 0.01):
        if STOREY_M[0] <= height * unit <= STOREY_M[1]:
            return unit
    return 0.01 if height * 0.01 <= TALLEST_M else 0.001


def _shows_nobody(found: Imported) -> bool:
    """Whether the file has cameras, and all of them show a person in the middle of its parts too small to
    be seen if its unit were the metre."""
    middle = np.mean(_bounds(found), axis=0)
    shares = []
    for camera in found.cameras:
        if camera.vfov_deg is None:
            high = camera.view_height_m or 0.0
        else:
            away = float(np.linalg.norm(camera.view[:3, :3] @ middle + camera.view[:3, 3]))
            high = 2.0 * away * tan(radians(camera.vfov_deg) / 2)
        shares.append(LEAST_SHOWN * high > PERSON_M)
    return bool(shares) and all(shares)


def _is_terrain(found: Imported, axis: int) -> bool:
    """Whether it is mostly slopes: neither upright as walls nor flat as a ground with things on it."""
    hilly = flat = total = 0.0
    for normal in _normals(found):
        size = np.sqrt((normal * normal).sum(axis=1))
        upward = np.abs(normal[:, axis])
        total += float(size.sum())
        hilly += float(size[upward >= HILLS_COS * size].sum())
        flat += float(size[upward >= FLAT_COS * size].sum())
    return hilly >= HILLS_SHARE * total and flat <= FLAT_SHARE * total


def _nearer(found: Imported, axis: int, scale: float) -> tuple[float, float, float] | None:
    """Where `at` brings what lies so far off that single precision would tell; None where it need not."""
    low, high = (bound * scale for bound in _bounds(found))
    far = max(float(np.abs(low).max()), float(np.abs(high).max()))
    if far < FAR_M or far < FAR_TIMES * float((high - low).max()):
        return None
    x, y, z = ((low + high) / 2).tolist()
    world = (x, y, z) if axis == 1 else (x, z, -y)
    moved = tuple(-ROUND_M * round(value / ROUND_M) if abs(value) >= FAR_M else 0.0 for value in world)
    return moved[0], moved[1], moved[2]
