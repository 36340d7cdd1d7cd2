"""The close-up of a target's twin: the picture and its twin drawn, measured, and set on one page."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import listed, nearest
from stationpoint.readings import (
    FIELDS,
    Case,
    Result,
    carried_nodes,
    target_object,
    twin_group,
    twin_moves,
    twin_of,
)
from stationpoint.record import csv_text, record_hash, record_text, ticket_text
from stationpoint.render import Renderer, has_context, open_renderer
from stationpoint.run.cases import MOST_SIDE_PX, cases, with_height
from stationpoint.run.endings import PNG, RECORD, STUDY, check_format
from stationpoint.run.formats import drawn_files
from stationpoint.run.prepare import Prepared
from stationpoint.run.recorded import record_of
from stationpoint.run.sheet import (
    DRAWN_BY,
    Drawing,
    Made,
    Progress,
    aids_drawn,
    quiet_progress,
)
from stationpoint.run.sweep import Wants, measure_case, picture_bytes, shots_of
from stationpoint.run.warnings import not_set, warnings_of
from stationpoint.run.workers.processes import processors, work_in_order
from stationpoint.run.workers.worth import may_share
from stationpoint.scene import Scene, moved_node, moved_scene, under
from stationpoint.sheet import (
    CLOSE_UP_PX,
    Layouts,
    Pictures,
    TwinLayout,
    axes_of,
    owners_by_id,
    plan_data,
    plan_objects,
    twin_answer,
    twin_page,
    twin_title,
)
from stationpoint.study import Study, Target, Variant, mark_m, study_text

Points = NDArray[np.float64]
SLIDE, MIRROR = "slide", "mirror"
KINDS = (SLIDE, MIRROR)
NO_TWIN = "no plausible twin"
BUILT, SHOWN, TWIN = "built", "shown", "twin"  # as it stands; with the target's own cues; elsewhere


def draw_twin_sheet(
    prepared: Prepared,
    drawing: Drawing,
    target: str | None = None,
    kind: str = SLIDE,
    shift_m: float | None = None,
    variant: str | None = None,
    workers: int | None = 1,
    progress: Progress = quiet_progress,
    ending: str = PNG,
) -> Made:
    """The close-up of a target and its twin under one camera, at the study's first place.

    drawing: its cell width and renderer count.
    target: its name, the study's first primary one if None. kind: "slide" or "mirror". shift_m: metres
    of depth, tried to either side; the study's own if None. variant: label or key, the first if None.
    workers: processes, None for as many as pay. ending: that of the file. StudyWrong where there is no such
    thing, or no plausible twin.
    """
    check_format(ending)
    if kind not in KINDS:
        raise StudyWrong(f'there is no twin called "{kind}"; there are {listed(KINDS)}.')
    study = prepared.study
    if shift_m is not None:
        study = study.model_copy(update={"twin_shift_m": abs(shift_m)})
    chosen = _target(study, target)
    prepared = replace(prepared, study=study, variants=(_variant(prepared, variant),))
    width = drawing.cell_width or CLOSE_UP_PX
    if width > MOST_SIDE_PX // 3:
        raise StudyWrong(f"--cell-width {width} is too wide for two pictures; at most {MOST_SIDE_PX // 3}.")
    grid, shadow = aids_drawn(prepared, drawing)
    wants = Wants(cell_width=width, ids=True, grid=grid, shadow=shadow)
    jobs = (BUILT, TWIN) if chosen.role == "primary" else (BUILT, SHOWN, TWIN)
    workers = _worth(prepared) if workers is None else workers
    work = partial(_easel, prepared, chosen, kind, wants, drawing.renderer)
    room = len(jobs) * sum(picture_bytes(prepared, wants))
    results: dict[str, Result] = {}
    with progress(len(jobs)) as done:
        drawn = work_in_order(work, jobs, workers, may_fork=not has_context(), room_bytes=room)
        for job, one in zip(jobs, drawn, strict=True):
            results[job] = one
            done()
    built = results[BUILT]
    pictures = Pictures(results.get(SHOWN, built), results[TWIN])
    whole = record_of(prepared, [built], drawing.renderer)
    text = record_text(whole)
    layouts = _layouts(
        next(cases(prepared, width)), chosen, kind, _shift(built, chosen, kind), with_height(prepared)
    )
    page = twin_page(
        pictures,
        with_height(prepared),
        chosen.name,
        kind,
        layouts,
        owner_by_id=owners_by_id(prepared.scene.nodes, study),
        record_hash=record_hash(text),
        cell_width=width,
        renderer_note=DRAWN_BY.get(drawing.renderer, ""),
        mark_m=mark_m(study, prepared.scene),
    )
    texts = {RECORD: text, STUDY: study_text(prepared.said)}
    ticket = ticket_text(whole, record_hash(text), twin_answer(built, chosen.name, kind, layouts))
    files = drawn_files([page], ending, twin_title(chosen.name, kind), ticket, lambda _: texts)
    return Made(
        tuple(files),
        text,
        csv_text(whole, FIELDS).encode(),
        ticket,
        (
            *prepared.notes,
            *warnings_of([built], prepared.scene),
            *not_set(study, (thing.name for thing in layouts.data.objects)),
        ),
    )


def _target(study: Study, name: str | None) -> Target:
    """The target of that name; StudyWrong where there is none."""
    if not study.target:
        raise StudyWrong("the study names no target; add a [[target]] to look for its twin.")
    if name is None:
        return next((one for one in study.target if one.role == "primary"), study.target[0])
    for one in study.target:
        if one.name == name:
            return one
    known = [one.name for one in study.target]
    close = nearest(name, known)
    meant = f'did you mean "{close}"?' if close else f"there are {listed(known)}."
    raise StudyWrong(f'--target: there is no target "{name}"; {meant}')


def _variant(prepared: Prepared, label: str | None) -> Variant:
    """The variant of that label or key, the first if None; StudyWrong where there is none."""
    if label is None:
        return prepared.variants[0]
    for one in prepared.variants:
        if label.upper() == one.label.upper() or label == one.key:
            return one
    first, last = prepared.variants[0].label, prepared.variants[-1].label
    has = f"has {first} to {last}" if last != first else f"has {first} alone"
    raise StudyWrong(f'--variant: there is no variant "{label}"; the sweep {has}.')


def _worth(prepared: Prepared) -> int:
    """How many processes pay: the picture and its twin can be drawn at once."""
    return min(2, processors()) if may_share(prepared) else 1


@contextmanager
def _easel(
    prepared: Prepared, target: Target, kind: str, wants: Wants, renderer: str
) -> Iterator[Callable[[str], Result]]:
    """What draws BUILT, SHOWN and TWIN. Where the first is drawn elsewhere, the twin is looked for anew."""
    case = next(cases(prepared, wants.cell_width))
    shown = _with_its_cues(case, target)
    built: Result | None = None
    with open_renderer(renderer, prepared.scene) as opened:

        def drawn(job: str) -> Result:
            nonlocal built
            if job == BUILT:
                built = _drawn(case, opened, wants)
                return built
            if job == SHOWN:
                return _drawn(shown, opened, wants)
            found = built or _drawn(case, opened, replace(wants, only=frozenset({"twins"})))
            moves = twin_moves(case, target, kind, _shift(found, target, kind))
            return _drawn(
                replace(shown, scene=moved_scene(prepared.scene, dict(moves)), moves=moves), opened, wants
            )

        yield drawn


def _drawn(case: Case, renderer: Renderer, wants: Wants) -> Result:
    """A case drawn and measured."""
    frames = {key: renderer.draw(shot) for key, shot in shots_of(case, wants, True).items()}
    return measure_case(case, frames, wants)


def _with_its_cues(case: Case, target: Target) -> Case:
    """The case with the target taken as a primary one, since cues are measured of these only."""
    if target.role == "primary":
        return case
    raised = target.model_copy(update={"role": "primary"})
    targets = tuple(raised if one.name == target.name else one for one in case.study.target)
    return replace(case, study=case.study.model_copy(update={"target": targets}))


def _shift(built: Result, target: Target, kind: str) -> float | None:
    """The shift of the twin that was found, None for a mirror; StudyWrong where there is no twin."""
    values, at = built.reading.values, ("twins", target.name, kind)
    level, why = values.get((*at, "level")), values.get((*at, "why"))
    if level is None:
        raise StudyWrong(
            f'"{target.name}" has no twin in {built.variant.label}: nothing of it is drawn there.'
        )
    if level == NO_TWIN:
        reason = f": {why}" if isinstance(why, str) else ""
        raise StudyWrong(f'"{target.name}" has no plausible twin in {built.variant.label}{reason}.')
    shift = values.get((*at, "shift_m"))
    return float(shift) if isinstance(shift, float | int) else None


def _layouts(case: Case, target: Target, kind: str, shift_m: float | None, study: Study) -> Layouts:
    """Both layouts in plan and side view. study: as sheets tell it."""
    matrix = twin_of(case, target, kind, shift_m).matrix
    assert matrix is not None
    scene, axes = case.scene, axes_of(case.setup)
    names = twin_group(case, target)
    elsewhere = [moved_node(node, matrix) if node.name in names else node for node in scene.nodes]
    moved_things = [thing for thing in plan_objects(elsewhere, axes, case.study) if thing.name in names]
    foot = target_object(scene, target).foot_m
    there = foot if kind == MIRROR else carried_nodes(foot[None, :], matrix)[0]
    return Layouts(
        plan_data(scene.nodes, [(case.variant.label, case.setup)], study),
        frozenset(names),
        tuple(moved_things),
        _stand(scene, names, foot, axes),
        _stand(scene, names, there, axes),
    )


def _stand(scene: Scene, names: Sequence[str], foot_m: Points, axes: Points) -> TwinLayout:
    """Where a foot is, and what lies under it and under what moves along."""
    x, y, z = (float(part) for part in foot_m)
    below = under(scene, (x, y, z), ignoring=tuple(names))
    along, across, up = (float(part) for part in axes @ foot_m)
    if below is None:
        return TwinLayout((along, across, up), None, "")
    return TwinLayout((along, across, up), up - below[1], below[0])
