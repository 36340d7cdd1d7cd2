"""A page with every kind of shape, and names in many scripts, for the painters of files."""

from __future__ import annotations

import io
import shutil
import subprocess
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from stationpoint.ink.shapes import Area, Disc, Group, Halo, Line, Page, Picture, Shape
from stationpoint.ink.type import text_shape
from stationpoint.record.png import png_bytes

INK, PAPER, PALE = (18, 20, 22), (145, 143, 139), (245, 243, 237)
ROUND = Halo(PALE, 2.0, 0.82)
HINDI, JAPANESE, ARABIC, HEBREW = "क्षितिज प्रकाश", "裏口の階段", "بوابة الميناء", "שער הנמל"
THAI, KOREAN = "ท่าเรือน้ำลึก", "부두 끝"
SCRIPTS = (HINDI, JAPANESE, ARABIC, HEBREW, THAI, KOREAN, "Škoda office")
MARKUP = ("<script>alert(1)</script>", "a & b", "\"quoted\" 'name'", "]]>", "&lt;b&gt;", "a  b", "x\x01\ty")
packed = partial(png_bytes, texts={})


def page_of_all(names: tuple[str, ...] = SCRIPTS) -> Page:
    """Lines of every kind, areas with holes, discs and rings, pictures cut and masked, words of `names`."""
    ramp = np.zeros((60, 80, 3), dtype=np.uint8)
    ramp[..., 0], ramp[..., 2] = np.arange(80) * 3, 200
    mask = np.zeros((60, 80), dtype=np.uint8)
    mask[10:50, 20:60] = 255
    marks: tuple[Shape, ...] = (
        Line(((5, 5), (70, 50)), 3.0, INK, Halo(PALE, 1.0, 0.85)),
        Line(((5, 50), (70, 5), (75, 30)), 3.0, INK, Halo(PALE, 1.0, 0.85)),
        Disc((40, 30), 9.0, PALE, INK, 2.0),
    )
    shapes: list[Shape] = [
        Picture((20, 20, 100, 80), ramp, 15.0),
        Picture((120.0, 20.0, 200.0, 80.0), 255 - ramp, 0.0, mask),
        Group("marks", (20, 20), (Group("mark gaps", (0.0, 0.0), marks),), (0, 0, 60, 60)),
        Area(
            (((220, 20), (300, 20), (300, 80), (220, 80)), ((240, 35), (280, 35), (260, 70))),
            (235, 164, 44),
            0.6,
        ),
        Area((((320, 20), (380, 30), (350, 80)),), None, edge_ink=INK, edge_width_px=2.0, edge_dash=(9, 5)),
        Line(((20, 100), (400, 100)), 4.0, INK, dash=(0, 8)),
        Line(((20, 112), (400, 112)), 4.0, INK, dash=(14, 6), round_ends=False, opacity=0.5),
        Disc((430, 50), 20.0, None, INK, 5.0, Halo(PALE, 2.0, 0.8)),
        text_shape((470, 130), "upwards", 18, "bold", turn_deg=90),
    ]
    for k, name in enumerate(names):
        shapes.append(text_shape((20, 150 + 34 * k), name, 24, ("regular", "bold", "light")[k % 3]))
        shapes.append(
            text_shape((480, 150 + 34 * k), f"{name}: 3 m", 17, "semibold", anchor="right", halo=ROUND)
        )
    return Page((500, 160 + 34 * len(names)), PAPER, tuple(shapes))


def shown_by(program: str, package: str) -> str:
    """Where a program is; skips the test where it is not installed."""
    found = shutil.which(program)
    if found is None:
        pytest.skip(f"{program} is not installed (Debian's package {package})")
    return found


def browser_picture(svg: bytes, size_px: tuple[int, int], folder: Path) -> NDArray[np.uint8]:
    """What Chromium shows of an SVG, (h, w, 3)."""
    chromium = shown_by("chromium", "chromium")
    (folder / "page.svg").write_bytes(svg)
    subprocess.run(
        [
            chromium, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
            "--force-device-scale-factor=1", f"--user-data-dir={folder / 'profile'}",
            f"--screenshot={folder / 'page.png'}", f"--window-size={size_px[0]},{size_px[1]}",
            (folder / "page.svg").as_uri(),
        ],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    return np.asarray(Image.open(folder / "page.png").convert("RGB"))


def printed_pictures(pdf: bytes, folder: Path) -> list[NDArray[np.uint8]]:
    """What poppler draws of a PDF's pages, two pixels a point, each (h, w, 3)."""
    program = shown_by("pdftoppm", "poppler-utils")
    ended = subprocess.run(
        [program, "-r", "144", "-png", "-", str(folder / "page")], input=pdf, capture_output=True
    )
    assert ended.returncode == 0, ended.stderr
    return [np.asarray(Image.open(file).convert("RGB")) for file in sorted(folder.glob("page-*.png"))]


def printed_words(pdf: bytes) -> str:
    """The text that poppler finds in a PDF, without the marks of direction that it sets."""
    program = shown_by("pdftotext", "poppler-utils")
    ended = subprocess.run([program, "-", "-"], input=pdf, capture_output=True, check=True)
    return "".join(c for c in ended.stdout.decode() if not "\u202a" <= c <= "\u202e")


def apart(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> tuple[float, float]:
    """How far two pictures are apart: the mean over pixels, and the share of those by over 100."""
    assert one.shape == other.shape
    by = np.abs(one.astype(np.int16) - other).max(axis=2)
    return float(by.mean()), float((by > 100).mean())


def as_image(data: bytes) -> Image.Image:
    """A picture's file, read."""
    return Image.open(io.BytesIO(data))
