"""The page for review as one HTML file: what is looked at as data, what shows it as assets beside this file.

Nothing that a person named is ever markup: names travel as JSON and reach the page as text alone. The page
asks for nothing from elsewhere and runs nothing but its own script, by its digest (Content Security Policy
Level 3, W3C).
"""

from __future__ import annotations

import json
import re
from base64 import b64encode
from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path

from stationpoint.base.colour import WEIGHTS
from stationpoint.base.look import INK, PALE, PAPER, RGB, ROLE_TINT, SHADE, WHITE
from stationpoint.base.words import TOOL
from stationpoint.record.record import Json

ASSETS = Path(__file__).parent / "assets"
SCRIPTS = (  # in the order in which they build on one another
    *("data.js", "elements.js", "cells.js", "details.js", "large.js", "chart.js", "plan.js"),
    *("notes.js", "list.js", "changes.js", "main.js"),
)
STYLES = ("page.css", "print.css")
LIVE = ("live.js", "live.css")  # of a page that is loaded again when it has been drawn again
UNSAFE = re.compile("[<>&\u2028\u2029]")


def review_page(data: Json, pictures: Sequence[bytes], fonts: str, family: str, live: bool = False) -> bytes:
    """The file. data: what the page shows. pictures: WebP files, which data names by number. fonts: rules of
    a style, of fonts within the file; family: the value of font-family that names them. live: whether
    it follows what serves it, the one thing that it then asks."""
    scripts, styles = (*SCRIPTS, *LIVE[:1] * live), (*STYLES, *LIVE[1:] * live)
    style = f"{fonts}:root{{--type:{family}, system-ui}}\n{_tints()}{_joined(styles)}"
    script = f'"use strict";\n(() => {{\n{_joined(scripts)}}})();\n'
    policy = (
        "default-src 'none'; img-src data:; font-src data:; "
        f"style-src '{digest(style)}'; script-src '{digest(script)}'; base-uri 'none'; form-action 'none'"
    )
    if live:
        policy += "; connect-src 'self'"
    coded = [b64encode(picture).decode() for picture in pictures]
    return "".join(
        (
            '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n',
            f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n',
            f'<meta name="generator" content="{TOOL}">\n',
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n',
            '<meta name="color-scheme" content="light dark">\n<title>Review</title>\n',
            f"<style>{style}</style>\n</head>\n",
            (ASSETS / "page.html").read_text("utf-8"),
            _grey(),
            f'<script type="application/json" id="data">{safe_json(data)}</script>\n',
            f'<script type="application/json" id="pictures">{safe_json(list(coded))}</script>\n',
            f"<script>{script}</script>\n</body>\n</html>\n",
        )
    ).encode()


def safe_json(value: Json) -> str:
    """JSON that ends no script and begins no markup, whatever is in it: in ASCII, marks of markup escaped."""
    text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return UNSAFE.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def digest(text: str) -> str:
    """What a policy calls a script or style by: "sha256-" and the digest in base64."""
    return f"sha256-{b64encode(sha256(text.encode()).digest()).decode()}"


def _joined(names: Sequence[str]) -> str:
    return "".join((ASSETS / name).read_text("utf-8") for name in names)


def _grey() -> str:
    """A filter that leaves of colours their luminance, in linear light, as a sheet's grey does."""
    row = " ".join(f"{weight:g}" for weight in WEIGHTS)
    values = f"{row} 0 0 {row} 0 0 {row} 0 0 0 0 0 1 0"
    return (
        '<svg class="shut" aria-hidden="true"><filter id="grey" x="0" y="0" width="1" height="1" '
        f'color-interpolation-filters="linearRGB"><feColorMatrix values="{values}"/></filter></svg>\n'
    )


def _tints() -> str:
    """The look's tints and inks as the style's own words."""
    named = {"paper": PAPER, "ink": INK, "white": WHITE, "pale": PALE, "shade": SHADE, **ROLE_TINT}
    return f":root{{{';'.join(f'--{name}:{_colour(ink)}' for name, ink in named.items())}}}\n"


def _colour(ink: RGB) -> str:
    return "#{:02x}{:02x}{:02x}".format(*ink)
