"""Several fields: points spread evenly over the ranges, then a closer look round the best of them.

Both are fixed: the same study gives the same answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from math import floor, log10
from typing import Any

from stationpoint.run.solve.trials import Trial, Trials, Values

PRIMES = (2, 3, 5, 7, 11, 13, 17, 19)
MOST_FIELDS = len(PRIMES)
SPREAD_PER_FIELD = 32
SPREAD_SHARE = 0.5  # of the trials, at most, before looking closer
KEPT_BACK = 0.3  # of the trials, for what to give up
STARTS = 3
FIRST_REACH, LAST_REACH = 0.16, 0.008  # of the ranges: how far round a start is looked
APART = 0.1  # of the ranges: set-ups nearer than this in every field are one answer
STEPS = 5000  # values are rounded to at least so many steps of a range
Key = Callable[[Trial], tuple[Any, ...]]
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


def search_several(trials: Trials) -> None:
    """Try set-ups over the ranges, then nearer and nearer round the best."""
    fields = len(trials.varied)
    count = min(SPREAD_PER_FIELD * fields, round(SPREAD_SHARE * trials.most))
    trials(at(trials, spot) for spot in [(0.5,) * fields, *spread(count, fields)])
    look_closer(trials, lambda trial: trial.rank, round(KEPT_BACK * trials.most))


def look_closer(trials: Trials, key: Key, left: int) -> None:
    """Try set-ups nearer and nearer round the best by `key`. left: how many trials to leave over."""
    starts = diverse(trials, sorted(trials.all, key=key, reverse=True))[:STARTS]
    spots = [whence(trials, one.values) for one in starts]
    best = list(starts)
    reach = [FIRST_REACH] * len(starts)
    drawn = trials.count
    while any(one >= LAST_REACH for one in reach) and trials.room > left:
        for k, spot in enumerate(spots):
            if reach[k] < LAST_REACH or trials.room <= left:
                continue
            fields = len(spot)
            moves = [*_compass(fields), *spread(2 * fields, fields, drawn)]
            made = trials(at(trials, _moved(spot, move, reach[k])) for move in moves)
            drawn += 2 * fields
            better = max(made, key=key, default=best[k])
            if key(better) > key(best[k]):
                best[k], spots[k] = better, whence(trials, better.values)
            else:
                reach[k] /= 2.0


def _compass(fields: int) -> Iterator[Spot]:
    for k in range(fields):
        for end in (0.0, 1.0):
            yield tuple(end if j == k else 0.5 for j in range(fields))


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
