"""What `check` says: what was understood of a study, scene or mesh, and what looks odd in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import dist, hypot
from pathlib import Path
from typing import Any

from stationpoint.base.words import (
    TIMES,
    angles,
    counted,
    decision_words,
    degrees,
    listed,
    metres,
    pitch_words,
    plain,
    short_of,
    yaw_words,
)
from stationpoint.camera import Setup
from stationpoint.cli import tell
from stationpoint.cli.actions.nodes import node_table
from stationpoint.cli.actions.work import bare_scene, stem_of, study_of
from stationpoint.cli.options import CheckOptions
from stationpoint.readings import brief_words
from stationpoint.run import (
    Prepared,
    Wants,
    cases_to_draw,
    landed_node,
    own_setup,
    prepare_study,
    sweep_variants,
    warnings_of,
)
from stationpoint.scene import Scene
from stationpoint.study import AXES, Gap, Study, Subject, Target, Viewing, target_patterns, what_is

MOST_NODES, MOST_VALUES, MOST_LINES = 12, 10, 12
LABEL_WIDTH = 10
UNDRAWN = frozenset({"positions", "framing-geometry", "size"})  # kinds of readings that need no picture


def check(file: str, changes: CheckOptions) -> None:
    """Say what is in a study, scene or mesh; draw nothing."""
    path = Path(file)
    pattern = changes["nodes"]
    if what_is(path) != "study":
        scene, _, _ = bare_scene(path, changes["sets"])
        if pattern is not None:
            tell(*node_table(scene, pattern))
            return
        tell(path.name)
        _say(_scene_lines(path.name, scene))
        _say_notes(scene.notes)
        tell(f"Draw it with: stationpoint sheet {path}")
        return
    study = study_of(path, changes).study
    prepared = prepare_study(study, path.parent)
    if pattern is not None:
        tell(*node_table(prepared.scene, pattern))
        return
    tell(*(study.title.strip() or f"{stem_of(path)}, a study without a title").split("\n"))
    _say(_study_lines(prepared))
    results = sweep_variants(prepared, Wants(picture=False, only=UNDRAWN))
    _say_notes((*prepared.notes, *warnings_of(results, prepared.scene)))


def _say(lines: Iterator[tuple[str, str]]) -> None:
    for label, words in lines:
        tell(f"  {label:{LABEL_WIDTH}} {words}")


def _say_notes(notes: Sequence[str]) -> None:
    for note in short_of(notes):
        tell(f"  {'Note':{LABEL_WIDTH}} {note}")


def _scene_lines(name: str, scene: Scene) -> Iterator[tuple[str, str]]:
    faces = sum(len(node.faces) for node in scene.nodes)
    low, high = scene.bounds()
    spans = f" {TIMES} ".join(plain(span, 2) for span in (high - low).tolist())
    yield (
        "Scene",
        f"{name}: {counted(len(scene.nodes), 'node')}, {counted(faces, 'triangle')}; "
        f"{spans} m (x, y, z), from {_point(low.tolist())} to {_point(high.tolist())}",
    )
    names = [node.name for node in scene.nodes]
    yield "Nodes", _some(names, MOST_NODES)
    if scene.cameras:
        yield "Cameras", _some([camera.name for camera in scene.cameras], MOST_NODES)


def _some(names: Sequence[str], most: int) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def _point(values: Sequence[float]) -> str:
    return f"({', '.join(plain(value, 2) for value in values)})"


def _study_lines(prepared: Prepared) -> Iterator[tuple[str, str]]:
    study, setup = prepared.study, own_setup(prepared)
    yield from _scene_lines(study.scene, prepared.scene)
    yield from _entries("Subjects" if study.others else "Subject", _subject_lines(study, setup))
    yield from _entries("Targets", [_target_words(target) for target in study.target])
    yield from _entries("Gaps", [_gap_words(gap, prepared) for gap in study.gap])
    places = [place.name for place in study.places]
    if len(places) > 1:
        yield "Places", listed(places)
    yield "Camera", _camera_words(setup)
    for axis in AXES:
        fields = getattr(study.sweep, axis)
        if fields:
            yield axis.capitalize(), "; ".join(_swept(field, values) for field, values in fields.items())
    if study.sweep.hold != "nothing":
        yield "Held", study.sweep.hold
    if study.decision is not None:
        made, taken = study.decision, prepared.chosen
        who = f"{taken.label} ({taken.key})" if taken is not None else made.chosen
        yield "Chosen", decision_words(who, made.by, made.on, made.because)
    rows = cases_to_draw(prepared)
    yield "Makes", f"{counted(len(prepared.variants), 'variant')}, {counted(rows, 'row')} of readings"
    yield from _entries("Viewings", [_viewing_words(viewing) for viewing in study.viewings])
    if not study.viewing:
        yield "", "(assumed: the study names no viewing)"
    yield "Game ships", listed(study.aids) or "no depth aids that the study names"
    yield from _entries("Brief", brief_words(study))


def _entries(label: str, words: Sequence[str]) -> Iterator[tuple[str, str]]:
    for k, line in enumerate(words[:MOST_LINES]):
        yield (label if k == 0 else ""), line
    if len(words) > MOST_LINES:
        yield "", f"and {len(words) - MOST_LINES} more"


def _subject_lines(study: Study, setup: Setup) -> list[str]:
    """The subjects, a line each."""
    if not study.others:
        return [_subject_words(study.subject, study, _point(setup.foot_m))]
    return [_subject_words(one, study, _point(one.at) if one.at else "") for one in study.subjects]


def _subject_words(subject: Subject | None, study: Study, foot: str) -> str:
    if subject is None:
        return f"none; the camera looks at the scene's middle on its floor, {foot}"
    if not study.shows_subject:
        return f"{subject.name}, at whose eyes the camera is, foot at {foot}"
    drawn = (
        f'node "{subject.node}"' if subject.node else f"a {subject.shape} {plain(subject.high_m, 2)} m high"
    )
    return f"{subject.name}, {drawn}{f', foot at {foot}' if foot else ''}"


def _target_words(target: Target) -> str:
    if target.node is not None:
        what = f'node "{target.node}"'
    elif patterns := target_patterns(target):
        what = f"nodes {listed(patterns)}"
    else:
        what = f"{'a box' if target.size else 'a point'} at {_point(target.at or ())}"
    return f"{target.name} ({target.role}): {what}"


def _gap_words(gap: Gap, prepared: Prepared) -> str:
    (x0, y0, z0), (x1, y1, z1) = gap.from_, gap.to
    level, rise = hypot(x1 - x0, z1 - z0), y1 - y0
    up = "" if not rise else f", {metres(abs(rise))} {'up' if rise > 0 else 'down'}"
    if gap.reach_m is not None:
        reach = f"; level reach {metres(gap.reach_m)}"
    elif gap.reach is not None:
        reach = "; reach from a table"
    else:
        reach = "; reach from a jump" if gap.jump is not None else "; no reach given"
    node = landed_node(gap, prepared.study, prepared.scene)
    lands = "lands over nothing level" if node is None else f"lands on {node}"
    return (
        f"{gap.name}: {metres(dist(gap.from_, gap.to))} straight, {metres(level)} level{up}{reach}; {lands}"
    )


def _camera_words(setup: Setup) -> str:
    words = [setup.projection]
    if setup.focal_mm is not None and setup.hfov_deg is not None and setup.vfov_deg is not None:
        diagonal = degrees(setup.dfov_deg or 0.0)
        words.append(f"{plain(setup.focal_mm, 2)} mm ({angles(setup.hfov_deg, setup.vfov_deg)}, {diagonal})")
    if setup.view_height_m is not None:
        words.append(f"view {metres(setup.view_height_m)} high")
    away = "the subject not in front" if setup.distance_m is None else f"{metres(setup.distance_m)} away"
    if setup.at_anchor:
        away = f"eyes {metres(setup.anchor_height_m)} up"
    words += [away, pitch_words(setup.pitch_deg), yaw_words(setup.yaw_deg)]
    if plain(setup.roll_deg, 1) != "0":
        words.append(f"roll {degrees(setup.roll_deg)}")
    words.append(setup.aspect_words)
    across, up = (plain(part, 3) for part in setup.offset or (0.0, 0.0))
    if (across, up) != ("0", "0"):
        words.append(f"offset {across} across, {up} up by {setup.offset_by}")
    return ", ".join(words)


def _swept(field: str, values: Sequence[Any]) -> str:
    words = [plain(value) if isinstance(value, int | float) else str(value) for value in values]
    return f"{field}: {_some(words, MOST_VALUES)}"


def _viewing_words(viewing: Viewing) -> str:
    part = "" if viewing.part == (0.0, 0.0, 1.0, 1.0) else f", part {_point(viewing.part)}"
    width, height = viewing.pixels
    scale = viewing.render_scale
    drawn = "" if scale == 1.0 else f" drawn at {plain(100.0 * scale, 1)} %"
    return (
        f"{viewing.name}: {plain(viewing.diagonal_in, 1)} in, {width} {TIMES} {height}{drawn}, "
        f"from {plain(viewing.eye_distance_m, 2)} m{part}"
    )
