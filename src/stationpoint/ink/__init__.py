"""Shapes, type and the painters. Shapes are in pixels, y down; nothing is rounded before painting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stationpoint.base.doors import late

if TYPE_CHECKING:
    from stationpoint.ink.figures import arrow_head, box, cross, cut_box, saw_box, tick, zigzag
    from stationpoint.ink.paint_pdf import check_pdf, pdf_file
    from stationpoint.ink.paint_png import paint_rows
    from stationpoint.ink.paint_svg import Element, font_rules, svg_file, svg_tree
    from stationpoint.ink.shapes import (
        Anchor,
        Area,
        Box,
        Disc,
        Group,
        Halo,
        Line,
        Page,
        Picture,
        PointsLike,
        Shape,
        Text,
        Weight,
    )
    from stationpoint.ink.type import (
        ascent_px,
        cap_height_px,
        cut_text,
        is_settable,
        missing,
        shorter_names,
        text_shape,
        text_width,
        use_type,
        wrap_text,
    )
    from stationpoint.ink.typecase import font_fault, font_files, further_fonts

LATE = {
    "figures": "arrow_head box cross cut_box saw_box tick zigzag",
    "paint_pdf": "check_pdf pdf_file",
    "paint_png": "paint_rows",
    "paint_svg": "Element font_rules svg_file svg_tree",
    "shapes": "Anchor Area Box Disc Group Halo Line Page Picture PointsLike Shape Text Weight",
    "type": "ascent_px cap_height_px cut_text is_settable missing shorter_names text_shape text_width "
    "use_type wrap_text",
    "typecase": "font_fault font_files further_fonts",
}
__getattr__ = late(__name__, LATE)

__all__ = [
    "Anchor",
    "Area",
    "Box",
    "Disc",
    "Element",
    "Group",
    "Halo",
    "Line",
    "Page",
    "Picture",
    "PointsLike",
    "Shape",
    "Text",
    "Weight",
    "arrow_head",
    "ascent_px",
    "box",
    "cap_height_px",
    "check_pdf",
    "cross",
    "cut_box",
    "cut_text",
    "font_fault",
    "font_files",
    "font_rules",
    "further_fonts",
    "is_settable",
    "missing",
    "paint_rows",
    "pdf_file",
    "saw_box",
    "shorter_names",
    "svg_file",
    "svg_tree",
    "text_shape",
    "text_width",
    "tick",
    "use_type",
    "wrap_text",
    "zigzag",
]
