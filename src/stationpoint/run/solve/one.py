"""One field: where the worst margin changes sign, by a scan and then by halving."""

from __future__ import annotations

from itertools import pairwise
from math import ceil, floor, log10

from stationpoint.run.solve.trials import Trial, Trials

STEPS = 16  # of the scan
CLOSER = 8  # rounds of looking closer at the best of a scan in which nothing holds
FINE = 2e-5  # of the value: how near the limit is found
TIDY = 2e-4  # of the value: how far an answer may be from there, for fewer digits
LEAST_SHARE = 0.01  # of the range: what a value near 0 is measured by


def search_one(trials: Trials) -> list[tuple[Trial, Trial]]:
    """The ranges that hold, each by the trials at its ends, in order; none where nothing holds.

    An end is an end of the range that was asked for, or within FINE of where the brief stops holding. What
    holds or fails between two steps of the scan alone is not seen, unless nothing else holds.
    """
    (field,) = trials.varied
    width = field.high - field.low
    trials((field.low + k / STEPS * width,) for k in range(STEPS + 1))
    if not any(trial.holds for trial in trials.all):
        _look_closer(trials)
    scanned = _in_order(trials)
    ranges: list[tuple[Trial, Trial]] = []
    start: Trial | None = None
    for before, after in zip([None, *scanned], [*scanned, None], strict=True):
        if after is not None and after.holds and (before is None or not before.holds):
            start = after if before is None else _limit(trials, after, before)
        if before is not None and before.holds and (after is None or not after.holds) and start is not None:
            ranges.append((start, before if after is None else _limit(trials, before, after)))
    return ranges


def is_end(trials: Trials, trial: Trial) -> bool:
    """Whether a set-up is at an end of the range that was asked for, rather than at a limit."""
    (field,) = trials.varied
    return trial.values[0] in (field.low, field.high)


def _in_order(trials: Trials) -> list[Trial]:
    return sorted(trials.all, key=lambda trial: trial.values)


def _look_closer(trials: Trials) -> None:
    """Between the neighbours of the best, until something holds."""
    for _ in range(CLOSER):
        order = _in_order(trials)
        best = max(range(len(order)), key=lambda k: order[k].rank)
        ends = [order[max(0, best - 1)], order[best], order[min(len(order) - 1, best + 1)]]
        pairs = [(a.values[0], b.values[0]) for a, b in pairwise(ends)]
        made = trials((a + part * (b - a),) for a, b in pairs if b > a for part in (1 / 3, 2 / 3))
        if not trials.room or any(trial.holds for trial in made):
            return


def _limit(trials: Trials, holding: Trial, failing: Trial) -> Trial:
    """The trial on the holding side of the limit between two set-ups."""
    (field,) = trials.varied
    while True:
        a, b = holding.values[0], failing.values[0]
        scale = max(abs(a), abs(b), LEAST_SHARE * (field.high - field.low))
        if abs(b - a) <= FINE * scale:
            break
        made = trials([((a + b) / 2,)])
        if not made:
            break
        holding, failing = (made[0], failing) if made[0].holds else (holding, made[0])
    tidied = trials([(tidy(a, b, TIDY * scale),)])
    return tidied[0] if tidied and tidied[0].holds else holding


def tidy(holding: float, failing: float, slack: float) -> float:
    """A value of as few digits as lie within `slack` of a holding one, away from the failing one:
    tidy(60.3439, 60.3441, 0.01) is 60.34."""
    first = floor(log10(slack)) + 1
    for decimals in range(-first, 12 - first):
        unit = 10.0**decimals
        away = floor(holding * unit) if failing > holding else ceil(holding * unit)
        value = round(away / unit, max(0, decimals))
        if abs(value - holding) <= slack:
            return float(value)
    return holding
