"""matplotlib with our settings and our fonts alone, and a figure of it as bytes.

Nothing that a person has set for it, and no font of the machine, changes a chart.
"""

from __future__ import annotations

import io
import logging
import os
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from stationpoint.base.look import RGB
from stationpoint.base.words import TOOL
from stationpoint.ink import font_files, further_fonts

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# By what an SVG's words are set elsewhere: the bundled fonts, then those most like the first of them.
ELSEWHERE = ("Noto Sans", "Segoe UI", "Helvetica Neue", "Arial")
_FAMILIES = re.compile(rb"font-family: [^;\"]*")


def hex_of(rgb: RGB) -> str:
    """A colour as matplotlib reads it."""
    return "#{:02x}{:02x}{:02x}".format(*rgb)


def figure_bytes(figure: Figure, ending: str) -> bytes:
    """A figure as a PNG, an SVG or a PDF, by the ending. Same figure, same bytes: no date, no machine."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.backends.backend_pdf import FigureCanvasPdf
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    out = io.BytesIO()
    paper: Any = figure.get_facecolor()
    if ending == ".svg":
        FigureCanvasSVG(figure).print_figure(
            out, format="svg", facecolor=paper, metadata={"Date": None, "Creator": TOOL}
        )
        return _FAMILIES.sub(_families().encode(), out.getvalue())
    if ending == ".pdf":
        FigureCanvasPdf(figure).print_figure(
            out, format="pdf", facecolor=paper, metadata={"CreationDate": None, "Creator": TOOL}
        )
    else:
        FigureCanvasAgg(figure).print_figure(
            out, format="png", dpi=figure.dpi, facecolor=paper, metadata={"Software": TOOL}
        )
    return out.getvalue()


@contextmanager
def own_settings() -> Iterator[None]:
    """Within it matplotlib draws as it comes, but for what is set here, whatever a person has set for it
    in the environment (a notebook's terminal does) or in a file."""
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # no talk of font caches
    logging.getLogger("fontTools").setLevel(logging.ERROR)  # nor of tables left out of a PDF's fonts
    theirs = {name: os.environ.pop(name, None) for name in ("MPLBACKEND", "MATPLOTLIBRC")}
    os.environ["MATPLOTLIBRC"] = os.devnull  # else their file is read, wrong lines and all
    try:
        import matplotlib
    finally:
        del os.environ["MATPLOTLIBRC"]
        os.environ.update({name: words for name, words in theirs.items() if words is not None})
    as_it_comes = {key: value for key, value in matplotlib.rcParamsDefault.items() if key != "backend"}
    ours: Any = {
        "svg.hashsalt": TOOL,
        "svg.fonttype": "none",  # words stay words, to be searched and set anew
        "pdf.fonttype": 42,  # whole letters as TrueType, which every program edits
        "axes.linewidth": 1.0,
        "text.parse_math": False,  # a dollar sign is a dollar sign
    }
    with matplotlib.rc_context(as_it_comes | ours), _families_known() as families:
        matplotlib.rcParams["font.family"] = families
        yield


@contextmanager
def _families_known() -> Iterator[list[str]]:
    """Within it our fonts by names that no font of the machine has, in the order of their use.

    Open Sans first, then the study's own, which matplotlib reads from files, then the other bundled ones.
    """
    from matplotlib import font_manager

    known = font_manager.fontManager
    before = list(known.ttflist)

    def added(files: Sequence[Path], name: str | None = None) -> list[str]:
        names = []
        for file in files:
            count = len(known.ttflist)
            known.addfont(str(file))
            for k in range(count, len(known.ttflist)):
                entry = known.ttflist[k]
                known.ttflist[k] = replace(entry, name=f"{TOOL} {name or entry.name}")
                names.append(known.ttflist[k].name)
        return list(dict.fromkeys(names))

    with TemporaryDirectory() as folder:
        further = []
        for number, data in enumerate(further_fonts()):
            further.append(Path(folder, f"{number}.ttf"))
            further[-1].write_bytes(data)
        try:
            first, *rest = added(font_files())
            own = [name for number, file in enumerate(further) for name in added([file], str(number))]
            yield [first, *own, *rest]
        finally:
            known.ttflist[:] = before


def _families() -> str:
    """The families of an SVG's words: our own by their names, fonts like them, any without serifs."""
    from matplotlib import font_manager

    fonts = [font_manager.get_font(str(file)).family_name for file in font_files()]
    # a font's own name may hold its weight, as "Open Sans Semibold" does
    names = dict.fromkeys(re.sub(r" (Light|Semibold|SemiBold)$", "", name) for name in fonts)
    first, *rest = names
    return "font-family: " + ", ".join([*(f"'{name}'" for name in (first, *ELSEWHERE, *rest)), "sans-serif"])
