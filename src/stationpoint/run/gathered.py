"""What a sweep comes to where nobody looks at its pictures: results are judged, written and let go as they
come, so that memory does not grow with their number."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from io import BytesIO
from itertools import groupby
from typing import BinaryIO, cast

from stationpoint.base.errors import StudyWrong
from stationpoint.readings import (
    FIELDS,
    CameraVerdict,
    Judging,
    Result,
    Verdict,
    asked,
    bounded_paths,
    is_at,
    judge_cameras,
    without_readings,
)
from stationpoint.record import Record, RecordInWaiting, make_record
from stationpoint.run.notes import Notes
from stationpoint.run.prepare import Prepared
from stationpoint.run.recorded import record_facts
from stationpoint.run.warnings import Warnings
from stationpoint.study import at_options, note_on, pools

NOT_ABOUT = "No must is about the places and viewings of these variants; judge others."


class Gathered:
    """The verdicts, the warnings and the record of results that come variant by variant.

    only: as in Wants. recorded: whether a record is written. kept: whether verdicts are asked for. flagged:
    with all that the flag of a cell says. about: by label, the numbers of the limits that are about a place
    and a viewing of the variant.
    """

    def __init__(
        self,
        prepared: Prepared,
        only: frozenset[str] | None,
        recorded: bool = True,
        kept: bool = True,
        flagged: bool = False,
    ) -> None:
        study = prepared.study
        paths = [] if only is None else bounded_paths(study)
        is_whole = only is None or all(map(asked(only), paths))
        self._prepared, self._kept, self._flagged = prepared, kept, flagged
        self._judging = Judging(study) if study.limit and is_whole else None
        self._pooled = pools(study, prepared.variants)
        self._ends = any(True for one in prepared.variants for _ in at_options(one, study, {}))
        self._waiting = RecordInWaiting(FIELDS, self._ends) if recorded else None
        self._notes = Notes(prepared, only) if recorded else None
        self._warnings = Warnings(prepared.scene, by_size=not recorded)
        self._seen: list[Result] = []  # of cameras judged more than once: where they were, without readings
        self._alike: dict[tuple[int, ...], tuple[int, ...]] = {}
        self.verdicts: dict[str, Verdict] = {}
        self.about: dict[str, tuple[int, ...]] = {}

    def add_all(self, batches: Iterable[Sequence[Result]]) -> Gathered:
        """Take all results, in batches of whole variants; itself."""
        for label, results in _by_variant(batches):
            verdict = None if self._judging is None else self._judging.take(results)
            for result in results:
                if self._notes is None:
                    self._warnings.add(result)
                else:
                    self._notes.add(result)
            if self._waiting is not None:
                self._waiting.add(results, note_on(self._prepared.study, results[0].variant), verdict)
            if self._pooled:
                self._seen += [without_readings(one, (self._seen or results)[0].setup) for one in results]
            if self._kept:
                limits = self._prepared.study.limit
                here = [k for k, one in enumerate(limits) if any(is_at(result, one) for result in results)]
                self.about[label] = self._alike.setdefault(tuple(here), tuple(here))
            if verdict is not None and (self._kept or self._pooled):
                each = verdict.each if self._flagged else ()
                self.verdicts[label] = replace(verdict, musts=(), each=each)
        if self._judging is not None:
            self._judging.check()
        return self

    def check_about(self) -> None:
        """StudyWrong where no must is about the places and viewings of the results."""
        if self._judging is not None and not self._judging.is_about:
            raise StudyWrong(NOT_ABOUT)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What a person should know of the results."""
        return self._warnings.lines if self._notes is None else self._notes.warnings

    @property
    def cameras(self) -> tuple[CameraVerdict, ...] | None:
        """The verdict on each camera, None where each is judged once."""
        return judge_cameras(self._seen, self._prepared.study, self.verdicts) if self._pooled else None

    def write_record(self, renderer: str | None, file: BinaryIO) -> None:
        """Write the record. renderer: None where nothing had to be drawn."""
        assert self._waiting is not None
        self._waiting.write(self._rest(renderer), file)

    def read_once(self, renderer: str | None) -> Record:
        """The record, its variants, rows and verdicts to be gone through once, for those who hold none."""
        assert self._waiting is not None
        lists = {name: self._waiting.items(name) for name in self._waiting.names}
        return cast(Record, self._rest(renderer) | lists)

    def _rest(self, renderer: str | None) -> Record:
        assert self._notes is not None
        return make_record(
            [],
            **record_facts(self._prepared),
            renderer=renderer,
            notes=self._notes.lines,
            cameras=self.cameras,
            with_options=self._ends,
        )

    def record_text(self, renderer: str | None) -> str:
        """The record as text."""
        file = BytesIO()
        self.write_record(renderer, file)
        return file.getvalue().decode()

    def record(self, renderer: str | None) -> Record:
        """The record, all of it at hand."""
        return cast(Record, json.loads(self.record_text(renderer)))

    def write_table(self, file: BinaryIO) -> None:
        """Write the rows as CSV."""
        assert self._waiting is not None
        self._waiting.write_csv(file)


def _by_variant(batches: Iterable[Sequence[Result]]) -> Iterator[tuple[str, list[Result]]]:
    for batch in batches:
        for label, results in groupby(batch, key=lambda result: result.variant.label):
            yield label, list(results)
