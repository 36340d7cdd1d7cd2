"""What `judge` does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import NamedTuple

from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import counted, plain
from stationpoint.cli import say
from stationpoint.cli.actions.baseline import Baseline
from stationpoint.cli.actions.outputs import RECORD, Outputs
from stationpoint.cli.actions.page import add_page
from stationpoint.cli.actions.work import Drawer, gathered, ready
from stationpoint.cli.options import JudgeOptions
from stationpoint.readings import (
    CameraVerdict,
    Finding,
    Verdict,
    finding_words,
)
from stationpoint.run import Gathered, Prepared, Wants, chosen_variants, groups_of, only_judged
from stationpoint.sheet import camera_lines
from stationpoint.study import Study, Variant, unknown_keys

HELD, FAILED = 0, 1
MOST_FAILS = 4  # told of one variant


@dataclass(frozen=True, slots=True)
class Judged:
    """A judged study. about: as of Gathered. names: of each variant, by label. cameras: a line each where
    they are judged more than once. holding: how many hold, in words. taken: what the chosen one does. worse:
    since the baseline."""

    code: int
    study: Study
    about: dict[str, tuple[int, ...]]
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
    """A study measured and held against its brief. prepared: with the variants that are judged."""

    prepared: Prepared
    found: Gathered
    renderer: str | None


def swept_study(
    path: Path,
    every: Prepared,
    chosen: JudgeOptions,
    drawer: Drawer,
    more: frozenset[str] = frozenset(),
    recorded: bool = True,
) -> Swept:
    """A study held against its brief; StudyWrong where there is nothing to judge, or nothing by which. more:
    groups to read beyond what the brief bounds. recorded: whether a record is made of it."""
    prepared = chosen_variants(every, chosen["labels"])
    study = prepared.study
    if not study.limit:
        raise StudyWrong(f"{path.name} has no [[limit]], so there is nothing to judge by; add one.")
    if study.decision is not None and prepared.chosen is None:
        raise StudyWrong(next(unknown_keys(study, every.variants)))
    only = groups_of(study) | more if recorded or more else only_judged(study)
    found, renderer = gathered(prepared, Wants(picture=False, only=only), chosen, drawer, recorded=recorded)
    found.check_about()
    return Swept(prepared, found, renderer)


def judge(file: str, chosen: JudgeOptions, outputs: Outputs, baseline: Baseline, drawer: Drawer) -> Judged:
    """What holds and what fails; the records of it are gathered for the outputs."""
    path = Path(file)
    every = ready(path, chosen)
    outputs.claim(chosen["json_file"], RECORD)
    recorded = chosen["json_file"] is not None or baseline.is_asked
    prepared, found, renderer = swept_study(path, every, chosen, drawer, baseline.groups, recorded)
    verdicts, cameras = found.verdicts, found.cameras
    study, taken = prepared.study, prepared.chosen
    worse: tuple[str, ...] = ()
    if chosen["json_file"] is not None:
        outputs.add(chosen["json_file"], RECORD, partial(found.write_record, renderer))
    if baseline.is_asked:
        whole = found.record(renderer)
        worse = baseline.worse(whole, study)
        baseline.renew(whole, outputs)
    more = add_page(outputs, chosen["page_file"], prepared, drawer, chosen)
    say(*dict.fromkeys((*prepared.notes, *found.warnings, *more)))
    held = [one.holds for one in (verdicts.values() if cameras is None else cameras)]
    holds, taken_words = any(held), ""
    if taken is not None and taken.label in verdicts:
        holds = verdicts[taken.label].holds
        taken_words = f"The chosen one, {taken.label}, {'holds' if holds else 'fails'}."
    if chosen["every"] or chosen["labels"]:
        holds = all(held)
    code = HELD if holds and (chosen["accept"] or not worse) else FAILED
    names = {variant.label: variant_name(variant) for variant in prepared.variants}
    lines = tuple(f"Camera {line}." for line in camera_lines(cameras or (), prepared.variants, study))
    holding = _holding_words(verdicts, cameras)
    return Judged(code, study, found.about, verdicts, names, lines, holding, taken_words, worse)


def variant_name(variant: Variant) -> str:
    """A variant by its label and what is swept: "A2 (focal_mm 50)"."""
    swept = ", ".join(_setting(name, value) for name, value in variant.changes)
    return f"{variant.label} ({swept})" if swept else variant.label


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
