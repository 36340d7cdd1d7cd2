"""`judge` of one study or several: what is told, and what is written of them all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from stationpoint.base.errors import StationpointError, StudyWrong
from stationpoint.cli import say, tell
from stationpoint.cli.actions.baseline import Baseline, baseline_file
from stationpoint.cli.actions.judge import Judged, fail_words, judge
from stationpoint.cli.actions.outputs import SUMMARY, TESTS, Outputs
from stationpoint.cli.actions.page import PAGE_TOO
from stationpoint.cli.actions.work import Drawer
from stationpoint.cli.options import JudgeOptions
from stationpoint.readings import brief_words
from stationpoint.record import Suite, Summary, Test, junit_text, markdown_text

OF_ONE = ("json_file", "baseline", "labels", "page_file")
REPORTS = ("junit_file", "markdown_file", "page_file")
OPTIONS = {
    "json_file": "--json",
    "baseline": "--baseline",
    "labels": "--variant",
    "junit_file": "--junit",
    "markdown_file": "--markdown",
    "page_file": "--page",
}
IN_BASELINE = "no worse than the baseline"


def is_of_levels(files: Sequence[str], chosen: JudgeOptions) -> bool:
    """Whether a row a study is told rather than every variant: of several, with a cache or a sheet of them
    all, and without what reports variant by variant. StudyWrong where both are asked for."""
    rows = chosen["cache"] is not None or chosen["output"] is not None
    reports = next((name for name in REPORTS if chosen[name]), None)  # type: ignore[literal-required]
    if rows and reports is not None:
        raise StudyWrong(
            f"{OPTIONS[reports]} is of each variant, --cache and -o are of whole levels; ask for one of them."
        )
    return rows or (len(files) > 1 and reports is None)


def judge_several(files: Sequence[str], chosen: JudgeOptions) -> int:
    """Judge each, past those that are broken; the exit code, the worst of theirs."""
    several = len(files) > 1
    for name in OF_ONE:
        if several and chosen[name]:  # type: ignore[literal-required]
            raise StudyWrong(f"{OPTIONS[name]} is of one study, and {len(files)} are named; judge it alone.")
    outputs = Outputs(chosen["force"])
    outputs.claim_all(
        [(chosen["junit_file"], TESTS), (chosen["markdown_file"], SUMMARY), (chosen["page_file"], PAGE_TOO)]
    )
    baseline = Baseline(baseline_file(chosen), chosen, outputs)
    drawer = Drawer(chosen["renderer"])
    done: list[tuple[str, Judged | StationpointError]] = []
    for file in files:
        try:
            done.append((file, judge(file, chosen, outputs, baseline, drawer)))
        except StationpointError as error:
            if not several:
                raise
            say(*(f"{file}: {line}" for line in str(error).split("\n")))
            done.append((file, error))
    if chosen["junit_file"] is not None:
        text = junit_text([_suite(file, one, baseline.is_asked) for file, one in done])
        outputs.add(chosen["junit_file"], TESTS, text.encode())
    if chosen["markdown_file"] is not None:
        text = markdown_text([_summary(file, one) for file, one in done])
        outputs.add(chosen["markdown_file"], SUMMARY, text.encode())
    with suppress(BrokenPipeError):  # the verdict stands where nobody reads on
        outputs.deliver(chosen["quiet"])
        heads = [f"{file}: " if several else "" for file, _ in done]
        lines = [one.lines if isinstance(one, Judged) else [] for _, one in done]
        told = tell if not outputs.takes_stdout else say
        told(*(head + line for head, own in zip(heads, lines, strict=True) for line in own))
    return max(one.code if isinstance(one, Judged) else one.exit_code for _, one in done)


def _suite(file: str, judged: Judged | StationpointError, compared: bool) -> Suite:
    """A test for each variant and must; where there is a baseline, one more for what got worse."""
    name = Path(file).name
    if isinstance(judged, StationpointError):
        return Suite(name, (Test(name, broke=" ".join(str(judged).split("\n"))),))
    worse = [Test(IN_BASELINE, judged.worse)] if compared else []
    return Suite(name, (*_tests(judged), *worse))


def _tests(judged: Judged) -> Iterator[Test]:
    musts = [
        (k, limit, words)
        for k, (limit, words) in enumerate(zip(judged.study.limit, brief_words(judged.study), strict=True))
        if limit.level == "must"
    ]
    for label, verdict in judged.verdicts.items():
        for k, limit, words in musts:
            name = f"{judged.names[label]}: {words}"
            failed = tuple(
                fail_words(judged.names[label], one) for one in verdict.failed if one.limit is limit
            )
            yield Test(
                name,
                failed,
                left_out="" if k in judged.about[label] else "it is about another place or viewing",
            )


def _summary(file: str, judged: Judged | StationpointError) -> Summary:
    if isinstance(judged, StationpointError):
        return Summary(Path(file).name, "It could not be judged.", tuple(str(judged).split("\n")))
    failing = [line for line in judged.lines if line != judged.holding]
    return Summary(judged.study.title.strip() or Path(file).name, judged.holding, tuple(failing))
