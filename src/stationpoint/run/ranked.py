"""Which variants a sheet shows where it is not the whole grid, in which order, and how large."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from stationpoint.base.errors import StudyWrong
from stationpoint.base.look import CELL_WIDTH_PX
from stationpoint.base.words import counted
from stationpoint.readings import Result, Verdict
from stationpoint.run.cases import cases
from stationpoint.run.prepare import Prepared
from stationpoint.run.sweep import Wants
from stationpoint.sheet import Ranked, first_results, ranked_widths
from stationpoint.study import OptionEnd, Options, Variant

GRID, HERO = "grid", "hero"
LAYOUTS = (GRID, HERO)
FIRST, WORST = "first", "worst"
SHOWN = (FIRST, WORST)  # which of several places, and of what players may set, is drawn
Sweep = Callable[[Prepared, Wants], list[Result]]


def check_ranked(prepared: Prepared, layout: str, best: int | None) -> None:
    """StudyWrong, before anything is drawn, where there is nothing to rank by."""
    if any(limit.level == "must" for limit in prepared.study.limit):
        return
    if best is not None:
        raise StudyWrong(
            "--best: the study has no [[limit]] that is a must, so there is no margin to go by; "
            "add one, or leave --best out."
        )
    if layout == HERO and chosen_here(prepared) is None:
        raise StudyWrong(
            "--layout hero: the study has neither a decision for one of these variants nor a [[limit]] that "
            "is a must, so none is to be large; choose one, or add a limit."
        )


def check_worst(prepared: Prepared) -> None:
    """StudyWrong, before anything is drawn, where there are several places, or ends of what players may set,
    and nothing tells the worst."""
    several = len(prepared.study.places) > 1 and any(one.place is None for one in prepared.variants)
    if (several or prepared.study.options.ends) and not any(
        limit.level == "must" for limit in prepared.study.limit
    ):
        raise StudyWrong(
            "--show worst: the study has no [[limit]] that is a must, so no place is the worst; "
            "add one, or leave --show out."
        )


def chosen_here(prepared: Prepared) -> str | None:
    """The label of the one taken, where it is among the variants that are to be drawn."""
    label = None if prepared.chosen is None else prepared.chosen.label
    return label if any(variant.label == label for variant in prepared.variants) else None


def rank(prepared: Prepared, verdicts: Mapping[str, Verdict], layout: str, best: int | None) -> Ranked:
    """The variants to draw: best worst margin first, of a hero's sheet the one taken before all others.

    Where two margins are equal the sweep's order stands. Raises StudyWrong where none has a margin and one
    is needed.
    """
    labels = [variant.label for variant in prepared.variants]
    scores = {label: one.score for label, one in verdicts.items() if one.score is not None}
    first = chosen_here(prepared) if layout == HERO else None
    if not scores and (best is not None or first is None):
        raise StudyWrong("No must of the brief was measured, so no variant has a margin to go by.")
    order = sorted(labels, key=lambda label: -scores.get(label, 0.0))
    says: dict[str, str] = {}
    if layout == HERO:
        order.sort(key=lambda label: label != first)
        says[order[0]] = "chosen" if first else "best by margin"
        says |= {label: "runner-up" for label in order[1:2] if scores}
    kept = tuple(order[: best or len(order)])
    others = "by worst margin" if scores else "in the sweep's order"
    words = f"{kept[0]} large, then the others {others}" if layout == HERO else "best worst margin first"
    if len(kept) < len(order):
        more = len(order) - len(kept)
        words = f"{_which(kept, len(order), first, scores)}; {counted(more, 'more variant')} in the record"
    return Ranked(kept, layout == HERO, says, words)


def _which(kept: Sequence[str], of: int, first: str | None, scores: Mapping[str, float]) -> str:
    """What is drawn: "the 4 best of 8 by worst margin"; with the one taken where that is none of them."""
    count = len(kept)
    if first is None or scores.get(first, 0.0) >= max(scores.get(label, 0.0) for label in kept):
        return f"the {f'{count} ' if count > 1 else ''}best of {of} by worst margin"
    named, others = f"{first}, which is chosen", count - 1
    if not others:
        return named
    return f"{named}, and the {'best other' if others == 1 else f'{others} best others'} by worst margin"


class Spot(NamedTuple):
    """Where one of several cases of a variant is: its place, and the end of the study's options."""

    place: str
    option: OptionEnd | None = None


def worst_spots(prepared: Prepared, verdicts: Mapping[str, Verdict]) -> dict[str, Spot]:
    """Variant label -> where its must has the worst margin, of variants that are judged at several."""
    if len(prepared.study.places) == 1 and not prepared.study.options.ends:
        return {}
    found = ((one.label, verdicts.get(one.label)) for one in prepared.variants)
    return {
        label: Spot(said.binds.place, said.binds.option)
        for label, said in found
        if said is not None and said.binds is not None
    }


def draw_worst(
    prepared: Prepared,
    spots: Mapping[str, Spot],
    measured: Sequence[Result],
    wants: Wants,
    sweep: Sweep,
) -> list[Result]:
    """The results to draw, in the order of the sweep: each variant at the spot that is named for it, else
    at its first."""
    labels = tuple(variant.label for variant in prepared.variants)
    return draw_ranked(prepared, Ranked(labels), measured, wants, sweep, spots)


def draw_ranked(
    prepared: Prepared,
    ranked: Ranked,
    measured: Sequence[Result],
    wants: Wants,
    sweep: Sweep,
    spots: Mapping[str, Spot] | None = None,
) -> list[Result]:
    """The results to draw, in the ranked order, each with a picture as wide as its cell.

    measured: of all variants, with pictures as wide as the small cells or without any. A picture that is
    wanted in another size is drawn once more; its readings are those that were measured. spots: variant
    label -> where to draw it, its first where none is said.
    """
    at = spots or {}
    there = [one for one in measured if at.get(one.variant.label, _spot(one)) == _spot(one)]
    by_label = {result.variant.label: result for result in first_results(there)}
    widths = dict(
        zip(ranked.labels, ranked_widths(len(ranked.labels), ranked.hero, wants.cell_width), strict=True)
    )
    own = {variant.label: variant for variant in prepared.variants}
    variants = {label: _at(at[label], one, prepared) if label in at else one for label, one in own.items()}
    as_set = prepared.study.model_copy(update={"options": Options()})  # each as it is to be drawn
    for width in dict.fromkeys(widths.values()):
        lacking = [
            label
            for label in ranked.labels
            if widths[label] == width and (width != wants.cell_width or by_label[label].picture is None)
        ]
        if not lacking:
            continue
        those = replace(prepared, study=as_set, variants=tuple(variants[label] for label in lacking))
        for result in first_results(sweep(those, replace(wants, cell_width=width))):
            label = result.variant.label
            drawn = replace(own[label], option=result.variant.option)
            by_label[label] = _as_measured(replace(result, variant=drawn), measured)
    return [by_label[label] for label in ranked.labels]


def _spot(result: Result) -> Spot:
    return Spot(result.place.name, result.variant.option)


def _at(spot: Spot, variant: Variant, prepared: Prepared) -> Variant:
    """A variant at one place, as players may have set it there."""
    there = replace(variant, place=spot.place)
    if spot.option is None:
        return there
    every = cases(replace(prepared, variants=(there,)), CELL_WIDTH_PX)
    return next(case.variant for case in every if case.variant.option == spot.option)


def _as_measured(result: Result, measured: Sequence[Result]) -> Result:
    """A result drawn once more, with the readings that the record has; where its marks stand is its own."""

    def of(one: Result) -> tuple[str, Spot, str]:
        return one.variant.label, _spot(one), one.picture_shape

    first = next(one for one in measured if of(one) == of(result))
    kept = replace(result.reading, values=first.reading.values, causes=first.reading.causes)
    return replace(result, reading=kept)
