"""The look: tints, inks, sizes and the light, as data. Colours are 8-bit sRGB."""

from __future__ import annotations

RGB = tuple[int, int, int]


def _rgb(text: str) -> RGB:
    return (int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16))


PAPER = _rgb("#918F8B")
INK = _rgb("#121416")
WHITE = _rgb("#F5F3ED")
PALE = _rgb("#A9A7A2")
SHADE = _rgb("#7F7D79")

CLAY = _rgb("#908B84")
GROUND = _rgb("#6E7981")
SKY = _rgb("#B7BFC4")
ROLE_TINT: dict[str, RGB] = {
    "subject": _rgb("#F1EBD5"),
    "primary": _rgb("#EBA42C"),
    "secondary": _rgb("#185A8F"),
    "tertiary": _rgb("#501E4D"),
}

# Light: from the upper left behind the camera. The direction towards the light for a camera at
# LIGHT_YAW_DEG; it turns with the study's first camera and then stays for all cells.
LIGHT_TOWARDS = (-0.50, 1.0, 0.74)
LIGHT_YAW_DEG = 25.0
PENUMBRA_DEG = 3.0
LIT_TOP, LIT_FACING, UNLIT = 0.98, 0.78, 0.44  # linear light over tint

# What the light of a drawn picture adds (render/soft.py); nothing of it is in a picture that is measured.
HORIZON = _rgb("#C6CBCD")
ZENITH = _rgb("#98A5AF")
SOFT_WRAP = 0.15  # how far the light reaches round past a surface that it grazes, n . light
SOFT_UP, SOFT_FILL = 0.05, 0.04  # more light on what faces the sky; and per n . light, over the unlit side
SUBJECT_FILL = (
    0.40  # share of what light its tint lacks that the subject gets: the lightest role, in its shade too
)

# Metre grid: tint times GRID_SHARE on lines GRID_LINE_M wide, gone where a pixel is wider than GRID_FADE_M.
GRID_SHARE = 0.76
GRID_LINE_M = 0.035
GRID_FADE_M = 0.3

CELL_WIDTH_PX = 544
