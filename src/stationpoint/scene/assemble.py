"""Nodes put together to a scene: names made unique, the digest of it all."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import replace

from stationpoint.base.errors import StudyWrong
from stationpoint.scene.types import Node, Scene, SceneCamera


def scene_of(nodes: Iterable[Node], cameras: Iterable[SceneCamera] = (), notes: Iterable[str] = ()) -> Scene:
    """A scene of these nodes in this order; names are made unique, the digest is taken."""
    given = list(nodes)
    named = [
        node if node.name == name else replace(node, name=name)
        for node, name in zip(given, unique_names([node.name for node in given], "part"), strict=True)
    ]
    found = list(cameras)
    names = unique_names([camera.name for camera in found], "camera")
    seen = tuple(replace(camera, name=name) for camera, name in zip(found, names, strict=True))
    in_colour = any(node.shows_own for node in named)
    return Scene(tuple(named), digest_of(named), seen, tuple(notes), in_colour)


def unique_names(names: Sequence[str], empty: str) -> list[str]:
    """Names in order, each once: empty ones become `part-1`, ..., repeated ones get `.2`, `.3`, ...

    A name that stands as it is in the list is never given to another.
    """
    taken = {name for name in names if name.strip()}
    times: dict[str, int] = {}
    seen: set[str] = set()
    found = []
    for name in names:
        blank = not name.strip()
        if not blank and name not in seen:
            seen.add(name)
            found.append(name)
            continue
        number = times.get("" if blank else name, 0 if blank else 1)
        while True:
            number += 1
            candidate = f"{empty}-{number}" if blank else f"{name}.{number}"
            if candidate not in taken:
                break
        times["" if blank else name] = number
        taken.add(candidate)
        found.append(candidate)
    return found


def digest_of(nodes: Iterable[Node]) -> str:
    """SHA-256 (hex) of names, geometry, cut-outs and flags, the same on every machine; blind to paths and
    tints."""
    total = hashlib.sha256()
    for node in nodes:
        flags = f"{node.kind}{node.walkable:d}{node.closed:d}{node.gridded:d}{node.backs_open:d}"
        name = node.name.encode("utf-8", "surrogatepass")
        sizes = f"{len(name)} {len(node.vertices)} {len(node.faces)} {flags} "
        total.update(sizes.encode() + name)
        total.update((node.vertices + 0.0).astype("<f4").tobytes())  # + 0: minus zero is zero
        total.update(node.faces.astype("<i4").tobytes())
        if node.is_sheer and node.own is not None:  # what lets sight through is geometry
            for material in node.own.materials:
                total.update(f"{material.blend} {material.factor[3]} {material.cutoff} ".encode())
                if material.seen_from > 0.0 and material.texture is not None:
                    total.update(material.texture.pixels[..., 3].tobytes())
            for array in (node.own.of_face, node.own.uv, node.own.tints):
                total.update(b"" if array is None else array.tobytes())
    return total.hexdigest()


def with_drawn(scene: Scene, file_name: str) -> Scene:
    """The scene, if there is anything to draw in it."""
    if not any(len(node.faces) for node in scene.nodes):
        raise StudyWrong(f"{file_name}: holds no geometry, so there is nothing to draw.")
    return scene
