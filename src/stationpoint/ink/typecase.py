"""The fonts at hand: Open Sans first, then those that a study names, then the bundled ones of other scripts.

A font is read when words first need it, so that words of Open Sans cost no more than it. HarfBuzz is loaded
when the first words are set: by then other processes draw.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from stationpoint.ink.shapes import Weight

if TYPE_CHECKING:
    import uharfbuzz

FONT_FOLDER = Path(__file__).parent / "fonts"
FILES: dict[Weight, str] = {
    "light": "OpenSans-Light.ttf",
    "regular": "OpenSans-Regular.ttf",
    "semibold": "OpenSans-Semibold.ttf",
    "bold": "OpenSans-Bold.ttf",
}
ASCENT, DESCENT = 2189 / 2048, 600 / 2048  # of Open Sans (hhea): from baseline to baseline nothing meets
OUTLINES = ("glyf", "CFF ", "CFF2")
LEAST_FIT = 0.8
AXIS: dict[Weight, float] = {"light": 300.0, "regular": 400.0, "semibold": 600.0, "bold": 700.0}
# How much all strokes of a font of one weight are widened, in ems, along the line alone
WIDER: dict[Weight, float] = {"light": 0.0, "regular": 0.0, "semibold": 0.018, "bold": 0.032}


class Face(NamedTuple):
    """A font in its own units, and how many of them are an em of the line that it is set in."""

    font: uharfbuzz.Font
    em: float


class Bundled(NamedTuple):
    """A bundled font: its files by weight, or one for all, and its size as a share of Open Sans's."""

    regular: str
    bold: str | None
    fit: float

    def file(self, weight: Weight) -> str:
        """Its file for a weight."""
        return self.bold if self.bold and weight in ("semibold", "bold") else self.regular


# Fits: letters as high as Open Sans's stand beside them; Arabic, whose descenders and stacked vowels reach
# furthest, is a little smaller.
BUNDLED = (
    Bundled("NotoSansArabic-Regular.ttf", "NotoSansArabic-Bold.ttf", 0.92),
    Bundled("NotoSansHebrew-Regular.ttf", "NotoSansHebrew-Bold.ttf", 1.0),
    Bundled("NotoSansDevanagari-Regular.ttf", "NotoSansDevanagari-Bold.ttf", 1.0),
    Bundled("NotoSansThai-Regular.ttf", "NotoSansThai-Bold.ttf", 1.0),
    Bundled("NotoSansCJKjp-Regular.otf", None, 1.0),
)

_further: tuple[bytes, ...] = ()
_forget: list[Callable[[], None]] = []


def further_fonts() -> tuple[bytes, ...]:
    """The files of the study's own fonts, in its order."""
    return _further


def font_files() -> list[Path]:
    """The bundled fonts' files, in the order in which letters are looked up in them."""
    names = [*FILES.values(), *(name for one in BUNDLED for name in (one.regular, one.bold) if name)]
    return [FONT_FOLDER / name for name in names]


def use_further_fonts(files: Sequence[bytes]) -> None:
    """From now on set words in these fonts too: after Open Sans, before the bundled ones.

    Raises ValueError where one is no font (see `font_fault`).
    """
    global _further
    if tuple(files) == _further:
        return
    for data in files:
        fault = font_fault(data)
        if fault:
            raise ValueError(fault)
    _further = tuple(files)
    for forget in _forget:
        forget()


def forgotten(*caches: Any) -> None:
    """Functions with caches of what depends on the fonts at hand; emptied when those change."""
    _forget.extend(cache.cache_clear for cache in caches)


def font_fault(data: bytes) -> str:
    """Why a file's bytes are no font to set words in; "" if they are one."""
    import uharfbuzz

    try:
        face = uharfbuzz.Face(uharfbuzz.Blob(data))
        tables = list(face.table_tags)
    except Exception:  # HarfBuzz's own errors share no class
        return "is no font file (TrueType or OpenType)"
    if not tables or not face.glyph_count or face.upem <= 0:
        return "is no font file (TrueType or OpenType)"
    if not set(OUTLINES) & set(tables):
        return "is a font without outlines"
    if not len(face.unicodes):
        return "is a font that maps no characters"
    return ""


def _font(data: bytes) -> uharfbuzz.Font:
    import uharfbuzz

    return uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob(data)))


def _wider(font: uharfbuzz.Font, weight: Weight) -> None:
    if WIDER[weight]:
        font.synthetic_bold = (WIDER[weight], 0.0, True)


def _of_study(data: bytes, weight: Weight) -> Face:
    """A font of the study's: by its axis of weight if it has one, as large as fits between two lines."""
    font = _font(data)
    if any(axis.tag == "wght" for axis in font.face.axis_infos):
        font.set_variations({"wght": AXIS[weight]})
    else:
        _wider(font, weight)
    em = font.face.upem
    extents = font.get_font_extents("ltr")
    high = (extents.ascender - extents.descender) / em
    fit = max(LEAST_FIT, min(1.0, (ASCENT + DESCENT) / high)) if high > 0 else 1.0
    return Face(font, em / fit)


@lru_cache(maxsize=256)
def face(number: int, weight: Weight) -> Face:
    """A font at hand by its number, in a weight. IndexError past the last."""
    if number == 0:
        data = (FONT_FOLDER / FILES[weight]).read_bytes()
        font = _font(data)
        return Face(font, font.face.upem)
    if number <= len(_further):
        return _of_study(_further[number - 1], weight)
    one = BUNDLED[number - 1 - len(_further)]
    data = (FONT_FOLDER / one.file(weight)).read_bytes()
    font = _font(data)
    if one.bold is None:
        _wider(font, weight)
    return Face(font, font.face.upem / one.fit)


@lru_cache(maxsize=65536)
def font_of(character: str) -> int | None:
    """The number of the first font that has a character; None where none has, as for a surrogate's half."""
    for number in range(1 + len(_further) + len(BUNDLED)):
        if face(number, "regular").font.get_nominal_glyph(ord(character)):
            return number
    return None


def holds(number: int, characters: str) -> bool:
    """Whether a font has all these characters."""
    font = face(number, "regular").font
    return all(font.get_nominal_glyph(ord(character)) for character in characters)


forgotten(face, font_of)
