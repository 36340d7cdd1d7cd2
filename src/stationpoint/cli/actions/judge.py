"""What `judge` does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import counted, plain
from stationpoint.cli import say
from stationpoint.cli.actions.baseline import Baseline
from stationpoint.cli.actions.outputs import RECORD, Outputs
from stationpoint.cli.actions.work import Drawer, ready, swept
from stationpoint.cli.options import JudgeOptions
from stationpoint.readings import (
    CameraVerdict,
    Finding,
    Result,
    Verdict,
    bounded_paths,
    finding_words,
    is_at,
    judge_cameras,
)
from stationpoint.record import record_text
from stationpoint.run import Prepared, Wants, chosen_variants, record_of, verdicts_on, warnings_of
from stationpoint.sheet import camera_lines
from stationpoint.study import Study, unknown_keys

HELD, FAILED = 0, 1
MOST_FAILS = 4  # told of one variant


@dataclass(frozen=True, slots=True)
class Judged:
    """A judged study. names: of each variant, by label. cameras: a line each where they are judged more than
    once. holding: how many hold, in words. taken: what the chosen one does. worse: since the baseline."""

    code: int
    study: Study
    results: list[Result]
    verdicts: dict[str, Verdict]
    names: dict[str, str]
    cameras: tuple[str, ...]
    holding: str
    taken: str = ""
    worse: tuple[str, ...] = ()

    @property
    def lines(self) -> list[str]:
        """What is told of it."""
        taken = [self.taken] if self.taken else []
        return [*_lines(self.verdicts, self.names), *self.cameras, self.holding, *taken, *self.worse]


class Swept(NamedTuple):
    """A study measured and held against its brief. prepared: with the variants that are judged. cameras: None
    where each is judged once. only: the groups that were read."""

    prepared: Prepared
    results: list[Result]
    renderer: str | None
    verdicts: dict[str, Verdict]
    cameras: Sequence[CameraVerdict] | None
    only: frozenset[str]


def swept_study(
    path: Path, every: Prepared, chosen: JudgeOptions, drawer: Drawer, more: frozenset[str] = frozenset()
) -> Swept:
    """A study held against its brief; StudyWrong where there is nothing to judge, or nothing by which. more:
    groups to read beyond what the brief bounds."""
    prepared = chosen_variants(every, chosen["labels"])
    study = prepared.study
    if not study.limit:
        raise StudyWrong(f"{path.name} has no [[limit]], so there is nothing to judge by; add one.")
    if study.decision is not None and prepared.chosen is None:
        raise StudyWrong(next(unknown_keys(study, every.variants)))
    only = frozenset(path[0] for path in bounded_paths(study)) | more
    results, renderer = swept(prepared, Wants(picture=False, only=only), chosen, drawer)
    musts = [limit for limit in study.limit if limit.level == "must"]
    if musts and not any(is_at(result, limit) for result in results for limit in musts):
        raise StudyWrong("No must is about the places and viewings of these variants; judge others.")
    verdicts = verdicts_on(prepared, results, only)
    return Swept(prepared, results, renderer, verdicts, judge_cameras(results, study, verdicts), only)


def judge(file: str, chosen: JudgeOptions, outputs: Outputs, baseline: Baseline, drawer: Drawer) -> Judged:
    """What holds and what fails; the records of it are gathered for the outputs."""
    path = Path(file)
    every = ready(path, chosen)
    outputs.claim(chosen["json_file"], RECORD)
    prepared, results, renderer, verdicts, cameras, only = swept_study(
        path, every, chosen, drawer, baseline.groups
    )
    study, taken = prepared.study, prepared.chosen
    worse: tuple[str, ...] = ()
    if chosen["json_file"] is not None or baseline.is_asked:
        whole = record_of(prepared, results, renderer, only)
        if chosen["json_file"] is not None:
            outputs.add(chosen["json_file"], RECORD, record_text(whole).encode())
        worse = baseline.worse(whole, study)
        baseline.renew(whole, outputs)
    say(*prepared.notes, *warnings_of(results, prepared.scene))
    held = [one.holds for one in (verdicts.values() if cameras is None else cameras)]
    holds, taken_words = any(held), ""
    if taken is not None and taken.label in verdicts:
        holds = verdicts[taken.label].holds
        taken_words = f"The chosen one, {taken.label}, {'holds' if holds else 'fails'}."
    if chosen["every"] or chosen["labels"]:
        holds = all(held)
    code = HELD if holds and (chosen["accept"] or not worse) else FAILED
    names = {result.variant.label: variant_name(result) for result in results}
    lines = tuple(f"Camera {line}." for line in camera_lines(cameras or (), prepared.variants, study))
    holding = _holding_words(verdicts, cameras)
    return Judged(code, study, results, verdicts, names, lines, holding, taken_words, worse)


def variant_name(result: Result) -> str:
    """A variant by its label and what is swept: "A2 (focal_mm 50)"."""
    swept = ", ".join(_setting(name, value) for name, value in result.variant.changes)
    return f"{result.variant.label} ({swept})" if swept else result.variant.label


def fail_words(name: str, found: Finding) -> str:
    """That a variant fails, by what, where and why."""
    why = f" ({found.limit.why})" if found.limit.why else ""
    return f"{name} fails: {finding_words(found)} [{found.reading}]{why}."


def _holding_words(verdicts: Mapping[str, Verdict], cameras: Sequence[CameraVerdict] | None) -> str:
    """How many hold: "1 of 2 variants holds."; where cameras are judged more than once, how many of these."""
    judged = [bool(one.holds) for one in (verdicts.values() if cameras is None else cameras)]
    holds = "holds" if 1 in (sum(judged), len(judged)) else "hold"
    return f"{sum(judged)} of {counted(len(judged), 'variant' if cameras is None else 'camera')} {holds}."


def _lines(verdicts: Mapping[str, Verdict], names: Mapping[str, str]) -> Iterator[str]:
    """A line a variant that holds, and one for each limit that one does not."""
    for label, verdict in verdicts.items():
        name = names[label]
        bound = verdict.binds
        if verdict.holds:
            nearest = f"; nearest limit: {finding_words(bound)}" if bound is not None else ""
            yield f"{name} holds{nearest}."
        yield from (fail_words(name, found) for found in verdict.failed[:MOST_FAILS])
        if len(verdict.failed) > MOST_FAILS:
            yield f"{name} fails {counted(len(verdict.failed) - MOST_FAILS, 'more limit')}."
        for found in verdict.told:
            yield f"{name} should: {finding_words(found)} [{found.reading}]."


def _setting(name: str, value: object) -> str:
    shown = plain(value, 3) if isinstance(value, float) else str(value)
    return f"{name} {shown}"
