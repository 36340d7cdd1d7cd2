"""The brief against readings: what holds, what fails, what binds. The worst place and viewing decide."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from stationpoint.base.errors import StudyWrong
from stationpoint.readings.paths import field_at, viewing_of, without_viewing
from stationpoint.readings.things.reach import UNSEEN
from stationpoint.readings.types import Path, Result, Value
from stationpoint.readings.verdict.limits import bounded
from stationpoint.study import Limit, OptionEnd, Study

ABSENT_SCORE = -1.0


@dataclass(frozen=True, slots=True)
class Finding:
    """One limit met by one reading.

    reading: the concrete path joined by dots. path: the same, in parts. viewing: the one that it is of;
    None where all viewings have the same. margin: signed distance to the limit over the limit; +1 or -1 for
    is, not and one_of; -1 for a null that fails. because: why the value is so, in words, of some readings.
    option: where the camera is as players may set it.
    """

    reading: str
    path: Path
    place: str
    viewing: str | None
    value: Value
    limit: Limit
    margin: float
    because: str = ""
    option: OptionEnd | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the brief says of one variant.

    holds: every must holds. score: the worst margin of a must, None without one. binds: the must
    with that margin. failed: every must that does not hold, worst first. told: shoulds that do not. each: of
    every limit the finding with the worst margin, those that fail first, then those nearest to it. musts:
    every must met, worst first.
    """

    variant: str
    holds: bool
    score: float | None
    binds: Finding | None
    failed: tuple[Finding, ...] = ()
    told: tuple[Finding, ...] = ()
    each: tuple[Finding, ...] = ()
    musts: tuple[Finding, ...] = ()


def judge(results: Sequence[Result], study: Study) -> Verdict | None:
    """The verdict on one variant from all its results; None where the study has no limits."""
    if not study.limit:
        return None
    return Judging(study).take(results)


def judge_all(results: Sequence[Result], study: Study) -> dict[str, Verdict]:
    """Variant label -> verdict, in the order of the results; empty where the study has no limits.

    StudyWrong where a must finds nothing to judge in any result at its place and viewing.
    """
    if not study.limit:
        return {}
    by_variant: dict[str, list[Result]] = {}
    for result in results:
        by_variant.setdefault(result.variant.label, []).append(result)
    judging = Judging(study)
    verdicts = {label: judging.take(group) for label, group in by_variant.items()}
    judging.check()
    return verdicts


Bounds = Sequence[tuple[Limit, Sequence[Path]]]  # each limit with the readings that it is about


class Judging:
    """The brief held against one variant after the other: of their results, only which readings there are
    is kept. study: with limits."""

    def __init__(self, study: Study) -> None:
        self._study = study
        self._paths: dict[Path, None] = {}
        self._bounds: Bounds = ()
        self._met: dict[int, bool] = {}  # number of a limit -> whether it found anything where it is at

    def take(self, results: Sequence[Result]) -> Verdict:
        """The verdict on the next variant, from all its results."""
        known = len(self._paths)
        for result in results:
            for path, value in result.reading.values.items():
                if path in self._paths:
                    continue
                if value is None and field_at(path) is None:  # null for every viewing at once
                    self._paths |= dict.fromkeys((*path, at.name) for at in result.seats)
                else:
                    self._paths[path] = None
        if len(self._paths) > known or not self._bounds:
            known_paths = tuple(self._paths)
            self._bounds = [(limit, bounded(limit, known_paths, self._study)) for limit in self._study.limit]
        for k, (limit, paths) in enumerate(self._bounds):
            if limit.level == "must" and not self._met.get(k):
                those = [result for result in results if is_at(result, limit)]
                if those:
                    self._met[k] = any(_has(result, path) for result in those for path in paths)
        return _verdict(results, self._bounds)

    @property
    def is_about(self) -> bool:
        """Whether a must is about the places and viewings of what was judged, or there is none."""
        return bool(self._met) or all(limit.level != "must" for limit in self._study.limit)

    def check(self) -> None:
        """StudyWrong where a must found nothing to judge in any result at its place and viewing."""
        for k, limit in enumerate(self._study.limit):
            if self._met.get(k) is False:
                raise StudyWrong(
                    f'limit "{limit.reading}" finds nothing to judge, so nothing can be said to hold it; '
                    "bound a reading that the study has, or make it a should."
                )


def _verdict(results: Sequence[Result], bounds: Bounds) -> Verdict:
    limits = [limit for limit, _ in bounds]
    by_place: dict[tuple[str, OptionEnd | None], list[Result]] = {}
    for result in results:
        by_place.setdefault((result.place.name, result.variant.option), []).append(result)
    findings = [
        found
        for those in by_place.values()
        for limit, paths in bounds
        for path in paths
        for found in _findings([result for result in those if is_at(result, limit)], limit, path)
    ]
    musts = sorted((f for f in findings if f.limit.level == "must"), key=lambda f: f.margin)
    failed = tuple(f for f in musts if f.margin < 0.0)
    told = tuple(f for f in findings if f.limit.level == "should" and f.margin < 0.0)
    binds = musts[0] if musts else None
    worst: dict[int, Finding] = {}
    for found in sorted(findings, key=lambda f: f.margin):
        worst.setdefault(limits.index(found.limit), found)
    each, score = tuple(worst.values()), binds.margin if binds else None
    label = results[0].variant.label
    return Verdict(label, not failed, score, binds, failed, told, each, tuple(musts))


def is_at(result: Result, limit: Limit) -> bool:
    """Whether a result is of the place and the viewing that a limit is narrowed to."""
    at_place = limit.place in (None, result.place.name)
    return at_place and (limit.viewing is None or any(at.name == limit.viewing for at in result.seats))


def _findings(results: Sequence[Result], limit: Limit, path: Path) -> Iterator[Finding]:
    """A limit met by one reading at one place. results: one for each picture shape.

    A reading of the picture that differs between the shapes is told of each, with the first viewing that
    sees it; one that is the same in all is told once.
    """
    values = [(result, result.reading.values.get(path)) for result in results if _has(result, path)]
    alike = all(value == values[0][1] for _, value in values)
    for result, value in values[:1] if alike else values:
        counted = _counted(value, limit, path)
        by = margin(counted, limit, path)
        if by is None:
            continue
        viewing = viewing_of(path) or (None if alike else result.seats[0].name)
        because = result.reading.causes.get(path, "")
        option = result.variant.option
        yield Finding(".".join(path), path, result.place.name, viewing, counted, limit, by, because, option)


def _has(result: Result, path: Path) -> bool:
    """Whether a result has a reading, be it null, or null for every viewing at once."""
    return path in result.reading.values or without_viewing(path) in result.reading.values


def _counted(value: Value, limit: Limit, path: Path) -> Value:
    """What is judged: how many there are, where min and max bound a list of words or of groups; a number as
    the record has it, so that it and the verdict never disagree."""
    field, bounds = field_at(path), (limit.min, limit.max)
    if isinstance(value, tuple):
        if bounds != (None, None) and all(isinstance(one, (str, Mapping)) for one in value):
            return len(value)
        return tuple(_counted(one, limit, path) for one in value)
    return round(value, field.decimals) if isinstance(value, float) and field is not None else value


def margin(value: Value, limit: Limit, path: Path) -> float | None:
    """Signed margin of one value, None where an absent value is to be skipped.

    A verdict on what is not in the picture is as good as absent, unless the limit names it.
    """
    if value == UNSEEN and UNSEEN not in (limit.is_, limit.not_, *(limit.one_of or ())):
        value = None
    if value is not None and limit.one_of is not None:
        return 1.0 if value in limit.one_of else -1.0
    if value is not None and limit.is_ is not None:
        return 1.0 if value == limit.is_ else -1.0
    if value is not None and limit.not_ is not None:
        return -1.0 if value == limit.not_ else 1.0
    field = field_at(path)
    if isinstance(value, str) and (field is None or field.holds != "number"):
        raise StudyWrong(
            f'limit "{limit.reading}": the reading is {value!r}, which min and max cannot bound; '
            "use is, not or one_of."
        )
    if isinstance(value, str):  # a word for what is beyond all numbers
        return 1.0 if limit.max is None else -1.0
    numbers = _numbers(value)
    if not numbers:
        return None if limit.if_absent == "skip" else ABSENT_SCORE
    margins = []
    if limit.min is not None:
        margins.append(_distance(min(numbers) - limit.min, limit.min))
    if limit.max is not None:
        margins.append(_distance(limit.max - max(numbers), limit.max))
    return min(margins)


def _numbers(value: Value) -> list[float]:
    """The numbers of a reading: one, a pair's two, none of a null."""
    parts = value if isinstance(value, tuple) else (value,)
    return [float(part) for part in parts if isinstance(part, (int, float))]


def _distance(by: float, limit: float) -> float:
    return by / abs(limit) if limit else by
