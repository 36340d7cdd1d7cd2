"""From composed pages to files: PNG, SVG or PDF by the name's ending, each with all that it was made from."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from stationpoint.ink import Page, check_pdf, paint_pdf, paint_svg
from stationpoint.record import png_bytes

PNG, SVG, PDF = ".png", ".svg", ".pdf"
FORMATS = (PNG, SVG, PDF)
RECORD, STUDY, DRAWING = "stationpoint record", "stationpoint study", "stationpoint drawing"
ATTACHED = {RECORD: f"{RECORD}.json", STUDY: f"{STUDY}.toml", DRAWING: f"{DRAWING}.json"}  # to a PDF
Texts = Mapping[str, str]


def check_format(ending: str) -> None:
    """MachineLacks where no such file can be written here."""
    if ending == PDF:
        check_pdf()


def files_of(pages: int, ending: str) -> int:
    """How many files so many pages make: a PDF takes them all."""
    return 1 if ending == PDF else pages


def drawn_files(
    pages: Sequence[Page], ending: str, title: str, description: str, texts: Callable[[int], Texts]
) -> list[bytes]:
    """Pages as SVG files, or as one PDF. description: for those who hear the page. texts: what the file
    keeps, by the number of its first page."""
    if ending == PDF:
        attached = {ATTACHED[name]: words for name, words in texts(0).items()}
        return [paint_pdf(pages, title, description, attached)]
    packed = partial(png_bytes, texts={})
    return [paint_svg(page, packed, title, description, texts(k)) for k, page in enumerate(pages)]
