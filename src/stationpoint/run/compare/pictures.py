"""What changed, drawn: each cell before, after, and where the two pictures differ, on one page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.base.look import CELL_WIDTH_PX
from stationpoint.base.words import counted
from stationpoint.readings import MAIN, Case
from stationpoint.render import open_renderer
from stationpoint.run.cases import MOST_SIDE_PX, cases
from stationpoint.run.compare.differences import HOLDS, Change, Comparison, Spot, place_set
from stationpoint.run.compare.words import NOW, change_words, spot_words, variant_names, without_here
from stationpoint.run.endings import PNG, RECORD, STUDY
from stationpoint.run.formats import drawn_files
from stationpoint.run.prepare import Prepared
from stationpoint.run.sheet import DRAWN_BY, Drawing, aids_drawn, own_words
from stationpoint.run.sweep import Wants, shots_of
from stationpoint.sheet import ChangedCell, before_after_page
from stationpoint.study import HERE, study_text

Pixels = NDArray[np.uint8]
MOST_CELLS = 12


class _Cell(NamedTuple):
    """A cell to draw: which, and what is said of it."""

    spot: Spot
    says: tuple[str, ...]


def draw_comparison(
    found: Comparison,
    before: Prepared,
    after: Prepared,
    title: str,
    answer: str,
    record: str,
    renderer: str = "gl",
    cell_width: int | None = None,
    ending: str = PNG,
) -> bytes:
    """A picture of what changed, at most MOST_CELLS cells: first what is another, then what is gone and new.

    record: of after, as text, which the page carries with its study. ending: that of its file. StudyWrong
    where it would be too large.
    """
    width = cell_width or CELL_WIDTH_PX
    if width > MOST_SIDE_PX // 4:
        raise StudyWrong(f"--cell-width {width} is too wide for three pictures; at most {MOST_SIDE_PX // 4}.")
    every = [*_changed(found, after), *_lone(found, before, after)]
    shown = every[:MOST_CELLS]
    spots = {cell.spot for cell in shown}
    grid, shadow = aids_drawn(after, Drawing())
    wants = Wants(cell_width=width, grid=grid, shadow=shadow, only=frozenset())
    old, new = (_pictures(one, spots, wants, renderer) for one in (before, after))
    names = variant_names(found.variants)
    lone = {place.name for side in (before, after) for place in side.study.places} == {HERE}
    told = without_here if lone else str
    cells = _folded(
        [
            ChangedCell(
                told(spot_words(names, cell.spot, found)),
                tuple(told(line) for line in cell.says),
                old.get(cell.spot),
                new.get(cell.spot),
            )
            for cell in shown
        ]
    )
    page = before_after_page(title, answer, cells, len(every) - len(shown), width, DRAWN_BY.get(renderer, ""))
    if max(page.size_px) > MOST_SIDE_PX:
        raise StudyWrong(
            f"The sheet would be {page.size_px[0]} x {page.size_px[1]} px, at most {MOST_SIDE_PX} a side are "
            "drawn; draw with a smaller --cell-width."
        )
    texts = {RECORD: record, STUDY: study_text(after.said)}
    (file,) = drawn_files([page], ending, title, answer, lambda _: texts)
    return file


def _folded(cells: Sequence[ChangedCell]) -> list[ChangedCell]:
    """The cells, those with the same pictures and the same changes as an earlier one counted in its name."""
    kept: list[ChangedCell] = []
    alike: list[int] = []
    for cell in cells:
        same = next((k for k, one in enumerate(kept) if _is_same(one, cell)), None)
        if same is None:
            kept.append(cell)
            alike.append(0)
        else:
            alike[same] += 1
    return [
        replace(cell, name=f"{cell.name}; {counted(count, 'more variant')} just so") if count else cell
        for cell, count in zip(kept, alike, strict=True)
    ]


def _is_same(one: ChangedCell, other: ChangedCell) -> bool:
    pairs = ((one.before, other.before), (one.after, other.after))
    return one.says == other.says and all(
        (a is None) == (b is None) and (a is None or b is None or np.array_equal(a, b)) for a, b in pairs
    )


def _changed(found: Comparison, after: Prepared) -> Iterable[_Cell]:
    """The cells with a reading that is another, in order, each with its variant's verdict if that is another;
    then those of which the verdict alone is."""
    names = variant_names(found.variants)
    says: dict[Spot, list[str]] = {}
    verdicts: dict[str, tuple[Change, str]] = {}
    for change in found.changed:
        words = change_words(change, names, found, NOW).partition(": ")[2]
        if change.path == HOLDS or change.place is None or change.picture is None:
            verdicts[change.variant.key] = change, words
        else:
            says.setdefault((change.variant.key, change.place, change.picture), []).append(words)
    told = {key: (words,) for key, (_, words) in verdicts.items()}
    yield from (_Cell(spot, (*lines, *told.get(spot[0], ()))) for spot, lines in says.items())
    drawn = {key for key, _, _ in says}
    for key, (change, words) in verdicts.items():
        if key not in drawn:
            place = change.failed[0][1] if change.failed else None
            yield from _first_cell(after, key, place, words)


def _first_cell(side: Prepared, key: str, place: str | None, words: str) -> Iterable[_Cell]:
    """The first cell of a variant, at a place if one is named."""
    own = tuple(variant for variant in side.variants if variant.key == key)
    for case in cases(replace(side, variants=own), CELL_WIDTH_PX):
        spot = _spot(case)
        if place in (None, spot[1]):
            yield _Cell(spot, (words,))
            return


def _lone(found: Comparison, before: Prepared, after: Prepared) -> Iterable[_Cell]:
    """The first cell of each variant, and of each place of one, that only one side has."""
    for those, side, word in ((found.gone, before, "gone"), (found.new, after, "new")):
        for one in those:
            yield from _first_cell(side, one.variant.key, one.place, word)


def _spot(case: Case) -> Spot:
    """Where a comparison has a case."""
    option = case.variant.option
    place = place_set(case.place.name, None if option is None else option.said)
    return case.variant.key, place, case.picture


def _pictures(side: Prepared, spots: Iterable[Spot], wants: Wants, renderer: str) -> Mapping[Spot, Pixels]:
    """The pictures of these cells, of those that the side has."""
    asked = frozenset(spots)
    keys = {key for key, _, _ in asked}
    own = tuple(variant for variant in side.variants if variant.key in keys)
    wants = replace(wants, own=bool(own_words(side.scene)))
    drawn: dict[Spot, Pixels] = {}
    if not own:
        return drawn
    with open_renderer(renderer, side.scene) as opened:
        for case in cases(replace(side, variants=own), wants.cell_width):
            spot = _spot(case)
            if spot in asked and spot not in drawn:
                colour = opened.draw(shots_of(case, wants, True)[MAIN]).colour
                assert colour is not None
                drawn[spot] = colour
    return drawn
