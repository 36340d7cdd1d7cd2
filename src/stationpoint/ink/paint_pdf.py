"""Pages -> one PDF: strokes, areas and letters as outlines, words that are found and copied.

Two pixels are a point (144 to the inch). reportlab writes the file; what stands on a page is ours.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from io import BytesIO
from typing import Any

import numpy as np

from stationpoint.base.errors import MachineLacks
from stationpoint.base.look import RGB
from stationpoint.ink.coverage import PixelBox, empty
from stationpoint.ink.letters import shape as shaped
from stationpoint.ink.painting import (
    clip_within,
    disc_layers,
    halo_px,
    joined_lines,
    moved,
    nearest_px,
    words_origin,
)
from stationpoint.ink.pdf_letters import Letters, outline
from stationpoint.ink.shapes import Area, Disc, Group, Line, Page, Picture, Point, PointsLike, Shape, Text

POINTS_PER_PX = 0.5
ROUND = 0.5523  # of a radius: how far the handles of a quarter circle reach (common practice)


def check_pdf() -> None:
    """MachineLacks where no PDF can be written."""
    if find_spec("reportlab") is None:
        raise MachineLacks(
            "A PDF is written by reportlab, which is not installed.",
            'Install it with: pip install "stationpoint[pdf]"; or name an SVG or a PNG.',
        )


def pdf_file(
    pages: Sequence[Page], title: str, description: str, texts: Mapping[str, str] | None = None
) -> bytes:
    """The pages as one file. texts: attached to it, by the name of each. MachineLacks without reportlab."""
    check_pdf()
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfgen.canvas import Canvas

    file, letters = BytesIO(), Letters()
    with _plain_streams():
        canvas = Canvas(file, invariant=1, pageCompression=1)
        for page in pages:
            width, height = page.size_px
            canvas.setPageSize((width * POINTS_PER_PX, height * POINTS_PER_PX))
            pen = _Pen(canvas, letters, ImageReader)
            scale = _n(POINTS_PER_PX)
            pen.write(f"{scale} 0 0 -{scale} 0 {_n(height * POINTS_PER_PX)} cm")
            pen.write(f"{_colour(page.paper)} rg 0 0 {width} {height} re f 1 j")
            _write_all(pen, page.shapes, (0.0, 0.0), (0, 0, width, height))
            canvas.showPage()
        document: Any = canvas._doc
        letters.add_to(document)
        _attach(document, texts or {})
        _name(document, title, description)
        canvas.setViewerPreference("DisplayDocTitle", "true")
        canvas.save()
    return file.getvalue()


@contextmanager
def _plain_streams() -> Iterator[None]:
    """Within it reportlab packs streams as bytes, not as letters, which would be a quarter larger."""
    from reportlab import rl_config

    usual = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = usual


@dataclass(slots=True)
class _Pen:
    """What writes on a page. canvas: reportlab's. reader: its class of pictures."""

    canvas: Any
    letters: Letters
    reader: Any

    def write(self, *operators: str) -> None:
        """Write on, in the language of pages (ISO 32000-1, annex A)."""
        for one in operators:
            self.canvas.addLiteral(one)

    def fill_opacity(self, share: float) -> None:
        """How much what is filled from now on covers."""
        self.canvas.setFillAlpha(share)

    def stroke_opacity(self, share: float) -> None:
        """How much strokes cover from now on."""
        self.canvas.setStrokeAlpha(share)

    @contextmanager
    def cut_to(self, corners: Sequence[tuple[float, float]] | None) -> Iterator[None]:
        """Within it everything is clipped to a polygon; to nothing more if None."""
        self.canvas.saveState()
        if corners is not None:
            self.write(f"{_path(corners, (0.0, 0.0), True)} W n")
        yield
        self.canvas.restoreState()


def _write_all(pen: _Pen, shapes: Sequence[Shape], offset: Point, clip: PixelBox) -> None:
    for shape in joined_lines(shapes):
        match shape:
            case list():
                _write_lines(pen, shape, offset)
            case Area():
                _write_area(pen, shape, offset)
            case Disc():
                _write_disc(pen, shape, offset)
            case Text():
                _write_text(pen, shape, offset)
            case Picture():
                _write_picture(pen, shape, offset)
            case Group():
                inner = moved(offset, shape)
                within = clip_within(clip, shape, inner)
                if empty(within):
                    continue
                left, top, right, bottom = within
                corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
                with pen.cut_to(corners if shape.clip_px is not None else None):
                    _write_all(pen, shape.shapes, inner, within)


def _write_lines(pen: _Pen, lines: Sequence[Line], offset: Point) -> None:
    """One stroke: no halo of any line lies on the ink of another."""
    first = lines[0]
    layers = [(first.ink, first.width_px, first.opacity)]
    if first.halo is not None:
        wide = first.width_px + 2.0 * first.halo.width_px
        layers.insert(0, (first.halo.ink, wide, first.halo.opacity * first.opacity))
    styles: dict[tuple[tuple[float, ...], bool], list[str]] = {}
    for line in lines:
        drawn = _path(line.points_px, offset, line.closed)
        styles.setdefault((line.dash, line.round_ends), []).append(drawn)
    for ink, width, opacity in layers:
        pen.stroke_opacity(opacity)
        for (dash, is_round), paths in styles.items():
            pen.write(_stroke(ink, width, dash, is_round), *paths, "S")


def _write_area(pen: _Pen, shape: Area, offset: Point) -> None:
    paths = [_path(ring, offset, True) for ring in shape.rings if len(ring) > 2]
    if not paths:
        return
    if shape.fill is not None:
        pen.fill_opacity(shape.opacity)
        pen.write(f"{_colour(shape.fill)} rg", *paths, "f*")
    if shape.edge_ink is not None and shape.edge_width_px > 0.0:
        pen.stroke_opacity(1.0)
        pen.write(_stroke(shape.edge_ink, shape.edge_width_px, shape.edge_dash, True), *paths, "S")


def _write_disc(pen: _Pen, shape: Disc, offset: Point) -> None:
    x, y = shape.centre_px[0] + offset[0], shape.centre_px[1] + offset[1]
    for ink, radius, width, opacity in disc_layers(shape):
        if width is None:
            pen.fill_opacity(opacity)
            pen.write(f"{_colour(ink)} rg", _circle(x, y, radius), "f")
        else:
            pen.stroke_opacity(opacity)
            pen.write(_stroke(ink, width, (), False), _circle(x, y, radius), "S")


def _write_text(pen: _Pen, shape: Text, offset: Point) -> None:
    if not shape.words.strip():
        return
    x, y = words_origin(shape, offset)
    turn = "1 0 0 -1" if shape.turn_deg == 0 else "0 -1 -1 0"
    glyphs = shaped(shape.words, shape.weight)
    if shape.halo is not None:
        pen.stroke_opacity(shape.halo.opacity)
        wide = 2 * halo_px(shape.halo) / shape.size_px
        size = _n(shape.size_px, 3)
        a, b, c, d = (
            f"{size if part == '1' else '-' + size if part == '-1' else 0}" for part in turn.split()
        )
        pen.write("q", f"{a} {b} {c} {d} {x} {y} cm", _stroke(shape.halo.ink, wide, (), True, 4))
        pen.write(*(outline(glyph, shape.weight, 1.0, 4) for glyph in glyphs.glyphs), "S Q")
    pen.fill_opacity(1.0)
    pen.write(f"{_colour(shape.ink)} rg BT {turn} {x} {y} Tm")
    pen.write(*pen.letters.shown(glyphs, shape.weight, shape.size_px), "ET")


def _write_picture(pen: _Pen, shape: Picture, offset: Point) -> None:
    from PIL import Image  # late: not every call paints

    height, width = shape.pixels.shape[:2]
    left, top = nearest_px(shape.box_px[0] + offset[0]), nearest_px(shape.box_px[1] + offset[1])
    pixels = shape.pixels if shape.mask is None else np.dstack((shape.pixels, shape.mask))
    right, bottom, cut = left + width, top + height, shape.cut_px
    corners = None
    if cut > 0.0 and shape.mask is None:
        corners = [(left, top), (right - cut, top), (right, top + cut), (right, bottom), (left, bottom)]
    pen.fill_opacity(1.0)
    with pen.cut_to(corners):
        pen.write(f"1 0 0 -1 {left} {bottom} cm")
        picture = pen.reader(Image.fromarray(pixels))
        pen.canvas.drawImage(picture, 0, 0, width, height, mask=None if shape.mask is None else "auto")


def _attach(document: Any, texts: Mapping[str, str]) -> None:
    """Attach texts to a document (ISO 32000-1, 7.11.4)."""
    from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream, PDFString

    named: list[Any] = []
    for name, words in sorted(texts.items()):
        stream = PDFStream(PDFDictionary({"Type": PDFName("EmbeddedFile")}), words.encode("utf-8", "replace"))
        stream.filters = document.defaultStreamFilters or _flate()
        file = document.Reference(stream, f"file {name}")
        said = PDFString(name)
        spec = {"Type": PDFName("Filespec"), "F": said, "UF": said, "EF": PDFDictionary({"F": file})}
        named += [said, document.Reference(PDFDictionary(spec), f"named {name}")]
    if named:
        files = PDFDictionary({"Names": PDFArray(named)})
        document.Catalog.Names = PDFDictionary({"EmbeddedFiles": files})


def _flate() -> list[Any]:
    from reportlab.pdfbase.pdfdoc import PDFZCompress

    return [PDFZCompress]


def _name(document: Any, title: str, description: str) -> None:
    """Say what the document is, and no date."""
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFString

    title, description = (words.encode("utf-8", "replace").decode() for words in (title, description))
    said = {"Title": title, "Subject": description, "Creator": "stationpoint"}
    info = PDFDictionary({name: PDFString(words) for name, words in said.items()})
    document.info.title, document.info.subject = title, description  # of which the document's ID is made
    document.info.format = info.format


def _path(points: PointsLike, offset: Point, closed: bool) -> str:
    ends = [f"{_n(x + offset[0])} {_n(y + offset[1])}" for x, y in points]
    if len(ends) == 1:
        ends *= 2  # a dot
    return " ".join([f"{ends[0]} m", *(f"{end} l" for end in ends[1:]), *(["h"] if closed else [])])


def _circle(x: float, y: float, radius: float) -> str:
    r, k = radius, ROUND * radius
    corners = [
        (x + r, y + k, x + k, y + r, x, y + r),
        (x - k, y + r, x - r, y + k, x - r, y),
        (x - r, y - k, x - k, y - r, x, y - r),
        (x + k, y - r, x + r, y - k, x + r, y),
    ]
    return " ".join([f"{_n(x + r)} {_n(y)} m", *(f"{' '.join(map(_n, one))} c" for one in corners), "h"])


def _stroke(ink: RGB, width: float, dash: tuple[float, ...], is_round: bool, digits: int = 2) -> str:
    gaps = " ".join(map(_n, dash))
    return f"{_colour(ink)} RG {_n(width, digits)} w {int(is_round)} J [{gaps}] 0 d"


def _colour(ink: RGB) -> str:
    return " ".join(_n(part / 255.0, 4) for part in ink)


def _n(value: float, digits: int = 2) -> str:
    """A number, to a hundredth unless told."""
    words = f"{value:.{digits}f}"
    words = words.rstrip("0").rstrip(".") if "." in words else words
    return "0" if words == "-0" else words
