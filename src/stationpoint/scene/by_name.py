"""What a scene's meshes say of their nodes by name: hidden, walkable, seen through from behind."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from stationpoint.base.allowed import quoted_value
from stationpoint.base.complaints import unknown_word
from stationpoint.base.errors import StudyWrong
from stationpoint.scene.assemble import digest_of
from stationpoint.scene.types import Node, Scene


class Asked(NamedTuple):
    """What one [[mesh]] says by names and patterns: of which file, and of which nodes."""

    file: str
    hide: tuple[str, ...]
    walkable: tuple[str, ...]
    backs: tuple[str, ...]


def as_asked(scene: Scene, owners: Sequence[Asked | None], file_name: str) -> Scene:
    """The scene with hidden nodes left out and flags set.

    owners: what the [[mesh]] says that each node comes from, the same object for all of its nodes.
    Names are those that the whole scene gives, so that hiding a node changes no other's name.
    StudyWrong where a pattern matches nothing, or nothing is left.
    """
    if not any(any(owner[1:]) for owner in owners if owner is not None):
        return scene
    nodes: dict[str, Node] = {node.name: node for node in scene.nodes}
    complaints: list[str] = []
    for owner in {id(owner): owner for owner in owners}.values():
        if owner is None:
            continue
        part = Scene(tuple(n for n, whose in zip(scene.nodes, owners, strict=True) if whose is owner))
        complaints += _unmatched(owner, part, file_name)
        for name in _named(part, owner.walkable):
            nodes[name] = replace(nodes[name], walkable=True)
        for name in _named(part, owner.backs):
            nodes[name] = replace(nodes[name], backs_open=True)
        for name in _named(part, owner.hide):
            del nodes[name]
    if complaints:
        raise StudyWrong("\n".join(dict.fromkeys(complaints)))
    if not nodes:
        raise StudyWrong(f"{file_name}: hide leaves nothing to draw; name fewer nodes in it.")
    kept = tuple(nodes.values())
    in_colour = any(node.shows_own for node in kept)
    return replace(scene, nodes=kept, digest=digest_of(kept), in_colour=in_colour)


def _named(part: Scene, patterns: Sequence[str]) -> dict[str, None]:
    return dict.fromkeys(name for pattern in patterns for name in part.matching(pattern))


def _unmatched(owner: Asked, part: Scene, file_name: str) -> Iterator[str]:
    for key in ("hide", "walkable", "backs"):
        for pattern in getattr(owner, key):
            if part.matching(pattern):
                continue
            where = f"{file_name}: mesh {quoted_value(owner.file)}: {key}"
            if "*" in pattern or "?" in pattern:
                yield f"{where}: {quoted_value(pattern)} matches no node of that mesh."
            else:
                known = [node.name for node in part.nodes]
                yield f"{where}: {unknown_word(pattern, known, 'a node of that mesh')}"
