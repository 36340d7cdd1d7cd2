"""A study against its scene: whether all that it names exists."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

from stationpoint.base.complaints import quoted_value, unknown_word
from stationpoint.base.words import matching_names
from stationpoint.study.axes import AXES
from stationpoint.study.models import Study, Subject, Target
from stationpoint.study.naming import target_nodes, target_patterns

if TYPE_CHECKING:
    from stationpoint.scene import Scene

A_NODE = "a node of the scene"
WILD = re.compile(r"[*?]")


def check_study(study: Study, scene: Scene) -> list[str]:
    """Every name in the study that nothing in the scene or the study answers to."""
    return [
        *_subjects(study, scene),
        *_targets(study, scene),
        *_gaps(study, scene),
        *_moves(study, scene),
        *_passes(study, scene),
        *_swept_names(study),
    ]


def _nodes(scene: Scene) -> list[str]:
    return [node.name for node in scene.nodes]


def no_node(where: str, name: str, scene: Scene) -> str:
    """The complaint about a name, or a pattern, that no node answers to."""
    if WILD.search(name):
        return f"{where}: {quoted_value(name)} matches no node of the scene."
    return f"{where}: {unknown_word(name, _nodes(scene), A_NODE)}"


def _subjects(study: Study, scene: Scene) -> Iterator[str]:
    for one in study.subjects:
        where = "subject" if one is study.subject else f"subject {quoted_value(one.name)}"
        yield from _subject(one, where, scene)
        if one.node is None and one is not study.subject and one.at is None:
            yield f"{where}: needs at or node, to say where it stands."
    nodes = Counter(one.node for one in study.subjects if one.node is not None)
    for name in sorted(name for name, count in nodes.items() if count > 1):
        yield f"subject: {quoted_value(name)} is the node of several subjects; give each its own."
    subject = study.subject
    if subject is not None and subject.node is not None:
        for place in study.place:
            if place.height_m is not None and study.shows_subject:
                yield (
                    f"place {quoted_value(place.name)}: height_m is that of a stand-in, and "
                    f"{quoted_value(subject.node)} is drawn as it is; take it out."
                )


def _subject(subject: Subject, where: str, scene: Scene) -> Iterator[str]:
    if subject.node is not None:
        if subject.node not in scene:
            yield no_node(f"{where}: node", subject.node, scene)
    elif subject.name in scene:
        yield (
            f"{where}: the scene has a node that is called {quoted_value(subject.name)} too; say "
            f"node = {quoted_value(subject.name)} if that is the subject, or give the subject another name."
        )


def _targets(study: Study, scene: Scene) -> Iterator[str]:
    names = dict.fromkeys(target.name for target in study.target)
    for target in study.target:
        yield from _target(target, names, study, scene)


def _target(target: Target, names: Collection[str], study: Study, scene: Scene) -> Iterator[str]:
    """What is wrong with a target. names: of all targets."""
    where = f"target {quoted_value(target.name)}"
    key = "nodes" if target.node is None else "node"
    for name in target_patterns(target):
        if name not in scene and (key == "node" or not scene.matching(name)):
            yield no_node(f"{where}: {key}", name, scene)
    body = study.subject.node if study.subject is not None and not study.shows_subject else None
    if body is not None and target_nodes(target, scene.names) == (body,):
        yield f"{where}: {quoted_value(body)} is the subject, at whose eyes the camera is; name another node."
    for pattern in target.with_:
        if not scene.matching(pattern):
            yield no_node(f"{where}: with", pattern, scene)
    for name in target.like:
        if name == target.name:
            yield f"{where}: like names the target itself; name another one."
        elif name not in names and name not in scene:
            others = [other for other in names if other != target.name]
            yield f"{where}: like: {unknown_word(name, others, 'another target, nor a node of the scene')}"


def _gaps(study: Study, scene: Scene) -> Iterator[str]:
    for gap in study.gap:
        if gap.landing is not None and gap.landing not in scene:
            yield no_node(f"gap {quoted_value(gap.name)}: landing", gap.landing, scene)


def _moves(study: Study, scene: Scene) -> Iterator[str]:
    others = [one.name for one in study.others]
    for place in study.place:
        for pattern in place.move:
            if not scene.matching(pattern) and not matching_names(pattern, others):
                yield no_node(f"place {quoted_value(place.name)}: move", pattern, scene)


def _passes(study: Study, scene: Scene) -> Iterator[str]:
    swept = [(f"sweep: {axis}", getattr(study.sweep, axis).get("passes", ())) for axis in AXES]
    for where, several in [("camera", (study.camera.passes,)), *swept]:
        for pattern in dict.fromkeys(name for one in several for name in one):
            if not scene.matching(pattern):
                yield no_node(f"{where}: passes", pattern, scene)


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
