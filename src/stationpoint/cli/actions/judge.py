"""What `judge` does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import counted, plain
from stationpoint.cli import say, tell
from stationpoint.cli.actions.outputs import RECORD, Outputs
from stationpoint.cli.actions.work import ready, swept
from stationpoint.cli.options import JudgeOptions
from stationpoint.readings import (
    CameraVerdict,
    Verdict,
    bounded_paths,
    finding_words,
    is_at,
    judge_cameras,
)
from stationpoint.record import record_text
from stationpoint.run import Wants, chosen_variants, record_of, verdicts_on, warnings_of
from stationpoint.sheet import camera_lines
from stationpoint.study import unknown_keys

HELD, FAILED = 0, 1
MOST_FAILS = 4  # told of one variant


def judge(file: str, chosen: JudgeOptions) -> int:
    """Print what holds and what fails; the exit code."""
    path = Path(file)
    every = ready(path, chosen)
    prepared = chosen_variants(every, chosen["labels"])
    study = prepared.study
    if not study.limit:
        raise StudyWrong(f"{path.name} has no [[limit]], so there is nothing to judge by; add one.")
    only = frozenset(path[0] for path in bounded_paths(study))
    taken = prepared.chosen
    if study.decision is not None and taken is None:
        raise StudyWrong(next(unknown_keys(study, every.variants)))
    wants = Wants(picture=False, only=only)
    outputs = Outputs(chosen["force"])
    outputs.claim(chosen["json_file"], RECORD)
    results, renderer = swept(prepared, wants, chosen)
    verdicts = verdicts_on(prepared, results, only)
    cameras = judge_cameras(results, study, verdicts)
    musts = [limit for limit in study.limit if limit.level == "must"]
    if musts and not any(is_at(result, limit) for result in results for limit in musts):
        raise StudyWrong("No must is about the places and viewings of these variants; judge others.")
    if chosen["json_file"] is not None:
        whole = record_of(prepared, results, renderer, only)
        outputs.add(chosen["json_file"], RECORD, record_text(whole).encode())
    say(*prepared.notes, *warnings_of(results, prepared.scene))
    settings = {result.variant.label: result.variant.changes for result in results}
    with suppress(BrokenPipeError):  # the verdict stands where nobody reads on
        outputs.deliver(chosen["quiet"])
        tell(*_lines(verdicts, settings))
        tell(*_counted(verdicts, cameras, camera_lines(cameras or (), prepared.variants, study)))
        if taken is not None and taken.label in verdicts:
            tell(f"The chosen one, {taken.label}, {'holds' if verdicts[taken.label].holds else 'fails'}.")
    held = [one.holds for one in (verdicts.values() if cameras is None else cameras)]
    if chosen["every"] or chosen["labels"]:
        return HELD if all(held) else FAILED
    if taken is not None:
        return HELD if verdicts[taken.label].holds else FAILED
    return HELD if any(held) else FAILED


def _lines(
    verdicts: Mapping[str, Verdict], settings: Mapping[str, Sequence[tuple[str, object]]]
) -> Iterator[str]:
    """A line a variant that holds, and one for each limit that one does not."""
    for label, verdict in verdicts.items():
        swept = ", ".join(_setting(name, value) for name, value in settings[label])
        name = f"{label} ({swept})" if swept else label
        bound = verdict.binds
        if verdict.holds:
            nearest = f"; nearest limit: {finding_words(bound)}" if bound is not None else ""
            yield f"{name} holds{nearest}."
        for found in verdict.failed[:MOST_FAILS]:
            why = f" ({found.limit.why})" if found.limit.why else ""
            yield f"{name} fails: {finding_words(found)} [{found.reading}]{why}."
        if len(verdict.failed) > MOST_FAILS:
            yield f"{name} fails {counted(len(verdict.failed) - MOST_FAILS, 'more limit')}."
        for found in verdict.told:
            yield f"{name} should: {finding_words(found)} [{found.reading}]."


def _counted(
    verdicts: Mapping[str, Verdict], cameras: Sequence[CameraVerdict] | None, lines: Sequence[str]
) -> Iterator[str]:
    """How many hold; of cameras that are judged more than once, a line each before it. lines: theirs."""
    yield from (f"Camera {line}." for line in lines)
    judged = list(verdicts.values()) if cameras is None else list(cameras)
    holding = sum(bool(one.holds) for one in judged)
    holds = "holds" if 1 in (holding, len(judged)) else "hold"
    yield f"{holding} of {counted(len(judged), 'variant' if cameras is None else 'camera')} {holds}."


def _setting(name: str, value: object) -> str:
    shown = plain(value, 3) if isinstance(value, float) else str(value)
    return f"{name} {shown}"
