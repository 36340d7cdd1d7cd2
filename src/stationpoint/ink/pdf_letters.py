"""Letters as fonts of a PDF: each what a reader takes for one, drawn by its outlines, saying its characters.

Fonts of type 3 (ISO 32000-1, 9.6.5), whose letters are small drawings: one way for every script and every
kind of font, with the outlines that HarfBuzz gives. A letter is all that HarfBuzz keeps together (a joined
pair, a consonant with its vowels before and after it), so that a search finds what was typed.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from stationpoint.ink.letters import Glyph, Shaped
from stationpoint.ink.shapes import Weight
from stationpoint.ink.typecase import face

EM = 2048  # units of a letter's drawing: those of Open Sans, whose corners they keep exactly
MOST = 255  # letters in a font: a code is one byte, and 0 is taken
GUESSED = 0.6  # of an em: the width of the "m" from which readers of text guess the size of such a font


class Part(NamedTuple):
    """A glyph of a letter, from the letter's origin, in ems."""

    font: int
    number: int
    x: float
    y: float


class Letter(NamedTuple):
    """What is drawn and what it says."""

    parts: tuple[Part, ...]
    weight: Weight
    says: str


class Letters:
    """The letters of a document, in the order in which they were first set."""

    def __init__(self) -> None:
        self._codes: dict[Letter, int] = {}
        self._widths: list[int] = []  # in units of EM

    def shown(self, words: Shaped, weight: Weight, size_px: float) -> Iterator[str]:
        """The operators that show words, from where the line begins."""
        found = list(_letters(words, weight))
        ends = [x for _, x in found[1:]] + [words.advance]
        at, font = 0.0, -1
        shown: list[str] = []
        for (letter, x), end in zip(found, ends, strict=True):
            code = self._codes.setdefault(letter, len(self._codes))
            if code == len(self._widths):
                self._widths.append(max(0, round((end - x) * EM)))
            if code // MOST != font:
                if shown:
                    yield f"[{''.join(shown)}] TJ"
                    shown = []
                font = code // MOST
                yield f"/{_name(font)} {size_px:g} Tf"
            back = round((at - x) * 1000.0)
            if back:
                shown.append(f"{back} ")
            shown.append(f"<{code % MOST + 1:02X}>")
            at = (x if not back else at - back / 1000.0) + self._widths[code] / EM
        if shown:
            yield f"[{''.join(shown)}] TJ"

    def add_to(self, document: Any) -> None:
        """Put the fonts into a document of reportlab's."""
        from reportlab.pdfbase.pdfdoc import (
            BasicFonts,
            PDFArray,
            PDFDictionary,
            PDFName,
            PDFStream,
            PDFZCompress,
        )

        def stream(content: str) -> PDFStream:
            made = PDFStream(PDFDictionary({}), content.encode("ascii"))
            made.filters = [PDFZCompress]
            return made

        every = list(self._codes)
        for font, first in enumerate(range(0, len(every), MOST)):
            letters, widths = every[first : first + MOST], self._widths[first : first + MOST]
            names = [f"l{code}" for code in range(1, len(letters) + 1)]
            drawings = {
                name: document.Reference(stream(_drawing(letter, width)), f"{_name(font)} {name}")
                for name, letter, width in zip(names, letters, widths, strict=True)
            }
            drawings["m"] = document.Reference(stream(f"{round(GUESSED * EM)} 0 d0"), f"{_name(font)} m")
            differences = PDFArray([0, PDFName("m"), *map(PDFName, names)])
            encoding = {"Type": PDFName("Encoding"), "Differences": differences}
            whole = {
                "Type": PDFName("Font"),
                "Subtype": PDFName("Type3"),
                "FontBBox": PDFArray([0, 0, 0, 0]),
                "FontMatrix": PDFArray([1.0 / EM, 0, 0, 1.0 / EM, 0, 0]),
                "FirstChar": 0,
                "LastChar": len(letters),
                "Widths": PDFArray([round(GUESSED * EM), *widths]),
                "CharProcs": PDFDictionary(drawings),
                "Encoding": PDFDictionary(encoding),
                "Resources": PDFDictionary({}),
                "ToUnicode": document.Reference(stream(_meaning(letters)), f"{_name(font)} says"),
            }
            made = document.Reference(PDFDictionary(whole), _name(font))
            document.idToObject[BasicFonts].dict[_name(font)] = made


def _name(font: int) -> str:
    return f"Letters{font}"


def _letters(words: Shaped, weight: Weight) -> Iterator[tuple[Letter, float]]:
    """Letters and where each begins, in ems."""
    groups: list[list[Glyph]] = []
    for glyph in words.glyphs:
        if glyph.says or not groups:
            groups.append([])
        groups[-1].append(glyph)
    for group in groups:
        x = group[0].x
        parts = tuple(Part(one.font, one.number, round(one.x - x, 5), round(one.y, 5)) for one in group)
        yield Letter(parts, weight, group[0].says), x


def _drawing(letter: Letter, width: int) -> str:
    paths = [
        outline(Glyph(part.number, part.x, part.y, (0.0, 0.0), part.font), letter.weight, EM, 0)
        for part in letter.parts
    ]
    numbers = [float(word) for path in paths for word in path.split() if word not in "mlch"]
    xs, ys = numbers[0::2] or [0.0], numbers[1::2] or [0.0]
    box = f"{min(xs):.0f} {min(ys):.0f} {max(xs):.0f} {max(ys):.0f}"
    return "\n".join([f"{width} 0 {box} d1", *paths, "f" if xs != [0.0] else ""])


def _meaning(letters: list[Letter]) -> str:
    """What each code says, as a CMap."""
    says = [
        f"<{code:02X}> <{letter.says.encode('utf-16-be', 'replace').hex().upper()}>"
        for code, letter in enumerate(letters, 1)
    ]
    blocks = [says[k : k + 100] for k in range(0, len(says), 100)]
    body = "\n".join(f"{len(one)} beginbfchar\n{chr(10).join(one)}\nendbfchar" for one in blocks)
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n"
        "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
        "1 begincodespacerange\n<00> <FF>\nendcodespacerange\n"
        f"{body}\nendcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n"
    )


class _Path:
    """What HarfBuzz draws an outline into: the operators of a PDF's path."""

    def __init__(self, scale: float, x: float, y: float, digits: int) -> None:
        self.scale, self.x, self.y, self.digits = scale, x, y, digits
        self.parts: list[str] = []
        self.at = (0.0, 0.0)

    def _put(self, operator: str, *points: tuple[float, float]) -> None:
        for x, y in points:
            self.parts += [self._n(x * self.scale + self.x), self._n(y * self.scale + self.y)]
        self.parts.append(operator)
        self.at = points[-1]

    def _n(self, value: float) -> str:
        words = f"{value:.{self.digits}f}"
        return "0" if float(words) == 0.0 else words

    def moveTo(self, point: tuple[float, float]) -> None:
        """Begin a ring."""
        self._put("m", point)

    def lineTo(self, point: tuple[float, float]) -> None:
        """A straight line."""
        self._put("l", point)

    def curveTo(self, *points: tuple[float, float]) -> None:
        """A cubic curve."""
        self._put("c", *points)

    def qCurveTo(self, handle: tuple[float, float], end: tuple[float, float]) -> None:
        """A quadratic curve, as the cubic one that it is."""
        first, second = (
            (a[0] + (handle[0] - a[0]) * 2 / 3, a[1] + (handle[1] - a[1]) * 2 / 3) for a in (self.at, end)
        )
        self._put("c", first, second, end)

    def closePath(self) -> None:
        """End a ring."""
        self.parts.append("h")


def outline(glyph: Glyph, weight: Weight, em: float, digits: int) -> str:
    """A glyph's outline as a PDF's path, where it lies in its line. em: units of an em in the path."""
    font, font_em = face(glyph.font, weight)
    path = _Path(em / font_em, glyph.x * em, glyph.y * em, digits)
    font.draw_glyph_with_pen(glyph.number, path)
    return " ".join(path.parts)
