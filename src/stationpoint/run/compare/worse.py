"""What of a comparison is worse: by the brief where that bounds a reading, else by what the reading means."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stationpoint.readings import Path, Value, bounded, margin
from stationpoint.record import Json
from stationpoint.run.compare.differences import HOLDS, Change
from stationpoint.study import Limit, Study

# What a player makes of a gap, the best first. That it lies is the worst.
GAP_VERDICTS = ("sure", "needs a cue", "close call", "unseen", "lies")
LESS_IS_WORSE = ("seen", "landing_seen")


def worse_changes(changes: Sequence[Change], study: Study) -> list[Change]:
    """Those of the changes that are for the worse; each is beyond its tolerance already."""
    return [change for change in changes if _is_worse(change, study)]


def _is_worse(change: Change, study: Study) -> bool:
    if change.path == HOLDS:
        return change.before is True and change.after is not True
    margins = list(_margins(change, study))
    if any(after < before for before, after in margins):
        return True
    if any(before < after for before, after in margins):
        return False
    last = change.path[-1]
    if last in LESS_IS_WORSE:
        return _amount(change.after) < _amount(change.before)
    if last == "verdict":
        return _rank(change.after) > _rank(change.before)
    return False


def _margins(change: Change, study: Study) -> Iterator[tuple[float, float]]:
    """Before and after by each limit that bounds the reading there."""
    for limit in study.limit:
        if limit.place not in (None, change.place) or change.path not in bounded(limit, [change.path], study):
            continue
        before, after = (_margin(value, limit, change.path) for value in (change.before, change.after))
        if before is not None and after is not None:
            yield before, after


def _margin(value: Json, limit: Limit, path: Path) -> float | None:
    return margin(_parts(value), limit, path)


def _parts(value: Json) -> Value:
    """A record's value as a reading has it, a list as how many there are where those are no numbers."""
    if isinstance(value, list):
        numbers = [one for one in value if isinstance(one, int | float)]
        return tuple(numbers) if len(numbers) == len(value) else len(value)
    return None if isinstance(value, dict) else value


def _amount(value: Json) -> float:
    return float(value) if isinstance(value, int | float) else -1.0


def _rank(value: Json) -> int:
    return GAP_VERDICTS.index(value) if value in GAP_VERDICTS else len(GAP_VERDICTS)
