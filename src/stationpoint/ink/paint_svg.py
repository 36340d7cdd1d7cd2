"""Page -> SVG 1.1 that stands alone: no script, nothing from elsewhere, its fonts and pictures within.

Words are words: they are found, copied and read aloud, in the order in which they are read; each line is
held to the width that it was measured with, whatever font shows it. A group's name is its class. Places
are those of the whole page, so that a piece can be lifted out.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, TypeAlias
from xml.etree.ElementTree import Element as XmlElement
from xml.etree.ElementTree import fromstring

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.look import RGB
from stationpoint.base.words import KEPT
from stationpoint.ink.bidi import base_level, has_rtl
from stationpoint.ink.coverage import PixelBox, empty
from stationpoint.ink.embedded import embedded_fonts
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
from stationpoint.ink.shapes import (
    Area,
    Disc,
    Group,
    Line,
    Page,
    Picture,
    Point,
    PointsLike,
    Shape,
    Text,
    Weight,
)
from stationpoint.ink.typecase import AXIS

Packer: TypeAlias = Callable[[NDArray[np.uint8]], bytes]  # (h, w, 3 or 4) uint8 to a PNG file
Address: TypeAlias = Callable[[NDArray[np.uint8]], str]  # (h, w, 3 or 4) uint8 to where they are found
Element: TypeAlias = list["str | dict[str, str] | list[Element]"]
SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
INSTEAD = '"Open Sans", "Noto Sans", sans-serif'  # where a viewer reads no fonts within the file


def svg_file(
    page: Page, packed: Packer, title: str, description: str, texts: Mapping[str, str] | None = None
) -> bytes:
    """The page as a file. packed: makes the PNG of a picture. title, description: for those who hear the
    page. texts: kept in the file by name, as they are, and not shown."""
    width, height = page.size_px
    pen = _Pen(lambda pixels: f"data:image/png;base64,{b64encode(packed(pixels)).decode()}")
    _write_all(pen, page.shapes, (0.0, 0.0), (0, 0, width, height))
    rules, family = font_rules(pen.words)
    kept = "".join(
        f'<kept:text name="{_value(name)}">{_escaped(words)}</kept:text>\n'
        for name, words in (texts or {}).items()
    )
    return "".join(
        (
            '<?xml version="1.0" encoding="UTF-8"?>\n',
            f'<svg xmlns="{SVG}" xmlns:xlink="{XLINK}" xmlns:kept="{KEPT}" ',
            f'width="{width}" height="{height}" viewBox="0 0 {width} {height}" ',
            'role="img" text-rendering="geometricPrecision" ',
            f'font-family="{_value(family)}">\n',
            f"<title>{_escaped(title)}</title>\n<desc>{_escaped(description)}</desc>\n",
            f"<metadata>\n{kept}</metadata>\n" if kept else "",
            f"<style>\n{rules}</style>\n" if rules else "",
            f'<rect width="{width}" height="{height}" fill="{_colour(page.paper)}"/>\n',
            *pen.parts,
            "</svg>\n",
        )
    ).encode()


def font_rules(words: Iterable[tuple[str, Weight]]) -> tuple[str, str]:
    """The rules of a style that bring the fonts which these words need, cut down to their letters, and the
    value of font-family that names them."""
    fonts = embedded_fonts(words)
    families = [f"'{name}'" for name in dict.fromkeys(font.name for font in fonts)]
    rules = "".join(
        f"@font-face{{font-family:'{font.name}';font-weight:{font.weight};"
        f"{'' if abs(font.fit - 1.0) < 1e-9 else f'size-adjust:{_n(100 * font.fit)}%;'}"
        f"src:url(data:font/{font.suffix};base64,{b64encode(font.data).decode()})}}\n"
        for font in fonts
    )
    return rules, ", ".join([*families, INSTEAD])


class Tree(NamedTuple):
    """A drawing as its elements. elements: each [name, {attribute: value}, its words, or its elements].
    words: all that were set, with their weights."""

    elements: list[Element]
    words: list[tuple[str, Weight]]


def svg_tree(shapes: Sequence[Shape], size_px: tuple[int, int], address: Address) -> Tree:
    """Shapes as the elements that `svg_file` writes, for who builds them one by one. address: where the
    pixels of a picture are found."""
    width, height = size_px
    pen = _Pen(address)
    _write_all(pen, shapes, (0.0, 0.0), (0, 0, width, height))
    whole = fromstring(f'<svg xmlns:xlink="{XLINK}">{"".join(pen.parts)}</svg>')
    return Tree([_element(one) for one in whole], pen.words)


def _element(one: XmlElement) -> Element:
    attributes: dict[str, str] = {}
    for name, value in one.attrib.items():
        space, _, own = name.rpartition("}")
        attributes[f"xml:{own}" if space.endswith("namespace") else own] = value
    inner = [_element(child) for child in one]
    return [one.tag, attributes, inner or (one.text or "").strip("\n")]


@dataclass(slots=True)
class _Pen:
    """What has been written. words: all that were set, with their weights. clips: those that are defined."""

    address: Address
    parts: list[str] = field(default_factory=list)
    words: list[tuple[str, Weight]] = field(default_factory=list)
    clips: set[str] = field(default_factory=set)

    def write(self, *parts: str) -> None:
        """Write on."""
        self.parts += parts

    def clip(self, corners: Sequence[tuple[float, float]]) -> str:
        """The attribute that clips to a polygon, named after its corners: alike ones may meet in a page
        that holds several sheets."""
        name = "clip" + "".join(f"_{_n(value)}" for corner in corners for value in corner)
        if name not in self.clips:
            self.clips.add(name)
            points = " ".join(f"{_n(x)},{_n(y)}" for x, y in corners)
            self.write(f'<clipPath id="{name}"><polygon points="{points}"/></clipPath>\n')
        return f' clip-path="url(#{name})"'


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
                if not empty(within):
                    clipped = pen.clip(_corners(within)) if shape.clip_px is not None else ""
                    pen.write(f'<g class="{_value(shape.name)}"{clipped}>\n')
                    _write_all(pen, shape.shapes, inner, within)
                    pen.write("</g>\n")


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
        for (dash, is_round), paths in styles.items():
            pen.write(
                f'<path d="{"".join(paths)}" fill="none"{_stroke(ink, width, dash, is_round)}'
                f"{_share('stroke-opacity', opacity)}/>\n"
            )


def _write_area(pen: _Pen, shape: Area, offset: Point) -> None:
    paths = "".join(_path(ring, offset, True) for ring in shape.rings if len(ring) > 2)
    if not paths:
        return
    fill = "none" if shape.fill is None else _colour(shape.fill)
    edge = ""
    if shape.edge_ink is not None and shape.edge_width_px > 0.0:
        edge = _stroke(shape.edge_ink, shape.edge_width_px, shape.edge_dash, True)
    pen.write(
        f'<path d="{paths}" fill="{fill}" fill-rule="evenodd"'
        f"{_share('fill-opacity', shape.opacity)}{edge}/>\n"
    )


def _write_disc(pen: _Pen, shape: Disc, offset: Point) -> None:
    x, y = shape.centre_px[0] + offset[0], shape.centre_px[1] + offset[1]
    for ink, radius, width, opacity in disc_layers(shape):
        if width is None:
            style = f' fill="{_colour(ink)}"{_share("fill-opacity", opacity)}'
        else:
            style = f' fill="none" stroke="{_colour(ink)}" stroke-width="{_n(width)}"'
            style += _share("stroke-opacity", opacity)
        pen.write(f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}"{style}/>\n')


def _write_text(pen: _Pen, shape: Text, offset: Point) -> None:
    if not shape.words.strip():
        return
    pen.words.append((shape.words, shape.weight))
    x, y = words_origin(shape, offset)
    style = (
        f' font-size="{_n(shape.size_px)}" font-weight="{AXIS[shape.weight]:.0f}" fill="{_colour(shape.ink)}"'
    )
    if shape.halo is not None:
        style += f' stroke="{_colour(shape.halo.ink)}" stroke-width="{2 * halo_px(shape.halo)}"'
        style += (
            f'{_share("stroke-opacity", shape.halo.opacity)} stroke-linejoin="round" paint-order="stroke"'
        )
    if has_rtl(shape.words) and base_level(shape.words):
        style += ' direction="rtl" text-anchor="end"'  # the end of such a line is at its left
    if shape.turn_deg:
        style += f' transform="rotate(-90 {x} {y})"'
    if shape.words != " ".join(shape.words.split()):
        style += ' xml:space="preserve"'
    along = shaped(shape.words, shape.weight).advance * shape.size_px
    pen.write(
        f'<text x="{x}" y="{y}" textLength="{_n(along)}" lengthAdjust="spacingAndGlyphs"{style}>'
        f"{_escaped(shape.words)}</text>\n"
    )


def _write_picture(pen: _Pen, shape: Picture, offset: Point) -> None:
    height, width = shape.pixels.shape[:2]
    left, top = nearest_px(shape.box_px[0] + offset[0]), nearest_px(shape.box_px[1] + offset[1])
    pixels = shape.pixels if shape.mask is None else np.dstack((shape.pixels, shape.mask))
    clipped = ""
    if shape.cut_px > 0.0 and shape.mask is None:
        right, cut = left + width, shape.cut_px
        corners = [
            (left, top),
            (right - cut, top),
            (right, top + cut),
            (right, top + height),
            (left, top + height),
        ]
        clipped = pen.clip(corners)
    pen.write(
        f'<image x="{left}" y="{top}" width="{width}" height="{height}"{clipped} '
        f'xlink:href="{_value(pen.address(pixels))}"/>\n'
    )


def _corners(box: PixelBox) -> list[tuple[float, float]]:
    left, top, right, bottom = box
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def _path(points: PointsLike, offset: Point, closed: bool) -> str:
    ends = [f"{_n(x + offset[0])} {_n(y + offset[1])}" for x, y in points]
    if len(ends) == 1:
        ends *= 2  # a dot
    return f"M{'L'.join(ends)}{'Z' if closed else ''}"


def _stroke(ink: RGB, width: float, dash: tuple[float, ...], is_round: bool) -> str:
    ends = ' stroke-linecap="round"' if is_round else ""
    gaps = f' stroke-dasharray="{" ".join(map(_n, dash))}"' if dash else ""
    return f' stroke="{_colour(ink)}" stroke-width="{_n(width)}" stroke-linejoin="round"{ends}{gaps}'


def _share(name: str, value: float) -> str:
    return "" if value == 1.0 else f' {name}="{_n(value)}"'


def _colour(ink: RGB) -> str:
    return "#{:02x}{:02x}{:02x}".format(*ink)


def _n(value: float) -> str:
    """A number, to a hundredth."""
    words = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if words == "-0" else words


def _escaped(words: str) -> str:
    """Words as a part of XML: marks that mean something in it escaped, what it may not hold replaced."""
    allowed = "".join(c if c >= " " or c in "\t\n\r" else "\ufffd" for c in words)
    allowed = "".join("\ufffd" if "\ud800" <= c <= "\udfff" or c in "\ufffe\uffff" else c for c in allowed)
    for mark, written in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ("\r", "&#13;")):
        allowed = allowed.replace(mark, written)
    return allowed


def _value(words: str) -> str:
    """Words as the value of an attribute, in double quotes."""
    escaped = _escaped(words).replace('"', "&quot;")
    return escaped.replace("\t", "&#9;").replace("\n", "&#10;")
