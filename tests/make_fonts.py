"""Makes the fonts of src/stationpoint/ink/fonts that stand in for Open Sans, out of Debian's Noto packages.

    apt-get download fonts-noto-core=20201225-1 fonts-noto-cjk=1:20220127+repack1-1
    for each in *.deb; do dpkg-deb -x $each noto; done
    python tests/make_fonts.py noto

Each is a subset without hints: its script's own characters and what they are joined with. The one of Han,
kana and Hangul holds what East Asian standards name: JIS X 0208 (both levels), GB 2312, Big5 level 1, kana,
full-width forms, bopomofo, and all 11172 syllables of Hangul, in the forms of Japan.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

FONTS = Path(__file__).parents[1] / "src/stationpoint/ink/fonts"
JOINERS = [0x20, 0xA0, 0x200C, 0x200D, 0x200E, 0x200F, 0x25CC]
SCRIPTS = {
    "Arabic": [*range(0x600, 0x700), *range(0x750, 0x780), *range(0x8A0, 0x900)],
    "Hebrew": [*range(0x590, 0x600)],
    "Devanagari": [*range(0x900, 0x980), *range(0xA8E0, 0xA900), *range(0x1CD0, 0x1D00), 0x20B9],
    "Thai": [*range(0xE00, 0xE80)],
}
HIGH = range(0xA1, 0xFF)


def two_bytes(encoding: str, rows: Iterable[int], columns: Iterable[int] = HIGH) -> set[int]:
    """The characters that an encoding of the East writes as two bytes."""
    found = set()
    for row in rows:
        for column in columns:
            try:
                words = bytes([row, column]).decode(encoding)
            except UnicodeDecodeError:
                continue
            found |= {ord(words)} if len(words) == 1 else set()
    return found


def of_the_east() -> set[int]:
    """What the font of Han, kana and Hangul holds, but for what Open Sans has."""
    found = two_bytes("euc_jp", range(0xA1, 0xF5)) | two_bytes("gb2312", range(0xA1, 0xF8))
    found |= two_bytes("big5", range(0xA1, 0xC7), [*range(0x40, 0x7F), *HIGH])
    found |= {*range(0x3000, 0x3130), *range(0xAC00, 0xD7A4), *range(0xFF01, 0xFFF0)}
    return found - set(TTFont(FONTS / "OpenSans-Regular.ttf").getBestCmap())


def made(source: Path, number: int, characters: Iterable[int], features: list[str], to: Path) -> None:
    """Write a subset of a font file's font."""
    options = subset.Options(
        recalc_timestamp=False, hinting=False, layout_features=features, font_number=number, name_IDs=["*"]
    )
    options.drop_tables += ["vhea", "vmtx", "VORG", "BASE"]
    options.notdef_outline = True
    font = subset.load_font(str(source), options)
    work = subset.Subsetter(options)
    work.populate(unicodes=characters)
    work.subset(font)
    font["head"].modified = font["head"].created
    subset.save_font(font, str(to), options)


def main(noto: Path) -> None:
    """Make them all. noto: where the packages were unpacked."""
    for script, characters in SCRIPTS.items():
        for weight in ("Regular", "Bold"):
            name = f"NotoSans{script}-{weight}.ttf"
            source = noto / "usr/share/fonts/truetype/noto" / name
            made(source, 0, [*characters, *JOINERS], ["*"], FONTS / name)
    source = noto / "usr/share/fonts/opentype/noto/NotoSansCJK-Regular.ttc"
    made(source, 0, of_the_east(), [], FONTS / "NotoSansCJKjp-Regular.otf")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
