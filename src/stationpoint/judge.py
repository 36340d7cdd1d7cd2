"""The brief against readings: what holds, what fails, what binds. The worst place and viewing decide."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from stationpoint.errors import StudyWrong
from stationpoint.measure.types import Path, Take, Value
from stationpoint.study.models import Limit, Study

ABSENT_SCORE = -1.0
SEAM = "\x1f"  # joins the parts of a path; no name of a reading holds it


@dataclass(frozen=True, slots=True)
class Finding:
    """One limit met by one reading.

    reading: the concrete path joined by dots. path: the same, in parts. margin: signed distance to
    the limit over the limit; +1 or -1 for is, not and one_of; -1 for a null that fails.
    """

    reading: str
    path: Path
    place: str
    viewing: str | None
    value: Value
    limit: Limit
    margin: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the brief says of one variant.

    holds: every must holds. score: the worst margin of a must, None without one. binds: the must
    with that margin. failed: every must that does not hold, worst first. told: shoulds that do not.
    """

    variant: str
    holds: bool
    score: float | None
    binds: Finding | None
    failed: tuple[Finding, ...] = ()
    told: tuple[Finding, ...] = ()


def judge(takes: Sequence[Take], study: Study) -> Verdict | None:
    """The verdict on one variant from all its takes; None where the study has no limits."""
    if not study.limit:
        return None
    findings = [f for take in takes for limit in study.limit for f in _findings(take, limit, study)]
    musts = sorted((f for f in findings if f.limit.level == "must"), key=lambda f: f.margin)
    failed = tuple(f for f in musts if f.margin < 0.0)
    told = tuple(f for f in findings if f.limit.level == "should" and f.margin < 0.0)
    binds = musts[0] if musts else None
    return Verdict(takes[0].variant.label, not failed, binds.margin if binds else None, binds, failed, told)


def judge_all(takes: Sequence[Take], study: Study) -> dict[str, Verdict]:
    """Variant label -> verdict, in the order of the takes; empty where the study has no limits."""
    by_variant: dict[str, list[Take]] = {}
    for take in takes:
        by_variant.setdefault(take.variant.label, []).append(take)
    verdicts = {label: judge(group, study) for label, group in by_variant.items()}
    return {label: verdict for label, verdict in verdicts.items() if verdict is not None}


def _findings(take: Take, limit: Limit, study: Study) -> Iterator[Finding]:
    if limit.place is not None and limit.place != take.place.name:
        return
    roles = {target.name: target.role for target in study.target}
    seats = {at.name for at in take.seats}
    for path, value in take.reading.values.items():
        if not _matches(path, value, limit.reading):
            continue
        if limit.role is not None and roles.get(_target_in(path)) != limit.role:
            continue
        viewing = _viewing_in(path, seats)
        if limit.viewing is not None and limit.viewing not in ({viewing} if viewing else seats):
            continue
        counted = _counted(value, limit)
        margin = _margin(counted, limit)
        if margin is None:
            continue
        yield Finding(".".join(path), path, take.place.name, viewing, counted, limit, margin)


def _target_in(path: Path) -> str:
    """The target that a path is about, "" if none."""
    if path[0] in ("targets", "twins"):
        return path[1]
    return path[1].removeprefix("target:") if path[0] == "cues" and path[1].startswith("target:") else ""


def _viewing_in(path: Path, seats: Collection[str]) -> str | None:
    """The viewing that a path names; None where the reading is that of the picture, for all who see it."""
    if path[0] == "viewing":
        return path[1]
    return path[-1] if path[0] == "targets" and len(path) > 3 and path[-1] in seats else None


def _matches(path: Path, value: Value, pattern: str) -> bool:
    """Whether a limit's pattern means this path.

    "*" stands for one whole name or part of one. A pattern may leave out the viewing at the end;
    where a reading is null as a whole, a pattern that goes on to a viewing means it too.
    """
    joined = SEAM.join(path)
    if _pattern(pattern).fullmatch(joined) or _pattern(pattern).fullmatch(SEAM.join(path[:-1])):
        return True
    return (
        value is None and _pattern(pattern.rpartition(".")[0]).fullmatch(joined) is not None and len(path) > 2
    )


def path_matches(path: Path, pattern: str) -> bool:
    """Whether a pattern names this path as a whole."""
    return _pattern(pattern).fullmatch(SEAM.join(path)) is not None


def matching_limits(limits: Iterable[Limit], paths: Iterable[Path]) -> Iterator[Limit]:
    """The limits that bound any of these paths."""
    those = list(paths)
    for limit in limits:
        if any(_matches(path, 0.0, limit.reading) for path in those):
            yield limit


@lru_cache
def _pattern(words: str) -> re.Pattern[str]:
    """A limit's pattern for paths joined by SEAM; a dot may also be part of a name."""
    return re.compile(re.escape(words).replace(r"\*", f"[^{SEAM}]*").replace(r"\.", f"[.{SEAM}]"), re.DOTALL)


def _counted(value: Value, limit: Limit) -> Value:
    """How many there are, where min and max bound a list of words or of groups; else the value itself."""
    if not isinstance(value, tuple) or (limit.min, limit.max) == (None, None):
        return value
    return len(value) if all(isinstance(one, (str, Mapping)) for one in value) else value


def _margin(value: Value, limit: Limit) -> float | None:
    """Signed margin of one value, None where an absent value is to be skipped."""
    if value is None:
        return None if limit.if_absent == "skip" else ABSENT_SCORE
    if limit.one_of is not None:
        return 1.0 if value in limit.one_of else -1.0
    if limit.is_ is not None:
        return 1.0 if value == limit.is_ else -1.0
    if limit.not_ is not None:
        return -1.0 if value == limit.not_ else 1.0
    numbers = _numbers(value)
    if not numbers:
        raise StudyWrong(
            f'limit "{limit.reading}": the reading is {value!r}, which min and max cannot bound; '
            "use is, not or one_of."
        )
    margins = []
    if limit.min is not None:
        margins.append(_distance(min(numbers) - limit.min, limit.min))
    if limit.max is not None:
        margins.append(_distance(limit.max - max(numbers), limit.max))
    return min(margins)


def _numbers(value: Value) -> list[float]:
    """The numbers of a reading: one, or a pair's two."""
    parts = value if isinstance(value, tuple) else (value,)
    return [float(part) for part in parts if isinstance(part, (int, float))]


def _distance(by: float, limit: float) -> float:
    return by / abs(limit) if limit else by
