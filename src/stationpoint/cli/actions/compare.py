"""What `compare` does."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from stationpoint import __version__
from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import TOOL
from stationpoint.cli import say, tell
from stationpoint.cli.actions.baseline import narrowed
from stationpoint.cli.actions.outputs import RECORD, SHEET, STDOUT, SUMMARY, TESTS, Outputs
from stationpoint.cli.actions.page import PAGE_TOO
from stationpoint.cli.actions.sheet import ending_of
from stationpoint.cli.actions.work import Drawer, progress_of, ready, study_of, swept
from stationpoint.cli.options import Changes, CompareOptions
from stationpoint.readings import bounded_paths, kinds_of, paths_meant
from stationpoint.record import (
    KEPT_SUFFIXES,
    Record,
    Suite,
    Summary,
    Test,
    junit_text,
    markdown_text,
    read_kept,
    record_text,
)
from stationpoint.run import (
    GROUPS_COMPARED,
    Comparison,
    Prepared,
    Scope,
    Wants,
    answer_of,
    bounded_names,
    change_lines,
    check_format,
    compare_records,
    comparison_data,
    draw_changes,
    draw_comparison,
    lines_by_variant,
    prepare_study,
    read_tolerances,
    record_of,
)
from stationpoint.scene import read_scene
from stationpoint.study import READ_SUFFIXES, Study, study_from_text, what_is

SAME, CHANGED = 0, 1
CHANGES = {
    "sets": "--set",
    "rows": "--rows",
    "columns": "--columns",
    "pages": "--pages",
    "hold": "--hold",
    "places": "--place",
    "viewings": "--viewing",
}
COMPARISON = SHEET._replace(or_else="")
WHAT = "a record (.json), a sheet (.png, .svg, .pdf), a study, or with --study a build of its level"


class Side(NamedTuple):
    """One of the two. text: the record's own. bounded: what the brief bounds, by path, joined by dots.
    prepared: where it was measured now."""

    name: str
    record: Record
    text: str
    bounded: frozenset[str]
    prepared: Prepared | None = None


def compare(before: str, after: str, chosen: CompareOptions) -> int:
    """Print what changed; the exit code."""
    files = (Path(before), Path(after))
    if chosen["readings"] and chosen["everything"]:
        raise StudyWrong(
            "--all compares every reading, those of --reading among them; leave one of them out."
        )
    tolerances = read_tolerances(chosen["tolerances"])
    kinds = [_kind(file, chosen["study_file"]) for file in files]
    if chosen["study_file"] is not None and "build" not in kinds:
        raise StudyWrong("--study is for two builds of a level, and neither of these is one; leave it out.")
    _check_changes(files, kinds, chosen)
    _check_drawn(files, kinds, chosen)
    outputs = Outputs(chosen["force"])
    outputs.claim(chosen["output"], COMPARISON)
    outputs.claim_all(
        [
            *((chosen["page_file"], PAGE_TOO), (chosen["json_file"], RECORD)),
            *((chosen["junit_file"], TESTS), (chosen["markdown_file"], SUMMARY)),
        ]
    )
    drawer = Drawer(chosen["renderer"])  # one for all, so that both sides are drawn alike
    one, other = (_side(file, kind, chosen, drawer) for file, kind in zip(files, kinds, strict=True))
    everything = chosen["everything"] or kinds == ["record", "record"]  # which do not hold their whole brief
    scope = Scope(everything=everything, paths=one.bounded | other.bounded)
    if "record" in kinds and (chosen["places"] or chosen["viewings"]):  # its verdicts are of all it has
        one, other = _narrowed_alike(one, other, kinds)
        scope = scope._replace(verdicts=False)
    if chosen["readings"]:
        scope = Scope(chosen["readings"], verdicts=False)
    found = compare_records(one.record, other.record, scope, tolerances, (one.name, other.name))
    lines = change_lines(found)
    if found.apart and one.text != other.text:
        say(f"Only one of the two has readings of {', '.join(found.apart)}; these are not compared.")
    names = f"{files[0].name} and {files[1].name}"
    if lines:
        _draw(outputs, found, one, other, names, chosen, drawer)
    _report(outputs, found, lines, names, chosen)
    with suppress(BrokenPipeError):
        outputs.deliver(chosen["quiet"])
        (say if outputs.takes_stdout else tell)(*lines)
    return CHANGED if found.is_changed else SAME


def _kind(file: Path, study: str | None) -> str:
    """What a side is: "record", "study" or "build"; StudyWrong where it is none of them."""
    ending = file.suffix.lower()
    if file.exists() and not file.is_dir():
        if ending in KEPT_SUFFIXES:
            return "record"
        if ending not in READ_SUFFIXES:
            raise StudyWrong(f"{file} is nothing that can be compared; name {WHAT}.")
    kind = what_is(file)
    if kind != "study" and study is None:
        raise StudyWrong(f"{file} is a level alone; name the study that measures it with --study.")
    return "study" if kind == "study" else "build"


def _check_changes(files: tuple[Path, Path], kinds: list[str], chosen: Changes) -> None:
    """StudyWrong where something is to be changed of studies, and none is given."""
    named = [option for key, option in CHANGES.items() if chosen[key] not in (None, ())]  # type: ignore[literal-required]
    if named and kinds == ["record", "record"]:
        raise StudyWrong(
            f"{named[0]} changes a study, and {files[0]} and {files[1]} are records, which stay as they are; "
            "name studies."
        )


def _check_drawn(files: tuple[Path, Path], kinds: list[str], chosen: CompareOptions) -> None:
    """StudyWrong where a sheet or a page is asked for of what cannot be drawn."""
    if chosen["output"] is None and chosen["cell_width"] is not None:
        raise StudyWrong("--cell-width is about a sheet; name the sheet with -o.")
    if chosen["output"] not in (None, STDOUT):
        check_format(ending_of(chosen["output"] or ""))
    lone = next((file for file, kind in zip(files, kinds, strict=True) if kind == "record"), None)
    for option, to in (("-o", chosen["output"]), (PAGE_TOO.option, chosen["page_file"])):
        if to is not None and lone is not None:
            raise StudyWrong(
                f"{option}: {lone} is a record, which holds no pictures to compare; name two studies."
            )


def _draw(
    outputs: Outputs,
    found: Comparison,
    one: Side,
    other: Side,
    names: str,
    chosen: CompareOptions,
    drawer: Drawer,
) -> None:
    """Add the sheet and the page of what changed between two sides that were measured now, where they are
    asked for."""
    title = f"What changed between {names}?"
    before, after = one.prepared, other.prepared
    to, page = chosen["output"], chosen["page_file"]
    if before is None or after is None:
        return
    if to is not None:
        drawn = drawer(
            lambda name: draw_comparison(
                *(found, before, after, title, answer_of(found), other.text, name),
                *(chosen["cell_width"], ending_of(to)),
            )
        )
        outputs.add(to, COMPARISON, drawn)
    if page is not None:
        made = drawer(
            lambda name: draw_changes(
                *(found, before, after, title, answer_of(found), name, chosen["workers"]), progress_of(chosen)
            )
        )
        outputs.add(page, PAGE_TOO, made.data)
        say(*made.warnings)


def _side(file: Path, kind: str, chosen: CompareOptions, drawer: Drawer) -> Side:
    if kind == "record":
        kept = read_kept(file)
        study = None if kept.study is None else study_from_text(kept.study, file.name)
        own = frozenset() if study is None else _bounded(study)
        return Side(str(file), kept.record, kept.text, own | bounded_names(kept.record))
    prepared = ready(file, chosen) if kind == "study" else _build(file, chosen)
    only = _only(prepared.study, chosen)
    results, renderer = swept(prepared, Wants(picture=False, only=only), chosen, drawer)
    whole = record_of(prepared, results, renderer, only)
    return Side(str(file), whole, record_text(whole), _bounded(prepared.study), prepared)


def _narrowed_alike(one: Side, other: Side, kinds: list[str]) -> tuple[Side, Side]:
    """Both sides, the record with only what the call keeps of the study."""
    if kinds[0] == "record":
        return one._replace(record=narrowed(one.record, other.record)), other
    return one, other._replace(record=narrowed(other.record, one.record))


def _bounded(study: Study) -> frozenset[str]:
    return frozenset(".".join(path) for path in bounded_paths(study))


def _only(study: Study, chosen: CompareOptions) -> frozenset[str] | None:
    """The groups and families of readings to measure; None for all."""
    if chosen["everything"]:
        return None
    if chosen["readings"]:
        named = [paths_meant(f"--reading {one}", one, study) for one in chosen["readings"]]
        return frozenset().union(*map(kinds_of, named))
    return GROUPS_COMPARED | {path[0] for path in bounded_paths(study)}


def _build(file: Path, chosen: CompareOptions) -> Prepared:
    """A build of a level in the place of a study's own scene. Cameras of a mesh file are looked for in it."""
    study = Path(chosen["study_file"] or "")
    if what_is(study) != "study":
        raise StudyWrong(f"--study: {study} is no study; name the one that measures both builds.")
    said = study_of(study, chosen).study
    scene = read_scene(file, said.mesh_keys)
    own = Path(said.scene).name
    cameras = tuple(replace(one, file=own) if one.file == file.name else one for one in scene.cameras)
    return prepare_study(said, study.parent, replace(scene, cameras=cameras))


def _report(
    outputs: Outputs, found: Comparison, lines: list[str], names: str, chosen: CompareOptions
) -> None:
    """Gather what is written beside what is told."""
    if chosen["json_file"] is not None:
        data = comparison_data(found, {"name": TOOL, "version": __version__})
        outputs.add(chosen["json_file"], RECORD, record_text(data).encode())
    if chosen["junit_file"] is not None:
        tests = [Test(name, tuple(own)) for name, own in lines_by_variant(found, found.changed).items()]
        text = junit_text([Suite(f"compare {names}", tuple(tests))])
        outputs.add(chosen["junit_file"], TESTS, text.encode())
    if chosen["markdown_file"] is not None:
        text = markdown_text([Summary(names, answer_of(found), tuple(lines))])
        outputs.add(chosen["markdown_file"], SUMMARY, text.encode())
