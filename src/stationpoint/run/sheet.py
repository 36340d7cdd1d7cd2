"""From a prepared study to finished pages: files that carry their record and study, and what goes beside
them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from importlib import import_module
from typing import NamedTuple

from stationpoint.base.errors import StudyWrong
from stationpoint.base.files import Content
from stationpoint.base.look import CELL_WIDTH_PX
from stationpoint.base.words import listed, nearest
from stationpoint.camera import Setup
from stationpoint.readings import Result
from stationpoint.run.cases import MOST_SIDE_PX, own_setup, pictures_of, widest_aspect
from stationpoint.run.endings import PNG, check_format, refuse_beyond
from stationpoint.run.gathered import Gathered
from stationpoint.run.prepare import Prepared
from stationpoint.run.ranked import FIRST, GRID, HERO, LAYOUTS, SHOWN, WORST, check_ranked, check_worst
from stationpoint.run.shelf import Kept
from stationpoint.run.sweep import BatchSweeper, Wants, cases_to_draw, sweep_batches
from stationpoint.run.workers.worth import workers_worth
from stationpoint.scene import Scene, in_own_colours, is_indoors, own_colour_notes
from stationpoint.sheet import (
    BY_NAME,
    MODES,
    CellParts,
    arrange,
    cell_width_for,
    columns_of_ranked,
    lay_out_grid,
    small_width,
)
from stationpoint.study import Variant

NARROW_CELL_PX = 420
THING_M = 4.5  # what is larger may be a room
MANY_COLUMNS = 6
INDOORS = "The subject is closed in by walls and a ceiling, so the pictures are lit without cast shadows."
OWN_WORDS = "the level's own, under this sheet's light"
REST_WORDS = "; what has none in clay and tints"
NO_COLOURS = "Nothing in the scene has colours of its own, so it is drawn in clay."
DRAWN_BY = {"rays": "rays, in place of OpenGL"}
MATERIALS = ("clay", "own")
VALUES = "three-values"  # of clay as well
Progress = Callable[[int], AbstractContextManager[Callable[[], None]]]


@dataclass(frozen=True, slots=True)
class Drawing:
    """How a study is drawn: all that a sheet depends on besides study and scene.

    cell_width: px, None for the width that suits the sweep. marks: names, None for the calm ones.
    variants: labels or keys of a close-up, none for the whole sweep. renderer: "gl" or "rays".
    only: groups of readings that are measured, None for all. materials: "own" for the own colours of all
    that has any, "clay" for none, None as the scene file says. layout: "grid", or "hero" for one large cell.
    best: how many are drawn, the best by worst margin; None for all. show: the place that is drawn of several
    that are judged, and the end of what players may set: "first", or "worst" by margin.
    """

    cell_width: int | None = None
    mode: str = "marks"
    marks: tuple[str, ...] | None = None
    variants: tuple[str, ...] = ()
    grid: bool = True
    renderer: str = "gl"
    only: tuple[str, ...] | None = None
    materials: str | None = None
    layout: str = GRID
    best: int | None = None
    show: str = FIRST

    @property
    def is_ranked(self) -> bool:
        """Whether the variants stand in an order of their own, all on one page."""
        return self.layout == HERO or self.best is not None

    def drawn_of(self, count: int) -> int:
        """How many of so many variants are drawn."""
        return count if self.best is None else min(self.best, count)


AS_EVER = Drawing()


@dataclass(frozen=True, slots=True)
class Made:
    """Finished pages (their files), what goes beside them, and what a person should know. table: the record's
    rows as CSV."""

    pages: tuple[Content, ...]
    record_text: str
    table: Content
    ticket_text: str
    warnings: tuple[str, ...]


def quiet_progress(count: int) -> AbstractContextManager[Callable[[], None]]:
    """No progress shown."""
    return nullcontext(lambda: None)


def draw_sheet(
    prepared: Prepared,
    drawing: Drawing,
    workers: int | None = 1,
    progress: Progress = quiet_progress,
    ending: str = PNG,
    sweeper: BatchSweeper = sweep_batches,
) -> Made:
    """A study's sheet. workers: processes, None for as many as pay. ending: that of its files. sweeper: what
    draws and measures its variants."""
    check_format(ending)
    study = prepared.study
    marks = known_mark_names(drawing.marks)
    prepared = chosen_variants(prepared, drawing.variants)
    how = BY_NAME[drawing.mode]
    if how.own and drawing.materials == "clay" and drawing.mode != VALUES:
        raise StudyWrong(f"--mode {drawing.mode} is of the level's own colours; leave out --materials clay.")
    if drawing.materials is not None:
        prepared = replace(prepared, scene=in_own_colours(prepared.scene, drawing.materials == "own"))
    said_own = own_words(prepared.scene)
    if how.own and drawing.materials is None:
        prepared = replace(prepared, scene=in_own_colours(prepared.scene, True))
    own = any(node.shows_own for node in prepared.scene.nodes)
    colour_notes = own_colour_notes(prepared.scene)  # decodes textures, before work is shared
    if (how.own or drawing.materials == "own") and not own:
        colour_notes = (NO_COLOURS,)
    width = drawing.cell_width or _cell_width(prepared.variants, drawing)
    if drawing.is_ranked:
        check_ranked(prepared, drawing.layout, drawing.best)
    if drawing.show == WORST:
        check_worst(prepared)
    _check_size(prepared, width, drawing, 2 if how.paired and own else 1)
    is_indoors = _is_indoors(prepared)
    grid, shadow = aids_drawn(prepared, drawing)
    only = None if drawing.only is None else frozenset(drawing.only)
    wants = Wants(
        cell_width=width,
        ids=how.ids,
        depth=how.depth,
        hidden=how.hidden,
        grid=grid,
        shadow=shadow,
        own=own,
        paired=how.paired,
        glances=how.glances,
        only=only,
    )
    workers = workers_worth(prepared) if workers is None else workers

    def sweep(those: Prepared, planes: Wants) -> Iterator[Sequence[Result]]:
        with progress(cases_to_draw(those)) as done:
            yield from sweeper(those, planes, drawing.renderer, workers, done, not at_hand, _load)

    def swept(those: Prepared, planes: Wants) -> list[Result]:
        return [one for batch in sweep(those, planes) for one in batch]

    unseen = drawing.best is not None or drawing.show == WORST  # most of what is measured is not drawn
    at_hand = drawing.is_ranked or unseen or len(_by_page(prepared.variants)) == 1
    found, kept = Gathered(prepared, only, flagged=True), Kept(study, at_hand)
    first = Wants(cell_width=width, picture=False, only=only) if unseen else wants
    found.add_all(kept.passed_on(sweep(prepared, first)))
    from stationpoint.run.pages import made_of  # late: see `_load`

    return made_of(
        prepared,
        drawing,
        found,
        kept,
        wants,
        swept,
        workers=workers,
        ending=ending,
        marks=marks,
        own_colours=said_own,
        notes=(*colour_notes, *([INDOORS] if is_indoors else [])),
    )


def _load() -> object:
    """Load what pages are composed and painted with: while others draw, who need none of it."""
    return import_module("stationpoint.run.pages")


def aids_drawn(prepared: Prepared, drawing: Drawing) -> tuple[bool, bool]:
    """Whether the metre grid and cast shadows are drawn: of show_aids = "shipped" only what the game
    ships, and no shadows where they would hide a closed room."""
    study = prepared.study
    shown = study.aids if study.show_aids == "shipped" else ("ground-texture", "cast-shadow")
    return drawing.grid and "ground-texture" in shown, "cast-shadow" in shown and not _is_indoors(prepared)


def own_words(scene: Scene) -> str:
    """What the header says of own colours; "" where none are drawn."""
    if not any(node.shows_own for node in scene.nodes):
        return ""
    rest = any(not node.shows_own for node in scene.nodes)
    return OWN_WORDS + (REST_WORDS if rest else "")


def _is_indoors(prepared: Prepared) -> bool:
    """Whether a ceiling and walls keep the light from the subject, so that shadow would hide all form."""
    setup, subject = own_setup(prepared), prepared.study.subject
    own = {subject.node or subject.name} if subject is not None else set(_looked_at(prepared.scene, setup))
    return is_indoors(prepared.scene, setup.anchor_m, setup.towards_light, own)


def _looked_at(scene: Scene, setup: Setup) -> Iterator[str]:
    """Things with the anchor within their bounds, and the eye out of them: such a one is no room."""
    for node in scene.nodes:
        low, high = node.bounds
        within = [bool(((low <= at) & (at <= high)).all()) for at in (setup.anchor_m, setup.camera.eye_m)]
        if within == [True, False] and float((high - low).max()) < THING_M:
            yield node.name


def known_mark_names(marks: Sequence[str] | None) -> frozenset[str] | None:
    """The marks of these names; StudyWrong where one is not known."""
    if marks is None:
        return None
    from stationpoint.sheet import known_marks  # late: few calls name any

    names = known_marks()
    for name in marks:
        if name not in names:
            close = nearest(name, names)
            meant = f'did you mean "{close}"?' if close else f"there are {listed(names)}."
            raise StudyWrong(f'--marks: there is no mark "{name}"; {meant}')
    return frozenset(marks)


def chosen_variants(prepared: Prepared, labels: Sequence[str], asker: str = "--variant") -> Prepared:
    """The study with only these variants, all where none is named. asker: who names them, for complaints."""
    if not labels:
        return prepared
    at_hand = {variant.key: variant for variant in prepared.variants}
    at_hand |= {variant.label.upper(): variant for variant in prepared.variants}
    kept: dict[str, Variant] = {}
    for label in labels:
        variant = at_hand.get(label) or at_hand.get(label.upper())
        if variant is None:
            first, last = prepared.variants[0].label, prepared.variants[-1].label
            has = f"has {first} to {last}" if last != first else f"has {first} alone"
            raise StudyWrong(f'{asker}: there is no variant "{label}"; the sweep {has}.')
        kept[variant.label] = variant
    return replace(prepared, variants=tuple(kept.values()))


def _cell_width(variants: Sequence[Variant], drawing: Drawing) -> int:
    """The width that suits the sweep: wide for one or two, narrower where there are many columns."""
    if drawing.is_ranked:
        most = drawing.drawn_of(len(variants))
        is_few = most <= 2 and drawing.layout == GRID
        return cell_width_for(most) if is_few else small_width(most, drawing.layout == HERO)
    most = max(len(page) for page in _by_page(variants))
    if drawing.variants or most <= 2:
        return cell_width_for(most)
    columns = max(arrange(page).columns for page in _by_page(variants))
    return CELL_WIDTH_PX if columns <= MANY_COLUMNS else NARROW_CELL_PX


def _by_page(variants: Sequence[Variant]) -> list[list[Variant]]:
    pages: dict[int, list[Variant]] = {}
    for variant in variants:
        pages.setdefault(variant.page, []).append(variant)
    return list(pages.values())


def _check_size(prepared: Prepared, width: int, drawing: Drawing, pictures: int) -> None:
    """StudyWrong, before anything is drawn, where the pictures alone are more than a page can be. pictures:
    in a cell, one over the other."""
    widest = widest_aspect(prepared)
    drawn = (pictures_of(variant, prepared, width, widest)[0] for variant in prepared.variants)
    height = pictures * max(picture.shape.cell_px[1] for picture in drawn)
    if drawing.is_ranked:
        count = drawing.drawn_of(len(prepared.variants))
        columns = columns_of_ranked(count, drawing.layout == HERO)
        refuse_beyond((columns * width, -(-count // columns) * height))
        return
    for page in _by_page(prepared.variants):
        at_least = lay_out_grid(arrange(page), CellParts(width, 0, 0, height, 0, 0, 0, 0), 0, 0)
        refuse_beyond((at_least.width, at_least.bottom))


class How(NamedTuple):
    """How a page was drawn: its number counted from 0, its scene's digest, and what was guessed of that."""

    drawing: Drawing
    page: int
    scene_digest: str
    guessed: tuple[str, ...] = ()


def drawing_from(text: str, name: str) -> How:
    """How a page was drawn, from what its PNG says; StudyWrong where the text says no such thing. name:
    what complaints call the sheet."""
    try:
        said = json.loads(text)
        cell_width, marks, only = said["cell_width"], said["marks"], said["only"]
        drawing = Drawing(
            cell_width=None if cell_width is None else int(cell_width),
            mode=str(said["mode"]),
            marks=None if marks is None else tuple(str(mark) for mark in marks),
            variants=tuple(str(label) for label in said["variants"]),
            grid=bool(said["grid"]),
            renderer=str(said["renderer"]),
            only=None if only is None else tuple(str(group) for group in only),
            materials=said.get("materials"),
            layout=str(said.get("layout", GRID)),
            best=None if said.get("best") is None else int(said["best"]),
            show=str(said.get("show", FIRST)),
        )
        guessed = tuple(str(line) for line in said.get("guessed", ()))
        how = How(drawing, int(said["page"]), str(said["scene_sha256"]), guessed)
    except (ValueError, TypeError, KeyError, OverflowError, RecursionError):
        raise StudyWrong(f"{name} does not say how it was drawn; draw it from its study.") from None
    known = drawing.mode in MODES and drawing.materials in (None, *MATERIALS) and drawing.layout in LAYOUTS
    known = known and (drawing.best is None or drawing.best > 0) and drawing.show in SHOWN
    if not known or not 0 < (drawing.cell_width or 1) <= MOST_SIDE_PX:
        raise StudyWrong(f"{name} does not say how it was drawn; draw it from its study.")
    return how
