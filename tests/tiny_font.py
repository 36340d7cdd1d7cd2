"""A font made in a test: one box."""

from __future__ import annotations

import io

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen


def tiny_font(character: str, **metrics: int) -> bytes:
    """A font with one box, 600 of 1000 units wide and 700 high, for a character."""
    pen = TTGlyphPen(None)
    for k, point in enumerate([(0, 0), (0, 700), (600, 700), (600, 0)]):
        (pen.lineTo if k else pen.moveTo)(point)
    pen.closePath()
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder([".notdef", "box"])
    builder.setupCharacterMap({ord(character): "box"})
    builder.setupGlyf({".notdef": TTGlyphPen(None).glyph(), "box": pen.glyph()})
    builder.setupHorizontalMetrics({".notdef": (500, 0), "box": (600, 0)})
    builder.setupHorizontalHeader(**({"ascent": 800, "descent": -200} | metrics))
    builder.setupNameTable({"familyName": "Tiny", "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    out = io.BytesIO()
    builder.save(out)
    return out.getvalue()
