"""What a study was judged by the last time: read, compared with, renewed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import cast

from stationpoint.base.errors import StudyWrong
from stationpoint.base.files import make_folder
from stationpoint.cli.actions.outputs import BASELINE, Outputs
from stationpoint.cli.options import JudgeOptions
from stationpoint.readings import bounded_paths
from stationpoint.record import Json, Record, read_kept, record_text
from stationpoint.run import (
    GROUPS_COMPARED,
    Scope,
    compare_records,
    lines_by_variant,
    read_tolerances,
    worse_changes,
)
from stationpoint.study import Study


class Baseline:
    """The record of --baseline; nothing where that is not asked for, or is to be made. file: None for none.
    may_lack: whether a study that has none yet is no mistake, as one of several."""

    def __init__(
        self, file: Path | None, chosen: JudgeOptions, outputs: Outputs, may_lack: bool = False
    ) -> None:
        self._file = file
        self._accept = chosen["accept"]
        self._tolerances = read_tolerances(chosen["tolerances"])
        self._is_narrowed = any(chosen[name] for name in ("labels", "places", "viewings"))
        self._record: Record | None = None
        if self._file is None:
            lone = "--accept" if self._accept else "--tolerance" if self._tolerances else ""
            if lone:
                raise StudyWrong(f"{lone} is about a baseline; name its file with --baseline.")
            return
        if self._accept and (self._file.parent.is_dir() or not may_lack):
            outputs.claim(self._file, BASELINE)
        if not self._file.exists() and not self._accept and not may_lack:
            raise StudyWrong(f"{self._file}: there is no such file; make it with --accept.")
        if self._file.exists():
            self._record = read_kept(self._file, renewed=self._accept).record

    @property
    def is_asked(self) -> bool:
        """Whether the record is needed."""
        return self._file is not None

    @property
    def lacks(self) -> str:
        """That there is nothing to compare with yet, in words; "" where there is, or none is asked for."""
        if not self.is_asked or self._accept or self._record is not None:
            return ""
        return f"{self._file} is not there, so nothing is compared; make it with --accept."

    @property
    def groups(self) -> frozenset[str]:
        """Groups of readings that are measured for the comparison, beside those of the brief."""
        return GROUPS_COMPARED if self.is_asked else frozenset()

    def worse(self, now: Record, study: Study) -> tuple[str, ...]:
        """What got worse, a line each; where a call judges only some of a study, of these alone."""
        if self._record is None:
            return ()
        before = narrowed(self._record, now) if self._is_narrowed else self._record
        scope = Scope(paths=frozenset(".".join(path) for path in bounded_paths(study)))
        try:
            found = compare_records(before, now, scope, self._tolerances, (str(self._file), "the study"))
        except StudyWrong as error:
            if self._accept:  # whatever it was: it is replaced
                return ()
            raise StudyWrong(f"{error}", "Where that is meant, renew the baseline with --accept.") from None
        lines = lines_by_variant(found, worse_changes(found.changed, study))
        return tuple(f"Worse: {line}" for own in lines.values() for line in own)

    def renew(self, now: Record, outputs: Outputs) -> None:
        """Have the record written over the file, where that is asked for."""
        if self._file is not None and self._accept:
            make_folder(self._file.parent)
            outputs.add(self._file, BASELINE, record_text(now).encode())


def baseline_file(chosen: JudgeOptions) -> Path | None:
    """The file that --baseline names for one study."""
    return None if chosen["baseline"] is None else Path(chosen["baseline"])


def baseline_files(chosen: JudgeOptions, names: Sequence[str]) -> list[Path | None]:
    """The file of each study, by what tells them apart: of one the file named, of several each its own in the
    folder named. StudyWrong where that is none."""
    if chosen["baseline"] is None or len(names) == 1:
        return [baseline_file(chosen)] * len(names)
    folder = Path(chosen["baseline"])
    if folder.is_file() or folder.suffix.lower() == ".json":
        raise StudyWrong(
            f"--baseline: {folder} is one file, and {len(names)} studies are named; name a folder."
        )
    if not folder.is_dir() and not chosen["accept"]:
        raise StudyWrong(f"{folder}: there is no such folder; make it with --accept.")
    return [folder / f"{name.replace('/', '-')}.json" for name in names]


def narrowed(before: Record, now: Record) -> Record:
    """A record with only the variants and rows that another has."""

    def dicts(whole: Record, name: str) -> list[Mapping[str, Json]]:
        return [one for one in cast(list[Json], whole[name]) if isinstance(one, dict)]

    keys = {str(one["key"]) for one in dicts(now, "variants")}
    spots = {(str(row["place"]), str(row["picture"])) for row in dicts(now, "rows")}
    variants = [one for one in dicts(before, "variants") if str(one.get("key")) in keys]
    labels = {str(one.get("id")) for one in variants}
    rows = [
        row
        for row in dicts(before, "rows")
        if row.get("variant") in labels and (str(row.get("place")), str(row.get("picture"))) in spots
    ]
    verdicts = [one for one in dicts(before, "verdicts") if one.get("variant") in labels]
    whole = {**before, "variants": variants, "rows": rows, "verdicts": verdicts}
    return cast(Record, whole)
