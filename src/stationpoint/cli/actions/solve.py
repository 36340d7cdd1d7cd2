"""What `solve` does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from stationpoint.base.allowed import quoted_value
from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import DEGREE, counted, listed, plain
from stationpoint.cli import say, tell
from stationpoint.cli.actions.outputs import CHART, RECORD, STDOUT, Outputs
from stationpoint.cli.actions.sheet import add_all, draw_with, picture_place, places, places_beside
from stationpoint.cli.actions.work import Drawer, progress_of, stem_of, study_of
from stationpoint.cli.options import Changes, SolveOptions
from stationpoint.readings import (
    Verdict,
    brief_words,
    finding_words,
    limit_complaints,
    without_assumed,
)
from stationpoint.record import record_text
from stationpoint.run import (
    Drawing,
    Prepared,
    Solved,
    Wants,
    labels_of,
    margin_map,
    musts_of,
    needed_readings,
    prepare_study,
    prepared_for,
    record_of,
    solve_study,
    sweep_variants,
    verdicts_on,
    warnings_of,
    with_solve,
    with_spots,
)
from stationpoint.sheet import draw_margin_map
from stationpoint.study import Study, Varied, limit_from_words, ranges_to_vary, with_settings

FOUND, NOTHING = 0, 1
NARROW_HFOV_DEG = 60.0
NEAR_M = 1.0  # a seat nearer than this is at a desk, or holds the screen
WIDE_SCREEN_IN = 15.0  # and a screen from this on stands on the desk
NARROW = (
    f"Note: below some 60{DEGREE} across, seats at a desk feel a view as narrow (common practice); "
    "test it with players."
)
MAP = CHART._replace(says="a map is a PNG or an SVG", option="--map")
MOST_TOLD = 4  # shoulds of one set-up


def solve(file: str, chosen: SolveOptions) -> int:
    """Search the ranges, print what holds, write what is asked for; the exit code."""
    path = Path(file)
    prepared, varied = _ready(path, chosen)
    if chosen["map_file"] is not None and len(varied) != 2:
        raise StudyWrong(f"--map draws two fields, and --vary names {len(varied)}; vary two.")
    outputs = Outputs(chosen["force"])
    to = None if chosen["output"] is None else picture_place(chosen["output"], f"{stem_of(path)}.solve")
    beside = (
        None if to is None else places_beside(to, (None, None, None), chosen["alone"] or str(to) == STDOUT)
    )
    if beside is not None and chosen["json_file"] is not None:
        beside[0] = None
    claims = [] if to is None or beside is None else places(to, beside)
    outputs.claim_all([*claims, (chosen["json_file"], RECORD), (chosen["map_file"], MAP)])
    drawer = Drawer(chosen["renderer"])

    def searched_by(name: str) -> Solved:
        with progress_of(chosen)(chosen["most"]) as done:
            return solve_study(
                prepared,
                varied,
                renderer=name,
                workers=chosen["workers"],
                most=chosen["most"],
                on_trial=done,
            )

    solved = drawer(searched_by)
    found = prepared_for(prepared, solved)
    only = needed_readings(found)
    wants = Wants(picture=False, only=only)
    results = drawer(lambda name: sweep_variants(found, wants, name, 1))
    verdicts = verdicts_on(found, results, only)
    if chosen["json_file"] is not None:
        whole = record_of(found, results, drawer.name if solved.drawn else None, only)
        outputs.add(chosen["json_file"], RECORD, record_text(with_solve(whole, solved, found)).encode())
    if chosen["map_file"] is not None:
        made = drawer(lambda name: margin_map(prepared, varied, renderer=name, workers=chosen["workers"]))
        ending = Path(chosen["map_file"]).suffix.lower() or ".png"
        outputs.add(chosen["map_file"], MAP, draw_margin_map(with_spots(made, solved, found), ending))
    if to is not None and beside is not None:
        drawing = Drawing(cell_width=chosen["cell_width"])
        sheet = draw_with(found, drawing, drawer, chosen)
        add_all(outputs, sheet, to, beside)
    say(*prepared.notes, *warnings_of(results, found.scene))
    with suppress(BrokenPipeError):  # the answer stands where nobody reads on
        outputs.deliver(chosen["quiet"])
        piped = STDOUT in (chosen["json_file"], chosen["output"], chosen["map_file"])
        (say if piped else tell)(*_lines(solved, found, verdicts))
    return FOUND if solved.holds else NOTHING


def _ready(path: Path, chosen: SolveOptions) -> tuple[Prepared, tuple[Varied, ...]]:
    """The study made ready, with `--until` for its brief if that is given, and the ranges."""
    changes = Changes(
        sets=chosen["sets"],
        hold=chosen["hold"],
        places=chosen["places"],
        viewings=chosen["viewings"],
        rows=None,
        columns=None,
        pages=None,
    )
    given = study_of(path, changes, sweeps_camera=False)
    study = given.study
    if chosen["until"]:
        study = _asked(study, chosen["until"])
    elif not musts_of(study):
        raise StudyWrong(
            f'{path.name} has no must to search by; say what must hold: --until "targets.crate.seen >= 0.6".'
        )
    varied = ranges_to_vary(chosen["vary"], study)
    ends = [
        {one.field: end for one, end in zip(varied, some, strict=True)}
        for some in ([one.low for one in varied], [one.high for one in varied])
    ]
    prepared = prepare_study(with_settings(study, ends), path.parent, given.scene, given.guessed)
    if chosen["until"]:
        prepared = replace(prepared, study=without_assumed(prepared.study))
    return prepared, varied


def _asked(study: Study, until: Sequence[str]) -> Study:
    """The study whose brief is what `--until` says; StudyWrong where that means no reading."""
    made = []
    for words in until:
        limit = limit_from_words(words)
        for line in limit_complaints(study.model_copy(update={"limit": (limit,)})):
            said = line.removeprefix(f"limit {quoted_value(limit.reading)}: ")
            raise StudyWrong(f"--until {quoted_value(words)}: {said}")
        made.append(limit)
    return study.model_copy(update={"limit": tuple(made)})


def _lines(solved: Solved, found: Prepared, verdicts: Mapping[str, Verdict]) -> Iterator[str]:
    """The answer: what holds where, each set-up found with what binds it, what could be given up."""
    labels = labels_of(found)
    fields = [one.field for one in solved.varied]
    tried = f"{counted(solved.evaluations, 'set-up')} tried"
    if solved.holds and len(fields) == 1:
        (field,) = fields
        stretches = [f"{plain(low, 4)} to {plain(high, 4)}" for low, high in solved.ranges[field]]
        whole = ", the whole range," if solved.ranges[field] == [solved.varied[0][1:]] else ""
        yield f"{field} {listed(stretches)}{whole} {'hold' if len(stretches) > 1 else 'holds'}; {tried}."
    elif solved.holds:
        extents = [
            f"{field} {plain(low, 4)} to {plain(high, 4)}" for field, ((low, high),) in solved.ranges.items()
        ]
        many = solved.holding > 1
        yield f"{solved.holding} of {tried} " + (f"hold, with {listed(extents)}." if many else "holds.")
    else:
        yield f"Nothing holds; {tried}."
    for k, (label, trial) in enumerate(zip(labels, solved.found, strict=True)):
        name = f"{label} ({_settings(fields, trial.values)})"
        binds = finding_words(trial.binds) if trial.binds is not None else "none meets anything here"
        if solved.holds:
            yield f"{name} {'is the limit' if solved.at_limits else 'holds'}; nearest limit: {binds}."
        for one in solved.give_up:
            if one.trial.values == trial.values:
                yield from _given_up(name, one.limits, found.study, binds)
        own = [verdicts[v.label] for v in found.variants if v.column == k and v.label in verdicts]
        told = dict.fromkeys(finding_words(f) for verdict in own for f in verdict.told)
        for words in list(told)[:MOST_TOLD]:
            yield f"{label} should: {words}."
    if _feels_narrow(solved, found.study):
        yield NARROW


def _feels_narrow(solved: Solved, study: Study) -> bool:
    """Whether a set-up that holds is narrow for a seat at a desk."""
    at_desk = any(v.eye_distance_m < NEAR_M and v.diagonal_in >= WIDE_SCREEN_IN for v in study.viewings)
    return at_desk and solved.narrowest_deg is not None and solved.narrowest_deg < NARROW_HFOV_DEG


def _given_up(name: str, limits: Sequence[int], study: Study, binds: str) -> Iterator[str]:
    words = brief_words(study.model_copy(update={"limit": tuple(musts_of(study)[k] for k in limits)}))
    if len(musts_of(study)) == len(limits):
        yield f"Nearest is {name}: {binds}."
    else:
        yield f'Give up "{listed(words)}", and {name} holds all else: {binds}.'


def _settings(fields: Sequence[str], values: Sequence[float]) -> str:
    return ", ".join(f"{field} {plain(value, 4)}" for field, value in zip(fields, values, strict=True))
