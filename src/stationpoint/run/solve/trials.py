"""Set-ups tried against the musts of a brief: each once, in batches, few things kept of each."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace

from stationpoint.base.errors import StudyWrong
from stationpoint.readings import Finding, Result, bounded_paths, is_at, judge_all, kinds_of
from stationpoint.run.prepare import Prepared
from stationpoint.run.sweep import CaseRunner, Wants, must_draw, sweep_variants
from stationpoint.run.workers.worth import workers_worth
from stationpoint.study import Limit, Varied, expand, with_settings

Values = tuple[float, ...]  # of the varied fields, in their order


@dataclass(frozen=True, slots=True)
class Trial:
    """One set-up against the musts, at its worst place, viewing and light.

    margins: the worst of each must, in their order; None where one meets nothing here. binds: the finding
    with the worst, None where none meets anything. hfov_deg: None in a parallel view.
    """

    values: Values
    margins: tuple[float | None, ...]
    binds: Finding | None
    hfov_deg: float | None

    @property
    def holds(self) -> bool:
        """Whether every must holds."""
        return self.score >= 0.0

    @property
    def score(self) -> float:
        """The worst margin; 0 where no must meets anything."""
        return min(self.met, default=0.0)

    @property
    def met(self) -> tuple[float, ...]:
        """The margins that there are."""
        return tuple(margin for margin in self.margins if margin is not None)

    @property
    def rank(self) -> tuple[float, ...]:
        """What set-ups are ranked by: the worst margin, then the next worst, and so on."""
        return tuple(sorted(self.met))


class Trials:
    """Where set-ups are tried. most: fewer set-ups than this are tried.

    Nothing is drawn unless a must has to see it.
    """

    def __init__(
        self,
        prepared: Prepared,
        varied: Sequence[Varied],
        *,
        renderer: str,
        workers: int | None,
        most: int,
        on_trial: Callable[[], None],
        open_things: ExitStack,
    ) -> None:
        study = prepared.study
        self.varied = tuple(varied)
        self.limits: tuple[Limit, ...] = tuple(limit for limit in study.limit if limit.level == "must")
        self.most = most
        self._tried: dict[Values, Trial] = {}
        self._brief = study.model_copy(update={"limit": self.limits})
        self._prepared = replace(prepared, study=self._brief)
        self._wants = Wants(picture=False, only=kinds_of(bounded_paths(self._brief)))
        self._renderer, self._workers, self._on_trial = renderer, workers, on_trial
        self._desk = CaseRunner(self._prepared, self._wants, renderer, open_things)

    @property
    def all(self) -> tuple[Trial, ...]:
        """Every trial so far, in the order in which they were made."""
        return tuple(self._tried.values())

    @property
    def count(self) -> int:
        """How many set-ups were tried."""
        return len(self._tried)

    @property
    def room(self) -> int:
        """How many more may be tried."""
        return max(0, self.most - 1 - self.count)

    @property
    def draws(self) -> bool:
        """Whether a must may have to see something drawn."""
        return must_draw(self._wants)

    def __call__(self, some: Iterable[Values]) -> list[Trial]:
        """The trials of these set-ups; of those that are new only as many as there is room for."""
        asked = list(dict.fromkeys(some))
        new = [values for values in asked if values not in self._tried][: self.room]
        for trial in self._made(new):
            self._tried[trial.values] = trial
        return [self._tried[values] for values in asked if values in self._tried]

    def aside(self, some: Sequence[Values]) -> list[Trial]:
        """The trials of these set-ups, neither counted nor kept."""
        made = {trial.values: trial for trial in self._made([v for v in some if v not in self._tried])}
        return [made[values] if values in made else self._tried[values] for values in some]

    def settings(self, values: Values) -> dict[str, float]:
        """Field -> value."""
        return {one.field: value for one, value in zip(self.varied, values, strict=True)}

    def _made(self, some: Sequence[Values]) -> Iterator[Trial]:
        if not some:
            return
        study = with_settings(self._brief, [self.settings(values) for values in some])
        prepared = replace(self._prepared, study=study, variants=expand(study))
        workers = workers_worth(prepared) if self._workers is None else self._workers
        if min(workers, len(some)) > 1:
            results = sweep_variants(prepared, self._wants, self._renderer, workers)
        else:
            results = list(self._desk.of_variants(prepared.variants))
        verdicts = judge_all(results, study)
        if not any(is_at(result, limit) for result in results for limit in self.limits):
            raise StudyWrong("No must is about the places and viewings of these set-ups; search others.")
        columns: dict[int, list[Result]] = {}
        for result in results:
            columns.setdefault(result.variant.column, []).append(result)
        for values, (_, those) in zip(some, sorted(columns.items()), strict=True):
            labels = dict.fromkeys(result.variant.label for result in those)
            found = sorted((f for label in labels for f in verdicts[label].musts), key=lambda f: f.margin)
            binds = found[0] if found else None
            yield Trial(values, self._worst(found), binds, those[0].setup.hfov_deg)
            self._on_trial()

    def _worst(self, findings: Sequence[Finding]) -> tuple[float | None, ...]:
        """The worst margin of each must. findings: worst first."""
        worst: dict[int, float] = {}
        for found in findings:
            worst.setdefault(self.limits.index(found.limit), found.margin)
        return tuple(worst.get(k) for k in range(len(self.limits)))


@contextmanager
def trials_of(
    prepared: Prepared,
    varied: Sequence[Varied],
    renderer: str,
    workers: int | None,
    most: int,
    on_trial: Callable[[], None],
) -> Iterator[Trials]:
    """Where set-ups are tried; what draws is closed at the end."""
    with ExitStack() as open_things:
        yield Trials(
            prepared,
            varied,
            renderer=renderer,
            workers=workers,
            most=most,
            on_trial=on_trial,
            open_things=open_things,
        )
