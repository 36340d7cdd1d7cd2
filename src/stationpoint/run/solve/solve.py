"""The set-ups that hold a brief within ranges: the search, what is kept of it, and its record."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.readings import bounded_paths, brief_words, kinds_of
from stationpoint.record import Json, Record
from stationpoint.run.prepare import Prepared
from stationpoint.run.solve.give_up import GiveUp, what_to_give_up
from stationpoint.run.solve.one import is_end, search_one
from stationpoint.run.solve.several import MOST_FIELDS, diverse, search_several
from stationpoint.run.solve.trials import Trial, Trials, trials_of
from stationpoint.sheet import MarginMap
from stationpoint.study import Limit, Study, Varied, expand, with_settings

MOST_FOUND = 6
MAP_STEPS = 40  # of each field; every second one is tried, and those between beside a limit
DECIMALS = 9  # of values and margins in a record
MARGIN_DECIMALS = 5
NAMES = {"reading", "min", "max", "is_", "not_", "one_of", "role", "viewing", "place", "level"}


@dataclass(frozen=True, slots=True)
class Solved:
    """What a search found.

    found: the set-ups, best first; of one field those at its limits; where none holds one for each way to
    give up. evaluations: how many set-ups were tried, and holding how many of these hold. ranges: field ->
    stretches that hold, of one field; of several the one stretch that holding set-ups lie in. give_up:
    where none holds. at_limits: each of found is where a must stops holding. narrowest_deg: the least angle
    of view across of what holds. drawn: whether a must may have to see something drawn.
    """

    varied: tuple[Varied, ...]
    found: tuple[Trial, ...]
    evaluations: int
    holding: int
    ranges: dict[str, list[tuple[float, float]]]
    give_up: tuple[GiveUp, ...]
    at_limits: bool
    narrowest_deg: float | None
    drawn: bool

    @property
    def holds(self) -> bool:
        """Whether any set-up holds."""
        return not self.give_up


def solve_study(
    prepared: Prepared,
    varied: Sequence[Varied],
    *,
    renderer: str = "gl",
    workers: int | None = 1,
    most: int = 400,
    on_trial: Callable[[], None] = lambda: None,
) -> Solved:
    """The set-ups within the ranges that hold the study's musts. most: fewer than this are tried."""
    if len(varied) > MOST_FIELDS:
        raise StudyWrong(f"--vary: {len(varied)} fields are too many to search; vary at most {MOST_FIELDS}.")
    with trials_of(prepared, varied, renderer, workers, most, on_trial) as trials:
        if len(varied) == 1:
            return _of_one(trials)
        return _of_several(trials)


def _of_one(trials: Trials) -> Solved:
    ranges = search_one(trials)
    limits = list({one.values: one for ends in ranges for one in ends if not is_end(trials, one)}.values())
    ends = {trials.varied[0].field: [(low.values[0], high.values[0]) for low, high in ranges]}
    if limits or not ranges:
        return _solved(trials, limits, ends, at_limits=True)
    return _solved(trials, [max(trials.all, key=lambda trial: trial.rank)], ends)


def _of_several(trials: Trials) -> Solved:
    search_several(trials)
    ranked = sorted(trials.all, key=lambda trial: trial.rank, reverse=True)
    holding = [trial for trial in ranked if trial.holds]
    ranges = {
        one.field: [(min(values), max(values))]
        for k, one in enumerate(trials.varied)
        if (values := [trial.values[k] for trial in holding])
    }
    return _solved(trials, diverse(trials, holding), ranges)


def _solved(
    trials: Trials,
    found: Sequence[Trial],
    ranges: dict[str, list[tuple[float, float]]],
    at_limits: bool = False,
) -> Solved:
    give_up = () if found else what_to_give_up(trials)[:MOST_FOUND]
    kept = tuple(found[:MOST_FOUND]) or tuple({one.trial.values: one.trial for one in give_up}.values())
    lenses = [one.hfov_deg for one in trials.all if one.holds and one.hfov_deg is not None]
    return Solved(
        trials.varied,
        kept,
        trials.count,
        sum(trial.holds for trial in trials.all),
        ranges,
        tuple(give_up),
        at_limits,
        min(lenses, default=None),
        trials.draws,
    )


def prepared_for(prepared: Prepared, solved: Solved) -> Prepared:
    """The study whose columns are the set-ups found."""
    fields = [one.field for one in solved.varied]
    settings = [dict(zip(fields, trial.values, strict=True)) for trial in solved.found]
    study = with_settings(prepared.study, settings)
    return replace(prepared, study=study, variants=expand(study))


def needed_readings(prepared: Prepared) -> frozenset[str]:
    """The families of readings that the brief is about."""
    return kinds_of(bounded_paths(prepared.study))


def labels_of(prepared: Prepared) -> list[str]:
    """The label of each set-up found: of its first variant. prepared: as `prepared_for` gives it."""
    firsts: dict[int, str] = {}
    for variant in prepared.variants:
        firsts.setdefault(variant.column, variant.label)
    return [firsts[column] for column in sorted(firsts)]


def with_solve(whole: Record, solved: Solved, prepared: Prepared) -> Record:
    """The record of the set-ups found with what the search says. prepared: as `prepared_for` gives it."""
    labels, musts = labels_of(prepared), musts_of(prepared.study)
    holds: dict[str, Json] = {
        field: [[round(low, DECIMALS), round(high, DECIMALS)] for low, high in stretches]
        for field, stretches in solved.ranges.items()
    }
    give_up: list[Json] = [
        {
            "limits": [
                musts[k].model_dump(mode="json", by_alias=True, exclude_unset=True, include=NAMES)
                for k in one.limits
            ],
            "variant": labels[[trial.values for trial in solved.found].index(one.trial.values)],
            "margin": round(one.margin, MARGIN_DECIMALS),
        }
        for one in solved.give_up
    ]
    said: dict[str, Json] = {
        "evaluations": solved.evaluations,
        "varied": {one.field: [one.low, one.high] for one in solved.varied},
        "holds": holds if solved.holds else None,
        "give_up": give_up or None,
    }
    return whole | {"solve": said}


def musts_of(study: Study) -> tuple[Limit, ...]:
    """The limits that are searched by."""
    return tuple(limit for limit in study.limit if limit.level == "must")


def margin_map(
    prepared: Prepared,
    varied: Sequence[Varied],
    *,
    renderer: str = "gl",
    workers: int | None = 1,
    on_trial: Callable[[], None] = lambda: None,
) -> MarginMap:
    """The map of the musts' margins over two fields, without set-ups on it."""
    across, up = varied
    xs, ys = (
        [one.low + k / MAP_STEPS * (one.high - one.low) for k in range(MAP_STEPS + 1)] for one in varied
    )
    with trials_of(prepared, varied, renderer, workers, 0, on_trial) as trials:
        made: dict[tuple[int, int], Trial] = {}

        def tried(spots: Sequence[tuple[int, int]]) -> None:
            found = trials.aside([(xs[column], ys[row]) for row, column in spots])
            made.update(zip(spots, found, strict=True))

        coarse = range(0, MAP_STEPS + 1, 2)
        tried([(row, column) for row in coarse for column in coarse])
        cells = [(row, column) for row in coarse[:-1] for column in coarse[:-1]]
        near = {
            (row + down, column + right): None
            for row, column in cells
            if len({made[row + down, column + right].holds for down in (0, 2) for right in (0, 2)}) == 2
            for down in (0, 1, 2)
            for right in (0, 1, 2)
        }
        tried([spot for spot in near if spot not in made])
        brief = prepared.study.model_copy(update={"limit": trials.limits})
        tables = [_table(made, k) for k in range(len(trials.limits))]
    title = prepared.study.title or "A study without a title"
    limits = tuple(zip(brief_words(brief), tables, strict=True))
    foot = f"study {prepared.study_digest[:10]}"
    return MarginMap(title, (across.field, up.field), tuple(xs), tuple(ys), limits, (), foot)


def with_spots(made: MarginMap, solved: Solved, prepared: Prepared) -> MarginMap:
    """The map with the set-ups found on it. prepared: as `prepared_for` gives it."""
    spots = [
        (label, one.values[0], one.values[1])
        for label, one in zip(labels_of(prepared), solved.found, strict=True)
    ]
    return replace(made, spots=tuple(spots))


def _table(made: Mapping[tuple[int, int], Trial], k: int) -> NDArray[np.float64]:
    """The margins of a must at every spot of the map: between those that were tried the mean of these."""
    table = np.full((MAP_STEPS + 1, MAP_STEPS + 1), np.nan)
    for (row, column), trial in made.items():
        margin = trial.margins[k]
        table[row, column] = np.nan if margin is None else margin
    for row in range(MAP_STEPS + 1):
        for column in range(MAP_STEPS + 1):
            if (row, column) not in made:
                rows = sorted({row - row % 2, row + row % 2})
                columns = sorted({column - column % 2, column + column % 2})
                table[row, column] = np.mean(table[np.ix_(rows, columns)])
    return table
