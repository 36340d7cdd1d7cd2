"""A camera judged by its worst place, viewing, light and option: the brief on one camera to a player."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stationpoint.readings.paths import viewing_of
from stationpoint.readings.types import Result
from stationpoint.readings.verdict.judge import Finding, Verdict, is_at
from stationpoint.study import OptionEnd, Study, SweptCamera, pools, swept_cameras

Spot = tuple[str, str, str | None, OptionEnd | None]  # variant, place, viewing, as players may set it


@dataclass(frozen=True, slots=True)
class CameraVerdict:
    """What the brief says of one camera; None throughout where nothing was judged.

    holds: each of its variants holds. score: the worst of theirs. binds: the must with that margin, and
    variant, the label of the one that it is of. failed_at: at how many variants, places and viewings a
    must fails. of: how many there are.
    """

    camera: SweptCamera
    of: int
    holds: bool | None = None
    score: float | None = None
    binds: Finding | None = None
    variant: str | None = None
    failed_at: int | None = None


def judge_cameras(
    results: Sequence[Result], study: Study, verdicts: Mapping[str, Verdict]
) -> tuple[CameraVerdict, ...] | None:
    """The verdict on each camera of the results; None where each is judged once.

    verdicts: of their variants, by label; none where nothing was judged.
    """
    own = [result.variant for result in results if result.variant.option is None]
    variants = list({variant.label: variant for variant in own}.values())
    if not pools(study, variants):
        return None
    by_label: dict[str, list[Result]] = {}
    for result in results:
        by_label.setdefault(result.variant.label, []).append(result)
    return tuple(
        _judged(camera, [one for label in camera.variants for one in by_label[label]], verdicts)
        for camera in swept_cameras(study, variants)
    )


def _judged(camera: SweptCamera, results: Sequence[Result], verdicts: Mapping[str, Verdict]) -> CameraVerdict:
    every = {spot for result in results for spot in _spots(result)}
    own = [verdicts[label] for label in camera.variants if label in verdicts]
    if not own:
        return CameraVerdict(camera, len(every))
    by_cell: dict[tuple[str, str, OptionEnd | None], list[Result]] = {}
    for result in results:
        variant = result.variant
        by_cell.setdefault((variant.label, result.place.name, variant.option), []).append(result)
    failed = {
        spot
        for verdict in own
        for finding in verdict.failed
        for result in by_cell.get((verdict.variant, finding.place, finding.option), ())
        for spot in _spots(result)
        if _is_of(spot, finding, result)
    }
    scored = [verdict for verdict in own if verdict.score is not None]
    worst = min(scored, key=lambda verdict: verdict.score or 0.0, default=None)
    return CameraVerdict(
        camera,
        len(every),
        all(verdict.holds for verdict in own),
        None if worst is None else worst.score,
        None if worst is None else worst.binds,
        None if worst is None else worst.variant,
        len(failed),
    )


def _spots(result: Result) -> list[Spot]:
    names: list[str | None] = [seat.name for seat in result.seats]
    variant = result.variant
    return [(variant.label, result.place.name, name, variant.option) for name in names or [None]]


def _is_of(spot: Spot, finding: Finding, result: Result) -> bool:
    """Whether a limit that failed in a cell has failed for a viewing there: one of those that it is narrowed
    to, that the reading is of, and in whose picture it was found."""
    viewing = spot[2]
    if not is_at(result, finding.limit):
        return False
    own = viewing_of(finding.path)
    if own is not None:
        return viewing == own
    in_picture = finding.viewing is None or finding.viewing == result.seats[0].name
    return in_picture and finding.limit.viewing in (None, viewing)
