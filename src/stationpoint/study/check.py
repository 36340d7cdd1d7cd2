"""A study against its scene and the known readings: whether all that it names exists."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, Protocol

from stationpoint.complaints import shown, unknown_word
from stationpoint.study.axes import AXES
from stationpoint.study.models import Limit, Study, Target
from stationpoint.study.naming import cover_name, gap_name
from stationpoint.words import nearest

if TYPE_CHECKING:
    from stationpoint.scene.types import Scene

A_NODE = "a node of the scene"
WILD = re.compile(r"[*?\[]")
OF_TARGETS = frozenset({"targets", "twins", "cues"})  # groups of readings that a role can narrow
# The words that may stand for a "*", by what goes before it, where the study does not name them.
FIXED_NAMES = {
    "axes": ("x", "y", "z"),
    "pairs": ("up-away", "up-across", "across-away", "x-y", "x-z", "y-z"),
    "planes": ("ground", "side", "front"),
    "twins.*": ("slide", "mirror"),
    "framing.stick_error_deg": ("camera", "world"),
}


class HasPath(Protocol):
    """What is known here of a reading's Field: its path, with "*" for a name."""

    @property
    def path(self) -> tuple[str, ...]: ...


def check(study: Study, scene: Scene, fields: Sequence[HasPath]) -> list[str]:
    """Every name in the study that nothing in the scene, the study or the readings answers to."""
    return [
        *_subject(study, scene),
        *(line for target in study.target for line in _target(target, study, scene)),
        *_gaps(study, scene),
        *_moves(study, scene),
        *_swept_names(study),
        *(line for limit in study.limit for line in _limit(limit, study, fields)),
    ]


def _nodes(scene: Scene) -> list[str]:
    return [node.name for node in scene.nodes]


def _no_node(where: str, name: str, scene: Scene) -> str:
    if WILD.search(name):
        return f"{where}: {shown(name)} matches no node of the scene."
    return f"{where}: {unknown_word(name, _nodes(scene), A_NODE)}"


def _subject(study: Study, scene: Scene) -> Iterator[str]:
    subject = study.subject
    if subject is None:
        return
    if subject.node is not None:
        if subject.node not in scene:
            yield _no_node("subject: node", subject.node, scene)
    elif subject.name in scene:
        yield (
            f"subject: the scene has a node that is called {shown(subject.name)} too; say "
            f"node = {shown(subject.name)} if that is the subject, or give the subject another name."
        )


def _target(target: Target, study: Study, scene: Scene) -> Iterator[str]:
    where = f"target {shown(target.name)}"
    if target.node is not None and target.node not in scene:
        yield _no_node(f"{where}: node", target.node, scene)
    patterns = [target.nodes] if isinstance(target.nodes, str) else target.nodes or ()
    for pattern in patterns:
        if not scene.matching(pattern):
            yield _no_node(f"{where}: nodes", pattern, scene)
    for pattern in target.with_:
        if not scene.matching(pattern):
            yield _no_node(f"{where}: with", pattern, scene)
    others = [other.name for other in study.target if other.name != target.name]
    for name in target.like:
        if name == target.name:
            yield f"{where}: like names the target itself; name another one."
        elif name not in others and name not in scene:
            yield f"{where}: like: {unknown_word(name, others, 'another target, nor a node of the scene')}"


def _gaps(study: Study, scene: Scene) -> Iterator[str]:
    for gap in study.gap:
        if gap.landing is not None and gap.landing not in scene:
            yield _no_node(f"gap {shown(gap.name)}: landing", gap.landing, scene)


def _moves(study: Study, scene: Scene) -> Iterator[str]:
    for place in study.place:
        for pattern in place.move:
            if not scene.matching(pattern):
                yield _no_node(f"place {shown(place.name)}: move", pattern, scene)


def _swept_names(study: Study) -> Iterator[str]:
    known = _known_names(study)
    for axis in AXES:
        for field, values in getattr(study.sweep, axis).items():
            for name in dict.fromkeys(values) if field in known else ():
                if name not in known[field]:
                    yield f"sweep: {axis}: {unknown_word(name, known[field], f'a {field} of the study')}"


def _known_names(study: Study) -> dict[str, list[str]]:
    return {
        "place": [place.name for place in study.places],
        "viewing": [viewing.name for viewing in study.viewings],
    }


def _limit(limit: Limit, study: Study, fields: Sequence[HasPath]) -> Iterator[str]:
    where = f"limit {shown(limit.reading)}"
    for kind, known in _known_names(study).items():
        name = getattr(limit, kind)
        if name is not None and name not in known:
            yield f"{where}: {unknown_word(name, known, f'a {kind} of the study')}"
    names = _names_in_paths(study)
    paths = [path for field in fields for path in _paths(field.path)]
    answering = [path for path in paths if _answers(path, limit.reading, names)]
    if not answering:
        yield f"{where}: {_unknown_reading(limit.reading, paths, names)}"
    elif limit.role is not None and not {path[0] for path in answering} & OF_TARGETS:
        yield f"{where}: role narrows a limit on targets, and this reading is about none; take it out."


def _names_in_paths(study: Study) -> dict[str, Sequence[str]]:
    """What may stand for "*" in a path, by what goes before it (see `_group`)."""
    targets, gaps = [target.name for target in study.target], [gap.name for gap in study.gap]
    primary = [target.name for target in study.target if target.role == "primary"]
    return {
        "targets": targets,
        "gaps": gaps,
        "viewing": [viewing.name for viewing in study.viewings],
        "twins": targets,
        "cues": [*(f"gap:{name}" for name in gaps), *(f"target:{name}" for name in primary)],
        "framing.headroom_at_apex": gaps,
        "framing.subject_covers": [*map(cover_name, targets), *map(gap_name, gaps)],
        **FIXED_NAMES,
    }


def _group(path: tuple[str, ...], k: int) -> str:
    """What the "*" at `k` of a path is a name of: all that goes before it, or a viewing's."""
    return "viewing" if path[0] == "targets" and k > 1 else ".".join(path[:k])


def _paths(path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """The path itself, and without the viewing at its end, which a limit may leave out."""
    yield path
    if path[-1] == "*" and len(path) > 1:
        yield path[:-1]


def _answers(path: tuple[str, ...], reading: str, names: Mapping[str, Sequence[str]]) -> bool:
    """Whether some reading with this path is meant by a limit's words, wildcards included."""
    return any(fnmatchcase(concrete, reading) for concrete in _concrete(path, names))


def _concrete(path: tuple[str, ...], names: Mapping[str, Sequence[str]]) -> list[str]:
    """The path with all names in it that may stand for its "*".

    Where the study names nothing of the kind, "*" stays: a limit on all of none is no mistake.
    """
    found = [""]
    for k, part in enumerate(path):
        words = (names[_group(path, k)] or ["*"]) if part == "*" else [part]
        found = [f"{start}.{word}" if start else word for start in found for word in words]
    return found


def _expression(path: tuple[str, ...]) -> str:
    return r"\.".join(".+" if part == "*" else re.escape(part) for part in path)


def _unknown_reading(
    reading: str, paths: Sequence[tuple[str, ...]], names: Mapping[str, Sequence[str]]
) -> str:
    for path in paths:
        found = re.fullmatch(_expression(path).replace(".+", "(.+)"), reading)
        if not found:
            continue
        groups = [_group(path, k) for k, part in enumerate(path) if part == "*"]
        for name, group in zip(found.groups(), groups, strict=True):
            if not any(fnmatchcase(known, name) for known in names[group]):
                return unknown_word(name, names[group], f"a name under {group} in this study")
    joined = [".".join(path) for path in paths]
    last = {path[-1]: ".".join(path) for path in paths if path[-1] != "*"}
    near = nearest(reading, joined)
    by_last = nearest(reading.rpartition(".")[2], list(last))
    if near is None and by_last is None:
        return "that is not a reading; docs/readings.md lists them."
    return f"that is not a reading; did you mean `{near or last[by_last or '']}`?"
