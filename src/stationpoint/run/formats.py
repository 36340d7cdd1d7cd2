"""From composed pages to files: PNG, SVG or PDF by the name's ending, each with all that it was made from."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext
from functools import partial
from itertools import chain
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stationpoint.ink import Page, paint_rows
from stationpoint.record import Block, pack_rows, png_bytes, png_file, row_bands
from stationpoint.run.endings import DRAWING, PDF, PNG, RECORD, STUDY, refuse_beyond
from stationpoint.run.workers.processes import can_fork, work_in_order
from stationpoint.sheet import Cell

BANDS_PER_WORKER = 2
CELLS_PER_WORKER = 3  # at least: fewer are composed sooner than a process starts
ATTACHED = {RECORD: f"{RECORD}.json", STUDY: f"{STUDY}.toml", DRAWING: f"{DRAWING}.json"}  # to a PDF
Texts = Mapping[str, str]


def drawn_files(
    pages: Sequence[Page],
    ending: str,
    title: str,
    description: str,
    texts: Callable[[int], Texts],
    workers: int = 1,
) -> Iterator[bytes]:
    """Pages as PNG or SVG files, one after the other, or as one PDF, which holds all of them packed until it
    is whole. description: for those who hear the page. texts: what a file
    keeps, by the number of its first page. workers: processes that may paint a PNG."""
    if ending == PNG:
        yield from _png_files(pages, texts, workers)
    elif ending == PDF:
        from stationpoint.ink import pdf_file  # late, as the next: most sheets are PNGs

        attached = {ATTACHED[name]: words for name, words in texts(0).items()}
        yield pdf_file(pages, title, description, attached)
    else:
        from stationpoint.ink import svg_file

        packed = partial(png_bytes, texts={})
        for k in range(len(pages)):
            yield svg_file(pages[k], packed, title, description, texts(k))


def _png_files(pages: Sequence[Page], texts: Callable[[int], Texts], workers: int) -> Iterator[bytes]:
    """The pages as PNG files, each with all that it was made from.

    Each process composes and draws whole pages, as long as there is one for each; the last ones are divided
    into bands of rows.
    """
    workers = workers if can_fork() else 1  # the results are too much to hand to others
    whole = len(pages) - len(pages) % workers
    jobs = [Band(number) for number in range(whole)]
    for number, made in enumerate(work_in_order(partial(_brush, pages), jobs, workers)):
        yield png_file(*made, texts(number))
    for number in range(whole, len(pages)):
        size_px = refuse_beyond(pages[number].size_px)
        jobs = [Band(number, rows) for rows in row_bands(size_px, BANDS_PER_WORKER * workers)]
        bands = work_in_order(partial(_brush, pages), jobs, workers)
        yield png_file(size_px, chain.from_iterable(blocks for _, blocks in bands), texts(number))


def shared_cells(
    make: Callable[[int], Cell], count: int, pictures: Sequence[NDArray[np.uint8]], workers: int
) -> Iterable[Cell]:
    """A page's cells, composed by several processes (`Share`)."""
    workers = min(workers, count // CELLS_PER_WORKER) if can_fork() else 1
    return work_in_order(lambda: nullcontext(make), range(count), workers, at_hand=pictures)


class Band(NamedTuple):
    """Rows of a page, all of them if None."""

    page: int
    rows: range | None = None


@contextmanager
def _brush(
    pages: Sequence[Page],
) -> Iterator[Callable[[Band], tuple[tuple[int, int], list[Block]]]]:
    """What composes, paints and packs a band."""

    def made(band: Band) -> tuple[tuple[int, int], list[Block]]:
        page = pages[band.page]
        height = refuse_beyond(page.size_px)[1]
        rows = range(height) if band.rows is None else band.rows
        pixels = paint_rows(page, range(max(0, rows.start - 1), rows.stop))
        return page.size_px, pack_rows(pixels, rows, height)

    yield made
