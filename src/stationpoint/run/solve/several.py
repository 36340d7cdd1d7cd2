"""Several fields: points spread evenly over the ranges, then a closer look round the best of them.

Both are fixed: the same study gives the same answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import floor, log10
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stationpoint.run.solve.trials import Trial, Trials, Values

PRIMES = (2, 3, 5, 7, 11, 13, 17, 19)
MOST_FIELDS = len(PRIMES)
SPREAD_PER_FIELD = 32
SPREAD_SHARE = 0.5  # of the trials, at most, before looking closer
KEPT_BACK = (0.3, 0.15)  # of the trials: for a second look where nothing holds, and for what to give up
STARTS = 3
FIRST_REACH, LAST_REACH = 0.16, 0.008  # of the ranges: how far round a start is looked
APART = 0.1  # of the ranges: set-ups nearer than this in every field are one answer
STEPS = 5000  # values are rounded to at least so many steps of a range
LITTLE = 0.05
FAR = 10.0  # a margin that is out of reach
LEAST_GAIN = 0.002
GUESS_ROUNDS, GUESS_SHRINK = 24, 0.75
Spot = tuple[float, ...]  # within the ranges, 0..1 in each field


def halton(number: int, prime: int) -> float:
    """The digits of a number mirrored at the point, to a prime base: halton(6, 2) is 0.011 = 0.375.

    Points of these, one prime a coordinate, fill a box evenly from the first on. Source: Halton, On the
    efficiency of certain quasi-random sequences of points in evaluating multi-dimensional integrals,
    Numerische Mathematik 2 (1960).
    """
    value, share = 0.0, 1.0
    while number:
        number, digit = divmod(number, prime)
        share /= prime
        value += digit * share
    return value


def spread(count: int, fields: int, first: int = 1) -> Iterator[Spot]:
    """Points spread evenly over the unit box. first: where in the sequence to begin."""
    for number in range(first, first + count):
        yield tuple(halton(number, prime) for prime in PRIMES[:fields])


GUESS_MOVES = 2.0 * np.array(list(spread(128, MOST_FIELDS))) - 1.0


def search_several(trials: Trials) -> None:
    """Try set-ups over the ranges, then nearer and nearer round the best."""
    fields = len(trials.varied)
    count = min(SPREAD_PER_FIELD * fields, round(SPREAD_SHARE * trials.most))
    trials(at(trials, spot) for spot in [(0.5,) * fields, *spread(count, fields)])
    again, give_up = (round(share * trials.most) for share in KEPT_BACK)
    look_closer(trials, Goal(), again)
    if not any(trial.holds for trial in trials.all):
        look_closer(trials, Goal(), give_up)


def look_closer(trials: Trials, goal: Goal, left: int) -> None:
    """Try set-ups nearer and nearer round the best by `goal`. left: how many trials to leave over.

    Each round tries a step both ways in every field, and some points between; then where the margins, taken
    as straight lines through those steps, would be best.
    """
    starts = diverse(trials, sorted(trials.all, key=goal.key, reverse=True))[:STARTS]
    searches = [_Search(trials, goal, start) for start in starts]
    while any(one.goes_on for one in searches) and trials.room > left:
        for search in searches:
            if search.goes_on and trials.room > left:
                search.step()


class Goal:
    """What set-ups are ranked by. without: the number of a must that is given up: it counts only where all
    others hold, and then alone."""

    def __init__(self, without: int | None = None) -> None:
        self.without = without

    def key(self, trial: Trial) -> tuple[Any, ...]:
        """Better set-ups have larger ones: first by the worst margin, then by the next worst, and so on."""
        if self.without is None:
            return trial.rank
        others = sorted(m for k, m in enumerate(trial.margins) if k != self.without and m is not None)
        if others and others[0] < 0.0:
            return (False, *others)
        margin = trial.margins[self.without]
        return (True, 0.0 if margin is None else margin, *others)

    def worth(self, margins: NDArray[np.float64]) -> NDArray[np.float64]:
        """The same in one number for each row of margins, (n, musts): what fails beside the worst counts a
        little, so that a must which no step changes does not hide the others."""
        rest = margins if self.without is None else np.delete(margins, self.without, axis=1)
        worst = rest.min(axis=1) if rest.size else np.zeros(len(margins))
        aside = LITTLE * np.clip(rest, -1.0, 0.0).mean(axis=1) if rest.size else 0.0
        if self.without is None:
            return np.asarray(worst + aside)
        return np.where(worst < 0.0, worst + aside - FAR, margins[:, self.without])


class _Search:
    """A look round one start, of a reach that shrinks when nothing better is near."""

    def __init__(self, trials: Trials, goal: Goal, start: Trial) -> None:
        self._trials, self._goal, self._best = trials, goal, start
        self._reach, self._drawn = FIRST_REACH, 1

    @property
    def goes_on(self) -> bool:
        return self._reach >= LAST_REACH

    def step(self) -> None:
        """One round; the best of it is where the next one starts."""
        spot = whence(self._trials, self._best.values)
        fields = len(spot)
        ends = [[_moved(spot, one, self._reach) for one in pair] for pair in _compass(fields)]
        between = spread(fields, fields, self._drawn)
        self._drawn += fields
        moves = [*(end for pair in ends for end in pair)]
        moves += [_moved(spot, move, self._reach) for move in between]
        made = self._trials(at(self._trials, move) for move in moves)
        known = {trial.values: trial for trial in self._trials.all}
        pairs = [[known.get(at(self._trials, end)) for end in pair] for pair in ends]
        guesses = self._guesses(spot, pairs)
        made += self._trials(at(self._trials, guess) for guess in guesses)
        better = max(made, key=self._goal.key, default=self._best)
        before = self._best
        if self._goal.key(better) > self._goal.key(before):
            self._best = better
        gain = self._worth(self._best) - self._worth(before)
        if gain < LEAST_GAIN:
            self._reach /= 2.0

    def _worth(self, trial: Trial) -> float:
        return float(self._goal.worth(_row(trial)[None, :])[0])

    def _guesses(self, spot: Spot, pairs: Sequence[Sequence[Trial | None]]) -> list[Spot]:
        """Where straight lines through the steps would be best, within the reach and twice that."""
        slopes = []
        for k, (low, high) in enumerate(pairs):
            if low is None or high is None or low.values == high.values:
                return []
            apart = whence(self._trials, high.values)[k] - whence(self._trials, low.values)[k]
            slopes.append((_row(high) - _row(low)) / apart)
        lines = np.array(slopes)  # (fields, musts)
        own = _row(self._best)
        found = []
        for reach in (self._reach, 2.0 * self._reach):
            here, width = np.array(spot), reach
            least, most = np.maximum(0.0, here - reach), np.minimum(1.0, here + reach)
            for _ in range(GUESS_ROUNDS):
                moves = here + width * GUESS_MOVES[:, : len(spot)]
                moves = np.vstack([here, np.clip(moves, least, most)])
                worth = self._goal.worth(own + (moves - spot) @ lines)
                here, width = moves[int(np.argmax(worth))], width * GUESS_SHRINK
            found.append(tuple(here.tolist()))
        return found


def _row(trial: Trial) -> NDArray[np.float64]:
    """A trial's margins; what a must meets nothing with is far from failing."""
    return np.array([FAR if margin is None else margin for margin in trial.margins])


def _compass(fields: int) -> Iterator[list[Spot]]:
    """For each field a step down and a step up."""
    for k in range(fields):
        yield [tuple(end if j == k else 0.5 for j in range(fields)) for end in (0.0, 1.0)]


def _moved(spot: Spot, move: Spot, reach: float) -> Spot:
    """A spot of the box round another, of half the width `reach`, held within the ranges."""
    return tuple(min(1.0, max(0.0, x + (2.0 * m - 1.0) * reach)) for x, m in zip(spot, move, strict=True))


def at(trials: Trials, spot: Iterable[float]) -> Values:
    """The settings at a spot, rounded to few digits."""
    values = []
    for one, share in zip(trials.varied, spot, strict=True):
        decimals = -floor(log10((one.high - one.low) / STEPS))
        value = round(one.low + share * (one.high - one.low), decimals)
        values.append(float(min(one.high, max(one.low, value))))
    return tuple(values)


def whence(trials: Trials, values: Values) -> Spot:
    """Where settings are within the ranges."""
    pairs = zip(trials.varied, values, strict=True)
    return tuple((value - one.low) / (one.high - one.low) for one, value in pairs)


def diverse(trials: Trials, ranked: Sequence[Trial]) -> list[Trial]:
    """Those of ranked set-ups that are not near a better one."""
    kept: list[tuple[Trial, Spot]] = []
    for trial in ranked:
        spot = whence(trials, trial.values)
        if all(max(abs(a - b) for a, b in zip(spot, other, strict=True)) >= APART for _, other in kept):
            kept.append((trial, spot))
    return [trial for trial, _ in kept]
