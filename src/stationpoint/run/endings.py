"""The kinds of files that a sheet can be, and what they keep; how they are made stands in formats.py."""

from __future__ import annotations

from stationpoint.base.errors import StudyWrong
from stationpoint.run.cases import MOST_SIDE_PX

PNG, SVG, PDF = ".png", ".svg", ".pdf"
FORMATS = (PNG, SVG, PDF)
RECORD, STUDY, DRAWING = "stationpoint record", "stationpoint study", "stationpoint drawing"


def check_format(ending: str) -> None:
    """MachineLacks where no such file can be written here."""
    if ending == PDF:
        from stationpoint.ink import check_pdf  # late: few calls make one

        check_pdf()


def files_of(pages: int, ending: str) -> int:
    """How many files so many pages make: a PDF takes them all."""
    return 1 if ending == PDF else pages


def refuse_beyond(size_px: tuple[int, int]) -> tuple[int, int]:
    """The size, unless it is too large."""
    if max(size_px) > MOST_SIDE_PX:
        raise StudyWrong(
            f"The sheet would be {size_px[0]} x {size_px[1]} px, at most {MOST_SIDE_PX} a side are drawn; "
            "move an axis to --pages, take values off it, or draw with a smaller --cell-width."
        )
    return size_px
