"""Where no set-up holds: which limit to give up, and what then holds."""

from __future__ import annotations

from dataclasses import dataclass

from stationpoint.run.solve.several import Goal, look_closer
from stationpoint.run.solve.trials import Trial, Trials

MOST_TRIED = 2  # limits without which set-ups are looked for


@dataclass(frozen=True, slots=True)
class GiveUp:
    """Limits without which a set-up holds. limits: numbers of musts. margin: the worst of theirs at the
    set-up, the least that has to be given up of what was tried."""

    limits: tuple[int, ...]
    trial: Trial

    @property
    def margin(self) -> float:
        """The worst margin of the limits that are given up."""
        return min((m for k in self.limits if (m := self.trial.margins[k]) is not None), default=0.0)


def what_to_give_up(trials: Trials) -> tuple[GiveUp, ...]:
    """The ways to give up one limit, that which asks the least of it first; if one is not enough, the fewest
    limits that are."""
    count = len(trials.limits)
    if count == 1:
        return (GiveUp((0,), max(trials.all, key=lambda trial: trial.rank)),)
    hopeful = sorted(range(count), key=lambda k: max(_rest(trial, k) for trial in trials.all), reverse=True)
    for left, k in zip((trials.room // 2, 0), hopeful[:MOST_TRIED], strict=False):
        look_closer(trials, Goal(k), left)
    single = []
    for k in range(count):
        best = max(trials.all, key=Goal(k).key)
        if _rest(best, k) >= 0.0:
            single.append(GiveUp((k,), best))
    if single:
        return tuple(sorted(single, key=lambda one: one.margin, reverse=True))
    fewest = max(trials.all, key=lambda trial: (-len(_failing(trial)), trial.rank))
    return (GiveUp(tuple(_failing(fewest)), fewest),)


def _rest(trial: Trial, k: int) -> float:
    """The worst margin of all limits but one."""
    return min((m for j, m in enumerate(trial.margins) if j != k and m is not None), default=0.0)


def _failing(trial: Trial) -> list[int]:
    return [k for k, margin in enumerate(trial.margins) if margin is not None and margin < 0.0]
