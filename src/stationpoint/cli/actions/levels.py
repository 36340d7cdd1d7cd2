"""What `judge` does of several studies, with a cache, or where it draws: a row a study, the worst first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from stationpoint import __version__
from stationpoint.base.errors import StationpointError, StudyWrong
from stationpoint.base.words import TOOL, counted
from stationpoint.cli import WRONG, say, tell
from stationpoint.cli.actions.baseline import Baseline, baseline_files
from stationpoint.cli.actions.judge import swept_study
from stationpoint.cli.actions.outputs import RECORD as A_RECORD
from stationpoint.cli.actions.outputs import SHEET, Outputs
from stationpoint.cli.actions.sheet import ending_of, picture_place
from stationpoint.cli.actions.work import Drawer, other_camera, ready, stem_of
from stationpoint.cli.options import JudgeOptions
from stationpoint.ink import use_type
from stationpoint.record import Record, record_hash, record_text
from stationpoint.run import (
    RECORD,
    Cache,
    Level,
    Prepared,
    chosen_variants,
    drawn_files,
    files_of,
    judged_again,
    judged_level,
    kept_judged,
    level_key,
    worst_picture,
)
from stationpoint.sheet import ROWS_A_PAGE, levels_pages
from stationpoint.study import CameraFile

HELD, FAILED = 0, 1
STEM = "levels"
MOST_WORSE = 4  # told of one level
JUDGED, NOTES = "judged", "notes"


@dataclass(frozen=True, slots=True)
class Found:
    """A level, what its picture is drawn from (None where none is), its key and its exit code."""

    level: Level
    prepared: Prepared | None
    key: str
    code: int


def judge_levels(files: Sequence[str], chosen: JudgeOptions) -> int:
    """Judge each study, past those that are wrong, and print a line each, the worst first; the exit code."""
    paths = [Path(file) for file in files]
    names, camera = _names(paths), other_camera(chosen)
    cache = None if chosen["cache"] is None else Cache(Path(chosen["cache"]))
    drawer = Drawer(chosen["renderer"])
    outputs = Outputs(chosen["force"])
    to = None if chosen["output"] is None else picture_place(chosen["output"], STEM)
    pages = 1 if to is None else files_of(-(-len(paths) // ROWS_A_PAGE), ending_of(to))
    places = [] if to is None else [to] if pages == 1 else _numbered(to, pages)
    claims = [(chosen["json_file"], A_RECORD), *((place, SHEET) for place in places)]
    outputs.claim_all(claims)
    several = len(paths) > 1
    baselines = [Baseline(file, chosen, outputs, several) for file in baseline_files(chosen, names)]
    found = [
        _found(path, name, chosen, camera, cache, drawer, baseline, outputs, alone=not several)
        for path, name, baseline in zip(paths, names, baselines, strict=True)
    ]
    found.sort(key=lambda one: one.level.order)
    if to is not None:
        fonts = [font.data for one in found if one.prepared is not None for font in one.prepared.fonts]
        found = [_with_picture(one, cache, drawer) for one in found]
        use_type(list(dict.fromkeys(fonts)), names)
    outputs.claim_all(claims)  # now that every file has been read
    levels = [one.level for one in found]
    text = record_text(_record(levels))
    if chosen["json_file"] is not None:
        outputs.add(chosen["json_file"], A_RECORD, text.encode())
    if to is not None:
        for place, data in zip(
            places, _drawn(levels, text, chosen.get("camera_file"), ending_of(to)), strict=True
        ):
            outputs.add(place, SHEET, data)
    notes = dict.fromkeys(f"{level.name}: {note}" for level in levels for note in level.notes)
    say(*notes, *(cache.warnings if cache is not None else ()))
    with suppress(BrokenPipeError):  # the verdict stands where nobody reads on
        outputs.deliver(chosen["quiet"])
        worse = [f"{level.name}: {line}" for level in levels for line in _worse_lines(level)]
        tell(*(level.line for level in levels), *worse, _summary(levels))
    worst = max((one.code for one in found), default=HELD)
    return WRONG if any(one.code == WRONG for one in found) else worst


def _names(paths: Sequence[Path]) -> list[str]:
    """What tells the studies apart: their files' names, without endings; with their folders' where alike."""
    count = Counter(stem_of(path) for path in paths)
    names = [
        stem_of(path) if count[stem_of(path)] == 1 else f"{path.absolute().parent.name}/{stem_of(path)}"
        for path in paths
    ]
    twice = [str(path) for path, times in Counter(paths).items() if times > 1]
    if twice:
        raise StudyWrong(f"{twice[0]} is named twice; name each study once.")
    return names


def _found(
    path: Path,
    name: str,
    chosen: JudgeOptions,
    camera: CameraFile | None,
    cache: Cache | None,
    drawer: Drawer,
    baseline: Baseline,
    outputs: Outputs,
    alone: bool,
) -> Found:
    """A study judged and compared with its baseline, or why it cannot be."""
    try:
        every = ready(path, chosen, camera=camera)
        prepared = chosen_variants(every, chosen["labels"])
        asked = (chosen["labels"], chosen["every"], sorted(baseline.groups))
        key = level_key(prepared, chosen["renderer"], asked)
        held = None if cache is None else cache.find(key)
        whole, kept = _judged(path, every, chosen, drawer, baseline.groups) if held is None else held
        if cache is not None and held is None:
            cache.keep(key, whole, kept)
        is_compared = baseline.is_asked and not baseline.lacks
        worse = baseline.worse(whole, prepared.study) if is_compared else None
        baseline.renew(whole, outputs)
    except StationpointError as error:
        if alone:  # there is no other to go on with
            raise
        return Found(Level(name, wrong=_first_of(error, path)), None, "", error.exit_code)
    judged = judged_again(kept[JUDGED])
    notes = (*kept[NOTES], *([baseline.lacks] if baseline.lacks else []))
    level = Level(name, prepared.study.title, prepared.study_digest, judged, notes=notes, worse=worse)
    kept_ready = prepared if chosen["output"] is not None else None  # a scene takes room
    holds = judged.holds and (chosen["accept"] or not worse)
    return Found(level, kept_ready, key, HELD if holds else FAILED)


def _first_of(error: StationpointError, path: Path) -> str:
    """An error's first sentence, and how many more there are."""
    first, *others = str(error).replace(str(path), path.name).split("\n")
    is_wrong = error.exit_code == WRONG and others
    return f"{first} ({counted(len(others), 'more line')})" if is_wrong else first


def _judged(
    path: Path, every: Prepared, chosen: JudgeOptions, drawer: Drawer, more: frozenset[str]
) -> tuple[Record, dict[str, Any]]:
    """The record of a study, and what is kept with it: how it stands, and what a person should know. more:
    as of `swept_study`. Raises StudyWrong where there is nothing to judge by."""
    recorded = chosen["cache"] is not None or chosen["baseline"] is not None
    prepared, found, renderer = swept_study(path, every, chosen, drawer, more, recorded)
    needs_all = bool(chosen["labels"]) or chosen["every"]
    judged = judged_level(prepared, found.verdicts, found.cameras, needs_all)
    whole = found.record(renderer) if recorded else {}
    notes = [*prepared.notes, *found.warnings]
    return whole, {JUDGED: kept_judged(judged), NOTES: notes}


def _with_picture(one: Found, cache: Cache | None, drawer: Drawer) -> Found:
    """A level with the picture of its worst cell, from the cache if it is there."""
    if one.prepared is None or one.level.judged is None:
        return one
    pixels = None if cache is None else cache.find_picture(one.key)
    if pixels is None:
        pixels = drawer(partial(worst_picture, one.prepared, one.level.judged))
        if cache is not None:
            cache.keep_picture(one.key, pixels)
    return replace(one, level=replace(one.level, picture=pixels), prepared=None)


def _record(levels: Sequence[Level]) -> Record:
    """All levels as JSON, the worst first."""
    return {"tool": {"name": TOOL, "version": __version__}, "studies": [level.said for level in levels]}


def _drawn(levels: Sequence[Level], text: str, camera_file: str | None, ending: str) -> list[bytes]:
    """The sheet's files."""
    titles = {level.title for level in levels if level.judged is not None}
    title = titles.pop() if len(titles) == 1 and len(levels) > 1 else ""
    camera = f" under {Path(camera_file).name}" if camera_file else ""
    title = title or f"{counted(len(levels), 'level')}{camera}"
    answer = " ".join(_answer(levels))
    rows = [level.row for level in levels]
    pages = levels_pages(rows, title, answer, record_hash(text))
    lines = "\n".join(level.line for level in levels)
    return list(drawn_files(pages, ending, title, lines, lambda _: {RECORD: text}))


def _answer(levels: Sequence[Level]) -> Iterator[str]:
    """How many hold, and the worst that fails."""
    yield _summary(levels)
    worst = next((level for level in levels if level.judged is not None and not level.judged.holds), None)
    if worst is not None and worst.judged is not None:
        yield f"Worst is {worst.name} ({worst.judged.flag.wrong or worst.judged.words})."


def _worse_lines(level: Level) -> list[str]:
    """What got worse on a level, its first few lines and how many more there are."""
    lines = level.worse or ()
    rest = len(lines) - MOST_WORSE
    return [*lines[:MOST_WORSE], *([f"Worse: {counted(rest, 'more reading')}."] if rest > 0 else [])]


def _summary(levels: Sequence[Level]) -> str:
    holding = sum(level.judged is not None and level.judged.holds for level in levels)
    wrong = sum(level.judged is None for level in levels)
    holds = "holds" if 1 in (holding, len(levels)) else "hold"
    worse = sum(bool(level.worse) for level in levels)
    rest = f"; {wrong} could not be judged" if wrong else ""
    rest += f"; {worse} got worse" if worse else ""
    return f"{holding} of {counted(len(levels), 'study', 'studies')} {holds}{rest}."


def _numbered(to: Path, pages: int) -> list[Path]:
    return [to.with_name(f"{to.stem}-{number}{to.suffix}") for number in range(1, pages + 1)]
